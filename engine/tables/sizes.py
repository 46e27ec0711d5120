"""Conductor sizes that exist: metric (IEC 60228) and American (AWG, kcmil)."""

from __future__ import annotations

import math
import re
from functools import cache

from engine.frozen import dataclass
from engine.quantities import Metre, Refused, SquareMetre, number, shown
from engine.tables import table

METRIC, AWG = "metric", "awg"
_MM2 = 1e-6
_KCMIL = 0.506707e-6  # m²: a thousand circles of one mil, pi/4 (25.4e-6 m)² each


@dataclass(frozen=True)
class Size:
    """One conductor size: its label ("35 mm2", "2/0 AWG", "250 kcmil"), area and system ("metric" or "awg")."""

    label: str
    area: SquareMetre
    system: str

    def __str__(self) -> str:
        return self.label


@cache
def sizes(rules: str) -> tuple[Size, ...]:
    """The sizes of a rule book ("iec" or "nec"), smallest first."""
    if rules == "iec":
        return tuple(Size(f"{area / _MM2:.4g} mm2", area, METRIC) for area in table("iec60228_copper").figures("area"))
    rows = table("nec_ch9_t8").rows + table("nec_ch9_t8_kcmil").rows
    return tuple(Size(str(row["size"]), area, AWG) for row in rows if isinstance(area := row["area"], float))


@cache
def _by_label() -> dict[str, Size]:
    return {size.label: size for rules in ("iec", "nec") for size in sizes(rules)}


_AMERICAN = re.compile(r"(?:AWG\s*(?P<before>\S+)|(?P<gauge>\S+?)\s*AWG)", re.IGNORECASE)
_THOUSANDS = re.compile(r"(\d+)\s*(?:kcmil|MCM)", re.IGNORECASE)
_GAUGE = re.compile(r"([1-9]\d?|0|[1-4]/0)")


def read_size(text: str) -> Size:
    """The size a person wrote: "35 mm2", "35 mm²", "2/0 AWG", "AWG 2/0", "250 kcmil".

    Raises `Refused` where it is no size; one that does not exist names the nearest that does.
    """
    given = " ".join(str(text).split())
    if american := _AMERICAN.fullmatch(given):
        gauge = american["before"] or american["gauge"]
        if not _GAUGE.fullmatch(gauge):
            raise Refused(f"{_quoted(given)} is not a gauge; wanted one such as '2/0 AWG'")
        return _existing(f"{'1/0' if gauge == '0' else gauge} AWG", gauge_area(gauge), AWG, given)
    if thousands := _THOUSANDS.fullmatch(given):
        return _existing(f"{int(thousands[1])} kcmil", int(thousands[1]) * _KCMIL, AWG, given)
    try:
        value, unit = number(given)
    except Refused:
        value, unit = 0.0, ""
    if unit not in ("mm2", "mm²") or not 0 < value < math.inf:
        raise Refused(f"{_quoted(given)} is not a conductor size; wanted one such as '35 mm2', '2/0 AWG' or '250 kcmil'")
    return _existing(f"{value:.6g} mm2", value * _MM2, METRIC, given)


def gauge_diameter(gauge: str) -> Metre:
    """Diameter of a solid gauge from 4/0 to 40: 0.127 mm x 92^((36 - n)/39) (ASTM B258)."""
    n = 1 - int(gauge[0]) if gauge.endswith("/0") else int(gauge)
    return float(0.127e-3 * 92 ** ((36 - n) / 39))


def gauge_area(gauge: str) -> SquareMetre:
    """Area of that circle."""
    return math.pi / 4 * gauge_diameter(gauge) ** 2


def _existing(label: str, area: SquareMetre, system: str, given: str) -> Size:
    found = _by_label().get(label)
    if found:
        return found
    alike = (size for size in _by_label().values() if size.system == system)
    nearest = min(alike, key=lambda size: abs(math.log(size.area / area)) if area else size.area)
    raise Refused(f"there is no conductor of {_quoted(given)}; the nearest is {nearest.label}")


def _quoted(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:37] + "...")


def named(area: SquareMetre, rules: str) -> str:
    """What people call an area: the size of the rule book that has it, else one of the other book, else the area itself."""
    books = (rules, *{"iec", "nec"} - {rules})
    alike = (size.label for book in books for size in sizes(book) if abs(size.area - area) <= 1e-3 * size.area)
    return next(alike, shown(area, "m**2"))
