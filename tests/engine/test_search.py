"""What the searches promise at their edges: a budget that ends, a tolerance of 1 VA, a way made of level and upright pieces."""

from itertools import combinations, pairwise
from math import inf

import pytest

from engine.solvers.balance import Fixed, Portion, Rating, balance
from engine.solvers.branch import Search
from engine.solvers.order import best_order
from engine.solvers.phases import Work
from engine.solvers.routes import CableEnd, Rect, RouteGrid


@pytest.mark.parametrize(("budget", "ended"), [(10, False), (10**6, True)])
def test_a_search_ends_with_its_budget(budget: int, ended: bool) -> None:
    """Nine different portions are not put on three phases for good within ten looks."""
    portions = [Portion(complex(power)) for power in (997, 983, 971, 953, 941, 929, 919, 907, 887)]
    work = Work(budget)
    search = Search(portions, [Fixed()] * 3, Rating(5000, 5000), (1, 1, 1), work, bound=0.0, tolerance=1e-9)
    assert search.run(inf) is ended
    assert (work.nodes >= budget) is not ended
    assert work.nodes >= 10


@pytest.mark.parametrize("powers", [(1003, 1001, 1018, 1005, 1000, 1032), (1020, 1012, 1015, 1012, 1007, 1018), (1013, 1012, 1002, 1012, 1028)])
def test_two_units_on_a_phase_are_spread_within_1_va_too(powers: tuple[int, ...]) -> None:
    """Of all ways to part them the best has the smaller half as full as it can be; the plan's is within 1 W of it, not within one of each unit."""
    best = min(max(sum(some), sum(powers) - sum(some)) for size in range(len(powers)) for some in combinations(powers, size))
    found = balance([Portion(complex(power)) for power in powers], [Fixed()] * 2, Rating(5000, 5000), least=4, most=4, split=(2, 2))
    assert found.proven
    assert found.used * 10_000 <= best + 1 + 1e-6


def test_an_order_that_is_not_proven_is_improved_all_the_same() -> None:
    """Twenty units on a row, the lead third from the left: always to the nearest leaves the two on the left to the end, 17 + 19 steps; going there first 2 + 19."""
    spots = [0, 1, 2.1, *range(3, 20)]
    lengths = [[round(1000 * abs(a - b)) for b in spots] for a in spots]
    found = best_order(lengths, None, 2)
    assert not found.proven
    assert found.total == 2100 + 19_000


def test_what_hangs_over_a_place_shuts_it() -> None:
    """Nothing enters an obstacle, not even one as large as the place behind it."""
    ends = [CableEnd((300, 500), Rect(100, 400, 500, 600)), CableEnd((1700, 500), Rect(1500, 400, 1900, 600))]
    assert 1 in RouteGrid(Rect(0, 0, 2000, 1000), ends).routes(0, [1])
    assert RouteGrid(Rect(0, 0, 2000, 1000), ends, obstacles=[ends[1].body]).routes(0, [1]) == {}


@pytest.mark.parametrize("axes", [(0, 1), (0,), (1,)])
@pytest.mark.parametrize("to", [(1700, 500), (1700, 900), (300, 900), (320, 930)])
def test_a_way_of_limited_length_goes_level_and_upright(axes: tuple[int, ...], to: tuple[int, int]) -> None:
    """From end to end, every piece along an axis, as long together as is told."""
    ends = [CableEnd(at, Rect(at[0] - 60, at[1] - 50, at[0] + 60, at[1] + 50), axes) for at in ((300, 500), to)]
    route = RouteGrid(Rect(0, 0, 2000, 1000), ends, lane=150).within(0, 1, lambda shortest: 2 * shortest + 1000)
    assert route is not None
    assert (route.points[0], route.points[-1]) == ((300, 500), to)
    assert all((a == c) is not (b == d) for (a, b), (c, d) in pairwise(route.points))
    assert sum(abs(a - c) + abs(b - d) for (a, b), (c, d) in pairwise(route.points)) == route.length
