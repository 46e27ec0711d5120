"""S1 to S14 defended: sites that lie so that breaking the rule gives another size, device or figure.

Every figure is reckoned here by hand. Constants: current-carrying capacities of IEC 60364-5-52 tables B.52.2 to B.52.5 and its
factors B.52.14 and B.52.17 (from memory), resistances of IEC 60228, tables 310.16, 310.17, 310.15 and 250.122 of NFPA 70 (2023),
gates of IEC 60269-1 (from memory), k of IEC 60364-4-43 and 5-54.

The unit of the small site gives 5 kW and 5 kVA at 93 % and its bank ends at 46 V, so that T1 gives 5000 / (0.93 x 46) = 116.88 A,
and T2 its thermal current sqrt(1 + 1/2) x 116.88 = 143.15 A.
"""

from __future__ import annotations

import pytest

from tests.defence.twins import FREE, ONE, SUN, WEAK, Changes, circuit, codes, load, planned, route

T1 = 5000 / (0.93 * 46)  # A
WARM = 1 + 0.00393 * 50  # copper at 70 degC over copper at 20 degC, IEC 60228
IN_ROOM = ONE | WEAK | {"site.ambient_max": "30 degC"}  # factor of the air 1


def along(kind: str, length: str = "2 m", **more: object) -> Changes:
    return {"routes": [route(kind, length=length, **more)]}


def percent(text: str | None) -> float:
    return float(str(text).removesuffix(" %"))


@pytest.mark.parametrize(
    ("length", "size", "word"),
    [
        # 120 mm2 of class 5, 0.161 ohm/km at 20 degC, is 0.19264 ohm/km at 70 degC: 2 x 116.88 A x 0.19264 mohm/m / 51.2 V is
        # 0.08795 % a metre, and 2 % is reached at 22.7 m. By the thermal current it were 18.6 m, of the low voltage 20.4 m.
        ("22 m", "120 mm2", "fuse"),
        # By class 2 it were 23.9 m, by the resistance at 20 degC 27.2 m.
        ("23 m", "150 mm2", "drop"),
    ],
)
def test_s1_a_battery_drop_is_at_t1_of_the_nominal_voltage_with_warm_class_5(length: str, size: str, word: str) -> None:
    """S1"""
    row = circuit(ONE | along("battery", length), "battery L1-1")
    assert (row.conductor, row.governed_by) == (size, word)
    ohms = {"120 mm2": 0.161e-3, "150 mm2": 0.129e-3}[size] * WARM * float(length.split(maxsplit=1)[0])
    assert percent(row.drop) == pytest.approx(100 * 2 * T1 * ohms / 51.2, rel=1e-3)


def test_s1_an_ac_drop_takes_class_2_the_power_factor_of_its_phase_and_the_reactance() -> None:
    """S1: 10 mm2 of class 2 has 1.83 x 1.1965 = 2.190 mohm/m and 0.08 mohm/m of reactance; 40 A, out and back, of 230 V."""
    site = IN_ROOM | along("load", "10 m") | {"loads": [load("3 kW", power_factor=0.6)]}
    row = circuit(site, "load L1-1")
    assert row.conductor == "10 mm2"
    # 2 x 40 A x 10 m x (2.190 x 0.6 + 0.08 x 0.8) mohm/m = 1.102 V. Without reactance 0.4570 %, at cos phi 0.8 0.626 %.
    assert percent(row.drop) == pytest.approx(100 * 2 * 40 * 10 * (1.83e-3 * WARM * 0.6 + 0.08e-3 * 0.8) / 230, rel=1e-3)


def test_s1_a_common_circuit_takes_the_worst_power_factor_of_its_phases() -> None:
    """S1: of 0.6 and 1 on two phases 1 drops most over a thin conductor, where resistance outweighs reactance."""
    row = circuit(WEAK | {"loads": [load("3 kW", power_factor=0.6), load("1 kW", "L2")]} | along("load", "10 m"), "load common")
    ohms = {"10 mm2": 1.83e-3, "16 mm2": 1.15e-3}[str(row.conductor)] * WARM
    assert percent(row.drop) == pytest.approx(100 * 40 * 10 * ohms / 230, rel=1e-3)


def test_s1_a_solar_drop_is_of_the_string_voltage() -> None:
    """S1: 4 mm2 of class 5 at 90 degC: 4.95 x (1 + 0.00393 x 70) = 6.312 mohm/m; 14.375 A out and back of 7 x 41.5 V."""
    row = circuit(ONE | SUN | along("solar", "20 m", insulation="xlpe"), "solar L1-1")
    assert row.conductor == "4 mm2"
    assert percent(row.drop) == pytest.approx(100 * 2 * 1.25 * 11.5 * 20 * 4.95e-3 * (1 + 0.00393 * 70) / (7 * 41.5), rel=1e-3)


def test_s1_under_the_nec_the_drop_is_told_and_does_not_decide() -> None:
    """S1: the same length makes a larger conductor by the IEC rules, and a caution by the NEC."""
    short, long = along("load", "2 m"), along("load", "60 m")
    iec, nec = ONE | WEAK, ONE | WEAK | {"site.rules": "nec"}
    assert circuit(iec | long, "load L1-1").governed_by == "drop"
    assert "drop-above-limit" not in codes(iec | long)
    assert circuit(nec | long, "load L1-1").conductor == circuit(nec | short, "load L1-1").conductor
    assert "drop-above-limit" in codes(nec | long)
    assert "drop-above-limit" not in codes(nec | short)


def test_s2_a_battery_circuit_carries_the_thermal_current() -> None:
    """S2: 143.15 A asks for a 160 A fuse, T1 alone would have 125 A."""
    row = circuit(ONE, "battery L1-1")
    assert row.current == "143.1 A"
    assert row.device.rating == "160 A"


@pytest.mark.parametrize(("module", "current", "fuse"), [("21.8 A", "159.2 A", "160 A"), ("21.9 A", "160.4 A", "200 A")])
def test_s2_charging_counts_where_it_is_more_than_what_is_drawn(module: str, current: str, fuse: str) -> None:
    """S2: six modules from a bar stand 130.8 or 131.4 A, set 130 or 131 A; times 1.2247. What is drawn is 143.1 A thermal."""
    site = ONE | {"storage.bank.feed": "bar", "unit.charge_current": "200 A", "storage.module.charge_current": module}
    row = circuit(site, "battery L1-1")
    assert (row.current, row.device.rating) == (current, fuse)


def test_s2_the_surge_of_a_fuse_goes_by_t1_not_by_the_thermal_current() -> None:
    """S2: half of 116.88 A x 13.5 / 5 is 157.8 A, in a 160 A fuse; by the thermal current it were 193.3 A, a 200 A fuse."""
    assert circuit(ONE | {"unit.surge_power": "13.5 kVA"}, "battery L1-1").device.rating == "160 A"


def test_s2_under_the_nec_the_larger_of_both_and_never_their_product() -> None:
    """S2: 1.25 x 116.88 = 146.1 A against 143.1 A thermal: a 150 A fuse; the product, 178.9 A, would have one of 200 A."""
    row = circuit(ONE | {"site.rules": "nec"}, "battery L1-1")
    assert (row.current, row.device.rating) == ("146.1 A", "150 A")


def test_s3_the_currents_of_the_ac_side() -> None:
    """S3: own 5 kVA / 230 V is 21.7 A, but 40 A pass; two devices of 40 A on the busiest phase are 80 A; the breaker ahead is 63 A."""
    site = {"set.count": None, "set.per_phase": [2, 1, 1], "storage.wired": {}, "unit.transfer_current": "45 A"}
    for name, current, rating in (("incoming L1-1", "40 A", "40 A"), ("load L1-1", "40 A", "40 A"), ("load common", "80 A", "80 A"), ("incoming common", "63 A", "63 A")):
        row = circuit(site, name)
        assert (row.current, row.device.rating) == (current, rating), name
    # Where little passes, the unit's own power decides.
    assert circuit(ONE | {"unit.transfer_current": "16 A"}, "load L1-1").current == "21.74 A"


def test_s3_under_the_nec_a_unit_passes_0_8_of_its_device_and_nothing_is_multiplied_twice() -> None:
    """S3: transfer 52 A, device 50 A, Ib 40 A; the common load is the sum of the devices, 2 x 50 A, not 125 A."""
    nec = {"site.rules": "nec", "unit.transfer_current": "52 A"}
    row = circuit(ONE | nec, "incoming L1-1")
    assert (row.current, row.device.rating) == ("40 A", "50 A")
    common = circuit(nec | {"set.count": None, "set.per_phase": [2, 1, 1], "storage.wired": {}}, "load common")
    assert (common.current, common.device.rating) == ("100 A", "100 A")


def test_s4_a_conductor_behind_a_switch_stands_what_the_device_ahead_lets_through() -> None:
    """S4: 20 kA for 0.02 s is 8 MA2s; sqrt(8e6) / 115 = 24.6 mm2, where 40 A alone would have 10 mm2."""
    row = circuit({"incoming.prospective_fault": "20 kA"}, "load common")
    assert row.device.kind == "AC isolator"
    assert (row.conductor, row.governed_by) == ("25 mm2", "withstand")
    assert circuit(WEAK, "load common").conductor == "10 mm2"


def test_s4_a_breaker_that_does_not_trip_at_once_is_given_5_s() -> None:
    """S4, T4: 390 A is under 10 x 40 A: 390^2 x 5 s = 0.76 MA2s, sqrt / 115 = 7.6 mm2, so 10 mm2; 410 A for 0.02 s is nothing."""
    way = along("load", method="E")  # 4 mm2 carries 40 A
    assert circuit(IN_ROOM | way | {"incoming.prospective_fault": "390 A"}, "load L1-1").conductor == "10 mm2"
    assert circuit(IN_ROOM | way | {"incoming.prospective_fault": "410 A"}, "load L1-1").conductor == "4 mm2"


@pytest.mark.parametrize(
    ("way", "size", "word"),
    [
        # XLPE at 40 degC and two together: 10 mm2 has 69 x 0.91 x 0.8 = 50.2 A; by the PVC column 52 x 0.91 x 0.8 = 37.9 A, 16 mm2.
        ({"insulation": "xlpe", "grouped": 2}, "10 mm2", "current"),
        # Alone in 30 degC 6 mm2 of XLPE has 51 A, but only 38 A in the PVC column: the terminals ask for 10 mm2, 52 A.
        ({"insulation": "xlpe", "grouped": 1}, "10 mm2", "termination"),
    ],
)
def test_s5_iec_the_insulations_own_column_with_factors_and_the_70_degree_column_without(way: Changes, size: str, word: str) -> None:
    """S5"""
    warm = {"site.ambient_max": "40 degC"} if way["grouped"] == 2 else {}
    row = circuit(IN_ROOM | warm | along("load", **way), "load L1-1")
    assert (row.conductor, row.governed_by) == (size, word)


def test_s5_the_70_degree_column_is_taken_without_the_factors() -> None:
    """S5: at 40 degC two XLPE circuits: 10 mm2 has 52 A in the PVC column, above 40 A; with factors 36.2 A, which would take 16 mm2."""
    assert circuit(ONE | WEAK | along("load", insulation="xlpe", grouped=2), "load L1-1").conductor == "10 mm2"


@pytest.mark.parametrize(
    ("way", "size"),
    [
        # A 50 A breaker needs more than 45 A (240.4(B)). At 40 degC 8 AWG of 90 degC has 55 x 0.91 = 50.05 A, of 75 degC 50 x 0.88 = 44 A.
        ({"insulation": "xlpe", "method": "B2", "grouped": 1}, "8 AWG"),
        ({"insulation": "pvc", "method": "B2", "grouped": 1}, "6 AWG"),
        # Eight conductors, 70 %: in raceway 55 x 0.91 x 0.7 = 35.0 A, in free air 80 x 0.91 x 0.7 = 51.0 A.
        ({"insulation": "xlpe", "method": "C", "grouped": 4}, "6 AWG"),
        ({"insulation": "xlpe", "method": "D1", "grouped": 4}, "6 AWG"),
        ({"insulation": "xlpe", "method": "E", "grouped": 4}, "8 AWG"),
        ({"insulation": "xlpe", "method": "F", "grouped": 4}, "8 AWG"),
    ],
)
def test_s5_nec_reads_pvc_as_75_and_xlpe_as_90_degree_wire_and_e_and_f_as_free_air(way: Changes, size: str) -> None:
    """S5"""
    nec = {"site.rules": "nec", "unit.transfer_current": "50 A", "unit.terminal_temperature": "75 degC"}
    assert circuit(ONE | WEAK | nec | along("load", **way), "load L1-1").conductor == size


@pytest.mark.parametrize(
    ("method", "grouped", "size"),
    [
        # 40 A in 30 degC, PVC, two loaded. Bunched: B2 of 10 mm2 has 52 A x 0.8 for two, x 0.7 for three.
        ("B2", 2, "10 mm2"),
        ("B2", 3, "16 mm2"),
        # One layer on a wall: 10 mm2 has 63 x 0.72 = 45.4 A; bunched 63 x 0.57 = 35.9 A.
        ("C", 6, "10 mm2"),
        # On a tray: 6 mm2 has 51 x 0.82 = 41.8 A; bunched 35.7 A.
        ("E", 3, "6 mm2"),
        # A1: 25 mm2 has 80 x 0.5 = 40 A for nine; ten are between nine and twelve, 0.45: 36 A.
        ("A1", 9, "25 mm2"),
        ("A1", 10, "35 mm2"),
    ],
)
def test_s6_grouping_counts_this_one_and_takes_the_worse_of_two_rows(method: str, grouped: int, size: str) -> None:
    """S6"""
    assert circuit(IN_ROOM | along("load", method=method, grouped=grouped), "load L1-1").conductor == size


def test_s6_nec_counts_three_conductors_for_each_three_phase_circuit() -> None:
    """S6: 3 x 3 conductors, 70 %: at 40 degC 3 AWG has 100 x 0.88 x 0.7 = 61.6 A, 2 AWG 70.8 A. Six, 80 %, would leave 3 AWG 70.4 A."""
    site = {"site.rules": "nec", "incoming.breaker": "70 A"} | along("incoming", grouped=3)
    assert circuit(site, "incoming common").conductor == "2 AWG"


@pytest.mark.parametrize(("surge", "time", "fuse"), [("13 kVA", "10 s", "160 A"), ("15 kVA", "10 s", "200 A"), ("15 kVA", "11 s", "400 A")])
def test_s7_a_fuse_is_at_least_half_the_surge_for_10_s(surge: str, time: str, fuse: str) -> None:
    """S7: 116.88 A x 15 / 5 = 350.6 A, half of it 175.3 A; for longer all of it. Half of 13 kVA's, 151.9 A, decides nothing."""
    assert circuit(ONE | {"unit.surge_power": surge, "unit.surge_time": time}, "battery L1-1").device.rating == fuse


def test_s8_a_case_earth_is_the_larger_of_table_54_2_and_the_heat_of_the_battery_fuse() -> None:
    """S8: a 160 A fuse may pass 2590 A for 0.1 s: 0.671 MA2s, sqrt / 143 = 5.73 mm2."""
    thin = circuit(ONE | WEAK | {"unit.transfer_current": "16 A"}, "earth L1-1")  # AC lines of 4 mm2
    assert (thin.conductor, thin.governed_by) == ("6 mm2", "fuse")
    thick = circuit(ONE | WEAK, "earth L1-1")  # AC lines of 10 mm2
    assert (thick.conductor, thick.governed_by) == ("10 mm2", "device")


def test_s8_nec_takes_250_122_for_both() -> None:
    """S8: 10 AWG for the 50 A breaker, 6 AWG for the 150 A fuse."""
    row = circuit(ONE | WEAK | {"site.rules": "nec", "unit.transfer_current": "50 A"}, "earth L1-1")
    assert (row.conductor, row.governed_by) == ("6 AWG", "fuse")


@pytest.mark.parametrize(
    ("shaken", "calm", "size"),
    [
        # 1 kW of 60 % and 3 kW of none are 15 %, where no factor holds: 10 mm2 has 46 x 0.87 = 40.02 A. Unweighted it were 30 %.
        ("1 kW", "3 kW", "10 mm2"),
        # 2 kW of 60 % and 2 kW of none are 30 %, 0.86: 40 / 0.86 = 46.5 A, 16 mm2 has 62 x 0.87 = 53.9 A.
        ("2 kW", "2 kW", "16 mm2"),
    ],
)
def test_s9_the_harmonic_content_of_common_circuits_is_weighted_by_power(shaken: str, calm: str, size: str) -> None:
    """S9"""
    site = WEAK | {"loads": [load(shaken, "all", third_harmonic="60 %"), load(calm, "all")]}
    assert circuit(site, "load common").conductor == size


def test_s9_in_a_units_own_circuits_the_neutral_is_as_large_as_the_line() -> None:
    """S9: 60 % third harmonic moves the common circuit, 3 x 0.6 x 40 A = 72 A in its neutral, but not the unit's own."""
    calm, shaken = ({"loads": [load("1 kW", "all", third_harmonic=h)]} for h in ("0 %", "60 %"))
    own = circuit(WEAK | shaken, "load L1-1")
    assert own.neutral == own.conductor == circuit(WEAK | calm, "load L1-1").conductor
    common = circuit(WEAK | shaken, "load common")
    assert common.governed_by == "neutral"
    # 72 A in three loaded conductors of method B2 at 40 degC: 25 mm2 has 80 x 0.87 = 69.6 A, 35 mm2 99 x 0.87 = 86.1 A.
    assert common.conductor == "35 mm2"


@pytest.mark.parametrize(
    ("module", "breaking", "clearing", "capacity"),
    [
        # Six modules of 12 mohm: 2 mohm, halved 1 mohm behind 56 V; 46 V over 2 mohm.
        ({}, "56 kA", "23 kA", "100 kA"),
        ({"resistance_measured": True}, "28 kA", "23 kA", "50 kA"),
        ({"short_circuit_current": "10 kA"}, "60 kA", "23 kA", "100 kA"),
        ({"short_circuit_current": "2 kA"}, "56 kA", "12 kA", "100 kA"),
        ({"short_circuit_current": "2 kA", "resistance": None}, "12 kA", "12 kA", "20 kA"),
    ],
)
def test_s10_of_two_faults_the_larger_breaks_and_the_smaller_clears(module: Changes, breaking: str, clearing: str, capacity: str) -> None:
    """S10"""
    site = ONE | {f"storage.module.{key}": value for key, value in module.items()}
    bank = planned(site).plan.banks[0]
    assert (bank.fault_current, bank.fault_current_clearing) == (breaking, clearing)
    assert circuit(site, "battery L1-1").device.breaking == capacity


def test_s10_above_200_ka_the_plan_stops() -> None:
    """S10: 56 V / (r / 6 / 2) is 200 kA at 3.36 mohm."""
    assert "fault-above-every-device" not in codes(ONE | {"storage.module.resistance": "3.37 mohm"})
    assert "fault-above-every-device" in codes(ONE | {"storage.module.resistance": "3.35 mohm"})


@pytest.mark.parametrize(
    ("parallel", "current", "kind", "rating"),
    [
        # 1.25 x 11.5 A a string; three strings fuse each, at 1.4 x 11.5 A = 16.1 A or more.
        (1, "14.38 A", "DC isolator", "16 A"),
        (2, "28.75 A", "DC isolator", "32 A"),
        (3, "43.12 A", "gPV fuse", "20 A"),
    ],
)
def test_s11_a_solar_circuit_carries_1_25_isc_a_string_and_fuses_three(parallel: int, current: str, kind: str, rating: str) -> None:
    """S11"""
    row = circuit(ONE | SUN | {"solar.parallel": parallel}, "solar L1-1")
    assert (row.current, row.device.kind, row.device.rating) == (current, kind, rating)


def test_s11_nec_takes_1_56() -> None:
    """S11: 1.56 x 11.5 A."""
    assert circuit(ONE | SUN | {"site.rules": "nec"}, "solar L1-1").current == "17.94 A"


def test_s12_each_parallel_conductor_counts_in_the_grouping() -> None:
    """S12: a 400 A fuse asks for 1.6 x 400 / 1.45 = 441.4 A. At 40 degC, two together: 2 x 294 x 0.87 x 0.8 = 409 A for 185 mm2, 479 A
    for 240 mm2. Were they not counted, 2 x 150 mm2 would have 449 A."""
    row = circuit(along("battery", grouped=1), "battery B1")
    assert (row.device.rating, row.conductor, row.parallel) == ("400 A", "240 mm2", 2)


def test_s12_at_most_four_conductors() -> None:
    """S12: four of 300 mm2 in the air have 4 x 783 x 0.91 x 0.77 = 2195 A; in conduit 4 x 394 x 0.87 x 0.65 = 891 A, and no more are laid."""
    drawn = {"unit.real_power": "34 kW", "unit.apparent_power": "34 kVA"}  # 973 A, a 1000 A fuse, I2 / 1.45 1103 A
    conduit = ONE | drawn | {"routes": [route("battery", method="B2")]}
    assert circuit(conduit, "battery L1-1").conductor is None
    [told] = [f for f in planned(conduit).findings if f.code == "no-conductor-will-do"]
    assert "even 4 x 300 mm2 of copper fails" in told.text
    assert "where at least 973.4 A is wanted" in told.text
    free = circuit(ONE | drawn | {"routes": FREE}, "battery L1-1")
    assert free.conductor and free.parallel <= 4
    assert all(figure for sizing in planned(ONE | drawn | {"routes": FREE}).parts.conductors.of.values() for figure in sizing.figures)


@pytest.mark.parametrize(("degrees", "insulation", "cure"), [("62 degC", "pvc", "Use xlpe insulation there"), ("82 degC", "xlpe", "Cool the room.")])
def test_s5_what_no_insulation_stands_is_cooled(degrees: str, insulation: str, cure: str) -> None:
    """S5: in air PVC stands 60 degC, XLPE 80 degC (table B.52.14): xlpe is offered where there is pvc."""
    every = [route(kind, insulation=insulation) for kind in ("battery", "load", "incoming", "earth")]
    [told] = [f for f in planned(ONE | {"site.ambient_max": degrees, "routes": every}).findings if f.code == "ambient-above-insulation"]
    assert f"more than {insulation} insulation stands" in told.text
    assert told.remedy.startswith(cure)


@pytest.mark.parametrize(("method", "table"), [("C", "310.16"), ("E", "310.17")])
def test_s5_the_table_that_was_read_is_named(method: str, table: str) -> None:
    """S5: methods A to D as in raceway, E and F as in free air."""
    why = planned(ONE | {"site.rules": "nec", "routes": [route("load", method=method)]}).figures["plan.circuits[load L1-1].conductor"]
    told = next(line for line in why.note.splitlines() if line.startswith("passes current"))
    assert told.endswith(f"table {table}.")


def test_s12_a_terminal_that_is_too_small_changes_no_size() -> None:
    """S12"""
    row = circuit(ONE | {"unit.dc_terminal_max": "35 mm2"}, "battery L1-1")
    assert row.conductor == circuit(ONE | {"unit.dc_terminal_max": "240 mm2"}, "battery L1-1").conductor == "120 mm2"
    found = next(f for f in planned(ONE | {"unit.dc_terminal_max": "70 mm2"}).findings if f.code == "terminal-too-small")
    assert found.about == "plan.circuits[battery L1-1].conductor"
    assert "two conductors of 70 mm2" in found.remedy
    assert "adaptor" in found.remedy
    assert "terminal-too-small" not in codes(ONE | {"unit.dc_terminal_max": "120 mm2"})


@pytest.mark.parametrize(
    ("word", "site", "name"),
    [
        ("current", IN_ROOM | along("load"), "load L1-1"),
        # 50 A breaker, 40 A: 8 AWG of 75 degC has 44 A, enough for the current, not for the device.
        ("device", ONE | WEAK | {"site.rules": "nec", "unit.transfer_current": "50 A", "unit.terminal_temperature": "75 degC"} | along("load"), "load L1-1"),
        # 160 A fuse: I2 / 1.45 = 176.6 A; 95 mm2 has 201 x 0.87 = 174.9 A, enough for 160 A.
        ("fuse", ONE, "battery L1-1"),
        ("drop", ONE | along("battery", "23 m"), "battery L1-1"),
        ("withstand", IN_ROOM | along("load", method="E") | {"incoming.prospective_fault": "390 A"}, "load L1-1"),
        ("termination", IN_ROOM | along("load", insulation="xlpe"), "load L1-1"),
        ("correction", {"site.rules": "nec", "incoming.breaker": "70 A"} | along("incoming", grouped=3), "incoming common"),
        ("neutral", WEAK | {"loads": [load("1 kW", "all", third_harmonic="30 %")]}, "load common"),
        ("like circuits", {"routes": [route("battery", to="L2-1", length="40 m"), route("battery", length="2 m")]}, "battery L1-1"),
        ("smallest size", ONE | SUN, "solar L1-1"),
    ],
)
def test_s13_the_plan_says_what_decided(word: str, site: Changes, name: str) -> None:
    """S13"""
    assert circuit(site, name).governed_by == word


def test_s14_aluminium_only_where_it_is_answered() -> None:
    """S14: 40 A at 40 degC: 10 mm2 of copper has 52 x 0.87 = 45.2 A; of aluminium 16 mm2, 54 x 0.87 = 47.0 A."""
    copper, mixed = along("load", grouped=1), {"routes": [route("load", length="2 m", grouped=1, metal="aluminium")]}
    assert {row.metal for row in planned(ONE | WEAK | copper).plan.circuits} == {"copper"}
    assert circuit(ONE | WEAK | copper, "load L1-1").conductor == "10 mm2"
    row = circuit(ONE | WEAK | mixed, "load L1-1")
    assert (row.metal, row.conductor) == ("aluminium", "16 mm2")
    assert circuit(ONE | WEAK | mixed, "battery L1-1").metal == "copper"
