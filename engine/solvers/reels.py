"""Cutting stock: cable lengths cut from reels that come in given lengths.

Least total length bought. Decreasing first fit gives a packing; a branch and bound with a budget in
nodes betters it or proves it. The bound told is proven either way.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from math import gcd

from engine.frozen import dataclass

NODES = 20_000
_DEEPEST = 200  # cuts the search goes into: it recurses once per cut


@dataclass(frozen=True)
class Filled:
    """One reel bought, and the cuts made from it, longest first."""

    stock: int
    cuts: tuple[int, ...]

    @property
    def offcut(self) -> int:
        """What is left of it."""
        return self.stock - sum(self.cuts)


@dataclass(frozen=True)
class Packing:
    """Reels that give every cut; `bound` is a length no packing can buy less than; `too_long` fit no reel."""

    reels: tuple[Filled, ...]
    bound: int
    too_long: tuple[int, ...]

    @property
    def bought(self) -> int:
        """Total length of the reels."""
        return sum(reel.stock for reel in self.reels)

    @property
    def proven(self) -> bool:
        """Whether no packing buys less."""
        return self.bought == self.bound


def packed(cuts: Sequence[int], stock: Sequence[int], nodes: int = NODES) -> Packing:
    """Pack cuts into reels of the lengths in `stock` (whole millimetres, any number of each).

    Cuts of nothing are left out. Raises ValueError where there is no stock length above zero.
    """
    sizes = sorted({s for s in stock if s > 0})
    if not sizes:
        raise ValueError("no reel length above zero is given")
    wanted = sorted((c for c in cuts if 0 < c <= sizes[-1]), reverse=True)
    too_long = tuple(sorted((c for c in cuts if c > sizes[-1]), reverse=True))
    if not wanted:
        return Packing((), 0, too_long)
    search = _Search(wanted, sizes, nodes)
    return Packing(tuple(Filled(_least(sizes, sum(b)), tuple(b)) for b in search.best), search.bound, too_long)


def _least(sizes: Sequence[int], content: int) -> int:
    """The shortest reel that holds a content."""
    return sizes[bisect_left(sizes, content)]


def _cover(sizes: tuple[int, ...], content: int) -> int:
    """Least total length of whole reels that is not below a content above zero."""
    # Whole reels only make multiples of their common measure: counting in it keeps the bits few.
    unit = gcd(*sizes)
    wanted, steps = -(-content // unit), [size // unit for size in sizes]
    reachable, top = 1, wanted + steps[-1]
    mask = (1 << top) - 1
    for size in steps:
        step = size
        while step < top:
            reachable |= reachable << step & mask
            step *= 2
    return unit * (wanted + ((reachable >> wanted) & -(reachable >> wanted)).bit_length() - 1)


class _Search:
    """Branch and bound over where each cut goes, longest first; reels are trimmed to the shortest that holds them."""

    def __init__(self, cuts: Sequence[int], sizes: Sequence[int], nodes: int) -> None:
        self._cuts, self._sizes, self._nodes = cuts, sizes, nodes
        self._left = [sum(cuts[k:]) for k in range(len(cuts) + 1)]
        self.bound = max(_cover(tuple(sizes), sum(cuts)), _bound_of_large(cuts, sizes))
        self.best: list[list[int]] = min((_first_fit(cuts, most) for most in sizes if most >= cuts[0]), key=self._worth)
        if self._worth(self.best)[0] > self.bound and len(cuts) <= _DEEPEST:
            self._place(0, [], [])
            if self._nodes > 0:
                self.bound = self._worth(self.best)[0]
        self.best.sort(key=lambda b: (-_least(sizes, sum(b)), [-c for c in b]))

    def _worth(self, bins: Sequence[Sequence[int]]) -> tuple[int, int]:
        return sum(_least(self._sizes, sum(b)) for b in bins), len(bins)

    def _place(self, k: int, bins: list[list[int]], held: list[int]) -> None:
        """Try every reel for cut k that could still lead to less than the best, fullest first."""
        if self._nodes <= 0 or self._worth(self.best)[0] == self.bound:
            return
        self._nodes -= 1
        if k == len(self._cuts):
            self.best = min(self.best, [list(b) for b in bins], key=self._worth)
            return
        bought = [_least(self._sizes, h) for h in held]
        room = sum(b - h for b, h in zip(bought, held, strict=True))
        if sum(bought) + max(0, self._left[k] - room) >= self._worth(self.best)[0]:
            return
        cut = self._cuts[k]
        for content in sorted({h for h in held if h + cut <= self._sizes[-1]}, reverse=True):
            where = held.index(content)
            bins[where].append(cut)
            held[where] += cut
            self._place(k + 1, bins, held)
            held[where] -= cut
            bins[where].pop()
        self._place(k + 1, [*bins, [cut]], [*held, cut])


def _first_fit(cuts: Sequence[int], most: int) -> list[list[int]]:
    """Each cut, longest first, into the first reel of length `most` with room."""
    bins: list[list[int]] = []
    for cut in cuts:
        room = next((b for b in bins if sum(b) + cut <= most), None)
        if room is None:
            bins.append(room := [])
        room.append(cut)
    return bins


def _bound_of_large(cuts: Sequence[int], sizes: Sequence[int]) -> int:
    """Cuts above half the longest reel each need a reel of their own."""
    return sum(_least(sizes, c) for c in cuts if 2 * c > sizes[-1])
