"""Blocks onto pages: the program fills each page itself, so that it can number them and nothing is cut off where a printer breaks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from engine.frozen import dataclass
from engine.sheets.folder.blocks import Block, Chapter, Labels, Para, Row, Table, Ticks, Title, Turn

MARGIN = 10.0  # millimetres at every side
HEAD, FOOT = 10.4, 6.0  # what every page has above and below
SPARE = 1.0  # millimetres that stay free at the foot


@dataclass(frozen=True)
class Paper:
    """A size of paper: its name, width and height in millimetres (ISO 216; ANSI/ASME Y14.1 size A)."""

    name: str
    wide: float
    high: float

    def room(self, *, wide: bool) -> tuple[float, float]:
        """What stands between the margins, head and foot; `wide`: on its side."""
        across, down = (self.high, self.wide) if wide else (self.wide, self.high)
        return across - 2 * MARGIN, down - 2 * MARGIN - HEAD - FOOT - SPARE


A4, LETTER = Paper("A4", 210.0, 297.0), Paper("letter", 215.9, 279.4)


def filled(chapter: Chapter, paper: Paper) -> tuple[tuple[Block, ...], ...]:
    """The pages of a chapter; what is higher than a page stands on one of its own."""
    across, down = paper.room(wide=chapter.wide)
    pages: list[list[Block]] = [[]]
    left = down
    for group in _groups(chapter.blocks, across):
        if group == (Turn(),):
            if pages[-1]:
                pages.append([])
                left = down
            continue
        high = sum(_grown(block, pages[-1][-1:] if not k else (), across) for k, block in enumerate(group))
        if pages[-1] and high > left:
            pages.append([])
            left = down
            high = sum(_grown(block, (), across) for block in group)
        left -= high
        for block in group:
            _put(pages[-1], block)
    return tuple(tuple(page) for page in pages if page)


def _groups(blocks: Iterable[Block], across: float) -> Iterator[tuple[Block, ...]]:
    """What is never parted: a title with what follows it, and a paragraph between with both; a row that belongs to the one before it."""
    held: list[Block] = []
    for piece in _pieces(blocks, across):
        if len(held) > 1 and isinstance(piece, Title | Turn):
            yield tuple(held)
            held = []
        held.append(piece)
        if isinstance(piece, Title) or (len(held) > 1 and isinstance(piece, Para) and isinstance(held[-2], Title)):
            continue
        yield tuple(held)
        held = []
    if held:
        yield tuple(held)


def _pieces(blocks: Iterable[Block], across: float) -> Iterator[Block]:
    for block in blocks:
        if isinstance(block, Table):
            yield from _rows(block, across)
        elif isinstance(block, (Ticks, Labels)):
            yield from block.pieces()
        else:
            yield block


def _rows(table: Table, across: float) -> Iterator[Table]:
    """A table by rows, those that follow each other closely together; all have the columns of the whole, only the last has the gap below."""
    some: list[list[Row]] = []
    for row in table.rows:
        if row.follows and some:
            some[-1].append(row)
        else:
            some.append([row])
    whole = replace(table, widths=table.columns(across))
    for number, rows in enumerate(some, 1):
        yield replace(whole, rows=tuple(rows), gap=table.gap and number == len(some))


def _grown(block: Block, before: Sequence[Block], across: float) -> float:
    """What a page grows by: a table that goes on needs no head again."""
    if isinstance(block, Table) and before and _goes_on(before[-1], block):
        columns = block.columns(across)
        return block.height(across) - block.head_height(columns)
    return block.height(across)


def _goes_on(before: Block, table: Table) -> bool:
    return isinstance(before, Table) and not before.gap and (before.head, before.widths) == (table.head, table.widths)


def _put(page: list[Block], block: Block) -> None:
    """A block at the end of a page, joined to the one before where both are parts of one."""
    last = page[-1] if page else None
    if isinstance(block, Table) and isinstance(last, Table) and _goes_on(last, block):
        page[-1] = replace(last, rows=(*last.rows, *block.rows), gap=block.gap)
    elif isinstance(block, Ticks) and isinstance(last, Ticks):
        page[-1] = Ticks((*last.items, *block.items))
    elif isinstance(block, Labels) and isinstance(last, Labels) and (last.across, last.high) == (block.across, block.high):
        page[-1] = replace(last, cells=(*last.cells, *block.cells))
    else:
        page.append(block)
