"""T14, T16, T19 and T20 decide charge limits, air, what the incoming side gives, and strings; a night and a generator hour by hour.

Hand figures rest on: IEC 62485-2 (Q = 0.05 n I C / 1000, openings 28 Q), NEC table 690.7(A) (-6 to -10 degC 1.14, -11 to -15 degC 1.16), 80 %
of a breaker (NFPA 70 210.20) and of a generator, and conservation of energy.
"""

from __future__ import annotations

import pytest

from engine.findings import Level
from tests.defence.sites import NEC, SOLAR, codes, found, site, split

LEAD = {
    "storage.managed": False,
    "storage.module": {"voltage": "12 V", "capacity": "200 Ah", "charge_current": "60 A", "discharge_current": "300 A", "resistance": "3 mohm"},
    "storage.bank": {"series": 4, "parallel": 2, "feed": "bar"},
}


def heaters(kilowatts: float, energy: str = "24 kWh/day") -> dict[str, object]:
    return {"loads": [{"name": "Heater", "power": f"{kilowatts} kW", "power_factor": 1.0, "phase": "all", "energy": energy}]}


# --- charging ---


@pytest.mark.parametrize(("changes", "limits"), [
    # Two strings of 50 A from a bar: 100 A a bank. B1 feeds two units: 50 A each; B2 and B3 one: 80 A, the unit's own. Over all four: 25 A.
    (split(2, 1, 1, bank="bank-per-phase") | {"storage.bank.parallel": 2}, {"L1-1": 50, "L1-2": 50, "L2-1": 80, "L3-1": 80}),
    # 4 x 50 A over three units: 66.7 A, rounded down.
    ({"storage.bank.parallel": 4}, {"L1-1": 66, "L2-1": 66, "L3-1": 66}),
    # 5 x 50 A: 83.3 A, no more than the unit's 80 A.
    ({"storage.bank.parallel": 5}, {"L1-1": 80, "L2-1": 80, "L3-1": 80}),
    # Strings of 6 mohm (stated 12 mohm, halved), joints of 1 mohm, fed at one end: the first of three carries 0.475: 50 / 0.475 = 105.3 A: 35 A.
    ({"storage.bank": {"parallel": 3, "feed": "one end", "joint_resistance": "1 mohm"}}, {"L1-1": 35, "L2-1": 35, "L3-1": 35}),
])
def test_the_charge_limit_of_a_bank_is_shared_by_its_units(changes, limits) -> None:
    """T14: module limit / largest share, over the bank's own units, whole amperes, at most the unit's own."""
    plan = site(changes)
    assert {tag: figure.value for tag, figure in plan.parts.limits.charge.items()} == limits
    assert {row.tag: row.charge_limit for row in plan.plan.units} == {tag: f"{limit} A" for tag, limit in limits.items()}


@pytest.mark.parametrize(("strings", "told"), [(4, True), (6, False)])
def test_solar_charging_counts_into_the_limit(strings, told) -> None:
    """T14: the solar side gives 80 A; the unit's part of four strings is 66 A, of six 80 A."""
    plan = site(SOLAR | {"storage.bank.parallel": strings})
    assert ("solar-charges-above-limit" in codes(plan, Level.CAUTION)) is told
    if told:
        assert "14 A above" in found(plan, "solar-charges-above-limit").text


# --- the incoming side ---


@pytest.mark.parametrize(("kilowatts", "told"), [
    # 66 A x 56 V / (0.93 x 0.95 x 230 V) = 18.19 A; 1.733 kW a phase 7.54 A: 25.7 A behind 25 A. At the nominal 51.2 V: 16.63 + 7.54 = 24.2 A.
    (5.2, True),
    # 1.533 kW: 6.67 A: 24.9 A.
    (4.6, False),
])
def test_charging_is_reckoned_at_absorption_voltage(kilowatts, told) -> None:
    """T14, T19: what charges is drawn at the highest voltage, on top of what passes through."""
    plan = site(heaters(kilowatts) | {"storage.bank.parallel": 4, "incoming.breaker": "25 A"})
    assert ("incoming-below-load-and-charge" in codes(plan, Level.CAUTION)) is told
    assert plan.parts.limits.charging["L1-1"].value == pytest.approx(66 * 56 / (0.93 * 0.95 * 230))


@pytest.mark.parametrize(("changes", "total", "told"), [
    # 80 A of charging draw 22.05 A; 2 kW a phase 8.70 A: 30.74 A.
    ({"incoming.breaker": "32 A"}, 32, False),
    ({"incoming.breaker": "30 A"}, 30, True),
    # NEC: 80 % of the breaker; at 120 V charging draws 42.26 A, 1.2 kW a phase 10 A: 52.26 A; 60 A give 48 A, 70 A give 56 A.
    (NEC | heaters(3.6) | {"incoming.breaker": "60 A", "unit.transfer_current": "70 A"}, 48, True),
    (NEC | heaters(3.6) | {"incoming.breaker": "70 A", "unit.transfer_current": "70 A"}, 56, False),
    # 25 kVA are 36.23 A on each of three phases, 80 % of it 28.99 A; 30 kVA 34.78 A. The breaker of 40 A would allow either.
    ({"incoming": {"kind": "generator", "breaker": "40 A", "prospective_fault": "2 kA", "rating": "25 kVA"}}, 25_000 / 690 * 0.8, True),
    ({"incoming": {"kind": "generator", "breaker": "40 A", "prospective_fault": "2 kA", "rating": "30 kVA"}}, 30_000 / 690 * 0.8, False),
])
def test_loads_and_charging_stay_within_what_comes_in(changes, total, told) -> None:
    """T19: within the breaker (NEC 80 %) and 80 % of a generator; above it the limits hold only if battery power is added or loads shed."""
    plan = site(changes)
    assert plan.parts.limits.incoming_total.value == pytest.approx(total)
    assert ("incoming-below-load-and-charge" in codes(plan, Level.CAUTION)) is told
    if told:
        assert "add battery power" in found(plan, "incoming-below-load-and-charge").text


@pytest.mark.parametrize(("extra", "told"), [("0.4 kW", True), ("0.2 kW", False)])
def test_a_generators_phases_are_kept_alike(extra, told) -> None:
    """T19: 2 kW on each phase and one more load on L1: 2.4, 2, 2 kW differ from their mean of 2.133 kW by 12.5 %, 2.2, 2, 2 by 6.5 %."""
    changes = {"incoming": {"kind": "generator", "breaker": "40 A", "prospective_fault": "2 kA", "rating": "30 kVA"}}
    loads = [*heaters(6)["loads"], {"name": "Lamp", "power": extra, "power_factor": 1.0, "phase": "L1", "energy": "1 kWh/day"}]
    plan = site(changes | {"loads": loads})
    assert ("generator-unbalanced" in codes(plan, Level.CAUTION)) is told
    # A utility does not mind.
    assert "generator-unbalanced" not in codes(site({"loads": loads}))


# --- air ---


@pytest.mark.parametrize(("chemistry", "cubic_metres", "opening"), [
    # 4 x 6 cells, 2 x 200 Ah, boost 20 or 8 mA/Ah: 0.05 x 24 x 20 x 400 / 1000 = 9.6 m3/h, 28 x 9.6 = 268.8 cm2; 3.84 m3/h, 107.5 cm2.
    ("flooded", 9.6, "268.8 cm2"),
    ("agm", 3.84, "107.5 cm2"),
    ("gel", 3.84, "107.5 cm2"),
])
def test_lead_is_ventilated(chemistry, cubic_metres, opening) -> None:
    """T16: IEC 62485-2 for flooded, agm and gel; lithium needs none."""
    plan = site(LEAD | {"storage.chemistry": chemistry})
    bank = plan.parts.storage.of("B1")
    assert bank.ventilation.value * 3600 == pytest.approx(cubic_metres)
    assert plan.plan.banks[0].opening == opening
    assert opening in found(plan, "ventilate").text
    lithium = site()
    assert lithium.parts.storage.of("B1").ventilation is None
    assert "ventilate" not in codes(lithium)


# --- strings ---


@pytest.mark.parametrize(("changes", "without", "stops"), [
    # Seven of 49.5 V at -0.27 %/K and -10 degC: 49.5 x (1 + 0.0027 x 35) x 7 = 379.2 V.
    ({"unit.solar.voltage_max": "380 V"}, (), False),
    ({"unit.solar.voltage_max": "379 V"}, (), True),
    # 1 % above the limit is above it.
    ({"unit.solar.voltage_max": "375 V"}, (), True),
    # The roof's coldest morning counts, not the room's 5 degC (365.2 V) nor a room of -30 degC (398 V).
    ({"unit.solar.voltage_max": "370 V"}, (), True),
    ({"unit.solar.voltage_max": "380 V", "site.ambient_min": "-30 degC"}, (), False),
    # Without a coefficient the table: 1.14 at -10 degC: 395.0 V; 1.16 at -11 degC: 401.9 V.
    ({"unit.solar.voltage_max": "396 V"}, ("solar.voc_coefficient",), False),
    ({"unit.solar.voltage_max": "394 V"}, ("solar.voc_coefficient",), True),
    ({"unit.solar.voltage_max": "400 V", "site.roof_min": "-11 degC"}, ("solar.voc_coefficient",), True),
])
def test_the_coldest_open_voltage_stays_under_the_limit(changes, without, stops) -> None:
    """T20: above the limit the unit is destroyed: stop."""
    plan = solar(changes, without)
    assert ("cold-voc-above-limit" in codes(plan, Level.STOP)) is stops


def solar(changes: dict[str, object], without: tuple[str, ...] = ()):
    """The solar site with answers changed or left out."""
    answers = {key: value for key, value in SOLAR.items() if key not in without}
    for key, value in changes.items():
        if key.startswith("unit.solar."):
            answers["unit.solar"] = answers["unit.solar"] | {key.removeprefix("unit.solar."): value}
        else:
            answers[key] = value
    return site(answers)


def test_the_coldest_roof_is_never_assumed() -> None:
    """T20: unanswered it stops, however mild the room."""
    plan = site(SOLAR, without=("site.roof_min",))
    assert found(plan, "roof-min-unanswered").level is Level.STOP
    assert plan.parts.strings.cold_voc is None


@pytest.mark.parametrize(("changes", "without", "codes_of"), [
    # 41.5 V x (1 - 0.0035 x 45) x 7 = 244.7 V with cells at 70 degC; at 65 degC 249.8 V, at 75 degC 239.7 V.
    ({"unit.solar.mppt_min": "244 V"}, (), set()),
    ({"unit.solar.mppt_min": "245 V"}, (), {"hot-vmp-below-window"}),
    ({"unit.solar.mppt_max": "245 V"}, (), set()),
    ({"unit.solar.mppt_max": "244 V"}, (), {"hot-vmp-above-window"}),
    # Unanswered: -0.5 %/K: 41.5 x (1 - 0.225) x 7 = 225.1 V.
    ({"unit.solar.mppt_min": "225 V"}, ("solar.vmp_coefficient",), set()),
    ({"unit.solar.mppt_min": "226 V"}, ("solar.vmp_coefficient",), {"hot-vmp-below-window"}),
])
def test_the_hot_working_voltage_stays_in_the_window(changes, without, codes_of) -> None:
    """T20: cells at 70 degC."""
    assert codes(solar(changes, without), Level.CAUTION) & {"hot-vmp-below-window", "hot-vmp-above-window"} == codes_of


def test_like_strings_hang_on_every_unit() -> None:
    """T20: each of the three units gets a solar circuit of its own, all alike."""
    plan = site(SOLAR)
    rows = [plan.parts.conductors.of[ends.name] for ends in plan.parts.circuits.of("solar", common=False)]
    assert len(rows) == 3
    assert len({(row.current.value, row.conductor) for row in rows}) == 1


# --- a night ---


def test_what_the_bank_lacks_in_a_night() -> None:
    """T19, S25: 72 kWh a day are 3 kW; six strings of 5.12 kWh give 30.72 x 0.8 x 0.93 = 22.86 kWh, so 25.14 of the 48 kWh from 16:00 to 08:00 are missing.

    7.6 hours after 16:00 it is empty: in the hour that ends at 00:00. 34 kWh a day, 22.7 kWh a night, it lasts.
    """
    told = found(site(heaters(6, "72 kWh/day")), "empty-before-sunrise")
    assert "25.14 kWh are missing until 08:00" in told.text
    assert "empty by 00:00" in told.text
    assert "empty-before-sunrise" not in codes(site(heaters(6, "34 kWh/day")))


def test_a_generator_starts_at_the_floor_and_runs_till_it_is_nearly_full() -> None:
    """T19, S25: 3 kW take 3.226 kWh of the bank an hour: 10.5 % of 30.72 kWh. After seven hours 26.5 % are left; the eighth would pass 20 %.

    At 23:00 it starts: three units charge with 3 x 80 A x 56 V = 13.44 kW, 43.75 %: 70.2 %, then full (above 90 %): two hours. Nine hours a
    round: it runs at 23, 0, 8 and 9 o'clock, and six hours after the last the bank stands at 1 - 6 x 0.105 = 37 %.
    """
    changes = {"incoming": {"kind": "generator", "breaker": "40 A", "prospective_fault": "2 kA", "rating": "30 kVA"}}
    hours = site(heaters(6, "72 kWh/day") | changes).parts.hours
    assert [hour.hour for hour in hours.hours if hour.generator.value > 0] == [23, 0, 8, 9]
    assert hours.hours[-1].state.value == pytest.approx(1 - 6 * 3 / 0.93 / 30.72, abs=1e-4)
    assert hours.hours[7].state.value == pytest.approx(1 - 7 * 3 / 0.93 / 30.72 + 13.44 / 30.72, abs=1e-4)


# --- what is left where a figure is missing, or nothing fits ---


def test_colder_than_the_table_its_slope_is_carried_on() -> None:
    """T20: the table of NEC 690.7(A) ends with 1.25 at -40 degC; at -45 degC 0.5 % a kelvin more, so 7 x 49.5 V x 1.275 = 441.8 V."""
    coldest = SOLAR | {"site.roof_min": "-45 degC"}
    plan = site({key: value for key, value in coldest.items() if key != "solar.voc_coefficient"})
    assert plan.parts.strings.cold_voc.value == pytest.approx(7 * 49.5 * 1.275)


def test_a_window_that_no_number_of_modules_meets_has_no_range() -> None:
    """T20: modules of 54.2 V cold and 35 V hot: eight stay below 450 V, and 440 V hot take thirteen."""
    window = SOLAR["unit.solar"] | {"voltage_max": "450 V", "mppt_min": "440 V"}
    plan = site(SOLAR | {"unit.solar": window})
    assert plan.parts.strings.series_from is None
    assert "hot-vmp-below-window" in codes(plan, Level.STOP, Level.CAUTION)


@pytest.mark.parametrize(("breaker", "cure"), [("6 A", "A stronger supply"), (None, "Answer breaker")])
def test_a_day_that_is_not_covered_names_what_would_help(breaker: str | None, cure: str) -> None:
    """Three phases of a 6 A breaker give at most 3 x 230 V x 6 A = 4.1 kW to loads of 8 kW; of one that nobody answered nothing is counted."""
    assert found(site(heaters(8, "192 kWh/day") | {"incoming.breaker": breaker}), "day-not-covered").remedy.startswith(cure)


def test_no_air_and_no_peukert_without_the_capacity_but_a_stop() -> None:
    """T16: nothing is said of the air for a lead-acid bank of which nobody knows the capacity, for the plan stops there."""
    module = {key: value for key, value in LEAD["storage.module"].items() if key != "capacity"}
    plan = site(LEAD | {"storage.chemistry": "agm", "storage.module": module})
    assert "module-unanswered" in codes(plan, Level.STOP)
    assert not {"ventilate", "lead-at-high-current"} & codes(plan)
    assert {"ventilate", "lead-at-high-current"} <= codes(site(LEAD | {"storage.chemistry": "agm"}))


def test_without_a_highest_tracking_voltage_the_input_limits_the_string() -> None:
    """T20: at -10 degC a module has 49.5 V x (1 + 0.0027 x 35) = 54.2 V: nine of them stay below 500 V. At 70 degC it
    works at 41.5 V x (1 - 0.0035 x 45) = 35.0 V: tracked up to 200 V, five."""
    whole = SOLAR["unit.solar"]
    open_ended = {key: value for key, value in whole.items() if key != "mppt_max"}
    assert site(SOLAR | {"unit.solar": open_ended}).parts.strings.series_to == int(500 / (49.5 * (1 + 0.0027 * 35))) == 9
    assert site(SOLAR | {"unit.solar": whole | {"mppt_max": "200 V"}}).parts.strings.series_to == 5


@pytest.mark.parametrize(("feed", "cure"), [
    ("one end", "Feed the bank diagonally, better from a bar."),
    ("diagonal", "Feed the bank from a bar, each string by leads of one length."),
])
def test_strings_that_share_unevenly_are_told_the_next_better_feed(feed, cure) -> None:
    """T11: modules of 1 mohm behind joints of 2 mohm: the nearest string carries far more than its sixth, from both ends as well."""
    changes = {"storage.bank.feed": feed, "storage.bank.joint_resistance": "2 mohm", "storage.module.resistance": "1 mohm"}
    assert cure in found(site(changes), "strings-share-unevenly").remedy


def test_a_single_string_needs_no_network_to_carry_everything() -> None:
    """By Kirchhoff's current law, whatever its resistance; two without a known one may do so in the worst case."""
    def told(strings: int) -> str | None:
        return site({"storage.bank.parallel": strings, "storage.bank.feed": "one end", "storage.module.resistance": None}).figures["plan.banks[B1].largest_share"].note

    assert told(1) == "a single string carries everything"
    assert told(2) == "without a module resistance one string may carry everything"
