"""Banks, limits and a day: T1, T2, T4, T14, T16, T19, S10, S24 to S26."""

from __future__ import annotations

import pytest

from engine.findings import Level

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


@pytest.mark.parametrize(
    ("answers", "share", "breaking", "clearing", "match"),
    [
        # By hand, two strings fed at one end over joints of 1.5 mohm: string 1 carries (R + 3) / (2 R + 3) of the current, R in mohm;
        # 56 V over R / 2 breaks, 46 V over the whole R / 2 clears; 50 A through two strings in a loop may be 100 A x R apart.
        ('resistance = "12 mohm"', 9 / 15, 56 / 3e-3, 46 / 6e-3, 0.6),  # halved once: R = 6
        ('resistance = "12 mohm"\nresistance_measured = true', 15 / 27, 56 / 6e-3, 46 / 6e-3, 1.2),
        ('short_circuit_current = "3 kA"', 20.0667 / 37.1333, 6000, 6000, 1.70667),  # 51.2 V / 3 kA = 17.07 mohm, never halved
        ('short_circuit_current = "3 kA"\nresistance_measured = true', 20.0667 / 37.1333, 6000, 6000, 1.70667),
        ('resistance = "12 mohm"\nshort_circuit_current = "3 kA"', 9 / 15, 56 / 3e-3, 6000, 0.6),
        ('resistance = "12 mohm"\nshort_circuit_current = "20 kA"', 5.56 / 8.12, 40_000, 46 / 6e-3, 0.256),
        ('resistance = "12 mohm"\nresistance_measured = true\nshort_circuit_current = "3 kA"', 15 / 27, 56 / 6e-3, 6000, 1.2),
    ],
)
def test_a_stated_resistance_is_halved_once_and_one_that_follows_never(planned, answers, share, breaking, clearing, match):
    """S10, for faults, for sharing between strings, and for the difference at which two strings may be joined."""
    text = SITE.replace('resistance = "12 mohm"', answers).replace("parallel = 4", "parallel = 2").replace('feed = "bar"', 'feed = "one end"\njoint_resistance = "1.5 mohm"')
    plan = planned(text)
    found = bank(plan)
    assert found.largest_share.value == pytest.approx(share, rel=1e-4)
    assert found.charge_limit.value == pytest.approx(50 / share, rel=1e-4)
    assert (found.fault_breaking.value, found.fault_clearing.value) == pytest.approx((breaking, clearing))
    assert found.emf_full.value / found.resistance_breaking.value == pytest.approx(breaking)
    assert found.emf_low.value / found.resistance_clearing.value == pytest.approx(clearing)
    assert plan.figures["plan.steps.match"].value == pytest.approx(match, rel=1e-4)


def test_strings_in_series_and_parallel_keep_the_halving_at_once(planned):
    """Two in series, three in parallel, 12 mohm stated: 6 mohm each, so 4 mohm to break 112 V and 8 mohm to clear 92 V."""
    found = bank(planned(SITE.replace("series = 1\nparallel = 4", "series = 2\nparallel = 3")))
    assert (found.fault_breaking.value, found.fault_clearing.value) == pytest.approx((112 / 4e-3, 92 / 8e-3))


def test_where_no_resistance_is_known_the_worst_is_taken_and_told(planned):
    """Nobody can say how strings share: one carries all, the finding says why and what to answer; a bar needs no resistance."""
    text = SITE.replace('resistance = "12 mohm"\n', "").replace('feed = "bar"', 'feed = "one end"')
    plan = planned(text)
    assert bank(plan).largest_share.value == 1
    [shared] = [f for f in plan.findings if f.code == "strings-share-unevenly"]
    assert "not known, so the worst is taken" in shared.text
    [below] = [f for f in plan.findings if f.code == "bank-below-set"]
    assert all(f.remedy.startswith("First answer the modules' resistance") for f in (shared, below))
    barred = planned(SITE.replace('resistance = "12 mohm"\n', "").replace("parallel = 4", "parallel = 3"))
    assert not next(f for f in barred.findings if f.code == "bank-below-set").remedy.startswith("First answer")


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
    assert str(found.opening) == plan.plan.banks[0].opening == "107.5 cm2"
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


def test_lead_acid_charged_in_the_cold_stays_below_what_a_unit_survives(planned):
    """56.4 V at 25 degC and 24 x -3 mV/K: 59.64 V at -20 degC, 55.32 V at 40 degC."""
    site = HEAD.replace("5 degC", "-20 degC") + UNIT + SET + INCOMING + LEAD + LOAD
    plan = planned(site)
    assert (bank(plan).absorption_cold.value, bank(plan).absorption_warm.value) == pytest.approx((59.64, 55.32))
    assert "cold-charge-above-unit" not in codes(plan)
    [told] = [f for f in planned(site.replace('dc_max = "60 V"', 'dc_max = "59.5 V"')).findings if f.code == "cold-charge-above-unit"]
    assert (told.level, told.value, told.limit) == (Level.CAUTION, pytest.approx(59.64), pytest.approx(59.5))
    slopes = [s for s in plan.plan.units[0].settings if s.setting == "temperature_slope"]
    assert "59.64 V in the coldest room, 55.32 V in the warmest" in slopes[0].why
    assert bank(planned(SITE)).absorption_cold is None


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
        ('dc_max = "60 V"\n', "", "dc-max-unanswered", Level.STOP),
        ('dc_min = "42 V"\n', "", "dc-min-unanswered", Level.CAUTION),
        ('altitude = "200 m"', 'altitude = "1001 m"', "thin-air", Level.CAUTION),
        (LOAD, "", "no-loads", Level.CAUTION),
        ("cells = 16", "cells = 8", "cells-contradict-voltage", Level.STOP),
        ('voltage = "51.2 V"\ncells', 'voltage = "48 V"\ncells', "cells-contradict-voltage", Level.CAUTION),
        ('float = "54 V"', 'float = "58.5 V"', "float-above-cells", Level.STOP),
        ('float = "54 V"', 'float = "51 V"', "float-below-cells", Level.CAUTION),
        ('absorption = "56 V"', 'absorption = "51 V"', "absorption-below-cells", Level.CAUTION),
        ('low = "46 V"', 'low = "59 V"', "low-above-cells", Level.STOP),
        ('float = "54 V"', 'float = "57 V"', "float-above-absorption", Level.CAUTION),
        ('low = "46 V"', 'low = "55 V"', "low-above-float", Level.STOP),
        ('low = "46 V"', 'low = "36 V"', "low-below-cells", Level.CAUTION),
        ('ambient_min = "5 degC"', 'ambient_min = "-5 degC"', "lithium-charged-in-frost", Level.CAUTION),
        ('depth = "80 %"', 'depth = "0 %"', "depth-zero", Level.STOP),
        ('charge_current = "80 A"\n', "", "charge-current-unanswered", Level.CAUTION),
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


def test_another_voltage_coming_in_stops(planned):
    """A transfer relay passes 120 V on to loads of 230 V; 10 % apart is still the same supply."""
    coming = 'voltage = "230 V"\nbreaker'
    assert "incoming-voltage-differs" in codes(planned(SITE.replace(coming, 'voltage = "120 V"\nbreaker')), Level.STOP)
    assert "incoming-voltage-differs" not in codes(planned(SITE.replace(coming, 'voltage = "207 V"\nbreaker')))


@pytest.mark.parametrize("factor, first", [(0.8, 0.5 + 0.75 / (2 * 3**0.5)), (1.0, 0.5), (0.4, None)])
def test_a_load_between_two_phases_takes_its_energy_as_its_power(planned, factor, first):
    """P_1/P = 1/2 + tan(phi) / (2 sqrt 3), Kirchhoff: 71.7 % at 0.8. Below 0.5 the other phase counts as giving none."""
    text = SITE.replace('phase = "all"', 'phase = "L1-L2"').replace("power_factor = 1.0", f"power_factor = {factor}")
    text = text.replace("common-bank", "bank-per-phase").replace('[[storage.links]]\nbank = "B1"\nunit = "L1-1"\n', "")
    plan = planned(text)
    on = {place.units[0][:2]: plan.parts.storage.of(place.name).daily.value / 3.6e6 for place in plan.parts.banks.banks}
    if first is None:
        assert on["L1"] > 24
        assert on["L2"] == 0
    else:
        assert on["L1"] == pytest.approx(24 * first)
        assert on["L2"] == pytest.approx(24 * (1 - first))
        rows = {row.phase: row.real.value for row in plan.parts.phases.rows}
        assert on["L1"] / 24 == pytest.approx(rows["L1"] / 3000)
    day = sum(hour.load.value for hour in plan.parts.hours.hours) / 1000
    assert day == pytest.approx(max(on.values()))


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


# --- voltages of cells and unit ---


@pytest.mark.parametrize(
    "voltage, cells, chemistry, level",
    [
        # 3.2 V a cell of lfp, 3.6 to 3.7 V of nmc, 2 V of lead: makers' data sheets, common practice, no standard.
        ("12.8 V", 4, "lfp", None),
        ("12.8 V", 16, "lfp", Level.STOP),
        ("48 V", 15, "lfp", None),
        ("48 V", 16, "lfp", Level.CAUTION),
        ("51.8 V", 14, "nmc", None),
        ("50.4 V", 14, "nmc", None),
        ("51.8 V", 16, "nmc", Level.STOP),
        ("12 V", 6, "agm", None),
        ("12 V", 4, "agm", Level.STOP),
        ("25.6 V", None, "lfp", None),
        ("51.8 V", None, "nmc", None),
        ("48 V", None, "gel", None),
        ("51.2 V", None, "agm", Level.STOP),
    ],
)
def test_a_modules_voltage_is_that_of_its_cells(planned, voltage, cells, chemistry, level):
    module = "".join(line + "\n" for line in MODULE.splitlines() if not line.startswith(("absorption", "float", "low")))
    module = module.replace("cells = 16\n", f"cells = {cells}\n" if cells else "").replace("51.2 V", voltage)
    plan = planned(SITE.replace(MODULE, module).replace('chemistry = "lfp"', f'chemistry = "{chemistry}"'))
    assert [f.level for f in plan.findings if f.code == "cells-contradict-voltage"] == ([level] if level else [])


def test_cells_that_are_not_whole_do_less_harm_where_the_voltages_are_answered(planned):
    """51.2 V of agm: a guess at the cells sets no voltage here."""
    plan = planned(SITE.replace("cells = 16\n", "").replace('chemistry = "lfp"', 'chemistry = "agm"'))
    assert [f.level for f in plan.findings if f.code == "cells-contradict-voltage"] == [Level.CAUTION]


def test_a_512_volt_bank_is_held_against_the_unit_or_stops(planned):
    """Ten modules in series: 560 V; without dc_max nobody can say that the unit survives them, with 60 V it does not."""
    ten = SITE.replace("series = 1", "series = 10")
    [finding] = [f for f in planned(ten.replace('dc_max = "60 V"\n', "")).findings if f.code == "dc-max-unanswered"]
    assert "560 V" in finding.text
    assert "bank-above-unit" in codes(planned(ten), Level.STOP)
    # Neither chemistry nor charging voltage: the nominal voltage is held against it.
    bare = ten.replace('chemistry = "lfp"\n', "").replace('absorption = "56 V"\nfloat = "54 V"\n', "")
    assert "bank-above-unit" in codes(planned(bare), Level.STOP)


def test_a_low_voltage_that_nobody_answered_is_not_below_the_units(planned):
    """16 cells of lfp end at 40 V, the unit at 42 V: it stops first, and says so; an answered 46 V stands."""
    plan = planned(SITE.replace('low = "46 V"\n', ""))
    assert bank(plan).low.value == 42
    assert "a unit stops before the cells are empty" in plan.figures["plan.banks[B1].low"].note
    assert {"unit.dc_min", "plan.banks[B1].low_of_cells"} == {figure.key for figure in plan.figures["plan.banks[B1].low"].of}
    # The fault through the whole cable is still reckoned with empty cells: the safe side.
    assert bank(plan).emf_low.value == pytest.approx(40)
    assert "unit-starved" not in codes(plan)
    assert bank(planned(SITE.replace('low = "46 V"\n', "").replace('dc_min = "42 V"\n', ""))).low.value == pytest.approx(40)
    assert bank(planned(SITE)).low.value == 46
    # Answered so low, the same bank does starve its units.
    assert "unit-starved" in codes(planned(SITE.replace('low = "46 V"', 'low = "42 V"')), Level.CAUTION)


# --- one finding for all whom it concerns ---


def test_units_and_banks_of_one_finding_are_named_together(planned):
    plan = planned(SITE)
    [finding] = [f for f in plan.findings if f.code == "charge-limit-below-unit"]
    assert finding.text.startswith("Each of L1-1, L2-1, L3-1 could charge with 80 A")
    assert finding.about == "plan.units[L1-1].charge_limit"
    apart = planned((HEAD + UNIT + SET + INCOMING + LEAD + LOAD).replace("common-bank", "bank-per-unit"))
    [finding] = [f for f in apart.findings if f.code == "ventilate"]
    assert finding.text.startswith("Each of B1, B2, B3 gasses")
    assert "cm2 each" in finding.text
    assert "need the sum" in finding.remedy


def test_banks_that_differ_keep_findings_of_their_own(planned):
    """Two units on one bank and one on the other do not draw alike."""
    two = planned((HEAD + UNIT + SET.replace("[1, 1, 1]", "[2, 1, 1]") + INCOMING + STORAGE + MODULE + BANK.replace("parallel = 4", "parallel = 1") + LOAD).replace("common-bank", "bank-per-phase"))
    texts = [f.text for f in two.findings if f.code == "bank-below-set"]
    assert len(texts) == 2
    assert texts[0].startswith("B1 must give")
    assert texts[1].startswith("Each of B2, B3 must give")


def test_load_and_charge_are_told_apart(planned):
    [finding] = [f for f in planned(SITE.replace("63 A", "16 A")).findings if f.code == "incoming-below-load-and-charge"]
    assert "L1 loads 4.348 A and charging" in finding.text


def test_times_that_are_compared_come_in_one_unit(planned):
    """99.6 min beside 2.2 h would have to be converted in the head."""
    plan = planned((HEAD + UNIT + SET + INCOMING + LEAD + LOAD).replace("parallel = 2", "parallel = 4"))
    [finding] = [f for f in plan.findings if f.code == "lead-at-high-current"]
    assert finding.text.count(" min") in (0, 2)
    assert finding.text.count(" h,") + finding.text.count(" h.") in (0, 2)
