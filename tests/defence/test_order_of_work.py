"""The order of work (T24): where people can be hurt, what is counted, and the readings that a site's own answers decide."""

from __future__ import annotations

from typing import Any

import pytest

from engine.planner import Planned
from engine.stages.procedure.part import Step
from tests.defence.sites import SOLAR, site, split

NOTHING: dict[str, Any] = {"incoming": {"kind": "none"}}
EARTHED: dict[str, Any] = {"storage.earthed": "minus"}


def steps(plan: Planned, section: str, word: str = "") -> list[Step]:
    """The steps of a section that say a word."""
    return [step for step in plan.parts.procedure.steps if step.section == section and word in step.do]


# Where nothing that is touched is live, holds a charge or can be, by the first words of a step; whole sections where the words are "".
HARMLESS = {
    ("look", ""),
    ("bench", "Switch it off. Wait 10 s. Switch it on. Read back"),
    ("bench", "Add up the charge limits"),
    ("dead tests", "Earth conductor, end to end"),
    ("mount", "Pull every cable"),
    ("mount", "Trace by hand"),
    ("chain", "All units off; every battery isolator closed"),
    ("chain", "Plug the terminator"),
    ("chain", "Take the terminator"),
    ("dead tests again", "Loads off. Close its load isolator. Ohmmeter"),
    ("dead tests again", "Close its incoming isolator. Ohmmeter"),
    ("dead tests again", "Ohmmeter: LOAD neutral"),
    ("dead tests again", "Breakers of every final circuit off. Close the load isolator of the set and the residual-current device. Ohmmeter"),
    ("power up", ""),
    ("hand over", ""),
}


@pytest.mark.parametrize("changes", [SOLAR, SOLAR | EARTHED, split(2, 2, 2), split(1, 1), NOTHING])
def test_a_step_at_what_is_live_or_charged_is_marked(changes) -> None:
    """A meter on a bank, a bar, an AC terminal or a string, an insulation tester, a bond that is lifted, an isolator that is closed: all hurt."""
    for step in site(changes).parts.procedure.steps:
        harmless = any(step.section == section and step.do.startswith(words) for section, words in HARMLESS)
        assert step.hurt is not harmless, step


def test_as_many_padlocks_as_circuits_that_open() -> None:
    """Four of the battery (the bank's and three units'), four of the loads, four that come in; earths are never opened. With strings on two inputs of three units
    six more."""
    for changes, count in (({}, 12), (SOLAR, 18), (NOTHING, 8)):
        assert steps(site(changes), "make safe", "Open every isolator")[0].expect == f"{count} open, {count} padlocks and tags"


@pytest.mark.parametrize(("changes", "sources"), [
    ({}, ["utility", "bank B1", "the capacitors in every unit (charged for minutes)"]),
    (SOLAR, ["utility", "bank B1", "solar strings (live in daylight)", "the capacitors in every unit (charged for minutes)"]),
    (NOTHING, ["bank B1", "the capacitors in every unit (charged for minutes)"]),
])
def test_every_source_is_on_the_list(changes, sources) -> None:
    [step] = steps(site(changes), "make safe", "Find every source")
    assert f"on the board: {', '.join(sources)}." in step.do
    assert step.expect.startswith(f"{len(sources)} sources")


def test_who_feeds_what_is_traced_where_the_banks_are_not_known() -> None:
    known, unknown = site(), site(without=("storage.wired", "storage.connection", "storage.links"))
    assert [step.who for step in steps(known, "mount", "Trace by hand")] == ["B1"]
    assert not steps(known, "look", "Trace by hand")
    assert [(step.who, step.hold) for step in steps(unknown, "look", "Trace by hand")] == [("set", True)]
    assert "every battery (banks not yet known)" in steps(unknown, "make safe", "Find every source")[0].do


@pytest.mark.parametrize(("chemistry", "how"), [("lfp", "charge it full at the maker's voltage, let it rest"), ("agm", "charge it, let it rest")])
def test_modules_are_matched_by_their_chemistry(chemistry, how) -> None:
    [step] = steps(site({"storage.chemistry": chemistry}), "match", "on its own")
    assert f"on its own: {how}, measure it." in step.do


@pytest.mark.parametrize(("parallel", "told"), [(1, 0), (2, 1), (6, 1)])
def test_two_strings_are_measured_before_they_meet(parallel, told) -> None:
    assert len(steps(site({"storage.bank.parallel": parallel}), "match", "is joined to the next")) == told


@pytest.mark.parametrize(("changes", "reading"), [
    # Seven modules of 49.5 V on the coldest morning are above 120 V and below 500 V: IEC 62446-1 tests them with 500 V.
    (SOLAR, "1 Mohm or more at 500 V DC"),
    (SOLAR | {"solar.series": 2}, "0.5 Mohm or more at 250 V DC"),
    (SOLAR | {"solar.voc": None}, "not computed"),
])
def test_strings_are_tested_by_their_cold_voltage(changes, reading) -> None:
    found = steps(site(changes), "dead tests", "Strings, connectors apart")
    assert len(found) == 3
    assert all(step.expect.startswith(reading) for step in found)


@pytest.mark.parametrize(("length", "near"), [("3 m", "near 9.24 mohm"), ("10 m", "near 30.8 mohm")])
def test_an_earth_conductor_reads_what_its_metal_does(length, near) -> None:
    """6 mm2 of class 2 copper: 3.08 mohm a metre at 20 degC (IEC 60228)."""
    found = steps(site(earth={"length": length}), "dead tests", "Earth conductor")
    assert [step.expect for step in found] == [f"{near} and its lugs"] * 3


def test_a_unit_is_landed_on_its_own_stud() -> None:
    assert "battery 9 N m on M8, AC 1.8 N m" in steps(site(), "land", "Land L1-1")[0].expect
    assert "battery 9 N m, AC 1.8 N m" in steps(site(without=("unit.dc_stud",)), "land", "Land L1-1")[0].expect


@pytest.mark.parametrize(("changes", "wrong"), [
    ({}, "Outputs rolled, or load and incoming swapped. Rewire; measure."),
    (NOTHING, "Outputs rolled. Rewire; measure."),
    (split(2), "Load and incoming swapped. Rewire; measure."),
    (split(2) | NOTHING, "Not landed, or on another terminal. Rewire; measure."),
])
def test_what_a_wrong_reading_means(changes, wrong) -> None:
    found = steps(site(changes), "dead tests again", "LOAD line")
    assert {step.otherwise for step in found} == {wrong}


@pytest.mark.parametrize(("changes", "output", "incoming"), [
    ({}, True, True),
    (split(1, 1), False, False),
    (split(1, 1, 1) | {"incoming.arrangement": "single-phase"}, True, False),
])
def test_only_three_lines_have_a_rotation(changes, output, incoming) -> None:
    plan = site(changes)
    [across], [open_] = steps(plan, "voltages", "line to line"), steps(plan, "incoming", "supply side")
    assert [("rotation" in text.lower()) for text in (across.do, across.expect, across.otherwise)] == [output] * 3
    assert [("rotation" in text.lower()) for text in (open_.do, open_.expect, open_.otherwise)] == [incoming] * 3


def test_the_units_stay_under_their_incoming_setting() -> None:
    """T8, S3: 40 A each, through a breaker of 40 A."""
    [step] = steps(site(), "residual current", "Charging on")
    assert step.expect == "each unit not above 40 A; the set follows the supply, no alarm"
    [unknown] = steps(site({"incoming.breaker": None}), "residual current", "Charging on")
    assert unknown.expect.startswith("incoming limit not computed")


def test_a_bank_closed_onto_its_bar_shows_which_cables_hang_on_it() -> None:
    """While later banks are open, a voltage at the isolator of one of their units says that its cable is on this one; at the last bank nothing is left open."""
    closing = {step.who: step for step in steps(site(split(2, 2, 2, bank="bank-per-phase")), "battery", "onto its bar")}
    for bank, later in (("B1", "L2-1, L2-2, L3-1, L3-2"), ("B2", "L3-1, L3-2")):
        assert closing[bank].do.endswith(f"Voltmeter at the open battery isolators of {later}, battery side.")
        assert closing[bank].expect == "no spark, no sound; below 1 V at those"
        assert closing[bank].otherwise.endswith("A voltage: that cable is on the wrong bank. Open it; trace both.")
    assert "Voltmeter" not in closing["B3"].do
    assert closing["B3"].expect == "no spark, no sound"
    assert "A voltage" not in closing["B3"].otherwise


@pytest.mark.parametrize(("modules", "told"), [
    # 56 V a module, full: 112 V and 168 V; 448 V and 504 V.
    (2, "0.5 Mohm or more at 250 V DC"),
    (3, "1 Mohm or more at 500 V DC"),
    (8, "1 Mohm or more at 500 V DC"),
    (9, "1 Mohm or more at 1000 V DC"),
])
def test_battery_cables_are_tested_by_the_voltage_of_their_bank(modules, told) -> None:
    """IEC 60364-6 table 6.1: 250 V for extra-low voltage, of direct current up to 120 V (IEC 60364-4-41 414.1.1); 500 V up to 500 V, 1000 V above; the loads' always 500 V."""
    plan = site(EARTHED | {"storage.bank.series": modules, "unit.dc_min": "80 V", "unit.dc_max": "600 V"})
    battery = steps(plan, "dead tests", "Battery cables free") + steps(plan, "dead tests", "lifted or not yet landed")
    assert len(battery) == 4
    assert {step.expect for step in battery} == {told}
    assert {step.expect for step in steps(plan, "dead tests", "L and N to earth")} == {"1 Mohm or more at 500 V DC"}


@pytest.mark.parametrize(("changes", "expect", "otherwise"), [
    ({}, "L1 load bar: below 0.5 ohm; L2, L3, incoming: open", "Outputs rolled, or load and incoming swapped. Rewire; measure."),
    (NOTHING, "L1 load bar: below 0.5 ohm; L2, L3: open", "Outputs rolled. Rewire; measure."),
    (split(1), "load board: below 0.5 ohm; incoming: open", "Load and incoming swapped. Rewire; measure."),
    (split(1) | NOTHING, "load board: below 0.5 ohm", "Not landed, or on another terminal. Rewire; measure."),
])
def test_an_ohmmeter_on_an_output_finds_what_can_be_swapped_there(changes, expect, otherwise) -> None:
    """With other phases their bars are open, with a supply its board; with neither there is nothing to be swapped with."""
    step = steps(site(changes), "dead tests again", "Ohmmeter: LOAD line")[0]
    assert (step.expect, step.otherwise) == (expect, otherwise)


@pytest.mark.parametrize(("changes", "loose", "neutrals"), [
    ({}, "Voltage up on another phase meanwhile: the neutral is open. Everything off.", 1),
    (split(1, 1), "Voltage up on another phase meanwhile: the neutral is open. Everything off.", 1),
    (split(2), "Voltage out of its window: look for a loose joint.", 0),
])
def test_an_open_neutral_shows_on_another_phase_where_there_is_one(changes, loose, neutrals) -> None:
    """A star point that floats raises one phase as another is loaded; on a single phase a bad joint only lowers it, and no neutral is common."""
    plan = site(changes)
    assert all(step.otherwise.endswith(loose) for step in steps(plan, "loads", "Switch the loads of"))
    assert len(steps(plan, "loads", "Clamp meter on the common neutral")) == neutrals
