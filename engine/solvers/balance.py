"""Spreads loads over phases and units over phases, so that the most used phase is used as little as can be.

An exact search: fewest units first, every split of them, each by a greedy start, trades, and branch and
bound. Its proof is a lower bound that the result meets within 1 VA; where the budget of nodes ends
first, the gap is told. It knows no site: W and var on one phase, starts in VA at the phase voltage.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import ceil, inf

from engine.frozen import dataclass
from engine.solvers.branch import Search
from engine.solvers.exchange import exchange, greedy
from engine.solvers.grid import grid_bound
from engine.solvers.phases import OVERLOADED, STARVED, Fixed, Phases, Portion, Rating, Work, carrying, failing, standing

__all__ = ["Balance", "Fixed", "Portion", "Rating", "balance"]

# Branch and bound goes one call deeper for each portion; more portions than this are spread by trades alone.
_DEEPEST = 300


@dataclass(frozen=True)
class Balance:
    """What the search found.

    `units` per phase; `places` the phase of each portion, in the order given; `used` the largest share used
    of any phase; `bound` what no arrangement of so many units (or of the given split) goes below. `carries`: no limit is
    passed; where false, `used` belongs to the arrangement that passes them least. `runs`: no phase is overloaded by what
    runs, so that where `carries` is false only starts are too much; such an arrangement is taken before any that is
    overloaded. `proven`: the best there is, within
    1 VA. `fewest`: fewer units are ruled out.
    """

    units: tuple[int, ...]
    places: tuple[int, ...]
    used: float
    bound: float
    nodes: int
    carries: bool
    runs: bool
    proven: bool
    fewest: bool


@dataclass(frozen=True)
class _Found:
    """The best of some splits: its cost and what none of them goes below; no places where nothing was below the ceiling."""

    split: tuple[int, ...]
    places: tuple[int, ...] | None
    cost: float
    bound: float
    tolerance: float

    @property
    def proven(self) -> bool:
        return self.cost <= self.bound + 1.000001 * self.tolerance


def balance(
    portions: Sequence[Portion],
    fixed: Sequence[Fixed],
    unit: Rating,
    *,
    least: int,
    most: int,
    split: Sequence[int] | None = None,
    budget: int = 20_000,
) -> Balance:
    """The best arrangement of at least `least` and at most `most` units, or of the units in `split`.

    `fixed` is what already stands on each phase. Raises ValueError where `most` units, or `split`, leave a phase without one.
    """
    if most < len(fixed) if split is None else min(split) < 1:
        raise ValueError(f"{most if split is None else list(split)} units cannot feed {len(fixed)} phases")
    work = Work(budget)
    fewest = True
    first = max(least, min(most, (1 + unit.spare) * len(fixed)), _least_count(portions, fixed, unit, most))
    for count in range(first, most) if split is None else ():
        found = _best(portions, fixed, unit, _splits(count, fixed, unit), work, STARVED)
        if found.places is not None:
            return _told(found, portions, fixed, unit, work, fewest=fewest)
        fewest = fewest and found.proven
    splits = [tuple(split)] if split is not None else _splits(most, fixed, unit)
    return _told(_best(portions, fixed, unit, splits, work, inf), portions, fixed, unit, work, fewest=fewest)


def _told(found: _Found, portions: Sequence[Portion], fixed: Sequence[Fixed], unit: Rating, work: Work, *, fewest: bool) -> Balance:
    assert found.places is not None
    places = _evened(portions, found.places, fixed, unit, found.split, Work(work.budget // 4))
    used = standing(portions, places, fixed, unit, found.split).used()
    carries = found.cost < STARVED
    runs = found.cost < OVERLOADED
    return Balance(found.split, places, used, found.bound if carries else 0.0, work.nodes, carries, runs, found.proven, fewest)


def _evened(
    portions: Sequence[Portion], places: tuple[int, ...], fixed: Sequence[Fixed], unit: Rating, split: tuple[int, ...], work: Work
) -> tuple[int, ...]:
    """The same busiest phase, with the portions of the other two spread evenly: it costs little and calms the neutral."""
    if len(fixed) < 3:
        return places
    phases = standing(portions, places, fixed, unit, split)
    busiest = max(phases.every, key=phases.now)
    others = [k for k in phases.every if k != busiest]
    own = [i for i, place in enumerate(places) if place != busiest]
    some, some_fixed, some_split = [portions[i] for i in own], [fixed[k] for k in others], tuple(split[k] for k in others)
    known = _Found(
        some_split, None, max(phases.now(k) for k in others), _bounding(some, some_fixed, unit)(some_split), _tolerance(unit, some_split)
    )
    better = _spread(some, some_fixed, unit, some_split, work, known).places
    if better is None:
        return places
    moved = dict(zip(own, (others[k] for k in better), strict=True))
    return tuple(moved.get(i, place) for i, place in enumerate(places))


def _least_count(portions: Sequence[Portion], fixed: Sequence[Fixed], unit: Rating, most: int) -> int:
    """Units below which the sums alone pass a limit, at most `most`."""
    asked = max(_sums_over(portions, fixed, unit))
    return most if asked >= most else min(most, ceil(asked - 1e-9) + unit.spare * len(fixed))


def _sums_over(portions: Sequence[Portion], fixed: Sequence[Fixed], unit: Rating) -> tuple[float, float]:
    """All loads together, in units: what runs, the larger of real and apparent power; and what starts."""
    demand = sum((p.demand for p in portions), sum(f.demand for f in fixed))
    rest = sum((p.rest for p in portions), sum(f.rest for f in fixed))
    start = sum(p.start for p in portions) + sum(f.start for f in fixed)
    return max(demand.real / unit.real, abs(demand) / unit.apparent), (abs(rest) + start) / unit.surge


def _splits(count: int, fixed: Sequence[Fixed], unit: Rating) -> list[tuple[int, ...]]:
    """Units per phase with one to spare on each where there are enough; of phases with the same fixed load only one order."""
    own = 1 + unit.spare if count >= (1 + unit.spare) * len(fixed) else 1

    def parts(left: int, phases: int) -> Iterator[tuple[int, ...]]:
        if phases == 1:
            yield (left,)
            return
        for first in range(own, left - own * (phases - 1) + 1):
            for rest in parts(left - first, phases - 1):
                yield (first, *rest)

    alike = [(i, j) for i in range(len(fixed)) for j in range(i + 1, len(fixed)) if fixed[i] == fixed[j]]
    return [p for p in parts(count, len(fixed)) if all(p[i] >= p[j] for i, j in alike)]


def _best(
    portions: Sequence[Portion], fixed: Sequence[Fixed], unit: Rating, splits: Sequence[tuple[int, ...]], work: Work, ceiling: float
) -> _Found:
    """The best below `ceiling` over all splits of one count."""
    least = _bounding(portions, fixed, unit)
    bounded = sorted(((least(s), max(s) - min(s), s) for s in splits), key=lambda b: (b[0], b[1], [-n for n in b[2]]))
    best = _Found(bounded[0][2], None, ceiling, inf, _tolerance(unit, bounded[0][2]))
    bound = inf
    for root, _, split in bounded:
        tolerance = _tolerance(unit, split)
        if root >= best.cost - max(tolerance, best.tolerance):
            bound = min(bound, root)
            break
        found = _spread(portions, fixed, unit, split, work, _Found(split, None, best.cost, root, tolerance))
        bound = min(bound, found.bound)
        if found.places is not None:
            best = found
    return _Found(best.split, best.places, best.cost, min(bound, best.cost), max(_tolerance(unit, s) for s in splits))


def _tolerance(unit: Rating, split: Sequence[int]) -> float:
    """1 VA on the phase with the most units, as a share."""
    return 1.0 / (max(unit.real, unit.apparent) * max(*split, 1))


def _spread(portions: Sequence[Portion], fixed: Sequence[Fixed], unit: Rating, split: tuple[int, ...], work: Work, known: _Found) -> _Found:
    """The best places on one split below the cost that is known."""
    order = sorted(
        range(len(portions)), key=lambda i: (-abs(portions[i].demand) - portions[i].start, portions[i].demand.imag, portions[i].start, i)
    )
    ordered = [portions[i] for i in order]
    phases = Phases(fixed, unit, split)
    places: list[int] | None = greedy(ordered, phases, work)
    assert places is not None
    good = known.bound + known.tolerance
    cost = exchange(ordered, places, phases, good, work)
    bound = known.bound
    if cost >= known.cost:
        places, cost = None, known.cost
    if cost > good and len(ordered) <= _DEEPEST:
        search = Search(ordered, fixed, unit, split, work, bound=bound, tolerance=known.tolerance)
        ended = search.run(cost)
        places, cost = search.best or places, search.cost
        bound = max(bound, cost - known.tolerance) if ended else bound
    back = None if places is None else tuple(place for _, place in sorted(zip(order, places, strict=True)))
    return _Found(split, back, cost, bound, known.tolerance)


def _bounding(portions: Sequence[Portion], fixed: Sequence[Fixed], unit: Rating) -> Callable[[Sequence[int]], float]:
    """What no places on a split go below: all sums over all units, each fixed part, each portion at its best phase, the grid of powers.

    All but the split is looked at once: there may be hundreds of splits, and thousands of portions.
    """
    (running, starting), kinds = _sums_over(portions, fixed, unit), set(portions)
    lagging = all(p.demand.imag >= 0 for p in kinds) and all(min(f.demand.imag, f.rest.imag) >= 0 for f in fixed)
    demand = sum((p.demand for p in portions), sum(f.demand for f in fixed))
    powers, standing_powers = tuple(p.demand.real for p in portions), [f.demand.real for f in fixed]
    angles = {round(d.imag / d.real, 9) for d in (*(p.demand for p in kinds), *(f.demand for f in fixed)) if d.real > 0}
    steeper = (1 + angles.pop() ** 2) ** 0.5 if len(angles) == 1 else 1.0

    def bound(split: Sequence[int]) -> float:
        phases = Phases(fixed, unit, split)
        left = sum(carrying(unit, split))
        least = failing(running / left, starting / left)
        if lagging:
            least = max(least, *(phases.now(k) for k in phases.every), *(min(phases.with_(k, p) for k in phases.every) for p in kinds))
        level = grid_bound(powers, standing_powers, split)
        return max(least, level / unit.real, level * steeper / unit.apparent, abs(demand) / unit.apparent / sum(split))

    return bound
