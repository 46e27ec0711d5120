"""Branch and bound over the places of portions: what it does not look at cannot be better."""

from __future__ import annotations

from collections.abc import Sequence

from engine.solvers.phases import STARVED, Fixed, Phases, Portion, Rating, Work


class Search:
    """One search; `portions` come largest first.

    Portions that are alike take phases in rising order, and of phases in the same state only the first
    is tried: every arrangement that is left out is one that is looked at, with names changed.
    """

    def __init__(
        self,
        portions: Sequence[Portion],
        fixed: Sequence[Fixed],
        unit: Rating,
        split: Sequence[int],
        work: Work,
        *,
        bound: float,
        tolerance: float,
    ) -> None:
        self._portions = portions
        self._phases = Phases(fixed, unit, split)
        self._work = work
        self._bound, self._tolerance = bound, tolerance
        self._alike = [i > 0 and portions[i] == portions[i - 1] for i in range(len(portions))]
        self._signed = any(p.demand.imag < 0 for p in portions) or any(min(f.demand.imag, f.rest.imag) < 0 for f in fixed)
        self._ahead = self._reactive_ahead()
        self._smallest = _suffix_least([p.demand.real for p in portions])
        self._left = _suffix_sums([p.demand.real for p in portions])
        self._real = [n * unit.real for n in split]
        self._places = [0] * len(portions)
        self.best: list[int] | None = None
        self.cost = 0.0

    def run(self, cost: float) -> bool:
        """Look for places below `cost`; whether the search ended before the budget did."""
        self.cost = cost
        self._place(0, 0.0 if self._signed else self._phases.worst())
        return not self._work.spent

    def _place(self, i: int, above: float) -> None:
        """Try every phase for portion `i`, the least busy one first; `above` is what the path costs already."""
        if i == len(self._portions):
            cost = self._phases.worst()
            if cost < self.cost:
                self.cost, self.best = cost, self._places.copy()
            return
        portion, phases, states = self._portions[i], self._phases, set()
        options = []
        for k in range(self._places[i - 1] if self._alike[i] else 0, len(phases.units)):
            state = (phases.units[k], phases.demand[k], phases.rest[k], phases.start[k])
            if state in states:
                continue
            states.add(state)
            cost = self._least(i, k, portion)
            if cost < self.cost - self._tolerance:
                options.append((max(cost, above), k))
        self._work.nodes += 1
        for cost, k in sorted(options):
            if cost >= self.cost - self._tolerance or self._work.spent or self.cost <= self._bound + self._tolerance:
                return
            before = phases.demand[k], phases.rest[k], phases.start[k]
            phases.add(k, portion)
            self._places[i] = k
            if not self._wasted(i + 1):
                self._place(i + 1, cost)
            phases.demand[k], phases.rest[k], phases.start[k] = before

    def _least(self, i: int, k: int, portion: Portion) -> float:
        """What phase `k` costs at least once portion `i` is on it, whatever comes after."""
        if not self._signed:
            return self._phases.with_(k, portion)
        demand, rest = self._phases.demand[k] + portion.demand, self._phases.rest[k] + portion.rest
        low, high = self._ahead[i + 1]
        return self._phases.cost(
            k,
            complex(demand.real, _nearest_zero(demand.imag + low, demand.imag + high)),
            complex(rest.real, _nearest_zero(rest.imag + low, rest.imag + high)),
            self._phases.start[k] + portion.start,
        )

    def _wasted(self, i: int) -> bool:
        """Whether phases too full for the smallest portion left waste so much real power that the rest cannot go under the cost."""
        if i == len(self._portions) or self.cost >= STARVED:
            return False
        level, smallest = self.cost - self._tolerance, self._smallest[i]
        room = 0.0
        for demand, real in zip(self._phases.demand, self._real, strict=True):
            hole = level * real - demand.real
            if hole >= smallest:
                room += hole
        return room < self._left[i] - 1e-6

    def _reactive_ahead(self) -> list[tuple[float, float]]:
        """The least and the most reactive power that portions from each place on can bring to a phase."""
        reactive = [p.demand.imag for p in self._portions]
        return list(zip(_suffix_sums([min(q, 0.0) for q in reactive]), _suffix_sums([max(q, 0.0) for q in reactive]), strict=True))


def _nearest_zero(low: float, high: float) -> float:
    return 0.0 if low <= 0 <= high else min(abs(low), abs(high))


def _suffix_sums(values: Sequence[float]) -> list[float]:
    sums = [0.0]
    for value in reversed(values):
        sums.append(sums[-1] + value)
    return sums[::-1]


def _suffix_least(values: Sequence[float]) -> list[float]:
    least = [float("inf")]
    for value in reversed(values):
        least.append(min(least[-1], value))
    return least[::-1]
