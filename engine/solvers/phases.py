"""What stands on each phase of a set, and what that costs: the terms in which loads are spread."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from functools import cached_property
from math import inf

from engine.frozen import dataclass

# What a phase costs, worse from class to class: below STARVED the share used of it; from there on it carries what runs, and this plus
# the ratio of what starts to what its units give then; from OVERLOADED on this plus the ratio of what runs to what they carry.
STARVED = 1_000.0
OVERLOADED = 1_000_000.0
_MOST_PASSED = OVERLOADED - STARVED - 1  # so that no start, however large, costs as much as an overload that lasts
_SLACK = 1 + 1e-9
_NOTHING = 1e-9


@dataclass(frozen=True)
class Portion:
    """One machine that may go on any phase: what it draws (W + j var), and VA while it starts (0 where it does not)."""

    demand: complex
    start: float = 0.0

    @cached_property
    def rest(self) -> complex:
        """What of it runs on while others start: a machine that starts is counted by its start alone."""
        return 0j if self.start else self.demand


@dataclass(frozen=True)
class Fixed:
    """What stands on one phase already: all that draws, the part of it that does not start, VA of what starts."""

    demand: complex = 0j
    rest: complex = 0j
    start: float = 0.0


@dataclass(frozen=True)
class Rating:
    """What one unit gives: W, VA, VA while starting (inf where unknown); `spare` units of each phase may be out."""

    real: float
    apparent: float
    surge: float = inf
    spare: int = 0


@dataclasses.dataclass
class Work:
    """A budget of nodes, shared by all searches of one problem."""

    budget: int
    nodes: int = 0

    @property
    def spent(self) -> bool:
        """Whether the budget has ended."""
        return self.nodes >= self.budget


def carrying(unit: Rating, split: Sequence[int]) -> list[float]:
    """Units of each phase that must carry it once the spare ones are out; next to nothing where none are left."""
    return [max(n - unit.spare, _NOTHING) for n in split]


def failing(running: float, starting: float) -> float:
    """Cost of what passes its limits by these ratios, 0 where it passes none: an overload that lasts weighs more than any start."""
    if running > _SLACK:
        return OVERLOADED + running
    return STARVED + min(starting, _MOST_PASSED) if starting > _SLACK else 0.0


class Phases:
    """Running sums by phase, and their cost for a given number of units on each."""

    def __init__(self, fixed: Sequence[Fixed], unit: Rating, split: Sequence[int]) -> None:
        self.demand = [f.demand for f in fixed]
        self.rest = [f.rest for f in fixed]
        self.start = [f.start for f in fixed]
        self.units = tuple(split)
        self.every = range(len(split))
        left = carrying(unit, split)
        self._used = [(max(n, _NOTHING) * unit.real, max(n, _NOTHING) * unit.apparent) for n in split]
        self._limit = [(n * unit.real, n * unit.apparent, n * unit.surge) for n in left]

    def cost(self, phase: int, demand: complex, rest: complex, start: float) -> float:
        """Cost of a phase that carries these sums."""
        size = abs(demand)
        real, apparent, surge = self._limit[phase]
        failed = failing(max(demand.real / real, size / apparent), (abs(rest) + start) / surge)
        if failed:
            return failed
        real, apparent = self._used[phase]
        return max(demand.real / real, size / apparent)

    def now(self, phase: int) -> float:
        """Cost of a phase as it stands."""
        return self.cost(phase, self.demand[phase], self.rest[phase], self.start[phase])

    def with_(self, phase: int, come: Portion) -> float:
        """Cost of a phase if a portion came."""
        return self.cost(phase, self.demand[phase] + come.demand, self.rest[phase] + come.rest, self.start[phase] + come.start)

    def changed(self, phase: int, come: Iterable[Portion], go: Iterable[Portion]) -> float:
        """Cost of a phase if some portions came and others went."""
        demand, rest, start = self.demand[phase], self.rest[phase], self.start[phase]
        for portion in come:
            demand, rest, start = demand + portion.demand, rest + portion.rest, start + portion.start
        for portion in go:
            demand, rest, start = demand - portion.demand, rest - portion.rest, start - portion.start
        return self.cost(phase, demand, rest, start)

    def add(self, phase: int, portion: Portion) -> None:
        """Put a portion on a phase."""
        self.demand[phase] += portion.demand
        self.rest[phase] += portion.rest
        self.start[phase] += portion.start

    def trade(self, first: int, second: int, given: Iterable[Portion], taken: Iterable[Portion]) -> None:
        """Carry `given` from the first phase to the second, `taken` the other way."""
        for portions, source, target in ((given, first, second), (taken, second, first)):
            for portion in portions:
                self.add(target, portion)
                self.demand[source] -= portion.demand
                self.rest[source] -= portion.rest
                self.start[source] -= portion.start

    def worst(self) -> float:
        """Cost of the busiest phase."""
        return max(self.now(k) for k in self.every)

    def used(self) -> float:
        """Largest share used of any phase, limits or none."""
        return max(max(d.real / real, abs(d) / apparent) for d, (real, apparent) in zip(self.demand, self._used, strict=True))


def standing(portions: Sequence[Portion], places: Sequence[int], fixed: Sequence[Fixed], unit: Rating, split: Sequence[int]) -> Phases:
    """The phases with every portion in its place; summed afresh, so that no rounding is left over from a search."""
    phases = Phases(fixed, unit, split)
    for portion, place in zip(portions, places, strict=True):
        phases.add(place, portion)
    return phases
