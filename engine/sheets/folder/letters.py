"""What room a text takes on paper, so that the program itself can fill pages.

Measured with the widest of the usual fonts for screens and papers (DejaVu Sans 2.37, its advance widths rounded up to hundredths of an em):
a narrower one leaves room at the foot of a page and never pushes a line off it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from engine.frozen import dataclass

SIZE = 3.175  # millimetres: 9 points, the least that is printed
LINE = 3.7  # millimetres from line to line
_UNKNOWN = 1.2  # em: wider than any letter of an alphabet


def _widths(table: Mapping[int, str]) -> dict[str, float]:
    return {char: width / 100 for width, chars in table.items() for char in chars}


_PLAIN = _widths(
    {
        28: "'ijl",
        30: "IJ",
        32: " ,.",
        34: "/:;\\|",
        36: "f",
        37: "-",
        40: "()[]t",
        41: "!",
        42: "r",
        46: '"',
        50: "*_`",
        53: "sz",
        54: "?",
        55: "c",
        56: "L",
        58: "Fk",
        60: "vxy",
        61: "P",
        62: "TYaeo",
        64: "$0123456789ESbdghnpqu{}",
        66: "K",
        69: "ABVXZ",
        70: "CR",
        74: "U",
        75: "N",
        76: "H",
        78: "&DG",
        79: "OQ",
        82: "w",
        84: "#+<=>^~",
        87: "M",
        96: "%",
        98: "m",
        99: "W",
        100: "@",
    }
)
_BOLD = _widths(
    {
        31: "'",
        35: " ijl",
        37: "/\\|",
        38: ",.IJ",
        40: ":;",
        42: "-",
        44: "f",
        46: "!()[]",
        48: "t",
        50: "_`r",
        53: '"*',
        59: "?z",
        60: "cs",
        64: "L",
        65: "x",
        66: "vy",
        67: "k",
        68: "ae",
        69: "EFTo",
        70: "$0123456789",
        72: "bdghnpqu{}",
        73: "SYZ",
        74: "CP",
        77: "B",
        78: "AKRVX",
        82: "U",
        83: "G",
        84: "#+<=>DHN^~",
        86: "OQ",
        88: "&",
        93: "w",
        100: "M@",
        101: "%",
        105: "m",
        111: "W",
    }
)


@dataclass(frozen=True)
class Run:
    """A piece of a text: words, or room to tick or to write in. `blank` is the width of that room in millimetres, `ticks` the number of boxes;
    words before either are never parted from it.
    """

    text: str = ""
    bold: bool = False
    box: bool = False
    blank: float = 0.0
    ticks: int = 0


Words = str | tuple[str | Run, ...]
BOX = Run(box=True)
NEXT = Run("\n")  # what follows stands on a line of its own
_UNITS = (
    "V|A|W|VA|kV|mV|kA|mA|kW|kVA|Wh|kWh|Ah|Hz|m|mm|mm2|cm2|ft|in|AWG|kcmil|ohm|mohm|kohm|Mohm|s|ms|min|h|kg|lb|degC|K|%|N m|lbf in|lbf ft"
)
# What a line never ends within: a figure and its unit, a unit's tag.
WHOLE = re.compile(rf"[+-]?\d[\d.,]*\s(?:{_UNITS})(?![\w/])[.,;:)]*|\S*\bL\d-\d+\S*")
_PIECE = re.compile(rf"{WHOLE.pattern}|\s+|\S+")
_BOXED = 4.4  # millimetres a box takes, with the space behind it


def bold(text: str) -> Run:
    """Words in bold."""
    return Run(text, bold=True)


def strong(text: str) -> Words:
    """A text that is all in bold; nothing where there is none."""
    return (bold(text),) if text else ""


def box(name: str) -> Run:
    """A box to tick with its name, never parted."""
    return Run(name, box=True)


def ticks(count: int, name: str = "") -> Run:
    """Boxes to tick, behind what they are for."""
    return Run(name, ticks=count)


def blank(width: float = 22.0, name: str = "", *, bold: bool = False) -> Run:
    """A line to write on, behind its name."""
    return Run(name, bold=bold, blank=width)


def runs(words: Words) -> Iterator[Run]:
    """The pieces of a text."""
    for piece in (words,) if isinstance(words, str) else words:
        yield Run(piece) if isinstance(piece, str) else piece


@lru_cache(maxsize=20_000)
def width(text: str, *, bold: bool = False, size: float = SIZE) -> float:
    """The room of a text on one line, in millimetres."""
    letters = _BOLD if bold else _PLAIN
    return size * sum(letters[char] if char in letters else _other(char, letters) for char in text)


def _other(char: str, letters: Mapping[str, float]) -> float:
    """A letter with marks is as wide as without; a mark that stands over another takes nothing."""
    if unicodedata.combining(char):
        return 0.0
    return letters.get(unicodedata.normalize("NFD", char)[0], _UNKNOWN)


def lines(words: Words, room: float, *, bold: bool = False, size: float = SIZE) -> int:
    """How many lines a text takes in a column of that many millimetres, broken at spaces, and within a word that is longer than a line."""
    count, used = 1, 0.0
    gap = width(" ", bold=bold, size=size)
    for piece, spaced in _pieces(words, bold=bold, size=size):
        if piece < 0:
            count, used = count + 1, 0.0
            continue
        before = gap if spaced and used else 0.0
        if used and used + before + piece > room:
            count, used, before = count + 1, 0.0, 0.0
        used += before + piece
        while used > room:
            count, used = count + 1, used - room
    return count


def _pieces(words: Words, *, bold: bool, size: float) -> Iterator[tuple[float, bool]]:
    """What cannot be broken, with its width, and whether a space stands before it; less than none where a line ends.

    A word may go on from one run into the next.
    """
    held, apart = 0.0, False
    for run in runs(words):
        if run == NEXT:
            if held:
                yield held, apart
            held, apart = 0.0, False
            yield -1.0, False
            continue
        if run.box or run.blank or run.ticks:
            if held:
                yield held, apart
            held, apart = 0.0, False
            name = width(f"{run.text} ", bold=bold or run.bold, size=size) if run.text else 0.0
            yield name + (_BOXED if run.box else _BOXED * run.ticks + run.blank), True
            continue
        for part in _PIECE.findall(run.text):
            if part.isspace():
                if held:
                    yield held, apart
                held, apart = 0.0, True
            else:
                held += width(part, bold=bold or run.bold, size=size)
    if held:
        yield held, apart


def longest(texts: Iterable[Words], *, bold: bool = False) -> float:
    """The width of the longest word of some texts, in millimetres: a column of less breaks it."""
    return max((piece for words in texts for piece, _ in _pieces(words, bold=bold, size=SIZE)), default=0.0)
