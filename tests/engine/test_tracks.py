"""Lines laid side by side: apart where they share a way, together where they are one net, in the order in which they cross least."""

from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.sheets.drawings.placing import SMALL, Box, Placer, Words, room, spread
from engine.solvers.separation import Rect
from engine.solvers.tracks import Line, cut_off, side_by_side

WALL = Rect(0, 0, 1000, 1000)
GAP = 20


def box(x, y, half=40):
    return Rect(x - half, y - half, x + half, y + half)


def line(net, *points, start=None, end=None):
    return Line(net, points, start or box(*points[0], 0), end or box(*points[-1], 0))


def levels(tracks, number, axis=0):
    """Where the level (0) or upright (1) stretches of a line lie."""
    return [a[1 - axis] for a, b in pairwise(tracks.points[number]) if a[1 - axis] == b[1 - axis] and a[axis] != b[axis]]


def test_three_nets_in_one_lane_lie_a_gap_apart_and_what_is_one_net_lies_together():
    lane = [line(net, (100, 500), (900, 500)) for net in ("a", "b", "c", "a")]
    tracks = side_by_side(lane, [], WALL, GAP)
    at = [levels(tracks, k)[0] for k in range(4)]
    assert at[0] == at[3]
    assert sorted(at[:3]) == [480, 500, 520]
    assert tracks.close == {}


def test_lines_that_only_follow_each_other_stay_where_they_are():
    tracks = side_by_side([line("a", (100, 500), (400, 500)), line("b", (600, 500), (900, 500))], [], WALL, GAP)
    assert levels(tracks, 0) == levels(tracks, 1) == [500]


def test_between_two_bodies_lines_share_what_room_there_is_and_it_is_told():
    """A corridor of 30 for five nets: none leaves it, none lies on another."""
    bodies = [Rect(0, 0, 1000, 485), Rect(0, 515, 1000, 1000)]
    tracks = side_by_side([line(net, (100, 500), (900, 500)) for net in "abcde"], bodies, WALL, GAP)
    at = sorted(levels(tracks, k)[0] for k in range(5))
    assert 485 < at[0] < at[-1] < 515
    assert min(b - a for a, b in pairwise(at)) > 4
    assert min(tracks.close.values()) == pytest.approx(min(b - a for a, b in pairwise(at)))


def test_a_line_along_a_body_is_moved_away_from_it_and_never_into_it():
    body = Rect(400, 500, 600, 700)
    tracks = side_by_side([line(net, (100, 500), (900, 500)) for net in "ab"], [body], WALL, GAP)
    assert all(levels(tracks, k)[0] < 500 for k in (0, 1))


@pytest.mark.parametrize("turned", [False, True])
def test_two_lines_that_turn_to_one_side_do_not_cross(turned):
    """Both come along one lane and go up, one before the other: that one lies above."""
    early, late = ((100, 500), (500, 500), (500, 900)), ((100, 500), (800, 500), (800, 900))
    lines = [line("a", *early), line("b", *late)]
    tracks = side_by_side(lines[::-1] if turned else lines, [], WALL, GAP)
    first, second = (1, 0) if turned else (0, 1)
    assert levels(tracks, first)[0] > levels(tracks, second)[0]


def test_lines_that_share_a_corner_keep_beside_each_other_round_it():
    """One lane, one riser, then one goes on to the right and one to the left: they cross nowhere."""
    one = line("a", (100, 100), (500, 100), (500, 500), (900, 500))
    other = line("b", (100, 100), (500, 100), (500, 500), (100, 500))
    tracks = side_by_side([one, other], [], WALL, GAP)
    assert not crossings(*tracks.points)


def crossings(one, other):
    """Where two rectilinear lines cross between their ends."""
    found = 0
    for a, b in pairwise(one):
        for c, d in pairwise(other):
            for (p, q), (r, s) in (((a, b), (c, d)), ((c, d), (a, b))):
                if p[1] == q[1] and r[0] == s[0]:
                    found += min(p[0], q[0]) < r[0] < max(p[0], q[0]) and min(r[1], s[1]) < p[1] < max(r[1], s[1])
    return found


def test_a_crossing_is_found_where_it_is_drawn():
    tracks = side_by_side([line("a", (100, 500), (900, 500)), line("b", (100, 500), (900, 500)), line("c", (500, 100), (500, 900))], [], WALL, GAP)
    assert tracks.crossing(0, 2, (500, 500)) == (500, levels(tracks, 0)[0])
    assert tracks.crossing(2, 1, (500, 500)) == (500, levels(tracks, 1)[0])
    assert tracks.crossing(0, 2, (600, 500)) is None
    assert tracks.crossing(0, 1, (500, 500)) is None


def test_a_path_is_cut_off_at_the_sides_of_its_ends():
    start, end = box(100, 500), box(900, 500)
    assert cut_off(((100, 500), (900, 500)), start, end) == ((140, 500), (860, 500))
    assert cut_off(((100, 500), (100, 800), (900, 800), (900, 500)), start, end) == ((100, 540), (100, 800), (900, 800), (900, 540))
    assert cut_off(((100, 500), (120, 500)), start, end) == ()
    along = ((100, 460), (140, 460), (140, 900))  # begins on a side and goes along it
    assert cut_off(along, start, box(140, 900, 0)) == along


def test_what_leaves_along_the_side_that_it_begins_at_steps_away_from_it_first():
    body = box(500, 500)
    tracks = side_by_side([Line("a", ((500, 460), (540, 460), (540, 900)), body, box(540, 900, 0))], [body], WALL, GAP)
    first, second, third, last = tracks.points[0]
    assert first == (500, 460)
    assert second[0] == 500
    assert second[1] < 460
    assert third[1] == second[1]
    assert third[0] == last[0] > 540


POINT = st.integers(1, 19).map(lambda n: 50 * n)
PATH = st.builds(lambda x, y, u, v, bent: ((x, y), (u, y), (u, v)) if bent else ((x, y), (x, v), (u, v)), POINT, POINT, POINT, POINT, st.booleans())


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.sampled_from("abcd"), PATH), min_size=1, max_size=8))
def test_any_lines_stay_whole_rectilinear_and_apart(some):
    """On an empty wall nets along each other keep a gap; every line keeps its bends and its way between its ends."""
    lines = [line(net, *dict.fromkeys(points)) for net, points in some]
    lines = [one for one in lines if all((a[0] == b[0]) != (a[1] == b[1]) for a, b in pairwise(one.points)) and len(one.points) > 1]
    tracks = side_by_side(lines, [], WALL, GAP)
    for one, drawn in zip(lines, tracks.points, strict=True):
        assert all(abs(a[0] - b[0]) < 1e-9 or abs(a[1] - b[1]) < 1e-9 for a, b in pairwise(drawn))
        assert all(0 <= x <= 1000 and 0 <= y <= 1000 for x, y in drawn)
        assert len(drawn) >= len(one.points) - 1
    for (k, one), (n, other) in combinations(enumerate(lines), 2):
        if one.net != other.net:
            for a, b in pairwise(tracks.points[k]):
                for c, d in pairwise(tracks.points[n]):
                    for axis in (0, 1):
                        if a[1 - axis] == b[1 - axis] and c[1 - axis] == d[1 - axis]:
                            shared = min(max(a[axis], b[axis]), max(c[axis], d[axis])) - max(min(a[axis], b[axis]), min(c[axis], d[axis]))
                            assert shared < 6 * GAP or abs(a[1 - axis] - c[1 - axis]) > 1


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0.5, 10)), max_size=12))
def test_labels_along_a_scale_keep_their_order_and_their_room(told):
    told = sorted(told)
    centres = spread([at for at, _ in told], [size for _, size in told], 0, 100)
    if sum(size for _, size in told) > 100:
        assert centres is None
        return
    assert centres is not None
    spans = [(at - size / 2, at + size / 2) for at, (_, size) in zip(centres, told, strict=True)]
    assert all(low > -1e-6 and high < 100 + 1e-6 for low, high in spans)
    assert all(a[1] <= b[0] + 1e-6 for a, b in pairwise(spans))


def test_a_label_that_has_room_where_it_is_wanted_stays_there():
    assert spread([10, 50, 90], [5, 5, 5], 0, 100) == [10, 50, 90]
    assert spread([50, 50], [10, 10], 0, 100) == [45, 55]


def test_words_go_to_the_first_free_place_or_further_with_a_leader_or_are_told_as_left_out():
    placer = Placer(Box(0, 0, 60, 30))
    words = Words(("B1",))
    drawn = "".join(placer.placed(words, [(10, 10), (30, 10)], [(10, 10)]))
    assert 'x="10"' in drawn
    assert "polyline" not in drawn
    assert 'x="30"' in "".join(placer.placed(words, [(10, 10), (30, 10)], [(10, 10)]))
    led = "".join(placer.placed(words, [(10, 10), (30, 10)], [(10, 10)]))
    assert "polyline" in led
    assert not any(a.meets(b) for a, b in combinations(placer.taken, 2))
    full = Placer(Box(0, 0, 60, 30), outlines=[Box(0, 0, 60, 30)])
    assert "".join(full.placed(words, [(10, 10)], [(10, 10)])) == ""
    assert full.dropped == ["B1"]
    assert "".join(full.placed(words, [(10, 10)], [(10, 10)], needed=False)) == ""
    assert full.dropped == ["B1"]


def test_words_rather_lie_off_a_line_than_on_it():
    placer = Placer(Box(0, 0, 100, 60), strokes=[Box(0, 28, 100, 29)])
    "".join(placer.placed(Words(("B1",)), [(50, 28), (50, 20)], [(50, 28)]))
    assert placer.taken[0].middle == pytest.approx((50, 20))


def test_the_room_of_words_is_never_less_than_they_take():
    """Widths of DejaVu Sans, the widest of the usual faces: advance in thousandths of an em (its own metrics, version 2.37)."""
    for text, thousandths in (("L1-1", 557 + 636 + 361 + 636), ("load board", 278 + 612 + 613 + 635 + 318 + 635 + 612 + 613 + 411 + 635)):
        assert room(text) >= SMALL * thousandths / 1000
    for text, thousandths in (("L1-1", 637 + 696 + 415 + 696), ("B2", 762 + 696), ("1.5 m", 696 + 380 + 696 + 348 + 1042)):
        assert room(text, bold=True) >= SMALL * thousandths / 1000
