"""Exact nodal analysis of one island: admittances between nodes, currents fed in, one node at zero.

A wired site is nearly a tree: nodes hang in rows, and few bars join many. So nodes are eliminated one by one, those with fewest neighbours
first, each star turned into the mesh that does the same. No two admittances are subtracted in that, so a bolted joint beside a filter's
capacitor costs no accuracy. What a reading needs of it is the way of its nodes to that at zero, not the whole island; and what a mistake
changes is the way of the nodes that it touches.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Mapping
from functools import cached_property
from heapq import heapify, heappop, heappush

from engine.frozen import dataclass

Branch = tuple[str, str, complex]  # node, node, admittance in S


@dataclass(frozen=True, eq=False)
class _Star:
    """A node as it goes: when, its admittance to all that it is then joined to, the share of each in it, and the current fed into it."""

    place: int
    whole: complex
    shares: list[tuple[str, complex]]
    fed: complex


class Network:
    """The equations of one island, solved.

    Equation: Y V = I, by star-mesh transforms: y_ij += y_ik y_jk / sum of y_k (Rosen 1924, “A new network theorem”, J. IEE 62).
    """

    def __init__(self, branches: Iterable[Branch], fed: Mapping[str, complex], zero: str, upon: Mapping[str, _Star] | None = None) -> None:
        """`fed`: A, into a node from that at `zero`, to which every node is joined; `upon`: nodes that have gone already."""
        self.zero = zero
        self._stars = dict(upon or {})
        self._eliminate(branches, dict(fed))
        self._potentials: dict[str, complex] = {zero: 0.0}
        self._after: dict[str, str] = {}

    def potential(self, node: str) -> complex:
        """The voltage of a node to that at zero, V."""
        return self._substituted(node, self._potentials, lambda _, star: star.fed)

    def _substituted(self, node: str, known: dict[str, complex], fed: Callable[[str, _Star], complex]) -> complex:
        """The potential of a node, and of all on its way to that at zero: each is put into `known`."""
        ahead = [node]
        while ahead:
            star = self._stars.get(ahead[-1])
            if star and (missing := [other for other, _ in star.shares if other not in known]):
                ahead += missing
                continue
            here = ahead.pop()
            if star and here not in known:
                known[here] = fed(here, star) / star.whole + sum(share * known[other] for other, share in star.shares)
        return known[node]

    def voltage(self, one: str, other: str) -> complex:
        """The voltage from the other node to this one, V. Rounding of the largest currents leaves microvolts behind megohms."""
        return self.potential(one) - self.potential(other)

    def impedance(self, one: str, other: str) -> complex:
        """What the island is between two nodes, its sources at rest, ohm.

        It is the sum of i_k^2 / y_k over the nodes as they are eliminated, i_k what reaches each of a current that is fed in at the one
        and taken out at the other.
        """
        fed = self._handed(one, other)
        return sum((here * here / self._stars[node].whole for node, here in fed.items() if node != self.zero), start=0j)

    def _handed(self, one: str, other: str) -> dict[str, complex]:
        """What reaches each node as those before it go, of 1 A that is fed in at the one and taken out at the other."""
        fed: dict[str, complex] = {one: 1.0}
        fed[other] = fed.get(other, 0.0) - 1.0
        for node in self._way(one, other):
            here = fed[node]
            for reached, share in self._stars[node].shares:
                fed[reached] = fed.get(reached, 0.0) + share * here
        return fed

    def transfer(self, one: str, other: str) -> Callable[[str], complex]:
        """The potential of any node while 1 A is fed in at the one and taken out at the other, the island's sources at rest, ohm.

        By reciprocity it is also what 1 A fed in there, and taken out at zero, adds to the voltage from the other to the one.
        """
        fed, known = self._handed(one, other), dict[str, complex]({self.zero: 0.0})
        return lambda node: self._substituted(node, known, lambda here, _: fed.get(here, 0.0))

    def changed(self, at: Collection[str], branches: Iterable[Branch], fed: Mapping[str, complex]) -> Network:
        """The island with other branches at some nodes; `branches` and `fed` are all that it has then. Only their ways are solved again."""
        again = {*self._way(*(node for node in at if node in self._stars)), *at, self.zero}
        reduced = [(one, other, admittance) for one, other, admittance in branches if one in again and other in again]
        into = {node: current for node, current in fed.items() if node in again}
        for gone in {gone for node in again for gone in self._beside.get(node, ())} - again:
            star = self._stars[gone]
            left = [(node, share) for node, share in star.shares if node in again]
            for place, (node, share) in enumerate(left, 1):
                into[node] = into.get(node, 0.0) + share * star.fed
                reduced += [(node, other, share * part * star.whole) for other, part in left[place:]]
        return Network(reduced, into, self.zero, self._stars)

    @cached_property
    def _beside(self) -> Mapping[str, list[str]]:
        """The nodes in whose star each one is, but for those that left nothing behind: no mesh, and no current."""
        found: dict[str, list[str]] = {}
        for node, star in self._stars.items():
            for other, _ in star.shares if len(star.shares) > 1 or star.fed else ():
                found.setdefault(other, []).append(node)
        return found

    def _way(self, *nodes: str) -> list[str]:
        """All nodes that a current from these reaches, in the order in which they go: each hands all it has to the first of its star to go."""
        found: dict[str, int] = {}
        for node in nodes:
            here = node
            while here != self.zero and here not in found:
                found[here] = self._stars[here].place
                here = self._next(here)
        return sorted(found, key=found.__getitem__)

    def _next(self, node: str) -> str:
        """The first of a node's star to go behind it."""
        known, stars, zero = self._after, self._stars, self.zero
        if node not in known:
            first, place = zero, math.inf
            for other, _ in stars[node].shares:
                if other != zero and stars[other].place < place:
                    first, place = other, stars[other].place
            known[node] = first
        return known[node]

    def _eliminate(self, branches: Iterable[Branch], fed: dict[str, complex]) -> None:
        joined: dict[str, dict[str, complex]] = {}
        for one, other, admittance in branches:
            mine, theirs = joined.setdefault(one, {}), joined.setdefault(other, {})
            mine[other] = mine.get(other, 0.0) + admittance
            theirs[one] = theirs.get(one, 0.0) + admittance
        few = [(len(row), node) for node, row in joined.items() if node != self.zero]
        heapify(few)
        place = len(self._stars)  # behind all that have gone
        while few:
            many, node = heappop(few)
            if node not in joined or len(joined[node]) != many:  # gone, or told anew since
                continue
            row = joined.pop(node)
            whole, current = sum(row.values()), fed.get(node, 0.0)
            shares = [(other, admittance / whole) for other, admittance in row.items()]
            place += 1
            self._stars[node] = _Star(place, whole, shares, current)
            before = [len(joined[other]) for other in row]
            for behind, (one, share) in enumerate(shares, 1):
                mine = joined[one]
                del mine[node]
                if current:
                    fed[one] = fed.get(one, 0.0) + share * current
                for other, _ in shares[behind:]:
                    theirs, mesh = joined[other], share * row[other]
                    mine[other] = mine.get(other, 0.0) + mesh
                    theirs[one] = theirs.get(one, 0.0) + mesh
            for (other, _), was in zip(shares, before, strict=True):
                if other != self.zero and (now := len(joined[other])) != was:
                    heappush(few, (now, other))
