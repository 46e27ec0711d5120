"""The order of work (T24): where people can be hurt, what is counted, and the readings that a site's own answers decide."""

from __future__ import annotations

from typing import Any

import pytest

from engine.planner import Planned
from engine.stages.procedure.part import Step
from tests.defence.sites import NEC, SOLAR, site, split

NOTHING: dict[str, Any] = {"incoming": {"kind": "none"}}
EARTHED: dict[str, Any] = {"storage.earthed": "minus"}


def steps(plan: Planned, section: str, word: str = "") -> list[Step]:
    """The steps of a section that say a word."""
    return [step for step in plan.parts.procedure.steps if step.section == section and word in step.do]


def name(step: Step) -> str:
    """What a step is called wherever it is repeated."""
    return step.id.partition("@")[0]


def called(plan: Planned, wanted: str) -> list[Step]:
    """The steps of a name, in order."""
    return [step for step in plan.parts.procedure.steps if name(step) == wanted]


def by_id(plan: Planned) -> dict[str, Step]:
    """All steps by their identity."""
    return {step.id: step for step in plan.parts.procedure.steps}


# Where nothing that is touched is live, holds a charge or can be; whole sections first.
HARMLESS = {
    "look", "power up", "hand over",
    "read-back", "charge-sum", "pull", "lugs", "trace", "earth-resistance", "load-continuity", "incoming-continuity", "load-run", "covers", "links", "chain-resistance",
}  # fmt: skip


@pytest.mark.parametrize("changes", [SOLAR, SOLAR | EARTHED, split(2, 2, 2), split(1, 1), split(1), NOTHING])
def test_a_step_at_what_is_live_or_charged_is_marked(changes) -> None:
    """A meter on a bank, a bar, an AC terminal or a string, an insulation tester, a bond that is lifted, an isolator that is closed: all hurt."""
    plan = site(changes)
    # Behind the only incoming isolator of a single unit stands the supply.
    harmless = HARMLESS if len(plan.parts.units.units) > 1 else HARMLESS - {"incoming-continuity"}
    for step in plan.parts.procedure.steps:
        assert step.hurt is not bool({step.section, name(step)} & harmless), step


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
    assert steps(known, "mount", "Trace by hand")[0].hold
    assert not steps(known, "look", "Trace by hand")
    assert [(step.who, step.hold) for step in steps(unknown, "look", "Trace by hand")] == [("set", True)]
    assert "every battery (banks not yet known)" in steps(unknown, "make safe", "Find every source")[0].do


@pytest.mark.parametrize(("chemistry", "how"), [("lfp", "charge it full at the maker's voltage, let it rest"), ("agm", "charge it, let it rest")])
def test_modules_are_matched_by_their_chemistry(chemistry, how) -> None:
    [step] = called(site({"storage.chemistry": chemistry}), "modules")
    assert step.do == f"Every module of it on its own: {how}. Voltmeter, red probe on plus."
    assert step.at == "B1"


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
    assert "battery 9 N m on M8, AC 1.8 N m" in by_id(site())["land@L1-1"].expect
    assert "battery 9 N m, AC 1.8 N m" in by_id(site(without=("unit.dc_stud",)))["land@L1-1"].expect


@pytest.mark.parametrize(("changes", "wrong"), [
    ({}, "Lines rolled or load and incoming swapped"),
    (NOTHING, "Lines rolled"),
    (split(2), "Load and incoming swapped"),
    (split(2) | NOTHING, "LOAD not landed, or on another terminal"),
])
def test_what_a_wrong_reading_means(changes, wrong) -> None:
    """Of the incoming side too, where something comes in; only on the load side is the earth of the case read."""
    plan = site(changes)
    load, incoming = called(plan, "load-continuity"), called(plan, "incoming-continuity")
    assert all("LOAD line" in step.do and step.hold for step in load)
    assert {step.otherwise for step in load} == {f"{wrong}; neutral or earth open; a short. Rewire; measure."}
    assert [len(load), len(incoming)] == [len(plan.parts.units.units), 0 if NOTHING.items() <= changes.items() else len(plan.parts.units.units)]
    assert {step.otherwise for step in incoming} <= {f"{wrong}; neutral open; a short. Rewire; measure."}
    assert all("INCOMING line" in step.do and step.hold for step in incoming)


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
    assert step.expect == "each unit not above 40 A; 207 V to 253 V on every line; the set follows the supply, no alarm"
    assert "voltmeter at the bar, each line to neutral. Charging on. Clamp meter on each unit's incoming line." in step.do
    [unknown] = steps(site({"incoming.breaker": None}), "residual current", "Charging on")
    assert unknown.expect.startswith("incoming limit not computed")


def test_a_bank_closed_onto_its_bar_shows_which_cables_hang_on_it() -> None:
    """While later banks are open, a voltage at the isolator of one of their units says that its cable is on this one; at the last bank nothing is left open."""
    closing = {step.at: step for step in called(site(split(2, 2, 2, bank="bank-per-phase")), "bank-close")}
    assert all(step.do.startswith("Close the battery isolator of the bank onto its bar. No unit is on the bar yet.") for step in closing.values())
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
    own, apart, common = called(plan, "insulation"), called(plan, "pole-insulation"), called(plan, "common-insulation")
    assert [step.at for step in own + apart] == ["L1-1", "L2-1", "L3-1", "B1"]
    assert {step.do for step in own} == {"Its cables free at both ends: a landed unit would be destroyed. Insulation tester, load and incoming: L and N to earth, L to N. Battery: + to -, each to earth."}
    assert {step.expect for step in own} == {f"1 Mohm or more at 500 V DC; battery {told}"}
    assert {step.expect for step in apart} == {told}
    assert {step.at: step.expect for step in common} == {"set": "1 Mohm or more at 500 V DC", "B1": told}


@pytest.mark.parametrize(("changes", "expect", "otherwise"), [
    ({}, "the load bar of its phase, neutral and case: below 0.5 ohm; all else: open", "Lines rolled or load and incoming swapped"),
    (NOTHING, "the load bar of its phase, neutral and case: below 0.5 ohm; all else: open", "Lines rolled"),
    (split(1), "the load board, neutral and case: below 0.5 ohm; all else: open", "Load and incoming swapped"),
    (split(1) | NOTHING, "the load board, neutral and case: below 0.5 ohm; all else: open", "LOAD not landed, or on another terminal"),
])
def test_an_ohmmeter_on_an_output_finds_what_can_be_swapped_there(changes, expect, otherwise) -> None:
    """With other phases their bars are open, with a supply its board; with neither there is nothing to be swapped with."""
    step = by_id(site(changes))["load-continuity@L1-1"]
    assert "Ohmmeter: LOAD line" in step.do
    assert (step.expect, step.otherwise) == (expect, f"{otherwise}; neutral or earth open; a short. Rewire; measure.")


@pytest.mark.parametrize(("changes", "loose", "neutrals"), [
    ({}, "Voltage up on another phase meanwhile: the neutral is open. Everything off.", 1),
    (split(1, 1), "Voltage up on another phase meanwhile: the neutral is open. Everything off.", 1),
    (split(2), "Voltage out of its window: look for a loose joint.", 0),
])
def test_an_open_neutral_shows_on_another_phase_where_there_is_one(changes, loose, neutrals) -> None:
    """A star point that floats raises one phase as another is loaded; on a single phase a bad joint only lowers it, and no neutral is common."""
    plan = site(changes)
    found = called(plan, "loads-on")
    assert [step.at for step in found] == list(plan.facts.phases)
    assert all(step.otherwise.endswith(loose) and "Switch the loads of" in step.do for step in found)
    assert len(steps(plan, "loads", "Clamp meter on the common neutral")) == neutrals


ONE_BANK_EACH: dict[str, Any] = split(2, 1, bank="bank-per-phase")
GENERATOR: dict[str, Any] = {"incoming.kind": "generator", "incoming.rating": "40 kVA"}
AGM: dict[str, Any] = {"storage.chemistry": "agm", "storage.managed": None, "storage.links": []}
RELAY: dict[str, Any] = {"earthing.island_bond": "unit relay"}


@pytest.mark.parametrize(("changes", "live"), [
    (NOTHING, "The posts of a battery stay live"),
    (NOTHING | SOLAR, "The posts of a battery, solar strings in daylight stay live"),
    ({}, "The posts of a battery, the utility side of the incoming isolator of the set, unless it is dead and locked farther up, stay live"),
    (GENERATOR, "The posts of a battery, the generator side of the incoming isolator of the set, unless it is dead and locked farther up, stay live"),
    (split(1), "The posts of a battery, the utility side of the incoming isolator of the unit, unless it is dead and locked farther up, stay live"),
])
def test_what_no_isolator_makes_dead_is_named(changes, live) -> None:
    """Ahead of the first isolator the supply is there, however many padlocks hang behind it."""
    [step] = steps(site(changes), "make safe", "Prove dead")
    assert f"{live} whatever is open" in step.do
    assert ("String connectors stay apart." in step.otherwise) is (SOLAR.items() <= changes.items())


@pytest.mark.parametrize(("changes", "read"), [
    ({}, ("battery B1: DC isolator, 400 A or more, 2 poles; battery of every unit: DC isolator, 160 A or more, 2 poles; "
         "load of every unit, incoming of every unit: breaker curve C, 40 A, 2 poles; load common: AC isolator, 40 A or more, 4 poles; "
         "load common: residual-current device, 40 A or more, 4 poles; incoming common: breaker that is there, 40 A, 4 poles")),
    (split(1) | NOTHING, "battery L1-1: DC isolator, 160 A or more, 2 poles; load L1-1: breaker curve C, 25 A, 2 poles; load L1-1: residual-current device, 25 A or more, 2 poles"),
])
def test_what_is_read_before_it_is_mounted(changes, read) -> None:
    """T4, T6: a breaker is of its rating, what only isolates at least of it; a fuse is read when it is fitted."""
    [step] = steps(site(changes), "look", "Read every breaker")
    assert step.expect == read
    assert step.hold


def test_circuits_of_a_kind_that_differ_are_named_one_by_one() -> None:
    """Two units share the 300 A that bank B1 takes; that of B2 may charge with all of them."""
    [step] = steps(site(ONE_BANK_EACH | {"unit.charge_current": "300 A"}), "look", "Read every breaker")
    assert step.expect.startswith("battery B1, battery L2-1: DC isolator, 400 A or more, 2 poles; battery L1-1, battery L1-2: DC isolator, 200 A or more, 2 poles;")


def test_two_units_are_every_unit() -> None:
    [step] = steps(site(split(2)), "look", "Read every breaker")
    assert "battery of every unit" in step.expect


def test_a_rating_that_is_not_known_is_no_least() -> None:
    [step] = steps(site(without=("unit.real_power", "unit.apparent_power", "unit.surge_power")), "look", "Read every breaker")
    assert "load of every unit: AC isolator, rating not computed, 2 poles" in step.expect
    assert "not computed or more" not in step.expect


@pytest.mark.parametrize(("changes", "tested", "landed", "runs"), [
    ({}, "load common and incoming common", "earth common (incoming board to earth bar); earth load-board (earth bar to load board); load common (from the bars of the load board through isolator and residual-current device); incoming common (from the bars of the incoming board through breaker that is there)", 2),
    (NOTHING, "load common", "earth common (load board to earth bar); load common (from the bars of the load board through isolator and residual-current device)", 1),
    (split(1), None, "earth common (incoming board to earth bar); earth load-board (earth bar to load board)", 0),
])
def test_the_circuits_of_the_set_are_tested_landed_and_rung_out(changes, tested, landed, runs) -> None:
    """A single unit has none but those of its boards to earth; whatever is out for the insulation test is put back when it is landed."""
    plan = site(changes)
    insulation = steps(plan, "dead tests", "every conductor to earth, and to every other")
    assert [step.do.partition(" free")[0] for step in insulation if step.who == "set"] == ([f"Cables of {tested}"] if tested else [])
    assert [step.do.partition(" free")[0] for step in insulation if step.who == "B1"] == (["Cables of battery B1"] if tested else [])
    assert {step.expect for step in insulation if step.who == "set"} <= {"1 Mohm or more at 500 V DC"}
    [first] = [step for step in steps(plan, "land", "Every isolator open") if step.who == "set"]
    assert f"in this order: {landed}. Put the surge devices and the neutral-earth link back." in first.do
    assert ("and bar says" in first.expect) is (tested is not None)
    between = called(plan, "load-run") + called(plan, "incoming-run")
    assert [step.hold for step in between] == [True] * runs
    assert all("neutral and earth too" in step.do for step in between)
    assert {step.expect for step in between} <= {"each line to its own and neutral to neutral below 0.5 ohm; each line to every other, to neutral and to earth: open (neutral to earth is not read: a bond joins them)"}
    assert ["residual-current device" in step.do for step in between] == [True, False][:runs]


@pytest.mark.parametrize(("changes", "link"), [({}, " and the neutral-earth link"), (RELAY, ""), ({"earthing.island_bond": "none", "earthing.system": "IT"}, "")])
def test_only_a_bond_that_can_be_taken_out_is_taken_out_and_put_back(changes, link) -> None:
    plan = site(changes)
    assert f"Surge devices{link} out." in steps(plan, "dead tests", "Cables of load common")[0].do
    assert f"Put the surge devices{link} back." in steps(plan, "land", "earth common")[0].do


@pytest.mark.parametrize(("changes", "off"), [({}, "Bank switched off. "), (AGM, "")])
def test_the_posts_of_a_bank_are_landed_last(changes, off) -> None:
    """T4: no isolator makes them dead; what manages a bank can keep it off. Without a bar a unit's own cable ends there."""
    [bank] = called(site(changes), "land-bank")
    assert bank.at == "B1"
    assert bank.do.startswith(f"{off}No fuse in its holder, its isolator open. Land in this order: battery B1 (B1 through fuse and isolator to bar B1). The posts of B1 are live and come last.")
    assert bank.hurt
    [earthed] = called(site(changes | EARTHED), "land-bank")
    assert "No fuse in its holder" in earthed.do
    assert "in this order: earth B1 (earth bar to B1); earth bar B1 (earth bar to bar B1); battery B1 (" in earthed.do
    assert "The posts of B1 are live and come last." in earthed.do
    # Of one unit alone only the earth of the bank is common: no post is touched yet.
    assert "posts" not in by_id(site(split(1) | EARTHED))["land-bank@B1"].do
    two = by_id(site(ONE_BANK_EACH))
    assert ["the posts of the bank last, they are live" in two[f"land@{tag}"].do for tag in ("L1-1", "L1-2", "L2-1")] == [False, False, True]
    assert "posts" not in by_id(site(changes))["land@L1-1"].do


@pytest.mark.parametrize(("changes", "what", "seen"), [
    ({}, "sensor and data lead of B1 in place", "charge and discharge limits, both above zero"),
    (AGM, "sensor of B1 in place", "the temperature of the room"),
])
def test_what_a_unit_must_see_of_its_bank(changes, what, seen) -> None:
    """T15: only a bank that manages itself says what it may be charged with."""
    plan = site(changes)
    [plugged], [read] = steps(plan, "chain", "temperature sensor"), steps(plan, "power up", "what it sees of the bank")
    assert plugged.expect.startswith(what)
    assert ("Plug its data lead into L1-1" in plugged.do) is (changes == {})
    assert (read.expect.endswith(seen), read.hold) == (True, True)
    assert ("limits that the bank sends" in read.do) is ("data lead" in read.otherwise) is (changes == {})


def test_a_bank_s_data_lead_goes_to_its_own_unit() -> None:
    plugged = steps(site(ONE_BANK_EACH), "chain", "temperature sensor")
    assert [(step.who, "L1-1, by" in step.do, "L2-1, by" in step.do) for step in plugged] == [("B1", True, False), ("B2", False, True)]


@pytest.mark.parametrize(("changes", "apart"), [(SOLAR, "Load, incoming, solar"), ({}, "Load, incoming"), (NOTHING, "Load")])
def test_what_stays_open_while_the_units_find_each_other(changes, apart) -> None:
    assert steps(site(changes), "power up")[0].do.startswith(f"{apart} isolators open. Read in the manual")
    assert steps(site(split(1) | changes), "power up")[0].do.startswith(f"{apart} isolators open. Switch the unit on.")


@pytest.mark.parametrize(("changes", "readings"), [
    (split(1), [("unit side to its own neutral; the load board to neutral.", "0 V", False)]),
    (split(2, 1), [
        ("unit side to its own neutral; its bar to neutral.", "0 V", False),
        ("unit side to its own neutral; unit side to its bar. Lead off; is its fuse whole?", "below 2 V", True),
        ("unit side to its own neutral; its bar to neutral; unit side to a live bar of another phase. Lead off; is its fuse whole?", "0 V; near 460 V", True),
    ]),
    # Under the NEC nothing opens the neutral: no unit is afloat.
    (split(2, 2) | NEC, [
        ("unit side to its own neutral; its bar to neutral.", "0 V", False),
        ("unit side to its own neutral; unit side to its bar.", "below 2 V", False),
        ("unit side to its own neutral; its bar to neutral; unit side to a live bar of another phase.", "0 V; near 240 V", False),
        ("unit side to its own neutral; unit side to its bar; unit side to a live bar of another phase.", "below 2 V; near 240 V", False),
    ]),
])
def test_a_unit_that_is_afloat_is_joined_by_a_fused_lead_while_it_is_measured(changes, readings) -> None:
    """Line to line of two phases 180 degrees apart is twice 230 V and 120 V."""
    found = called(site(changes), "unit-voltage")
    own = "its own" if len(found) > 1 else "it"
    told = [(f"{do} All right: close {own}.", f"{want}; then no alarm, no hum", joined) for do, want, joined in readings]
    assert [(step.do.partition("in turn: ")[2], step.expect.partition("; ")[2], "Fused lead from its neutral to the neutral bar." in step.do) for step in found] == told


@pytest.mark.parametrize(("parallel", "fused", "how"), [
    (1, None, "Join its string connectors. Voltmeter at its open solar isolator: every string"),
    (2, None, "Voltmeter at the connectors of every string, red on plus. Only then join them"),
    # Two inputs of three units, three strings on each, both poles: 36.
    (3, "gPV fuse, 20 A, in each pole of each string (36 of them)", "Join its string connectors, every fuse holder open. Voltmeter at each holder: every string, red on plus. Only then close the holders."),
])
def test_a_string_is_measured_before_it_meets_another(parallel, fused, how) -> None:
    """S11: a reversed one would be fed by those beside it."""
    plan = site(SOLAR | {"solar.parallel": parallel})
    assert [(step.expect, step.hold, step.hurt) for step in steps(plan, "solar", "Read each string fuse")] == ([(fused, True, True)] if fused else [])
    assert [how in step.do for step in steps(plan, "solar", "very string")] == [True] * 3


@pytest.mark.parametrize(("changes", "whose", "back"), [({}, "each unit", True), (split(1), "the unit", False)])
def test_current_in_the_earths_and_a_bar_that_is_live_before_it_is_closed(changes, whose, back) -> None:
    plan = site(changes)
    [clamp], [closing] = steps(plan, "loads", "Earth-leakage clamp round all"), steps(plan, "residual current", "Charging on")
    assert f"all earth conductors of {whose} together" in clamp.do
    assert clamp.hold
    assert (closing.otherwise.startswith("The bar is live before: a unit feeds back"), closing.hold) == (back, back)


@pytest.mark.parametrize(("changes", "hung"), [({}, "Hang every unit at its place on the drawing of the wall; two lift it: 28 kg. Fix enclosures, bars, isolators"), (split(1), "Hang the unit at its place on the drawing of the wall; two lift it: 28 kg. Fix enclosures, bars, isolators")])
def test_what_is_hung(changes, hung) -> None:
    assert steps(site(changes), "mount", "Hang")[0].do.startswith(hung)


@pytest.mark.parametrize(("changes", "links", "counted", "first", "last"), [
    ({}, "L1-1 plug to L2-1 socket; L2-1 plug to L3-1 socket.", "2 links between the 3 units; no ring", "L1-1: socket", "L3-1: plug"),
    ({"bus_nodes": [{"name": "Meter", "end": "last"}]}, "L2-1 plug to L3-1 socket; L3-1 plug to Meter.", "2 links between the 3 units, one to Meter; no ring", "L1-1: socket", "Meter: free port"),
    ({"unit.bus": {}}, "L1-1 port ? to L2-1 port ?; L2-1 port ? to L3-1 port ?.", "2 links between the 3 units; no ring", "L1-1: free port", "L3-1: free port"),
])
def test_the_chain_is_plugged_in_order_and_proved_from_both_ends(changes, links, counted, first, last) -> None:
    """T22, T24: each terminator alone is read from the other end, 120 ohm and a tenth; then both are in."""
    plan = site(changes)
    [plug], [one], [other] = steps(plan, "chain", "Only then plug"), steps(plan, "chain", "Plug the terminator of L1-1"), steps(plan, "chain", "Take the terminator")
    assert plug.do.endswith(links)
    assert plug.expect.startswith(counted)
    ends = [end.partition(":")[0] for end in (first, last)]
    assert one.do.startswith(f"Plug the terminator of {first}. Ohmmeter across the data pair in the open port of {ends[1]}, pins by the manual.")
    assert other.do.startswith(f"Take the terminator of {ends[0]} out. Plug the terminator of {last}. Ohmmeter across the data pair in the open port of {ends[0]},")
    assert other.do.endswith(f"Then plug that of {ends[0]} again.")
    assert one.expect == "108 to 132 ohm, with one terminator in"
    assert other.expect == "108 to 132 ohm, with one terminator in; then 2 terminators, none between"
    assert plug.hold and one.hold and other.hold
    # A unit alone has a bus where a meter hangs on it, and then its ends are closed and read as well.
    assert bool(steps(site(split(1) | changes), "chain", "terminator")) is ("bus_nodes" in changes)


def test_neutral_meets_earth_behind_the_isolator_of_the_set_wherever_the_bond_is() -> None:
    """T21: a set of four-pole isolators lets the neutral of the bars float where its bond lies behind the open one, so nothing is read there; behind it, closed,
    the neutral is at earth, which filters of many units cannot pretend as they can a trip."""
    [bars] = steps(site(), "voltages", "line to line")
    assert "earth" not in bars.do + bars.expect
    trip = next(step for step in site().parts.procedure.steps if step.id == "trip-alone@set")
    assert "Voltmeter behind it: neutral to earth." in trip.do
    assert trip.expect.startswith("below 2 V; it trips")
    assert trip.otherwise.startswith("More than 2 V, or no trip: neutral is not bonded to earth")
    unbonded = next(step for step in site({"earthing.island_bond": "none"}).parts.procedure.steps if step.id == "trip-alone@set")
    assert "neutral to earth" not in unbonded.do


@pytest.mark.parametrize(("changes", "answer", "roles"), [
    (split(2, 1), "units that answer: 2 on L1, 1 on L2; together 3, one lead (L1-1); no alarm for ten minutes", ["phase L1, lead; 2 on L1, 3 in all", "phase L1, follower; 2 on L1, 3 in all", "phase L2, follower; 1 on L2, 3 in all"]),
    (split(1), "no alarm for ten minutes", ["phase L1, lead"]),
    # No unit of this set is called so: which one leads is not known, and nobody may read a role as right.
    (split(1, 1) | {"set": {"count": 2, "per_phase": [1, 1], "lead": "L3-1"}}, "units that answer: 1 on L1, 1 on L2; together 2, one lead (not yet known); no alarm for ten minutes", ["phase L1, role not yet known (hold); 1 on L1, 2 in all", "phase L2, role not yet known (hold); 1 on L2, 2 in all"]),
])
def test_nobody_goes_on_before_every_unit_says_what_it_is(changes, answer, roles) -> None:
    """T12: how many answer, on which phase, which one leads."""
    found = steps(site(changes), "power up")
    assert all(step.hold for step in found)
    assert found[0].expect == answer
    shown = called(site(changes), "display")
    assert {step.do for step in shown} == {"Read on its display every setting once more, and how many units it sees." if len(shown) > 1 else "Read on its display every setting once more."}
    assert [step.expect for step in shown] == [f"{role}; all as on its sheet" for role in roles]
