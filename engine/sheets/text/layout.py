"""Laying out plain text: 80 columns, no colour, no control characters."""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections.abc import Iterable, Iterator, Sequence

WIDTH = 80
_NARROWEST = 4  # columns of a cell


def cells(text: str) -> int:
    """How many columns a text takes on a terminal at most: wide characters two, combining marks none unless they take room of their own."""
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.combining(c) and unicodedata.category(c) != "Mc" else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )


def fit(text: str, columns: int) -> str:
    """The text in exactly that many columns: cut with two dots, or padded."""
    if cells(text) > columns:
        kept = next(text[:length] for length in range(len(text), -1, -1) if cells(text[:length]) <= max(0, columns - 2))
        text = kept + ".." if columns > 2 else kept
    return text + " " * (columns - cells(text))


def wrapped(text: str, first: str = "", rest: str | None = None, columns: int = WIDTH) -> list[str]:
    """A text in lines of at most `columns`; `first` and `rest` stand before the first and the other lines."""
    text = text.replace("\N{HORIZONTAL ELLIPSIS}", "...")  # what was cut is told on any terminal
    indent = " " * cells(first) if rest is None else rest
    if text.isascii():
        lines = textwrap.wrap(text, columns, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False)
    else:
        lines = _wrapped_by_cells(text, first, indent, columns)
    return lines or [first.rstrip()]


def _wrapped_by_cells(text: str, first: str, rest: str, columns: int) -> list[str]:
    """The same where a character may take two columns, or none: the standard library takes each for one."""
    lines, line = [], first
    for piece in _pieces(re.sub(r"\s", " ", text.strip()), columns - max(cells(first), cells(rest))):
        if cells(line + piece) > columns:
            lines.append(line.rstrip())
            line = rest + piece.lstrip()
        else:
            line += piece
    return [*lines, line.rstrip()] if text.strip() else []


def _pieces(text: str, room: int) -> Iterator[str]:
    """A text cut where a line may end: before spaces, at a wide character, for those part no words, and in a word beyond the room."""
    widths = "".join(" " if char == " " else str(cells(char)) for char in text)
    for found in re.finditer(rf" *(?:20*|[01]{{1,{max(room, 1)}}})", widths):
        yield text[found.start() : found.end()]


def heading(text: str, right: str = "") -> str:
    """A heading on a rule, with something at its right end."""
    left = f"== {text} "
    end = f" {right} ==" if right else ""
    return left + "=" * max(2, WIDTH - cells(left) - cells(end)) + end


_BOX, _HELD = "[ ]", "[~]"  # a box to tick, and how it is held together while lines are broken


def grid(head: Sequence[str], rows: Iterable[Sequence[str]], *, columns: int = WIDTH, indent: str = " ") -> list[str]:
    """Rows under a head. A cell that is too long runs on in its column; the last column takes what is left."""
    table = [list(head), *([(cell or "-").replace(_BOX, _HELD) for cell in row] for row in rows)]
    room = columns - len(indent) - 2 * (len(head) - 1)
    columns_of = [[row[k] for row in table] for k in range(len(head))]
    widths = _widths([max(map(cells, column)) for column in columns_of], [_longest(column) for column in columns_of], room)
    lines = []
    for number, row in enumerate(table):
        parts = [wrapped(cell, columns=width) for cell, width in zip(row, widths, strict=True)]
        for k in range(max(len(part) for part in parts)):
            lines.append(
                (indent + "  ".join(fit(part[k] if k < len(part) else "", width) for part, width in zip(parts, widths, strict=True)))
                .rstrip()
                .replace(_HELD, _BOX)
            )
        if number == 0:
            lines.append(indent + "  ".join("-" * width for width in widths))
    return lines


def _longest(texts: Iterable[str]) -> int:
    """The columns of the longest word in these texts: in less it would be broken."""
    return max((cells(word) for text in texts for word in text.split()), default=0)


def _widths(wanted: list[int], words: list[int], room: int) -> list[int]:
    """Column widths that fit: the widest column gives way first, none below its longest word as long as another can."""
    widths = list(wanted)
    while sum(widths) > room:
        roomy = [k for k, width in enumerate(widths) if width > max(words[k], _NARROWEST)] or range(len(widths))
        widest = max(roomy, key=lambda k: widths[k])
        if widths[widest] <= _NARROWEST:
            break
        widths[widest] -= 1
    return widths
