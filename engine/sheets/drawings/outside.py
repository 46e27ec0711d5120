"""What serves the whole set, conductor by conductor: the supply to the bars of the incoming board, those of the load board to the loads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal

from engine.planner import Planned
from engine.sheets.drawings.named import link_symbol
from engine.sheets.drawings.paper import LINE, Paper
from engine.sheets.drawings.poles import clear, device, pole_line
from engine.sheets.drawings.symbols import REACH
from engine.stages.circuits import INCOMING_BOARD, LOAD_BOARD
from engine.stages.switchgear import Gear, GearKind

WIDE = 49.5  # mm, the least that it needs
_DROP = 2.6  # mm from one surge path to the next
_DEVICE = 2 * REACH + 1.6
_UNDER = 2.0  # below the lines, where what stands between them and earth begins


class Outside:
    """From `start` to `end`, mm from the left."""

    def __init__(self, planned: Planned, start: float, end: float) -> None:
        self._planned, self._parts, self._start, self._end = planned, planned.parts, start, end

    def draw(self, paper: Paper, top: float, taken: Sequence[float], boards: Mapping[str, Mapping[str, float]]) -> float:
        """The lines of each board; how far down they reach."""
        y = top + 10.0
        for board, bars in boards.items():
            heights = dict(zip(bars, clear(y, len(bars), taken), strict=True))
            y = self._board(paper, board, bars, heights) + 11.0
        return y - 11.0

    def _board(self, paper: Paper, board: str, bars: Mapping[str, float], heights: Mapping[str, float]) -> float:
        kind: Literal["incoming", "load"] = "incoming" if board == INCOMING_BOARD else "load"
        circuit = next(iter(self._parts.circuits.of(kind, common=True)), None)
        last = self._end - 6.0
        for pole, y in heights.items():
            data: dict[str, Any] = {"data_circuit": f"{circuit.name} {pole}"} if circuit else {}
            pole_line(paper, pole, (bars[pole], y), (last, y), **data)
            paper.dot((bars[pole], y))
            paper.words((self._end - 5.2, y + 1.1), pole)
        x = self._start
        for gear in self._parts.switchgear.boards.get(board, ()):
            x = self._surge(paper, gear, x, heights)
        if board == LOAD_BOARD and (bond := self._parts.switchgear.bond):
            x = self._bond(paper, bond, x, heights)
        for gear in self._devices(kind):
            device(paper, gear, x, heights, gear.tag, above=True)
            x += _DEVICE
        first = next(iter(heights.values()))
        if kind == "incoming":
            paper.symbol(self._planned.facts.incoming_kind, (last - REACH, first - 7.9))
            paper.words((last - 2 * REACH - 1, first - 6.8), f"from the {self._planned.facts.incoming_kind}", anchor="end")
        else:
            paper.words((self._end, first - 3.1 - LINE), "to the loads", anchor="end")
        return max(heights.values()) + _UNDER + 2 * REACH + 2

    def _devices(self, kind: Literal["incoming", "load"]) -> list[Gear]:
        """What stands in the lines of a board: its common circuit's, and behind the load bar what trips on residual current."""
        rows = self._parts.switchgear.rows
        found = [
            gear for ends in self._parts.circuits.of(kind, common=True) for gear in rows[ends.name] if gear.kind is not GearKind.RESIDUAL
        ]
        residual = [gear for row in rows.values() for gear in row if gear.kind is GearKind.RESIDUAL]
        return found + (residual if kind == "load" else [])

    def _surge(self, paper: Paper, gear: Gear, x: float, heights: Mapping[str, float]) -> float:
        """A path from each line and neutral to earth; where what comes next begins."""
        poles = [pole for pole in gear.poles if pole in heights and pole != "PE"]
        top, earth = heights["PE"] + _UNDER, heights["PE"]
        for place, pole in enumerate(poles):
            at = x + 1.4 + _DROP * place
            paper.dot((at, heights[pole]))
            paper.wire((at, heights[pole]), (at, top))
            paper.symbol("surge", (at, top + REACH), turned=90, **({"data_gear": gear.tag} if place == 0 else {}))
        return self._to_earth(paper, x + 1.4, x + 1.4 + _DROP * len(poles), top + 2 * REACH, earth, gear.tag)

    def _bond(self, paper: Paper, gear: Gear, x: float, heights: Mapping[str, float]) -> float:
        """The bond of island mode between neutral and earth; dashed where it is inside the units."""
        at, top = x + 1.4, heights["PE"] + _UNDER
        paper.dot((at, heights["N"]))
        look: dict[str, Any] = {"stroke_dasharray": "0.8 0.6"} if gear.name == "unit relay" else {}
        paper.wire((at, heights["N"]), (at, top), **look)
        paper.symbol(link_symbol(gear), (at, top + REACH), turned=90, data_gear=gear.tag)
        return self._to_earth(paper, at, at + _DROP, top + 2 * REACH, heights["PE"], gear.tag)

    def _to_earth(self, paper: Paper, left: float, right: float, low: float, earth: float, words: str) -> float:
        """Along below what stands there and up to the earth conductor."""
        pole_line(paper, "PE", (left, low), (right, low), (right, earth))
        paper.dot((right, earth))
        paper.words((right + 0.8, low - REACH + 1.1), words)
        return right + 6.2
