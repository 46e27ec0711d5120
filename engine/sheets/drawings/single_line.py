"""The single-line diagram: banks at the left, units in the middle, boards at the right; a line stands for all poles of a circuit.

Everything stands in the rows of the units and in columns as wide as their longest label, so that no two labels meet. Where the labels would
not fit there are more sheets: what serves the whole set is on the first, and bars say on which sheet they go on.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from engine.planner import Planned
from engine.sheets.drawings.bank_side import BankSide
from engine.sheets.drawings.columns import Row, columns, rows_of
from engine.sheets.drawings.common import Common
from engine.sheets.drawings.earth_bar import EarthBar
from engine.sheets.drawings.foot import HEAD, Foot, head
from engine.sheets.drawings.paper import A4, LINE, Paper, fitting
from engine.sheets.drawings.unit_row import UnitRow
from engine.sheets.head import stamp
from engine.stages.circuits import INCOMING_BOARD, LOAD_BOARD, Ends

_MOST = 6  # units on a sheet
_LEAST, _MOST_PITCH = 8.4, 15.0  # mm from wire to wire: two lines of letters, and where there is room
_NAMES = LINE + 1  # the names of the boards above their bars


def single_line(planned: Planned, size: tuple[float, float] = A4, *, headed: bool = True) -> tuple[str, ...]:
    """The sheets of the diagram as SVG, `size` in millimetres of paper; one that says so where the plan has no units. Not `headed` on a page
    that says itself which plan it is of.
    """
    rows = rows_of(planned)
    if not rows:
        return (_empty(planned, size),)
    sheets = _sheets(planned, rows, size, headed=headed)
    return tuple(_Sheet(planned, sheets, place, size, headed=headed).svg() for place in range(len(sheets)))


def _empty(planned: Planned, size: tuple[float, float]) -> str:
    paper = Paper(size, "single-line diagram", stamp(planned.plan))
    head(paper, planned, "single-line diagram")
    paper.words((1, HEAD + 2 * LINE), "The plan has no units: nothing to draw.")
    return paper.svg()


def _sheets(planned: Planned, rows: Sequence[Row], size: tuple[float, float], *, headed: bool) -> list[list[Row]]:
    """As many units on a sheet as have room there."""
    for most in range(_MOST, 1, -1):
        sheets = _split(rows, most)
        if all(_Sheet(planned, sheets, place, size, headed=headed).fits for place in range(len(sheets))):
            return sheets
    return [[row] for row in rows]


def _split(rows: Sequence[Row], most: int) -> list[list[Row]]:
    """A bank whole on one sheet where it can be, else a phase of it."""
    sheets: list[list[Row]] = []
    for group in _groups(rows, most):
        if sheets and len(sheets[-1]) + len(group) <= most:
            sheets[-1] += group
        else:
            sheets.append(list(group))
    return sheets


def _groups(rows: Sequence[Row], most: int) -> Iterator[list[Row]]:
    for bank in dict.fromkeys(row.bank for row in rows):
        alike = [row for row in rows if row.bank == bank]
        if len(alike) <= most:
            yield alike
            continue
        for phase in dict.fromkeys(row.unit.phase for row in alike):
            some = [row for row in alike if row.unit.phase == phase]
            count = -(-len(some) // most)
            for place in range(count):
                yield some[place * len(some) // count : (place + 1) * len(some) // count]


class _Sheet:
    """One sheet: the units of `sheets[place]`."""

    def __init__(self, planned: Planned, sheets: Sequence[Sequence[Row]], place: int, size: tuple[float, float], *, headed: bool) -> None:
        self._headed = headed
        self._planned, self._parts, self._size = planned, planned.parts, size
        self._all, self._place, self._rows = sheets, place, sheets[place]
        self._at, self._named = columns(planned, self._rows, size[0])
        self._common = Common(planned, self._named, self._at) if place == 0 else None
        self._earth = EarthBar(planned, self._named, self._earths(), self._at.incoming - 1, bonded=place == 0, several=len(sheets) > 1)
        self._banks = BankSide(planned, self._at, self._named)
        on = Counter(row.bank for row in self._rows)
        self._needs = max([_LEAST, *(self._banks.high(bank) / (2 * count) for bank, count in on.items() if self._begins(bank))])
        self._pitch, self._foot = _LEAST, Foot((), (), size[0])
        used, notes = self._drawn(_MOST_PITCH).used, tuple(self._named.notes())
        for told in (notes, (" ".join(notes),)):
            self._foot = Foot(used, told, size[0])
            self._pitch = min(max(_MOST_PITCH, self._needs), self._room / (2 * len(self._rows)))
            if self.fits:
                break

    # --- how much room there is ---

    @property
    def _top(self) -> float:
        """Where the first unit's row begins."""
        return (HEAD if self._headed else 0.0) + _NAMES

    @property
    def _below(self) -> float:
        return LINE + 1.6 if self._place < len(self._all) - 1 else 1.0

    @property
    def _room(self) -> float:
        return self._size[1] - self._top - self._below - self._earth.height - self._foot.height

    @property
    def _down(self) -> float:
        """From the names of the boards down to the legend."""
        return self._room + self._below + self._earth.height

    @property
    def fits(self) -> bool:
        """Whether every label has its place."""
        high = self._common.height if self._common else 0.0
        return self._pitch >= self._needs and self._down >= high and self._at.end <= self._size[0]

    def _earths(self) -> list[Ends]:
        """The earth circuits of this sheet: its units', those of the banks that begin here, on the first that of the set."""
        tags, banks = {row.unit.tag for row in self._rows}, {row.bank for row in self._rows if self._begins(row.bank)}
        return [
            ends
            for ends in self._parts.circuits.circuits
            if ends.kind == "earth" and (ends.tag in tags if ends.tag else ends.bank in banks if ends.bank else self._place == 0)
        ]

    def _sheet_of(self, bank: str | None) -> list[int]:
        return [place for place, rows in enumerate(self._all) if any(row.bank == bank for row in rows)]

    def _begins(self, bank: str | None) -> bool:
        return self._sheet_of(bank)[0] == self._place

    # --- drawing ---

    def svg(self) -> str:
        """The whole sheet."""
        paper = self._drawn(self._pitch)
        top = self._size[1] - self._foot.height
        self._foot.draw(paper, top)
        return paper.svg()

    def _drawn(self, pitch: float) -> Paper:
        count = len(self._all)
        title = "single-line diagram" + (f", sheet {self._place + 1} of {count}" if count > 1 else "")
        paper = Paper(self._size, title, stamp(self._planned.plan))
        if self._headed:
            head(paper, self._planned, title)
        top = self._top
        ends, units = self._boards(paper, top, pitch), UnitRow(self._planned, self._at, self._named)
        for place, row in enumerate(self._rows):
            units.draw(paper, row, top + 2 * pitch * place, pitch, ends)
        for bank in dict.fromkeys(row.bank for row in self._rows if row.bank):
            self._bank(paper, bank, top, pitch)
        self._earth.draw(paper, top + 2 * pitch * len(self._rows) + self._below)
        return paper

    def _bank(self, paper: Paper, bank: str, top: float, pitch: float) -> None:
        sheets = self._sheet_of(bank)
        rows = [top + pitch * (2 * place + 0.5) for place, row in enumerate(self._rows) if row.bank == bank]
        before = None if self._begins(bank) else sheets[0] + 1
        after = (self._place + 2, top + 2 * pitch * len(self._rows)) if sheets[-1] > self._place else None
        self._banks.draw(paper, bank, rows[0] - pitch / 2, rows, before, after)

    def _boards(self, paper: Paper, top: float, pitch: float) -> float:
        """The bars of the boards, and what serves the whole set; where that of the incoming board ends."""
        at, last = self._at, len(self._rows) - 1
        bottom = top + 2 * pitch * len(self._rows)
        lines = {INCOMING_BOARD: (at.incoming + 3, top + pitch / 2, top + pitch * (2 * last + 0.5))}
        lines[LOAD_BOARD] = (at.load + 3, top + 1.5 * pitch, top + pitch * (2 * last + 1.5))
        if not any(row.incoming for row in self._rows):
            del lines[INCOMING_BOARD]
        ends = 0.0
        bars = {name: x for name, (x, _, _) in lines.items()}
        met = self._common.draw(paper, top, self._down, pitch, bars) if self._common else {}
        for name, (x, first, end) in lines.items():
            ys = [first, end, *met.get(name, ())]
            low, high = min(ys) - 1.2, max(ys) + 1.2
            if self._place > 0:
                low = top + 1.0
                paper.symbol("goes on", (x, top + 1.6), turned=-90)
            if self._place < len(self._all) - 1:
                high = max(bottom, high + 2)
                paper.symbol("goes on", (x, high), turned=90)
            paper.bar((x, low), (x, high))
            ends = high if name == INCOMING_BOARD else ends
            side = -1 if name == INCOMING_BOARD else 1
            paper.words((x + side, top - 1.6), name, anchor="end" if side < 0 else "start")
        if self._place > 0:
            told = fitting("boards from sheet 1; what serves the whole set is there", at.end - at.common - 2)
            paper.stacked((at.common + 1, top + LINE * (1.5 + len(told) / 2)), told)
        return ends
