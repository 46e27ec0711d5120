"""The wall: lengths added up by hand, like circuits, grouping, places nobody gave, and nonsense."""

import random
from itertools import pairwise

import pytest

from engine.findings import Level
from engine.sheets.drawings.wall import wall_drawings
from engine.sheets.text.wall import drawing
from tests.engine.paper_sites import planned, set_of
from tests.engine.wall_site import BASE, TWELVE, as_planned, hang, place, three


def lengths(site, kind):
    return {name.removeprefix(f"{kind} "): run.length and round(run.length.value, 6) for name, run in site.wall.runs.items() if run.kind == kind}


def test_lengths_are_those_added_up_by_hand():
    """Bar at 1.2 m in the lane at 0.3 m, units at 1.5 m; the third lead climbs over the bank (0.6 m high) and back; 0.5 m go inside the gear."""
    site = hang(three())
    bar = site.wall.place("bar B1")
    assert (bar.x, bar.y, bar.assumed) == (1.2, 0.3, True)
    by_itself = {name: run.length.of[0] if run.length.how == "chosen" else run.length for name, run in site.wall.runs.items() if run.kind == "battery"}
    by_hand = {
        "battery L1-1": 0.4 + 1.2 + 0.5,
        "battery L2-1": 0.3 + 0.3 + 0.3 + 0.9 + 0.5,
        "battery L3-1": 1.6 + 2 * 0.3 + 1.2 + 0.5,
        "battery B1": 0.6 + 0.5,
    }
    assert {name: figure.value for name, figure in by_itself.items()} == pytest.approx(by_hand)


def test_like_circuits_are_cut_to_the_longest_and_the_plan_says_so():
    """All battery leads of a bank; the common one stands alone."""
    site = hang(three())
    assert lengths(site, "battery") == {"L1-1": 3.9, "L2-1": 3.9, "L3-1": 3.9, "B1": 1.1}
    told = site.finding("like-circuits-cut")
    assert told.level is Level.NOTE
    assert "B1, 3 circuits of 3.9 m each (2.1 m to 3.9 m by themselves)" in told.text
    assert [f.code for f in site.findings].count("like-circuits-cut") == 1
    assert site.wall.runs["battery L1-1"].spread.value == 0


def test_a_measured_length_takes_no_extra_and_is_never_recut():
    """S17: one lead measured at 2.44 m keeps it; the others still go to their longest."""
    site = hang(three('[[routes]]\ncarries = "battery"\nto = "L1-1"\nlength = "2.44 m"\n'))
    assert lengths(site, "battery") == {"L1-1": 2.44, "L2-1": 3.9, "L3-1": 3.9, "B1": 1.1}
    run = site.wall.runs["battery L1-1"]
    assert (run.measured, run.length.of[0].key) == (True, "routes[battery L1-1].length")
    assert run.spread.value == pytest.approx((3.9 - 2.44) * 3 / (3.9 + 3.9 + 2.44))


def test_others_are_cut_to_a_measured_one_that_is_longer():
    """What hangs already decides."""
    site = hang(three('[[routes]]\ncarries = "battery"\nto = "L1-1"\nlength = "5 m"\n'))
    assert lengths(site, "battery") == {"L1-1": 5, "L2-1": 5, "L3-1": 5, "B1": 1.1}


def test_extra_is_added_once_and_lengths_are_rounded_up_to_a_tenth():
    """1.6 m of way and 0.41 m inside: 2.1 m."""
    site = hang(three('[[routes]]\ncarries = "battery"\nextra = "0.41 m"\n'))
    assert site.wall.runs["battery L1-1"].length.of[0].value == pytest.approx(2.1)


def test_later_routes_win_key_by_key():
    """S16: one unit's load cable in a lane of its own; its extra is still the kind's."""
    site = hang(three('[[routes]]\ncarries = "load"\nlane = "2.2 m"\nextra = "0.3 m"\n[[routes]]\ncarries = "load"\nto = "L1-1"\nlane = "2.3 m"\n'))
    # up to the lane, along to the load board at 3.6 m, down to 1.5 m
    assert lengths(site, "load")["L1-1"] == pytest.approx(0.8 + 2.8 + 0.8 + 0.3)
    assert lengths(site, "load")["L2-1"] == pytest.approx(0.7 + 1.8 + 0.7 + 0.3)


def test_circuits_in_one_lane_are_counted_where_most_lie_together():
    """Towards the load board on the right: all three; the answer of the site wins; earth conductors do not count."""
    site = hang(three())
    assert {name: run.grouped for name, run in site.wall.runs.items() if run.kind == "load"} == {"load L1-1": 3, "load L2-1": 3, "load L3-1": 3, "load common": 1}
    # Bar at 1.2 m: one lead to the left of it, two to the right and the bank's own up to 1.8 m.
    assert [site.wall.runs[f"battery {n}"].grouped for n in ("L1-1", "L2-1", "L3-1", "B1")] == [1, 3, 3, 3]
    assert site.wall.runs["earth L1-1"].grouped == 1
    said = hang(three('[[routes]]\ncarries = "load"\ngrouped = 5\n'))
    assert said.wall.runs["load L1-1"].grouped == 5


def test_what_has_no_place_is_set_out_with_clearances_and_listed():
    """Six units and all boards on a bare wall: nothing overlaps, nothing is too near, every place is told as assumed."""
    site = hang(BASE + '[set]\nper_phase = [2, 2, 2]\n[wall]\nwidth = "6 m"\nheight = "2.4 m"\n')
    assert all(p.assumed for p in site.wall.places)
    assert not {"places-overlap", "clearance-too-small", "off-the-wall", "no-way-for-circuit"} & set(site.codes())
    told = {a.key for a in site.wall.assumed}
    assert {f"wall.places[{p.name}]" for p in site.wall.places} <= told
    assert site.finding("places-assumed").level is Level.CAUTION


def test_units_without_a_place_go_where_there_is_room():
    """Two of three are placed: the third clears them and the obstacle, in whichever row."""
    site = hang(BASE + '[set]\nper_phase = [1, 1, 1]\n[wall]\nwidth = "3 m"\n' + place("unit", 0.8, 1.6, "L1-1") + place("unit", 1.4, 1.6, "L2-1") + place("obstacle", 2.2, 1.6, width=0.6, height=0.6))
    free = site.wall.place("L3-1")
    assert free.assumed
    assert all(free.rect.gap(p.rect) >= 200 for p in site.wall.places if p.name != "L3-1")


@pytest.mark.parametrize(("more", "spot"), [
    ("", (1.2, 0.3)),  # left of the bank, in the lane
    (place("obstacle", 1.2, 0.2, width=0.2, height=0.2), (2.4, 0.3)),  # right of it
    (place("obstacle", 1.2, 0.2, width=0.2, height=0.2) + place("obstacle", 2.4, 0.2, width=0.2, height=0.2), (1.8, 0.775)),  # above it
    (place("obstacle", 1.8, 0.6, width=3.0, height=0.5), (1.2, 0.175)),  # lower beside it
    (place("obstacle", 1.35, 0.6, width=0.3, height=1.2) + place("obstacle", 2.0, 0.8, width=1, height=0.3), (2.4, 0.3)),  # right of it
    (place("obstacle", 1.05, 0.6, width=0.9, height=1.2) + place("obstacle", 2.9, 0.6, width=0.9, height=1.2) + place("obstacle", 1.8, 0.85, width=0.8, height=0.3), (2.275, 0.3)),  # upright
    (place("obstacle", 1.8, 0.5, width=3.0, height=1), (1.8, 0.3)),  # on its own terminals
])
def test_a_bar_hangs_at_its_bank(more, spot):
    """Wherever there is room; it is never a finding, for nobody can answer its place."""
    site = hang(three(more))
    bar = site.wall.place("bar B1")
    assert (bar.x, bar.y) == spot
    assert not [f for f in site.findings if "bar B1" in f.text and f.code in ("places-overlap", "places-assumed")]


@pytest.mark.parametrize(
    ("text", "code", "level"),
    [
        (three(size=(0, 0)), "wall-without-size", Level.STOP),
        (three(xs=(0.8, 0.9, 2.8)), "places-overlap", Level.STOP),
        (three(place("obstacle", 3.6, 1.5, width=0.1, height=0.1)), "places-overlap", Level.CAUTION),
        (three(xs=(0.8, 1.25, 2.8)), "clearance-too-small", Level.CAUTION),
        (three(xs=(0.8, 1.8, 400)), "off-the-wall", Level.STOP),
        (three(xs=(0.8, 1.8, 400)), "no-way-yet", Level.CAUTION),
        (three(place("obstacle", 2.3, 1.2, width=0.1, height=2.4)), "no-way-for-link", Level.STOP),
        (three(place("obstacle", 2.3, 1.2, width=0.1, height=2.4)), "no-way-for-circuit", Level.STOP),
        (three('[[routes]]\ncarries = "load"\nlane = "3 m"\n'), "lane-above-ceiling", Level.CAUTION),
        (three(place("unit", 3.2, 2.0, "L1-9")), "place-unclear", Level.CAUTION),
        (three(place("unit", 3.2, 2.0, "L1-1")), "place-unclear", Level.CAUTION),
        (three('[[wall.places]]\nx = "1 m"\n'), "place-unclear", Level.CAUTION),
        (three('[[wall.places]]\nwhat = "obstacle"\n'), "place-unclear", Level.CAUTION),
    ],
)
def test_nonsense_is_a_finding(text, code, level):
    """It says so, and the sound twin does not."""
    assert hang(text).finding(code).level is level
    assert code not in hang(three()).codes()


def test_what_lies_off_the_wall_is_one_stop_and_what_follows_one_caution():
    """A unit at 9 m on a wall of 4 m: its reach is named, its circuits and links are not stopped one by one."""
    site = hang(three(xs=(0.8, 1.8, 9)))
    assert site.codes("stop") == ["off-the-wall"]
    assert site.finding("off-the-wall").about == "wall.places[L3-1]"
    assert "L3-1 5.175 m" in site.finding("off-the-wall").text
    told = site.finding("no-way-yet")
    assert all(f"{kind} L3-1" in told.text for kind in ("battery", "load", "incoming", "earth"))
    assert site.codes().count("no-way-yet") == 1


def test_a_wall_too_small_for_the_set_is_one_stop_that_names_the_wall():
    """36 units on a wall that was measured: one stop on its size, however many find no room; on a larger one none."""
    site = hang(BASE + '[set]\nper_phase = [12, 12, 12]\n[wall]\nwidth = "4 m"\nheight = "2.4 m"\n')
    assert site.codes("stop") == ["no-room-on-the-wall"]
    told = site.finding("no-room-on-the-wall")
    assert told.about == "wall.width"
    assert "There is no room on the wall of 4 m by 2.4 m, for" in told.text
    assert site.codes().count("no-way-yet") == 1
    assert "wall-assumed" not in site.codes()
    roomy = hang(BASE + '[set]\nper_phase = [12, 12, 12]\n[wall]\nwidth = "14 m"\nheight = "2.4 m"\n')
    assert not {"no-room-on-the-wall", "no-way-yet", "wall-assumed"} & set(roomy.codes())


BARE = BASE.replace('width = "0.35 m"\nheight = "0.5 m"\nclearance = "0.2 m"\n', "")
UNFIT = {"no-room-on-the-wall", "off-the-wall", "places-overlap", "clearance-too-small", "no-way-yet", "no-way-for-circuit", "no-way-for-link", "lane-above-ceiling", "wall-without-size"}


def test_twelve_units_hang_on_a_wall_that_nobody_measured():
    """It grows from 4 m to where all have their clearances: no stop, every circuit and link with way and length; one step less is too small."""
    site = hang(BARE + "[set]\nper_phase = [4, 4, 4]\n")
    assert not site.codes("stop")
    assert not UNFIT & set(site.codes())
    told = site.finding("wall-assumed")
    assert (told.level, told.about) == (Level.CAUTION, "wall.width")
    assert f"a width of {site.wall.width}, a height of 2.4 m are assumed" in told.text
    assert 5 < site.wall.width.value < 8
    assert all(run.length and run.path for run in site.wall.runs.values())
    assert all(link.length and link.path for link in site.chain.links)
    bars = [p for p in site.wall.places if p.what == "bar"]
    assert bars and all(p.width for p in bars)
    less = hang(BARE + f'[set]\nper_phase = [4, 4, 4]\n[wall]\nwidth = "{site.wall.width.value - 0.1:.1f} m"\nheight = "2.4 m"\n')
    assert less.codes("stop") == ["no-room-on-the-wall"]


def test_three_units_hang_on_the_wall_as_it_is_assumed():
    """Nothing to grow for: the size of the table, and still a caution."""
    site = hang(BARE + "[set]\nper_phase = [1, 1, 1]\n")
    assert [str(site.wall.width), str(site.wall.height)] == ["4 m", "2.4 m"]
    assert "a width of 4 m, a height of 2.4 m are assumed" in site.finding("wall-assumed").text


def test_the_assumed_wall_is_one_figure_in_file_drawing_and_working():
    """What grew is what is listed, drawn, explained, and told in the interview's count of assumptions."""
    plan = planned(set_of(14))
    wall, row = plan.parts.wall, next(row for row in plan.plan.assumed if row.key == "wall.width")
    assert wall.width.value > 4
    assert row.value == str(wall.width) == str(plan.figures["wall.width"])
    assert wall.outline.right == round(wall.width.value * 1000)
    assert "grown until everything hangs" in row.why
    assert "wall.width" not in plan.facts.figures
    answered = planned(set_of(14) | {"wall.width": "12 m", "wall.height": "2.5 m"})
    assert not [row for row in answered.plan.assumed if row.key in ("wall.width", "wall.height")]
    assert str(answered.figures["wall.width"]) == "12 m"


@pytest.mark.parametrize(("size", "grows", "stays"), [('width = "3 m"', "height", "width"), ('height = "2 m"', "width", "height"), ('height = "1.2 m"', "width", "height")])
def test_the_side_that_nobody_answered_grows(size, grows, stays):
    """Rows above each other on a narrow wall, one long row on a low one; the answered side is as answered, and no lane forbids it."""
    low = '[[routes]]\ncarries = "load"\nlane = "1.1 m"\n[[routes]]\ncarries = "incoming"\nlane = "1.15 m"\n' if "1.2" in size else ""
    site = hang(BARE + f"[set]\nper_phase = [4, 4, 4]\n[wall]\n{size}\n" + low)
    assert not site.codes("stop")
    assert (getattr(site.wall, grows).how, getattr(site.wall, stays).how) == ("assumed", "answered")
    assert str(getattr(site.wall, stays)) in size
    assert getattr(site.wall, grows).value > (2.4 if grows == "height" else 4)
    assert site.finding("wall-assumed").about == f"wall.{grows}"
    assert stays not in site.finding("wall-assumed").text


def test_an_answered_side_too_small_stays_a_stop():
    """Half a metre of height for units of 0.6 m, one metre of width for twelve: no growth of the other side helps."""
    for size in ('height = "0.5 m"', 'width = "1 m"'):
        site = hang(BARE + f"[set]\nper_phase = [4, 4, 4]\n[wall]\n{size}\n")
        assert site.codes("stop") == ["no-room-on-the-wall"]
        assert "of which nobody answered the" in site.finding("no-room-on-the-wall").text


def test_an_assumed_wall_reaches_as_far_as_what_was_answered_to_hang_there():
    """A unit at 9 m and one at 2.9 m height, an obstacle at 10 m and a lane at 4 m: none of them is off a wall that nobody measured."""
    there = place("unit", 9, 1.5, "L1-1") + place("unit", 1, 2.9, "L2-1")
    site = hang(BASE + "[set]\nper_phase = [1, 1, 1]\n" + there)
    assert [str(site.wall.width), str(site.wall.height)] == ["9.4 m", "3.4 m"]  # 9 m and half of 0.35 m, 2.9 m and half of 0.5 m, 0.2 m of air, rounded up
    assert not UNFIT & set(site.codes())
    more = hang(BASE + "[set]\nper_phase = [1, 1, 1]\n" + there + place("obstacle", 10, 1, width=1, height=1) + '[[routes]]\ncarries = "load"\nto = "L1-1"\nlane = "4 m"\n')
    assert [str(more.wall.width), str(more.wall.height)] == ["10.5 m", "4 m"]
    assert "lane-above-ceiling" not in more.codes()


@pytest.mark.parametrize("seed", range(40))
def test_an_assumed_wall_is_never_too_small(seed):
    """Any number of units on any banks, with cases and clearances from small to large, with or without a side answered that is large enough."""
    rng = random.Random(seed)
    wide, high, air = rng.uniform(0.2, 0.9), rng.uniform(0.2, 0.9), rng.choice([0, 0.05, 0.2, 0.4])
    case = f'[unit]\nwidth = "{wide:.3f} m"\nheight = "{high:.3f} m"\nclearance = "{air} m"\n'
    connection = rng.choice(["common-bank", "bank-per-phase", "bank-per-unit"])
    said = rng.choice(["", '[wall]\nheight = "2.6 m"\n', '[wall]\nwidth = "20 m"\n'])
    per_phase = [rng.randint(1, 7) for _ in range(3)]
    text = BARE.replace("[unit]\n", case).replace("common-bank", connection)
    site = hang(text + f"[set]\nper_phase = {per_phase}\n" + said)
    assert not UNFIT & set(site.codes()), (per_phase, case, said)
    assert all(run.length for run in site.wall.runs.values())


def test_a_link_that_is_too_long_only_because_of_our_own_guess_is_no_stop():
    """Units that nobody gave a place: a caution; the same units measured so far apart: a stop."""
    far = "".join(place("unit", x, 1.5, f"L{k}-1") for k, x in enumerate((0.8, 1.8, 9), 1))
    assert hang(three(xs=(0.8, 1.8, 9), size=(10, 2.4))).finding("link-too-long").level is Level.STOP
    assert hang(BASE + "[set]\nper_phase = [1, 1, 1]\n" + far).finding("link-too-long").level is Level.STOP
    guess = BASE.replace("3 m", "0.6 m").replace("1.5 m", "0.4 m") + "[set]\nper_phase = [1, 1, 1]\n"
    assert hang(guess).finding("link-too-long").level is Level.CAUTION
    assert hang(guess.replace("40 m", "0.5 m").replace("0.4 m", "4 m")).finding("bus-too-long").level is Level.CAUTION


def test_units_over_each_other_stop_the_plan():
    """On one spot, and half over each other; a unit over an obstacle too. The sound twin only lacks air."""
    for xs in ((0.8, 0.8, 2.8), (0.8, 0.9, 2.8)):
        told = hang(three(xs=xs)).finding("places-overlap")
        assert (told.level, "L1-1 and L2-1" in told.text) == (Level.STOP, True)
    assert hang(three(place("obstacle", 0.8, 1.5, width=0.1, height=0.1))).finding("places-overlap").level is Level.STOP
    assert "places-overlap" not in hang(three(xs=(0.8, 1.25, 2.8))).codes()


def test_blocked_ways_are_one_stop_for_circuits_and_one_for_links():
    """An obstacle from floor to ceiling between the units: nothing is off the wall, so the stops are on the ways."""
    site = hang(three(place("obstacle", 2.3, 1.2, width=0.1, height=2.4)))
    assert sorted(site.codes("stop")) == ["no-way-for-circuit", "no-way-for-link"]


def test_a_length_can_be_traced_to_the_answers():
    """Down to the places of both ends, the lane and what goes inside the gear."""
    site = hang(three())
    keys = {figure.key for _, figure in site.wall.runs["load L3-1"].length.tree()}
    assert {"wall.places[L3-1].x", "wall.places[L3-1].y", "wall.places[#5].x", "routes[load].lane", "routes[load].extra"} <= keys


def test_a_circuit_without_a_way_has_no_length_until_it_is_measured():
    """An obstacle from floor to ceiling: no length is invented; a measured one serves and the stop goes."""
    wall = place("obstacle", 2.3, 1.2, width=0.1, height=2.4)
    assert hang(three(wall)).wall.runs["battery L3-1"].length is None
    measured = hang(three(wall, '[[routes]]\ncarries = "battery"\nto = "L3-1"\nlength = "4 m"\n'))
    assert measured.wall.runs["battery L3-1"].length.value == 4
    assert "battery L3-1" not in measured.finding("no-way-for-circuit").text


@pytest.mark.parametrize("seed", range(60))
def test_any_wall_plans_and_its_cables_keep_to_it(seed):
    """Random places, sizes and lanes, most of them absurd: no exception, and what is drawn lies on the wall, outside obstacles, rectilinear."""
    rng = random.Random(seed)

    def metres(most):
        return rng.choice([0, 0.05, rng.random() * most, rng.random() * most, most * 3])

    things = [
        place(what, metres(4), metres(2.4), tag, rng.choice([None, metres(1)]), rng.choice([None, metres(1)]))
        for what, tag in (("unit", "L1-1"), ("unit", "L2-1"), ("bank", "B1"), ("load-board", ""), ("obstacle", ""), ("obstacle", "x"), ("earth-bar", ""))
        if rng.random() < 0.7
    ]
    lanes = [f'[[routes]]\ncarries = "{kind}"\nlane = "{metres(2.4)} m"\n' for kind in ("battery", "load", "comms") if rng.random() < 0.5]
    head = f'[set]\nper_phase = [{rng.randint(0, 3)}, 1, 1]\n[wall]\nwidth = "{metres(4)} m"\nheight = "{metres(2.4)} m"\n'
    site = hang(BASE + head + "".join(things) + "".join(lanes))
    wide, high = site.wall.width.value + 1e-9, site.wall.height.value + 1e-9
    for path in [run.path for run in site.wall.runs.values()] + [link.path for link in site.chain.links]:
        assert all(0 <= x <= wide and 0 <= y <= high for x, y in path)
        for a, b in pairwise(path):
            assert (a[0] == b[0]) != (a[1] == b[1])
            middle = (a[0] + b[0]) * 500, (a[1] + b[1]) * 500
            assert not any(p.what == "obstacle" and p.rect.left < middle[0] < p.rect.right and p.rect.bottom < middle[1] < p.rect.top for p in site.wall.places)


@pytest.mark.parametrize("size", [(10_000, 10_000), (10_000, 0.001), (0.001, 10_000)])
def test_walls_of_absurd_size_plan_and_draw(size):
    """Units of no height with no clearance on top: still an answer, soon."""
    text = BASE.replace('height = "0.5 m"', 'height = "0 m"').replace('clearance = "0.2 m"', 'clearance = "0 m"')
    site = hang(text + f'[set]\nper_phase = [2, 2, 2]\n[wall]\nwidth = "{size[0]} m"\nheight = "{size[1]} m"\n')
    assert len(site.wall.places) == 6 + 5
    assert len(drawing(site.wall, site.chain)) <= 70
    assert len("".join(wall_drawings(as_planned(site)).values())) < 200_000


def test_the_same_answers_give_the_same_wall():
    """Twice the same."""
    assert hang(TWELVE).wall == hang(TWELVE).wall


@pytest.mark.parametrize(("length", "stopped"), [("0 m", True), ("3 mm", True), ("99 mm", True), ("100 mm", False), ("74 ft", False)])
def test_a_length_next_to_nothing_stops_the_plan(length, stopped):
    """No drop and no cut may follow from it."""
    plan = planned({"routes": [{"carries": "battery", "length": length}]})
    found = [finding for finding in plan.findings if finding.code == "length-next-to-nothing"]
    assert bool(found) is stopped
    assert len(found) <= 1
    assert not found or (found[0].level == "stop" and found[0].limit == 0.1)


@pytest.mark.parametrize(("odd", "told"), [
    ({"what": "obstacle"}, "cables may be planned through it"),
    ({"what": "bank"}, "does not say what hangs there"),
    ({"what": "load-board", "x": "1 m", "y": "2 m", "width": "0.3 m", "height": "0.3 m"}, "the second one is taken as an obstacle"),
])
def test_a_place_that_says_too_little_or_too_much_is_told(odd, told):
    """What has a place of its own keeps it; what cannot be hung hangs nowhere, or stands in the way."""
    board = {"what": "load-board", "x": "3 m", "y": "1.5 m"}
    plan = planned({"wall.places": [board, odd]})
    [finding] = [finding for finding in plan.findings if finding.code == "place-unclear"]
    assert told in finding.text
    [placed] = [place for place in plan.parts.wall.places if place.name == "load board"]
    assert (placed.x, placed.y) == (3, 1.5)
    # Its size was not answered: it is taken, and listed.
    assert [assumed.why for assumed in plan.parts.wall.assumed if assumed.key == placed.key] == ["no size answered"]
    assert sum(place.what == "obstacle" for place in plan.parts.wall.places) == ("x" in odd)


def test_what_nobody_placed_hangs_at_its_usual_spot():
    """A wall of 6 m: three banks at a sixth, a half and five sixths of it; boards 0.4 m wide, 0.1 m from either end; a unit at the x that was answered."""
    free = BASE + '[set]\nper_phase = [1, 1, 1]\n[wall]\nwidth = "6 m"\nheight = "2.4 m"\n'
    x = {place.name: place.x for place in hang(free.replace("common-bank", "bank-per-unit")).wall.places}
    assert [x[name] for name in ("B1", "B2", "B3", "incoming board", "load board", "earth bar")] == [1, 3, 5, 0.3, 5.7, 5.7]
    assert hang(free + '[[wall.places]]\nwhat = "unit"\ntag = "L2-1"\nx = "4.2 m"\n').wall.place("L2-1").x == 4.2


def test_of_what_is_off_the_wall_the_worst_is_the_figure():
    """A wall of 3.7 m: board and earth bar reach to 3.8 m, the third unit to 3.775 m."""
    told = hang(three(size=(3.7, 2.4), xs=(0.8, 1.8, 3.6))).finding("off-the-wall")
    assert told.value == pytest.approx(-0.1)
    assert "L3-1" in told.text


def test_an_obstacle_is_unclear_only_where_its_place_is_half_answered():
    whole = place("obstacle", 3.2, 2.2, width=0.2, height=0.2)
    assert "place-unclear" not in hang(three(whole)).codes()
    for half in ('x = "3.2 m"\n', 'y = "2.2 m"\n'):
        assert "place-unclear" in hang(three(whole.replace(half, ""))).codes()
