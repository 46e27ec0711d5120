"""T10: phasor sums, third harmonics that add in the neutral, and the conductors that follow.

Hand figures rest on: IEC 60364-5-52 annex E (15 to 33 %: 0.86, lines; 33 to 45 %: 0.86, 3 h Ib; above 45 %: 1, 3 h Ib), tables B.52.4 (three
loaded: C 6 mm2 41 A, 10 mm2 57 A; B1 10 mm2 50 A, 16 mm2 68 A, 25 mm2 89 A), NEC table 310.16.
"""

from __future__ import annotations

import pytest

from engine.findings import Level
from tests.defence.sites import NEC, codes, found, site, size, sized, split


def load(phase: str, power: str, **more: object) -> dict[str, object]:
    return {"name": f"On {phase}", "phase": phase, "power": power, "power_factor": 1.0, "energy": "5 kWh/day"} | more


def harmonic(share: str) -> dict[str, object]:
    return {"loads": [load("all", "6 kW", third_harmonic=share)]}


@pytest.mark.parametrize(("loads", "neutral"), [
    # 10, 10 and 10 A cancel; 10 A alone is all the neutral's; 10 and 10 A of two phases stand 120 degrees apart: 10 A; 20, 10, 10 A: 10 A.
    ({"L1": 2300, "L2": 2300, "L3": 2300}, 0),
    ({"L1": 2300}, 10),
    ({"L1": 2300, "L2": 2300}, 10),
    ({"L1": 4600, "L2": 2300, "L3": 2300}, 10),
])
def test_the_neutral_carries_the_phasor_sum(loads, neutral) -> None:
    """T10: of a three-phase set."""
    plan = site({"loads": [load(phase, f"{watt} W") for phase, watt in loads.items()]})
    assert plan.parts.phases.neutral.value == pytest.approx(neutral, abs=1e-6)


@pytest.mark.parametrize(("share", "neutral", "code"), [
    # 6 kW on three phases is 8.696 A a line; the third harmonics add: 3 x h x 8.696 A. 33 % is the limit; 34 % is above it, and above 1/3 the neutral carries more than a line.
    ("20 %", 5.217, None),
    ("33 %", 8.609, None),
    ("34 %", 8.870, "neutral-harmonics"),
    ("60 %", 15.652, "neutral-harmonics"),
])
def test_third_harmonics_add_in_the_neutral(share, neutral, code) -> None:
    """T10: three times the third harmonic of a line; above 33 % the neutral decides."""
    plan = site(harmonic(share))
    assert plan.parts.phases.neutral.value == pytest.approx(neutral, abs=1e-3)
    assert codes(plan) & {"neutral-harmonics", "neutral-above-line"} == ({code} if code else set())


@pytest.mark.parametrize(("phase", "neutral", "code"), [
    # Between two lines nothing of it reaches the neutral.
    ("L1-L2", 0, None),
    # 4 kW / 230 V = 17.39 A in line and neutral, and 60 % of that beside it: sqrt(1 + 0.6^2).
    ("L1", 17.391 * 1.36**0.5, "neutral-harmonics"),
])
def test_a_load_between_lines_puts_no_harmonic_into_the_neutral(phase, neutral, code) -> None:
    """T10."""
    plan = site({"loads": [load(phase, "4 kW", third_harmonic="60 %")]})
    assert plan.parts.phases.neutral.value == pytest.approx(neutral, abs=1e-3)
    assert codes(plan) & {"neutral-harmonics", "neutral-above-line"} == ({code} if code else set())
    assert any(key.startswith("plan.loads[") and "third_harmonic_on" in key for key in plan.figures) is bool(code)


def test_a_load_without_harmonics_has_no_figure_of_them() -> None:
    """T10."""
    figures = site({"loads": [load("L1", "4 kW", third_harmonic="0 %"), load("L2", "4 kW", third_harmonic="1 %")]}).figures
    assert {key.partition("on_")[2] for key in figures if "third_harmonic_on" in key} == {"L2"}


def test_unlike_power_factors_load_the_neutral_more_than_a_line() -> None:
    """T10: 10 A of cos phi 0.5 lagging on L1, 10 A of cos phi 1 on L2.

    L1 at 0 - 60 = -60 degrees, L2 at -120 degrees: 60 degrees apart, so 2 x 10 x cos 30 = 17.32 A in the neutral, more than either line.
    """
    told = found(site({"loads": [load("L1", "1150 W", power_factor=0.5), load("L2", "2300 W")]}), "neutral-above-line")
    assert (told.level, told.value, told.limit) == (Level.CAUTION, pytest.approx(17.32, abs=5e-3), pytest.approx(10))
    assert "neutral-above-line" not in codes(site({"loads": [load("L1", "2300 W"), load("L2", "2300 W")]}))


@pytest.mark.parametrize(("share", "method", "conductor", "decides"), [
    # Ib 40 A. Without harmonics 6 mm2, 41 A.
    ("0 %", "C", "6 mm2", "current"),
    ("15 %", "C", "6 mm2", "current"),
    # Lines: 40 / 0.86 = 46.5 A: 10 mm2.
    ("16 %", "C", "10 mm2", "neutral"),
    # 40 %: 3 x 0.4 x 40 = 48 A, / 0.86 = 55.8 A. In method B1 10 mm2 (50 A) would carry the 48 A, or the lines' 46.5 A, but not 55.8 A.
    ("40 %", "B1", "16 mm2", "neutral"),
    # 60 %: 72 A, no factor: 25 mm2 (16 mm2 68 A); with 0.86 83.7 A, too, but 54 %: 64.8 A, 16 mm2, where 75.3 A would ask for 25 mm2.
    ("60 %", "B1", "25 mm2", "neutral"),
    ("54 %", "B1", "16 mm2", "neutral"),
])
def test_harmonics_decide_the_common_conductors(share, method, conductor, decides) -> None:
    """T10: annex E, factor and which current selects; the neutral is never smaller than the lines."""
    plan = site(harmonic(share), load={"method": method})
    assert size(plan, "load common") == (conductor, decides)
    assert sized(plan, "load common").neutral == sized(plan, "load common").conductor
    assert ("neutral-decides" in codes(plan)) is (share in ("40 %", "54 %", "60 %"))


@pytest.mark.parametrize(("share", "conductor", "decides"), [
    # Units of 5 kVA at 120 V: 41.7 A, x 1.25 = 52.1 A, devices of 60 A. 60 degC column: 6 AWG 55 A, 4 AWG 70 A.
    ("0 %", "4 AWG", "termination"),
    # 20 %: four conductors count, 0.8: 4 AWG 75 degC 85 A x 0.8 = 68 A still carry 60 A; the neutral 36 A.
    ("20 %", "4 AWG", "termination"),
    # 60 %: 3 x 0.6 x 60 = 108 A in the neutral: 1 AWG 130 x 0.8 = 104 A, 1/0 AWG 150 x 0.8 = 120 A.
    ("60 %", "1/0 AWG", "neutral"),
])
def test_the_nec_neutral_carries_its_harmonics(share, conductor, decides) -> None:
    """T10: by the NEC the neutral's 3 h Ib decides where it is above the line current, and the neutral counts (310.15(E))."""
    assert size(site(NEC | harmonic(share)), "load common") == (conductor, decides)


@pytest.mark.parametrize(("share", "conductor"), [("10 %", "4 AWG"), ("20 %", "3 AWG")])
def test_a_neutral_full_of_harmonics_counts_as_a_conductor(share, conductor) -> None:
    """T10: at 40 degC 4 AWG carries 85 x 0.88 = 74.8 A; with four conductors counted 59.8 A, less than 60 A: 3 AWG, 100 x 0.88 x 0.8 = 70.4 A."""
    assert size(site(NEC | harmonic(share) | {"site.ambient_max": "40 degC"}), "load common")[0] == conductor


@pytest.mark.parametrize(("loads", "neutral"), [
    # Split-phase: the legs stand opposed: 10 and 10 A leave nothing, 10 and 4 A 6 A; third harmonics of like legs are opposed as well.
    ({"L1": ("1200 W", "0 %"), "L2": ("1200 W", "0 %")}, 0),
    ({"L1": ("1200 W", "0 %"), "L2": ("480 W", "0 %")}, 6),
    ({"L1": ("1200 W", "50 %"), "L2": ("1200 W", "50 %")}, 0),
    ({"L1": ("1200 W", "50 %")}, (10**2 + 5**2) ** 0.5),
])
def test_a_split_phase_neutral_carries_the_difference(loads, neutral) -> None:
    """T10: what adds in three-phase stands opposed in split-phase."""
    plan = site(split(1, 1) | {"output.voltage": "120 V", "loads": [load(phase, power, third_harmonic=share) for phase, (power, share) in loads.items()]})
    assert plan.parts.phases.neutral.value == pytest.approx(neutral, abs=1e-6)


def test_a_third_harmonic_is_weighted_by_power() -> None:
    """T10, S9: 4 kW of 60 % and 8 kW of none on all phases are 20 %: lines by 0.86, no caution on the neutral."""
    plan = site({"loads": [load("all", "4 kW", third_harmonic="60 %"), load("all", "8 kW")]})
    assert size(plan, "load common") == ("10 mm2", "neutral")
    assert "neutral-decides" not in codes(plan)
    # The other way round 40 %: the neutral decides.
    other = site({"loads": [load("all", "8 kW", third_harmonic="60 %"), load("all", "4 kW")]})
    assert "neutral-decides" in codes(other)


def test_two_legs_have_an_unbalance_and_nothing_used_has_no_energy() -> None:
    """T5: 1 kW on one leg of two: as far from the mean as a leg can be. Without loads no energy is summed, not even 0."""
    legs = site(split(1, 1) | {"output.voltage": "120 V", "loads": [{"name": "Lamps", "power": "1 kW", "power_factor": 1.0, "phase": "L1"}]})
    assert legs.parts.phases.unbalance.value == pytest.approx(1.0)
    assert site(split(1)).parts.phases.unbalance is None
    assert "plan.energy_per_day" not in site({"loads": []}).figures
    assert site().figures["plan.energy_per_day"].value == pytest.approx(24e3 * 3600)


def test_of_a_single_phase_the_neutral_carries_what_the_line_carries() -> None:
    """T10: 10 A there and 10 A back, whatever harmonics are in it."""
    neutral = site(split(1) | {"loads": [load("L1", "2300 W", third_harmonic="50 %")]}).parts.phases.neutral
    assert neutral.value == pytest.approx(10)
    assert neutral.note == "one phase: the neutral carries what the line carries"
