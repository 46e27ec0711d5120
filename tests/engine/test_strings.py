"""Strings on a unit's solar input: T20, S11, S26."""

from __future__ import annotations

import pytest

from engine.findings import Level

SITE = (
    '[output]\narrangement = "single-phase"\nvoltage = "230 V"\n[site]\nroof_min = "-10 degC"\n[set]\ncount = 1\n'
    '[unit]\nmax_units = 6\nreal_power = "5 kW"\napparent_power = "5 kVA"\n'
    '[unit.solar]\ntrackers = 2\nvoltage_max = "500 V"\nmppt_min = "120 V"\nmppt_max = "430 V"\npower_max = "5.5 kW"\ncurrent_max = "18 A"\nshort_circuit_max = "23 A"\n'
    '[solar]\npower = "450 W"\nvoc = "49.5 V"\nvmp = "41.5 V"\nisc = "11.5 A"\nimp = "10.9 A"\nvoc_coefficient = "-0.27 %/K"\nvmp_coefficient = "-0.35 %/K"\n'
    "series = 8\nparallel = 1\ntrackers = 1\nsun_hours = 2.1\n"
)


def codes(plan, level=None):
    return {finding.code for finding in plan.findings if level is None or finding.level is level}


def test_cold_hot_currents_and_power(planned):
    found = planned(SITE).parts.strings
    assert found.cold_voc.value == pytest.approx(8 * 49.5 * (1 + 0.0027 * 35))
    assert found.hot_vmp.value == pytest.approx(8 * 41.5 * (1 - 0.0035 * 45))
    assert (found.current.value, found.short_circuit.value, found.power.value) == pytest.approx((10.9, 11.5, 3600))


def test_the_range_of_series_counts_and_the_best(planned):
    """54.18 V cold under 500 V: nine at most; 34.96 V hot over 120 V: four at least; 5.5 kW of 450 W: nine of twelve."""
    found = planned(SITE).parts.strings
    assert (found.series_from, found.series_to, found.series_best) == (4, 9, 9)
    two = planned(SITE.replace("trackers = 1\n", "trackers = 2\n")).parts.strings
    assert two.series_best == 6  # 12 modules of 450 W in two strings are 5.4 kW


def test_strings_above_the_limit_on_a_cold_morning_stop(planned):
    plan = planned(SITE.replace("series = 8", "series = 10"))
    [finding] = [f for f in plan.findings if f.code == "cold-voc-above-limit"]
    assert finding.level is Level.STOP
    assert "41.78 V above" in finding.text
    assert "At most 9 modules" in finding.remedy
    assert "cold-voc-above-limit" not in codes(planned(SITE.replace("series = 8", "series = 9")))


def test_the_roof_decides_not_the_room(planned):
    plan = planned(SITE.replace('roof_min = "-10 degC"', 'ambient_min = "-10 degC"'))
    assert "roof-min-unanswered" in codes(plan, Level.STOP)
    assert plan.parts.strings.cold_voc is None


@pytest.mark.parametrize("celsius, factor", [(30, 1.0), (24, 1.02), (20, 1.02), (19.5, 1.04), (0, 1.10), (-6, 1.14), (-10, 1.14), (-10.5, 1.16), (-40, 1.25), (-44, 1.27)])
def test_without_a_coefficient_the_table_decides_and_never_too_low(planned, celsius, factor):
    plan = planned(SITE.replace('voc_coefficient = "-0.27 %/K"\n', "").replace("-10 degC", f"{celsius} degC"))
    assert plan.parts.strings.cold_voc.value == pytest.approx(8 * 49.5 * factor)
    assert "voc-coefficient-unanswered" in codes(plan, Level.NOTE)


@pytest.mark.parametrize(
    "old, new, code, level",
    [
        ("series = 8", "series = 3", "hot-vmp-below-window", Level.CAUTION),
        ('mppt_max = "430 V"', 'mppt_max = "250 V"', "hot-vmp-above-window", Level.CAUTION),
        ("parallel = 1", "parallel = 3", "solar-short-circuit", Level.STOP),
        ("parallel = 1", "parallel = 2", "solar-current-lost", Level.CAUTION),
        ("parallel = 1", "parallel = 2", "solar-power-lost", Level.NOTE),
        ("trackers = 1\n", "trackers = 3\n", "too-many-trackers", Level.STOP),
        ('"-0.27 %/K"', '"0.27 %/K"', "coefficient-positive", Level.STOP),
        ('voltage_max = "500 V"\n', "", "solar-limit-unanswered", Level.STOP),
        ('voc = "49.5 V"\n', "", "solar-unanswered", Level.STOP),
        ('mppt_min = "120 V"\n', "", "solar-input-unanswered", Level.CAUTION),
        ('vmp_coefficient = "-0.35 %/K"\n', "", "vmp-coefficient-unanswered", Level.NOTE),
    ],
)
def test_one_wrong_or_missing_answer_is_told(planned, old, new, code, level):
    assert old in SITE
    assert code in codes(planned(SITE.replace(old, new)), level)
    assert code not in codes(planned(SITE))


def test_a_module_too_high_for_the_unit_has_no_count_that_would_do(planned):
    plan = planned(SITE.replace('voltage_max = "500 V"', 'voltage_max = "50 V"'))
    assert plan.parts.strings.series_best is None
    [finding] = [f for f in plan.findings if f.code == "cold-voc-above-limit"]
    assert "No string of these modules fits" in finding.remedy


def test_what_is_missing_is_told_in_words_and_its_key_stands_beside(planned):
    plan = planned(SITE.replace('mppt_min = "120 V"\n', "").replace('isc = "11.5 A"\n', "").replace('"-0.35 %/K"', '"0.35 %/K"'))
    told = {f.about: f.text for f in plan.findings if f.code in ("solar-unanswered", "solar-input-unanswered", "coefficient-positive")}
    assert set(told) == {"unit.solar.mppt_min", "solar.isc", "solar.vmp_coefficient"}
    assert not any(key in text for key, text in told.items())


def test_without_panels_nothing_is_said(planned):
    plan = planned(SITE[: SITE.index("[solar]\npower")])
    assert plan.parts.strings.cold_voc is None
    assert not {code for code in codes(plan) if "solar" in code or "roof" in code}
