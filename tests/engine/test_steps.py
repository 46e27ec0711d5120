"""The procedure: every mistake is found before the step that would do damage with it."""

import re

import pytest

from engine.stages.procedure.site import HURT
from tests.engine.paper_sites import NAMES, SOLAR, planned, sample

# mistake: what reveals it (in do and expect), which step would do damage (in do), once per unit or once for all.
# The rows are the trade's table of mistakes; instrument and reading are its second and third column.
UNIT, SET = True, False
MISTAKES = {
    "battery reversed": (r"Voltmeter at its open battery isolator.*red on plus.*\| \+\d+", r"Close that isolator within", UNIT),
    "separate banks joined": (r"Low-impedance voltmeter: B1 plus to B2 minus.*\| below 1 V", r"Close (that|the battery) isolator", SET),
    "phase, role or storage mode wrong or not kept": (r"Switch it off\. Wait .*on\. Read back.*\| phase L\d, role \w+, storage mode \w+", r"Land L\d-\d in this order", UNIT),
    "outputs rolled": (r"Ohmmeter: LOAD line to each bar.*\| L\d load bar: below 0\.5 ohm; .*open", r"Close its load isolator\. The load switch", UNIT),
    "incoming and load side swapped": (r"Ohmmeter: LOAD line to each bar.*incoming: open", r"Close the incoming isolator of each unit", SET),
    "neutral open": (r"Ohmmeter: LOAD neutral to its bar; INCOMING neutral to its bar.*\| below 0\.5 ohm", r"Switch the loads of", UNIT),
    "terminator missing; one too many": (r"Ohmmeter across the data pair.*\| 60 ohm \(54 to 66 ohm\) at both ends", r"Switch on in that order", SET),
    "link missing or broken": (r"Ohmmeter across the data pair at the first end.*then at the last end", r"Switch on in that order", SET),
    "banks unequal": (r"voltmeter across the open isolator between them.*\| not above 0\.\d+ V", r"Close (that|the battery) isolator", SET),
    "no pre-charge": (r"Pre-charge.*voltmeter across its open battery isolator.*\| below 1 V", r"Close that isolator within", UNIT),
    "lug loose": (r"Micro-ohmmeter.*\| not above the mean of like joints by more than 10 % or 5 micro-ohm", r"Close (that|the battery) isolator", SET),
    "charge limit not divided": (r"Add up the charge limits you read back.*\| \d+ A.* = \d+ A, not above \d+", r"Close the incoming isolator of each unit|Close its solar isolator", SET),
    "bond missing": (r"Every load breaker off.*units alone\. Residual-current tester.*\| it trips within 300 ms", r"Switch the loads of", SET),
    "second bond": (r"Lift the neutral-earth link.*Ohmmeter: neutral bar to earth bar.*\| above 1 Mohm", r"Switch on in that order", SET),
    "string reversed": (r"Voltmeter at its open solar isolator: every string, red on plus.*\| plus sign", r"Close its solar isolator", UNIT),
    "incoming rotation": (r"open incoming isolator.*Rotation meter.*rotation 123", r"Close the incoming isolator of each unit", SET),
}
# Three phases, two units and a bank on each, strings, a supply: here all sixteen can happen.
TAGS = ("L1-1", "L1-2", "L2-1", "L2-2", "L3-1", "L3-2")
EVERYTHING = SOLAR | {
    "set.count": 6,
    "set.per_phase": [2, 2, 2],
    "storage.connection": "bank-per-phase",
    "storage.wired": {tag: f"B{tag[1]}" for tag in TAGS},
    "storage.links": [{"bank": f"B{n}", "unit": f"L{n}-1"} for n in (1, 2, 3)],
    "loads": [{"name": "Lights", "power": "900 W", "power_factor": 1.0}],
}


def first(steps, pattern, *, where=lambda step: True):
    return next((step for step in steps if where(step) and re.search(pattern, f"{step.do} | {step.expect}")), None)


def uncaught(steps, mistake, tags):
    """Where a mistake is not held up before its damage: empty if it is caught everywhere."""
    reveal, damage, per_unit = MISTAKES[mistake]
    bad = []
    for tag in tags if per_unit else (None,):
        revealed = first(steps, reveal, where=lambda step, tag=tag: tag is None or step.who == tag)
        done = first(steps, damage, where=lambda step, tag=tag: tag is None or step.who in (tag, "set"))
        if not (revealed and done and revealed.hold and revealed.place < done.place):
            bad.append((mistake, tag, revealed and revealed.place, done and done.place))
    return bad


@pytest.mark.parametrize("mistake", MISTAKES)
def test_every_mistake_is_revealed_before_damage(mistake):
    plan = planned(EVERYTHING)
    assert uncaught(plan.parts.steps.steps, mistake, TAGS) == []


def test_the_check_of_mistakes_can_fail():
    """Steps in reverse order catch nothing."""
    steps = [type(step)(**{**vars(step), "place": -step.place}) for step in planned(EVERYTHING).parts.steps.steps]
    assert [mistake for mistake in MISTAKES if not uncaught(steps, mistake, TAGS)] == []


def test_the_table_is_whole():
    assert len(MISTAKES) == 16


def test_work_goes_in_order():
    """Make safe, look, bench, match, dead, land, chain, dead again, battery, power, voltages, incoming, residual current, loads, solar, hand over."""
    sections = list(dict.fromkeys(step.section for step in planned(EVERYTHING).parts.steps.steps))
    assert sections == [
        "make safe", "look", "bench", "match", "dead tests", "land", "chain", "dead tests again",
        "battery", "power up", "voltages", "incoming", "residual current", "loads", "solar", "hand over",
    ]  # fmt: skip


def test_bench_work_of_a_unit_goes_earth_battery_on_settings_off_wait_on_read_back_off_away():
    steps = [step.do for step in planned().parts.steps.steps if step.section == "bench" and step.who == "L2-1"]
    order = ["Land its earth", "Bench lead with a fuse of 20 A or less", "pre-charge resistor", "Switch it on. Enter", "Wait 10 s", "Take the bench lead away. Wait five minutes"]
    places = [next(k for k, text in enumerate(steps) if word in text) for word in order]
    assert places == sorted(places)


def test_figures_are_those_of_the_site():
    plan = planned(EVERYTHING)
    # sqrt(3) x 230 V = 398.4 V; two 12 mohm modules in one loop, halved because only stated: 50 A x 12 mohm = 0.6 V.
    assert plan.figures["plan.steps.line_voltage"].value == pytest.approx(398.37, abs=0.01)
    assert plan.figures["plan.steps.match"].value == pytest.approx(0.6)
    windows = {step.expect for step in plan.parts.steps.steps if "open battery isolator" in step.do and "red" in step.do}
    assert windows == {"+46 V to +56 V"}


def test_a_measured_resistance_is_not_halved():
    """The practice's own example: 50 A through 18 milliohm allows 0.9 V."""
    plan = planned({"storage.module.resistance": "9 mohm", "storage.module.resistance_measured": True})
    assert plan.figures["plan.steps.match"].value == pytest.approx(0.9)


def test_an_earthed_pole_makes_the_voltmeter_test_of_banks_void():
    steps = planned(EVERYTHING | {"storage.earthed": "minus"}).parts.steps.steps
    assert first(steps, r"voltmeter cannot prove the banks")
    assert "Lift every earth link" in first(steps, r"B1 plus to B2 minus").do


def test_like_poles_read_nothing_across_line_voltage_between():
    steps = planned(EVERYTHING).parts.steps.steps
    second = first(steps, r"unit side to the L2 bar", where=lambda step: step.who == "L2-2" and step.section == "voltages")
    assert second.expect == "219 V to 241 V; below 2 V; near 398 V"


def test_no_bond_known_no_loads():
    steps = planned(without=("earthing.island_bond",)).parts.steps.steps
    assert "does not know the bond" in first(steps, "Residual-current tester").do


@pytest.mark.parametrize(
    "left_out",
    ["storage.module", "storage.connection", "storage.wired", "unit.bus", "output.voltage", "incoming", "earthing", "storage.chemistry", "unit.settle_time", "set.lead"],
)
def test_missing_answers_never_break_the_procedure(left_out):
    steps = planned(without=(left_out,)).parts.steps.steps
    assert steps
    assert all(step.do and step.expect and step.otherwise for step in steps)
    assert not any("None" in f"{step.do}{step.expect}{step.otherwise}" for step in steps)


def test_unknown_figures_say_who_decides():
    steps = planned(without=("storage.module",)).parts.steps.steps
    window = first(steps, "at its open battery isolator")
    assert "not computed" in window.expect
    assert "the planner decides" in window.expect
    assert "not computed" in first(steps, "Add up the charge limits").expect


def test_who_can_be_hurt_is_told_who_comes_first():
    for name in NAMES:
        for step in sample(name).parts.steps.steps:
            if re.search(r"^Close |Prove dead|Pre-charge|isolator within|Insulation tester", step.do) and "Ohmmeter" not in step.do:
                assert HURT in step.do, step


def test_live_readings_all_have_an_if_not():
    for name in NAMES:
        assert all(step.otherwise for step in sample(name).parts.steps.steps)


def test_no_units_no_steps():
    plan = planned(without=("set.count", "set.per_phase"))
    assert plan.parts.units.units == ()
    assert plan.parts.steps.steps == ()


def test_the_residual_current_device_is_live_when_it_is_tested_and_no_load_is_on():
    """Behind an open load switch there is nothing to trip: it closes in the step of the test, loads only later."""
    steps = planned(EVERYTHING).parts.steps.steps
    test, closed = first(steps, "Residual-current tester"), first(steps, "Close the load switch of the set")
    assert test is closed
    assert test.place < first(steps, "Switch the loads of").place


def test_units_run_alone_while_their_shares_are_measured():
    steps = planned(EVERYTHING).parts.steps.steps
    assert first(steps, "Switch the loads of L1 on").do.startswith("Open the incoming isolator of the set.")
    assert first(steps, "Loads on. Close the incoming isolator of the set").place > first(steps, "Switch the loads of L3").place


def test_a_site_without_bond_is_not_told_to_lift_one():
    steps = planned({"earthing.system": "IT", "earthing.island_bond": "none"}).parts.steps.steps
    assert not first(steps, "Lift the neutral-earth link")
    assert "no bond in island mode" in first(steps, "neutral bar to earth bar").do
