"""What stands round a drawing: which plan it is of above it, its legend and notes below."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from engine.planner import Planned
from engine.sheets.drawings.paper import LINE, Paper, fitting, leading, room
from engine.sheets.drawings.symbols import REACH, SYMBOLS
from engine.sheets.head import FIRST, STANDINGS, stamp
from engine.sheets.text.layout import fit
from engine.text import clean

HEAD = 8.7  # mm
_ROW = 6.2  # of the legend
_GAP = 2.0


def head(paper: Paper, planned: Planned, title: str) -> None:
    """Site and title, plan, standing."""
    wide = paper.size[0]
    mark = stamp(planned.plan)
    name = clean(planned.facts.answers.site.name or "site not named", 60)
    left = wide - room(mark) - 2 * _GAP
    while room(f"{name}: {title}", bold=True) > left and len(name) > 2:
        name = fit(name, len(name) - 3).rstrip()
    paper.words((1, 3.3), f"{name}: {title}", bold=True)
    paper.words((wide - 1, 3.3), mark, anchor="end")
    low = 3.3 + leading(name)
    paper.words((1, low), STANDINGS[planned.plan.standing], bold=True)
    paper.words((wide - 1, low), FIRST, anchor="end")


class Foot:
    """Legend and notes; `height` is what they take."""

    def __init__(self, names: Sequence[str], notes: Iterable[str], wide: float) -> None:
        self._rows = list(_flowing(names, wide - 2))
        self._lines = [part for note in notes for part in fitting(note, wide - 2)]
        self._step = leading("".join(self._lines))
        self.height = _ROW * len(self._rows) + self._step * len(self._lines) + 1.5

    def draw(self, paper: Paper, top: float) -> None:
        """Below a fine line."""
        paper.wire((1, top), (paper.size[0] - 1, top), width=0.15)
        y = top + 0.8 + _ROW / 2
        for row in self._rows:
            for x, name in row:
                paper.symbol(name, (x + REACH, y))
                paper.words((x + 2 * REACH + 1, y + 1.1), SYMBOLS[name].words)
            y += _ROW
        y += LINE - _ROW / 2 - 0.4
        for words in self._lines:
            paper.words((1, y), words)
            y += self._step


def _flowing(names: Sequence[str], wide: float) -> Iterator[list[tuple[float, str]]]:
    """Items of the legend in rows, each with where it begins."""
    row: list[tuple[float, str]] = []
    x = 1.0
    for name in names:
        takes = 2 * REACH + 1 + room(SYMBOLS[name].words) + _GAP
        if row and x + takes - _GAP > wide:
            yield row
            row, x = [], 1.0
        row.append((x, name))
        x += takes
    if row:
        yield row
