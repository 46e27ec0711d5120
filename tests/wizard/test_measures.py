"""Is it enough? What a page shows agrees with what the engine notices, and fits into its line."""

from __future__ import annotations

import pytest

from tests.conftest import SAMPLES
from tests.defence.test_findings import TWINS
from tests.defence.twins import SUN, hung, load, planned
from tests.engine.paper_sites import sample
from tests.engine.touched import VARIED
from wizard.planning.measures import MOST, measures

# Codes that say that a figure fails its limit, with the page that shows it and what the figure is called there.
HELD = {
    "phase-overloaded": ("loads", "fullest phase L1"),
    "start-above-surge": ("loads", "L1 starting"),
    "incoming-below-load-and-charge": ("site", "L1 with charging"),
    "breaker-above-transfer": ("site", "breaker"),
    "bank-above-unit": ("unit", "full bank"),
    "terminal-too-small": ("unit", "battery L1-1"),
    "bank-below-set": ("bank", "units draw from B1"),
    "autonomy-short": ("bank", "B1 lasts"),
    "empty-before-sunrise": ("bank", "B1 lasts"),
    "charge-limit-zero": ("bank", "B1 charged with"),
    "cold-voc-above-limit": ("solar", "cold string"),
    "solar-short-circuit": ("solar", "string shorted"),
    "hot-vmp-below-window": ("solar", "hot string"),
    "hot-vmp-above-window": ("solar", "hot string"),
    "solar-current-lost": ("solar", "string current"),
    "no-room-on-the-wall": ("wall", "room for"),
    "off-the-wall": ("wall", "room for"),
    "bus-too-long": ("wall", "data bus"),
    "link-too-long": ("wall", "longest link"),
    "drop-above-limit": ("routes", "drop load L1-1"),
    "no-conductor-will-do": ("routes", "conductors for"),
}


def short(site):
    """Subject and name of what falls short, the review aside."""
    return {(subject, measure.name) for subject, some in measures(planned(site)).items() if subject != "review" for measure in some if measure.short}


@pytest.mark.parametrize("twin", [twin for twin in TWINS if twin.code in HELD], ids=lambda twin: f"{twin.code} {twin.level}")
def test_what_the_engine_finds_short_is_shown_as_short(twin):
    assert HELD[twin.code] in short(twin.site)
    assert HELD[twin.code] not in short(twin.site | twin.mended)
    assert any(measure.short for measure in measures(planned(twin.site))["review"])


def test_every_code_of_the_table_has_a_site():
    assert not HELD.keys() - {twin.code for twin in TWINS}


@pytest.mark.parametrize("name", [*SAMPLES, *VARIED])
def test_a_measure_fits_into_its_line(name):
    plan = sample(name) if name in SAMPLES else planned(VARIED[name])
    told = measures(plan)
    for subject, some in told.items():
        assert len(some) <= MOST
        assert [measure.short for measure in some] == sorted((measure.short for measure in some), reverse=True), subject
        for measure in some:
            assert len(str(measure)) <= 38, measure
    assert {"site", "unit", "bank", "loads", "wall", "routes", "review"} <= {subject for subject, some in told.items() if some}


def text(subject, site):
    return [str(measure) for measure in measures(planned(site))[subject]]


def test_figures_by_hand():
    # 2 kW at a power factor of 1 on a unit of 5 kW; started six times over 12 kVA / 230 V = 52.2 A, of 10 kVA / 230 V = 43.5 A.
    site = {"loads": [load("2 kW", motor=True, start_multiple=6)]}
    assert text("loads", site) == ["L1 starting 52.2 A of 43.5 A", "fullest phase L1 2 kW of 5 kW"]
    # Three units of 5 kW / (0.93 x 46 V) = 116.9 A.
    assert "units draw from B1 351 A of 600 A" in text("bank", {"storage.bank.feed": "bar"})
    # 2 kWh a day are 83.3 W; six modules of 5.12 kWh at 80 % and 93 % give 22.86 kWh.
    assert "B1 lasts 274 h of 10 h wanted" in text("bank", {"loads": [load()], "storage.autonomy": "10 h"})
    # Cold 7 x 49.5 V x (1 + 0.0027 x 35) = 379.2 V.
    assert "cold string 379 V of 450 V" in text("solar", SUN)
    # The load board at 3.8 m is 0.3 m wide, with no air of its own; the third unit at 2.9 m and 0.4 m wide wants 0.2 m more: 3.3 m.
    assert "width used 3.95 m of 4.2 m" in text("wall", hung())


def test_values_that_a_limit_hardly_parts_are_told_apart():
    assert text("loads", {"loads": [load("5.004 kW")]})[0] == "fullest phase L1 5.004 kW of 5 kW"


def test_where_nothing_is_answered_nothing_is_measured():
    assert text("solar", {}) == []
    told = measures(planned({"output.arrangement": None, "storage.module.capacity": None}))
    assert [str(measure) for some in told.values() for measure in some] == []


def test_lengths_are_those_of_the_site():
    assert any(text.endswith(" ft") for text in text("wall", {"site.rules": "nec", "wall.width": "12 ft", "wall.height": "8 ft"}))
