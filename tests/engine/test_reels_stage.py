"""Reels of the trade: markets, cutting to length, what is told."""

from engine.stages.bill.reels import reels


def test_small_sizes_come_on_reels_and_large_ones_by_the_metre():
    """Twelve cuts of 5 m fit two reels of 50 m or one of 100 m; 50 mm2 is cut in the shop, 7 m for 6.1 m."""
    found = reels(cuts={"35 mm2, red": (5.0,) * 12, "50 mm2, red": (5.0, 1.1)})
    small, large = found.rows
    assert (small.length, len(small.cuts), small.offcut) == ("100 m", 12, "40 m")
    assert (large.length, large.cuts, large.offcut) == ("7 m", ("5 m", "1.1 m"), "0.9 m")
    assert "less cannot be bought" in small.proof


def test_american_sizes_come_in_feet():
    """50 ft is 15.24 m."""
    assert [row.length for row in reels(cuts={"8 AWG, black": (12.0,)}).rows] == ["15.24 m"]


def test_a_cut_longer_than_any_reel_is_told():
    """1200 m in one piece."""
    found = reels(cuts={"16 mm2, blue": (1200.0, 4.0)})
    assert found.too_long == {"16 mm2, blue": ("1200 m",)}
    assert [row.cuts for row in found.rows] == [("4 m",)]


def test_nothing_to_cut():
    """No cuts, no reels; a conductor without a size is no reason to fail."""
    assert reels(cuts={}).rows == ()
    assert len(reels(cuts={"size not computed, red": (2.0,)}).rows) == 1
