"""Reels of the trade: markets, cutting to length, what is told."""

import pytest

from engine.stages.bill.part import Cut
from engine.stages.bill.reels import reels
from engine.tables.sizes import read_size
from engine.workings import answered


def cuts(size, colour, *lengths):
    """Cuts of one conductor, each of a circuit of its own."""
    named = read_size(size) if size else None
    return [Cut(f"battery L1-{n}", "battery", f"L1-{n}", "plus", named, colour, answered("length", metres, "m")) for n, metres in enumerate(lengths, 1)]


def lengths(reel):
    return [cut.length.value for cut in reel.cuts]


def test_small_sizes_come_on_reels_and_large_ones_by_the_metre():
    """Twelve cuts of 5 m fit two reels of 50 m or one of 100 m; 50 mm2 is cut in the shop, 7 m for 6.1 m."""
    small, large = reels([*cuts("35 mm2", "red", *(5.0,) * 12), *cuts("50 mm2", "red", 5.0, 1.1)]).rows
    assert (small.length, len(small.cuts), small.offcut) == (100, 12, 40)
    assert (large.length, lengths(large), large.offcut) == (7, [5.0, 1.1], pytest.approx(0.9))
    assert "less cannot be bought" in small.proof


def test_american_sizes_come_in_feet():
    """50 ft is 15.24 m."""
    assert [row.length for row in reels(cuts("8 AWG", "black", 12.0)).rows] == [pytest.approx(15.24)]


def test_a_cut_longer_than_any_reel_is_told():
    """1200 m in one piece."""
    some = cuts("16 mm2", "blue", 1200.0, 4.0)
    found = reels(some)
    assert [one.cut for one in found.too_long] == [some[0]]
    assert [row.cuts for row in found.rows] == [(some[1],)]


@pytest.mark.parametrize("metres", [74 * 0.3048, 0.3048, 3 * 0.3048, 101 * 0.3048, 6 * 0.0254, 12.3449, 0.3003])
def test_a_cut_keeps_its_circuit_whatever_its_length(metres):
    """Measured lengths are no round millimetres: the cut on the reel is the one that was asked for, not one of a like length."""
    some = [*cuts("35 mm2", "red", metres, metres + 2e-4), *cuts("35 mm2", "black", metres)]
    found = reels(some)
    assert sorted(cut.circuit for reel in found.rows for cut in reel.cuts) == sorted(cut.circuit for cut in some)
    assert all(cut.colour in reel.conductor for reel in found.rows for cut in reel.cuts)


def test_nothing_to_cut():
    """No cuts, no reels; a conductor without a size waits for it."""
    assert reels([]).rows == ()
    assert reels(cuts(None, "red", 2.0)).rows == ()
