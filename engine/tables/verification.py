"""What a test must read: limits as words for a step and a sheet."""

from __future__ import annotations

from collections.abc import Mapping

from engine.quantities import Ohm, Ratio, Volt, shown
from engine.tables import Cell, table


def limit(test: str) -> str:
    """What a test must read, from the table of limits."""
    row = table("test_limits").row("test", test)
    assert row is not None, test
    return str(row["want"])


def volts(test: str) -> Volt:
    """How far from nothing, or from what it is compared with, a voltage may be in a test."""
    return _bound(test, "volts")


def least(test: str) -> Ohm:
    """What an ohmmeter must read at the least in a test."""
    return _bound(test, "least")


def most(test: str) -> Ohm:
    """What an ohmmeter must read at the most in a test."""
    return _bound(test, "most")


def _bound(test: str, column: str) -> float:
    row = table("test_limits").row("test", test)
    assert row is not None
    bound = row[column]
    assert isinstance(bound, float), (test, column)
    return bound


def chain_bounds(terminators: int) -> tuple[Ohm, Ohm]:
    """What may be read across the data pair of a chain with so many terminators in."""
    row = table("bus_windows").row("terminators", float(terminators))
    assert row is not None
    low, high = row["least"], row["most"]
    assert isinstance(low, float) and isinstance(high, float)
    return low, high


def frequency_share(source: str | None) -> Ratio:
    """How far the frequency of what comes in may be from its nominal one; that of a generator falls with its load."""
    row = table("frequency_windows").row("source_of_it", source or "utility")
    assert row is not None
    share = row["share"]
    assert isinstance(share, float)
    return share


def insulation() -> str:
    """Limit and voltage of an insulation test of circuits of a set's own alternating current: up to 500 V."""
    row = table("insulation_tests").row("circuit", "up to 500 V")
    assert row is not None
    return _insulation(row)


def battery_insulation(voltage: Volt | None) -> str:
    """The same for the cables of a bank of this highest voltage; of one that nobody knows, as extra-low voltage, which harms nothing."""
    rows = table("insulation_tests").rows
    return _insulation(next(row for row in rows if voltage is None or not isinstance(most := row["up_to"], float) or voltage <= most))


def array_insulation(voltage: float) -> str:
    """The same for a string of this open-circuit voltage; above the table, its last row."""
    rows = table("array_insulation_tests").rows
    return _insulation(next((row for row in rows if isinstance(most := row["most_voltage"], float) and voltage <= most), rows[-1]))


def _insulation(row: Mapping[str, Cell]) -> str:
    least, voltage = row["least"], row["test_voltage"]
    assert isinstance(least, float) and isinstance(voltage, float)
    # An insulation tester shows megohms, also below one.
    return f"{least / 1e6:g} Mohm or more at {shown(voltage, 'V')} DC"


def chain_window(terminators: int) -> str:
    """What may be read across the data pair of a chain with so many terminators in."""
    low, high = chain_bounds(terminators)
    return f"{low:g} to {high:g} ohm"


def trip_time(multiple: float) -> str:
    """Longest trip time of a residual-current device at a multiple of its rated residual current, and between what a time-delayed one trips."""
    row = table("rcd_times").row("multiple", multiple)
    delayed = table("rcd_delayed").row("multiple", multiple)
    assert row is not None and isinstance(row["most"], float) and delayed is not None
    least, most = delayed["least"], delayed["most"]
    assert isinstance(least, float) and isinstance(most, float)
    return f"{row['most'] * 1e3:.0f} ms (time-delayed, type S: {least * 1e3:.0f} to {most * 1e3:.0f} ms)"  # as a tester shows it
