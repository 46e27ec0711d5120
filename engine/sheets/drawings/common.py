"""What serves the whole set, at the right of a single-line diagram: the supply down to the incoming bar, the load bar down to the consumers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from engine.frozen import dataclass
from engine.planner import Planned
from engine.sheets.drawings.columns import DEVICE, Columns
from engine.sheets.drawings.named import SYMBOL_OF, Named, tag_of
from engine.sheets.drawings.paper import LINE, Paper, fitting
from engine.sheets.drawings.symbols import REACH
from engine.stages.circuits import INCOMING_BOARD, LOAD_BOARD, Ends, lines_of
from engine.stages.switchgear import Gear, GearKind

_APART = 2.6  # mm, from what meets a bar at its other side
_MOST_APART = 12.0  # between the two lines
_GAP = 1.4  # between one thing and the next


@dataclass(frozen=True)
class _Item:
    """Something in the line from top to bottom: a symbol, a cable's strokes, or where the bar of a board is met."""

    symbol: str = ""
    words: tuple[str, ...] = ()
    poles: tuple[str, ...] = ()
    gear: Gear | None = None
    circuit: Ends | None = None
    meets: str = ""

    @property
    def height(self) -> float:
        """What it takes from top to bottom."""
        if self.meets:
            return 2 * LINE + _APART
        drawn = (2 * REACH if self.symbol else 1.0) + 1.25 * len(self.poles)
        return max(len(self.words) * LINE, drawn) + _GAP


class Common:
    """The lines of the two boards; `height` is what they take together."""

    def __init__(self, planned: Planned, named: Named, at: Columns) -> None:
        self._planned, self._parts, self._at = planned, planned.parts, at
        self._named, self._cables = named, named.cables
        self._lines = [tuple(line) for line in (self._supply(), self._consumers())]
        self.height = sum(item.height for line in self._lines for item in line) + 2.0 * len(self._lines)

    # --- what there is, from top to bottom ---

    def _supply(self) -> Iterator[_Item]:
        """The supply down to its bar, and what sits between that and earth."""
        if self._planned.facts.incoming_kind == "none":
            return
        kind = self._planned.facts.incoming_kind
        yield _Item(kind, self._supply_words())
        yield from self._circuit("incoming", reverse=False)
        yield _Item(meets=INCOMING_BOARD, gear=self._surge(INCOMING_BOARD))

    def _supply_words(self) -> tuple[str, ...]:
        facts, incoming = self._planned.facts, self._planned.facts.answers.incoming
        volts, fault = facts.figure("incoming.voltage"), facts.figure("incoming.prospective_fault")
        rating = facts.figure("incoming.rating")
        known = [str(incoming.kind), f"{rating or ''} {volts or 'voltage not answered'}", f"fault {fault or 'not answered'}"]
        return tuple(part for words in (*known, facts.answers.earthing.system or "earthing not answered") for part in self._fitted(words))

    def _surge(self, board: str) -> Gear | None:
        return next(iter(self._parts.switchgear.boards.get(board, ())), None)

    def _consumers(self) -> Iterator[_Item]:
        """From the load bar down; behind one unit alone its own circuit ends there."""
        rows = self._parts.switchgear.rows
        common = next(iter(self._parts.circuits.of("load", common=True)), None)
        yield _Item(meets=LOAD_BOARD, gear=self._surge(LOAD_BOARD))
        if common:
            yield from self._circuit("load", reverse=True)
        for name, row in rows.items():
            for gear in row:
                if gear.kind is GearKind.RESIDUAL and (common is None or name == common.name):
                    yield self._piece(gear)
        yield _Item("consumers", ("to the loads",))

    def _circuit(self, kind: Literal["incoming", "load"], *, reverse: bool) -> Iterator[_Item]:
        """The common circuit of a kind: what opens it, then its cable; the other way round behind the load bar."""
        for ends in self._parts.circuits.of(kind, common=True):
            pieces = [self._piece(gear) for gear in self._parts.switchgear.of(ends) if gear.kind is not GearKind.RESIDUAL]
            lines = lines_of(self._planned.facts, ends)
            told = (self._cables.sized(ends), self._cables.neutral(ends), self._cables.earth(ends))
            cable = _Item("", tuple(part for words in told for part in self._fitted(words)), (*lines, "N", "PE"), circuit=ends)
            yield from (cable, *pieces) if reverse else (*pieces, cable)

    def _piece(self, gear: Gear) -> _Item:
        there = " (is there)" if gear.kind is GearKind.THERE else ""
        words = (*self._fitted(tag_of(gear) + there), *self._fitted(self._named.rated(gear)))
        return _Item(SYMBOL_OF[gear.kind], words, gear.poles, gear)

    def _fitted(self, words: str) -> list[str]:
        return fitting(words, self._at.common_room)

    # --- drawing ---

    def draw(self, paper: Paper, top: float, high: float, pitch: float, bars: Mapping[str, float]) -> Mapping[str, Sequence[float]]:
        """The lines one below the other; where they meet the bar of which board."""
        met: dict[str, list[float]] = {}
        spare = min(_MOST_APART, max(0.0, (high - self.height) / len(self._lines)))
        y = top
        for line in self._lines:
            y = self._line(paper, line, y, (top, pitch), bars, met) + 2.0 + spare
        return met

    def _line(
        self,
        paper: Paper,
        line: Sequence[_Item],
        y: float,
        grid: tuple[float, float],
        bars: Mapping[str, float],
        met: dict[str, list[float]],
    ) -> float:
        """One line; where it ends."""
        x, ends = self._at.common + REACH, []
        for item in line:
            if item.meets:
                y = _clear(y + item.height / 2, *grid)
                self._join(paper, item, (x, y), bars)
                met.setdefault(item.meets, []).append(y)
                ends.append(y)
                y += item.height / 2
                continue
            middle = y + item.height / 2
            ends += [middle] if item.symbol else []
            self._item(paper, item, x, middle)
            y += item.height
        if line:
            paper.wire((x, ends[0]), (x, ends[-1]))
        return y

    def _item(self, paper: Paper, item: _Item, x: float, y: float) -> None:
        first = y - (item.height - _GAP) / 2
        if item.symbol:
            turned = 0 if item.symbol == "generator" else 90
            middle = first + REACH if item.poles else y
            paper.symbol(item.symbol, (x, middle), turned=turned, **({"data_gear": item.gear.tag} if item.gear else {}))
        if item.poles:
            start = first + 2 * REACH + 0.6 if item.symbol else y - 0.6 * (len(item.poles) - 1)
            paper.strokes((x, start), item.poles, upright=True, **({"data_circuit": item.circuit.name} if item.circuit else {}))
        paper.stacked((x + DEVICE - REACH, y), item.words)

    def _join(self, paper: Paper, item: _Item, at: tuple[float, float], bars: Mapping[str, float]) -> None:
        """To the bar, and at the other side over the surge device to earth."""
        (x, y), bar = at, bars[item.meets]
        paper.across(y, bar, x, [other for other in bars.values() if other > bar])
        paper.dot((bar, y))
        paper.dot(at)
        if gear := item.gear:
            poles = [pole for pole in gear.poles if pole != "PE"]
            surge = x + 1.25 * len(poles) + 1.4 + REACH
            paper.wire(at, (surge, y))
            paper.strokes((x + 1.8, y), poles)
            paper.symbol("surge", (surge, y), data_gear=gear.tag)
            paper.symbol("earth", (surge + 2 * REACH, y))
            paper.astride((surge + 2 * REACH + 2.4, y), gear.tag, str(gear.voltage or ""))


def _clear(y: float, top: float, pitch: float) -> float:
    """The next height that is no wire's of a unit: what meets a bar from both sides at one height looks like one line."""
    wire = top + pitch * (round((y - top) / pitch - 0.5) + 0.5)
    return wire + _APART if abs(y - wire) < _APART else y
