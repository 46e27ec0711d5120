"""T4 to T9 decide devices: what they break, when they open, on what, and what they are rated.

Hand figures rest on: gG gates (IEC 60269-1: 160 A opens within 5 s from 950 A, within 0.1 s from 2590 A), k = 115 and 143 (IEC 60364-4-43
table 43A, -5-54 table A.54.2), curves B 5, C 10 times the rating (IEC 60898-1), method C tables B.52.2 and B.52.4, class 5 resistances
(IEC 60228) at 70 degC: x (1 + 0.00393 x 50) = 1.1965, usual breaking capacities 25, 50, 100, 200 kA.
"""

from __future__ import annotations

import re

import pytest

from engine.findings import Level
from engine.stages.conductors.part import DeviceKind
from tests.defence.sites import NEC, codes, found, rating, site, size, sized, split

UNIT = "battery L1-1"
ONE = split(1)


def of_modules(milliohm: float, **more: object) -> dict[str, object]:
    """Changes of the modules' resistance, and of more of their answers."""
    return {"storage.module.resistance": f"{milliohm} mohm"} | {f"storage.module.{key}": value for key, value in more.items()}


@pytest.mark.parametrize(("changes", "kiloampere"), [
    # Six strings of 13 mohm: 2.1667 mohm, half of it 1.0833: 56 V give 51.7 kA. Not halved 25.8 kA, at the nominal 51.2 V 47.3 kA, behind
    # 2 m of 240 mm2 (2 x 0.19 mohm) 38 kA: any of these would be 50 kA.
    (of_modules(13), 100),
    (of_modules(13, resistance_measured=True), 50),
    # 14 mohm: 48 kA; stated 9 kA a module is 54 kA: the larger breaks. 8 kA a module changes nothing.
    (of_modules(14), 50),
    (of_modules(14, short_circuit_current="9 kA"), 100),
    (of_modules(14, short_circuit_current="8 kA"), 50),
])
def test_a_fuse_breaks_the_full_bank_without_any_cable(changes, kiloampere) -> None:
    """T4: full-charge EMF, half the stated resistance unless measured, no cable; the larger of computed and stated."""
    device = sized(site(changes), UNIT).device
    assert device.breaking.value == kiloampere * 1000


def test_the_fault_of_many_strings_is_that_of_all() -> None:
    """T4: 3, 4 and 6 strings of 24 mohm break 56 V / (12 mohm / n): 14, 18.7 and 28 kA, and clear 46 V over the whole; stated, 2 kA a module count as often."""
    for strings, breaks, clears in ((3, 14_000, 46 / 8e-3), (4, 56 / 3e-3, 46 / 6e-3), (6, 28_000, 46 / 4e-3)):
        bank = site(of_modules(24) | {"storage.bank.parallel": strings}).parts.storage.of("B1")
        assert bank.fault_breaking.value == pytest.approx(breaks)
        assert bank.fault_clearing.value == pytest.approx(clears)
        stated = site({"storage.bank.parallel": strings, "storage.module.short_circuit_current": "2 kA"}, without=("storage.module.resistance",)).parts.storage.of("B1")
        assert stated.fault_breaking.value == stated.fault_clearing.value == strings * 2000


@pytest.mark.parametrize(("series", "family"), [
    # Seven modules of 36 V are charged at 7 x 36 V = 252 V: above the 250 V that every NH gG stands; six of them, 216 V, are not.
    (7, "battery fuse (gBat/aBat)"),
    (6, "NH gG"),
])
def test_the_fuse_stands_the_full_banks_direct_voltage(series, family) -> None:
    """T4: the DC voltage rating is held against the full bank (here above its nominal 245 V), the breaking capacity at 25 kA."""
    module = {"voltage": "35 V", "cells": 11, "capacity": "100 Ah", "charge_current": "50 A", "discharge_current": "100 A", "resistance": "30 mohm", "absorption": "36 V", "float": "35.5 V", "low": "31 V"}
    plan = site({"storage.module": module, "storage.bank.series": series, "storage.bank.parallel": 4, "unit.dc_min": "150 V", "unit.dc_max": "300 V"})
    device = sized(plan, UNIT).device
    assert device.voltage.value == pytest.approx(36 * series)
    assert family in device.name


@pytest.mark.parametrize(("length", "conductor", "decides"), [
    # One unit, bank 6 strings of 240 mohm = 40 mohm. 70 mm2: 0.3254 mohm/m. 10 m: 46 V / (40 + 6.5 mohm) = 989 A opens 160 A within 5 s
    # (950 A); 15 m: 46 / 49.8 = 924 A does not: 95 mm2 (0.2465 mohm/m, 47.4 mohm, 970 A). Cold 70 mm2 (955 A), one pole only (1025 A), the
    # full bank (1125 A), half the resistance (1545 A) would all have kept 70 mm2.
    ("10 m", "70 mm2", "fuse"),
    ("15 m", "95 mm2", "withstand"),
])
def test_the_fuse_still_opens_at_the_far_end(length, conductor, decides) -> None:
    """T4: low EMF, whole stated resistance, both warm poles."""
    plan = site(ONE | of_modules(240) | {"drop": {"battery": "5 %"}}, battery={"length": length})
    assert rating(plan, UNIT) == 160
    assert size(plan, UNIT) == (conductor, decides)
    assert "fault-does-not-clear" not in codes(plan)


def test_a_fault_that_no_size_lets_open_the_fuse_stops() -> None:
    """T4: 6 strings of 300 mohm = 50 mohm: 46 V give 920 A with no cable at all, under the 950 A of a 160 A fuse."""
    told = found(site(ONE | of_modules(300)), "fault-does-not-clear")
    assert (told.level, "fault_clearing" in told.about) == (Level.STOP, True)
    # 3 kW draws 85.9 A: a 100 A fuse opens from 580 A.
    small = {"unit.real_power": "3 kW", "unit.apparent_power": "3 kVA", "unit.surge_power": "6 kVA"}
    assert "fault-does-not-clear" not in codes(site(ONE | of_modules(300) | small))


def test_a_far_fault_is_stood_for_as_long_as_the_fuse_takes() -> None:
    """T4: k2 S2 >= I2 t. Beside the bank 2590 A for 0.1 s, 671 kA2s over 115: 7.1 mm2, 10 mm2; from 989 A far away 950 A for 5 s: 18.5 mm2, 25 mm2."""
    def asked(plan) -> str:
        return next(c.asked for c in sized(plan, UNIT).decision if c.text.startswith("withstand: k2 S2"))

    assert asked(site(ONE)) == "10 mm2"
    assert asked(site(ONE | of_modules(240) | {"drop": {"battery": "5 %"}}, battery={"length": "10 m"})) == "25 mm2"


def test_a_bank_of_unknown_fault_stops_and_no_polarised_device_is_taken() -> None:
    """T4: neither resistance nor short-circuit current: stop. What protects is a fuse in both poles, in one only where the other is earthed."""
    assert found(site(without=("storage.module.resistance",)), "bank-fault-unknown").level is Level.STOP
    assert "bank-fault-unknown" not in codes(site({"storage.module.short_circuit_current": "3 kA"}, without=("storage.module.resistance",)))
    plan = site()
    assert {sized(plan, ends.name).device.kind for ends in plan.parts.circuits.of("battery", common=False)} == {DeviceKind.FUSE}
    assert "no-polarised-device" in codes(plan)
    assert sized(plan, UNIT).device.poles == 2
    assert sized(site({"storage.earthed": "minus"}), UNIT).device.poles == 1


@pytest.mark.parametrize(("changes", "earth", "decides"), [
    # 16 A transfer, 5 kVA: 21.7 A, devices of 25 A at most on 4 mm2: 4 mm2 by table 54.2; the 160 A fuse: 671 kA2s over 143: 5.7 mm2, 6 mm2.
    ({"unit.transfer_current": "16 A", "incoming.breaker": "16 A", "incoming.prospective_fault": "1 kA"}, "6 mm2", "fuse"),
    # 63 A on 10 mm2 (just 63 A, two loaded): 10 mm2 by table 54.2, more than the 6 mm2 of the fuse.
    ({"unit.transfer_current": "63 A"}, "10 mm2", "device"),
    # NEC: 150 A fuse 6 AWG, 60 A breaker 10 AWG (table 250.122).
    (NEC, "6 AWG", "fuse"),
    # NEC, 4 modules in series draw 29.2 A: 40 A fuse 10 AWG; a load breaker of 110 A (10 kVA at 120 V, 83.3 A, 104.2 A): 6 AWG.
    (NEC | {"unit.apparent_power": "10 kVA", "unit.ripple": 0.01, "storage.bank.series": 4, "unit.dc_min": "150 V", "unit.dc_max": "260 V"}, "6 AWG", "device"),
])
def test_a_units_earth_serves_its_ac_device_and_its_battery_fuse(changes, earth, decides) -> None:
    """T5: sized for both, the larger is laid."""
    assert size(site(changes), "earth L1-1") == (earth, decides)


@pytest.mark.parametrize(("milliohm", "earth"), [(12, "6 mm2"), (240, "16 mm2")])
def test_a_units_earth_stands_a_fault_that_opens_the_fuse_slowly(milliohm, earth) -> None:
    """T5: 989 A from 10 m away open 160 A only by the 5 s gate: 950^2 x 5 s = 4.51 MA2s over 143: 14.9 mm2; a strong bank's 671 kA2s 5.7 mm2."""
    plan = site(ONE | of_modules(milliohm) | {"drop": {"battery": "5 %"}}, battery={"length": "10 m"})
    assert size(plan, "earth L1-1")[0] == earth


def test_the_common_earth_is_no_smaller_than_a_units() -> None:
    """T5: units of 16 A have 6 mm2 (for the 160 A fuse); the common lines of 16 A alone would ask for less than that."""
    plan = site({"unit.transfer_current": "16 A", "incoming.breaker": "16 A", "incoming.prospective_fault": "1 kA", "unit.real_power": "4.9 kW", "unit.apparent_power": "3 kVA", "unit.surge_power": "3 kVA"})
    assert size(plan, "earth L1-1") == ("6 mm2", "fuse")
    assert sized(plan, "load common").conductor.area < 6e-6
    assert size(plan, "earth common") == ("6 mm2", "like circuits")


@pytest.mark.parametrize(("amperes", "device", "codes_of"), [
    # 40 A devices: curve C trips at once from 400 A, B from 200 A.
    ("400 A", "breaker curve C", set()),
    ("399 A", "breaker curve B", {"curve-b-needed"}),
    ("200 A", "breaker curve B", {"curve-b-needed"}),
    ("199 A", "breaker curve B", {"island-fault-too-small"}),
])
def test_island_current_chooses_the_curve(amperes, device, codes_of) -> None:
    """T6: fault_current x units of that phase against B 5, C 10 times the rating."""
    plan = site({"unit.fault_current": amperes})
    assert sized(plan, "load L1-1").device.name == device
    assert codes(plan) & {"curve-b-needed", "island-fault-too-small", "unit-fault-current-unanswered"} == codes_of


def test_island_current_counts_the_units_of_its_phase() -> None:
    """T6: two units of 250 A on L1 give 500 A, curve C; the single ones of L2 and L3 250 A, curve B."""
    plan = site(split(2, 1, 1) | {"unit.fault_current": "250 A"})
    assert {name: sized(plan, f"load {name}").device.name for name in ("L1-1", "L1-2", "L2-1")} == {"L1-1": "breaker curve C", "L1-2": "breaker curve C", "L2-1": "breaker curve B"}


def test_an_unknown_island_current_is_proven_by_nothing() -> None:
    """T6: curve B, which trips on the least, a caution, and no loop tester shows it."""
    plan = site({"unit.fault_current": None})
    told = found(plan, "unit-fault-current-unanswered")
    assert told.level is Level.CAUTION
    assert "never take it from a loop tester" in told.remedy
    assert sized(plan, "load L1-1").device.name == "breaker curve B"


def bought(plan, item: str) -> list:
    return [line for line in plan.plan.bill if line.item == item]


def test_one_residual_current_device_behind_the_common_bar() -> None:
    """T6, T7: one on the bill, of all four poles, where the loads' common circuit is; none of the three units has its own."""
    plan = site({"unit.fault_current": "60 A"})
    [device] = bought(plan, "residual-current device")
    assert device.quantity == 1
    assert device.specification.startswith("4 poles")
    assert device.goes_to == ["load common"]
    assert "after the common bar, none per unit" in found(plan, "island-fault-too-small").remedy


def test_all_poles_of_the_set_open_together() -> None:
    """T7: one device of four poles for the set's output and one for its input; no fuse in an AC circuit."""
    plan = site()
    assert [sized(plan, f"{kind} common").device.poles for kind in ("load", "incoming")] == [4, 4]
    assert {sized(plan, ends.name).device.kind for kind in ("load", "incoming") for ends in plan.parts.circuits.of(kind, common=False)} == {DeviceKind.BREAKER}
    isolators = [line.specification for line in bought(plan, "isolator")]
    assert [text for text in isolators if "neutral" in text] == ["AC, 4 poles, neutral last to open and first to close, 40 A or more, made to open under load (IEC 60947-3 AC-22)"]
    assert all(text.startswith("DC, 2 poles") for text in isolators if "neutral" not in text)
    # By the IEC rules a unit's device opens line and neutral together; by the NEC the neutral stays closed.
    assert sized(plan, "load L1-1").device.poles == 2
    assert sized(site(NEC), "load L1-1").device.poles == 1


@pytest.mark.parametrize(("transfer", "device", "conductor"), [
    # Method C, two loaded: 6 mm2 46 A, 10 mm2 63 A.
    ("49 A", 40, "6 mm2"),
    ("50 A", 50, "10 mm2"),
    ("39 A", 32, "4 mm2"),
])
def test_a_units_incoming_device_is_not_above_its_transfer_current(transfer, device, conductor) -> None:
    """T8: the largest standard rating not above it."""
    plan = site({"unit.transfer_current": transfer, "incoming.prospective_fault": "1 kA"})
    assert rating(plan, "incoming L1-1") == device
    assert size(plan, "incoming L1-1")[0] == conductor


@pytest.mark.parametrize(("per_phase", "breaker", "cautioned", "setting"), [
    # Two units of 40 A stand 0.9 x 80 = 72 A together, and 36 A each; a unit alone on its phase all of its 40 A.
    ((2, 2, 2), "80 A", True, 36),
    ((2, 2, 2), "63 A", False, 31),
    ((1, 1, 1), "40 A", False, 40),
    ((1, 1, 1), "50 A", True, 40),
    # Three stand 108 A.
    ((3, 3, 3), "125 A", True, 36),
    ((3, 3, 3), "100 A", False, 33),
])
def test_units_in_parallel_pass_nine_tenths(per_phase, breaker, cautioned, setting) -> None:
    """T8: n units count 0.9 n, in the caution on the breaker and in each unit's own incoming setting."""
    plan = site(split(*per_phase) | {"incoming.breaker": breaker})
    assert ("breaker-above-transfer" in codes(plan, Level.CAUTION)) is cautioned
    assert plan.parts.limits.incoming["L1-1"].value == setting


@pytest.mark.parametrize(("changes", "setting"), [
    # 49 A pass, but the unit's own device is 40 A; by the NEC 45 A, of which it carries 80 % for long: 36 A.
    ({}, 40),
    (NEC, 36),
])
def test_a_units_setting_is_not_above_its_own_device(changes, setting) -> None:
    """T8: nor above what the unit passes."""
    plan = site(changes | {"unit.transfer_current": "49 A", "incoming.breaker": "100 A"})
    assert plan.parts.limits.incoming["L1-1"].value == setting


@pytest.mark.parametrize(("per_phase", "current", "conductor"), [
    # Devices of 40 A: 40, 80 and 120 A on the busiest phase; method C, three loaded: 6 mm2 41 A, 25 mm2 96 A (16 mm2 76 A), 50 mm2 144 A.
    ((1, 1, 1), 40, "6 mm2"),
    ((2, 1, 1), 80, "25 mm2"),
    ((1, 1, 3), 120, "50 mm2"),
])
def test_the_common_circuit_carries_the_sum_of_its_devices(per_phase, current, conductor) -> None:
    """T9: what the units' devices of the busiest phase let through together."""
    plan = site(split(*per_phase))
    assert sized(plan, "load common").current.value == current
    assert size(plan, "load common")[0] == conductor


def test_a_battery_bar_carries_the_sum_of_the_units_fuses() -> None:
    """T9: six units of 160 A charge through their own fuses: 960 A on the bar, more than the 800 A fuse of the bank (701 A); three 480 A, its fuse 400 A."""
    for per_phase, amperes in (((1, 1, 1), "480 A"), ((2, 2, 2), "960 A")):
        plan = site(split(*per_phase))
        bars = {line.specification for line in bought(plan, "busbar") if line.goes_to == ["bar B1"]}
        assert bars == {f"plus, {amperes} or more", f"minus, {amperes} or more"}


def test_a_fuse_that_is_loaded_and_has_no_larger_one_asks_for_more_banks() -> None:
    """S32: three units of 17 kW draw 3 x 17000 / 0.93 / 46 V = 1192 A from the bank, 95 % of the largest fuse there is (IEC 60269: 1250 A)."""
    large = {"unit.real_power": "17 kW", "unit.apparent_power": "17 kVA", "unit.surge_power": "34 kVA", "storage.bank.parallel": 40}
    plan = site(large)
    assert rating(plan, "battery B1") == 1250
    [told] = [f for f in plan.findings if f.code == "fuse-loaded" and f.about.startswith("plan.circuits[battery B1]")]
    assert told.remedy.startswith("No larger fuse is made: divide the set over more banks.")
    assert told.value == pytest.approx(3 * 17000 / 0.93 / 46)


@pytest.mark.parametrize(("charging", "lasts"), [({}, True), ({"unit.charge_current": None, "storage.module.charge_current": None}, False)])
def test_what_lasts_for_an_hour_is_known_only_by_bank_or_charger(charging: dict[str, object], lasts: bool) -> None:
    """S32: two strings of 100 Ah at 51.2 V, 80 % of them through 93 %, are 7.6 kWh: full load of 15 kW empties them within half an hour."""
    plan = site({"storage.bank.parallel": 2} | charging)
    assert plan.parts.storage.banks[0].autonomy_full_load.value == pytest.approx(2 * 100 * 51.2 * 0.8 * 0.93 / 15000 * 3600)
    assert (plan.parts.currents.of[UNIT].lasting is not None) is lasts


@pytest.mark.parametrize(("stands", "sized_at_all"), [("30 degC", False), ("31 degC", True)])
def test_terminals_no_warmer_than_the_tables_air_take_nothing(stands: str, sized_at_all: bool) -> None:
    """T3: the tables are of 30 degC air (IEC 60364-5-52): a terminal that stands no more has no rise left."""
    plan = site({"unit.terminal_temperature": stands})
    assert (sized(plan, "load L1-1").conductor is not None) is sized_at_all
    assert ("no-conductor-will-do" in codes(plan, Level.STOP)) is not sized_at_all


def test_american_units_of_unknown_power_leave_only_what_the_supply_decides() -> None:
    """Nothing to size by on the units' side, so no conductors, no bond, and a stop; the incoming side goes by its breaker."""
    plan = site(NEC | {"unit.real_power": None, "unit.apparent_power": None, "storage.earthed": "minus"})
    assert {name for name, sizing in plan.parts.conductors.of.items() if sizing.conductor} == {"incoming common", *(f"incoming L{n}-1" for n in (1, 2, 3))}
    assert "unit-power-unanswered" in codes(plan, Level.STOP)


def test_american_air_that_the_insulation_does_not_stand_stops() -> None:
    """NEC table 310.15(B)(1): wire of 75 degC has its last factor for 70 degC."""
    told = found(site(NEC | {"site.ambient_max": "71 degC"}), "ambient-above-insulation")
    assert (told.level, told.limit) == (Level.STOP, pytest.approx(343.15))
    assert "ambient-above-insulation" not in codes(site(NEC | {"site.ambient_max": "70 degC"}))


def test_what_nobody_knows_is_told_of_the_largest_fuse_ahead() -> None:
    """22 kW / 0.93 / 46 V are 514 A a unit, 643 A lasting: 700 A; twice that 1286 A: 1600 A. The table of let-through (IEC 60269-1) ends at 630 A. Every earth
    stands behind the bank's fuse too, so that is the one to ask for.
    """
    changes = split(2) | NEC | {"unit.real_power": "22 kW", "unit.apparent_power": "22 kVA", "unit.surge_power": "48 kVA", "unit.terminal_temperature": "90 degC", "storage.earthed": "minus", "storage.module.resistance": "4 mohm", "storage.bank.parallel": 12}
    texts = [f.text for f in site(changes, battery={"method": "F", "insulation": "xlpe"}).findings if f.code == "withstand-not-checked"]
    behind = {text.partition(" A fuse")[0].rsplit(" ", 1)[1]: re.findall(r"(\w[\w -]*) \(", text.partition(": that")[2]) for text in texts}
    assert {name for name in behind["1600"] if name.startswith("earth")} == {"earth L1-1", "earth L1-2", "earth B1", "earth bar B1"}
    assert behind["700"] == ["battery L1-1", "battery L1-2"]
