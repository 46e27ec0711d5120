"""The banks of a single-line diagram: one that feeds one unit in its row, one that feeds several above its bar."""

from __future__ import annotations

from collections.abc import Sequence

from engine.planner import Planned
from engine.sheets.drawings.columns import BESIDE, Columns, bank_cable
from engine.sheets.drawings.named import SYMBOL_OF, Named, tag_of
from engine.sheets.drawings.paper import LINE, Paper
from engine.sheets.drawings.symbols import REACH
from engine.stages.circuits import Ends
from engine.stages.switchgear import GearKind

START = 2 * REACH + 0.5  # mm from the left to where the line of a bank in its unit's row begins
_STEP = 2 * LINE + 0.9  # of what stands one below the other
_CHAIN = 3 * _STEP + 2 * LINE + 0.9  # from a bank down to its bar


class BankSide:
    """Banks at the left of a sheet."""

    def __init__(self, planned: Planned, at: Columns, named: Named) -> None:
        self._parts, self._at, self._named, self._cables = planned.parts, at, named, named.cables

    def chain(self, bank: str | None) -> Ends | None:
        """The circuit from a bank to its bar, where it has one."""
        return next((ends for ends in self._parts.circuits.of("battery", common=True) if ends.bank == bank), None)

    def high(self, bank: str | None) -> float:
        """What a bank takes from the top of its first unit on."""
        return _CHAIN + (LINE + 2.8 if self._parts.circuits.bond(bank) else 0.0) if self.chain(bank) else 0.0

    def draw(self, paper: Paper, bank: str, top: float, rows: Sequence[float], before: int | None, after: tuple[int, float] | None) -> None:
        """A bank from the top of its first unit, with what hangs on it at the heights of `rows`; on which sheet its bar began `before`, and goes on `after` a height."""
        if not self.chain(bank):
            self._own(paper, bank, rows[0])
            return
        x, end = self._at.bar + 2, rows[0]
        for y in rows:
            paper.dot((x, y))
        if (chain := self.chain(bank)) and before is None:
            end = self._chained(paper, chain, top)
        elif before is not None:
            paper.symbol("goes on", (x, rows[0] - REACH - 0.5), turned=-90)
            paper.stacked((self._at.bank + BESIDE, rows[0]), (f"bar {bank}", f"from sheet {before}"))
        paper.bar((x, min(rows[0], end) - 1), (x, max(rows[-1], end) + 1))
        if after:
            sheet, bottom = after
            paper.bar((x, rows[-1]), (x, bottom))
            paper.symbol("goes on", (x, bottom), turned=90)
            paper.words((self._at.bank, bottom + LINE), f"bar {bank}: more on sheet {sheet}")

    def _chained(self, paper: Paper, ends: Ends, top: float) -> float:
        """Bank, fuse, isolator and cable one below the other, down to the bar; where that is met."""
        x, label, y = self._at.bank + 3, self._at.bank + BESIDE, top + _STEP / 2
        end = top + _CHAIN
        paper.symbol("battery", (x, y - 0.2), turned=90, data_bank=ends.bank)
        paper.stacked((label, y), (ends.bank or "", self._named.joined), bold=True)
        paper.wire((x, y + REACH - 0.2), (x, end), (self._at.bar + 2, end), data_circuit=ends.name)
        paper.dot((self._at.bar + 2, end))
        gears = {gear.kind: gear for gear in self._parts.switchgear.of(ends)}
        for place, kind in enumerate((GearKind.FUSE, GearKind.ISOLATOR), 1):
            if gear := gears.get(kind):
                middle = y + _STEP * place
                paper.symbol(SYMBOL_OF[kind], (x, middle - 0.6), turned=90, data_gear=gear.tag)
                paper.strokes((x, middle + REACH - 0.2), gear.poles, upright=True)
                paper.stacked((label, middle), (tag_of(gear), self._named.rated(gear)))
        below = y + 2.5 * _STEP + LINE / 2
        size, goes_to = bank_cable(self._cables, ends)
        paper.stacked((label, below), (size,))
        paper.strokes((x, below + 0.6), ("plus", "minus"), upright=True)
        paper.words((label, end - 1.1), goes_to)
        self._bond(paper, ends.bank, (x, end), 2.2)
        return end

    def _own(self, paper: Paper, bank: str, y: float) -> None:
        paper.symbol("battery", (self._at.bank + START - REACH, y), data_bank=bank)
        paper.words((self._at.bank + BESIDE, y - 1.15), bank, bold=True)
        paper.words((self._at.bank + BESIDE, y + 3.45), self._named.joined)
        self._bond(paper, bank, (self._at.bank + BESIDE - 0.8, y), 4.6)

    def _bond(self, paper: Paper, bank: str | None, at: tuple[float, float], deep: float) -> None:
        """The bond of an earthed pole, where there is one: its conductor lands on the earth bar."""
        if ends := self._parts.circuits.bond(bank):
            x, y = at
            paper.dot(at)
            paper.wire(at, (x, y + deep))
            paper.symbol("earth", (x, y + deep + REACH), turned=90)
            paper.words((x + 2.6, y + deep + 3.45), ends.name)
