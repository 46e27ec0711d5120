"""A good arrangement quickly: the largest portion first, then trades between the busiest phase and the others."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from itertools import combinations

from engine.solvers.phases import STARVED, Phases, Portion, Work

# A phase with more portions than this trades fewer of them at once: the handfuls would be too many.
_MOST = {2: 45, 3: 22}
_Trade = tuple[float, int, tuple[int, ...], tuple[int, ...]]


def greedy(portions: Sequence[Portion], phases: Phases, work: Work) -> list[int]:
    """Put each portion, in the order given, on the phase that it leaves least busy."""
    places = []
    for portion in portions:
        place = min(phases.every, key=lambda k: (phases.with_(k, portion), k))
        phases.add(place, portion)
        places.append(place)
    work.nodes += len(places)
    return places


def exchange(portions: Sequence[Portion], places: list[int], phases: Phases, good: float, work: Work) -> float:
    """Improve `places` until their cost is `good` or no trade of up to three portions for up to three helps; gives the cost."""
    cost, most = phases.worst(), 2
    while cost > good and not work.spent:
        busiest = max(phases.every, key=phases.now)
        trades = [t for k in phases.every if k != busiest and (t := _trade(portions, places, phases, busiest, k, most, cost, work))]
        if not trades and most == 2:
            most = 3
            continue
        if not trades:
            break
        _, other, given, taken = min(trades)
        for i in given:
            places[i] = other
        for i in taken:
            places[i] = busiest
        phases.trade(busiest, other, [portions[i] for i in given], [portions[i] for i in taken])
        cost = phases.worst()
    return cost


def _trade(
    portions: Sequence[Portion], places: Sequence[int], phases: Phases, busiest: int, other: int, most: int, cost: float, work: Work
) -> _Trade | None:
    """The trade with one other phase that leaves the busier of both least busy, and below `cost`."""
    n, m = phases.units[busiest], phases.units[other]
    both = phases.demand[busiest] + phases.demand[other]
    along = both / abs(both) if both else 1 + 0j
    ahead = _along((phases.demand[busiest] * m - phases.demand[other] * n) / (n + m), along)
    offers = _handfuls(portions, [i for i, k in enumerate(places) if k == busiest], along, most)
    wants = _handfuls(portions, [i for i, k in enumerate(places) if k == other], along, most)
    keys = [size for size, _ in wants]
    best: _Trade | None = None
    for size, given in offers:
        if work.spent:
            break
        near = bisect_left(keys, size - ahead)
        # Where a limit is passed by starts, powers do not point the way: then every small trade is tried.
        for _, taken in wants if cost >= STARVED and len(given) < 2 else wants[max(0, near - 2) : near + 2]:
            come, go = [portions[i] for i in taken], [portions[i] for i in given]
            work.nodes += 1
            found = max(phases.changed(busiest, come, go), phases.changed(other, go, come))
            if found < cost * (1 - 1e-12) and (best is None or (found, other, given, taken) < best):
                best = (found, other, given, taken)
    return best


def _handfuls(portions: Sequence[Portion], own: Sequence[int], along: complex, most: int) -> list[tuple[float, tuple[int, ...]]]:
    """Up to `most` portions of a phase with their size along a direction, smallest first."""
    sizes = {i: _along(portions[i].demand, along) for i in own}
    found: list[tuple[float, tuple[int, ...]]] = [(0.0, ()), *((sizes[i], (i,)) for i in own)]
    for many in range(2, most + 1):
        if len(own) <= _MOST[many]:
            found.extend((sum(sizes[i] for i in some), some) for some in combinations(own, many))
    return sorted(found)


def _along(power: complex, direction: complex) -> float:
    return power.real * direction.real + power.imag * direction.imag
