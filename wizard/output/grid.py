"""The screen as a grid of cells, and the shortest text that turns one grid into another. It knows no terminal and no Textual.

Sequences are those of ECMA-48, fifth edition; vertical tabulation (VT) goes down a line in the same column, as on a VT100: unlike a line
feed, no terminal driver makes two characters of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import pairwise

from engine.sheets.text.layout import cells as columns

Look = tuple[str, ...]  # parameters of SGR that are on, in the order of what they change; none is the terminal's own
Cell = tuple[str, Look]  # a character with the marks that combine with it; behind a wide one an empty text
Row = list[Cell]

PLAIN: Look = ()
BLANK: Cell = (" ", PLAIN)
BARE = "\x1b[m\x1b[H\x1b[J"  # a terminal of which nothing is known, made blank

_TOKEN = re.compile(
    r"\x1b\[(?P<parameters>[0-?]*)(?P<between>[ -/]*)(?P<final>[@-~])"
    r"|\x1b[\]PX^_](?:[^\x1b\x07]|\x1b(?!\\))*(?:\x07|\x1b\\)"
    r"|\x1b[ -/]*[0-OQ-WYZ\\`-~]"
    r"|(?P<control>[\x00-\x1a\x1c-\x1f\x7f-\x9f])"
    r"|(?P<text>[^\x00-\x1f\x7f-\x9f]+)"
)

# What switches a parameter off; parameters with the same one exclude each other, bold and dim aside.
_OFF = {
    **dict.fromkeys(("1", "2"), "22"),
    **dict.fromkeys(("3", "20"), "23"),
    **dict.fromkeys(("4", "21"), "24"),
    **dict.fromkeys(("5", "6"), "25"),
    "7": "27",
    "8": "28",
    "9": "29",
    **dict.fromkeys(("51", "52"), "54"),
    "53": "55",
    "58": "59",
    **dict.fromkeys(map(str, [*range(30, 39), *range(90, 98)]), "39"),
    **dict.fromkeys(map(str, [*range(40, 49), *range(100, 108)]), "49"),
}
_BOTH = "22"
_OFFS = frozenset(_OFF.values())
_LONG = {"2": 5, "5": 3}  # parameters of a colour by its form: 38;2;r;g;b and 38;5;n


def _off(parameter: str) -> str:
    number = re.split("[;:]", parameter, maxsplit=1)[0]
    return _OFF.get(number, number)


@lru_cache(4096)
def looked(look: Look, parameters: str) -> Look:
    """The look after SGR with these parameters."""
    on = list(look)
    for one in _each(parameters):
        off = one if one in _OFFS else _off(one)
        if one == "0":
            on = []
        elif one in _OFFS:
            on = [p for p in on if _off(p) != off]
        else:
            on = [p for p in on if p != one and (_off(p) != off or off == _BOTH)] + [one]
    return tuple(sorted(on, key=lambda p: (int(_off(p)), p)))


def _each(parameters: str) -> Iterator[str]:
    """The parameters one by one, a colour of several numbers as one."""
    numbers = [number.lstrip("0") or "0" if number.isdecimal() else number or "0" for number in parameters.split(";")]
    at = 0
    while at < len(numbers):
        long = _LONG.get(numbers[at + 1], 1) if numbers[at] in ("38", "48", "58") and at + 1 < len(numbers) else 1
        yield ";".join(numbers[at : at + long])
        at += long


@lru_cache(4096)
def restyled(before: Look, after: Look) -> str:
    """The shortest SGR from one look to another."""
    if before == after:
        return ""
    kept = {_off(p) for p in after}
    gone = {_off(p) for p in before if p not in after}
    off = [o for o in sorted(gone) if o not in kept or o == _BOTH]
    on = [p for p in after if p not in before or (_off(p) == _BOTH and _BOTH in off)]
    return min(f"\x1b[{';'.join(off + on)}m", f"\x1b[{';'.join(('', *after) if after else ())}m", key=len)


class Grid:
    """The cells of a screen, where the cursor stands and with which look it writes.

    Of the grid that a terminal shows, `x` is None where the column is not known, `y` where the line is not either.
    """

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self.rows: list[Row] = [[BLANK] * width for _ in range(height)]
        self.x: int | None = 0
        self.y: int | None = 0
        self.look: Look = PLAIN
        self._rest = ""

    def resized(self, width: int, height: int) -> Grid:
        """Another grid with what fits of this one."""
        other = Grid(width, height)
        for there, here in zip(other.rows, self.rows, strict=False):
            kept = here[:width]
            if len(here) > width and not here[width][0]:
                kept[-1] = BLANK  # half a wide character
            there[: len(kept)] = kept
        other.x, other.y = min(self.x or 0, width - 1), min(self.y or 0, height - 1)
        other.look, other._rest = self.look, self._rest
        return other

    def feed(self, text: str) -> str:
        """Write as a terminal would that wraps no lines. What is not about cells comes back, unchanged and in order."""
        text, at, passed = self._rest + text, 0, []
        while at < len(text) and (found := _TOKEN.match(text, at)):
            at = found.end()
            if (run := found["text"]) is not None:
                self._write(run)
            elif not self._obey(found):
                passed.append(found[0])
        self._rest = text[at:]
        return "".join(passed)

    def _obey(self, found: re.Match[str]) -> bool:
        """Move, erase, change the look: whether that is what it was."""
        if (control := found["control"]) is not None:
            return self._control(control)
        final, parameters = found["final"], found["parameters"]
        if final is None or found["between"] or not re.fullmatch("[0-9;:]*", parameters):
            return False
        if final == "m":
            self.look = looked(self.look, parameters)
            return True
        numbers = [int(number or 0) for number in parameters.split(";")] if ":" not in parameters else [0]
        if final in "JK":
            self._erase(final, numbers[0])
        else:
            return self._moved(final, numbers)
        return True

    def _control(self, control: str) -> bool:
        x, y = self._place()
        match control:
            case "\r":
                self._go(0, y)
            case "\n":  # the terminal's driver makes a return and a line feed of it
                self._go(0, y + 1)
            case "\v":
                self._go(x, y + 1)
            case "\b":
                self._go(x - 1, y)
            case "\t":
                self._go((x // 8 + 1) * 8, y)
            case _:
                return False
        return True

    def _moved(self, final: str, numbers: Sequence[int]) -> bool:
        x, y = self._place()
        by = max(1, numbers[0])
        match final:
            case "H" | "f":
                self._go(max(1, numbers[1]) - 1 if len(numbers) > 1 else 0, by - 1)
            case "A":
                self._go(x, y - by)
            case "B":
                self._go(x, y + by)
            case "C":
                self._go(x + by, y)
            case "D":
                self._go(x - by, y)
            case "E":
                self._go(0, y + by)
            case "F":
                self._go(0, y - by)
            case "G":
                self._go(by - 1, y)
            case "d":
                self._go(x, by - 1)
            case _:
                return False
        return True

    def _place(self) -> tuple[int, int]:
        return min(self.x or 0, self.width - 1), self.y or 0

    def _go(self, x: int, y: int) -> None:
        self.x, self.y = min(max(x, 0), self.width - 1), min(max(y, 0), self.height - 1)

    def _write(self, run: str) -> None:
        x, y = self.x or 0, self.y or 0
        for char in run:
            wide = columns(char)
            if not wide:
                self._combine(x, y, char)
            elif wide <= self.width:
                x = min(x, self.width - wide)
                self._put(x, y, char, wide)
                x += wide
        self.x = x

    def _combine(self, x: int, y: int, mark: str) -> None:
        row = self.rows[y]
        at = max(0, x - 1)
        at -= not row[at][0]
        row[at] = (row[at][0] + mark, row[at][1])

    def _put(self, x: int, y: int, char: str, wide: int) -> None:
        row, end = self.rows[y], x + wide
        if not row[x][0]:
            row[x - 1] = (" ", row[x - 1][1])
        if end < self.width and not row[end][0]:
            row[end] = (" ", row[end][1])
        row[x] = (char, self.look)
        if wide > 1:
            row[x + 1] = ("", self.look)

    def _erase(self, final: str, part: int) -> None:
        x, y = self._place()
        blank = (" ", tuple(p for p in self.look if _off(p) == "49"))  # in the colour of the ground
        row = self.rows[y]
        if part != 1:
            self._blank(row, x if part == 0 else 0, self.width, blank)
        else:
            self._blank(row, 0, x + 1, blank)
        if final == "J":
            for other in self.rows[: y if part else 0] + self.rows[y + 1 if part != 1 else self.height :]:
                other[:] = [blank] * self.width

    def _blank(self, row: Row, start: int, end: int, blank: Cell) -> None:
        if start and not row[start][0]:
            row[start - 1] = (" ", row[start - 1][1])
        if end < self.width and not row[end][0]:
            row[end] = (" ", row[end][1])
        row[start:end] = [blank] * (end - start)


class _Pen:
    """What is written, and where that leaves the terminal."""

    def __init__(self, written: str, x: int | None, y: int | None, look: Look, width: int) -> None:
        self.written, self.x, self.y, self.look, self.width = written, x, y, look, width

    def copy(self) -> _Pen:
        return _Pen(self.written, self.x, self.y, self.look, self.width)

    @property
    def cost(self) -> int:
        return len(self.written.encode())

    def move(self, x: int, y: int) -> None:
        if (self.x, self.y) != (x, y):
            self.written += _way(self.x, self.y, x, y)
            self.x, self.y = x, y

    def tint(self, look: Look) -> None:
        self.written += restyled(self.look, look)
        self.look = look

    def put(self, cell: Cell, wide: int) -> None:
        self.tint(cell[1])
        self.written += cell[0]
        # At the last column terminals differ, and over what joins into one character they do.
        known = self.x is not None and self.x + wide < self.width and len(cell[0]) == 1 and cell[0] < "\U00010000"
        self.x = self.x + wide if known and self.x is not None else None

    def erase(self) -> None:
        self.tint(PLAIN)
        self.written += "\x1b[K"


@lru_cache(8192)
def _way(x: int | None, y: int | None, to_x: int, to_y: int) -> str:
    """The shortest move from a place, as far as that is known, to another."""
    ways = [f"\x1b[{'' if to_y == 0 else to_y + 1}{f';{to_x + 1}' if to_x else ''}H"]
    if y is not None:
        down = ("",) if to_y == y else ("\v" * (to_y - y), _by(to_y - y, "B")) if to_y > y else (_by(y - to_y, "A"),)
        along = ["\r" + (_by(to_x, "C") if to_x else "")]
        if x is not None:
            along += [""] if to_x == x else [_by(to_x - x, "C")] if to_x > x else ["\b" * (x - to_x), _by(x - to_x, "D")]
        ways += [a + d for a in along for d in down]
    return min(ways, key=len)


def _by(count: int, final: str) -> str:
    return f"\x1b[{count if count > 1 else ''}{final}"


def changes(sent: Grid | None, wanted: Grid) -> str:
    """What turns the screen of a terminal that shows `sent` (None: nobody knows what) into `wanted`, the cursor's place included.

    Both have one size. To be told what the terminal shows afterwards, give it to `shown`.
    """
    return _drawn(sent or Grid(wanted.width, wanted.height), wanted, "" if sent else BARE).written


def shown(sent: Grid | None, wanted: Grid) -> tuple[str, Grid]:
    """The same, with the grid that the terminal shows afterwards."""
    before = sent or Grid(wanted.width, wanted.height)
    pen = _drawn(before, wanted, "" if sent else BARE)
    after = Grid(wanted.width, wanted.height)
    after.rows = [list(row) for row in wanted.rows]
    after.x, after.y, after.look = pen.x, pen.y, pen.look
    return pen.written, after


def _drawn(before: Grid, after: Grid, written: str) -> _Pen:
    pen = _Pen(written, before.x, before.y, before.look, after.width)
    for y, (old, new) in enumerate(zip(before.rows, after.rows, strict=True)):
        if old != new:
            pen = _line(pen, old, new, y)
    pen.move(min(after.x or 0, after.width - 1), after.y or 0)
    return pen


def _line(pen: _Pen, old: Row, new: Row, y: int) -> _Pen:
    """A line drawn over the old one, or over its beginning with the rest erased: whichever is shorter."""
    first = next(x for x, one in enumerate(_dirty(old, new)) if one)
    over = _over(pen.copy(), old, new, y)
    bare = pen.copy()
    bare.move(first, y)
    bare.erase()
    if bare.cost >= over.cost:
        return over
    bare = _over(bare, old[:first] + [BLANK] * (len(old) - first), new, y)
    return min(over, bare, key=lambda one: one.cost)


def _over(pen: _Pen, old: Row, new: Row, y: int) -> _Pen:
    """The cells of a line that differ, from left to right; over blanks at its end the rest is erased where that is shorter."""
    dirty = _dirty(old, new)
    end = max((x + 1 for x, cell in enumerate(new) if cell != BLANK), default=0)
    for x in range(end):
        if dirty[x] and new[x][0]:
            pen = _to(pen, new, x, y)
            pen.put(new[x], 2 if x + 1 < len(new) and not new[x + 1][0] else 1)
    blanks = [x for x in range(end, len(new)) if dirty[x]]
    if not blanks:
        return pen
    at_blank = pen.y == y and pen.x is not None and end <= pen.x < blanks[0]
    erased, written = (pen if at_blank else _to(pen, new, blanks[0], y)).copy(), pen
    erased.erase()
    for x in blanks:
        written = _to(written, new, x, y)
        written.put(BLANK, 1)
        if written.cost > erased.cost:
            return erased
    return written


def _to(pen: _Pen, new: Row, x: int, y: int) -> _Pen:
    """The pen at a cell and in its look: moved, or by writing what lies between once more."""
    if (pen.x, pen.y) == (x, y):
        return pen
    moved = pen.copy()
    moved.move(x, y)
    moved.tint(new[x][1])
    if pen.y != y or pen.x is None or not pen.x < x <= pen.x + 8:
        return moved
    written = pen.copy()
    for at in range(pen.x, x):
        if new[at][0]:
            written.put(new[at], 2 if not new[at + 1][0] else 1)
    written.tint(new[x][1])
    return written if written.x == x and written.cost < moved.cost else moved


def _dirty(old: Row, new: Row) -> list[bool]:
    """Which cells must be written: those that differ, and the other half of each wide character among them."""
    dirty = [a != b for a, b in zip(old, new, strict=True)]
    pairs = [(x, x + 1) for row in (old, new) for x, (_, behind) in enumerate(pairwise(row)) if not behind[0]]
    again = bool(pairs)
    while again:
        again = False
        for a, b in pairs:
            if dirty[a] != dirty[b]:
                dirty[a] = dirty[b] = again = True
    return dirty
