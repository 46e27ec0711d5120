"""The procedure: every mistake is found before the step that would do damage with it."""

import re

import pytest

from engine.stages.procedure.part import HURT
from tests.engine.paper_sites import NAMES, SOLAR, planned, sample, set_of

# mistake: what reveals it (in do and expect), which step would do damage (in do), once per unit or once for all.
# The rows are the trade's table of mistakes; instrument and reading are its second and third column.
UNIT, SET = True, False
MISTAKES = {
    "battery reversed": (r"Voltmeter at its open battery isolator.*red on plus.*\| \+\d+", r"Close that isolator within", UNIT),
    "separate banks joined": (r"Low-impedance voltmeter: B1 plus to B2 minus.*\| below 1 V", r"Close (that|the battery) isolator", SET),
    "phase, role or storage mode wrong or not kept": (r"Switch it off\. Wait .*on\. Read back.*\| phase L\d, role \w+, storage mode \w+", r"Land L\d-\d in this order", UNIT),
    "outputs rolled": (r"Ohmmeter: LOAD line to each bar.*\| L\d load bar: below 0\.5 ohm; .*open", r"Close its load isolator\. The load isolator of the set", UNIT),
    "incoming and load side swapped": (r"Ohmmeter: LOAD line to each bar.*incoming: open", r"Close the incoming isolator of each unit", SET),
    "neutral open": (r"Ohmmeter: LOAD neutral to its bar; INCOMING neutral to its bar.*\| below 0\.5 ohm", r"Switch the loads of", UNIT),
    "terminator missing; one too many": (r"Plug the terminator of .*Ohmmeter across the data pair in the open port.*\| 108 to 132 ohm, with one terminator in", r"Switch on in that order", SET),
    "link missing or broken": (r"Take the terminator of .* out.*Ohmmeter across the data pair in the open port", r"Switch on in that order", SET),
    "banks unequal": (r"voltmeter across the open isolator between them.*\| not above 0\.\d+ V", r"Close (that|the battery) isolator", SET),
    "no pre-charge": (r"Pre-charge.*across one pole.*across the other.*Voltmeter at the unit, red on \+.*\| \+, within 1 V of the bank", r"Close that isolator within", UNIT),
    "lug loose": (r"Pull at every battery lug.*micro-ohmmeter.*\| none moves; not above the mean of like joints by more than 10 % or 5 micro-ohm", r"Close (that|the battery) isolator", SET),
    "charge limit not divided": (r"Add up the charge limits you read back.*\| \d+ A.* = \d+ A, not above \d+", r"Close the incoming isolator of each unit|Close its solar isolator", SET),
    "bond missing": (r"Breaker of every final circuit off.*units alone\. Residual-current tester.*\| it trips within 300 ms", r"Switch the loads of", SET),
    "second bond": (r"Lift the neutral-earth link.*Ohmmeter: neutral bar to earth bar.*\| above 1 Mohm", r"Switch on in that order", SET),
    "string reversed": (r"Voltmeter at each holder: every string, red on plus.*\| plus sign", r"Close its solar isolator", UNIT),
    "lines swapped in the common run": (r"Ohmmeter from each load bar to each terminal behind the residual-current device.*\| each line to its own and neutral to neutral below 0\.5 ohm; every other pair open", r"Switch the loads of", SET),
    "lines swapped ahead of the incoming bar": (r"on the side of the set to each incoming bar, neutral too.*every other pair open", r"Close the incoming isolator of each unit", SET),
    "protective earth open": (r"Before LOAD PE and INCOMING PE are landed: ohmmeter from the free end to the case.*\| free ends below 0\.5 ohm", r"Close that isolator within", UNIT),
    "wrong breaker": (r"Read every breaker, isolator and residual-current device.*\| .*breaker", r"Close its load isolator\. The load isolator of the set", SET),
    "wrong battery fuse": (r"Read each fuse link, then fit it.*\| battery .*\d+ A", r"Close (that|the battery) isolator", SET),
    "wrong string fuse": (r"Read each string fuse, then fit it", r"Close its solar isolator", SET),
    "sensor or data lead of the bank missing": (r"Read on the display of a unit on B1 what it sees of the bank.*limits", r"Charging on", SET),
    "a bond that closes only while a unit runs": (r"Earth-leakage clamp.*\| no more with loads on", r"Leave at", SET),
    "bank fed in another place": (r"Its two leads leave the row so: both from one end of the row.*\| 6 strings in parallel", r"Close (that|the battery) isolator", SET),
    "cover left off": (r"Fit every cover of a bar.*\| nothing that will be live can be touched", r"Close (that|the battery) isolator", SET),
    "incoming rotation": (r"open incoming isolator.*Rotation meter.*rotation 123", r"Close the incoming isolator of each unit", SET),
}
# Three phases, two units and a bank on each, strings with fuses, a supply: here all of them can happen.
TAGS = ("L1-1", "L1-2", "L2-1", "L2-2", "L3-1", "L3-2")
EVERYTHING = SOLAR | {
    "set.count": 6,
    "set.per_phase": [2, 2, 2],
    "storage.connection": "bank-per-phase",
    "storage.wired": {tag: f"B{tag[1]}" for tag in TAGS},
    "solar.parallel": 3,
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
    assert uncaught(plan.parts.procedure.steps, mistake, TAGS) == []


def test_the_check_of_mistakes_can_fail():
    """Steps in reverse order catch nothing."""
    steps = [type(step)(**{**vars(step), "place": -step.place}) for step in planned(EVERYTHING).parts.procedure.steps]
    assert [mistake for mistake in MISTAKES if not uncaught(steps, mistake, TAGS)] == []


def test_the_table_is_whole():
    assert len(MISTAKES) == 26


def test_work_goes_in_order():
    """Make safe, look, bench, match, mount, dead, land, dead again, battery, chain, power, voltages, incoming, residual current, loads, solar, hand over."""
    sections = list(dict.fromkeys(step.section for step in planned(EVERYTHING).parts.procedure.steps))
    assert sections == [
        "make safe", "look", "bench", "match", "mount", "dead tests", "land", "dead tests again",
        "battery", "chain", "power up", "voltages", "incoming", "residual current", "loads", "solar", "hand over",
    ]  # fmt: skip


def test_bench_work_of_a_unit_goes_earth_battery_on_settings_off_wait_on_read_back_off_away():
    steps = [step.do for step in planned().parts.procedure.steps if step.section == "bench" and step.who == "L2-1"]
    order = ["Land its earth", "Bench lead with a fuse of 20 A or less", "pre-charge resistor", "Switch it on. Enter", "Wait 10 s", "Take the bench lead away. Wait five minutes"]
    places = [next(k for k, text in enumerate(steps) if word in text) for word in order]
    assert places == sorted(places)


def test_figures_are_those_of_the_site():
    plan = planned(EVERYTHING)
    # sqrt(3) x 230 V = 398.4 V; two 12 mohm modules in one loop, halved because only stated: 50 A x 12 mohm = 0.6 V.
    assert plan.figures["plan.steps.line_voltage"].value == pytest.approx(398.37, abs=0.01)
    assert plan.figures["plan.steps.match"].value == pytest.approx(0.6)
    windows = {step.expect for step in plan.parts.procedure.steps if "open battery isolator" in step.do and "red" in step.do}
    assert windows == {"+46 V to +56 V"}


def test_a_measured_resistance_is_not_halved():
    """The practice's own example: 50 A through 18 milliohm allows 0.9 V."""
    plan = planned({"storage.module.resistance": "9 mohm", "storage.module.resistance_measured": True})
    assert plan.figures["plan.steps.match"].value == pytest.approx(0.9)


def test_an_earthed_pole_makes_the_voltmeter_test_of_banks_void():
    steps = planned(EVERYTHING | {"storage.earthed": "minus"}).parts.procedure.steps
    assert first(steps, r"voltmeter cannot prove the banks")
    assert "No bond is landed yet (bond B1, bond B2, bond B3)" in first(steps, r"B1 plus to B2 minus").do
    assert first(steps, r"B1 plus to B2 minus").place < first(steps, r"land bond B1").place


def test_like_poles_read_nothing_across_line_voltage_between():
    steps = planned(EVERYTHING).parts.procedure.steps
    second = first(steps, r"unit side to the L2 bar", where=lambda step: step.who == "L2-2" and step.section == "voltages")
    assert second.expect == "219 V to 241 V; below 2 V; near 398 V"


def test_no_bond_known_no_loads():
    steps = planned(without=("earthing.island_bond",)).parts.procedure.steps
    assert "does not know the bond" in first(steps, "Residual-current tester").do


@pytest.mark.parametrize(
    "left_out",
    ["storage.module", "storage.connection", "storage.wired", "unit.bus", "output.voltage", "incoming", "earthing", "storage.chemistry", "unit.settle_time", "set.lead"],
)
def test_missing_answers_never_break_the_procedure(left_out):
    steps = planned(without=(left_out,)).parts.procedure.steps
    assert steps
    assert all(step.do and step.expect and step.otherwise for step in steps)
    assert not any("None" in f"{step.do}{step.expect}{step.otherwise}" for step in steps)


def test_unknown_figures_say_who_decides():
    steps = planned(without=("storage.module",)).parts.procedure.steps
    window = first(steps, "at its open battery isolator")
    assert "not computed" in window.expect
    assert "the planner decides" in window.expect
    assert "not computed" in first(steps, "Add up the charge limits").expect


def test_who_can_be_hurt_is_told_who_comes_first():
    for name in NAMES:
        plan = sample(name)
        for step, row in zip(plan.parts.procedure.steps, plan.plan.steps, strict=True):
            if re.search(r"^Close |Prove dead|Pre-charge|isolator within|Insulation tester", step.do) and "Ohmmeter" not in step.do:
                assert step.hurt, step
            assert step.hurt is row.do.endswith(HURT)


def test_live_readings_all_have_an_if_not():
    for name in NAMES:
        assert all(step.otherwise for step in sample(name).parts.procedure.steps)


def test_no_units_no_steps():
    plan = planned(without=("set.count", "set.per_phase"))
    assert plan.parts.units.units == ()
    assert plan.parts.procedure.steps == ()


def test_the_residual_current_device_is_live_when_it_is_tested_and_no_load_is_on():
    """Behind an open load isolator there is nothing to trip: it closes in the step of the test, loads only later."""
    steps = planned(EVERYTHING).parts.procedure.steps
    test, closed = first(steps, "Residual-current tester"), first(steps, "Close the load isolator of the set", where=lambda step: "dead" not in step.section)
    assert test is closed
    assert test.place < first(steps, "Switch the loads of").place


def test_units_run_alone_while_their_shares_are_measured():
    steps = planned(EVERYTHING).parts.procedure.steps
    assert first(steps, "Switch the loads of L1 on").do.startswith("Open the incoming isolator of the set.")
    assert first(steps, "Loads on. Close the incoming isolator of the set").place > first(steps, "Switch the loads of L3").place


def test_a_site_without_bond_is_not_told_to_lift_one():
    steps = planned({"earthing.system": "IT", "earthing.island_bond": "none"}).parts.procedure.steps
    assert not first(steps, "Lift the neutral-earth link")
    assert "no bond in island mode" in first(steps, "neutral bar to earth bar").do


def of_loads(plan, word="Switch the loads of"):
    return [step for step in plan.parts.procedure.steps if step.section == "loads" and word in step.do]


# Two machines of 2 kW at power factor 1, counted at half: the plan reckons 2 kVA, the day of the test sees 4 kVA.
HALF = {"loads": [{"name": "Heater", "power": "4 kW", "power_factor": 1.0, "demand": 0.5, "phase": "L2"}]}


def test_all_loads_on_are_held_against_what_the_units_carry_not_against_demand():
    """A healthy site passes: 4 kW at power factor 1 draw 17.4 A at 230 V, the unit of 5 kVA carries 21.7 A."""
    plan = planned(HALF)
    assert plan.parts.phases.rows[1].apparent.value == 2000
    second = of_loads(plan)[1]
    assert "all of them draw 4 kVA (17.4 A)" in second.expect
    assert "not above 5 kVA (21.7 A), what 1 unit there carries" in second.expect
    assert "2 kVA" not in second.expect
    assert plan.figures["plan.all_on.phases[L2].apparent_power"].value == 4000


def test_figures_of_everything_on_leave_those_of_the_plan_alone():
    plan = planned(HALF)
    assert plan.figures["plan.phases[L2].apparent_power"].value == 2000
    assert plan.figures["plan.loads[Heater].power_on_L2"].value == 2000


def test_loads_that_units_do_not_carry_all_at_once_stay_off_in_part():
    second = of_loads(planned({"loads": [HALF["loads"][0] | {"power": "8 kW"}]}))[1]
    assert "all of them at once would draw 8 kVA (34.8 A), so some stay off" in second.expect
    real = of_loads(planned(HALF | {"unit.real_power": "3.5 kW"}))[1]
    assert "and 3.5 kW on the display" in real.expect
    assert "some stay off" in real.expect


def test_the_neutral_may_carry_what_everything_on_makes_of_it():
    """All of it on L2: the neutral carries the whole 17.4 A, and the limit lets it."""
    step = of_loads(planned(HALF), "common neutral")[0]
    assert step.expect == "not above 21.7 A; 17 A is reckoned with every load at its full power"
    for name in ("alder-farm", "copper-creek", "harbour-works", "ridge-lodge"):
        plan = sample(name)
        neutral = plan.figures["plan.all_on.neutral_current"]
        assert neutral.value <= plan.figures["plan.all_on.neutral_limit"].value or "some stay off" in "".join(s.expect for s in of_loads(plan))
        assert "not above 0 A" not in "".join(step.expect for step in plan.parts.procedure.steps)


def test_unknown_loads_leave_only_the_limit():
    expect = of_loads(planned())[0].expect
    assert "plates all" not in expect
    assert "not above 5 kVA" in expect


def single(changes=None, without=()):
    return planned(set_of(1) | {"incoming.kind": "none"} | (changes or {}), without=without)


def told(plan):
    return "\n".join(f"{step.do} {step.expect} {step.otherwise}" for step in plan.parts.procedure.steps)


def test_a_single_unit_on_its_own_is_told_of_nothing_that_is_not_there():
    """No solar, no supply, no bars, no phases to turn, no motors, no second unit."""
    text = told(single())
    for absent in ("olar", "ncoming", "otation", "otor", " bar", "the set", "units", "the lead stops", "Count the", "utputs rolled"):
        # A bar of earth and of neutral there is, and the bond is looked for in units.
        found = [line for line in text.splitlines() if absent in line.replace("earth bar", "").replace("neutral bar", "").replace("relay in a unit", "")]
        assert not found, (absent, found)
    assert "within 0.1 V of the bank" in text
    assert "The breaker of every final circuit stays off" in text


def test_sets_and_motors_and_turning_phases_are_told_where_they_are():
    text = told(planned(EVERYTHING | {"loads": [{"name": "Saw", "phase": "all", "power": "2 kW", "motor": True}]}))
    for there in ("solar, load, incoming, battery", "rotation 132", "Rotation 132", "Start Saw, the largest start", "The load isolator of the set stays open", "within 0.1 V of the bar"):
        assert there in text
    # A set on one phase has bars and a switch of its own, and nothing that turns.
    assert "otation" not in told(planned(set_of(2) | {"incoming.arrangement": "single-phase"}))


def test_the_charge_limit_of_one_unit_is_held_against_its_bank():
    assert re.search(r"Hold the charge limit you read back from L1-1 against that of B1\. 80 A, not above [\d.]+ A", told(single()))


def test_a_full_module_is_not_expected_at_its_nominal_voltage():
    step = first(planned().parts.procedure.steps, "Every module of B1")
    assert "each +46 V to +56 V, full ones near the upper end" in step.expect
    assert "51.2" not in step.expect
    two = first(planned({"storage.bank.series": 2, "unit.dc_max": "120 V"}).parts.procedure.steps, "Every module of B1")
    assert "each +46 V to +56 V" in two.expect


def test_the_bench_lead_reads_what_the_open_isolator_will_read():
    for left_out in ((), ("unit.dc_min", "unit.dc_max")):
        steps = planned(without=left_out).parts.procedure.steps
        assert first(steps, "Bench lead with a fuse").expect == "plus sign, +46 V to +56 V"
    only_unit = planned(without=("storage.module", "storage.chemistry")).parts.procedure.steps
    assert first(only_unit, "Bench lead with a fuse").expect == "plus sign, +42 V to +60 V"


def test_a_bond_relay_inside_the_units_is_not_lifted():
    steps = planned({"earthing.island_bond": "unit relay"}).parts.procedure.steps
    assert not first(steps, "Lift the neutral-earth link")
    step = first(steps, "neutral bar to earth bar")
    assert step.hold
    assert "Ask the maker whether it is open while a unit is off" in step.do
    assert "lift the neutral of every unit" in step.do


def test_one_link_is_one_link():
    assert "1 link between the 2 units" in told(planned(set_of(2)))


def test_the_consumers_breakers_are_called_as_the_rule_book_calls_them():
    for rules, word in (("iec", "final"), ("nec", "branch")):
        text = told(planned({"site.rules": rules}))
        assert f"Breaker of every {word} circuit off." in text
        assert "load breaker" not in text


def test_a_bond_test_says_what_a_reading_between_means():
    """Above 1 Mohm there is none, below 1 ohm there is one; what lies between proves neither."""
    step = first(planned().parts.procedure.steps, "neutral bar to earth bar")
    assert "Between the two: not proven" in step.otherwise
    assert "do not go on" in step.otherwise
    assert step.hold
    assert step.do.startswith("Prove dead at changeover board. Lift the neutral-earth link there.")


def test_a_unit_on_the_bench_has_its_terminals_covered_before_it_is_on():
    """Its output is live as soon as it runs, with nothing landed there."""
    for step in planned().parts.procedure.steps:
        if step.section == "bench" and "Switch it on. Enter" in step.do:
            assert step.do.startswith("Cover its AC terminals: LOAD goes live.")
            assert step.hurt


def test_banks_are_apart_only_below_the_limit_and_a_reading_between_proves_nothing():
    step = first(planned(EVERYTHING).parts.procedure.steps, "Low-impedance voltmeter: B1 plus to B2 minus")
    assert "Anything between: not proven, find why." in step.otherwise


def steps_with(plan, words):
    """The steps in which these words stand."""
    return [step for step in plan.parts.procedure.steps if words in step.do]


def test_what_the_site_has_decides_what_is_done():
    """Strings, strings side by side, the chemistry, phases that turn: each is asked for where it is, and nowhere else."""
    sun, lead, single = planned(SOLAR), planned({"storage.chemistry": "agm"}), planned(set_of(2))
    legs = planned({"output.arrangement": "split-phase", "set.count": 2, "set.per_phase": [1, 1], "storage.wired": {"L1-1": "B1", "L2-1": "B1"}})
    assert "solar strings (live in daylight)" in steps_with(sun, "Find every source")[0].do
    assert "solar" not in steps_with(planned(), "Find every source")[0].do
    # 7 x 54.18 V: IEC 62446-1 tests strings of 120 V to 500 V at 500 V.
    assert {step.expect for step in steps_with(sun, "Strings, connectors apart")} == {"1 Mohm or more at 500 V DC"}
    assert [len(steps_with(planned({"storage.bank.parallel": strings}), "Before a string of B1")) for strings in (1, 2)] == [0, 1]
    assert "charge it full at the maker's voltage" in steps_with(planned(), "Every module of B1")[0].do
    assert "charge it, let it rest" in steps_with(lead, "Every module of B1")[0].do
    assert not [step for plan in (single, legs) for step in plan.parts.procedure.steps if "rotation" in f"{step.do} {step.expect}".lower()]


def test_banks_that_nobody_knows_are_traced_and_written_down():
    unknown = planned({"storage.connection": None, "storage.wired": {}})
    assert steps_with(unknown, "Write the bank beside each tag")[0].hold
    assert not steps_with(planned(), "Write the bank beside each tag")


def test_steps_name_what_was_answered_and_leave_out_what_was_not():
    assert steps_with(planned(), "Land L1-1 in this order")[0].expect.startswith("free ends below 0.5 ohm; battery 9 N m on M8, AC 1.8 N m;")
    assert steps_with(planned(without=("unit.dc_stud",)), "Land L1-1 in this order")[0].expect.startswith("free ends below 0.5 ohm; battery 9 N m, AC 1.8 N m;")
    assert steps_with(planned(), "LOAD line")[0].otherwise.startswith("Outputs rolled, or load and incoming swapped.")
    assert steps_with(planned(), "Charging on. Clamp meter")[0].expect.startswith("each unit not above 40 A;")
    assert steps_with(planned(), "Leave at Test place:")
    assert steps_with(planned(without=("site.name",)), "Leave at the site:")
    assert re.fullmatch(r"near [\d.]+ mohm and its lugs", steps_with(planned(), "Earth conductor, end to end")[0].expect)


def test_neutral_and_earth_proved_apart_is_a_step_that_hurts():
    [step] = steps_with(planned(), "Lift the neutral-earth link there")
    assert (step.hold, step.hurt) == (True, True)


def test_a_bank_is_loaded_to_its_own_limit_not_to_that_of_its_units():
    """Six strings of 100 A share, so B1 gives less than three units may draw: the clamp meter on its cable has the last word."""
    plan = planned({"storage.module.discharge_current": "40 A"})
    [step] = [step for step in plan.parts.procedure.steps if "direct-current clamp meter" in step.do]
    assert step.who == "B1"
    assert "clamp meter on battery B1." in step.do
    assert step.expect == f"not above {plan.parts.storage.banks[0].discharge_limit}"
    apart = planned({"storage.connection": "bank-per-unit", "storage.wired": {"L1-1": "B1", "L2-1": "B2", "L3-1": "B3"}})
    assert ["the battery cable of B2" in step.do for step in apart.parts.procedure.steps if "direct-current clamp meter" in step.do] == [False, True, False]


def test_what_the_plan_took_is_a_step_for_those_who_build_it():
    """S31: the way cables must lie, and where the leads leave the row, are held before anything is landed."""
    drawn = {"unit.real_power": "34 kW", "unit.apparent_power": "34 kVA"}
    steps = planned(set_of(1) | drawn).parts.procedure.steps
    pull = first(steps, r"Pull every cable")
    assert "They are sized for lying so: battery cables clipped straight to the wall, in no trunking." in pull.do
    assert pull.hold
    plain = first(planned().parts.procedure.steps, r"Pull every cable")
    assert "sized for lying" not in plain.do
    assert not plain.hold
    fed = first(planned({"storage.bank.feed": "bar"}).parts.procedure.steps, r"Join the strings of B1")
    assert "from a bar, every string by two leads of one length" in fed.do
    assert first(planned({"storage.bank.parallel": 1}).parts.procedure.steps, r"Join the strings") is None


def test_the_sensor_goes_to_the_unit_that_the_bank_speaks_to():
    step = first(planned({"storage.links": [{"bank": "B1", "unit": "L2-1"}]}).parts.procedure.steps, r"temperature sensor of B1")
    assert "plug it into L2-1" in step.do
    lead = first(planned({"storage.chemistry": "agm", "storage.managed": False, "storage.links": []}).parts.procedure.steps, r"temperature sensor of B1")
    assert "plug it into L1-1" in lead.do


def test_instruments_are_laid_out_that_the_site_needs():
    assert "rotation meter" in first(planned().parts.procedure.steps, r"Lay out what is not on the bill").do
    one = planned(set_of(1) | {"incoming.kind": "none"})
    assert "rotation meter" not in first(one.parts.procedure.steps, r"Lay out what is not on the bill").do


def test_a_unit_afloat_is_joined_to_the_neutral_before_it_is_measured():
    """A breaker of two poles opens the neutral too; of the first unit on its bars nothing is compared, and a breaker of one pole leaves the neutral joined."""
    joined = ["Fused lead from its neutral to the neutral bar." in step.do for step in steps_with(planned(), "Its load isolator open. ")]
    assert joined == [False, True, True]
    assert not steps_with(planned({"site.rules": "nec", "output.voltage": "120 V", "output.frequency": "60 Hz"}), "Fused lead from its neutral")


def test_a_step_names_no_bond_that_the_site_has_not():
    """A relay inside the units is not taken out for the insulation test; where no bond is made there is none to label."""
    assert "Put the surge devices and the neutral-earth link back." in steps_with(planned(), "Put the surge devices")[0].do
    assert "Put the surge devices back." in steps_with(planned({"earthing.island_bond": "unit relay"}), "Put the surge devices")[0].do
    assert steps_with(planned(), "Fit source labels")[0].do.endswith("Fit source labels and the bond label.")
    unbonded = planned({"earthing.system": "IT", "earthing.island_bond": "none"})
    assert steps_with(unbonded, "Fit source labels")[0].do.endswith("Fit source labels.")


def test_a_unit_alone_is_measured_to_boards_and_several_to_bars():
    assert [step.expect for step in steps_with(planned(), "INCOMING line")] == [f"L{n} incoming bar: below 0.5 ohm; all other bars: open" for n in (1, 2, 3)]
    assert [step.expect for step in steps_with(planned(set_of(1)), "INCOMING line")] == ["incoming board: below 0.5 ohm; load board: open"]


def test_with_one_bank_on_its_bar_the_units_of_the_later_ones_are_measured():
    """A cable landed on the wrong bank shows there; behind the last bank there is none."""
    tags = ("L1-1", "L1-2", "L2-1", "L2-2")
    two = {"output.arrangement": "split-phase", "set.count": 4, "set.per_phase": [2, 2], "storage.connection": "bank-per-phase", "storage.wired": {tag: f"B{tag[1]}" for tag in tags}}
    told = [(step.do.partition("yet.")[2], step.expect) for step in steps_with(planned(two), "onto its bar")]
    assert told == [(" Voltmeter at the open battery isolators of L2-1, L2-2, battery side.", "no spark, no sound; below 1 V at those"), ("", "no spark, no sound")]


def test_every_setting_is_read_back_and_no_incoming_limit_where_nothing_comes_in():
    """The transfer relay of a unit passes 40 A."""
    limited = "storage mode common, charge limit {}, incoming limit 40 A; all others as on the sheet"
    for changes, want in (({}, limited), ({"incoming.kind": "none"}, limited.replace(", incoming limit 40 A", ""))):
        plan = planned(changes)
        charging = plan.parts.limits.charge["L1-1"]
        assert want.format(charging) in steps_with(plan, "Read back every setting")[0].expect


def test_a_bank_of_unknown_limits_is_measured_against_its_nominal_voltage():
    unknown = planned({"storage.chemistry": None}, without=("storage.module.absorption", "storage.module.float", "storage.module.low", "storage.module.cells"))
    at_bank = steps_with(unknown, "Voltmeter at its open battery isolator, battery side, red on plus.")
    assert {step.expect for step in at_bank} == {"plus sign, near +51.2 V (nominal; its limits are not computed)"}
