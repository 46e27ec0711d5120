"""A page of a drawing in millimetres of paper: lines, symbols and words are put on it, and it remembers which symbols it needs told."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from engine.sheets.drawings.ink import WHITE, element, escaped, line, tag, text
from engine.sheets.drawings.symbols import HOP, SYMBOLS, THICK, THIN, conductor, hop
from engine.sheets.text.layout import cells

A4, LETTER_PAPER = (277.0, 170.0), (259.0, 170.0)  # mm, what a landscape page leaves
LETTER = 3.2  # mm, a little above nine points (3.175 mm): nothing on paper is smaller
LINE = 3.8  # from base line to base line: the letters of any usual typeface stand clear of each other
# Of the size, the room that a letter takes: a common one at least; by letter no less than DejaVu Sans takes, the widest of the usual typefaces.
_COMMON, _BOLD = 0.62, 1.12
_WIDTHS = {0.42: " .,:;'|!()[]/-ijlftrI", 0.86: "ABCDGHKNOQRUVXYZM&+=<>#^~w", 1.0: "mW%@"}
_OTHER = 1.2  # of other scripts, whose typeface nobody knows
_BY_LETTER = {letter: wide for wide, letters in _WIDTHS.items() for letter in letters}
_TALL = 4.4  # the same for letters of other scripts
_APART = 1.25  # between strokes across a wire
_UP = 1.15  # above a wire, the base line of what stands on it
_DOWN = 3.45  # below a wire, that of what hangs under it

_LABEL: Mapping[str, Any] = {"class": "label"}

_WHOLE = re.compile(r"\S*\d\s(?:V|kV|A|kA|kW|kVA|mm2|AWG|kcmil|degC)(?![\w/])\S*|\S+")

Point = tuple[float, float]


def room(words: str, *, size: float = LETTER, bold: bool = False) -> float:
    """What a text takes from left to right at most, mm."""
    wide = max(_COMMON * cells(words), sum(_BY_LETTER.get(letter, 0.66) if letter.isascii() else _OTHER for letter in words))
    return wide * size * (_BOLD if bold else 1)


def leading(words: str) -> float:
    """From a text's base line to the next: letters that the typeface lacks come from others, which are taller."""
    return LINE if words.isascii() else _TALL


def fitting(words: str, wide: float) -> list[str]:
    """A text in lines that fit between two points, broken between words, never between a figure and its unit; what is longer stands whole."""
    lines: list[str] = []
    for word in _WHOLE.findall(words):
        if lines and room(f"{lines[-1]} {word}") <= wide:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


class Paper:
    """One page. Bars lie at the back, then lines, then what stands on them."""

    def __init__(self, size: tuple[float, float], title: str, about: str) -> None:
        """`about` stands at the head of the file, where nobody sees it: which plan it is of."""
        self.size, self._title, self._about = size, title, about
        self._bars: list[str] = []
        self._lines: list[str] = []
        self._front: list[str] = []
        self._used: dict[str, None] = {}

    @property
    def used(self) -> tuple[str, ...]:
        """The symbols on it, in the order of the legend."""
        return tuple(name for name in SYMBOLS if name in self._used)

    def wire(self, *points: Point, width: float = THIN, **look: Any) -> None:
        """A line through points."""
        self._lines.append(line(points, stroke_width=width, **look))

    def bar(self, a: Point, b: Point) -> None:
        """A thick line."""
        self._used["bar"] = None
        self._bars.append(line((a, b), stroke_width=THICK))

    def uses(self, name: str) -> None:
        """Let the legend tell a symbol."""
        self._used[name] = None

    def put_line(self, points: Sequence[Point], **look: Any) -> None:
        """A fine line in front."""
        self._front.append(line(points, stroke_width=0.2, **look))

    def put(self, drawn: str) -> None:
        """Any element, in front."""
        self._front.append(drawn)

    def symbol(self, name: str, at: Point, *, turned: int = 0, told: str = "", **data: object) -> None:
        """A symbol at a point, turned by degrees; `data` says what it stands for; `told` is what the legend tells instead of it."""
        self.uses(told or name)
        self._front.append(self._placed(SYMBOLS[name].drawn(), at, turned, data))

    def across(self, y: float, start: float, end: float, bars: Iterable[float] = (), **data: Any) -> None:
        """A line from left to right, over bars that it is not joined with."""
        x = start
        for bar in sorted(bars):
            self.wire((x, y), (bar - HOP, y))
            self._used["hop"] = None
            self._front.append(self._placed(hop(), (bar, y), 0, {}))
            x = bar + HOP
        self.wire((x, y), (end, y), **data)

    def dot(self, at: Point) -> None:
        """Where lines are joined."""
        self._used["joined"] = None
        self._front.append(tag("circle", cx=f"{at[0]:g}", cy=f"{at[1]:g}", r="0.6"))

    def strokes(self, at: Point, poles: Iterable[str], *, upright: bool = False, **data: object) -> None:
        """A stroke for each pole, from a point on; `upright` where the line runs from top to bottom."""
        drawn = []
        for place, pole in enumerate(poles):
            kind = pole if pole in ("N", "PE") else "pole"
            self._used[kind] = None
            x, y = (at[0], at[1] + _APART * place) if upright else (at[0] + _APART * place, at[1])
            drawn.append(self._placed(conductor(pole), (x, y), 90 if upright else 0, {}))
        self._front.append(element("g", data, "".join(drawn)))

    def words(self, at: Point, words: str, *, size: float = LETTER, bold: bool = False, anchor: str = "start") -> None:
        """A label; what is empty is none."""
        if words:
            weight = "bold" if bold else "normal"
            self._front.append(text(*at, words, size=size, weight=weight, anchor=anchor, **_LABEL))

    def astride(self, at: Point, above: str, below: str = "") -> None:
        """Two lines of a label, one on a wire that goes from left to right and one under it."""
        self.words((at[0], at[1] - _UP), above)
        self.words((at[0], at[1] + _DOWN), below)

    def stacked(self, at: Point, lines: Sequence[str], *, anchor: str = "start", bold: bool = False) -> None:
        """Lines beside a point, half of them above it; the first may be bold."""
        first = at[1] - LINE * (len(lines) - 1) / 2 + 0.35 * LETTER
        for place, words in enumerate(lines):
            self.words((at[0], first + LINE * place), words, anchor=anchor, bold=bold and place == 0)

    def rectangle(self, x: float, y: float, width: float, height: float, **data: object) -> None:
        """An outline, white inside."""
        look = {
            "x": f"{x:g}",
            "y": f"{y:g}",
            "width": f"{width:g}",
            "height": f"{height:g}",
            "fill": WHITE,
            "stroke": "#000000",
            "stroke_width": THIN,
        }
        self._front.append(tag("rect", **look, **data))

    def svg(self) -> str:
        """The page."""
        width, height = self.size
        paper = tag("rect", x=0, y=0, width=width, height=height, fill=WHITE)
        inside = "".join(
            (
                element("title", {}, escaped(self._title)),
                element("desc", {}, escaped(self._about)),
                paper,
                *self._bars,
                *self._lines,
                *self._front,
            )
        )
        look = {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {width:g} {height:g}",
            "width": f"{width:g}mm",
            "height": f"{height:g}mm",
            "font_family": "Liberation Sans, Arial, Helvetica, sans-serif",
        }
        return element("svg", look, inside) + "\n"

    @staticmethod
    def _placed(drawn: str, at: Point, turned: int, data: dict[str, object]) -> str:
        turn = f" rotate({turned})" if turned else ""
        return element("g", {"transform": f"translate({at[0]:g},{at[1]:g}){turn}"} | data, drawn)
