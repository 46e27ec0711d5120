"""Banks, limits and a day: T1, T2, T4, T14, T16, T19, S10, S24 to S26."""

from __future__ import annotations

import pytest

from engine.findings import Level
from engine.solvers.day import Course, days, night

HEAD = '[output]\narrangement = "three-phase"\nvoltage = "230 V"\n[site]\nambient_min = "5 degC"\naltitude = "200 m"\n'
UNIT = (
    '[unit]\nmax_units = 12\nreal_power = "5 kW"\napparent_power = "5 kVA"\nsurge_power = "10 kVA"\nefficiency = 0.9\ndc_min = "42 V"\ndc_max = "60 V"\n'
    'charge_current = "80 A"\ntransfer_current = "40 A"\n'
)
SET = "[set]\nper_phase = [1, 1, 1]\n"
STORAGE = '[storage]\nconnection = "common-bank"\nchemistry = "lfp"\nmanaged = true\ndepth = "80 %"\n[[storage.links]]\nbank = "B1"\nunit = "L1-1"\n'
MODULE = (
    '[storage.module]\nvoltage = "51.2 V"\ncells = 16\ncapacity = "100 Ah"\ncharge_current = "50 A"\ndischarge_current = "100 A"\nresistance = "12 mohm"\n'
    'absorption = "56 V"\nfloat = "54 V"\nlow = "46 V"\n'
)
BANK = '[storage.bank]\nseries = 1\nparallel = 4\nfeed = "bar"\n'
LOAD = '[[loads]]\nname = "All"\nphase = "all"\npower = "3 kW"\npower_factor = 1.0\nenergy = "24 kWh/day"\nprofile = "steady"\n'
INCOMING = '[incoming]\nkind = "utility"\narrangement = "three-phase"\nvoltage = "230 V"\nbreaker = "63 A"\n'
SITE = HEAD + UNIT + SET + INCOMING + STORAGE + MODULE + BANK + LOAD


def bank(plan, name="B1"):
    return plan.parts.storage.of(name)


def codes(plan, level=None):
    return {finding.code for finding in plan.findings if level is None or finding.level is level}


def test_a_units_current_is_at_rated_power_and_lowest_voltage(planned):
    """T1: 5 kW over 0.9 and 46 V; T2: 22 % more while r S/P is 1."""
    storage = planned(SITE).parts.storage
    assert storage.unit_current.value == pytest.approx(5000 / 0.9 / 46)
    assert storage.unit_thermal.value == pytest.approx(5000 / 0.9 / 46 * 1.5**0.5)
    assert planned(SITE.replace('low = "46 V"', 'low = "40 V"')).parts.storage.unit_current.value == pytest.approx(5000 / 0.9 / 42)


def test_energy_autonomy_and_rates(planned):
    found = bank(planned(SITE))
    assert found.energy.value == pytest.approx(51.2 * 400 * 3600)
    assert found.usable.value == pytest.approx(51.2 * 400 * 3600 * 0.8 * 0.9)
    assert found.autonomy.value == pytest.approx(found.usable.value / 1000)
    assert found.autonomy_full_load.value == pytest.approx(found.usable.value / 15_000)
    assert found.charge_limit.value == pytest.approx(200)
    assert found.charge_rate.value * 3600 == pytest.approx(0.5)
    assert found.discharge_rate.value * 3600 == pytest.approx(3 * 5000 / 0.9 / 46 / 400)


def test_both_faults(planned):
    """S10: full EMF over half the stated resistance breaks, low EMF over the whole of it clears; a stated current widens both."""
    found = bank(planned(SITE))
    assert found.fault_breaking.value == pytest.approx(56 / (12e-3 / 4 / 2))
    assert found.fault_clearing.value == pytest.approx(46 / (12e-3 / 4))
    measured = bank(planned(SITE.replace(BANK, "resistance_measured = true\n" + BANK)))
    assert measured.fault_breaking.value == pytest.approx(56 / (12e-3 / 4))
    stated = bank(planned(SITE.replace(BANK, 'short_circuit_current = "3 kA"\n' + BANK)))
    assert stated.fault_breaking.value == pytest.approx(56 / (12e-3 / 4 / 2))
    assert stated.fault_clearing.value == pytest.approx(12_000)
    assert stated.emf_low.value / stated.resistance_clearing.value == pytest.approx(12_000)


def test_a_bank_of_unknown_fault_stops(planned):
    assert "bank-fault-unknown" in codes(planned(SITE.replace('resistance = "12 mohm"\n', "")), Level.STOP)
    assert "bank-fault-unknown" not in codes(planned(SITE))


def test_the_charge_limit_follows_the_busiest_string(planned):
    """T14: strings of 6 mohm (halved) on joints of 1.5 mohm, both leads at one end: the first carries most, and the bank less than 4 x 50 A."""
    plan = planned(SITE.replace('feed = "bar"', 'feed = "one end"\njoint_resistance = "1.5 mohm"'))
    found = bank(plan)
    assert found.largest_share.value > 0.3
    assert found.charge_limit.value == pytest.approx(50 / found.largest_share.value)
    assert "strings-share-unevenly" in codes(plan, Level.CAUTION)
    assert "nodal solution" in plan.figures["plan.banks[B1].largest_share"].note
    assert plan.parts.limits.charge["L1-1"].value == int(found.charge_limit.value / 3)


def test_unit_charge_limits_are_whole_and_share_the_bank(planned):
    plan = planned(SITE)
    assert {tag: figure.value for tag, figure in plan.parts.limits.charge.items()} == {"L1-1": 66, "L2-1": 66, "L3-1": 66}
    assert "charge-limit-below-unit" in codes(plan, Level.CAUTION)
    wide = planned(SITE.replace("parallel = 4", "parallel = 6"))
    assert wide.parts.limits.charge["L1-1"].value == 80
    assert "charge-limit-below-unit" not in codes(wide)


def test_solar_charging_counts_into_the_charge_limit(planned):
    solar = '[unit.solar]\ncharge_current = "80 A"\n[solar]\npower = "450 W"\n'
    assert "solar-charges-above-limit" in codes(planned(SITE + solar), Level.CAUTION)
    assert "solar-charges-above-limit" not in codes(planned(SITE.replace("parallel = 4", "parallel = 6") + solar))


def test_a_bank_below_the_sets_current_stops_and_says_how_many_would_do(planned):
    plan = planned(SITE.replace("parallel = 4", "parallel = 3"))
    [finding] = [f for f in plan.findings if f.code == "bank-below-set"]
    assert finding.level is Level.STOP
    assert "About 4 strings" in finding.remedy
    assert "bank-below-set" not in codes(planned(SITE))


def test_a_short_autonomy_says_what_would_last(planned):
    plan = planned(SITE.replace('depth = "80 %"', 'depth = "80 %"\nautonomy = "20 h"'))
    [finding] = [f for f in plan.findings if f.code == "autonomy-short"]
    assert "6 strings" in finding.remedy  # 14.75 h from 4 strings
    assert "autonomy-short" not in codes(planned(SITE.replace('depth = "80 %"', 'depth = "80 %"\nautonomy = "14 h"')))


LEAD = (
    STORAGE.split("[[", maxsplit=1)[0].replace("lfp", "agm").replace("managed = true", "managed = false")
    + '[storage.module]\nvoltage = "12 V"\ncapacity = "200 Ah"\ncharge_current = "40 A"\ndischarge_current = "200 A"\nresistance = "3 mohm"\n'
    + '[storage.bank]\nseries = 4\nparallel = 2\nfeed = "bar"\n'
)


def test_lead_acid_takes_its_voltages_from_its_cells_and_is_ventilated(planned):
    """24 cells: 2.35 V, 2.275 V, 1.75 V; -3 mV/K each; air by IEC 62485-2 at 8 mA/Ah of 400 Ah."""
    plan = planned(HEAD + UNIT + SET + INCOMING + LEAD + LOAD)
    found = bank(plan)
    assert (found.absorption.value, found.float_.value, found.low.value) == pytest.approx((56.4, 54.6, 42.0))
    assert found.temperature_slope.value == pytest.approx(-0.072)
    assert found.ventilation.value * 3600 == pytest.approx(0.05 * 24 * 8 * 400 * 1e-3)
    assert found.opening.value * 1e4 == pytest.approx(28 * 0.05 * 24 * 8 * 400 * 1e-3)
    assert "ventilate" in codes(plan, Level.CAUTION)
    assert "module-voltages-unanswered" in codes(plan, Level.NOTE)
    lithium = bank(planned(SITE))
    assert lithium.ventilation is None
    assert lithium.temperature_slope is None


def test_lead_acid_in_the_cold_holds_less(planned):
    """At 4.4 degC the capacity is wanted 1.3 times."""
    cold = planned(HEAD.replace("5 degC", "4.4 degC") + UNIT + SET + INCOMING + LEAD + LOAD)
    [finding] = [f for f in cold.findings if f.code == "lead-in-the-cold"]
    assert "77%" in finding.text
    assert "lead-in-the-cold" not in codes(planned(HEAD.replace("5 degC", "25 degC") + UNIT + SET + INCOMING + LEAD + LOAD))


def test_a_modules_own_voltages_win(planned):
    assert bank(planned(SITE)).absorption.value == 56
    assert bank(planned(SITE.replace('absorption = "56 V"\n', ""))).absorption.value == pytest.approx(16 * 3.6)


@pytest.mark.parametrize(
    "old, new, code, level",
    [
        ('charge_current = "50 A"\n', "", "bank-limit-unanswered", Level.STOP),
        ('voltage = "51.2 V"\n', "", "module-unanswered", Level.STOP),
        ('chemistry = "lfp"\n', "", "chemistry-unanswered", Level.STOP),
        ('absorption = "56 V"', 'absorption = "62 V"', "absorption-above-cells", Level.STOP),
        ('dc_max = "60 V"', 'dc_max = "55 V"', "bank-above-unit", Level.STOP),
        ('dc_min = "42 V"', 'dc_min = "57 V"', "bank-below-unit", Level.STOP),
        ('float = "54 V"', 'float = "57 V"', "float-above-absorption", Level.CAUTION),
        ('low = "46 V"', 'low = "55 V"', "low-above-float", Level.STOP),
        ('low = "46 V"', 'low = "36 V"', "low-below-cells", Level.CAUTION),
        ('ambient_min = "5 degC"', 'ambient_min = "-5 degC"', "lithium-charged-in-frost", Level.CAUTION),
        ('depth = "80 %"', 'depth = "0 %"', "depth-zero", Level.STOP),
        ('charge_current = "80 A"\n', "", "charge-current-unanswered", Level.NOTE),
        ('charge_current = "50 A"', 'charge_current = "0.5 A"', "charge-limit-zero", Level.CAUTION),
    ],
)
def test_one_wrong_or_missing_answer_is_told(planned, old, new, code, level):
    assert old in SITE
    plan = planned(SITE.replace(old, new))
    assert code in codes(plan, level)
    assert code not in codes(planned(SITE))


# --- limits on the incoming side ---


def test_incoming_limits_share_the_breaker_and_stay_under_the_transfer_current(planned):
    """63 A on one unit a phase: its transfer current of 40 A holds. Two units share 63 A, and 0.9 of their transfer current."""
    assert planned(SITE).parts.limits.incoming["L1-1"].value == 40
    two = planned(SITE.replace("[1, 1, 1]", "[2, 2, 2]"))
    assert two.parts.limits.incoming["L1-2"].value == 31
    assert two.parts.limits.incoming_total.value == 63


def test_a_breaker_counts_at_80_percent_by_nec_and_a_generator_always(planned):
    assert planned(SITE.replace("[site]\n", '[site]\nrules = "nec"\n').replace('"63 A"', '"60 A"')).parts.limits.incoming_total.value == pytest.approx(48)
    generator = planned(SITE.replace('"utility"', '"generator"').replace('breaker = "63 A"', 'breaker = "63 A"\nrating = "20 kVA"'))
    assert generator.parts.limits.incoming_total.value == pytest.approx(0.8 * 20_000 / 690)
    assert generator.parts.limits.incoming["L1-1"].value == 23


def test_more_load_and_charge_than_comes_in_is_told(planned):
    small = planned(SITE.replace("63 A", "16 A"))
    assert "incoming-below-load-and-charge" in codes(small, Level.CAUTION)
    assert "incoming-below-load-and-charge" not in codes(planned(SITE))


def test_another_arrangement_coming_in_feeds_one_phase_and_is_told(planned):
    plan = planned(SITE.replace('arrangement = "three-phase"\nvoltage = "230 V"\nbreaker', 'arrangement = "single-phase"\nvoltage = "230 V"\nbreaker'))
    assert "incoming-arrangement-differs" in codes(plan, Level.CAUTION)
    assert plan.parts.limits.incoming["L2-1"] is None
    assert plan.parts.limits.incoming["L1-1"].value == 40


def test_without_an_incoming_side_there_is_no_limit(planned):
    plan = planned(SITE.replace('kind = "utility"', 'kind = "none"'))
    assert set(plan.parts.limits.incoming.values()) == {None}


def test_a_generator_on_a_mountain_is_told(planned):
    high = SITE.replace('"utility"', '"generator"').replace("200 m", "2400 m")
    assert {"generator-thin-air", "generator-rating-unanswered"} <= codes(planned(high), Level.CAUTION)


# --- the day ---


def test_the_days_loads_add_up_to_their_energy(planned):
    """24 kWh a day, steady: one kilowatt in each hour."""
    assert [hour.load.value for hour in planned(SITE).parts.hours.hours] == pytest.approx([1000] * 24)
    assert planned(SITE).parts.hours.lasts_night is False
    assert planned(SITE.replace('"24 kWh/day"', '"21 kWh/day"')).parts.hours.lasts_night is True
    assert planned(SITE.replace('"steady"', '"evening"')).parts.hours.hours[19].load.value == pytest.approx(24_000 * 0.0733 / 1, rel=1e-3)


def test_a_bank_that_is_empty_by_midnight_is_told_with_its_hour(planned):
    plan = planned(SITE.replace('"24 kWh/day"', '"70 kWh/day"'))
    [finding] = [f for f in plan.findings if f.code == "empty-before-sunrise"]
    assert plan.parts.hours.lasts_night is False
    assert "is empty by" in finding.text
    assert "larger by" in finding.remedy


def test_nothing_that_charges_is_told(planned):
    plan = planned(SITE.replace('kind = "utility"', 'kind = "none"'))
    [finding] = [f for f in plan.findings if f.code == "day-not-covered"]
    assert "nothing charges the bank" in finding.remedy


def test_too_little_sun_says_how_many_times_as_many_modules(planned):
    panels = '[unit.solar]\nvoltage_max = "500 V"\n[solar]\npower = "400 W"\nvoc = "49.5 V"\nvmp = "41 V"\nseries = 5\nsun_hours = 2.0\n'
    plan = planned(SITE.replace('kind = "utility"', 'kind = "none"').replace("[site]\n", '[site]\nroof_min = "-10 degC"\n') + panels)
    # 3 units x 5 x 400 W x 2 h x 0.75 = 9 kWh against 24 kWh / 0.9.
    assert sum(hour.solar.value for hour in plan.parts.hours.hours) == pytest.approx(9000)
    [finding] = [f for f in plan.findings if f.code == "day-not-covered"]
    assert "3.0 times as many modules" in finding.remedy


def course(**change):
    told = {"loads": [1000.0] * 24, "sun": [0.0] * 24, "energy": 36e6, "floor": 0.2, "charging": 5000.0, "source": 0.0, "efficiency": 1.0}
    return Course(**{**told, **change})


def test_without_a_source_the_bank_falls_to_its_floor_and_no_further():
    """10 kWh, 1 kW, floor 20 %: eight hours, then a kilowatt is missing."""
    [day] = days(course(), 1)
    assert [hour.state for hour in day[:8]] == pytest.approx([0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2])
    assert day[9].missing == pytest.approx(1000)
    assert min(hour.state for hour in day) == pytest.approx(0.2)


def test_a_generator_starts_at_the_floor_and_runs_until_the_bank_is_nearly_full():
    [day] = days(course(source=4000.0), 1)
    # Three kilowatts are left for the bank: 20 % to 50 %, 80 %, 100 % in three hours from the ninth on.
    assert [at for at, hour in enumerate(day) if hour.source > 0] == [8, 9, 10, 19, 20, 21]
    assert [day[at].state for at in (8, 9, 10)] == pytest.approx([0.5, 0.8, 1.0])
    assert all(hour.missing == 0 for hour in day)


def test_sun_serves_the_loads_first_and_fills_the_bank_no_faster_than_it_may():
    [day] = days(course(sun=[0.0] * 8 + [9000.0] * 8 + [0.0] * 8, charging=2000.0), 1)
    assert day[8].state - day[7].state == pytest.approx(0.2)
    assert max(hour.state for hour in day) <= 1.0


def test_the_night_tells_the_hour_and_what_is_missing():
    """Full at 16:00: 10 kWh to 20 % last eight hours, the hour from midnight finds it empty, eight hours are missing."""
    assert night(course(), 16, 8) == (0, pytest.approx(8 * 3.6e6))
    assert night(course(energy=72.1e6), 16, 8) == (None, 0.0)
