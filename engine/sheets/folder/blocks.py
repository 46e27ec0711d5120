"""What a page is made of: blocks, each of which knows what room it takes at most.

Heights and widths in millimetres. A block that is too long for a page gives the pieces of which it is made, which may stand on different pages; a
table's head is printed again on each. The measures here are those of the style sheet, which is made from them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engine.frozen import dataclass
from engine.sheets.folder.letters import LINE, SIZE, Words, lines, longest, runs, width

GAP = 1.6  # below a paragraph, a table, a picture
PAD = 1.0  # left and right of a cell
LEAN = 0.4  # above and below what stands in a cell
HAIR = 0.2  # a line of a table
TITLE_SIZE, TITLE = 4.2, 7.8  # a heading's letters, and all its room
INDENT = 6.0  # before the words of a box to tick
CUT = 0.8  # within a label, from the line along which it is cut


@dataclass(frozen=True)
class Title:
    """A heading within a paper, with a remark at its right end; it stays with what follows."""

    words: str
    right: str = ""

    def height(self, _room: float) -> float:
        """One line on a rule."""
        return TITLE


@dataclass(frozen=True)
class Para:
    """A paragraph; `framed` ones stand in a box, for what nobody may overlook."""

    words: Words
    framed: bool = False
    strong: bool = False

    def height(self, room: float) -> float:
        """Its lines and the gap below."""
        frame = 2 * (PAD + HAIR) if self.framed else 0.0
        return lines(self.words, room - frame, bold=self.strong) * LINE + frame + GAP


@dataclass(frozen=True)
class Ticks:
    """Things to tick, each with its box."""

    items: tuple[Words, ...]

    def pieces(self) -> Iterator[Ticks]:
        """One by one."""
        yield from (Ticks((item,)) for item in self.items)

    def height(self, room: float) -> float:
        """All of them; the gap stands below each, a small one."""
        return sum(lines(item, room - INDENT) * LINE + 2 * LEAN for item in self.items)


@dataclass(frozen=True)
class Row:
    """One row of a table; `strong` in bold, `shaded` to guide the eye, `least` the height that writing in it needs.

    `spans` is how many columns each cell takes, where any takes more than one.
    """

    cells: tuple[Words, ...]
    strong: bool = False
    shaded: bool = False
    least: float = 0.0
    follows: bool = False  # never parted from the row before
    spans: tuple[int, ...] = ()


@dataclass(frozen=True)
class Table:
    """Rows under a head. `widths` are shares of the room; without them they follow from what stands in the columns. `ruled`: lines between columns,
    for what is written in.
    """

    head: tuple[Words, ...]
    rows: tuple[Row, ...]
    widths: tuple[float, ...] = ()
    gap: bool = True
    ruled: bool = False

    def columns(self, room: float) -> tuple[float, ...]:
        """The width of each column."""
        if self.widths:
            return tuple(room * share / sum(self.widths) for share in self.widths)
        plain = [row for row in (self.top, *self.rows) if not row.spans]
        return _shared([[row.cells[k] for row in plain] for k in range(len(self.head))], room)

    @property
    def top(self) -> Row:
        """The head as a row."""
        return Row(self.head, strong=True)

    def row_height(self, row: Row, columns: Sequence[float]) -> float:
        """The tallest of its cells."""
        rooms = _merged(columns, row.spans) if row.spans else columns
        tall = max(lines(cell, wide - 2 * PAD - HAIR, bold=row.strong) for cell, wide in zip(row.cells, rooms, strict=True))
        return max(tall * LINE + 2 * LEAN, row.least) + HAIR

    def head_height(self, columns: Sequence[float]) -> float:
        """Nothing where no column has a name."""
        return self.row_height(self.top, columns) if any(self.head) else HAIR

    def height(self, room: float) -> float:
        """Head, rows and the gap below."""
        columns = self.columns(room)
        return self.head_height(columns) + sum(self.row_height(row, columns) for row in self.rows) + (GAP if self.gap else 0.0)


def _merged(columns: Sequence[float], spans: Sequence[int]) -> list[float]:
    """The widths of cells that take several columns."""
    left = list(columns)
    return [sum(left.pop(0) for _ in range(span)) for span in spans]


def _shared(texts: Sequence[Sequence[Words]], room: float) -> tuple[float, ...]:
    """Columns by what stands in them: none below its longest word, the widest gives way first."""
    least = [max(longest(column, bold=True) + 2 * PAD + HAIR, 6.0) for column in texts]
    whole = [max(_whole(words) for words in column) + 2 * PAD + 2 * HAIR for column in texts]
    spare = room - sum(least)
    if spare <= 0:
        return tuple(room * some / sum(least) for some in least)
    wanted = [max(some - low, 0.0) for some, low in zip(whole, least, strict=True)]
    if sum(wanted) <= spare:
        rest = (spare - sum(wanted)) / len(texts)
        return tuple(low + want + rest for low, want in zip(least, wanted, strict=True))
    level = _level(wanted, spare)
    return tuple(low + min(want, level) for low, want in zip(least, wanted, strict=True))


def _level(wanted: Sequence[float], spare: float) -> float:
    """The height to which water rises that fills these up."""
    left, rest = sorted(wanted), spare
    while left and left[0] * len(left) <= rest:
        rest -= left.pop(0)
    return rest / len(left) if left else max(wanted)


def _whole(words: Words) -> float:
    """A text on one line."""
    return sum(4.4 if run.box else 4.4 * run.ticks + run.blank + width(run.text, bold=True) for run in runs(words)) * 1.02


@dataclass(frozen=True)
class Picture:
    """A drawing of its own size in millimetres."""

    svg: str
    wide: float
    high: float

    def height(self, _room: float) -> float:
        """Its own, and the gap."""
        return self.high + GAP


@dataclass(frozen=True)
class Signed:
    """Lines to sign on: who, name, date."""

    who: tuple[str, ...]

    def height(self, _room: float) -> float:
        """Room for a hand."""
        return 9.0 * len(self.who) + GAP


@dataclass(frozen=True)
class Labels:
    """Labels to cut out, `across` in a row, each so high; a cell is its lines, the first in bold."""

    cells: tuple[tuple[Words, ...], ...]
    across: int
    high: float

    def pieces(self) -> Iterator[Labels]:
        """Row by row."""
        for start in range(0, len(self.cells), self.across):
            yield Labels(self.cells[start : start + self.across], self.across, self.high)

    def height(self, _room: float) -> float:
        """All rows of it."""
        return self.high * -(-len(self.cells) // self.across)


@dataclass(frozen=True)
class Together:
    """Blocks that are never parted."""

    blocks: tuple[Block, ...]

    def height(self, room: float) -> float:
        """All of them."""
        return sum(block.height(room) for block in self.blocks)


@dataclass(frozen=True)
class Turn:
    """A new page begins."""

    def height(self, _room: float) -> float:
        """None."""
        return 0.0


Block = Title | Para | Ticks | Table | Picture | Signed | Labels | Together | Turn


@dataclass(frozen=True)
class Chapter:
    """One paper of the folder: its name on the command line, its title, whom it is for, its blocks; `wide` lies on its side.

    `shown` is what each of its pages shows, where each is one drawing.
    """

    name: str
    title: str
    blocks: tuple[Block, ...]
    reader: str = ""
    wide: bool = False
    shown: tuple[str, ...] = ()


__all__ = ["GAP", "SIZE", "Block", "Chapter", "Labels", "Para", "Picture", "Row", "Signed", "Table", "Ticks", "Title", "Together", "Turn"]
