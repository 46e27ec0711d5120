"""The bill as a chapter: everything that is bought stands once, with its box and what is read on it; every piece is cut from something."""

from __future__ import annotations

import pytest

from engine.planner import Planned
from engine.sheets.bill import groups, read_on
from engine.sheets.folder import A4, LETTER, Paper
from engine.sheets.folder.bill import bill
from engine.sheets.folder.blocks import Para, Row, Table, Title
from engine.sheets.folder.filling import filled
from engine.sheets.folder.letters import Words, runs
from tests.engine.paper_sites import NAMES, planned, sample
from tests.engine.test_build_sheet import SITES

CABLE = ("reel", "cable by the metre", "cable by the foot")
BOTH = [*(sample(name) for name in NAMES), *(planned(changes) for changes in SITES.values())]
IDS = [*NAMES, *SITES]


def text_of(words: Words) -> str:
    return "".join("[]" if run.box else run.text for run in runs(words))


def tables(site: Planned) -> dict[str, tuple[Row, ...]]:
    """The rows under each title."""
    [chapter] = bill(site, A4)
    found: dict[str, tuple[Row, ...]] = {}
    title = ""
    for block in chapter.blocks:
        if isinstance(block, Title):
            title = block.words
        elif isinstance(block, Table):
            found[title] = block.rows
    return found


@pytest.mark.parametrize("site", BOTH, ids=IDS)
def test_every_line_stands_once_with_a_box_and_what_is_read_on_it(site: Planned) -> None:
    found, on = tables(site), read_on(site)
    for group in groups(site):
        rows = [[text_of(cell) for cell in row.cells] for row in found[group.supplier[0].upper() + group.supplier[1:]] if len(row.cells) == 4]
        lines = [line for line in group.lines if line.item not in CABLE]
        told = [row for row in rows if row[0] == "[]"]
        assert [row[1] for row in told] == [str(line.quantity) for line in lines]
        read = ""
        for row, line in zip(told, lines, strict=True):
            assert row[2].startswith(f"{line.item}{' AHEAD' if line.order_ahead else ''}: ")
            assert (f"{line.spare} of them spare" in row[2]) is (line.spare > 0)
            assert line.mark is None or line.mark in row[2]
            read = row[2].partition(" Read: ")[2].removesuffix(".") or read
            assert read == on[line.item]
    assert sum(len(rows) for rows in found.values()) > 20


@pytest.mark.parametrize("site", BOTH, ids=IDS)
def test_every_piece_is_on_the_cut_list_and_every_cable_under_the_reels(site: Planned) -> None:
    found = tables(site)
    pieces = 0
    for row in found["Cut list"]:
        if len(row.cells) == 1:
            assert text_of(row.cells[0]).endswith("; read the print: any other burns")
            continue
        box, circuit, poles, way, length = map(text_of, row.cells)
        own = (box + circuit).count("[]")  # what is cut alike for several units has a box for each
        assert own
        assert " > " in way
        times = int(length.split(" x ")[0]) if " x " in length else 1
        pieces += own * times * sum(int(pole.split(" x ")[0]) if " x " in pole else 1 for pole in poles.split(", "))
    assert pieces == len(site.parts.bill.cuts)
    assert sum(len(row.cells) > 1 for row in found["Reels and lengths"]) == len(site.parts.bill.reels)


def test_pieces_of_one_length_stand_in_one_row() -> None:
    rows = [[text_of(cell) for cell in row.cells] for row in tables(planned())["Cut list"] if len(row.cells) == 5]
    own = [row[2:] for row in rows if row[1] == "battery [][][]"]
    assert own[0] == ["+ red, - white", "bar B1 > fuse holder > isolator", "2 x 0.3 m"]
    assert own[1][1] == "isolator > its unit"
    [load] = [row[2:4] for row in rows if row[1] == "load L1-1"]
    assert load == ["L1 brown, N blue, PE green-and-yellow", "L1-1 > breaker, load board"]


def test_what_goes_to_all_units_says_so() -> None:
    rows = [text_of(row.cells[3]) for row in tables(sample("harbour-works"))["Electrical wholesaler"] if len(row.cells) == 4]
    assert "load of every unit" in rows
    assert "battery of every unit, battery B1, B2, B3, load of every unit, load common, incoming of every unit, incoming common" in rows
    alone = [text_of(row.cells[3]) for row in tables(planned(SITES["one unit"]))["Electrical wholesaler"] if len(row.cells) == 4]
    assert "load L1-1" in alone
    assert not [told for told in alone if "every unit" in told]


def test_what_is_needed_first_stands_with_its_steps() -> None:
    site = planned()
    numbers = {step.id.partition("@")[0]: step.place for step in site.parts.procedure.steps}
    heads = [text_of(row.cells[0]) for row in tables(site)["Electrical wholesaler"] if len(row.cells) == 1]
    assert heads[0] == f"needed for LOOK, steps {numbers['plates']}, {numbers['read-gear']}"
    assert f"needed for LAND, step {numbers['land-set']}" in heads


def test_a_stopped_plan_says_that_nothing_is_ordered_by_it() -> None:
    [chapter] = bill(planned({"earthing.island_bond": None}), A4)
    first = chapter.blocks[0]
    assert isinstance(first, Para)
    assert first.framed
    assert "Order nothing by it." in text_of(first.words)
    assert bill(planned({"set.count": None, "set.per_phase": None}, without=("unit",)), A4) == ()


@pytest.mark.parametrize(("name", "most"), [("copper-creek", 6), ("ferry-house", 5), ("alder-farm", 6), ("ridge-lodge", 6), ("harbour-works", 7)])
@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
def test_pages(name: str, most: int, paper: Paper) -> None:
    [chapter] = bill(sample(name), paper)
    assert len(filled(chapter, paper)) <= most + (paper is LETTER)
