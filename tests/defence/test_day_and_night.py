"""The day hour by hour (T19, S25): how long a generator runs, what is told where nothing charges, where a finding leads."""

from __future__ import annotations

from typing import Any

import pytest

from engine.findings import Level
from tests.defence.sites import SOLAR, found, site

GENERATOR: dict[str, Any] = {"incoming": {"kind": "generator", "breaker": "40 A", "prospective_fault": "2 kA", "rating": "30 kVA"}}
NOTHING: dict[str, Any] = {"incoming": {"kind": "none"}}


def steady(energy: str) -> dict[str, Any]:
    """A load that takes the same in every hour of the day."""
    return {"loads": [{"name": "Heater", "power": "6 kW", "power_factor": 1.0, "phase": "all", "energy": energy}]}


def test_a_generator_runs_two_hours_of_nine() -> None:
    """Of 14 x 24 = 336 hours it runs in the eighth and ninth of each nine: 37 whole rounds, 74 hours, 74 / 14 = 5.29 h a day."""
    hours = site(steady("72 kWh/day") | GENERATOR).parts.hours
    assert hours.generator_hours is not None
    assert hours.generator_hours.value == pytest.approx(74 / 14 * 3600)
    assert "the generator runs 4 h of them, 5.3 h a day over two weeks" in hours.text


@pytest.mark.parametrize(("changes", "told"), [
    ({}, "and nothing charges it before the utility is back."),
    (NOTHING, "and nothing charges it."),
    # 2.1 h of sun charge it; the generator's hours are told instead.
    (SOLAR, ""),
    (SOLAR | NOTHING, ""),
    (GENERATOR, ""),
])
def test_what_charges_the_bank_is_told(changes, told) -> None:
    text = site(steady("24 kWh/day") | changes).parts.hours.text
    assert text.endswith(f"after 24 hours, {told}" if told else ".")
    assert ("nothing charges it" in text) is bool(told)


@pytest.mark.parametrize(("changes", "about"), [(NOTHING, "incoming.kind"), (NOTHING | SOLAR | {"solar.sun_hours": 0.5}, "solar.sun_hours")])
def test_a_day_without_enough_leads_to_what_could_bring_more(changes, about) -> None:
    finding = found(site(steady("100 kWh/day") | changes), "day-not-covered")
    assert (finding.level, finding.about) == (Level.STOP, about)


def test_what_the_loads_take_of_the_bank_in_a_day() -> None:
    """100 kWh a day through 93 %: 107.5 kWh, 387 MJ, all of it missing where nothing charges."""
    finding = found(site(steady("100 kWh/day") | NOTHING), "day-not-covered")
    assert finding.limit == pytest.approx(100 * 3.6e6 / 0.93, rel=1e-6)
    assert "107.5 kWh a day" in finding.text


def test_what_the_sun_brings_in_a_day() -> None:
    """Three units with two strings of seven modules of 450 W: 18.9 kW; an hour of sun at 75 % brings 14.18 kWh of 107.5: 93.4 kWh short before the hours are followed."""
    plan = site(steady("100 kWh/day") | SOLAR | NOTHING | {"solar.sun_hours": 1})
    finding = found(plan, "day-not-covered")
    assert "the sun brings 14.18 kWh" in finding.text
    assert sum(hour.solar.value for hour in plan.parts.hours.hours) == pytest.approx(14_175.0)
