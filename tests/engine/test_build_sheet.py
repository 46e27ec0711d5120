"""The build order: every device and every joint of boards, bars and banks has its row and its boxes, once."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from engine.planner import Planned
from engine.sheets.folder import A4, LETTER, Paper, folder
from engine.sheets.folder.blocks import Block, Row, Table, Title
from engine.sheets.folder.build import build
from engine.sheets.folder.filling import filled
from engine.sheets.folder.joints import pieces
from engine.sheets.folder.letters import BOX, Words, runs
from engine.stages.switchgear import GearKind
from tests.engine.paper_sites import NAMES, SOLAR, planned, sample, set_of
from tests.papers.browser import CHROMIUM, seen

LEAD = {"storage.chemistry": "flooded", "storage.managed": False, "storage.module.cells": 24, "storage.links": []}
INPUTS = {"trackers": 2, "voltage_max": "500 V", "mppt_min": "120 V", "mppt_max": "430 V", "power_max": "16 kW", "current_max": "40 A", "short_circuit_max": "60 A", "charge_current": "80 A"}
SUN = SOLAR | {"unit.solar": INPUTS}
FUSED = SUN | {"solar.parallel": 3, "solar.trackers": 2}
SITES: dict[str, dict[str, object]] = {
    "three units": {},
    "one unit": set_of(1),
    "one unit, nothing comes in": set_of(1) | {"incoming.kind": "none"},
    "the NEC": {"site.rules": "nec"},
    "minus earthed": {"storage.earthed": "minus"},
    "solar": SUN,
    "strings with fuses": FUSED,
    "holders on the bar": {"storage.holder": "on the bar"},
    "lead in long strings": LEAD | {"storage.bank.series": 4, "storage.bank.parallel": 5, "unit.dc_max": "300 V", "unit.dc_min": "150 V"},
    "no bond": {"earthing.system": "IT", "earthing.island_bond": "none"},
}
# Names that people may write anywhere.
HOSTILE = {
    "site.name": "<script>alert(1)</script> {fault} {0} & Co",
    "site.reference": "'\"><img src=x>",
    "earthing.bond_at": "</td><b>{bank}\N{RIGHT-TO-LEFT OVERRIDE} \N{ZERO WIDTH SPACE}W" + "W" * 120,
    "bus_nodes": [{"name": "<i>meter</i> {tag} " + "M" * 90, "end": "last"}],
}


def blocks_of(site: Planned) -> tuple[Block, ...]:
    [chapter] = build(site, A4)
    return chapter.blocks


def rows_of(site: Planned) -> list[Row]:
    return [row for block in blocks_of(site) if isinstance(block, Table) for row in block.rows]


def text_of(words: Words) -> str:
    return "".join("[]" if run.box else f" {run.text} {'[]' * run.ticks}" if run.ticks else "____" if run.blank else run.text for run in runs(words))


def boxes_of(cell: Words) -> int:
    return sum(run.ticks + (run is BOX or run.box) for run in runs(cell))


def joints(row: Row) -> Iterator[tuple[str, str, str]]:
    """Both sides of a row: what is joined, its torque, its boxes; none of a row that spans the table."""
    if len(row.cells) == 6:
        yield (text_of(row.cells[0]), text_of(row.cells[1]), text_of(row.cells[2]))
        yield (text_of(row.cells[3]), text_of(row.cells[4]), text_of(row.cells[5]))


def pairs(site: Planned) -> dict[str, int]:
    """How many joints stand under each title, by their pairs of boxes."""
    found: dict[str, int] = {}
    title = ""
    for block in blocks_of(site):
        if isinstance(block, Title):
            title = block.words
        elif isinstance(block, Table):
            for row in block.rows:
                if len(row.cells) == 6:
                    count = boxes_of(row.cells[2]) + boxes_of(row.cells[5])
                    assert count % 2 == 0
                    found[title] = found.get(title, 0) + count // 2
    return found


def test_every_joint_of_the_ferry_house_counted_by_hand() -> None:
    """Two units on one phase, a bank of three strings of two each, a generator that comes in through a breaker that is there.

    Incoming board. Common: L1 and N leave the breaker (2) for the bars (2); the earth that comes in, on its bar (1). Each unit: L1 and N from bars
    (2) to its breaker (2), out of it (2), its PE (1): 7. Surge device: L1, N, PE on both sides (6). 5 + 14 + 6.
    Bank. A link in each of three strings, two ends (6); + and - from string to string, twice, two ends (8); + and - from the posts (2) into the
    holders (2), out (2) into the isolator (2), out (2): 10.
    Load board. Each unit: L1 and N into its breaker (2), out (2) on the bars (2), its PE (1): 7. Common: bars (2), isolator (2 and 2),
    residual-current device (2 and 2), consumers (2), PE on both sides (2): 14. Surge device 6.
    Earth bar. From the incoming board, both ends (2), to the load board, both ends (2), and each unit (1). The bond is a relay in a unit: nothing to torque.
    """
    assert pairs(sample("ferry-house")) == {
        "Incoming board": 25,
        "Bank B1": 24,
        "Bank B2": 24,
        "Load board": 34,
        "Earth bar": 6,
    }


def test_a_bond_that_is_bought_has_two_joints() -> None:
    """Neutral and earth; where a battery pole is earthed, its bond's two, and those of the case of the bank and of its bar, two each."""
    assert pairs(planned())["Bonds"] == 2
    assert pairs(planned({"storage.earthed": "minus"}))["Bonds"] == 2 + 2
    assert pairs(planned({"storage.earthed": "minus"}))["Earth bar"] == pairs(planned())["Earth bar"] + 4


def test_what_is_live_is_not_touched() -> None:
    """The breaker that is there has the supply on one side."""
    [row] = [row for row in rows_of(planned()) if len(row.cells) == 6 and text_of(row.cells[0]) == "incoming common: supply" and "breaker" in text_of(row.cells[3])]
    assert [told for _, _, told in joints(row)] == ["leave it as it is", "LIVE: keep it covered"]
    assert [text for block in blocks_of(planned()) if isinstance(block, Table) for row in block.rows for text in map(text_of, row.cells) if "LIVE whatever is open: never alone" in text]


@pytest.mark.parametrize("changes", SITES.values(), ids=SITES)
def test_every_device_is_mounted_once_and_says_what_it_must_read(changes: dict[str, object]) -> None:
    site = planned(changes)
    gear = [one for row in site.parts.switchgear.rows.values() for one in row]
    surge = [one for row in site.parts.switchgear.boards.values() for one in row]
    rows = rows_of(site)
    mounted = [text_of(cell) for row in rows if len(row.cells) == 6 for cell in (row.cells[0], row.cells[3]) if boxes_of(cell)]
    assert len(mounted) == len(gear)
    heads = [text_of(row.cells[0]) for row in rows if len(row.cells) == 1]
    assert sum(head.startswith("surge device []") for head in heads) == len(surge)
    for name, some in site.parts.switchgear.rows.items():
        tag = name.split(" ")[-1]
        [head] = [head for head in heads if head.split(":")[0].split(" (")[0].startswith(name.split(" ")[0]) and tag in head.split(":")[0].replace(",", " ").split()]
        for one in some:
            assert one.name in head
            assert str(one.rating) in head


@pytest.mark.parametrize("changes", SITES.values(), ids=SITES)
def test_every_conductor_has_a_joint_at_both_its_ends(changes: dict[str, object]) -> None:
    """Nothing that is cut is left out, and no device of a pole is passed by: each is entered once and left once."""
    site = planned(changes)
    for ends in site.parts.circuits.circuits:
        found = pieces(site, ends)
        cut = [mark for piece in found if piece.cut for mark in piece.marks]
        assert len(cut) == sum(one.circuit == ends.name for one in site.parts.bill.cuts)
        for gear in site.parts.switchgear.of(ends):
            called = {GearKind.FUSE: "fuse holder", GearKind.THERE: "breaker"}.get(gear.kind, gear.kind.value)
            entered = [mark for piece in found if piece.end.what == called and piece.end.gear for mark in piece.marks]
            left = [mark for piece in found if piece.start.what == called and piece.start.gear for mark in piece.marks]
            assert entered, (ends.name, called)
            assert left, (ends.name, called)
            if ends.kind != "solar":
                assert sorted({mark.rstrip("1234567890") if mark[0] in "+-" else mark for mark in entered}) == sorted({"plus": "+", "minus": "-"}.get(pole, pole) for pole in gear.poles)


def test_torques_of_the_plan_stand_there_and_all_others_are_blank() -> None:
    site = planned()
    told = [one for row in rows_of(site) for one in joints(row)]
    at_units = [boxes for _, torque, boxes in told if "its sheet" in boxes]
    assert set(at_units) == {"9 N m, its sheet", "1.8 N m, its sheet"}
    assert all(torque == "____" for _, torque, boxes in told if "[]" in boxes)
    assert all(torque == "" for _, torque, boxes in told if "[]" not in boxes)
    nec = planned({"site.rules": "nec", "unit.ac_torque": "25 lbf in"})
    assert "25 lbf in, its sheet" in [boxes for row in rows_of(nec) for _, _, boxes in joints(row)]
    assert {block.head[1] for block in blocks_of(nec) if isinstance(block, Table)} == {"lbf in"}


def test_a_bank_is_built_as_the_plan_reckoned_it() -> None:
    long = planned(SITES["lead in long strings"])
    [told] = [text_of(row.cells[0]) for row in rows_of(long) if len(row.cells) == 1 and "strings of" in text_of(row.cells[0])]
    assert "5 strings of 4 modules, flooded." in told
    assert "Leads to the set: both from string 1." in told
    assert "a tray that holds its acid" in told
    assert "Vents: free opening of" in told
    links = [row for row in rows_of(long) if text_of(row.cells[0]).startswith("string 1, +")]
    assert [text_of(row.cells[2]) for row in links] == [" 1-2 [][] 2-3 [][] 3-4 [][]"]
    assert "+ from string 1, - from string 3" in " ".join(text_of(row.cells[0]) for row in rows_of(sample("ferry-house")))
    assert "from bars of its own" in " ".join(text_of(row.cells[0]) for row in rows_of(sample("harbour-works")))


def test_where_neutral_meets_earth_is_said_once() -> None:
    text = folder(planned(), A4, ("build",))
    by_relay = re.sub("</?span>", "", folder(sample("ferry-house"), A4, ("build",)))
    assert text.count("neutral-earth bond, changeover relay") == 1
    assert "Neutral meets earth by the unit relay (inside L1-1): nothing is built for it" in by_relay
    assert "Neutral meets earth nowhere while the units run alone" in folder(planned(SITES["no bond"]), A4, ("build",))


def test_nothing_of_a_stopped_plan_is_built_and_nothing_of_one_without_units() -> None:
    stopped = planned({"earthing.island_bond": None})
    assert stopped.plan.standing == "stopped"
    assert build(stopped, A4) == ()
    assert build(planned({"set.count": None, "set.per_phase": None}, without=("unit",)), A4) == ()


def test_the_steps_are_those_of_the_order_of_work() -> None:
    site = planned()
    numbers = {step.id: step.place for step in site.parts.procedure.steps}
    text = folder(site, A4, ("build",))
    assert f"(landed in step {numbers['land@L1-1']})" in text
    assert f"(steps {numbers['modules@B1']} to {numbers['join-strings@B1']}): links" in text
    assert f"back in step {numbers['land-set@set']};" in text


@pytest.mark.parametrize(("name", "most"), [("copper-creek", 3), ("ferry-house", 3), ("alder-farm", 3), ("ridge-lodge", 5), ("harbour-works", 6)])
@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
def test_pages(name: str, most: int, paper: Paper) -> None:
    [chapter] = build(sample(name), paper)
    assert len(filled(chapter, paper)) <= most + (paper is LETTER)


def test_all_samples_are_here() -> None:
    assert {"copper-creek", "ferry-house", "alder-farm", "ridge-lodge", "harbour-works"} == set(NAMES)


@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: nobody laid the pages out")
@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
def test_names_that_mean_harm_are_text_and_nothing_is_cut(paper: Paper, tmp_path: Path) -> None:
    html = folder(planned(HOSTILE | SUN), paper, ("build", "labels", "bill"))
    assert "<script" not in html
    assert "<img" not in html
    assert "<i>meter" not in html
    assert "\N{RIGHT-TO-LEFT OVERRIDE}" not in html
    found = seen(html, tmp_path)
    assert (found.outside, found.small, found.overlapping, found.pale, found.fetched) == ((), (), (), (), ())


@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: nobody laid the pages out")
@pytest.mark.parametrize("name", ["lead in long strings", "strings with fuses", "minus earthed", "the NEC"])
def test_nothing_is_cut_on_sites_that_the_samples_are_not(name: str, tmp_path: Path) -> None:
    found = seen(folder(planned(SITES[name]), LETTER, ("build", "labels", "bill")), tmp_path)
    assert found.pages > 5
    assert (found.outside, found.small, found.overlapping, found.pale) == ((), (), (), ())
