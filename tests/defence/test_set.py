"""T12, T13, T15, T17 and T18 decide units, banks, storage modes, data links and what starts and survives.

Hand figures rest on: amperes of one phase at 230 V, S = P / cos phi, and the answers of the sound site (5 kVA, 10 kVA for a moment).
"""

from __future__ import annotations

import pytest

from engine.findings import Level
from engine.sheets.papers import papers
from tests.defence.sites import codes, found, site, split


def motor(name: str, phase: str, kilowatts: float, multiple: float, **more: object) -> dict[str, object]:
    return {"name": name, "phase": phase, "power": f"{kilowatts} kW", "power_factor": 1.0, "motor": True, "start_multiple": multiple, "energy": "2 kWh/day"} | more


@pytest.mark.parametrize(("changes", "code"), [
    ({"set": {"count": 2}}, "phase-without-unit"),
    ({"set": {"count": 3, "per_phase": [2, 1, 0]}}, "phase-without-unit"),
    ({"set": {"count": 3, "per_phase": [1, 1, 1], "lead": "L2-2"}}, "lead-is-no-unit"),
    ({"unit.max_units": 2}, "over-max-units"),
    ({"set": {"count": 4, "per_phase": [1, 1, 1]}}, "count-contradicts-per-phase"),
    # Two units in split-phase: one leg would be without.
    (split(1, 1) | {"set": {"count": 1}}, "phase-without-unit"),
    ({}, None),
    ({"unit.max_units": 3}, None),
])
def test_a_set_that_cannot_be_stops(changes, code) -> None:
    """T12: a unit on each phase, no more than may act together, exactly one lead."""
    plan = site(changes)
    set_codes = {"phase-without-unit", "lead-is-no-unit", "over-max-units", "count-contradicts-per-phase"}
    assert codes(plan, Level.STOP) & set_codes == ({code} if code else set())
    if code in ("phase-without-unit", "over-max-units"):
        assert plan.parts.units.units == ()
    if code is None:
        assert [unit.role for unit in plan.parts.units.units] == ["lead", "follower", "follower"]


def test_the_fewest_units_are_still_one_on_each_phase() -> None:
    """T12: 1 kW on L1 alone would do with one unit of 5 kW; three phases ask for three, two legs for two."""
    load = [{"name": "Lamp", "phase": "L1", "power": "1 kW", "power_factor": 1.0, "energy": "1 kWh/day"}]
    three = site({"set": {}, "loads": load, "storage.wired": {}})
    assert three.parts.phases.per_phase == {"L1": 1, "L2": 1, "L3": 1}
    legs = site({"output.arrangement": "split-phase", "set": {}, "loads": load, "storage.wired": {}})
    assert legs.parts.phases.per_phase == {"L1": 1, "L2": 1}
    # Of units whose power nobody knows there is at least one on each phase too.
    unknown = {"set": {}, "loads": load, "storage.wired": {}}
    assert site(unknown, without=("unit.real_power", "unit.apparent_power")).parts.phases.per_phase == {"L1": 1, "L2": 1, "L3": 1}
    # 11 kW on L1 ask for three there: 5 in all.
    heavy = site({"set": {}, "loads": [load[0] | {"power": "11 kW"}], "storage.wired": {}})
    assert heavy.parts.phases.per_phase == {"L1": 3, "L2": 1, "L3": 1}


@pytest.mark.parametrize(("comes_in", "told", "passing"), [("three-phase", True, 1), ("split-phase", False, 2)])
def test_two_legs_of_a_three_phase_supply_are_not_split_phase(comes_in, told, passing) -> None:
    """T12: 120 degrees apart is not 180: only the first leg can pass it through."""
    plan = site(split(1, 1) | {"output.voltage": "120 V", "incoming.voltage": "120 V", "incoming.arrangement": comes_in})
    assert ("incoming-arrangement-differs" in codes(plan, Level.CAUTION)) is told
    assert sum(limit is not None for limit in plan.parts.limits.incoming.values()) == passing


@pytest.mark.parametrize(("wired", "stops", "modes"), [
    # Meant: both units of L1 on B1.
    ({"L1-1": "B1", "L1-2": "B1", "L2-1": "B2", "L3-1": "B3"}, set(), {"separate"}),
    ({"L1-1": "B3", "L1-2": "B3", "L2-1": "B1", "L3-1": "B2"}, set(), {"separate"}),
    # As many banks and as many units on each, but the wrong ones together.
    ({"L1-1": "B1", "L1-2": "B2", "L2-1": "B2", "L3-1": "B3"}, {"wiring-contradicts-connection"}, {"separate"}),
    ({"L1-1": "B1", "L1-2": "B1", "L2-1": "B1", "L3-1": "B1"}, {"wiring-contradicts-connection"}, {"common"}),
    ({"L1-1": "B1", "L1-2": "B1", "L2-1": "B2"}, {"unit-without-bank"}, {"separate"}),
    ({"L1-1": "B1", "L1-2": "B1", "L2-1": "B2", "L3-1": "B3", "L3-2": "B3"}, {"wired-unknown-unit"}, {"separate"}),
])
def test_the_storage_mode_follows_what_is_wired(wired, stops, modes) -> None:
    """T13: the mode is that of the wiring; a wiring that is not what was meant, or leaves a unit out, stops."""
    banks = sorted(set(wired.values()))
    links = [{"bank": bank, "unit": next(tag for tag in wired if wired[tag] == bank)} for bank in banks]
    plan = site(split(2, 1, 1, bank="bank-per-phase") | {"storage.wired": wired, "storage.links": links})
    assert codes(plan, Level.STOP) & {"wiring-contradicts-connection", "unit-without-bank", "wired-unknown-unit"} == stops
    assert {row.storage_mode for row in plan.plan.units if row.bank} == modes


def test_what_nobody_traced_is_assumed_and_confirmed() -> None:
    """T13: planned from the connection, a caution, CONFIRM on every sheet."""
    untraced, traced = site({"storage.wired": {}}), site()
    assert "bank-not-traced" in codes(untraced, Level.CAUTION)
    assert "bank-not-traced" not in codes(traced)
    for tag in ("L1-1", "L2-1", "L3-1"):
        # The kind of the fuse, told in parentheses, is another matter.
        assert papers(untraced)[f"{tag}.txt"].replace("(CONFIRM)", "").count("CONFIRM") == 2
        assert "CONFIRM" not in papers(traced)[f"{tag}.txt"].replace("(CONFIRM)", "")


LINKED = split(1, 1, 1, bank="bank-per-phase")


@pytest.mark.parametrize(("links", "code"), [
    ([("B1", "L1-1"), ("B2", "L2-1"), ("B3", "L3-1")], None),
    ([("B1", "L1-1"), ("B2", "L2-1"), ("B3", "L3-1"), ("B3", "L3-1")], "bank-with-two-links"),
    # B2's cable ends at a unit of B1, which is a unit of the set all the same.
    ([("B1", "L1-1"), ("B2", "L1-1"), ("B3", "L3-1")], "link-to-other-bank"),
    ([("B1", "L1-1"), ("B2", "L2-1"), ("B3", "L3-1"), ("B4", "L3-1")], "link-of-unknown-bank"),
])
def test_each_managed_bank_has_one_link_to_a_unit_of_its_own(links, code) -> None:
    """T15: two, or one to another bank's unit stop; one that nobody answered is planned (S31)."""
    plan = site(LINKED | {"storage.links": [{"bank": bank, "unit": unit} for bank, unit in links]})
    assert codes(plan, Level.STOP) & {"bank-with-two-links", "link-to-other-bank", "link-of-unknown-bank"} == ({code} if code else set())


@pytest.mark.parametrize(("chemistry", "managed", "stops"), [("lfp", False, True), ("nmc", False, True), ("lfp", True, False), ("agm", False, False)])
def test_unmanaged_lithium_is_not_planned(chemistry, managed, stops) -> None:
    """T15: lithium needs management, lead does not."""
    plan = site({"storage.chemistry": chemistry, "storage.managed": managed})
    assert ("lithium-unmanaged" in codes(plan, Level.STOP)) is stops


@pytest.mark.parametrize(("loads", "surge", "stops"), [
    # Each alone starts with 5 x 1.2 kVA = 26.1 A beside the other's 5.2 A; after a black start both at once: 52.2 A, above 10 kVA / 230 V = 43.5 A.
    ([motor("Pump", "L1", 1.2, 5), motor("Saw", "L1", 1.2, 5)], 52.17, True),
    ([motor("Pump", "L1", 1.2, 5, quantity=2)], 52.17, True),
    # On different phases 26.1 A each.
    ([motor("Pump", "L1", 1.2, 5), motor("Saw", "L2", 1.2, 5)], 26.09, False),
    # 4 x 2 kVA = 34.8 A beside 2.1 kVA at rest, 9.1 A: 43.9 A; without the rest 34.8 A would start.
    ([motor("Pump", "L1", 2, 4), {"name": "Heater", "phase": "L1", "power": "2.1 kW", "power_factor": 1.0, "energy": "2 kWh/day"}], 43.91, True),
    # Between two lines 12 kVA draw 12 000 / (1.732 x 230 V) = 30.1 A from each.
    ([motor("Saw", "L1-L2", 2, 6)], 30.12, False),
    # A demand factor does not make a start smaller: 5 x 2.4 kVA = 52.2 A.
    ([motor("Pump", "L1", 2.4, 5, demand=0.2)], 52.17, True),
    # Nobody said how it starts: 6 x 1.8 kVA = 47 A.
    ([{"name": "Pump", "phase": "L1", "power": "1.8 kW", "power_factor": 1.0, "motor": True, "energy": "2 kWh/day"}], 46.96, True),
    # A motor on all three phases: a third of 7 x 4 kVA on each, 40.6 A; three times that in volt-amperes of one phase would be 121.7 A.
    ([motor("Mill", "all", 4, 7)], 40.58, False),
])
def test_every_motor_of_a_phase_starts_on_top_of_the_rest(loads, surge, stops) -> None:
    """T17: amperes per phase, all motors at once after a black start, on top of what runs."""
    plan = site({"loads": loads})
    assert ("start-above-surge" in codes(plan, Level.STOP)) is stops
    assert plan.parts.phases.rows[0].surge.value == pytest.approx(surge, abs=5e-3)
    assert plan.parts.phases.rows[0].surge_limit.value == pytest.approx(43.48, abs=5e-3)


@pytest.mark.parametrize(("loads", "spare", "short"), [
    # L1 has two units: 4.9 kW still run on one, 5.1 kW do not.
    ("4.9 kW", 1, False),
    ("5.1 kW", 1, True),
    ("5.1 kW", 0, False),
])
def test_spare_units_are_out(loads, spare, short) -> None:
    """T18, S22: with `spare` units out the phase still carries its loads, or it is told."""
    changes = split(2, 2, 2)
    plan = site(changes | {"set": changes["set"] | {"spare": spare}, "loads": [{"name": "Oven", "phase": "L1", "power": loads, "power_factor": 1.0, "energy": "5 kWh/day"}]})
    assert ("spare-not-met" in codes(plan, Level.CAUTION)) is short


def test_spare_units_are_searched_for() -> None:
    """T18, S22: 9 kW on one phase ask for two units of 5 kW, and for one more each spare."""
    load = [{"name": "Oven", "phase": "L1", "power": "9 kW", "power_factor": 1.0, "energy": "5 kWh/day"}]
    counts = [site(split(1) | {"set": {"spare": spare}, "loads": load, "storage.wired": {}}).parts.phases.per_phase["L1"] for spare in (0, 1, 2)]
    assert counts == [2, 3, 4]
    # 12 kW on L1 of three phases: three units there; one of each phase may be out: four, two and two.
    heavy = [load[0] | {"power": "12 kW"}]
    of = [site({"set": {"spare": spare}, "loads": heavy, "storage.wired": {}}).parts.phases.per_phase for spare in (0, 1)]
    assert of == [{"L1": 3, "L2": 1, "L3": 1}, {"L1": 4, "L2": 2, "L3": 2}]


@pytest.mark.parametrize(("per_phase", "lead_loss", "phase_loss", "told", "text"), [
    ((1, 1, 1), "stops", "stops", {"lead-loss", "phase-loss"}, "stops the whole supply, the other phases included"),
    ((1, 1, 1), "carries on", "carries on", {"phase-loss"}, "blacks out that phase"),
    ((2, 2, 2), "stops", "stops", {"lead-loss"}, None),
    ((2, 2, 2), "carries on", "stops", set(), None),
    ((2, 1, 2), "carries on", "stops", {"phase-loss"}, "L2 hangs on one unit"),
    # A single unit is its own lead and phase: nothing else survives it anyway.
    ((1,), "stops", "stops", set(), None),
])
def test_what_survives_a_loss_is_told(per_phase, lead_loss, phase_loss, told, text) -> None:
    """T18: losing the lead, or the last unit of a phase, stops the supply unless the manual says otherwise."""
    changes = split(*per_phase)
    plan = site(changes | {"set": changes["set"] | {"lead_loss": lead_loss, "phase_loss": phase_loss}})
    assert codes(plan, Level.CAUTION) & {"lead-loss", "phase-loss"} == told
    if text:
        assert text in found(plan, "phase-loss").text


def test_an_unanswered_loss_stops_everything() -> None:
    """T18: nobody looked it up: taken as stopping everything."""
    assert {"lead-loss", "phase-loss"} <= codes(site(), Level.CAUTION)


def test_a_data_link_of_which_half_is_said_is_none() -> None:
    """T15: neither a bank without its unit nor a unit without its bank is a link."""
    assert "bank-without-link" in codes(site({"storage.links": [{"bank": "B1"}, {"unit": "L1-1"}]}))
    assert "bank-without-link" not in codes(site({"storage.links": [{"bank": "B1", "unit": "L1-1"}]}))


def test_a_start_draws_at_least_what_runs() -> None:
    """T17: a motor of 4.6 kW at a power factor of 1 that is said to start at half of that draws its 20 A all the same."""
    plan = site({"loads": [motor("Pump", "L1", 4.6, 0.5)]})
    assert plan.plan.phases[0].surge == "20 A"


def heater(kilowatts: float, **more: object) -> dict[str, object]:
    return {"loads": [{"name": "Heater", "power": f"{kilowatts} kW", "power_factor": 1.0, "phase": "L1", "energy": "2 kWh/day"} | more]}


@pytest.mark.parametrize(("most", "remedy"), [(4, "4 units would carry it (2 + 1 + 1 on the phases)."), (3, "Take 500 VA off L1, or choose units of a larger rating.")])
def test_more_units_are_a_cure_only_where_more_may_act_together(most: int, remedy: str) -> None:
    """S26: 5.5 kW on a unit of 5 kW."""
    assert found(site(heater(5.5) | {"unit.max_units": most}), "phase-overloaded").remedy == remedy


SPARED = split(2, 2, 2)
SPARED["set"]["spare"] = 1


@pytest.mark.parametrize(("load", "short"), [
    # 5 x 2.2 kW are 47.8 A; the unit that is left gives 10 kVA for a moment, 43.5 A. 5 x 1.9 kW are 41.3 A.
    (heater(2.2, motor=True, start_multiple=5), (11000 / 230, 10000 / 230)),
    (heater(1.9, motor=True, start_multiple=5), None),
    # What a unit gives for a moment is not answered: nothing is held against it.
    (heater(4.9) | {"unit.surge_power": None}, None),
])
def test_the_units_that_are_left_start_the_motors_too(load: dict[str, object], short: tuple[float, float] | None) -> None:
    """S22: with a spare unit out, running and starting."""
    told = [(f.value, f.limit) for f in site(SPARED | load).findings if f.code == "spare-not-met"]
    assert told == ([] if short is None else [pytest.approx(short)])


@pytest.mark.parametrize(("rules", "volts", "code"), [("nec", "240 V", "voltage-between-lines"), ("nec", "120 V", None), ("iec", "230 V", "voltage-unusual"), ("iec", "115 V", None)])
def test_split_phases_are_told_by_what_each_has_to_neutral(rules, volts, code) -> None:
    """T12: 240 V is what two American lines of 120 V have between them; elsewhere 230 V to neutral on each of two lines exists, and is asked about."""
    changes = split(1, 1) | {"site.rules": rules, "output.voltage": volts, "incoming.arrangement": "split-phase", "incoming.voltage": volts}
    told = {f.code for f in site(changes).findings if f.code.startswith("voltage-")}
    assert told == ({code} if code else set())


def voltage_told(**changes: object) -> list[tuple[str, object]]:
    return [(f.code, f.limit) for f in site({f"output.{key}": value for key, value in changes.items()}).findings if f.code.startswith("voltage-") and f.about == "output.voltage"]


@pytest.mark.parametrize(("between", "neutral"), [(173, 100), (190, 110), (200, 115), (208, 120), (380, 220), (400, 230), (415, 240), (480, 277)])
def test_a_voltage_between_lines_is_told_as_the_nominal_one_to_neutral(between, neutral) -> None:
    """IEC 60038 table 1 and ANSI C84.1 (from memory): nominal voltages of three-phase supplies, between lines and to neutral."""
    assert voltage_told(voltage=f"{between} V") == [("voltage-between-lines", neutral)]
    assert voltage_told(voltage=f"{neutral} V") == []


@pytest.mark.parametrize(("inside", "outside"), [("95 V", "94.9 V"), ("133.3 V", "133.4 V"), ("209 V", "208.9 V"), ("252 V", "252.1 V"), ("263.2 V", "263.1 V"), ("290.8 V", "290.9 V")])
def test_a_voltage_is_usual_within_a_twentieth_of_a_nominal_one(inside, outside) -> None:
    """100 V less 5 %, 127 V and 5 %; 220 V less 5 %, 240 V and 5 %; 277 V with 5 % either way."""
    assert voltage_told(arrangement="single-phase", voltage=inside) == []
    assert voltage_told(arrangement="single-phase", voltage=outside) == [("voltage-unusual", None)]


@pytest.mark.parametrize(("count", "told"), [({}, "nobody can say whether 3 may"), ({"set": {}}, "the search goes up to 36")])
def test_without_the_makers_greatest_set_a_plan_says_how_far_it_went(count, told) -> None:
    """S36: three units are answered, or as many are looked for as a plan takes on."""
    assert told in found(site(count | {"unit.max_units": None}), "max-units-unanswered").text
