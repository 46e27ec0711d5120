"""Best rectilinear routes on a wall, from one port to many, around what is in the way.

The search runs on the lines where a best route can bend: sides of what is in the way, ports, ends
of power runs and the edges of their separation. On those lines it is exact: Dijkstra over (node,
axis of arrival) with a cost in whole numbers, compared field by field: length in breach of a
separation, crossings, length, bends, horizontal length off the lane. With `lane_first` the length off
the lane leads instead: that is how a power cable goes down to its lane, along it, and up to its end.

A cable enters the body around a port only straight along the port's row or column, so nothing
passes through one thing on its way to another.
"""

from __future__ import annotations

import heapq
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from engine.solvers.separation import Point, Rect, Run, straightened

_BITS = 48  # of each field of a packed cost: no sum over any wall comes near it
_BEND = 1 << _BITS
_LENGTH = _BEND << _BITS
_CROSSING = _LENGTH << _BITS
_FIRST = _CROSSING << _BITS
_UNREACHED = _FIRST << _BITS

_Marks = tuple[bytearray, bytearray]  # a mark for each edge across (0) and up (1), kept at the edge's first node


@dataclass(frozen=True)
class Port:
    """Where a cable ends, the body that only this cable's ends may enter, and the axes along which (0 across, 1 up)."""

    at: Point
    body: Rect
    axes: tuple[int, ...] = (0, 1)


@dataclass(frozen=True)
class Route:
    """A route with what it cost; `points` are its ends and bends, lengths in millimetres."""

    points: tuple[Point, ...]
    breach: int
    crossings: int
    length: int
    bends: int
    off_lane: int


class Wall:
    """A wall with all that stands on it, ready to be searched.

    `inside` bounds every route; nothing enters `obstacles`; `runs` are the power runs to keep clear
    of; `lane` is the height at which a cable would rather run.
    """

    def __init__(
        self,
        inside: Rect,
        ports: Sequence[Port],
        *,
        obstacles: Sequence[Rect] = (),
        runs: Sequence[Run] = (),
        lane: int | None = None,
        lane_first: bool = False,
    ) -> None:
        self._ports = ports
        self._lane_first = lane_first
        rects = [*obstacles, *(p.body for p in ports)]
        xs = {v for r in rects for v in (r.left, r.right)} | {p.at[0] for p in ports}
        ys = {v for r in rects for v in (r.bottom, r.top)} | {p.at[1] for p in ports} | (set() if lane is None else {lane})
        for run in runs:
            lines, offset = (xs, run.start[0]) if run.axis else (ys, run.start[1])
            lines |= {offset - run.separation, offset + run.separation}
            # Going round an end counts as no crossing only from the next millimetre on.
            xs |= {run.span(0)[0] - 1, *run.span(0), run.span(0)[1] + 1}
            ys |= {run.span(1)[0] - 1, *run.span(1), run.span(1)[1] + 1}
        self.xs = sorted({inside.left, inside.right} | {x for x in xs if inside.left < x < inside.right})
        self.ys = sorted({inside.bottom, inside.top} | {y for y in ys if inside.bottom < y < inside.top})
        shut = self._shut(inside, obstacles)
        self._steps = self._joined(shut, self._breached(runs), self._crossed(runs), lane)

    def _node(self, at: Point) -> int | None:
        i, j = bisect_left(self.xs, at[0]), bisect_left(self.ys, at[1])
        if i == len(self.xs) or j == len(self.ys) or self.xs[i] != at[0] or self.ys[j] != at[1]:
            return None
        return j * len(self.xs) + i

    def _edges(self, axis: int, span: tuple[int, int], across: tuple[int, int]) -> Iterable[slice]:
        """Edges along an axis within a closed span, on the lines strictly within `across`, as slices."""
        lines, others = (self.xs, self.ys) if axis == 0 else (self.ys, self.xs)
        low, high = bisect_left(lines, span[0]), bisect_right(lines, span[1]) - 1
        width = len(self.xs)
        for k in range(bisect_right(others, across[0]), bisect_left(others, across[1])):
            yield slice(k * width + low, k * width + high) if axis == 0 else slice(low * width + k, high * width + k, width)

    def _shut(self, inside: Rect, obstacles: Sequence[Rect]) -> _Marks:
        """Edges (0 across, 1 up) no cable may use: within a rectangle, or in the crack between two that touch."""
        size = len(self.xs) * len(self.ys)
        shut = bytearray(size), bytearray(size)
        sides = [(bytearray(size), bytearray(size)) for _ in (0, 1)]

        def mark(where: bytearray, edges: Iterable[slice]) -> None:
            for edge in edges:
                where[edge] = b"\1" * len(range(*edge.indices(size)))

        held = {p.body: p for p in self._ports}
        for rect in (*obstacles, *held):
            port = held.get(rect) if rect not in obstacles else None
            for axis in (0, 1):
                span, across = ((rect.left, rect.right), (rect.bottom, rect.top))[:: 1 - 2 * axis]
                if span[0] >= span[1] or across[0] >= across[1]:
                    continue
                if port is not None and axis in port.axes and rect.holds(port.at):
                    way = port.at[1 - axis]
                    mark(shut[axis], self._edges(axis, span, (across[0], way)))
                    mark(shut[axis], self._edges(axis, span, (way, across[1])))
                else:
                    mark(shut[axis], self._edges(axis, span, across))
                for side in (0, 1):
                    mark(sides[axis][side], self._edges(axis, span, (across[1 - side] - 1, across[1 - side] + 1)))
        for axis in (0, 1):
            span, across = ((inside.left, inside.right), (inside.bottom, inside.top))[:: 1 - 2 * axis]
            for side in (0, 1):
                mark(sides[axis][side], self._edges(axis, span, (across[side] - 1, across[side] + 1)))
            shut[axis][:] = bytes(s | (a & b) for s, a, b in zip(shut[axis], *sides[axis], strict=True))
        return shut

    def _breached(self, runs: Sequence[Run]) -> _Marks:
        """Edges (0 across, 1 up) that lie beside a parallel run within its separation."""
        size = len(self.xs) * len(self.ys)
        breached = bytearray(size), bytearray(size)
        # Cables that lie in one lane span the same edges over and over: each is marked once.
        for axis, span, line, separation in {(r.axis, r.span(r.axis), r.start[1 - r.axis], r.separation) for r in runs}:
            for edge in self._edges(axis, span, (line - separation, line + separation)):
                breached[axis][edge] = b"\1" * len(range(*edge.indices(size)))
        return breached

    def _crossed(self, runs: Sequence[Run]) -> tuple[list[int], list[int]]:
        """By node: power runs crossed by going straight on through it, across (0) and up (1)."""
        width = len(self.xs)
        crossed = [0] * (width * len(self.ys)), [0] * (width * len(self.ys))
        for run in runs:
            if run.axis:
                i = bisect_left(self.xs, run.start[0])
                if i < width and self.xs[i] == run.start[0]:
                    for j in range(bisect_left(self.ys, run.span(1)[0]), bisect_right(self.ys, run.span(1)[1])):
                        crossed[0][j * width + i] += 1
            else:
                j = bisect_left(self.ys, run.start[1])
                if j < len(self.ys) and self.ys[j] == run.start[1]:
                    for i in range(bisect_left(self.xs, run.span(0)[0]), bisect_right(self.xs, run.span(0)[1])):
                        crossed[1][j * width + i] += 1
        return crossed

    def _joined(
        self, shut: _Marks, breached: _Marks, crossed: tuple[list[int], list[int]], lane: int | None
    ) -> list[list[tuple[int, int]]]:
        """By state (node, axis of arrival): the states one step on, and what the step costs."""
        width, count = len(self.xs), len(self.xs) * len(self.ys)
        steps: list[list[tuple[int, int]]] = [[] for _ in range(2 * count)]

        def join(a: int, b: int, axis: int, cost: int) -> None:
            for here, there in ((a, b), (b, a)):
                steps[2 * here + axis].append((2 * there + axis, cost + crossed[axis][here] * _CROSSING))
                steps[2 * here + 1 - axis].append((2 * there + axis, cost + _BEND))

        for j, y in enumerate(self.ys):
            for i, x in enumerate(self.xs):
                node = j * width + i
                if i + 1 < width and not shut[0][node]:
                    run = self.xs[i + 1] - x
                    off = run if lane is not None and y != lane else 0
                    # Of ways equally good a cable off its lane stays near it: metres off times millimetres away.
                    first, last = (off, off * abs(y - (lane or 0)) // 1000) if self._lane_first else (run * breached[0][node], off)
                    join(node, node + 1, 0, first * _FIRST + run * _LENGTH + last)
                if j + 1 < len(self.ys) and not shut[1][node]:
                    rise = self.ys[j + 1] - y
                    first = 0 if self._lane_first else rise * breached[1][node]
                    join(node, node + width, 1, first * _FIRST + rise * _LENGTH)
        return steps

    def routes(self, source: int, targets: Iterable[int]) -> Mapping[int, Route]:
        """The best route from port `source` to each of the target ports that can be reached at all."""
        start = self._node(self._ports[source].at)
        ends = {t: self._node(self._ports[t].at) for t in targets}
        if start is None:
            return {}
        closed = {n for p in self._ports if p.body.holds(p.at) and (n := self._node(p.at)) is not None and n != start}
        best, came = self._search(start, closed, {n for n in ends.values() if n is not None and n != start})
        found = {}
        for target, node in ends.items():
            if node is None:
                continue
            state = min((2 * node, 2 * node + 1), key=best.__getitem__)
            if node == start:
                found[target] = Route((self._ports[source].at,), 0, 0, 0, 0, 0)
            elif best[state] < _UNREACHED:
                found[target] = self._told(best[state], state, came)
        return found

    def _search(self, start: int, closed: set[int], wanted: set[int]) -> tuple[list[int], list[int]]:
        """Dijkstra: least cost and former state by state, until every wanted node is reached in its best way."""
        best, came = [_UNREACHED] * len(self._steps), [-1] * len(self._steps)
        best[2 * start] = best[2 * start + 1] = 0
        heap: list[tuple[int, int]] = []
        # Leaving the source bends nothing and crosses nothing, so take each axis as if arrived by it.
        for state in (2 * start, 2 * start + 1):
            for there, cost in self._steps[state]:
                if there % 2 == state % 2:
                    plain = cost % _CROSSING + cost // _FIRST * _FIRST
                    best[there], came[there] = plain, state
                    heap.append((plain, there))
        heapq.heapify(heap)
        steps, push, pop = self._steps, heapq.heappush, heapq.heappop
        while heap and wanted:
            cost, state = pop(heap)
            if cost > best[state]:
                continue
            node = state >> 1
            if node in wanted:
                wanted.discard(node)
            if node in closed:
                continue
            for there, step in steps[state]:
                total = cost + step
                if total < best[there]:
                    best[there], came[there] = total, state
                    push(heap, (total, there))
        return best, came

    def _told(self, cost: int, state: int, came: Sequence[int]) -> Route:
        """A packed cost and its chain of states as a route."""
        nodes = [state]
        while came[nodes[-1]] >= 0:
            nodes.append(came[nodes[-1]])
        points = [(self.xs[s // 2 % len(self.xs)], self.ys[s // 2 // len(self.xs)]) for s in reversed(nodes)]
        last, bends, run, crossings, first = (cost >> (_BITS * k) & ((1 << _BITS) - 1) for k in range(5))
        breach, off_lane = (0, first) if self._lane_first else (first, last)
        return Route(straightened(points), breach, crossings, run, bends, off_lane)
