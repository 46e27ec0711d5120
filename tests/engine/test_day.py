"""24 hours of one bank from sunset on: the walk, its figures, and what is said of it (S25)."""

from __future__ import annotations

import re

import pytest

from engine.findings import Level
from engine.sheets.text.day import day_text
from engine.sheets.text.why import why_text
from engine.solvers.day import Course, follow
from tests.engine.test_storage import BANK, SITE

NONE = SITE.replace('kind = "utility"', 'kind = "none"')
GENERATOR = SITE.replace('"utility"', '"generator"').replace('breaker = "63 A"', 'breaker = "63 A"\nrating = "20 kVA"')
PANELS = '[unit.solar]\nvoltage_max = "500 V"\n[solar]\npower = "400 W"\nvoc = "49.5 V"\nvmp = "41 V"\nseries = 5\n'
# Three banks, of which the first carries an evening load, the second a load of the day.
APART = (
    SITE[: SITE.index("[[loads]]")].replace("common-bank", "bank-per-phase").replace(BANK, BANK.replace("parallel = 4", "parallel = 1"))
    + '[[loads]]\nname = "Lamps"\nphase = "L1"\npower = "1 kW"\npower_factor = 1.0\nenergy = "6 kWh/day"\nprofile = "evening"\n'
    + '[[loads]]\nname = "Office"\nphase = "L2"\npower = "1 kW"\npower_factor = 1.0\nenergy = "2 kWh/day"\nprofile = "day"\n'
)


def found(plan, code):
    return [finding for finding in plan.findings if finding.code == code]


def used(energy, site=SITE):
    return site.replace('"24 kWh/day"', f'"{energy} kWh/day"')


def percents(lines):
    """Hour and percent of each line of the table."""
    return {int(line[1:3]): int(re.search(r"(\d+)%", line)[1]) for line in lines if re.match(r" \d\d  ", line)}


# --- the walk ---


def course(**change):
    told = {"loads": [1000.0] * 24, "sun": [0.0] * 24, "energy": 36e6, "floor": 0.2, "charging": 5000.0, "source": 0.0, "efficiency": 1.0, "until": 0.9}
    return Course(**{**told, **change})


def test_without_a_source_the_bank_falls_to_its_floor_and_no_further():
    """10 kWh, 1 kW, floor 20 %: eight hours, then a kilowatt is missing."""
    day = follow(course(), 16)
    assert [hour.at for hour in day[:9]] == [16, 17, 18, 19, 20, 21, 22, 23, 0]
    assert [hour.state for hour in day[:8]] == pytest.approx([0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2])
    assert [hour.missing for hour in day[8:]] == pytest.approx([1000] * 16)
    assert min(hour.state for hour in day) == pytest.approx(0.2)


def test_a_generator_starts_at_the_floor_and_runs_until_the_bank_is_nearly_full():
    day = follow(course(source=4000.0), 0)
    # Three kilowatts are left for the bank: 20 % to 50 %, 80 %, 100 % in three hours from the ninth on; in the last two do.
    assert [hour.at for hour in day if hour.source > 0] == [8, 9, 10, 19, 20, 21]
    assert [day[at].state for at in (8, 9, 10)] == pytest.approx([0.5, 0.8, 1.0])
    assert [day[at].source for at in (8, 9, 10)] == pytest.approx([4000, 4000, 3000])
    assert all(hour.missing == 0 for hour in day)


def test_sun_serves_the_loads_first_and_fills_the_bank_no_faster_than_it_may():
    day = follow(course(sun=[0.0] * 8 + [9000.0] * 8 + [0.0] * 8, charging=2000.0), 0)
    assert day[8].state - day[7].state == pytest.approx(0.2)
    assert max(hour.state for hour in day) <= 1.0


def test_energy_is_conserved_where_the_bank_is_neither_full_nor_empty():
    """What the bank loses is what the loads take through the units, less the sun and what the source brings."""
    told = course(loads=[700.0 + 40 * at for at in range(24)], sun=[0.0] * 8 + [600.0] * 8 + [0.0] * 8, energy=200e6, efficiency=0.9)
    day = follow(told, 16)
    drawn = sum(load / 0.9 for load in told.loads) - sum(told.sun)
    assert 1 - day[-1].state == pytest.approx(drawn * 3600 / 200e6)


# --- its figures ---


def test_the_days_loads_add_up_to_their_energy(planned):
    """24 kWh a day, steady: one kilowatt in each hour."""
    assert [hour.load.value for hour in planned(SITE).parts.hours.hours] == pytest.approx([1000] * 24)
    evening = {hour.hour: hour.load.value for hour in planned(SITE.replace('"steady"', '"evening"')).parts.hours.hours}
    assert evening[19] == pytest.approx(24_000 * 0.0733, rel=1e-3)


def test_every_hour_begins_where_the_one_before_ended_and_can_be_recomputed(planned):
    """z + (P_sun - P_load / eta) 1 h / E, by hand; the first hour begins full."""
    plan = planned(used(12, NONE) + PANELS + "sun_hours = 2.0\n")
    hours, before = plan.parts.hours.hours, 1.0
    assert [hour.hour for hour in hours] == [*range(16, 24), *range(16)]
    for hour in hours:
        told = {figure.key: figure.value for figure in hour.state.of}
        assert told[f"plan.hours[{hour.hour}].state_before"] == pytest.approx(before)
        by_hand = before + (hour.solar.value - hour.load.value / 0.9) * 3600 / (51.2 * 400 * 3600)
        assert hour.state.value == pytest.approx(min(1.0, by_hand))
        before = hour.state.value


def test_why_of_an_hour_does_not_drag_the_day_along(planned):
    plan = planned(SITE)
    last, first = why_text(plan.figures["plan.hours[15].state"]), why_text(plan.figures["plan.hours[16].state"])
    assert "plan.hours[14]" not in last
    assert len(last.partition("== RULES CITED")[0].splitlines()) < 120
    assert "plan.hours[16].state_before = 100 %" in first
    assert "full at sunset" in first


def test_all_columns_are_those_of_one_bank(planned):
    """B1 carries the evening load alone: its 6 kWh, not the 8 kWh of the set, and in the evening; the heading says so."""
    plan = planned(APART)
    assert sum(hour.load.value for hour in plan.parts.hours.hours) == pytest.approx(6000)
    assert {hour.hour: hour.load.value for hour in plan.parts.hours.hours}[19] == pytest.approx(6000 * 0.0733, rel=1e-3)
    heading = " ".join(day_text(plan.parts.hours)[:3])
    assert "B1 alone" in heading
    assert "L1-1" in heading
    one = " ".join(day_text(planned(SITE).parts.hours)[:2])
    assert "B1 and the units on it" in one
    assert "alone" not in one


# --- what is said of it ---


@pytest.mark.parametrize("site", [used(70), used(70, NONE), used(70, GENERATOR), used(21), used(21, GENERATOR), used(21, NONE)])
def test_headline_table_and_finding_speak_of_the_same_hours(planned, site):
    plan = planned(site)
    hours = plan.parts.hours
    table = percents(day_text(hours, "generator"))
    states = {hour.hour: hour.state.value for hour in hours.hours}
    assert table == {at: pytest.approx(100 * state, abs=0.51) for at, state in states.items()}
    night = [*range(16, 24), *range(8)]
    called = [hour.hour for hour in hours.hours if hour.generator.value > 0]
    if lasting := re.search(r"lasts the night \((\d+)% at 08:00\)", hours.text):
        assert hours.lasts_night is True
        assert int(lasting[1]) == table[7]
        assert not found(plan, "empty-before-sunrise")
        assert not set(called) & set(night)
    else:
        assert hours.lasts_night is False
        [finding] = found(plan, "empty-before-sunrise")
        at = int(re.fullmatch(r"plan\.hours\[(\d+)\]\.state", finding.about)[1])
        # The hour that the finding names is the first at the floor, or that in which the generator starts.
        assert at == (called[0] if called else next(at for at in night if table[at] == 20))
        clock = f"{at:02d}:00" if called else f"{(at + 1) % 24:02d}:00"
        assert clock in finding.text
        assert clock in hours.text
    assert f"stands at {table[15]}% after 24 hours" in hours.text


def test_the_day_with_a_utility_is_an_outage_everywhere(planned):
    plan = planned(used(70))
    assert {hour.generator.value for hour in plan.parts.hours.hours} == {0.0}
    assert plan.parts.hours.text.startswith("With the utility away, B1, full at 16:00,")
    assert found(plan, "empty-before-sunrise")[0].text.startswith("With the utility away, B1")
    assert not found(plan, "day-not-covered")


def test_a_bank_as_much_larger_as_the_finding_says_lasts_the_night(planned):
    """70 kWh a day: four strings miss most of the night; with so many per cent more it lasts."""
    [finding] = found(planned(used(70)), "empty-before-sunrise")
    more = int(re.search(r"larger by (\d+) %", finding.remedy)[1])
    enough = used(70).replace('capacity = "100 Ah"', f'capacity = "{100 + more} Ah"')
    assert planned(enough).parts.hours.lasts_night is True
    short = used(70).replace('capacity = "100 Ah"', f'capacity = "{100 + more - 2} Ah"')
    assert planned(short).parts.hours.lasts_night is False


def test_a_generator_in_the_night_is_drawn_where_the_bank_is_used_up(planned):
    plan = planned(used(70, GENERATOR))
    [finding] = found(plan, "empty-before-sunrise")
    at = int(re.search(r"hours\[(\d+)\]", finding.about)[1])
    assert {hour.hour: hour.generator.value for hour in plan.parts.hours.hours}[at] > 0
    assert "without the generator" in finding.text
    assert plan.parts.hours.generator_hours.value > 0
    assert planned(SITE).parts.hours.generator_hours is None


def test_nothing_that_charges_stops_and_says_how_much_is_wanted(planned):
    plan = planned(NONE)
    [finding] = found(plan, "day-not-covered")
    assert finding.level is Level.STOP
    assert "nothing charges the bank" in finding.remedy
    assert "26.67 kWh" in finding.remedy  # 24 kWh through units of 90 %
    assert "nothing charges it" in plan.parts.hours.text
    # Full at 16:00, 14.75 kWh reach the loads: a kilowatt is missing first in the hour from 06:00.
    assert "empty by 07:00" in finding.text
    assert not found(planned(SITE), "day-not-covered")
    # A bank for weeks is no more charged than a small one.
    assert found(planned(used(1, NONE)), "day-not-covered")[0].level is Level.STOP


def test_too_little_sun_says_how_many_times_as_many_modules(planned):
    site = NONE + PANELS + "sun_hours = 2.0\n"
    # 3 units x 5 x 400 W x 2 h x 0.75 = 9 kWh against 24 kWh / 0.9: the bank is empty before sunrise.
    plan = planned(site)
    assert sum(hour.solar.value for hour in plan.parts.hours.hours) == pytest.approx(9000)
    [finding] = found(plan, "day-not-covered")
    assert finding.level is Level.STOP
    assert "3.0 times as many modules" in finding.remedy
    # 12 kWh / 0.9 a day against 9 kWh: the first day passes, two weeks do not.
    assert [f.level for f in found(planned(used(12, site)), "day-not-covered")] == [Level.CAUTION]
    assert not found(planned(used(8, site)), "day-not-covered")


def test_sun_that_is_not_answered_is_not_called_none(planned):
    plan = planned(NONE + PANELS)
    [finding] = found(plan, "day-not-covered")
    assert finding.level is Level.CAUTION
    assert "peak sun hours" in finding.remedy
    assert found(plan, "sun-hours-unanswered")


def test_what_comes_in_counts_by_the_units_settings(planned):
    """23 A of the generator's 29 A on each of three units."""
    plan = planned(used(70, GENERATOR))
    assert plan.figures["plan.banks[B1].incoming_power"].value == pytest.approx(3 * 23 * 230)
