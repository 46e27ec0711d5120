"""How near a route comes to power: crossings, and runs alongside within the separation.

Everything is in whole millimetres, so lengths add up exactly. A route is *in breach* where it runs
parallel to a power run, beside it, nearer than that run's separation (exactly at the separation is
clear). It *crosses* a power run where it passes straight through a point of it, its ends included;
rectilinear routes cross at right angles or not at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from engine.frozen import dataclass

Point = tuple[int, int]


@dataclass(frozen=True)
class Rect:
    """A rectangle on the wall, sides in millimetres."""

    left: int
    bottom: int
    right: int
    top: int

    def holds(self, at: Point) -> bool:
        """Whether a point lies strictly inside."""
        return self.left < at[0] < self.right and self.bottom < at[1] < self.top

    def gap(self, other: Rect) -> int:
        """Clear distance to another rectangle along the axis that parts them; negative where they overlap."""
        return max(self.left - other.right, other.left - self.right, self.bottom - other.top, other.bottom - self.top)


@dataclass(frozen=True)
class Run:
    """One straight piece of the power route named `of`, and the separation data keeps from it.

    Lying on a power cable is never clear, so a separation below 1 mm counts as 1 mm.
    """

    start: Point
    end: Point
    separation: int
    of: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "separation", max(1, self.separation))

    @property
    def axis(self) -> int:
        """0 where it runs across the wall, 1 where it runs up."""
        return int(self.start[0] == self.end[0])

    def span(self, axis: int) -> tuple[int, int]:
        """Its extent along an axis."""
        return min(self.start[axis], self.end[axis]), max(self.start[axis], self.end[axis])


@dataclass(frozen=True)
class Breach:
    """Length run under the separation of one power route, and the least distance to it."""

    of: str
    length: int
    distance: int
    wanted: int


@dataclass(frozen=True)
class Crossing:
    """Where a route crosses the power route named `of`."""

    at: Point
    of: str


@dataclass(frozen=True)
class Clearance:
    """What a drawn route keeps clear of.

    `closest` is the least distance to a power run alongside (None where none runs alongside), `under`
    the length run under the separation of one power route or more, each millimetre counted once.
    """

    closest: int | None
    under: int
    breaches: tuple[Breach, ...]
    crossings: tuple[Crossing, ...]


def pieces(points: Sequence[Point]) -> Iterator[tuple[Point, Point]]:
    """The straight pieces of a polyline, collinear neighbours joined, empty ones left out."""
    corners = straightened(points)
    yield from pairwise(corners)


def straightened(points: Sequence[Point]) -> tuple[Point, ...]:
    """The polyline with its ends and bends alone."""
    kept: list[Point] = []
    for point in points:
        if kept and point == kept[-1]:
            continue
        if len(kept) > 1 and (kept[-2][0] == kept[-1][0] == point[0] or kept[-2][1] == kept[-1][1] == point[1]):
            kept.pop()
        kept.append(point)
    return tuple(kept)


def length(points: Sequence[Point]) -> int:
    """Length of a rectilinear polyline."""
    return sum(abs(b[0] - a[0]) + abs(b[1] - a[1]) for a, b in pairwise(points))


def runs_of(name: str, points: Sequence[Point], separation: int) -> tuple[Run, ...]:
    """A power route as straight runs."""
    return tuple(Run(a, b, separation, name) for a, b in pieces(points))


def _union(spans: Sequence[tuple[int, int]]) -> int:
    """Length covered by intervals that may overlap."""
    covered, reach = 0, None
    for low, high in sorted(spans):
        if reach is None or low > reach:
            reach = low
        covered += max(0, high - reach)
        reach = max(reach, high)
    return covered


def clearance(points: Sequence[Point], runs: Sequence[Run]) -> Clearance:
    """Measure a route against the power runs, whatever way it was found."""
    closest: int | None = None
    under = 0
    crossings: list[Crossing] = []
    beside: dict[str, tuple[int, int, int]] = {}
    for a, b in pieces(points):
        piece = Run(a, b, 0, "")
        axis = piece.axis
        low, high = piece.span(axis)
        across = a[1 - axis]
        spans: dict[str, list[tuple[int, int]]] = {}
        for run in runs:
            start, end = run.span(axis)
            if run.axis != axis:
                least, most = run.span(1 - axis)
                if low < start < high and least <= across <= most:
                    crossings.append(Crossing((start, across) if axis == 0 else (across, start), run.of))
                continue
            shared = min(high, end), max(low, start)
            if shared[0] <= shared[1]:
                continue
            distance = abs(across - run.start[1 - axis])
            closest = distance if closest is None else min(closest, distance)
            if distance < run.separation:
                spans.setdefault(run.of, []).append((shared[1], shared[0]))
                total, nearest, _ = beside.get(run.of, (0, distance, 0))
                beside[run.of] = total, min(nearest, distance), run.separation
        for of, some in spans.items():
            total, nearest, wanted = beside[of]
            beside[of] = total + _union(some), nearest, wanted
        under += _union([span for some in spans.values() for span in some])
    breaches = tuple(Breach(of, *beside[of]) for of in sorted(beside))
    return Clearance(closest, under, breaches, tuple(sorted(crossings, key=lambda c: (c.at, c.of))))
