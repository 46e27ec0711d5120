"""The earth bar of a single-line diagram: every earth circuit that lands on it, and the bond of neutral and earth."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from engine.planner import Planned
from engine.sheets.drawings.named import Named, bond_told, link_symbol
from engine.sheets.drawings.paper import LINE, Paper, fitting, leading, room
from engine.sheets.drawings.symbols import REACH
from engine.stages.circuits import Ends

_NAME = 21.0  # mm, the room of its own name
_TAPS = LINE + 3.2  # a row of taps
_FIRST = 3.0  # the first tap; the bond lies before it


class EarthBar:
    """A bar with a tap each; `bonded` where this sheet also has the bond; `several` where other sheets have it too; `height` is what it takes."""

    def __init__(self, planned: Planned, named: Named, circuits: Sequence[Ends], wide: float, *, bonded: bool, several: bool) -> None:
        self._circuits, self._several, self._wide = circuits, several, wide
        self._gear, self._bonded, cables = planned.parts.switchgear.bond, bonded, named.cables
        self._words = {ends.name: ends.tag or f"{ends.name} {cables.sized(ends)}" for ends in circuits}
        self._rows = list(_rows(self._words, wide - _NAME - 4))
        told = bond_told(self._gear) if self._gear else "No bond of neutral and earth while the units run alone."
        self._told = fitting(told, wide - _NAME - 14) if bonded else []
        self.height = len(self._rows) * _TAPS + leading("".join(self._told)) * len(self._told) + 2.2

    def draw(self, paper: Paper, top: float) -> None:
        """Rows of taps under the bar, then the bond."""
        y = top + 1.2
        paper.words((1, y + 1.1), "earth bar")
        paper.bar((_NAME, y), (_NAME, y + _TAPS * (len(self._rows) - 1)))
        for row in self._rows:
            paper.bar((_NAME, y), (self._wide - 3, y))
            if self._several:
                paper.symbol("goes on", (self._wide - 3, y))
            for x, name in row:
                paper.wire((_NAME + x, y), (_NAME + x, y + LINE + 1.6), data_circuit=name)
                paper.strokes((_NAME + x, y + 2), ["PE"], upright=True)
                paper.words((_NAME + x + 1.6, y + LINE + 0.9), self._words[name])
            y += _TAPS
        if self._bonded:
            self._bond(paper, y - _TAPS, y + 1.2)

    def _bond(self, paper: Paper, bar: float, y: float) -> None:
        """Dashed where it is inside the units."""
        x = _NAME + 1
        if self._gear:
            look: dict[str, Any] = {"stroke_dasharray": "0.8 0.6"} if self._gear.name == "unit relay" else {}
            paper.wire((x, bar), (x, y), (x + 1, y), **look)
            paper.symbol(link_symbol(self._gear), (x + 1 + REACH, y), data_gear=self._gear.tag)
            paper.wire((x + 1 + 2 * REACH, y), (x + 8.8, y), **look)
            paper.strokes((x + 7.6, y), ["N"])
        for words in self._told:
            paper.words((x + 10, y + 1.1), words)
            y += leading("".join(self._told))


def _rows(words: Mapping[str, str], wide: float) -> Iterator[list[tuple[float, str]]]:
    """Taps in rows, each with where it lies on the bar."""
    row: list[tuple[float, str]] = []
    x = _FIRST
    for name, told in words.items():
        if row and x + 3.6 + room(told) > wide:
            yield row
            row, x = [], _FIRST
        row.append((x, name))
        x += 3.6 + room(told)
    yield row
