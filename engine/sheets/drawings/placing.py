"""Where words go on a drawing so that none lies on another: estimated room, candidates, the first free one, a leader where none is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import field, replace
from itertools import product
from math import cos, hypot, pi, sin
from typing import Any

from engine.frozen import dataclass
from engine.sheets.drawings.ink import BLACK, line, tag, text

SMALL = 3.2  # millimetres of paper: 9 pt and a hair, below which nothing is written
# Of a size, how wide letters are at most in a wide face, plain and bold.
_EMS = {
    **dict.fromkeys("ijl '|", (0.33, 0.36)),
    **dict.fromkeys(".,:;!I", (0.38, 0.46)),
    **dict.fromkeys("()[]-/frt", (0.42, 0.5)),
    **dict.fromkeys("acekosvxyzLTFE", (0.64, 0.69)),
    **dict.fromkeys("mMwW@%&OQGD", (1.0, 1.11)),
}
_EM = (0.79, 0.85)  # of capitals that are not named above
_LEAST_EM = 0.62  # on average, whatever the letters: other faces have other widths
_SMALL_EM = (0.65, 0.73)  # of digits and small letters that are not
_ABOVE, _BELOW = 0.95, 0.25  # of a size, over and under the base line
_LINES = 1.2  # of a size, from line to line
_GAP = 0.7  # millimetres between labels
_RINGS = tuple(2.0 + 2.5 * k for k in range(24))  # millimetres from the point a label belongs to, where there is no room beside it
_NEAR = 7  # of these, as far as a label goes rather than lie on a line
_ANGLES = tuple(k * pi / 8 for k in (12, 14, 10, 0, 8, 15, 9, 4, 2, 6, 13, 11, 1, 7, 3, 5))

Spot = tuple[float, float]


@dataclass(frozen=True)
class Box:
    """Room on the paper, in millimetres from its upper left corner."""

    left: float
    top: float
    right: float
    bottom: float

    @classmethod
    def about(cls, x: float, y: float, wide: float, high: float) -> Box:
        """Round a centre."""
        return cls(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)

    @property
    def middle(self) -> Spot:
        """Its centre."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    @property
    def wide(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def high(self) -> float:
        """From top to bottom."""
        return self.bottom - self.top

    def meets(self, other: Box) -> bool:
        """Whether they share any room."""
        return self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom

    def holds(self, other: Box) -> bool:
        """Whether another lies wholly within."""
        return self.left <= other.left and other.right <= self.right and self.top <= other.top and other.bottom <= self.bottom

    def cut(self, a: Spot, b: Spot) -> bool:
        """Whether a straight line from one point to another runs through it."""
        first, last = 0.0, 1.0
        for start, end, low, high in ((a[0], b[0], self.left, self.right), (a[1], b[1], self.top, self.bottom)):
            way = end - start
            if abs(way) < 1e-9:
                if not low < start < high:
                    return False
                continue
            enter, leave = sorted(((low - start) / way, (high - start) / way))
            first, last = max(first, enter), min(last, leave)
        return first < last - 1e-9

    def wider(self, by: float) -> Box:
        """With so much more on every side."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)


def room(words: str, size: float = SMALL, *, bold: bool = False) -> float:
    """How wide words are at most."""
    ems = sum(_EMS.get(char, (_EM if char.isupper() else _SMALL_EM) if char.isascii() else (1.2, 1.2))[bold] for char in words)
    return size * max(ems, _LEAST_EM * len(words))


def label(x: float, y: float, words: str, *, size: float = SMALL, weight: str = "normal", anchor: str = "start", **look: Any) -> str:
    """Words on their base line, marked as what must lie on nothing else."""
    told = {"class": "label"} | look
    return text(round(x, 2), round(y, 2), words, size=size, weight=weight, anchor=anchor, **told)


@dataclass(frozen=True)
class Words:
    """Lines of words of one size, centred; `upright` reads from below."""

    lines: tuple[str, ...]
    size: float = SMALL
    bold: bool = False
    upright: bool = False

    @property
    def extent(self) -> Spot:
        """How wide and high they are."""
        wide = max(room(words, self.size, bold=self.bold) for words in self.lines)
        high = self.size * (_ABOVE + _BELOW + _LINES * (len(self.lines) - 1))
        return (high, wide) if self.upright else (wide, high)

    def box(self, x: float, y: float) -> Box:
        """The room they take round a centre."""
        return Box.about(x, y, *self.extent)

    def drawn(self, x: float, y: float, **look: Any) -> Iterator[str]:
        """The words round a centre."""
        weight = "bold" if self.bold else "normal"
        first = -self.extent[0 if self.upright else 1] / 2 + _ABOVE * self.size
        for k, words in enumerate(self.lines):
            down = first + k * _LINES * self.size
            at = (x + down, y) if self.upright else (x, y + down)
            turned: dict[str, Any] = {"transform": f"rotate(-90 {at[0]:.2f} {at[1]:.2f})"} if self.upright else {}
            yield label(at[0], at[1], words, size=self.size, weight=weight, anchor="middle", **turned, **look)


@dataclass(frozen=True)
class Placer:
    """What of a page is taken: `taken` by words and marks, `outlines` by what hangs; `strokes` are lines better not written over."""

    page: Box
    taken: list[Box] = field(default_factory=list)
    outlines: list[Box] = field(default_factory=list)
    strokes: list[Box] = field(default_factory=list)
    dropped: list[str] = field(default_factory=list)

    def free(self, box: Box, *, inside: bool = False) -> bool:
        """Whether nothing is there yet; `inside` words may lie on what hangs."""
        grown = box.wider(_GAP)
        return self.page.holds(box) and not any(grown.meets(other) for other in (*self.taken, *(() if inside else self.outlines)))

    def written(self, words: Words, x: float, y: float, **look: Any) -> Iterator[str]:
        """Words that have their place, whatever is there."""
        self.taken.append(words.box(x, y))
        yield from words.drawn(x, y, **look)

    def placed(
        self, words: Words, spots: Iterable[Spot], at: Sequence[Spot], upright: Iterable[Spot] = (), *, needed: bool = True
    ) -> Iterator[str]:
        """Words round the first centre that is free and off all lines, `upright` where they read from below; or near one of the points they
        belong to, with a line to it. What is `needed` goes over lines then, or further away, and is told as left out where there is no room at all.
        """
        turned = replace(words, upright=True)
        options = [(words, spot) for spot in spots] + [(turned, spot) for spot in upright]
        free = [(option, self.hits(option[0].box(*option[1]))) for option in options if self.free(option[0].box(*option[1]))]
        best = min(free, key=lambda pair: pair[1], default=None)
        near = None if best and best[1] == 0 else self._away(words, at, _RINGS[:_NEAR], clear=True)
        if best and (best[1] == 0 or (needed and near is None)):
            yield from self.written(best[0][0], *best[0][1], **_HALO)
            return
        away = near or (self._away(words, at, _RINGS, clear=False) if needed else None)
        if away:
            yield from _leader(away[1], words.box(*away[0]))
            yield from self.written(words, *away[0], **_HALO)
        elif needed:
            self.dropped.append(" ".join(words.lines))

    def hits(self, box: Box) -> int:
        """How many lines run through some room."""
        return sum(box.meets(stroke) for stroke in self.strokes)

    def _away(self, words: Words, points: Sequence[Spot], rings: Iterable[float], *, clear: bool) -> tuple[Spot, Spot] | None:
        """The free centre nearest to one of the points, and that point. Its line runs through no words if that can be helped.

        Where it has to be `clear` it covers no line, and its own runs through no words and no outline.
        """
        worse: list[tuple[int, Spot, Spot]] = []
        for ring in rings:
            found: list[tuple[int, Spot, Spot]] = []
            for at, angle in product(points, _ANGLES):
                spot = at[0] + (ring + words.extent[0] / 2) * cos(angle), at[1] + (ring + words.extent[1] / 2) * sin(angle)
                box = words.box(*spot)
                if not self.free(box):
                    continue
                end, hits = _nearest(at, box), self.hits(box)
                through = sum(other.cut(end, at) for other in self.taken)
                if through == 0 and not (clear and (hits or any(other.cut(end, at) for other in self.outlines))):
                    found.append((hits, spot, at))
                elif not clear:
                    worse.append((10 * through + hits, spot, at))
            if found:
                return min(found)[1:]
        return min(worse)[1:] if worse else None


_HALO: dict[str, Any] = {"paint_order": "stroke", "stroke": "#ffffff", "stroke_width": 0.7, "stroke_linejoin": "round"}


def _leader(at: Spot, box: Box) -> Iterator[str]:
    """A hair line from the edge of a label to the point it belongs to."""
    x, y = _nearest(at, box)
    if hypot(x - at[0], y - at[1]) > 0.5:
        yield line(((round(x, 2), round(y, 2)), (round(at[0], 2), round(at[1], 2))), stroke_width=0.15)
        yield tag("circle", cx=round(at[0], 2), cy=round(at[1], 2), r=0.35, fill=BLACK)


def _nearest(at: Spot, box: Box) -> Spot:
    """The point of a box nearest to another."""
    return min(max(at[0], box.left), box.right), min(max(at[1], box.top), box.bottom)


def spread(wanted: Sequence[float], room_of: Sequence[float], low: float, high: float) -> list[float] | None:
    """Centres along a line, in order, as near to those wanted as they get without overlap; None where there is not room for all.

    Neighbours that push each other move together, as far as all of them on average want.
    """
    if sum(room_of) > high - low:
        return None
    blocks: list[list[int]] = []
    starts: list[float] = []
    for k in range(len(wanted)):
        blocks.append([k])
        starts.append(_start(blocks[-1], wanted, room_of, low, high))
        while len(blocks) > 1 and starts[-2] + sum(room_of[n] for n in blocks[-2]) > starts[-1] + 1e-9:
            gone = blocks.pop()
            starts.pop()
            blocks[-1] += gone
            starts[-1] = _start(blocks[-1], wanted, room_of, low, high)
    centres = []
    for block, start in zip(blocks, starts, strict=True):
        reach = start
        for k in block:
            centres.append(reach + room_of[k] / 2)
            reach += room_of[k]
    return centres


def _start(block: Sequence[int], wanted: Sequence[float], room_of: Sequence[float], low: float, high: float) -> float:
    """Where a block of neighbours begins."""
    before, aims = 0.0, []
    for k in block:
        aims.append(wanted[k] - before - room_of[k] / 2)
        before += room_of[k]
    return max(low, min(sum(aims) / len(aims), high - before))
