"""Conductors one by one: a line for each pole, and a device as what stands in each of the poles that it opens."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from engine.sheets.drawings.ink import BLACK, tag
from engine.sheets.drawings.named import SYMBOL_OF
from engine.sheets.drawings.paper import Paper, Point
from engine.sheets.drawings.symbols import EARTH_DASHES, REACH, THIN
from engine.stages.switchgear import Gear, GearKind

BAR = 4.4  # mm from bar to bar, and from line to line of a board: a name has room
_THICK = 0.7  # of a bar
_APART = 1.1  # from a line that meets a bar at its other side


def pole_line(paper: Paper, pole: str, *points: Point, bar: bool = False, **data: object) -> None:
    """A conductor through points; protective earth in dashes and points."""
    look = {"stroke_dasharray": EARTH_DASHES} if pole == "PE" and not bar else {}
    if look:
        paper.uses("earth line")
    paper.wire(*points, width=_THICK if bar else THIN, **look, **data)


def device(paper: Paper, gear: Gear, x: float, heights: Mapping[str, float], words: str, *, above: bool = False) -> None:
    """A device from x on, in its own poles; its tag, or what of it has room, between the first two lines, or `above` them."""
    kind = SYMBOL_OF[gear.kind]
    opened = [pole for pole in heights if pole in gear.poles]
    contact, told = ("relay", kind) if gear.kind is GearKind.RESIDUAL else (kind, kind)
    for place, pole in enumerate(opened):
        data: dict[str, Any] = {"data_pole": f"{gear.tag} {pole}"} | ({"data_gear": gear.tag} if place == 0 else {})
        paper.symbol(contact, (x + REACH, heights[pole]), told=told, **data)
    ys = [heights[pole] for pole in opened]
    if gear.kind is not GearKind.FUSE and len(ys) > 1:
        paper.put_line(((x + REACH, ys[0] - 1), (x + REACH, ys[-1] - 1)), stroke_dasharray="0.6 0.5")
    if gear.kind is GearKind.RESIDUAL:
        middle, high = (ys[0] + ys[-1]) / 2, (ys[-1] - ys[0]) / 2 + 1.3
        paper.put(
            tag(
                "ellipse", cx=f"{x + 2 * REACH:g}", cy=f"{middle:g}", rx="0.8", ry=f"{high:g}", fill="none", stroke=BLACK, stroke_width=THIN
            )
        )
    first = next(iter(heights.values()))
    paper.words((x, first - 2.9) if above else (x + 2 * REACH + 0.6, first + 3.2), words)


def clear(start: float, count: int, taken: Iterable[float]) -> list[float]:
    """Heights for so many lines from a start on, none at that of another: what meets a bar from both sides there looks like one line."""
    known = sorted(taken)
    found: list[float] = []
    y = start
    for _ in range(count):
        while any(abs(y - other) < _APART for other in known):
            y += 0.2
        found.append(y)
        y += BAR
    return found
