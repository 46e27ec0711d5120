"""Factors on what a conductor may carry; between two rows the worse one holds."""

from __future__ import annotations

from functools import cache

from engine.quantities import Ampere, Kelvin, Ratio
from engine.tables import Table, table
from engine.tables.conductors import Reading

_BUNCHED = {"A1", "A2", "B1", "B2", "D1"}
_SLACK = 1e-6


def _first_at_least(found: Table, column: str, value: float, factor: str) -> Reading | None:
    """The factor of the first row whose `column` is not below `value`; None past the table or in an empty cell."""
    for row in found.rows:
        reach = row[column]
        if reach is None or (isinstance(reach, float) and reach >= value - _SLACK):
            cell = row[factor]
            return Reading(cell, found.told) if isinstance(cell, float) else None
    return None


@cache
def iec_ambient(method: str, insulation: str, ambient: Kelvin) -> Reading | None:
    """Factor for the air, or for the ground of method D1; None where the insulation does not stand it."""
    return _first_at_least(table("iec_ground" if method.startswith("D") else "iec_ambient"), "ambient", ambient, insulation)


@cache
def nec_ambient(temperature: int, ambient: Kelvin) -> Reading | None:
    """Factor for wire of the 60, 75 or 90 degC column; None where it does not stand that air."""
    return _first_at_least(table("nec_ambient"), "ambient", ambient, str(temperature))


def iec_hottest(method: str, insulation: str) -> Kelvin:
    """The hottest air, or ground, that the insulation stands."""
    return _last(table("iec_ground" if method.startswith("D") else "iec_ambient"), "ambient", insulation)


def nec_hottest(temperature: int) -> Kelvin:
    """The hottest air that wire of the 60, 75 or 90 degC column stands."""
    return _last(table("nec_ambient"), "ambient", str(temperature))


def iec_bunched_most() -> float:
    """The most circuits bunched together that the table knows."""
    return _last(table("iec_grouping"), "circuits", "bunched")


def _last(found: Table, column: str, factor: str) -> float:
    """The largest `column` that has a factor."""
    return max(reach for row in found.rows if isinstance(row[factor], float) and isinstance(reach := row[column], float))


@cache
def iec_grouping(method: str, circuits: int) -> Reading | None:
    """Factor for circuits together, this one included; None for more than the table knows."""
    found = table("iec_grouping")
    if method in _BUNCHED:
        return _first_at_least(found, "circuits", circuits, "bunched")
    last = found.rows[-1]["circuits"]
    assert isinstance(last, float)
    return _first_at_least(found, "circuits", min(circuits, last), "wall" if method == "C" else "tray")


@cache
def nec_adjustment(conductors: int) -> Reading:
    """Factor for that many current-carrying conductors together."""
    found = _first_at_least(table("nec_adjustment"), "most", conductors, "factor")
    assert found is not None  # the last row has no end
    return found


def harmonics(third: Ratio) -> tuple[Reading, str]:
    """Factor for a third-harmonic share of the line current, and whether "line" or "neutral" selects the size."""
    found = table("iec_harmonics")
    row = next((row for row in found.rows if isinstance(most := row["up_to"], float) and third <= most + _SLACK), found.rows[-1])
    factor = row["factor"]
    assert isinstance(factor, float)
    return Reading(factor, found.told), str(row["selects"])


def nec_termination(circuit: Ampere, unmarked: int = 60, *, above: Ampere = 100.0) -> int:
    """Column of the ampacity tables that unmarked terminals allow: 60 degC up to 100 A, 75 degC above (110.14(C)(1))."""
    return unmarked if circuit <= above * (1 + 1e-9) else 75
