"""The day drawn as text."""

from __future__ import annotations

from engine.sheets.text.day import day_text
from engine.stages.hours.part import Hour, Hours
from engine.workings import answered


def hour(at, load, sun, given, state):
    values = {"load": (load, "W"), "solar": (sun, "W"), "generator": (given, "W"), "state": (state, "ratio")}
    return Hour(at, **{name: answered(name, value, unit) for name, (value, unit) in values.items()})


def test_a_line_for_each_hour_in_80_columns_of_ascii():
    lines = day_text(Hours(tuple(hour(at, 12_000.0, 6_000.0, 250_000.0, 1.0) for at in range(24))), "generator")
    assert len(lines) == 27
    assert all(len(line) <= 80 and line.isascii() for line in lines)


def test_bars_are_as_long_as_what_they_show():
    """The largest power fills its bar, half of it half the bar, a little is still seen, nothing is empty."""
    rows = (hour(0, 4000.0, 0.0, 0.0, 0.5), hour(1, 2000.0, 1.0, 0.0, 1.0), hour(2, 0.0, 0.0, 1500.0, 0.0))
    first, second, third = day_text(Hours(rows))[2:5]
    assert first.count("#") == 20
    assert first.count("+") == 0
    assert "=======         50%" in first
    assert second.count("#") == 10
    assert second.count("+") == 1
    assert "100%" in second
    assert "#" not in third
    assert third.endswith("1.50 kW")


def test_no_day_draws_nothing():
    assert day_text(Hours()) == []
