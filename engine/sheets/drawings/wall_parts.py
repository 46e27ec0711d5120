"""What all three drawings of the wall write: names within what hangs, names beside cables, rings and terminators."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise, product

from engine.sheets.drawings.ink import BLACK, WHITE, tag
from engine.sheets.drawings.placing import SMALL, Box, Placer, Spot, Words
from engine.sheets.drawings.wall_marks import GREY, Pen, Stretch, stretches, stroke
from engine.sheets.drawings.wall_scene import Ring, Scene, Thing, Way

_SIZES = (5.6, 4.6, 3.8, SMALL)
_SHIFTS = (
    (0.0, 0.0),
    (0.6, 0.0),
    (-0.6, 0.0),
    (0.0, 0.6),
    (0.0, -0.6),
    (1.2, 0.0),
    (-1.2, 0.0),
    (0.0, 1.2),
    (0.0, -1.2),
    (1.8, 0.0),
    (-1.8, 0.0),
)
_SHARES = (0.5, 0.3, 0.7, 0.15, 0.85)  # of a stretch, where words are tried
_PAD = 0.8  # millimetres between words and the outline about them


def named(placer: Placer, things: Sequence[Thing]) -> Iterator[str]:
    """The name of each thing within its outline, as large as fits, from below where it is narrow; beside it where it does not."""
    for thing in things:
        name = label(thing)
        if name:
            yield from _named(placer, thing, name)


def label(thing: Thing) -> str:
    """What a thing is called on the drawing; an obstacle by what somebody called it."""
    if thing.place.what != "obstacle":
        return thing.place.name
    told = thing.place.key.partition("[")[2].rstrip("]")
    return "" if told.startswith("#") else told


def _named(placer: Placer, thing: Thing, name: str) -> Iterator[str]:
    box = thing.box
    bold = thing.place.what != "obstacle"
    sizes = _SIZES if thing.place.what in ("unit", "bank") else _SIZES[2:]
    for upright, size, lines in product((False, True), sizes, dict.fromkeys(((name,), _folded(name)))):
        words = Words(lines, size, bold, upright)
        x, y = box.middle
        # A unit's tag stands in its upper part: below it is room for its place in the chain.
        if thing.place.what == "unit" and not upright and box.high > words.extent[1] * 2.4:
            y = box.top + _PAD + words.extent[1] / 2
        if words.extent[0] <= box.wide - _PAD and words.extent[1] <= box.high - _PAD and placer.free(words.box(x, y), inside=True):
            yield from placer.written(words, x, y)
            return
    words = Words((name,), SMALL, bold)
    yield from placer.placed(words, _round(box, words), [_nearest_edge(box)])


def _folded(name: str) -> tuple[str, ...]:
    return tuple(name.split(" ", 1))


def _nearest_edge(box: Box) -> Spot:
    return box.middle[0], box.top


def _round(box: Box, words: Words) -> Iterator[Spot]:
    """Centres of words above, below, right and left of an outline."""
    (x, y), (wide, high) = box.middle, words.extent
    yield from ((x, box.top - high / 2 - _PAD), (x, box.bottom + high / 2 + _PAD))
    yield from ((box.right + wide / 2 + _PAD, y), (box.left - wide / 2 - _PAD, y))


def laid(scene: Scene, placer: Placer, pen: Pen, kinds: Sequence[str], banks: Sequence[str], *, behind: bool = False) -> Iterator[str]:
    """The power cables of some kinds, a line for each net; `behind` in grey, as what is only passed."""
    for net, ways in scene.nets(*kinds).items():
        look, some = stroke(net, banks), stretches(ways)
        yield from pen.net(net.name, look, some, GREY if behind else BLACK)
        if not behind:
            placer.strokes.extend(_boxes(some, look.width))


def _boxes(some: Sequence[Stretch], width: float) -> Iterator[Box]:
    for (ax, ay), (bx, by) in some:
        yield Box(min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)).wider(width / 2)


def lined(ways: Sequence[Way], placer: Placer, pen: Pen) -> Iterator[str]:
    """Links and data leads, each a line of its own."""
    for way in ways:
        some = stretches([way])
        yield from pen.net(way.net.name, stroke(way.net, ()), some)
        placer.strokes.extend(_boxes(some, 0.7))


def beside(way: Sequence[Spot], words: Words) -> Iterator[Spot]:
    """Centres of words beside the stretches of a way, the longest first, close to it and clear of a ring on it."""
    wide, high = words.extent
    for off, ((ax, ay), (bx, by)), share in product((_PAD, 2.9), _longest(way), _SHARES):
        x, y = ax + (bx - ax) * share, ay + (by - ay) * share
        if abs(ay - by) < abs(ax - bx):
            yield from ((x, y - high / 2 - off), (x, y + high / 2 + off))
        else:
            yield from ((x + wide / 2 + off, y), (x - wide / 2 - off, y))


def upright(way: Sequence[Spot], words: Words) -> Iterator[Spot]:
    """The same for words that read from below."""
    yield from beside(way, replace(words, upright=True))


def anchors(way: Sequence[Spot]) -> list[Spot]:
    """Points of a way that words may belong to, on its longer stretches."""
    return [(ax + (bx - ax) * share, ay + (by - ay) * share) for share in _SHARES for (ax, ay), (bx, by) in _longest(way)[:2]]


def _longest(way: Sequence[Spot]) -> list[Stretch]:
    return sorted(pairwise(way), key=lambda ab: -abs(ab[0][0] - ab[1][0]) - abs(ab[0][1] - ab[1][1]))


def ringed(rings: Sequence[Ring], placer: Placer) -> Iterator[str]:
    """A ring where power is crossed, how many cables in it; beside it where another mark is in the way."""
    for ring in rings:
        words = Words((str(ring.count),), SMALL, bold=True)
        radius = max(words.extent) / 2 + 0.2
        for dx, dy in _SHIFTS:
            x, y = ring.at[0] + dx, ring.at[1] + dy
            if placer.free(Box.about(x, y, 2 * radius - 0.8, 2 * radius - 0.8), inside=True):
                placer.taken.append(Box.about(x, y, 2 * radius, 2 * radius))
                yield ring_mark(x, y, radius)
                yield from words.drawn(x, y)
                break
        else:
            yield ring_mark(*ring.at, 0.8)
            yield from placer.placed(words, (), [ring.at])


def ring_mark(x: float, y: float, radius: float = 1.8) -> str:
    """The ring itself."""
    return tag("circle", cx=f"{x:.2f}", cy=f"{y:.2f}", r=f"{radius:.2f}", fill=WHITE, stroke=BLACK, stroke_width=0.35)
