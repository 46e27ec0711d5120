"""What the tables say of one conductor: its resistance and what it may carry."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from engine.quantities import Kelvin, SquareMetre
from engine.tables import Cell, Table, table
from engine.tables.sizes import METRIC, Size, sizes

COPPER, ALUMINIUM = "copper", "aluminium"
LIMIT = {"pvc": 343.15, "xlpe": 363.15}  # K: 70 and 90 degC in service, IEC 60364-5-52 table 52.1
NEC_LIMIT = {"pvc": 348.15, "xlpe": 363.15}  # K: read as 75 degC and 90 degC wire under the NEC
_LEAST_ALUMINIUM = 16e-6  # m²: below it the common rules allow copper only
SINGLES = "F"


class Reading(NamedTuple):
    """A value read from a table, SI, and where it stands."""

    value: float
    source: str


@cache
def offered(rules: str, metal: str) -> tuple[Size, ...]:
    """The sizes of a rule book that are made in a metal and have every figure the sizing needs."""
    if metal == COPPER:
        return sizes(rules)
    return tuple(s for s in sizes(rules) if s.area >= _LEAST_ALUMINIUM and _resistance_cell(s, metal, flexible=False)[1] is not None)


def smallest_of(area: SquareMetre, rules: str, metal: str = COPPER) -> Size | None:
    """The smallest size offered in a metal with at least that area, or None where even the largest has less."""
    return next((size for size in offered(rules, metal) if size.area >= area * (1 - 1e-9)), None)


def _resistance_cell(size: Size, metal: str, *, flexible: bool) -> tuple[Table, Cell]:
    if size.system == METRIC:
        found = table(f"iec60228_{metal}")
        column = "class5" if flexible and metal == COPPER else "class2"
        row = found.row("area", size.area)
    else:
        found, column, row = table("nec_ch9_t8"), metal, table("nec_ch9_t8").row("size", size.label)
        if row is None:
            found = table("nec_ch9_t8_kcmil")
            row = found.row("size", size.label)
    return found, row[column] if row else None


@cache
def resistance(size: Size, metal: str, *, flexible: bool) -> tuple[Reading, Kelvin]:
    """Resistance per metre and the temperature it is told at: 20 degC for metric sizes, 75 degC for American.

    `flexible` takes class 5 instead of class 2 where the table has both. KeyError where the table is silent.
    """
    found, cell = _resistance_cell(size, metal, flexible=flexible)
    if not isinstance(cell, float):
        raise KeyError(f"{size.label} {metal}")
    return Reading(cell, found.told), 293.15 if size.system == METRIC else 348.15


def temperature_coefficient(metal: str) -> Reading:
    """The coefficient of resistance at 20 degC [1/K]."""
    found = table("metals")
    row = found.row("metal", metal)
    assert row is not None
    cell = row["coefficient"]
    assert isinstance(cell, float)
    return Reading(cell, found.told)


@cache
def iec_ampacity(size: Size, metal: str, insulation: str, loaded: int, method: str) -> Reading | None:
    """Current-carrying capacity of a metric size before any factor, for two or three loaded conductors.

    Single cores in free air (F) below 25 mm2 have no figure: the multicore one (E) stands in, which is lower.
    """
    found = table(f"iec_{metal}_{insulation}_{loaded}")
    row = found.row("area", size.area)
    cell = None if row is None else row[method] or (row["E"] if method == SINGLES else None)
    return Reading(cell, found.told) if isinstance(cell, float) else None


@cache
def nec_ampacity(size: Size, metal: str, temperature: int, *, free_air: bool) -> Reading | None:
    """Ampacity of an American size in the 60, 75 or 90 degC column, before correction."""
    found = table("nec_310_17" if free_air else "nec_310_16")
    row = found.row("size", size.label)
    cell = row[f"{metal}_{temperature}"] if row else None
    return Reading(cell, found.told) if isinstance(cell, float) else None


def small_conductor_limit(size: Size, metal: str) -> Reading | None:
    """The greatest device on a small American conductor, or None where 240.4(D) sets none [A]."""
    found = table("nec_240_4d")
    row = found.row("size", size.label)
    cell = row[metal] if row else None
    return Reading(cell, found.told) if isinstance(cell, float) else None
