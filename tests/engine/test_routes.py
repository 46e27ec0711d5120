"""Routes against an independent search: a lattice of every whole coordinate, or the sparse graph built anew, both by networkx."""

import random
from heapq import heappush as _push
from itertools import combinations

import networkx as nx
import pytest

from engine.solvers.routes import CableEnd, FoundRoute, RouteGrid
from engine.solvers.separation import Rect, Run, clearance, length, pieces

BIG = 10**6


def _inside(rect, x, y):
    return rect.left < x < rect.right and rect.bottom < y < rect.top


def _graph(xs, ys, inside, ports, *, obstacles, runs, source):
    """The problem stated anew from midpoints and definitions: nodes (x, y, axis of arrival), weight packed in powers of 10^6."""
    graph = nx.DiGraph()
    start = ports[source].at

    def free(ax, ay, bx, by):
        mx, my = (ax + bx) / 2, (ay + by) / 2
        for rect in obstacles:
            if _inside(rect, mx, my):
                return False
        for port in ports:
            if _inside(port.body, mx, my):
                straight = (ay == by == port.at[1]) or (ax == bx == port.at[0])
                if not (straight and _inside(port.body, *port.at)):
                    return False
        # A crack: both sides of the edge, a hair away, are solid (or off the wall).
        solid = 0
        for side in (-0.25, 0.25):
            px, py = (mx, my + side) if ay == by else (mx + side, my)
            off = not (inside.left < px < inside.right and inside.bottom < py < inside.top)
            solid += off or any(_inside(r, px, py) and not _inside(r, mx, my) for r in [*obstacles, *(p.body for p in ports)])
        return solid < 2

    def breach(ax, ay, bx, by):
        for run in runs:
            (x1, y1), (x2, y2) = run.start, run.end
            if ay == by and y1 == y2 and abs(ay - y1) < run.separation and min(x1, x2) < (ax + bx) / 2 < max(x1, x2):
                return abs(bx - ax)
            if ax == bx and x1 == x2 and abs(ax - x1) < run.separation and min(y1, y2) < (ay + by) / 2 < max(y1, y2):
                return abs(by - ay)
        return 0

    def crossed(x, y, axis):
        hit = 0
        for run in runs:
            (x1, y1), (x2, y2) = run.start, run.end
            if axis == 0 and x1 == x2 == x and min(y1, y2) <= y <= max(y1, y2):
                hit += 1
            if axis == 1 and y1 == y2 == y and min(x1, x2) <= x <= max(x1, x2):
                hit += 1
        return hit

    ends = {p.at for p in ports if _inside(p.body, *p.at)} - {start}
    for i, x in enumerate(xs):
        for j, y in enumerate(ys):
            for nx_, ny_, axis in ((i + 1, j, 0), (i - 1, j, 0), (i, j + 1, 1), (i, j - 1, 1)):
                if (x, y) in ends or not (0 <= nx_ < len(xs) and 0 <= ny_ < len(ys)):
                    continue
                u, v = xs[nx_], ys[ny_]
                if not free(x, y, u, v):
                    continue
                run = abs(u - x) + abs(v - y)
                plain = (breach(x, y, u, v) * BIG * BIG + run) * BIG
                for arrived in (0, 1):
                    if (x, y) == start:
                        graph.add_edge("start", (u, v, axis), weight=plain)
                    elif arrived == axis:
                        graph.add_edge((x, y, arrived), (u, v, axis), weight=plain + crossed(x, y, axis) * BIG * BIG)
                    else:
                        graph.add_edge((x, y, arrived), (u, v, axis), weight=plain + 1)
    return graph


def _best(graph, at):
    if "start" not in graph:
        return None
    costs = nx.single_source_dijkstra_path_length(graph, "start")
    some = [costs[(*at, axis)] for axis in (0, 1) if (*at, axis) in costs]
    return min(some) if some else None


def _packed(route):
    return ((route.breach * BIG + route.crossings) * BIG + route.length) * BIG + route.bends


def _random_wall(rng, width, height, most):
    inside = Rect(0, 0, width, height)

    def rect(least=0):
        x, y = rng.randint(0, width - 1), rng.randint(0, height - 1)
        return Rect(x, y, min(width, x + rng.randint(least, most)), min(height, y + rng.randint(least, most)))

    ports = []
    for _ in range(rng.randint(2, 4)):
        body = rect(1)
        ports.append(CableEnd(((body.left + body.right) // 2, (body.bottom + body.top) // 2), body))
    obstacles = [rect(1) for _ in range(rng.randint(0, 3))]
    runs = []
    for number in range(rng.randint(0, 4)):
        x, y, z = rng.randint(0, width), rng.randint(0, height), rng.randint(1, most + 3)
        end = (x, min(height, y + z)) if rng.random() < 0.5 else (min(width, x + z), y)
        if end != (x, y):
            runs.append(Run((x, y), end, rng.randint(0, 3), f"r{number}"))
    return inside, ports, obstacles, runs


@pytest.mark.parametrize("seed", range(120))
def test_the_sparse_grid_loses_nothing_against_every_whole_coordinate(seed):
    """On small walls the route costs as little as the best one on the full lattice, field by field."""
    rng = random.Random(seed)
    width, height = rng.randint(6, 12), rng.randint(5, 10)
    inside, ports, obstacles, runs = _random_wall(rng, width, height, 4)
    found = RouteGrid(inside, ports, obstacles=obstacles, runs=runs).routes(0, range(1, len(ports)))
    graph = _graph(range(width + 1), range(height + 1), inside, ports, obstacles=obstacles, runs=runs, source=0)
    for target in range(1, len(ports)):
        if ports[target].at == ports[0].at:
            assert found[target].length == 0
            continue
        wanted = _best(graph, ports[target].at)
        assert (target in found) == (wanted is not None)
        if wanted is not None:
            assert _packed(found[target]) == wanted


@pytest.mark.parametrize("seed", range(200))
def test_pairwise_routes_equal_networkx_on_the_same_graph(seed):
    """On real-sized walls every pair of ports costs what networkx finds on the same lines, and the same both ways."""
    rng = random.Random(1000 + seed)
    inside, ports, obstacles, runs = _random_wall(rng, 4000, 2400, 900)
    runs = [Run(r.start, r.end, r.separation * 100, r.of) for r in runs]
    wall = RouteGrid(inside, ports, obstacles=obstacles, runs=runs)
    for source in range(len(ports)):
        found = wall.routes(source, range(len(ports)))
        graph = _graph(wall.xs, wall.ys, inside, ports, obstacles=obstacles, runs=runs, source=source)
        for target in range(len(ports)):
            if target == source or ports[target].at == ports[source].at:
                continue
            wanted = _best(graph, ports[target].at)
            assert (None if target not in found else _packed(found[target])) == wanted
    for a, b in combinations(range(len(ports)), 2):
        there, back = wall.routes(a, [b]).get(b), wall.routes(b, [a]).get(a)
        assert (there is None) == (back is None)
        assert there is None or _packed(there) == _packed(back)


@pytest.mark.parametrize("seed", range(100))
def test_a_route_costs_what_its_drawing_measures(seed):
    """Breach, crossings and length measured on the drawn polyline are those the search counted."""
    rng = random.Random(5000 + seed)
    inside, ports, obstacles, runs = _random_wall(rng, 3000, 2000, 800)
    runs = [Run(r.start, r.end, r.separation * 100, r.of) for r in runs]
    for route in RouteGrid(inside, ports, obstacles=obstacles, runs=runs).routes(0, range(1, len(ports))).values():
        told = clearance(route.points, runs)
        assert (told.under, len(told.crossings), length(route.points)) == (route.breach, route.crossings, route.length)
        assert route.bends == max(0, len(route.points) - 2)
        assert (told.closest is None) or told.closest >= 0
        assert bool(told.breaches) == (told.under > 0)


@pytest.mark.parametrize("seed", range(60))
def test_one_more_thing_in_the_way_never_makes_a_route_better(seed):
    """An obstacle or a power run added leaves the cost the same or higher."""
    rng = random.Random(9000 + seed)
    inside, ports, obstacles, runs = _random_wall(rng, 3000, 2000, 800)
    runs = [Run(r.start, r.end, r.separation * 100, r.of) for r in runs]
    free = RouteGrid(inside, ports, obstacles=obstacles[1:], runs=runs[1:]).routes(0, range(1, len(ports)))
    full = RouteGrid(inside, ports, obstacles=obstacles, runs=runs).routes(0, range(1, len(ports)))
    assert set(full) <= set(free)
    assert all(_packed(full[t]) >= _packed(free[t]) for t in full)


def test_the_search_enters_few_states_and_packs_small_costs(monkeypatch):
    """Between two units on an open wall a node is entered by one axis, not by both; and a cost takes no more than the wall asks for."""
    wall = RouteGrid(
        Rect(0, 0, 6000, 2400),
        [*_ports(), *(CableEnd((3000 + 300 * k, 1500), Rect(2900 + 300 * k, 1400, 3100 + 300 * k, 1600)) for k in range(8))],
    )
    pushed = []
    monkeypatch.setattr("engine.solvers.routes.heapq.heappush", lambda heap, item: (pushed.append(item), _push(heap, item))[1])
    assert len(wall.routes(0, range(1, 10))) == 9
    assert len(pushed) < 1.5 * len(wall.xs) * len(wall.ys)
    assert max(pushed).bit_length() <= 100


def test_a_power_run_adds_no_more_lines_than_its_edges_and_ends_need():
    """Up: itself and the edges of its separation across; a millimetre beyond its ends alone up. Its sides have no millimetre of their own."""
    wall = RouteGrid(Rect(0, 0, 2000, 1000), [], runs=[Run((1000, 200), (1000, 800), 300, "x")])
    assert wall.xs == [0, 700, 1000, 1300, 2000]
    assert wall.ys == [0, 199, 200, 800, 801, 1000]


def _ports():
    return [CableEnd((300, 500), Rect(100, 400, 500, 600)), CableEnd((1700, 500), Rect(1500, 400, 1900, 600))]


def test_a_route_leaves_the_separation_where_it_can():
    """A power run between two ports at their own height: the route goes round outside 200 mm, then straight on."""
    run = Run((600, 500), (1400, 500), 200, "load L1-1")
    route = RouteGrid(Rect(0, 0, 2000, 1000), _ports(), runs=[run]).routes(0, [1])[1]
    assert (route.breach, route.crossings, route.length) == (0, 0, 1400 + 2 * 200)
    assert clearance(route.points, [run]).closest == 200


def test_a_power_run_from_floor_to_ceiling_is_crossed_once_at_a_right_angle():
    """What cannot be gone round is crossed, and the drawing says where and what."""
    run = Run((1000, 0), (1000, 1000), 300, "battery L1-1")
    route = RouteGrid(Rect(0, 0, 2000, 1000), _ports(), runs=[run]).routes(0, [1])[1]
    told = clearance(route.points, [run])
    assert (route.breach, route.crossings, route.length, route.bends) == (0, 1, 1400, 0)
    assert [(c.at, c.of) for c in told.crossings] == [((1000, 500), "battery L1-1")]


def test_an_obstacle_across_everything_leaves_no_route():
    """From floor to ceiling, flush with both: no way along the very edge of the wall either."""
    assert RouteGrid(Rect(0, 0, 2000, 1000), _ports(), obstacles=[Rect(900, 0, 1000, 1000)]).routes(0, [1]) == {}


def test_there_is_no_way_through_the_crack_between_two_obstacles_that_touch():
    """Two obstacles that share a side shut it."""
    assert RouteGrid(Rect(0, 0, 2000, 1000), _ports(), obstacles=[Rect(900, 0, 1000, 450), Rect(900, 450, 1000, 1000)]).routes(0, [1]) == {}


def test_nothing_passes_through_a_unit_on_its_way_to_another():
    """Three units in a row: the route from the first to the last goes round the middle one."""
    ports = [*_ports(), CableEnd((1000, 500), Rect(800, 400, 1200, 600))]
    route = RouteGrid(Rect(0, 0, 2000, 1000), ports).routes(0, [1])[1]
    assert route.length == 1400 + 2 * 100


def test_a_cable_that_may_enter_from_above_or_below_only_does_so():
    """A port between lane and target at the same height: the cable leaves downwards though sideways is shorter."""
    ports = [CableEnd(p.at, p.body, (1,)) for p in _ports()]
    route = RouteGrid(Rect(0, 0, 2000, 1000), ports).routes(0, [1])[1]
    assert route.points[0][0] == route.points[1][0]
    assert route.length == 1400 + 2 * 100


def test_a_power_cable_runs_along_in_its_lane():
    """Down to the lane, along, up to its end, though straight across would be shorter."""
    route = RouteGrid(Rect(0, 0, 2000, 1000), _ports(), lane=100, lane_first=True).routes(0, [1])[1]
    assert route.points == ((300, 500), (300, 100), (1700, 100), (1700, 500))
    assert (route.off_lane, route.length) == (0, 1400 + 800)


def test_a_way_within_a_length_keeps_its_first_corner():
    """Up to the lane and along it: the first step ends at the bend."""
    wall = RouteGrid(Rect(0, 0, 1000, 500), [CableEnd(at, Rect(*at, *at)) for at in ((0, 0), (1000, 500))], lane=500)
    assert wall.within(0, 1, lambda shortest: shortest).points == ((0, 0), (0, 500), (1000, 500))


def test_a_port_whose_body_is_an_obstacle_is_not_entered():
    """What is told as an obstacle stays one, whatever port is said to be in it."""
    ports = _ports()
    assert RouteGrid(Rect(0, 0, 2000, 1000), ports, obstacles=[ports[1].body]).routes(0, [1]) == {}


def test_metres_off_a_far_lane_are_no_bends():
    """20 m along the floor, 200 m below a lane that an obstacle shuts off: 20 m off it, no bend."""
    floor, far = Rect(0, 0, 20_000, 200_000), [CableEnd(at, Rect(*at, *at)) for at in ((0, 0), (20_000, 0))]
    route = RouteGrid(floor, far, obstacles=[Rect(0, 100_000, 20_000, 100_001)], lane=200_000, lane_first=True).routes(0, [1])[1]
    assert (route.off_lane, route.crossings, route.length, route.bends) == (20_000, 0, 20_000, 0)


@pytest.mark.parametrize("wall", [Rect(0, 0, 0, 0), Rect(0, 0, 100, 100), Rect(0, 0, 2000, 0)])
def test_ports_off_the_wall_are_not_reached_and_nothing_breaks(wall):
    """A wall of no size, or ports far outside it."""
    assert RouteGrid(wall, _ports(), obstacles=[Rect(50, 50, 50, 50)], runs=[Run((0, 0), (10, 0), 300, "x")], lane=99).routes(0, [1]) == {}


def test_power_runs_beyond_the_wall_are_in_nobodys_way():
    """Above the ceiling and behind the corner: their lines are none of the wall's, and nothing on it crosses them."""
    runs = [Run((2500, 0), (2500, 1000), 100, "battery"), Run((0, 1500), (2000, 1500), 100, "load")]
    route = RouteGrid(Rect(0, 0, 2000, 1000), _ports(), runs=runs).routes(0, [1])[1]
    assert (route.breach, route.crossings, route.length, route.bends) == (0, 0, 1400, 0)


def test_two_ports_at_one_place_need_no_cable():
    """Places answered one over the other: a length of nothing, not none at all, which would be told as a shut wall."""
    end = _ports()[0]
    assert RouteGrid(Rect(0, 0, 2000, 1000), [end, end]).within(0, 1, lambda shortest: shortest) == FoundRoute((end.at,), 0, 0, 0, 0, 0)


def test_no_way_is_shorter_than_the_shortest():
    """A limit below it leaves none, rather than one that breaks it."""
    wall = RouteGrid(Rect(0, 0, 2000, 1000), _ports())
    assert wall.within(0, 1, lambda shortest: shortest).length == 1400
    assert wall.within(0, 1, lambda shortest: shortest - 1) is None


def test_pieces_join_what_lies_in_line():
    """Collinear neighbours become one piece and empty ones go."""
    assert list(pieces([(0, 0), (5, 0), (5, 0), (9, 0), (9, 4)])) == [((0, 0), (9, 0)), ((9, 0), (9, 4))]


def _best_within(graph, at, limit):
    """Least cost to a point over all ways up to a length: every state keeps all (cost, length) that no other beats in both."""
    fronts, waiting = {"start": {(0, 0)}}, ["start"]
    while waiting:
        node = waiting.pop()
        if node not in graph:
            continue
        for onward, data in graph[node].items():
            run = data["weight"] // BIG % BIG
            for cost, length_ in tuple(fronts[node]):
                label = (cost + data["weight"], length_ + run)
                front = fronts.setdefault(onward, set())
                if label[1] <= limit and not any(c <= label[0] and n <= label[1] for c, n in front):
                    fronts[onward] = {(c, n) for c, n in front if not (label[0] <= c and label[1] <= n)} | {label}
                    waiting.append(onward)
    some = [cost for axis in (0, 1) for cost, _ in fronts.get((*at, axis), ())]
    return min(some, default=None)


@pytest.mark.parametrize("seed", range(120))
def test_the_best_route_up_to_a_length_equals_all_ways_tried(seed):
    """Among the ways up to once and a half the shortest: least breach, then crossings, length, bends, on the same lines."""
    rng = random.Random(seed)
    inside, ports, obstacles, runs = _random_wall(rng, 40, 30, 12)
    runs = [Run(r.start, r.end, r.separation * 2, r.of) for r in runs]
    wall = RouteGrid(inside, ports, obstacles=obstacles, runs=runs)
    graph = _graph(wall.xs, wall.ys, inside, ports, obstacles=obstacles, runs=runs, source=0)
    bare = _graph(wall.xs, wall.ys, inside, ports, obstacles=obstacles, runs=[], source=0)
    for target in range(1, len(ports)):
        if ports[target].at == ports[0].at:
            continue
        shortest = _best(bare, ports[target].at)
        found = wall.within(0, target, lambda length_: length_ * 3 // 2 + 1)
        assert (found is None) == (shortest is None)
        if shortest is not None:
            assert _packed(found) == _best_within(graph, ports[target].at, (shortest // BIG) * 3 // 2 + 1)


def test_a_route_of_any_length_is_the_best_of_all():
    """Without a limit that bites both searches agree."""
    for seed in range(40):
        rng = random.Random(7000 + seed)
        inside, ports, obstacles, runs = _random_wall(rng, 4000, 2400, 900)
        wall = RouteGrid(inside, ports, obstacles=obstacles, runs=[Run(r.start, r.end, r.separation * 100, r.of) for r in runs])
        free = wall.routes(0, range(1, len(ports)))
        for target in range(1, len(ports)):
            found = wall.within(0, target, lambda _: 10**6)
            assert (None if found is None else _packed(found)) == (None if target not in free else _packed(free[target]))


def test_no_way_is_no_longer_than_less_than_the_shortest():
    """A limit below the shortest way leaves none; one of just its length leaves that one, however dear it is."""
    run = Run((1000, 0), (1000, 900), 300, "battery L1-1")
    wall = RouteGrid(Rect(0, 0, 2000, 1000), _ports(), runs=[run])
    assert wall.within(0, 1, lambda shortest: shortest - 1) is None
    straight, free = wall.within(0, 1, lambda shortest: shortest), wall.routes(0, [1])[1]
    assert (straight.length, straight.crossings) == (1400, 1)
    assert (free.length, free.crossings) == (1400 + 2 * (901 - 500), 0)
    assert wall.within(0, 1, lambda shortest: shortest * 2) == free


def test_a_length_beside_runs_that_overlap_is_counted_once():
    """Of one circuit 1 m, 0.2 m of it twice; of another 0.7 m, of which half a metre lies beside the first: 1.2 m of the route in all."""
    runs = [Run((0, 0), (1000, 0), 200, "x"), Run((200, 50), (400, 50), 200, "x"), Run((500, 100), (1200, 100), 200, "y")]
    told = clearance(((0, 150), (2000, 150)), runs)
    assert told.under == 1200
    assert [(breach.of, breach.length, breach.distance) for breach in told.breaches] == [("x", 1000, 100), ("y", 700, 50)]


def test_where_both_ends_are_one_nothing_is_laid():
    end = CableEnd((300, 500), Rect(100, 400, 500, 600))
    assert RouteGrid(Rect(0, 0, 2000, 1000), [end, end]).routes(0, [1]) == {1: FoundRoute((end.at,), 0, 0, 0, 0, 0)}


def test_no_longer_way_is_taken_than_is_allowed_though_it_keeps_clear():
    """Straight up 600 mm beside a power run from end to end; round it, 200 mm out and back, would be a metre."""
    ends = [CableEnd((1000, y), Rect(900, y - 100, 1100, y + 100)) for y in (200, 800)]
    wall = RouteGrid(Rect(0, 0, 2000, 1000), ends, runs=[Run((1000, 350), (1000, 650), 200, "load L1-1")])
    free = wall.routes(0, [1])[1]
    assert (free.length, free.breach) == (1000, 0)
    assert wall.within(0, 1, lambda shortest: shortest).length == 600


def test_a_search_within_a_length_looks_no_further_than_a_way_of_it_can_come(monkeypatch):
    """Two ports 600 mm apart on a wall of 60 m: what lies beyond half of what is left over is not looked at, and the way is the same."""
    ends = [CableEnd((30_000 + 600 * k, 1200), Rect(29_800 + 600 * k, 1000, 30_200 + 600 * k, 1400)) for k in (0, 1)]
    blocks = [Rect(x, 900, x + 100, 1500) for x in range(500, 59_000, 500) if not 29_000 < x < 31_500]
    across = [Run((30_300, 0), (30_300, 2400), 200, "load L1-1")]
    wall = RouteGrid(Rect(0, 0, 60_000, 2400), ends, obstacles=blocks, runs=across)
    popped = []
    real = wall._search
    monkeypatch.setattr(wall, "_search", lambda *given: (found := real(*given), popped.append(sum(cost < wall._fields.unreached for cost in found[0])))[0])
    found = wall.within(0, 1, lambda shortest: shortest * 3 // 2 + 1000)
    assert found == wall.routes(0, [1])[1]
    # 600 mm may become 1900: 650 mm to either side, of 60 m; without that all of the wall that costs less than the crossing is seen.
    assert popped[0] * 5 < popped[1]


@pytest.mark.parametrize(("separation", "apart", "under"), [(0, 0, 1000), (0, 1, 0), (1, 0, 1000), (1, 1, 0), (2, 1, 1000), (2, 2, 0)])
def test_without_a_separation_only_what_lies_on_power_is_too_near(separation, apart, under):
    """A separation of 0 counts as 1 mm; just at the separation a route is clear."""
    assert clearance(((0, apart), (1000, apart)), [Run((0, 0), (1000, 0), separation, "x")]).under == under
