"""The wall as three drawings to one scale: power, data, earth. Whole SVG documents, made for a piece of paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.sheets.drawings import wall_data as data
from engine.sheets.drawings import wall_earth as earth
from engine.sheets.drawings import wall_power as power
from engine.sheets.drawings.placing import Spot
from engine.sheets.drawings.wall_page import Sheet, drawings

if TYPE_CHECKING:
    from engine.planner import Planned

SIZE: Spot = (277.0, 170.0)  # millimetres: what is left of an A4 sheet on its side


def wall_drawings(planned: Planned, size: Spot = SIZE) -> dict[str, str]:
    """All three by the names of their files, `size` millimetres of paper each: shown so wide no word is smaller than 9 pt."""
    return {f"wall-{name}.svg": drawn for name, drawn in drawings(planned, _sheets(planned), size)}


def wall_power(planned: Planned, size: Spot = SIZE, *, headed: bool = True) -> str:
    """Battery, load, incoming and solar cables."""
    return _one(planned, size, "power", headed=headed)


def wall_data(planned: Planned, size: Spot = SIZE, *, headed: bool = True) -> str:
    """Links, data leads, ports and terminators, with the power cables in grey behind them."""
    return _one(planned, size, "data", headed=headed)


def wall_earth(planned: Planned, size: Spot = SIZE, *, headed: bool = True) -> str:
    """Protective conductors, bonds, the earth bar."""
    return _one(planned, size, "earth", headed=headed)


def _one(planned: Planned, size: Spot, name: str, *, headed: bool) -> str:
    """One drawing, to the scale that all three have room in; not `headed` on a page that says itself which plan it is of."""
    return dict(drawings(planned, _sheets(planned), size, name, headed=headed))[name]


def _sheets(planned: Planned) -> list[Sheet]:
    return [part.sheet(planned) for part in (power, data, earth)]
