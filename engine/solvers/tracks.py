"""Lines that run along each other on a drawing, laid side by side: each net keeps a track of its own.

A net is what may be drawn as one line. Its pieces that lie on one another are one span; spans of different nets that would come
nearer to each other than the gap are moved apart, no further than the bodies beside them leave room (where that is too little they lie closer),
in that order in which they cross each other least where they part. Everything is in whole millimetres and rectilinear.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise

from engine.frozen import dataclass
from engine.solvers.separation import Point, Rect, straightened

_FAR = 10**9
_SHARES = tuple(k / 16 for k in range(16, -1, -1))  # of the gap, that are tried where there is less room
_ROUNDS = 30
_COMPARED = 6  # pieces of a span that decide which side of another it lies


@dataclass(frozen=True)
class Line:
    """One line of a net between two bodies. Its ends lie on their sides, or are cut off there."""

    net: str
    points: tuple[Point, ...]
    start: Rect
    end: Rect


@dataclass(frozen=True)
class _Piece:
    """A straight piece: its axis (0 across, 1 up), where it lies, from where to where it goes, and in which direction."""

    axis: int
    at: int
    begin: int
    end: int
    way: int


@dataclass(frozen=True)
class _Span:
    """Pieces of one net that lie on one another: where, and between which bounds they may be moved; `pieces` are (line, piece)."""

    net: str
    axis: int
    at: int
    low: int
    high: int
    pieces: tuple[tuple[int, int], ...]
    least: float
    most: float

    def beside(self, other: _Span, near: int) -> bool:
        """Whether it lies along another; of another net also where it ends so near to where that begins."""
        reach = near if self.net != other.net else 0
        return self.low < other.high + reach and other.low < self.high + reach


@dataclass(frozen=True)
class Tracks:
    """Lines as they are drawn; `points` pair with the lines. `close` tells nets that lie along each other nearer than the gap, and how far apart."""

    points: tuple[tuple[tuple[float, float], ...], ...]
    close: Mapping[tuple[str, str], float]
    _pieces: tuple[tuple[_Piece, ...], ...]
    _at: Mapping[tuple[int, int], float]

    def crossing(self, one: int, other: int, at: Point) -> tuple[float, float] | None:
        """Where two lines are drawn to cross that cross at a point; None where that lies within a body."""
        for axis in (0, 1):
            level, upright = self._through(one, at, axis), self._through(other, at, 1 - axis)
            if level is not None and upright is not None:
                return (upright, level) if axis == 0 else (level, upright)
        return None

    def _through(self, line: int, at: Point, axis: int) -> float | None:
        """Where the piece of a line along an axis is drawn that goes through a point."""
        for k, piece in enumerate(self._pieces[line]):
            if piece.axis == axis and piece.at == at[1 - axis] and min(piece.begin, piece.end) <= at[axis] <= max(piece.begin, piece.end):
                return self._at[line, k]
        return None


def side_by_side(lines: Sequence[Line], bodies: Sequence[Rect], inside: Rect, gap: int) -> Tracks:
    """Every line with its pieces on tracks of their net, no track beyond `inside`; what lies wholly within its bodies has no points."""
    pieces = tuple(tuple(_pieces(line)) for line in lines)
    spans = [span for axis in (0, 1) for span in _spans(lines, pieces, bodies, inside, axis, gap)]
    at: dict[tuple[int, int], float] = {}
    close: dict[tuple[str, str], float] = {}
    for axis in (0, 1):
        here = [span for span in spans if span.axis == axis]
        places = _apart(here, pieces, gap)
        for span, place in zip(here, places, strict=True):
            at |= dict.fromkeys(span.pieces, place)
        for one, other in combinations(range(len(here)), 2):
            nets, apart = (here[one].net, here[other].net), abs(places[one] - places[other])
            if nets[0] != nets[1] and apart < gap and here[one].beside(here[other], 0):
                close[nets] = min(close.get(nets, apart), apart)
    drawn = tuple(tuple(_corners(some, [at[k, n] for n in range(len(some))])) for k, some in enumerate(pieces))
    return Tracks(drawn, close, pieces, at)


def cut_off(points: Sequence[Point], start: Rect, end: Rect) -> tuple[Point, ...]:
    """A path without what lies within the bodies at its ends."""
    return _left(_left(tuple(points), start)[::-1], end)[::-1]


def _left(points: tuple[Point, ...], body: Rect) -> tuple[Point, ...]:
    """A path from the side at which it leaves a body, if it begins within it."""
    if not points or not body.holds(points[0]):
        return points
    for k, (a, b) in enumerate(pairwise(points), 1):
        if not body.holds(b):
            return straightened((_edge(a, b, body), *points[k:]))
    return ()


def _edge(inner: Point, outer: Point, body: Rect) -> Point:
    """Where a straight piece leaves a body."""
    (x, y), (u, v) = inner, outer
    if y == v:
        return (body.right if u > x else body.left), y
    return x, (body.top if v > y else body.bottom)


def _pieces(line: Line) -> Iterator[_Piece]:
    """The straight pieces; one without length where a line leaves along the side that it begins at, so that it can step away from it."""
    points = line.points
    if len(points) < 2:
        return
    whole = [_piece(a, b) for a, b in pairwise(points)]
    first, last = _outward(points[0], line.start), _outward(points[-1], line.end)
    if first and first[0] != whole[0].axis:
        yield _stub(points[0], *first)
    yield from whole
    if last and last[0] != whole[-1].axis:
        yield _stub(points[-1], last[0], -last[1])


def _piece(a: Point, b: Point) -> _Piece:
    axis = int(a[0] == b[0])
    return _Piece(axis, a[1 - axis], a[axis], b[axis], 1 if b[axis] > a[axis] else -1)


def _stub(at: Point, axis: int, way: int) -> _Piece:
    return _Piece(axis, at[1 - axis], at[axis], at[axis], way)


def _outward(at: Point, body: Rect) -> tuple[int, int] | None:
    """Axis and direction away from the side of a body on which a point lies; None at a corner, and where it lies on none."""
    found = [
        way
        for on, inside, way in (
            (at[0] == body.left, body.bottom < at[1] < body.top, (0, -1)),
            (at[0] == body.right, body.bottom < at[1] < body.top, (0, 1)),
            (at[1] == body.bottom, body.left < at[0] < body.right, (1, -1)),
            (at[1] == body.top, body.left < at[0] < body.right, (1, 1)),
        )
        if on and inside
    ]
    return found[0] if found else None


# --- spans and their bounds ---


def _spans(
    lines: Sequence[Line], pieces: Sequence[Sequence[_Piece]], bodies: Sequence[Rect], inside: Rect, axis: int, gap: int
) -> Iterator[_Span]:
    """The spans along an axis: pieces of a net on one line, joined where they overlap or touch."""
    found: dict[tuple[str, int], list[tuple[int, int, tuple[int, int]]]] = {}
    for k, some in enumerate(pieces):
        for n, piece in enumerate(some):
            if piece.axis == axis:
                low, high = sorted((piece.begin, piece.end))
                found.setdefault((lines[k].net, piece.at), []).append((low, high, (k, n)))
    for (net, at), stretches in found.items():
        for joined in _joined(sorted(stretches)):
            low, high = joined[0][0], max(stretch[1] for stretch in joined)
            members = tuple(stretch[2] for stretch in joined)
            ends = [side for k, n in members for side in _sides(lines[k], n, len(pieces[k]), axis)]
            yield _Span(net, axis, at, low, high, members, *_bounds(at, (low, high), axis, bodies, [_side_of(inside, axis), *ends], gap))


def _joined(stretches: Sequence[tuple[int, int, tuple[int, int]]]) -> list[list[tuple[int, int, tuple[int, int]]]]:
    groups: list[list[tuple[int, int, tuple[int, int]]]] = []
    reach = -_FAR
    for stretch in stretches:
        if not groups or stretch[0] > reach:
            groups.append([])
        groups[-1].append(stretch)
        reach = max(reach, stretch[1])
    return groups


def _sides(line: Line, number: int, count: int, axis: int) -> Iterator[tuple[int, int]]:
    """From where to where the sides reach that a piece along an axis ends at, if it is a line's first or last."""
    for is_end, body in ((number == 0, line.start), (number == count - 1, line.end)):
        low, high = _side_of(body, axis)
        if is_end and low < high:  # what has no size holds nothing
            yield low, high


def _side_of(body: Rect, axis: int) -> tuple[int, int]:
    """From where to where a piece along an axis may lie within a body."""
    return (body.bottom, body.top) if axis == 0 else (body.left, body.right)


def _bounds(
    at: int, span: tuple[int, int], axis: int, bodies: Sequence[Rect], ends: Sequence[tuple[int, int]], gap: int
) -> tuple[float, float]:
    """Between which places a span may be moved: off the bodies that it passes, and on the sides that it ends at."""
    least, most = -_FAR, _FAR
    for body in bodies:
        along, across = ((body.left, body.right), (body.bottom, body.top))[:: 1 - 2 * axis]
        if span[0] < along[1] and along[0] < span[1]:
            if across[1] <= at:
                least = max(least, across[1])
            elif across[0] >= at:
                most = min(most, across[0])
    for low, high in ends:
        least, most = max(least, min(low, at)), min(most, max(high, at))
    off = min(gap / 2, (most - least) / 6)
    return (least + off if least > -_FAR else least), (most - off if most < _FAR else most)


# --- moving them apart ---


def _apart(spans: Sequence[_Span], pieces: Sequence[Sequence[_Piece]], gap: int) -> list[float]:
    """Where each span lies. Those that come too near to each other are laid out together, in blocks that grow as they meet others."""
    block = list(range(len(spans)))
    members = {k: [k] for k in block}
    places = [0.0] * len(spans)
    changed = set(block)
    while changed:
        for k in changed:
            for number, place in _laid(members[k], spans, pieces, gap).items():
                places[number] = place
        changed = set()
        for one, other in combinations(range(len(spans)), 2):
            if block[one] != block[other] and abs(places[one] - places[other]) < 0.99 * gap and spans[one].beside(spans[other], gap):
                kept, gone = sorted((block[one], block[other]))
                members[kept] += members.pop(gone)
                for number in members[kept]:
                    block[number] = kept
                changed = (changed - {gone}) | {kept}
    for numbers in members.values():
        if len(numbers) > 1:
            for number, place in _eased(numbers, {k: places[k] for k in numbers}, spans, gap).items():
                places[number] = place
    return places


def _laid(numbers: Sequence[int], spans: Sequence[_Span], pieces: Sequence[Sequence[_Piece]], gap: int) -> Mapping[int, float]:
    """One block: its spans side by side in the order in which they cross least, or, where that leaves more room, in that of their bounds."""
    wins = dict.fromkeys(numbers, 0)
    for one, other in combinations(numbers, 2):
        if spans[one].beside(spans[other], gap):
            side = _side(spans[one], spans[other], pieces)
            wins[one] += side
            wins[other] -= side

    def between(k: int) -> float:
        span, reach = spans[k], 3 * gap
        return max(span.least, span.at - reach) + min(span.most, span.at + reach)

    fewest = sorted(numbers, key=lambda k: (spans[k].at, wins[k], k))
    roomiest = sorted(numbers, key=lambda k: (between(k), spans[k].at, wins[k], k))
    stacks = [_stacked(order, spans, gap) for order in dict.fromkeys((tuple(fewest), tuple(roomiest)))]
    return max(stacks, key=lambda stack: stack[0])[1]


def _stacked(order: Sequence[int], spans: Sequence[_Span], gap: int) -> tuple[float, dict[int, float]]:
    """Spans in their order, a step apart where they lie along each other, as near to where they were as they can; and that step."""
    before = {k: [other for other in order[:place] if spans[other].beside(spans[k], gap)] for place, k in enumerate(order)}
    levels: dict[int, int] = {}
    for number in order:
        levels[number] = max((levels[other] + 1 for other in before[number]), default=0)
    step, places = float(gap), dict[int, float]()
    for step in (gap * share for share in _SHARES):
        high = _highest(order, before, spans, step)
        middle = sum(spans[k].at - levels[k] * step for k in order) / len(order)
        places.clear()
        for k in order:
            low = max([spans[k].least, *(places[other] + step for other in before[k])])
            places[k] = max(low, min(middle + levels[k] * step, high[k]))
        if all(places[k] <= high[k] + 1e-6 for k in order):
            break
    return step, places


def _eased(numbers: Sequence[int], places: Mapping[int, float], spans: Sequence[_Span], gap: int) -> dict[int, float]:
    """The same order with room shared: where spans lie closer than a gap each goes midway between its neighbours, or a gap off them."""
    eased = {k: max(spans[k].least, min(places[k], spans[k].most)) for k in numbers}
    order = sorted(numbers, key=eased.__getitem__)
    before = {k: [other for other in order[:n] if spans[other].beside(spans[k], gap)] for n, k in enumerate(order)}
    behind = {k: [other for other in order[n + 1 :] if spans[other].beside(spans[k], gap)] for n, k in enumerate(order)}
    for _ in range(_ROUNDS):
        for k in order:
            low = max([spans[k].least - gap, *(eased[other] for other in before[k])])
            high = min([spans[k].most + gap, *(eased[other] for other in behind[k])])
            free = min(gap, (high - low) / 2)
            eased[k] = max(spans[k].least, min(max(low + free, min(eased[k], high - free)), spans[k].most))
    return eased


def _highest(order: Sequence[int], before: Mapping[int, Sequence[int]], spans: Sequence[_Span], step: float) -> dict[int, float]:
    """How high each span may lie, so that those above it have their room."""
    high = {k: spans[k].most for k in order}
    for k in reversed(order):
        for other in before[k]:
            high[other] = min(high[other], high[k] - step)
    return high


def _side(one: _Span, other: _Span, pieces: Sequence[Sequence[_Piece]]) -> int:
    """1 where a span lies rather above, or right of, another along it, -1 where rather below; 0 where nothing tells."""
    told = sum(_parting(pieces, a, b, high) for a in one.pieces[:_COMPARED] for b in other.pieces[:_COMPARED] for high in (True, False))
    return (told > 0) - (told < 0)


def _parting(pieces: Sequence[Sequence[_Piece]], one: tuple[int, int], other: tuple[int, int], high: bool) -> int:
    """Which of two pieces along each other lies above the other, by how they go on at their high or their low end."""
    a, b = _onward(pieces, *one, high), _onward(pieces, *other, high)
    turns = (a[1] if a else 0), (b[1] if b else 0)
    if turns[0] != turns[1]:
        return 1 if turns[0] > turns[1] else -1
    if a is None or b is None:
        return 0
    heading, turn = (1 if high else -1), turns[0]
    if a[2] != b[2]:
        # Both turn to one side: that which turns first lies nearer to it.
        return turn * heading * (1 if b[2] > a[2] else -1)
    return -heading * turn * _parting(pieces, (one[0], a[0]), (other[0], b[0]), turn > 0)


def _onward(pieces: Sequence[Sequence[_Piece]], line: int, number: int, high: bool) -> tuple[int, int, int] | None:
    """The piece behind one in a direction: its number, the direction in which it is gone along, where it lies."""
    step = 1 if (pieces[line][number].way > 0) == high else -1
    there = number + step
    if not 0 <= there < len(pieces[line]):
        return None
    piece = pieces[line][there]
    return there, piece.way * step, piece.at


def _corners(pieces: Sequence[_Piece], places: Sequence[float]) -> Iterator[tuple[float, float]]:
    """A line through its pieces as they lie now."""
    if not pieces:
        return
    yield _point(pieces[0], pieces[0].begin, places[0])
    for (a, at), (b, there) in pairwise(zip(pieces, places, strict=True)):
        if a.axis != b.axis:
            yield _point(a, there, at)
    yield _point(pieces[-1], pieces[-1].end, places[-1])


def _point(piece: _Piece, along: float, at: float) -> tuple[float, float]:
    return (along, at) if piece.axis == 0 else (at, along)
