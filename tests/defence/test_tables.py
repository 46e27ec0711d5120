"""Tables that decide a figure of a plan, cell by cell: what the plan shows of each, copied from where the table has it.

Sources: a maker's charging sheets (slopes), motor makers' pages (starts), workshops' pages on data buses (60 ohm, 54 to 66), common practice
(places on a wall, pre-charge, machines); IEC 60063 (series E6).
"""

from __future__ import annotations

import re
from functools import partial

import pytest

from engine.sheets.text.chain import chain_text
from engine.solvers.balance import balance
from engine.stages.chain.bus import longest_bus
from engine.tables import table
from engine.tables.protection import dc_families
from engine.tables.rules import rules
from tests.defence.sites import SOLAR, codes, found, routes, site
from tests.defence.test_storage_and_solar import LEAD


@pytest.mark.parametrize(("chemistry", "slope"), [
    # 24 cells: 0.028 V for 10 degF (5.556 K) is 5.04 mV/K a cell, 121 mV/K; 3 mV/K a cell are 72 mV/K.
    ("flooded", "-121.1 mV/K"),
    ("agm", "-72 mV/K"),
    ("gel", "-72 mV/K"),
])
def test_the_charging_voltage_of_lead_follows_its_temperature(chemistry, slope) -> None:
    """S24: the slope of 24 cells among each unit's settings; lithium has none."""
    def settings(changes: dict[str, object]) -> dict[str, str]:
        return {row.setting: row.value for row in site(changes).plan.units[0].settings}

    assert settings(LEAD | {"storage.chemistry": chemistry})["temperature_slope"] == slope
    assert "temperature_slope" not in settings({})


def test_another_start_is_told_by_its_multiple() -> None:
    """T17: 6 x 3 kVA are above 10 kVA: a soft starter draws 2.5 to 4 times the running current, a frequency converter 1 to 1.5."""
    motor = {"name": "Pump", "phase": "L1", "power": "3 kW", "power_factor": 1, "motor": True, "energy": "1 kWh/day"}
    remedy = found(site({"loads": [motor]}), "start-above-surge").remedy
    assert "soft starter 2.5 to 4, frequency converter 1 to 1.5 (times its running current)" in remedy


def test_the_data_pair_reads_each_terminator_through_the_chain() -> None:
    """T22: one of 120 ohm is read from the other end, 10 % either way; two side by side are 60 ohm, and workshops accept 54 to 66."""
    plan = site()
    found = [step.expect for step in plan.parts.procedure.steps if "data pair" in step.do]
    assert found == ["108 to 132 ohm, with one terminator in", "108 to 132 ohm, with one terminator in; then 2 terminators, none between"]
    assert "(an adapter is needed): 60 ohm, 54 to 66 ohm." in " ".join(chain_text(plan).split())


@pytest.mark.parametrize(("changes", "ohm", "hold", "watt", "joule"), [
    # 56 V / 2.5 A = 22.4 ohm: 33 ohm of E6 (22 is below it); 56^2 / 33 = 95 W, for 5 s 475 J.
    ({}, "33 ohm", "5 s", "95 W", "475 J"),
    # 24 cells of agm, 56.4 V: 22.56 ohm, 33 ohm: 96.4 W, 482 J.
    (LEAD | {"storage.chemistry": "agm"}, "33 ohm", "5 s", "96.4 W", "482 J"),
    # Eight modules: 448 V: 179 ohm, 220 ohm: 912.3 W; 5 R C = 33 s with 30 mF: 30106 J.
    ({"storage.bank.series": 8, "unit.dc_max": "500 V", "unit.dc_min": "300 V"}, "220 ohm", "33 s", "912 W", "30106 J"),
    # Two: 112 V, 44.8 ohm: 47 ohm, 266.9 W, 7.05 s; three: 168 V, 67.2 ohm: 68 ohm, 415.1 W, 10.2 s; six: 336 V, 134.4 ohm:
    # 150 ohm, 752.6 W, 22.5 s.
    ({"storage.bank.series": 2, "unit.dc_max": "500 V", "unit.dc_min": "70 V"}, "47 ohm", "7.05 s", "267 W", "1882 J"),
    ({"storage.bank.series": 3, "unit.dc_max": "500 V", "unit.dc_min": "70 V"}, "68 ohm", "10.2 s", "415 W", "4234 J"),
    ({"storage.bank.series": 6, "unit.dc_max": "500 V", "unit.dc_min": "70 V"}, "150 ohm", "22.5 s", "753 W", "16934 J"),
    # Four: 224 V, 89.6 ohm: 100 ohm, 501.8 W, 15 s, 7526 J.
    ({"storage.bank.series": 4, "unit.dc_max": "500 V", "unit.dc_min": "70 V"}, "100 ohm", "15 s", "502 W", "7526 J"),
])
def test_the_pre_charge_resistor(changes, ohm, hold, watt, joule) -> None:
    """T4: at most 2.5 A at first, the next value of E6, for 5 s on a unit that does not charge, or five time constants where that is longer."""
    [line] = [line for line in site(changes).plan.bill if line.item == "pre-charge kit"]
    for told in (f", {ohm}, stands", f" for {hold}: {watt}, ", joule):
        assert told in line.specification


def test_places_that_nobody_gave_have_their_usual_size_and_height() -> None:
    """S19: width, height and height of the centre, in metres, of everything that nobody placed; boards at the ends of the wall."""
    usual = {
        "B1": (0.6, 0.6, 0.3),
        "bar B1": (0.4, 0.15, 0.3),
        "load board": (0.4, 0.5, 1.5),
        "incoming board": (0.4, 0.5, 1.5),
        "solar isolator": (0.25, 0.35, 0.85),
        "earth bar": (0.4, 0.1, 0.8),
    }
    hung = {place.name: place.rect for place in site(SOLAR).parts.wall.places if place.what != "unit"}
    assert {name: (r.right - r.left, r.top - r.bottom, (r.top + r.bottom) / 2) for name, r in hung.items()} == {
        name: tuple(metres * 1000 for metres in told) for name, told in usual.items()
    }
    # Ends of the 4 m wall, 0.1 m from its edge.
    assert {hung[name].left for name in ("incoming board", "solar isolator")} == {100}
    assert {hung[name].right for name in ("load board", "earth bar")} == {3900}


MACHINES = {
    "heater of another kind": ("1", "no", "1", "0 %"),
    "motor or pump, started direct": ("0.8", "yes", "6", "0 %"),
    "motor with star-delta start": ("0.8", "yes", "3", "0 %"),
    "motor with soft starter": ("0.8", "yes", "4", "0 %"),
    "motor on a drive, three-phase": ("0.9", "yes", "1.5", "0 %"),
    "motor on a drive, one phase": ("0.7", "yes", "1.5", "80 %"),
    "kettle": ("1", "no", "1", "0 %"),
    "fridge": ("0.65", "yes", "7", "10 %"),
    "washing machine": ("0.9", "yes", "1.5", "15 %"),
    "heat pump on a drive": ("0.9", "yes", "1.5", "30 %"),
    "computer": ("0.6", "no", "1", "80 %"),
    "LED lamp": ("0.5", "no", "1", "86 %"),
    "welder, transformer": ("0.5", "no", "2", "20 %"),
    "vehicle charger, one-phase": ("0.95", "no", "1", "15 %"),
    "angle grinder": ("0.9", "yes", "4", "25 %"),
}


@pytest.mark.parametrize("machine", MACHINES)
def test_a_machine_stands_for_its_answers(machine) -> None:
    """S21: a machine of 2.3 kW on L1 gives its current, its start and its third harmonic in the plan, as the same in answers does."""
    factor, motor, multiple, harmonic = MACHINES[machine]
    known = {"name": "It", "phase": "L1", "power": "2.3 kW", "energy": "1 kWh/day", "profile": "day"}
    told = {"power_factor": float(factor), "motor": motor == "yes", "start_multiple": float(multiple), "third_harmonic": harmonic}
    row = site({"loads": [known | {"machine": machine}]}).parts.phases.rows[0]
    assert row.current.value == pytest.approx(10 / float(factor))
    assert row.surge.value == pytest.approx(10 / float(factor) * float(multiple))
    answered = site({"loads": [known | told]}).parts.phases.rows[0]
    assert row.neutral_current.value == answered.neutral_current.value


@pytest.mark.parametrize(("method", "least"), [("C", "4 mm2"), ("B1", "2.5 mm2")])
def test_the_common_earth_has_a_least_size_of_its_own(method, least) -> None:
    """T5: lines of 1.5 mm2 (6 A), unit earths of 2.5 mm2 in conduit: outside it 4 mm2, inside 2.5 mm2 (IEC 60364-5-54 543.1.3).

    1 kW draws 23.4 A, 28.6 A thermal: 32 A: 350 A for 0.1 s over 143: 0.8 mm2.
    """
    small = {"unit.transfer_current": "6 A", "incoming.breaker": "6 A", "incoming.prospective_fault": "200 A", "unit.real_power": "1 kW", "unit.apparent_power": "1 kVA", "unit.surge_power": "2 kVA", "unit.charge_current": "10 A"}
    conduit = [{"carries": "earth", "to": f"L{k}-1", "method": "B1"} for k in (1, 2, 3)]
    plan = site(small | {"routes": routes(*conduit, {"carries": "earth", "to": "earth-bar", "method": method})})
    of = plan.parts.conductors.of
    assert of["load common"].conductor.label == "1.5 mm2"
    assert of["earth L1-1"].conductor.label == "2.5 mm2"
    assert of["earth common"].conductor.label == least


def test_a_drop_that_cannot_be_checked_is_told() -> None:
    """S1: without the modules' voltage nobody knows what 2 % of it are."""
    assert "drop-not-checked" in codes(site(without=("storage.module.voltage",)))
    assert "drop-not-checked" not in codes(site())


def test_a_spread_that_was_not_proven_best_says_by_how_much(monkeypatch) -> None:
    """S23: 24 440 W of sixteen loads, a third 8146.7 W. With little time the busiest phase has 8343 W, and what could be saved of it leads
    to no less than a third and no more than the 8165 W that are proven best with more time.
    """
    loads = [{"name": f"Load {k}", "phase": "any", "power": f"{500 + 137 * k} W", "power_factor": 1.0, "energy": "1 kWh/day"} for k in range(16)]
    changes = {"loads": loads, "unit.real_power": "12 kW", "unit.apparent_power": "12 kVA"}

    def spread() -> tuple[str, float]:
        phases = site(changes).parts.phases
        return phases.proof, max(row.apparent.value for row in phases.rows)

    proof, best = spread()
    assert "; proven: no division of the loads goes below it by more than 1 VA" in proof
    monkeypatch.setattr("engine.stages.phases.balance", partial(balance, budget=5))
    proof, busiest = spread()
    saved = re.search(r"; not proven: at most (\d+) VA of it could be saved", proof)
    assert saved
    assert best < busiest
    assert 24_440 / 3 - 1 <= busiest - float(saved[1]) <= best + 1


def test_a_day_of_loads_is_a_whole_day_and_the_night_is_the_day_turned_round() -> None:
    """S25: the shares of each column add to 1; those of the night are the day's (VDEW G1) twelve hours later."""
    rows = table("load_profiles").rows
    for column in ("day", "evening", "night", "steady"):
        assert sum(float(str(row[column])) for row in rows) == pytest.approx(1, abs=1e-3)
    day, night = ([row[column] for row in rows] for column in ("day", "night"))
    assert night == [*day[12:], *day[:12]]


@pytest.mark.parametrize(("kilobit", "metres", "faster"), [
    (1000, 25, 0), (800, 50, 25), (500, 100, 50), (250, 250, 100), (125, 500, 250), (50, 1000, 500), (20, 2500, 1000), (10, 5000, 2500),
])
def test_a_slower_bus_may_be_longer(kilobit, metres, faster) -> None:
    """T22: makers' planning tables, to the bit rate itself; a little faster and it is as short as the next rate's."""
    assert longest_bus(kilobit * 1000.0, "CAN")[0] == metres
    assert longest_bus(kilobit * 1010.0, "CAN")[0] == faster


def test_every_fuse_family_stands_once_and_is_taken_by_its_name() -> None:
    """T4: at 58 V a terminal fuse (MRBF) breaks 2 kA for certain, and strips (MEGA, ANL) reach that voltage only in some makes."""
    names = [str(row["family"]) for row in table("dc_fuse_families").rows]
    assert len(set(names)) == len(names)
    assert "terminal fuse (MRBF)" in dc_families(58.0, 2000.0, "least")
    assert not {"bolt-down strip (MEGA)", "strip (ANL)"} & set(dc_families(58.0, 2000.0, "least"))
    assert {"bolt-down strip (MEGA)", "strip (ANL)"} <= set(dc_families(58.0, 2000.0, "most"))


def test_the_number_of_a_voltage_class_is_its_voltage() -> None:
    """S35: 0.6/1 kV is 1000 V between two conductors, 450/750 V is 750 V, 1.5 kV DC is 1500 V."""
    for row in table("cables").rows:
        number, unit = re.findall(r"([\d.]+) (k?V)", str(row["class"]).split("/")[-1])[0]
        assert row["voltage"] == pytest.approx(float(number) * (1000 if unit == "kV" else 1)), row


def test_what_nobody_answered_is_taken_as_the_trade_takes_it() -> None:
    """The first unit leads; 120 V to neutral in North America; unmarked terminals stand 60 degC there (NEC 110.14(C)(1)), 70 degC by IEC 60364-5-52; no motor, no start."""
    heater = {"name": "Heater", "power": "1 kW", "phase": "L1"}
    iec = site({"set.lead": None, "unit.terminal_temperature": None, "loads": [heater]})
    nec = site({"site.rules": "nec", "output.voltage": None, "unit.terminal_temperature": None})
    assert iec.parts.units.lead == "L1-1"
    assert str(nec.figures["output.voltage"]) == "120 V"
    assert [str(plan.facts.figure("unit.terminal_temperature")) for plan in (iec, nec)] == ["70 degC", "60 degC"]
    assert str(iec.facts.figure("loads[Heater].start_multiple")) == "1"


@pytest.mark.parametrize(("cells", "told"), [(16, False), (15, True)])
def test_a_cell_of_lfp_has_three_volts_and_two_tenths(cells, told) -> None:
    """51.2 V of 15 cells are 3.41 V each, 6.7 % above what makers print: more than rounding."""
    assert ("cells-contradict-voltage" in codes(site({"storage.module.cells": cells}))) is told


@pytest.mark.parametrize(("chemistry", "usual"), [("flooded", "2 V"), ("agm", "2 V"), ("gel", "2 V"), ("lfp", "3.2 V"), ("nmc", "3.6 to 3.7 V")])
def test_a_cell_has_the_voltage_that_makers_print(chemistry, usual) -> None:
    """Common practice, no source: 2 V of lead (24 cells are 48 V), 3.2 V of iron phosphate (16 are 51.2 V), 3.6 or 3.7 V of nickel manganese cobalt."""
    told = found(site({"storage.chemistry": chemistry, "storage.module.cells": 10}), "cells-contradict-voltage")
    assert told.text.endswith(f"10 cells in a module of 51.2 V have 5.12 V each; a cell of {chemistry} has {usual}.")


def test_a_rule_that_rests_on_a_standard_alone_says_so() -> None:
    """And one that names no standard does not."""
    for rule in rules().values():
        standard = bool(re.match(r"(IEC|NFPA|EN|TIA)", rule.source)) and "common practice" not in rule.source
        named = bool(re.search(r"IEC|NFPA|EN 5|TIA", rule.source))
        assert not standard or rule.basis == "standard", rule
        assert named or rule.basis != "standard", rule


def test_no_plan_stands_without_a_licensed_person() -> None:
    """The note closes every plan, in the words of its rule book."""
    assert "IEC 60364" in found(site(), "licensed-practice").text
    assert "NFPA 70" in found(site({"site.rules": "nec", "output.voltage": "120 V"}), "licensed-practice").text
