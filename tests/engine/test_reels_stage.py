"""Reels of the trade: markets, whole reels or by the metre, what is over, what is told."""

import random

import pytest

from engine.stages.bill.part import Cut
from engine.stages.bill.reels import reels
from engine.tables.sizes import read_size
from engine.workings import answered

TENTH = 0.1


def cuts(size, colour, *lengths):
    """Cuts of one conductor, each of a circuit of its own."""
    named = read_size(size) if size else None
    return [Cut(f"battery L1-{n}", "battery", f"L1-{n}", "plus", named, colour, answered("length", metres, "m")) for n, metres in enumerate(lengths, 1)]


def lengths(reel):
    return [cut.length.value for cut in reel.cuts]


def told(rows):
    return [(row.bought, row.length, pytest.approx(row.offcut)) for row in rows]


def test_what_wastes_less_is_bought():
    """Six cuts of 0.5 m: 3 m and a tenth, 4 m by the metre, not 50 m. Nine of 5 m: 45 m and a tenth are 49.5 m, a whole reel of 50 m is as short."""
    short, = reels(cuts("10 mm2", "blue", *(0.5,) * 6), TENTH).rows
    assert (short.bought, short.length, short.offcut) == ("cable by the metre", 4, 1)
    assert short.proof == "4 m by the metre, 10 % over the cuts and up to a whole metre: on whole reels it would be 50 m"
    whole, = reels(cuts("16 mm2", "red", *(5.0,) * 9), TENTH).rows
    assert (whole.bought, whole.length, whole.offcut) == ("reel", 50, 5)
    assert whole.proof == "50 m on whole reels, 10 % over the cuts: less cannot be bought; by the metre it would be 50 m"


@pytest.mark.parametrize(("each", "bought", "length"), [
    # 45.4 m and a tenth are 49.94 m: a reel. 45.5 m and a tenth are 50.05 m: a reel would be cut to less than its tenth, and 51 m are bought.
    (45.4, "reel", 50), (45.5, "cable by the metre", 51), (49.9, "cable by the metre", 55),
])
def test_no_reel_is_cut_to_its_last_centimetre(each, bought, length):
    row, = reels(cuts("16 mm2", "red", each), TENTH).rows
    assert (row.bought, row.length) == (bought, length)
    assert row.offcut >= each * TENTH - 1e-9


def test_large_sizes_are_cut_in_the_shop():
    """Above 35 mm2 shops cut to length: 50 mm2, 6.1 m and a tenth are 6.71 m, 7 m."""
    row, = reels(cuts("50 mm2", "red", 5.0, 1.1), TENTH).rows
    assert (row.bought, row.length, lengths(row), row.offcut) == ("cable by the metre", 7, [5.0, 1.1], pytest.approx(0.9))
    assert row.proof == "7 m by the metre, 10 % over the cuts and up to a whole metre: above 35 mm2 shops cut to length"
    exact, = reels(cuts("50 mm2", "red", 45.4), TENTH).rows
    assert exact.bought == "cable by the metre"


def test_american_sizes_come_in_feet():
    """12 m and a tenth are 13.2 m, 43.3 ft: 44 ft, 13.41 m, where a coil of 50 ft is 15.24 m. 13.8 m and a tenth are 49.8 ft: the coil."""
    row, = reels(cuts("8 AWG", "black", 12.0), TENTH).rows
    assert (row.bought, row.length) == ("cable by the foot", pytest.approx(44 * 0.3048))
    assert row.proof == "13.41 m (44 ft) by the foot, 10 % over the cuts and up to a whole foot: on whole reels it would be 15.24 m (50 ft)"
    assert told(reels(cuts("8 AWG", "black", 13.8), TENTH).rows) == [("reel", pytest.approx(15.24), pytest.approx(1.44))]


def test_a_cut_longer_than_any_reel_is_told():
    """1200 m in one piece; 950 m is not, but with a tenth over it: 1045 m. 900 m is."""
    some = cuts("16 mm2", "blue", 1200.0, 950.0, 900.0, 4.0)
    found = reels(some, TENTH)
    assert [(one.cut, one.reel) for one in found.too_long] == [(some[0], 1000), (some[1], 1000)]
    assert [row.cuts for row in found.rows] == [(some[2], some[3])]


def test_more_than_a_drum_holds_comes_in_several_lengths():
    """Three of 600 m and a tenth: no two of 660 m on a drum of 1000 m, three lengths of 660 m."""
    found = reels(cuts("16 mm2", "blue", *(600.0,) * 3), TENTH)
    assert told(found.rows) == [("cable by the metre", 660, pytest.approx(60))] * 3


@pytest.mark.parametrize("metres", [74 * 0.3048, 0.3048, 3 * 0.3048, 101 * 0.3048, 6 * 0.0254, 12.3449, 0.3003])
def test_a_cut_keeps_its_circuit_whatever_its_length(metres):
    """Measured lengths are no round millimetres: the cut on the reel is the one that was asked for, not one of a like length."""
    some = [*cuts("35 mm2", "red", metres, metres + 2e-4), *cuts("35 mm2", "black", metres)]
    found = reels(some, TENTH)
    assert sorted(cut.circuit for reel in found.rows for cut in reel.cuts) == sorted(cut.circuit for cut in some)
    assert all(cut.colour in reel.conductor for reel in found.rows for cut in reel.cuts)


@pytest.mark.parametrize("seed", range(40))
def test_never_more_than_whole_reels_and_never_less_than_the_allowance(seed):
    """Whatever is bought holds every cut with a tenth over all of them, and is no longer than the reels that would."""
    dice = random.Random(seed)
    some = cuts("16 mm2", "red", *(dice.randint(3, 600) / 10 for _ in range(dice.randint(1, 12))))
    rows = reels(some, TENTH).rows
    content = sum(cut.length.value for cut in some)
    bought = sum(row.length for row in rows)
    assert content * (1 + TENTH) <= bought + 1e-9
    assert bought <= content * (1 + TENTH) + 1.02  # a metre, and a millimetre a cut
    assert sorted(cut.circuit for row in rows for cut in row.cuts) == sorted(cut.circuit for cut in some)


def test_nothing_to_cut():
    """No cuts, no reels; a conductor without a size waits for it."""
    assert reels([], TENTH).rows == ()
    assert reels(cuts(None, "red", 2.0), TENTH).rows == ()
