"""Reels against every way to share cuts out, and against the laws of packing."""

import random

import pytest

from engine.solvers.reels import packed


def _partitions(items):
    """Every way to share items out over bins that nobody tells apart."""
    if not items:
        yield []
        return
    head, *tail = items
    for rest in _partitions(tail):
        yield [[head], *rest]
        for k in range(len(rest)):
            yield [*rest[:k], [head, *rest[k]], *rest[k + 1 :]]


def _least_bought(cuts, stock):
    best = None
    for bins in _partitions(cuts):
        needs = [min((s for s in stock if s >= sum(b)), default=None) for b in bins]
        if None not in needs:
            best = sum(needs) if best is None else min(best, sum(needs))
    return best


@pytest.mark.parametrize("seed", range(120))
def test_small_packings_buy_the_least_that_enumeration_finds(seed):
    """Up to seven cuts: the reels bought are as short as any, and the bound proves it."""
    rng = random.Random(seed)
    cuts = [rng.randint(1, 40) * 100 for _ in range(rng.randint(1, 7))]
    stock = rng.sample([4000, 5000, 6500, 9000, 10000], rng.randint(1, 3))
    kept = [c for c in cuts if c <= max(stock)]
    found = packed(cuts, stock)
    assert found.bought == (_least_bought(kept, stock) or 0)
    assert found.proven


@pytest.mark.parametrize("seed", range(60))
def test_every_cut_is_made_once_and_fits(seed):
    """What goes in comes out, no reel is overfilled or longer than it need be, the bound is below what is bought."""
    rng = random.Random(seed)
    cuts = [rng.randint(1, 120) * 100 for _ in range(rng.randint(0, 60))]
    stock = [6000, 10000]
    found = packed(cuts, stock)
    assert sorted([*(c for r in found.reels for c in r.cuts), *found.too_long]) == sorted(cuts)
    assert all(c > 10000 for c in found.too_long)
    assert all(r.offcut >= 0 and r.stock == min(s for s in stock if s >= sum(r.cuts)) for r in found.reels)
    assert sum(c for c in cuts if c <= 10000) <= found.bound <= found.bought
    assert packed(cuts, [*stock, 8000]).bound <= found.bought


def test_the_order_of_cuts_does_not_matter():
    """The same cuts give the same reels."""
    cuts = [2400, 1100, 3800, 2400, 900, 5200]
    assert packed(cuts, [6000, 10000]) == packed(cuts[::-1], [10000, 6000])


def test_a_spent_budget_leaves_a_packing_and_an_honest_bound():
    """Six cuts that decreasing first fit packs badly; with no nodes to spend the gap is told, with some it is closed."""
    cuts = [400, 400, 300, 300, 300, 300]
    hasty, proven = packed(cuts, [1000], nodes=0), packed(cuts, [1000])
    assert (hasty.bought, hasty.proven) == (3000, False)
    assert (proven.bought, proven.bound, proven.proven) == (2000, 2000, True)


def test_nothing_to_cut_and_no_reel():
    """No cuts need no reel; no reel length is the caller's mistake."""
    assert packed([0], [5000]).reels == ()
    with pytest.raises(ValueError, match="reel length"):
        packed([100], [0])
