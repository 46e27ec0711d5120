"""Best rectilinear routes on a wall, from one port to many, around what is in the way.

The search runs on the lines where a best route can bend: sides of what is in the way, ports, ends
of power runs and the edges of their separation. On those lines it is exact: Dijkstra over (node,
axis of arrival) with a cost in whole numbers, compared field by field: length in breach of a
separation, crossings, length, bends, horizontal length off the lane. With `lane_first` the length off
the lane leads instead: that is how a power cable goes down to its lane, along it, and up to its end.
The fields of a cost are packed into one whole number, and so is the state it belongs to, at its low end:
one comparison decides.

A cable enters the body around a port only straight along the port's row or column, so nothing
passes through one thing on its way to another.
"""

from __future__ import annotations

import heapq
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise
from operator import add, mul

from engine.frozen import dataclass
from engine.solvers.separation import Point, Rect, Run, straightened

_Moves = tuple[tuple[int, list[int]], ...]  # for each of four: what it adds to twice a node's number to give a state, and its cost by node
_Marks = tuple[bytearray, bytearray]  # a mark for each edge across (0) and up (1), kept at the edge's first node


@dataclass(frozen=True)
class CableEnd:
    """Where a cable ends, the body that only this cable's ends may enter, and the axes along which (0 across, 1 up)."""

    at: Point
    body: Rect
    axes: tuple[int, ...] = (0, 1)


@dataclass(frozen=True)
class FoundRoute:
    """A route with what it cost; `points` are its ends and bends, lengths in millimetres."""

    points: tuple[Point, ...]
    breach: int
    crossings: int
    length: int
    bends: int
    off_lane: int


@dataclass(frozen=True)
class _Fields:
    """Where each field of a packed cost begins, the state's number below them all.

    No best way enters a state twice, so a field is wide enough for its largest step times the number of states.
    """

    last: int
    bend: int
    length: int
    crossing: int
    first: int
    unreached: int

    @classmethod
    def sized(cls, states: int, step: int, last: int, crossings: int) -> _Fields:
        """For steps of at most that length, last field and crossings."""
        places = [states.bit_length()]
        for most in (last, 1, step, crossings, step):
            places.append(places[-1] + (states * most).bit_length())
        return cls(*(1 << place for place in places))

    def told(self, cost: int) -> tuple[int, int, int, int, int]:
        """First field, crossings, length, bends, last field."""
        first, rest = divmod(cost, self.first)
        crossings, rest = divmod(rest, self.crossing)
        run, rest = divmod(rest, self.length)
        bends, rest = divmod(rest, self.bend)
        return first, crossings, run, bends, rest // self.last


class RouteGrid:
    """A wall with all that stands on it, ready to be searched.

    `inside` bounds every route; nothing enters `obstacles`; `runs` are the power runs to keep clear
    of; `lane` is the height at which a cable would rather run.
    """

    def __init__(
        self,
        inside: Rect,
        ports: Sequence[CableEnd],
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
            (lines, others), offset = ((xs, ys), run.start[0]) if run.axis else ((ys, xs), run.start[1])
            lines |= {offset - run.separation, offset, offset + run.separation}
            # Going round an end counts as no crossing only from the next millimetre on.
            low, high = run.span(run.axis)
            others |= {low - 1, low, high, high + 1}
        self.xs = sorted({inside.left, inside.right} | {x for x in xs if inside.left < x < inside.right})
        self.ys = sorted({inside.bottom, inside.top} | {y for y in ys if inside.bottom < y < inside.top})
        self._cross = self._crossed(runs)
        count, away = len(self.xs) * len(self.ys), max(0 if lane is None else abs(y - lane) for y in self.ys)
        longest = max((b - a for line in (self.xs, self.ys) for a, b in pairwise(line)), default=0)
        self._fields = _Fields.sized(2 * count, longest, longest * (1 + away), max(map(max, self._cross)))
        self._cost = self._costs(self._opened(inside, obstacles), self._breached(runs), lane)
        self._behind = self._margins()
        self._ends = {node for port in ports if port.body.holds(port.at) and (node := self._node(port.at)) is not None}
        self._moves = self._moved()

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

    def _opened(self, inside: Rect, obstacles: Sequence[Rect]) -> _Marks:
        """Edges (0 across, 1 up) a cable may use: not within a rectangle, nor in the crack between two that touch."""
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
            shut[axis][:] = bytes(not s | (a & b) for s, a, b in zip(shut[axis], *sides[axis], strict=True))
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

    def _margins(self) -> list[int]:
        """By state: so far behind its node's other state it leads nowhere cheaper, whichever way it goes on."""
        fields = self._fields
        # A row that nothing reaches stands beyond the last, so that each node has four neighbours.
        behind = [fields.bend] * 2 * (len(self._cross[0]) + len(self.xs))
        for axis in (0, 1):
            for node, crossed in enumerate(self._cross[1 - axis]):
                if crossed:
                    behind[2 * node + axis] = crossed * fields.crossing - fields.bend
        return behind

    def _costs(self, free: _Marks, breached: _Marks, lane: int | None) -> tuple[list[int], list[int]]:
        """By node: cost of the edge that begins there across (0) and up (1), without bends and crossings; 0 where none may be used."""
        fields, width = self._fields, len(self.xs)
        runs, rises = ([b - a for a, b in pairwise(line)] for line in (self.xs, self.ys))
        along, upward = [0] * len(free[0]), [0] * len(free[0])
        first = 0 if self._lane_first else fields.first
        plain = [run * fields.length for run in runs]
        off = [run * (fields.length + (fields.first if self._lane_first else fields.last)) for run in runs]
        for j, y in enumerate(self.ys):
            away = 0 if lane is None else abs(y - lane)
            row = slice(j * width, (j + 1) * width - 1)
            costs = off if away else plain
            if self._lane_first and away:
                # Of ways equally good a cable off its lane stays near it: metres off times millimetres away.
                costs = [cost + run * away // 1000 * fields.last for cost, run in zip(costs, runs, strict=True)]
            elif any(breached[0][row]):
                costs = [cost + run * breach * first for cost, run, breach in zip(costs, runs, breached[0][row], strict=True)]
            along[row] = map(mul, costs, free[0][row])
        for j, rise in enumerate(rises):
            row = slice(j * width, (j + 1) * width)
            cost, beside = rise * fields.length, rise * (fields.length + first)
            upward[row] = map(mul, [beside if breach else cost for breach in breached[1][row]], free[1][row])
        return along, upward

    def _moved(self) -> tuple[_Moves, _Moves]:
        """The moves from a node that was reached across (0) or up (1). Nothing leads on from a port."""
        fields, width, count = self._fields, len(self.xs), len(self._cross[0])
        bent = [fields.bend] * count
        found: list[_Moves] = []
        for arrived in (0, 1):
            moves = []
            for axis, stride in ((0, 1), (1, width)):
                more = [crossed * fields.crossing for crossed in self._cross[axis]] if axis == arrived else bent
                edges = [cost or fields.unreached for cost in self._cost[axis]]
                for way, there in ((stride, edges), (-stride, [fields.unreached] * stride + edges)):
                    costs = [*map(add, there, more)]
                    for node in self._ends:
                        costs[node] = fields.unreached
                    moves.append((2 * way + axis, costs))
            found.append(tuple(moves))
        return found[0], found[1]

    def routes(self, source: int, targets: Iterable[int]) -> Mapping[int, FoundRoute]:
        """The best route from port `source` to each of the target ports that can be reached at all."""
        start = self._node(self._ports[source].at)
        ends = {t: self._node(self._ports[t].at) for t in targets}
        if start is None:
            return {}
        best, came = self._search(start, {n for n in ends.values() if n is not None and n != start})
        found = {}
        for target, node in ends.items():
            if node is None:
                continue
            state = min((2 * node, 2 * node + 1), key=best.__getitem__)
            if node == start:
                found[target] = FoundRoute((self._ports[source].at,), 0, 0, 0, 0, 0)
            elif best[state] < self._fields.unreached:
                found[target] = self._told(best[state], state, came)
        return found

    def _search(self, start: int, wanted: set[int], near: bytearray | None = None) -> tuple[list[int], list[int]]:
        """Dijkstra: least cost and former state by state, until every wanted node is reached in its best way; on from `near` nodes only."""
        moves, behind, states = self._moves, self._behind, self._fields.last - 1
        best, came = self._unreached(), [-1] * len(behind)
        best[2 * start] = best[2 * start + 1] = 0
        heap: list[int] = []
        # Leaving the source bends nothing and crosses nothing.
        for there, cost in self._around(start):
            best[there], came[there] = cost, 2 * start + (there & 1)
            heap.append(cost | there)
        heapq.heapify(heap)
        push, pop = heapq.heappush, heapq.heappop
        while heap and wanted:
            cost = pop(heap)
            state = cost & states
            cost -= state
            if cost > best[state]:
                continue
            node, axis = state >> 1, state & 1
            wanted.discard(node)
            if near and not near[node]:
                continue
            twice = state - axis
            for shift, costs in moves[axis]:
                there = twice + shift
                total = cost + costs[node]
                if total < best[there] and total < best[there ^ 1] + behind[there]:
                    best[there], came[there] = total, state
                    push(heap, total | there)
        return best, came

    def _told(self, cost: int, state: int, came: Sequence[int]) -> FoundRoute:
        """A packed cost and its chain of states as a route."""
        nodes = [state >> 1]
        while came[state] >= 0:
            state = came[state]
            nodes.append(state >> 1)
        return self._route(cost, nodes)

    def _route(self, cost: int, nodes: Sequence[int]) -> FoundRoute:
        """A packed cost and its nodes, the last one first, as a route."""
        points = [self._at(node) for node in reversed(nodes)]
        first, crossings, run, bends, last = self._fields.told(cost)
        breach, off_lane = (0, first) if self._lane_first else (first, last)
        return FoundRoute(straightened(points), breach, crossings, run, bends, off_lane)

    def _at(self, node: int) -> Point:
        row, column = divmod(node, len(self.xs))
        return self.xs[column], self.ys[row]

    def within(self, source: int, target: int, most: Callable[[int], int]) -> FoundRoute | None:
        """The best route between two ports among those that are not longer than `most` of the shortest; None where there is none.

        The best of all ways that stay where one so long can come at all is looked for first: mostly it is short enough.
        """
        here, there = self._ports[source].at, self._ports[target].at
        start, goal = self._node(here), self._node(there)
        if start is None or goal is None:
            return None
        if start == goal:
            return FoundRoute((here,), 0, 0, 0, 0, 0)
        shortest = self._shortest(start, goal)
        if shortest is None:
            return None
        limit = most(shortest)
        best, came = self._search(start, {goal}, self._near(here, there, limit))
        state = min((2 * goal, 2 * goal + 1), key=best.__getitem__)
        if best[state] == self._fields.unreached:
            return None
        found = self._told(best[state], state, came)
        return found if found.length <= limit else self._limited(start, goal, limit, best)

    def _near(self, here: Point, there: Point, limit: int) -> bytearray:
        """A mark for each node through which a way between two points may come that is not longer than the limit."""
        width, near = len(self.xs), bytearray(len(self.xs) * len(self.ys))
        left, right = sorted((here[0], there[0]))
        for j, y in enumerate(self.ys):
            over = limit - abs(y - here[1]) - abs(y - there[1]) - (right - left)
            if over >= 0:
                low, high = bisect_left(self.xs, left - over // 2), bisect_right(self.xs, right + over // 2)
                near[j * width + low : j * width + high] = b"\1" * (high - low)
        return near

    def _apart(self, node: int) -> list[int]:
        """By node the least length to one of them, whatever is in the way."""
        x, y = self._at(node)
        across, up = [abs(at - x) for at in self.xs], [abs(at - y) for at in self.ys]
        return [dx + dy for dy in up for dx in across]

    def _shortest(self, start: int, goal: int) -> int | None:
        """The length of the shortest way between two nodes, whatever it passes; None where there is none."""
        apart = self._apart(goal)
        least, heap = {start: 0}, [(apart[start], 0, start)]
        while heap:
            _, run, node = heapq.heappop(heap)
            if node == goal:
                return run
            if run > least[node] or (node in self._ends and node != start):
                continue
            for state, cost in self._around(node):
                onward, whole = state >> 1, run + self._run(cost)
                if whole < least.get(onward, whole + 1):
                    least[onward] = whole
                    heapq.heappush(heap, (whole + apart[onward], whole, onward))
        return None

    def _limited(self, start: int, goal: int, limit: int, best: Sequence[int]) -> FoundRoute | None:
        """The best way that is not longer than the limit, where `best` is what a search from the start has found for ways of any length.

        Searched from the goal, in order of cost so far and what the rest costs at least: that is what it cost from the start, where
        the search came so far, or what the search had spent when it ended. One label survives at a state only where it is shorter
        than all before it: a dearer way is worth keeping just for the length that it leaves. Nor does one survive where the other
        state of its node was reached no longer, and cheaper by all that going on from there could cost more.
        """
        moves, behind, states, fields = self._moves, self._behind, self._fields.last - 1, self._fields
        apart, spent = self._apart(start), min(best[2 * goal], best[2 * goal + 1])
        least, reached = [limit + 1] * len(behind), self._unreached()

        def ahead(state: int) -> int:
            node, axis = state >> 1, state & 1
            through = self._cross[axis][node] * fields.crossing
            return 0 if node == start else min(best[state] + through, best[state ^ 1] + fields.bend, spent)

        labels: list[tuple[int, int]] = []  # state, and the label before it
        heap = [(cost + ahead(state) | state, self._run(cost), -1) for state, cost in self._around(goal)]
        heapq.heapify(heap)
        push, pop = heapq.heappush, heapq.heappop
        while heap:
            cost, run, before = pop(heap)
            state = cost & states
            if run >= least[state]:
                continue
            cost -= ahead(state) + state
            other = state ^ 1
            if run >= least[other] and cost >= reached[other] + behind[state]:
                continue
            least[state], reached[state] = run, cost
            own = len(labels)
            labels.append((state, before))
            if state >> 1 == start:
                nodes = [start]
                while before >= 0:
                    state, before = labels[before]
                    nodes.append(state >> 1)
                return self._route(cost, [*nodes, goal][::-1])
            node = state >> 1
            for shift, costs in moves[state & 1]:
                onward, step = 2 * node + shift, costs[node]
                if step >= fields.unreached:
                    continue
                whole = run + self._run(step)
                if whole < least[onward] and whole + apart[onward >> 1] <= limit:
                    total = cost + step
                    if whole < least[onward ^ 1] or total < reached[onward ^ 1] + behind[onward]:
                        push(heap, (total + ahead(onward) | onward, whole, own))
        return None

    def _unreached(self) -> list[int]:
        """By state the cost of what is not reached yet."""
        return [self._fields.unreached] * len(self._behind)

    def _run(self, cost: int) -> int:
        """The length of a packed cost."""
        return cost % self._fields.crossing // self._fields.length

    def _around(self, node: int) -> list[tuple[int, int]]:
        """The states at the other ends of a node's edges, with the edges' costs."""
        (along, upward), width = self._cost, len(self.xs)
        found = [(2 * node + 2, along[node]), (2 * (node + width) + 1, upward[node])]
        found += [(2 * node - 2, along[node - 1])] if node else []
        found += [(2 * (node - width) + 1, upward[node - width])] if node >= width else []
        return [(state, cost) for state, cost in found if cost]
