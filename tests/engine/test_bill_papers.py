"""The bill as data that every paper shares: by supplier, by when it is needed, what is read, what is cut."""

import csv
import io
from collections import Counter
from dataclasses import replace

import pytest

from engine.sheets.bill import SECTIONS, SUPPLIERS, cut_list, goods_in, groups, places, read_on, reel_list
from engine.sheets.bill_csv import HEAD, bill_csv
from engine.sheets.text.bill import bill_text
from tests.engine.paper_sites import NAMES, planned, sample, set_of


@pytest.mark.parametrize("name", NAMES)
def test_every_line_that_is_bought_stands_in_one_group_in_the_order_of_work(name):
    plan = sample(name)
    found = groups(plan)
    assert [group.supplier for group in found] == [supplier for supplier in SUPPLIERS if any(line.supplier == supplier for line in plan.plan.bill)]
    bought = [line for group in found for line in group.lines]
    assert Counter(map(id, bought)) == Counter(id(line) for line in plan.plan.bill if not line.cut_from_reel)
    for group in found:
        assert {line.supplier for line in group.lines} == {group.supplier}
        places = [SECTIONS.index(lot.needed) for lot in group.lots]
        assert places == sorted(set(places))
        for lot in group.lots:
            steps = {step.place for step in plan.parts.procedure.steps if step.section == lot.needed}
            assert {line.needed for line in lot.lines} == {lot.needed}
            assert lot.step in steps


def test_who_supplies_what_and_when():
    """Links come from the units' maker and are plugged behind the last battery isolator; breakers are read before they are mounted; padlocks come first."""
    of = {line.item: (group.supplier, lot.needed) for group in groups(sample("alder-farm")) for lot in group.lots for line in lot.lines}
    assert of["comms link"] == ("the units' maker", "chain")
    assert of["data lead"] == ("the battery's maker", "chain")
    assert of["string connector"] == ("solar supplier", "solar")
    assert of["breaker"] == ("electrical wholesaler", "look")
    assert of["fuse"] == ("electrical wholesaler", "battery")
    assert of["padlock"] == ("tools and test gear", "make safe")


def test_what_goes_to_every_unit_is_told_once():
    """Three breakers of three units; the padlocks of the set's own circuits are named; what goes to two of three is told by name."""
    plan = sample("alder-farm")
    of = {line.item: places(plan, line) for line in plan.plan.bill}
    assert of["breaker"] in (("load of every unit",), ("incoming of every unit",))
    assert of["padlock"] == ("battery B1", "battery of every unit", "load common", "solar of every unit")
    assert of["unit tag"] == ("every unit",)
    line = next(line for line in plan.plan.bill if line.item == "unit tag")
    assert places(plan, replace(line, goes_to=["L1-1", "L3-1"])) == ("L1-1", "L3-1")
    alone = planned(set_of(1))
    assert {places(alone, line) for line in alone.plan.bill if line.item == "unit tag"} == {("L1-1",)}


def test_a_box_for_everything_that_comes():
    plan = sample("alder-farm")
    boxes = goods_in(plan)
    assert [(one.quantity, one.item) for one in boxes] == [(line.quantity, line.item) for group in groups(plan) for line in group.lines]
    fuse = next(one for one in boxes if one.item == "fuse")
    assert (fuse.read, fuse.supplier, fuse.mark) == ("kind, amperes, volts DC, breaking capacity", "electrical wholesaler", None)
    assert next(one for one in goods_in(planned()) if one.mark).mark.startswith("OFTEN NOT MADE")


@pytest.mark.parametrize("name", NAMES)
def test_the_cut_list_holds_every_piece_once_with_the_marks_of_both_its_ends(name):
    plan = sample(name)
    pieces = cut_list(plan)
    found, wanted = Counter(pair for piece in pieces for pair in piece.marks), Counter(cut.marks for cut in plan.parts.bill.cuts)
    # What begins and ends on one board leads to what lies behind it: supply or consumers.
    assert all(": supply (" in start or "(to consumers)" in start for start, _ in found - wanted)
    assert all(start.rpartition(": ")[2] == end.rpartition(": ")[2] for start, end in wanted - found)
    assert found.total() == wanted.total()
    assert sum(len(piece.row.poles) * piece.row.each for piece in pieces) == len(plan.parts.bill.cuts)
    for piece in pieces:
        assert len(piece.row.colours) == len(piece.row.poles)
        assert str(piece.length) == piece.row.length
        for start, end in piece.marks:
            assert start.startswith(piece.row.circuit) and start.endswith(f": {piece.row.from_} (to {piece.row.to})")
            assert end.startswith(piece.row.circuit) and end.endswith(f": {piece.row.to} (to {piece.row.from_})")
    marks = [mark for piece in pieces for pair in piece.marks for mark in pair]
    assert max(Counter(marks).values()) == 1


def test_reels_say_how_they_are_bought_and_why():
    rows = reel_list(sample("alder-farm"))
    assert {row.bought for row in rows} == {"cable by the metre"}
    assert all(row.proof for row in rows)
    assert all(float(row.offcut.split()[0]) > 0 for row in rows)


def test_csv_stands_in_the_order_of_the_groups_with_cuts_last():
    plan = sample("alder-farm")
    rows = list(csv.DictReader(io.StringIO(bill_csv([plan]))))
    assert tuple(rows[0]) == HEAD
    bought = [line for group in groups(plan) for line in group.lines]
    assert [(row["supplier"], row["needed for"], row["item"], row["step"], row["read on it"]) for row in rows[: len(bought)]] == [
        (line.supplier, line.needed, line.item, line.step, read_on(plan)[line.item]) for line in bought
    ]
    assert {row["buy or cut"] for row in rows[len(bought) :]} == {"cut from reel"}
    assert any(row["beware"].startswith("OFTEN NOT MADE") for row in csv.DictReader(io.StringIO(bill_csv([planned()]))))


def test_text_tells_boxes_what_to_read_what_is_ahead_and_what_is_wrong():
    text = " ".join(bill_text([sample("alder-farm")]).split())
    assert "== BUY: THE UNITS' MAKER ============================== 4 of 4 to order ahead ==" in text
    assert "Needed for CHAIN, from step" in text
    assert "[ ] 3 (1 spare) comms link AHEAD" in text
    assert "READ on comms link: length, both ends;" in text
    assert "OFTEN NOT MADE" in " ".join(bill_text([planned()]).split())


def test_a_circuit_without_size_and_length_stands_in_the_cut_list_all_the_same():
    plan = planned(without=("unit.apparent_power", "unit.real_power"))
    assert {piece.row.conductor.partition(",")[0] for piece in cut_list(plan) if piece.row.circuit == "battery L1-1"} == {"size not computed"}
    shut = planned({"wall": {"width": "4 m", "height": "2.4 m", "places": [{"what": "unit", "tag": "L1-1", "x": "1 m", "y": "1.5 m"}, {"what": "load-board", "x": "3 m", "y": "1.5 m"}, {"what": "obstacle", "x": "2 m", "y": "1.2 m", "width": "0.2 m", "height": "2.4 m"}]}})
    unknown = [piece for piece in cut_list(shut) if piece.length is None]
    assert unknown
    assert {piece.row.length for piece in unknown} == {None}
    assert " measure" in bill_text([shut])
