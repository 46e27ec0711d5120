"""The procedure: every mistake is found before the step that would do damage with it."""

import re

import pytest

from engine.model.acts import Act, Instrument, Reading, Verb
from engine.stages.procedure import course
from engine.stages.procedure.part import HURT
from tests.engine.paper_sites import NAMES, SOLAR, planned, sample, set_of

# mistake: the steps that reveal it, each with what is in its do and expect; the steps that would do damage; at each unit, each bank, or once for all.
# The rows are the trade's table of mistakes; instrument and reading are its second and third column.
TAGS = UNITS = ("L1-1", "L1-2", "L2-1", "L2-2", "L3-1", "L3-2")
BANKS = ("B1", "B2", "B3")
SET = ("",)
ON_BATTERY, ON_SUPPLY, ON_LOADS = ("bank-close", "battery-close"), ("incoming-close",), ("test-load", "loads-on")
CHARGING = (*ON_SUPPLY, "solar-close")
MISTAKES = {
    "battery reversed": ({"unit-polarity": r"Voltmeter at its open battery isolator.*red on plus.*\| \+\d+"}, ("battery-close",), UNITS),
    "separate banks joined": ({"banks-apart": r"Low-impedance voltmeter: each pole of B1 to each pole of B2.*\| below 1 V"}, ON_BATTERY, SET),
    "phase, role or storage mode wrong or not kept": ({"read-back": r"Switch it off\. Wait .*on\. Read back.*\| phase, role, storage mode and every other as on its sheet"}, ("land",), UNITS),
    "outputs rolled": ({"load-continuity": r"Ohmmeter: LOAD line to each bar.*\| the load bar of its phase, neutral and case: below 0\.5 ohm; all else: open"}, ("unit-voltage",), UNITS),
    "incoming and load side swapped": ({"load-continuity": r"Ohmmeter: LOAD line to each bar.*below 0\.5 ohm; all else: open",
                                        "incoming-continuity": r"Ohmmeter: INCOMING line to each bar.*below 0\.5 ohm; all else: open"}, ON_SUPPLY, UNITS),
    "neutral open": ({"load-continuity": r"Ohmmeter: .*LOAD neutral to the neutral bar.*\| .*bar of its phase, neutral and case: below 0\.5 ohm",
                      "incoming-continuity": r"Ohmmeter: INCOMING line.*its neutral to the incoming neutral bar.*\| .*bar of its phase, neutral: below 0\.5 ohm"}, ON_LOADS, UNITS),
    "terminator missing; one too many": ({"chain-resistance": r"Plug the terminator of .*Ohmmeter across the data pair in the open port.*\| 108 to 132 ohm, with one terminator in"}, ("switch-on",), ("L3-2",)),
    "link missing or broken": ({"chain-resistance": r"Take the terminator of .* out.*Ohmmeter across the data pair in the open port.*\| 108 to 132 ohm"}, ("switch-on",), ("L1-1",)),
    "banks unequal": ({"strings-alike": r"minus joined to minus, then voltmeter from plus to plus.*\| not above 0\.\d+ V"}, ("join-strings", *ON_BATTERY), BANKS),
    "no pre-charge": ({"pre-charge": r"Pre-charge.*across one pole.*across the other.*Voltmeter at the unit, red on \+.*\| \+, within 1 V of the bank"}, ("battery-close",), UNITS),
    "lug loose": ({"joints": r"Pull at every battery lug.*micro-ohmmeter.*\| none moves; not above the mean of like joints by more than 10 % or 5 micro-ohm"}, ON_BATTERY, SET),
    "charge limit not divided": ({"charge-sum": r"Add up the charge limits you read back.*\| \d+ A.* = \d+ A, not above \d+"}, CHARGING, BANKS),
    "bond missing": ({"trip-alone": r"Breaker of every final circuit off.*units alone\. Voltmeter behind it: neutral to earth\. Residual-current tester.*\| below 2 V; it trips within 300 ms"}, ON_LOADS, SET),
    "second bond": ({"second-bond": r"Lift the neutral-earth link.*Ohmmeter: both neutral bars to earth bar.*\| above 1 Mohm"}, ("switch-on",), SET),
    "string reversed": ({"string-polarity": r"Voltmeter at each holder: every string, red on plus.*\| plus sign"}, ("solar-close",), UNITS),
    "lines swapped in the common run": ({"load-run": r"Ohmmeter from each load bar to each terminal behind the residual-current device.*\| each line to its own and neutral to neutral below 0\.5 ohm; each line to every other, to neutral and to earth: open"}, ON_LOADS, SET),
    "lines swapped ahead of the incoming bar": ({"incoming-run": r"on the side of the set to each incoming bar, neutral and earth too.*\| each line to its own and neutral to neutral below 0\.5 ohm; each line to every other, to neutral and to earth: open"}, ON_SUPPLY, SET),
    "protective earth open": ({"land": r"LOAD PE and INCOMING PE \(before: ohmmeter from the free end to the case\).*\| free ends below 0\.5 ohm",
                               "load-continuity": r"case to earth bar.*\| .*and case: below 0\.5 ohm"}, ("battery-close",), UNITS),
    "wrong breaker": ({"read-gear": r"Read every breaker, isolator and residual-current device.*\| .*breaker"}, ("unit-voltage",), SET),
    "wrong battery fuse": ({"fit-fuses": r"Read each fuse link, then fit it.*\| battery .*\d+ A"}, ON_BATTERY, BANKS),
    "wrong string fuse": ({"fit-string-fuses": r"Read each string fuse, then fit it.*\| gPV fuse, \d+ A"}, ("solar-close",), SET),
    "sensor or data lead of the bank missing": ({"bank-seen": r"Read on the display of a unit on it what it sees of the bank.*limits.*\| .*limits, both above zero"}, CHARGING, BANKS),
    "a bond that closes only while a unit runs": ({"earth-current": r"Earth-leakage clamp.*\| no more with loads on"}, ("leave",), SET),
    "bank fed in another place": ({"join-strings": r"Its two leads leave the row so: both from one end of the row.*\| 6 strings in parallel"}, ON_BATTERY, BANKS),
    "cover left off": ({"covers": r"Fit every cover of a bar.*\| nothing that will be live can be touched"}, ON_BATTERY, SET),
    "incoming rotation": ({"incoming-voltage": r"open incoming isolator.*Rotation meter.*\| .*rotation 123"}, ON_SUPPLY, SET),
}
# Three phases, two units and a bank on each, strings with fuses, a supply: here all of them can happen.
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


def name(step):
    return step.id.partition("@")[0]


def by_id(plan):
    """All steps by their identity."""
    return {step.id: step for step in plan.parts.procedure.steps}


def there(plan, wanted):
    """The steps of a name, in order."""
    return [step for step in plan.parts.procedure.steps if name(step) == wanted]


def uncaught(steps, mistake):
    """Where a mistake is not held up before its damage: empty if it is caught everywhere. What is done at a unit is done at its bank too."""
    reveals, damages, places = MISTAKES[mistake]
    bad = []
    for at in places:
        touched = (at, "set", *(tag for tag in TAGS if EVERYTHING["storage.wired"][tag] == at))
        done = next((k for k, step in enumerate(steps) if name(step) in damages and (len(places) == 1 or step.at in touched)), None)
        for revealed, pattern in reveals.items():
            found = next((k for k, step in enumerate(steps) if name(step) == revealed and step.at == (at or step.at) and re.search(pattern, f"{step.do} | {step.expect}")), None)
            if found is None or done is None or not (steps[found].hold and found < done):
                bad.append((mistake, revealed, at, found, done))
    return bad


@pytest.mark.parametrize("mistake", MISTAKES)
def test_every_mistake_is_revealed_before_damage(mistake):
    """In the order in which the steps are done, place by place."""
    assert uncaught(planned(EVERYTHING).parts.procedure.steps, mistake) == []


def test_the_check_of_mistakes_can_fail():
    """Steps in reverse order catch nothing; nor do they where nobody must stop."""
    steps = planned(EVERYTHING).parts.procedure.steps
    assert [mistake for mistake in MISTAKES if not uncaught(steps[::-1], mistake)] == []
    unheld = [type(step)(**{**vars(step), "hold": False}) for step in steps]
    assert [mistake for mistake in MISTAKES if not uncaught(unheld, mistake)] == []


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
    steps = [step for step in planned().parts.procedure.steps if step.section == "bench" and step.who == "L2-1"]
    order = {"bench-earth": "Land its earth", "bench-polarity": "Bench lead with a fuse of 20 A or less", "bench-pre-charge": "pre-charge resistor", "bench-enter": "Switch it on. Enter",
             "read-back": "Wait 10 s", "bench-away": "Take the bench lead away. Wait five minutes"}
    assert [step.id for step in steps] == [f"{name}@L2-1" for name in order]
    assert all(words in step.do for step, words in zip(steps, order.values(), strict=True))


def test_figures_are_those_of_the_site():
    plan = planned(EVERYTHING)
    # sqrt(3) x 230 V = 398.4 V; two 12 mohm modules in one loop, halved because only stated: 50 A x 12 mohm = 0.6 V.
    assert plan.figures["plan.steps.line_voltage"].value == pytest.approx(398.37, abs=0.01)
    assert plan.figures["plan.steps.match"].value == pytest.approx(0.6)
    steps = by_id(plan)
    for bank in BANKS:
        assert steps[f"bank-polarity@{bank}"].expect == "open; +46 V to +56 V"
    for tag, bank in EVERYTHING["storage.wired"].items():
        assert steps[f"unit-polarity@{tag}"].expect == f"+46 V to +56 V; {bank}: below 0.5 ohm; others: open"


def test_a_bar_is_dead_and_free_of_a_short_before_its_bank_is_switched_on():
    """An ohmmeter belongs on nothing live; and of separate banks only the cable on its own joins a unit's minus to a bank's."""
    plan = planned(EVERYTHING)
    doing = {step.id: [str(item) if isinstance(item, Act) else item.instrument for item in items] for step, items in course(plan.facts, plan.parts)}
    for bank in BANKS:
        assert doing[f"bank-polarity@{bank}"] == [Instrument.OHM, f"switch on {bank}", Instrument.DC]
    assert "Ohmmeter at the dead bar, plus to minus. Bank switched on. Voltmeter" in by_id(plan)["bank-polarity@B1"].do
    for tag in TAGS:
        assert doing[f"unit-polarity@{tag}"] == [Instrument.DC, *[Instrument.OHM] * len(BANKS)]
    assert {step.expect for step in there(planned(), "unit-polarity")} == {"+46 V to +56 V"}


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
    second = by_id(planned(EVERYTHING))["unit-voltage@L2-2"]
    assert "unit side to its bar; unit side to a live bar of another phase." in second.do
    assert second.expect == "219 V to 241 V; below 2 V; near 398 V; then no alarm, no hum"
    assert second.hold


def test_a_unit_meets_its_bar_only_after_every_reading_at_its_open_isolator():
    """One step reads and closes: nobody goes on to close before all readings are right, with the fused lead off again."""
    for changes in ({}, EVERYTHING, set_of(1), set_of(2)):
        plan = planned(changes)
        seen = 0
        for step, items in course(plan.facts, plan.parts):
            if name(step) == "unit-voltage":
                doing = list(items)
                assert step.do.endswith("All right: close its own." if changes != set_of(1) else "All right: close it.")
                assert step.otherwise.startswith("Fuse blown: once more. Do not close, or open at once." if "Fused lead" in step.do else "Do not close, or open at once.")
                assert (str(doing[-1]), step.hold) == (f"close load {step.at} isolator", True)
                assert sum(isinstance(item, Reading) for item in doing) == len(step.do.partition("in turn: ")[2].partition(". ")[0].split("; ")) > 1
                assert not any(isinstance(item, Act) and item.verb is Verb.CLOSE for item in doing[:-1])
                seen += 1
        assert seen == len(plan.parts.units.units)


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
    """Behind an open load isolator there is nothing to trip: it closes in the step of the test, the first load only later, and that one is a heater that nothing harms."""
    steps = planned(EVERYTHING).parts.procedure.steps
    test, closed = first(steps, "Residual-current tester"), first(steps, "Close the load isolator of the set", where=lambda step: "dead" not in step.section)
    assert test is closed
    order = [name(step) for step in steps]
    assert order.index("trip-alone") < order.index("test-load") < order.index("incoming-close") < order.index("loads-on")
    heater = by_id(planned(EVERYTHING))["test-load@set"]
    assert heater.do.startswith("Plug a heater of 1 to 2 kW in behind the residual-current device, on each line in turn")
    assert (heater.expect, heater.hold, heater.hurt) == ("219 V to 241 V on every line, alike within 5 %, whichever the heater is on", True, True)


def test_units_run_alone_while_their_shares_are_measured():
    plan = planned(EVERYTHING)
    steps = by_id(plan)
    opened = [(step.id, [str(item) for item in items if isinstance(item, Act) and "incoming" in item.thing]) for step, items in course(plan.facts, plan.parts) if step.section == "loads"]
    assert opened[0] == ("loads-on@L1", ["open incoming common isolator"])
    assert [step for step, acts in opened[1:] if acts] == ["transfer@set"]
    for phase in ("L1", "L2", "L3"):
        assert steps[f"loads-on@{phase}"].do.startswith("Open the incoming isolator of the set, if it is closed. Units alone. Switch the loads of this phase on, one by one, those on several phases last.")
    assert steps["transfer@set"].do.startswith("Loads on. Close the incoming isolator of the set;")
    assert [step for step in steps if step.startswith(("loads-on", "shares", "transfer"))] == [f"loads-on@{phase}" for phase in ("L1", "L2", "L3")] + [f"shares@{tag}" for tag in TAGS] + ["transfer@set"]


def test_a_site_without_bond_is_not_told_to_lift_one():
    plan = planned({"earthing.system": "IT", "earthing.island_bond": "none"})
    assert not first(plan.parts.procedure.steps, "Lift the neutral-earth link")
    step = by_id(plan)["second-bond@set"]
    assert "no bond in island mode" in step.do
    assert "Ohmmeter: both neutral bars to earth bar." in step.do


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
    assert "Breaker of every final circuit off, its load isolator open." in text


def test_sets_and_motors_and_turning_phases_are_told_where_they_are():
    text = told(planned(EVERYTHING | {"loads": [{"name": "Saw", "phase": "all", "power": "2 kW", "motor": True}]}))
    for there in ("solar, load, incoming, battery", "rotation 132", "Rotation 132", "Start Saw, the largest start", "Load isolator of the set stays open, its own is still open", "within 0.1 V of the bar"):
        assert there in text
    # A set on one phase has bars and a switch of its own, and nothing that turns.
    assert "otation" not in told(planned(set_of(2) | {"incoming.arrangement": "single-phase"}))


def test_the_charge_limit_of_one_unit_is_held_against_its_bank():
    step = by_id(single())["charge-sum@B1"]
    assert step.do == "Hold the charge limit you read back from its unit against that of the bank."
    assert re.fullmatch(r"80 A, not above [\d.]+ A", step.expect)
    assert step.hold


def test_a_full_module_is_not_expected_at_its_nominal_voltage():
    step = by_id(planned())["modules@B1"]
    assert step.do.startswith("Every module of it on its own:")
    assert "each +46 V to +56 V, full ones near the upper end" in step.expect
    assert "51.2" not in step.expect
    two = by_id(planned({"storage.bank.series": 2, "unit.dc_max": "120 V"}))["modules@B1"]
    assert "each +46 V to +56 V" in two.expect


def test_the_bench_lead_reads_what_the_open_isolator_will_read():
    for left_out in ((), ("unit.dc_min", "unit.dc_max")):
        steps = planned(without=left_out).parts.procedure.steps
        assert first(steps, "Bench lead with a fuse").expect == "plus sign, +46 V to +56 V"
    only_unit = planned(without=("storage.module", "storage.chemistry")).parts.procedure.steps
    assert first(only_unit, "Bench lead with a fuse").expect == "plus sign, +42 V to +60 V"


def test_a_bond_relay_inside_the_units_is_not_lifted():
    plan = planned({"earthing.island_bond": "unit relay"})
    assert not first(plan.parts.procedure.steps, "Lift the neutral-earth link")
    step = by_id(plan)["second-bond@set"]
    assert "Ohmmeter: both neutral bars to earth bar." in step.do
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
    step = by_id(planned())["second-bond@set"]
    assert step.expect == "above 1 Mohm while it is lifted; across it, back again, below 0.5 ohm"
    assert step.otherwise.startswith("Below 1 ohm: there is a second bond")
    assert "Between the two: not proven" in step.otherwise
    assert "do not go on" in step.otherwise
    assert step.hold
    assert step.do.startswith("Prove dead at changeover board. Lift the neutral-earth link there.")
    assert step.do.endswith("Put the link back; ohmmeter across it.")


def test_a_neutral_that_meets_earth_inside_a_unit_is_looked_for_with_the_isolators_of_the_units_closed():
    """Behind an open isolator of two poles it would not show; the supply stays off, and all are open and locked again."""
    for changes, closed, bars in (
        ({}, "Close every isolator of the units for load and incoming. Ohmmeter: both neutral bars to earth bar. Open and lock them again.", ["load bar N", "incoming bar N"]),
        ({"incoming.kind": "none"}, "Close every isolator of the units for load. Ohmmeter: neutral bar to earth bar. Open and lock them again.", ["load bar N"]),
        # The only incoming isolator of a single unit has the supply behind it.
        (set_of(1), "The incoming isolator of the unit open with its neutral. Close its load isolator. Ohmmeter: neutral bar to earth bar. Open and lock it again.", ["load bar N"]),
    ):
        plan = planned(changes)
        [(step, items)] = [(step, list(items)) for step, items in course(plan.facts, plan.parts) if name(step) == "second-bond"]
        assert closed in step.do
        # Last of all the link itself, back in its place.
        assert [item.at for item in items if isinstance(item, Reading)] == [(bar, "earth bar") for bar in (*bars, "bond N")]
        kinds = ("load",) if len(bars) == 1 else ("load", "incoming")
        isolators = [f"{kind} {tag} isolator" for kind in kinds for tag in plan.parts.units.tags]
        acts = [str(item) for item in items if isinstance(item, Act)]
        assert acts == ["lift bond", *[f"close {one}" for one in isolators], *[f"open {one}" for one in isolators], "fit bond"]


def test_a_unit_on_the_bench_has_its_terminals_covered_before_it_is_on():
    """Its output is live as soon as it runs, with nothing landed there."""
    found = there(planned(), "bench-enter")
    assert len(found) == 3
    for step in found:
        assert step.do.startswith("Cover its AC terminals: LOAD goes live. Switch it on. Enter")
        assert step.hurt


def test_banks_are_apart_only_below_the_limit_and_a_reading_between_proves_nothing():
    step = by_id(planned(EVERYTHING))["banks-apart@set"]
    assert "Low-impedance voltmeter: each pole of B1 to each pole of B2" in step.do
    assert step.expect == "below 1 V each time"
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
    for strings in (1, 2):
        alike = steps_with(planned({"storage.bank.parallel": strings}), "Before a string of it")
        assert [step.id for step in alike] == ["strings-alike@B1"] * (strings - 1)
    assert "charge it full at the maker's voltage" in by_id(planned())["modules@B1"].do
    assert "charge it, let it rest" in by_id(lead)["modules@B1"].do
    assert not [step for plan in (single, legs) for step in plan.parts.procedure.steps if "rotation" in f"{step.do} {step.expect}".lower()]


def test_banks_that_nobody_knows_are_traced_and_written_down():
    unknown = planned({"storage.connection": None, "storage.wired": {}})
    assert steps_with(unknown, "Write the bank beside each tag")[0].hold
    assert not steps_with(planned(), "Write the bank beside each tag")


def test_steps_name_what_was_answered_and_leave_out_what_was_not():
    assert by_id(planned())["land@L1-1"].expect.startswith("free ends below 0.5 ohm; battery 9 N m on M8, AC 1.8 N m;")
    assert by_id(planned(without=("unit.dc_stud",)))["land@L1-1"].expect.startswith("free ends below 0.5 ohm; battery 9 N m, AC 1.8 N m;")
    assert by_id(planned())["load-continuity@L1-1"].otherwise.startswith("Lines rolled or load and incoming swapped;")
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
    [step] = there(plan, "bank-current")
    assert step.who == "B1"
    assert "direct-current clamp meter on battery B1." in step.do
    assert step.expect == f"not above {plan.parts.storage.banks[0].discharge_limit}"
    apart = planned({"storage.connection": "bank-per-unit", "storage.wired": {"L1-1": "B1", "L2-1": "B2", "L3-1": "B3"}})
    assert ["the battery cable of B2" in step.do for step in there(apart, "bank-current")] == [False, True, False]


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
    fed = first(planned({"storage.bank.feed": "bar"}).parts.procedure.steps, r"Join its strings one by one")
    assert fed.id == "join-strings@B1"
    assert "from a bar, every string by two leads of one length" in fed.do
    assert first(planned({"storage.bank.parallel": 1}).parts.procedure.steps, r"Join (its|the) strings") is None
    assert not there(planned({"storage.bank.parallel": 1}), "join-strings")


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
    def voltages(plan):
        return [(step, [str(item) for item in items if isinstance(item, Act)]) for step, items in course(plan.facts, plan.parts) if name(step) == "unit-voltage"]

    found = voltages(planned())
    assert ["Fused lead from its neutral to the neutral bar." in step.do for step, _ in found] == [False, True, True]
    assert ["Lead off; is its fuse whole? All right: close its own." in step.do for step, _ in found] == [False, True, True]
    assert [acts[:-1] for _, acts in found] == [[], *([f"plug bridge {tag} neutral", f"unplug bridge {tag} neutral"] for tag in ("L2-1", "L3-1"))]
    assert [len(acts) for _, acts in voltages(planned({"site.rules": "nec", "output.voltage": "120 V", "output.frequency": "60 Hz"}))] == [1, 1, 1]
    assert not steps_with(planned({"site.rules": "nec", "output.voltage": "120 V", "output.frequency": "60 Hz"}), "Fused lead from its neutral")


def test_a_step_names_no_bond_that_the_site_has_not():
    """A relay inside the units is not taken out for the insulation test; where no bond is made there is none to label."""
    assert "Put the surge devices and the neutral-earth link back." in steps_with(planned(), "Put the surge devices")[0].do
    assert "Put the surge devices back." in steps_with(planned({"earthing.island_bond": "unit relay"}), "Put the surge devices")[0].do
    assert steps_with(planned(), "Fit source labels")[0].do.endswith("Fit source labels and the bond label.")
    unbonded = planned({"earthing.system": "IT", "earthing.island_bond": "none"})
    assert steps_with(unbonded, "Fit source labels")[0].do.endswith("Fit source labels.")


def test_a_unit_alone_is_measured_to_boards_and_several_to_bars():
    several, one = there(planned(), "incoming-continuity"), there(planned(set_of(1)), "incoming-continuity")
    assert [step.expect for step in several] == ["the incoming bar of its phase, neutral: below 0.5 ohm; all else: open"] * 3
    assert all("Ohmmeter: INCOMING line to each bar, to neutral and to earth; its neutral to the incoming neutral bar" in step.do for step in several)
    assert [step.expect for step in one] == ["line to line and neutral to neutral: below 0.5 ohm; all else open"]
    assert "line to INCOMING line, neutral to INCOMING neutral; then INCOMING line to INCOMING neutral, to earth and to the load board" in one[0].do


def test_behind_the_only_incoming_isolator_is_the_supply_so_a_dead_test_never_closes_it():
    plan = planned(set_of(1))
    for step, items in course(plan.facts, plan.parts):
        if step.section == "dead tests again":
            assert not [item for item in items if isinstance(item, Act) and "incoming" in item.thing], step
    assert by_id(plan)["incoming-continuity@L1-1"].do.startswith("Its incoming isolator stays open and locked: the supply is behind it.")


def test_a_side_of_a_unit_is_measured_while_the_other_one_is_open():
    """A transfer relay that rests closed joins both sides of a unit that is right: each step closes one isolator, and opens it again."""
    plan = planned(EVERYTHING)
    closed, seen = set(), 0
    for step, items in course(plan.facts, plan.parts):
        if name(step) in ("load-continuity", "incoming-continuity"):
            for item in items:
                if isinstance(item, Act):
                    (closed.add if item.verb is Verb.CLOSE else closed.discard)(item.thing)
                else:
                    assert closed == {f"{name(step).partition('-')[0]} {step.at} isolator"}
                    seen += 1
            assert not closed
            assert step.do.endswith("Open and lock it.")
    assert seen > 100


def test_with_one_bank_on_its_bar_the_units_of_the_later_ones_are_measured():
    """A cable landed on the wrong bank shows there; behind the last bank there is none."""
    tags = ("L1-1", "L1-2", "L2-1", "L2-2")
    two = {"output.arrangement": "split-phase", "set.count": 4, "set.per_phase": [2, 2], "storage.connection": "bank-per-phase", "storage.wired": {tag: f"B{tag[1]}" for tag in tags}}
    found = there(planned(two), "bank-close")
    assert [step.at for step in found] == ["B1", "B2"]
    assert all(step.do.startswith("Close the battery isolator of the bank onto its bar. No unit is on the bar yet.") for step in found)
    told = [(step.do.partition("yet.")[2], step.expect) for step in found]
    assert told == [(" Voltmeter at the open battery isolators of L2-1, L2-2, battery side.", "no spark, no sound; below 1 V at those"), ("", "no spark, no sound")]


def test_every_setting_is_read_back_and_no_incoming_limit_where_nothing_comes_in():
    """The values stand once, in the settings of the unit: the step reads each of them, and none that the unit is not given."""
    for changes, limited in (({}, True), ({"incoming.kind": "none"}, False)):
        plan = planned(changes)
        assert by_id(plan)["read-back@L1-1"].do.endswith("Read back every setting.")
        assert by_id(plan)["read-back@L1-1"].expect == "phase, role, storage mode and every other as on its sheet; firmware the same on every unit"
        [items] = [list(items) for step, items in course(plan.facts, plan.parts) if step.id == "read-back@L1-1"]
        read = [item.at[1] for item in items if isinstance(item, Reading)]
        assert read == [*(setting.setting for setting in plan.parts.settings.of["L1-1"]), "firmware"]
        assert ("incoming_limit" in read) is limited
        assert {"phase", "role", "storage_mode", "charge_limit"} <= set(read)


def test_a_unit_says_every_setting_once_more_when_all_are_on():
    """It was off since it was read back: each setting of its sheet is read in both steps."""
    plan = planned()
    read = {step.id: [(item.at[1], item.want) for item in items if isinstance(item, Reading) and item.at[1] != "firmware"] for step, items in course(plan.facts, plan.parts)}
    for tag in plan.parts.units.tags:
        assert len(read[f"display@{tag}"]) > 5
        assert read[f"display@{tag}"] == read[f"read-back@{tag}"]
        step = by_id(plan)[f"display@{tag}"]
        assert "every setting once more" in step.do
        assert step.expect.endswith("; all as on its sheet")
        assert step.hold


def test_a_bank_of_unknown_limits_is_measured_against_its_nominal_voltage():
    unknown = planned({"storage.chemistry": None}, without=("storage.module.absorption", "storage.module.float", "storage.module.low", "storage.module.cells"))
    at_bank = steps_with(unknown, "Voltmeter at its open battery isolator, battery side, red on plus.")
    assert {step.expect for step in at_bank} == {"plus sign, near +51.2 V (nominal; its limits are not computed)"}
