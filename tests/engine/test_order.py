"""Chain orders against enumeration."""

import random
from itertools import pairwise, permutations

import pytest

from engine.solvers.order import _TURNS, EXACT, best_order, order_lazily


def _walls(rng, count):
    points = [(rng.randint(0, 60), rng.randint(0, 24)) for _ in range(count)]
    return [[None if rng.random() < 0.08 and a != b else abs(a[0] - b[0]) + abs(a[1] - b[1]) for b in points] for a in points]


def _symmetric(lengths):
    return [[lengths[min(a, b)][max(a, b)] for b in range(len(lengths))] for a in range(len(lengths))]


def _worth(lengths, most, order):
    links = [lengths[a][b] for a, b in pairwise(order)]
    none = sum(n is None for n in links)
    return none, sum(n is not None and most is not None and n > most for n in links), sum(n or 0 for n in links)


@pytest.mark.parametrize("seed", range(200))
def test_the_order_is_the_best_that_enumeration_finds(seed):
    """Up to eight nodes: as few links without route, then too long, then as short; and the first such order by number."""
    rng = random.Random(seed)
    count = rng.randint(1, 8)
    lengths = _symmetric(_walls(rng, count))
    most = rng.choice([None, 20, 40])
    first = rng.randrange(count)
    last = rng.choice([None, *(k for k in range(count) if k != first)])
    found = best_order(lengths, most, first, last)
    others = [k for k in range(count) if k != first]
    orders = [(first, *p) for p in permutations(others) if last is None or p[-1] == last]
    best = min(_worth(lengths, most, o) for o in orders)
    assert found.proven
    assert _worth(lengths, most, found.nodes) == best
    assert found.nodes == next(o for o in orders if _worth(lengths, most, o) == best)
    assert (len(found.short_of), found.total) == (best[0] + best[1], best[2])


@pytest.mark.parametrize("seed", range(40))
def test_a_shorter_limit_or_one_more_node_never_gives_a_shorter_chain(seed):
    """Monotone where no link is too long."""
    rng = random.Random(seed)
    points = [(rng.randint(0, 60), rng.randint(0, 24)) for _ in range(9)]
    lengths = [[abs(a[0] - b[0]) + abs(a[1] - b[1]) for b in points] for a in points]
    free, tight = best_order(lengths), best_order(lengths, 30)
    assert bool(tight.short_of) or tight.total >= free.total
    # Lengths obey the triangle inequality, so leaving a node out never lengthens the chain.
    assert best_order([row[:8] for row in lengths[:8]]).total <= free.total
    assert sum(lengths[a][b] for a, b in pairwise(free.nodes)) == free.total


def test_a_node_beyond_every_stock_length_is_told_with_what_it_is_short_of():
    """Three nodes in a line, the last 5 m away, links of at most 3 m: the chain stands and says which link fails."""
    found = best_order([[0, 1000, 6000], [1000, 0, 5000], [6000, 5000, 0]], 3000)
    assert found.nodes == (0, 1, 2)
    assert found.short_of == ((1, 2, 5000),)


def test_a_node_without_any_route_is_told():
    """No route at all: the length needed is unknown, the others are still in best order."""
    found = best_order([[0, None, 700], [None, 0, None], [700, None, 0]])
    assert found.nodes == (0, 2, 1)
    assert (found.total, found.short_of) == (700, ((2, 1, None),))


@pytest.mark.parametrize(("count", "proven"), [(EXACT, True), (EXACT + 1, False), (EXACT + 4, False)])
def test_more_nodes_than_are_searched_exactly_say_so(count, proven):
    """In a row they come out in a row, up to sixteen of them proven."""
    found = best_order([[abs(a - b) * 100 for b in range(count)] for a in range(count)])
    assert (found.nodes, found.proven) == (tuple(range(count)), proven)


def test_one_node_is_both_ends():
    assert best_order([[0]], first=0, last=0).nodes == (0,)


def test_a_chain_that_is_not_proven_is_improved():
    """The first of a row, fourteen to its right 1 m apart, two on its left 2 m and 3 m off: nearest first goes right and comes back, 14 + 14 + 3 m;
    the least is the short side first, 3 + 3 + 14 m."""
    at = [0, *range(1, 15), -2, -3]
    assert len(at) > EXACT
    found = best_order([[abs(a - b) for b in at] for a in at])
    assert (found.total, found.proven) == (20, False)


def test_ties_fall_to_the_lowest_number():
    """A square of equal sides."""
    assert best_order([[0, 1, 2, 1], [1, 0, 1, 2], [2, 1, 0, 1], [1, 2, 1, 0]]).nodes == (0, 1, 2, 3)


def test_first_and_last_must_differ():
    """A mistake of the caller."""
    with pytest.raises(ValueError, match="begin and end"):
        best_order([[0, 1], [1, 0]], first=0, last=0)


@pytest.mark.parametrize("seed", range(10))
def test_what_is_not_proven_is_still_a_chain_no_worse_than_nearest_first(seed):
    """Twenty-four nodes, begin and end held: every node once, and better than always going to the nearest."""
    rng = random.Random(seed)
    points = [(rng.randint(0, 600), rng.randint(0, 240)) for _ in range(24)]
    lengths = [[abs(a[0] - b[0]) + abs(a[1] - b[1]) for b in points] for a in points]
    found = best_order(lengths, None, 3, 7)
    assert (found.nodes[0], found.nodes[-1], sorted(found.nodes)) == (3, 7, list(range(24)))
    left, nearest = [k for k in range(24) if k not in (3, 7)], [3]
    while left:
        nearest.append(min(left, key=lambda k: lengths[nearest[-1]][k]))
        left.remove(nearest[-1])
    assert found.total <= sum(lengths[a][b] for a, b in pairwise([*nearest, 7]))


@pytest.mark.parametrize("seed", range(60))
def test_the_lazy_order_is_the_order(seed):
    """Whatever lies between a bound and its length, the order by lengths measured on demand is the one by all of them; and fewer are measured."""
    rng = random.Random(seed)
    count = rng.randint(2, 8)
    spots = [(rng.randint(0, 5000), rng.randint(0, 2000)) for _ in range(count)]
    bounds = [[abs(a - c) + abs(b - d) for c, d in spots] for a, b in spots]
    lengths = [[0] * count for _ in range(count)]
    for a in range(count):
        for b in range(a + 1, count):
            lengths[a][b] = lengths[b][a] = None if rng.random() < 0.1 else bounds[a][b] + rng.choice([0, 0, 0, rng.randint(0, 1500)])
    asked = []
    most = rng.choice([None, 3000])
    found = order_lazily(bounds, lambda a, b: (asked.append((a, b)), lengths[a][b])[1], most)
    assert found == best_order(lengths, most)
    assert len(asked) == len(set(asked))
    assert all(a < b for a, b in asked)


def test_measuring_ends_where_nothing_is_proven(monkeypatch):
    """Eighteen nodes whose ways are far longer than their bounds: fifteen orders would be looked at before the best has nothing left to measure. It ends
    after eight; the order that is given has the lengths that were found, and says that it is not proven."""
    rng = random.Random(0)
    spots = [(rng.randint(0, 5000), rng.randint(0, 2000)) for _ in range(EXACT + 2)]
    bounds = [[abs(a - c) + abs(b - d) for c, d in spots] for a, b in spots]
    lengths = {(a, b): bounds[a][b] + rng.randint(0, 4000) for a in range(len(spots)) for b in range(a + 1, len(spots))}
    asked, tried = [], []
    monkeypatch.setattr("engine.solvers.order.best_order", lambda *given: (tried.append(given), best_order(*given))[1])
    found = order_lazily(bounds, lambda a, b: (asked.append((a, b)), lengths[a, b])[1])
    links = [(min(link), max(link)) for link in pairwise(found.nodes)]
    assert len(tried) == _TURNS
    assert sorted(found.nodes) == list(range(len(spots)))
    assert not found.proven
    assert set(links) <= set(asked)
    assert found.total == sum(lengths[link] for link in links)


@pytest.mark.parametrize("seed", [*range(8), 41, 58, 108])
@pytest.mark.parametrize("last", [None, 17])
def test_no_stretch_of_an_improved_chain_is_better_reversed(seed, last):
    """Up to its very end, or to the node that must be last: tried by hand, on nodes scattered over a wall."""
    rng = random.Random(seed)
    at = [(rng.randrange(6000), rng.randrange(2400)) for _ in range(EXACT + 2)]
    lengths = [[abs(a - c) + abs(b - d) for c, d in at] for a, b in at]
    nodes = best_order(lengths, last=last).nodes

    def whole(chain):
        return sum(lengths[a][b] for a, b in pairwise(chain))

    stop = len(nodes) - (last is not None)
    assert not [(i, j) for i in range(1, stop) for j in range(i + 2, stop + 1) if whole([*nodes[:i], *nodes[i:j][::-1], *nodes[j:]]) < whole(nodes)]


@pytest.mark.parametrize("seed", [*range(8), 32, 39, 47])
@pytest.mark.parametrize("last", [None, 17])
def test_no_few_nodes_of_an_improved_chain_are_better_elsewhere(seed, last):
    """One, two or three neighbours moved together, as they stand, to any other place but the ends that are held."""
    rng = random.Random(seed)
    at = [(rng.randrange(6000), rng.randrange(2400)) for _ in range(EXACT + 2)]
    lengths = [[abs(a - c) + abs(b - d) for c, d in at] for a, b in at]
    nodes = best_order(lengths, last=last).nodes
    stop = len(nodes) - (last is not None)

    def moved(i, j, k):
        others = nodes[:i] + nodes[j:]
        return sum(lengths[a][b] for a, b in pairwise(others[:k] + nodes[i:j] + others[k:]))

    places = [(i, j, k) for i in range(1, stop) for j in range(i + 1, min(i + 3, stop) + 1) for k in range(1, stop - (j - i) + 1)]
    assert min(moved(*place) for place in places) >= moved(1, 2, 1)


@pytest.mark.parametrize("seed", range(6))
def test_a_small_chain_is_proven_however_little_the_bounds_tell(seed):
    """Nine nodes of which nothing is known beforehand: as many turns as it takes."""
    rng = random.Random(seed)
    lengths = _symmetric([[rng.randint(1, 1000) for _ in range(9)] for _ in range(9)])
    found = order_lazily([[0] * 9 for _ in range(9)], lambda a, b: lengths[a][b])
    assert (found.total, found.proven) == (best_order(lengths).total, True)


def test_nothing_is_measured_from_a_node_to_itself():
    """Two of three nodes at one spot: nothing lies between them, and neither is its own neighbour."""
    asked = []
    bounds = [[0, 0, 5], [0, 0, 5], [5, 5, 0]]
    found = order_lazily(bounds, lambda a, b: (asked.append((a, b)), bounds[a][b])[1])
    assert (found.nodes, found.total) == ((0, 1, 2), 5)
    assert all(a < b for a, b in asked)
