"""The balance of loads against enumeration, against another solver, and in its promises."""

import math
import tracemalloc
from itertools import product
from random import Random

import pytest

from engine.solvers.balance import Balance, Fixed, Portion, Rating, balance
from engine.solvers.branch import Search
from engine.solvers.grid import grid_bound
from engine.solvers.phases import OVERLOADED, STARVED, Work, standing


def lagging(power, power_factor, multiple=0.0):
    """A portion from power, power factor and how many times its running power it starts with."""
    demand = complex(power, power * math.sqrt(1 / power_factor**2 - 1))
    return Portion(demand, multiple * abs(demand))


def splits(count, phases, spare):
    """Every way to put units on phases: one on each, and the spare ones too where there are enough."""
    own = 1 + spare if count >= (1 + spare) * phases else 1
    return [s for s in product(range(own, count + 1), repeat=phases) if sum(s) == count]


def cost_of(portions, places, fixed, unit, split):
    """What an arrangement costs, in the problem's own words: share used; what starts over its limit; worse than any start, what runs over its own."""
    used = runs = starts = 0.0
    for k, n in enumerate(split):
        demand = fixed[k].demand + sum(p.demand for p, place in zip(portions, places, strict=True) if place == k)
        rest = fixed[k].rest + sum(p.demand for p, place in zip(portions, places, strict=True) if place == k and not p.start)
        start = fixed[k].start + sum(p.start for p, place in zip(portions, places, strict=True) if place == k)
        left = max(n - unit.spare, 1e-9)
        used = max(used, demand.real / (n * unit.real), abs(demand) / (n * unit.apparent))
        runs = max(runs, demand.real / (left * unit.real), abs(demand) / (left * unit.apparent))
        starts = max(starts, (abs(rest) + start) / (left * unit.surge))
    if runs > 1 + 1e-9:
        return OVERLOADED + runs
    return STARVED + min(starts, OVERLOADED - STARVED - 1) if starts > 1 + 1e-9 else used


def enumerated(portions, fixed, unit, count):
    """The least cost of any arrangement of `count` units."""
    every = product(range(len(fixed)), repeat=len(portions))
    return min(cost_of(portions, places, fixed, unit, split) for places in every for split in splits(count, len(fixed), unit.spare))


def instance(rng):
    """A small random problem: mixed power factors, fixed loads of both signs, motors, spare units."""
    phases = rng.choice([1, 2, 2, 3, 3])
    leading = rng.random() < 0.3
    portions = []
    for _ in range(rng.randint(1, 7 if phases == 3 else 8)):
        portion = lagging(rng.choice([200, 500, 750, 1000, 1500, 2200, 3000, rng.uniform(50, 3500)]), rng.uniform(0.5, 1), rng.choice([0, 0, 0, 3, 6]))
        if leading and rng.random() < 0.5:
            portion = Portion(portion.demand.conjugate(), portion.start)
        portions += [portion] * rng.choice([1, 1, 1, 2])
    fixed = []
    for _ in range(phases):
        rest = complex(rng.choice([0, 0, 800, 1500]), rng.choice([0, 0, 600, -700]))
        start = rng.choice([0, 0, 4000])
        fixed.append(Fixed(rest + (complex(700, 500) if start else 0), rest, start))
    if rng.random() < 0.4:
        fixed = [fixed[0]] * phases
    unit = Rating(5000, rng.choice([5000, 6000]), rng.choice([math.inf, 10000, 18000]), rng.choice([0, 0, 0, 1]))
    return portions[: 8 if phases == 3 else 10], fixed, unit


@pytest.mark.parametrize("seed", range(240))
def test_balance_is_what_enumeration_finds(seed):
    """On a random complex instance the search gives the enumerated optimum within 1 VA, and fewer units are truly ruled out."""
    rng = Random(seed)
    portions, fixed, unit = instance(rng)
    phases = len(fixed)
    most = phases + rng.randint(0, 2)
    found = balance(portions, fixed, unit, least=phases, most=most, budget=10**6)
    count = sum(found.units)
    cost = cost_of(portions, found.places, fixed, unit, found.units)
    best = enumerated(portions, fixed, unit, count)
    assert found.proven
    assert found.fewest
    assert found.carries == (best < STARVED)
    assert found.runs == (best < OVERLOADED)
    assert cost == pytest.approx(best, abs=1.001 / unit.apparent)
    if found.carries:
        assert found.bound <= best + 1e-12
        assert found.used == pytest.approx(cost)
    for fewer in range(min(most, phases * (1 + unit.spare)), count):
        assert enumerated(portions, fixed, unit, fewer) >= STARVED


def test_one_volt_ampere_is_one_however_many_units_share_it():
    """887 W over two phases of twenty units of 100 VA: of all sums 457 and 430 lie nearest to halves; 460 is no answer."""
    found = balance([Portion(complex(power)) for power in (128, 146, 143, 284, 186)], [Fixed()] * 2, Rating(100, 100), least=40, most=40, split=(20, 20))
    assert found.proven
    assert found.used == pytest.approx(457 / 2000)


def test_what_leads_on_a_phase_is_made_good_by_what_lags():
    """What runs already leads, though with the motors beside it one phase lags: a phase that stands above its surge comes down again by what is put on it."""
    portions = [lagging(*of) for of in ((1000, 0.5, 2), (2500, 0.9, 2), (2000, 0.5), (1000, 0.8), (1000, 0.6, 2), (500, 0.5))]
    fixed, unit = [Fixed(1000j, -3000j), Fixed(0j, -4000j)], Rating(5000, 5000, 7000)
    found = balance(portions, fixed, unit, least=2, most=2, split=(1, 1))
    assert cost_of(portions, found.places, fixed, unit, (1, 1)) == pytest.approx(enumerated(portions, fixed, unit, 2), abs=1.001 / unit.apparent)


def test_what_leads_on_one_phase_alone_is_made_good_there():
    """3 kvar lead on the first phase, nothing stands on the second: 500 W with 3 kvar lagging bring it to 500 VA. The other load, 707 VA, goes to the
    second phase: 707 / 5000 are used, where 3041 VA are if that is looked at only where the 3 kvar do not help."""
    portions, fixed = [Portion(500 + 3000j), Portion(500 + 500j)], [Fixed(-3000j, -3000j), Fixed()]
    search = Search(portions, fixed, Rating(5000, 5000), (1, 1), Work(1000), bound=0.0, tolerance=1e-6)
    assert search.run(math.inf)
    assert (search.best, search.cost) == ([0, 1], pytest.approx(abs(500 + 500j) / 5000))


def by_cp_sat(powers, phases):
    """Least largest sum, by OR-Tools CP-SAT."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    on = [[model.new_bool_var("") for _ in range(phases)] for _ in powers]
    largest = model.new_int_var(0, sum(powers), "")
    for row in on:
        model.add_exactly_one(row)
    for k in range(phases):
        model.add(sum(p * row[k] for p, row in zip(powers, on, strict=True)) <= largest)
    model.minimize(largest)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.max_time_in_seconds = 20
    assert solver.solve(model) == cp_model.OPTIMAL
    return solver.objective_value


@pytest.mark.parametrize("seed", range(12))
def test_balance_agrees_with_cp_sat_at_one_power_factor(seed):
    """At one power factor both solve the same problem, and agree to 1 VA."""
    rng = Random(seed)
    phases, grid = rng.choice([2, 3]), rng.choice([1, 50, 250])
    powers = [grid * rng.randint(max(1, 100 // grid), 3500 // grid) for _ in range(rng.randint(9, 30))]
    power_factor = rng.choice([1.0, 0.85])
    unit = Rating(50_000, 50_000)
    found = balance([lagging(p, power_factor) for p in powers], [Fixed()] * phases, unit, least=phases, most=phases, budget=10**6)
    assert found.proven
    assert found.used * unit.apparent == pytest.approx(grid * by_cp_sat([p // grid for p in powers], phases) / power_factor, abs=1.0)


def test_no_loads_need_one_unit_on_each_phase():
    """A set without loads is one unit on each phase, unused."""
    assert balance([], [Fixed()] * 3, Rating(5000, 5000), least=1, most=12) == Balance((1, 1, 1), (), 0.0, 0.0, 0, carries=True, runs=True, proven=True, fewest=True)


def test_given_units_are_kept_though_they_are_overloaded():
    """Units that are given stay, and the arrangement that passes their limits least is found."""
    found = balance([lagging(4000, 1)] * 4, [Fixed()] * 2, Rating(5000, 5000), least=2, most=2, split=(1, 1))
    assert (found.units, found.carries, found.proven) == ((1, 1), False, True)
    assert found.used == pytest.approx(1.6)
    assert sorted(found.places) == [0, 0, 1, 1]


def test_spare_asks_for_a_unit_more_on_each_phase():
    """Every phase carries its loads with a unit out."""
    found = balance([lagging(4000, 1)] * 3, [Fixed()] * 3, Rating(5000, 5000, spare=1), least=3, most=12)
    assert found.units == (2, 2, 2)


def test_a_start_alone_can_ask_for_more_units():
    """A motor that runs on one unit but starts above its surge needs two on its phase."""
    found = balance([lagging(2200, 0.85, 6)], [Fixed()] * 3, Rating(5000, 5000, 10_000), least=3, most=12)
    assert sorted(found.units) == [1, 1, 2]
    assert found.units[found.places[0]] == 2


def test_no_phase_is_overloaded_for_hours_so_that_motors_start_better():
    """Motors of 2 kW that ask for 13 and 11 kVA to start, heaters of 4 and 0.5 kW; two phases of 5 kVA, 10 for a moment. Apart the motors start best,
    with 13.5 and 15 kVA, but 6 kW run on the one with the large heater. So both stand on one phase: 24 kVA, and 4 and 4.5 kW run."""
    portions = [Portion(2000 + 0j, 13_000.0), Portion(2000 + 0j, 11_000.0), Portion(4000 + 0j), Portion(500 + 0j)]
    found = balance(portions, [Fixed()] * 2, Rating(5000, 5000, 10_000), least=2, most=2, split=(1, 1))
    assert (found.carries, found.runs, found.proven) == (False, True, True)
    assert found.places in {(0, 0, 1, 1), (1, 1, 0, 0)}
    assert found.used == pytest.approx(0.9)


def test_a_spent_budget_tells_the_gap():
    """Where the budget of nodes ends first, nothing is called proven and the bound stays below the result."""
    rng = Random(5)
    portions = [lagging(rng.uniform(500, 3500), rng.uniform(0.6, 1)) for _ in range(16)]
    found = balance(portions, [Fixed()] * 3, Rating(20_000, 20_000), least=3, most=3, budget=20)
    assert not found.proven
    assert found.bound < found.used


def test_a_search_ends_with_its_budget():
    """Five loads of different size: after three nodes it gives up, and says so."""
    work = Work(3)
    search = Search([Portion(complex(power)) for power in (284, 186, 146, 143, 128)], [Fixed()] * 2, Rating(1000, 1000), (1, 1), work, bound=0.0, tolerance=1e-6)
    assert not search.run(math.inf)
    assert work.nodes == 3


def test_hundreds_of_loads_do_not_exhaust_the_stack():
    """A thousand portions are spread without deep recursion."""
    found = balance([lagging(100 + i % 7, 0.9) for i in range(1000)], [Fixed()] * 3, Rating(50_000, 50_000), least=3, most=3)
    assert found.carries
    assert found.used - found.bound < 1e-3


def test_more_phases_than_units_is_a_mistake_of_the_caller():
    """Two units cannot feed three phases: the stage must not ask."""
    with pytest.raises(ValueError, match="cannot feed"):
        balance([], [Fixed()] * 3, Rating(5000, 5000), least=1, most=2)
    with pytest.raises(ValueError, match="cannot feed"):
        balance([], [Fixed()] * 3, Rating(5000, 5000), least=1, most=2, split=(1, 1, 0))
    with pytest.raises(ValueError, match="needs a unit"):
        grid_bound([2000.0] * 3, [0.0] * 3, [1, 0, 0])


def test_a_huge_fixed_load_makes_no_huge_number():
    """9 MW stand on one phase, 1 mW is to be placed: the other phases could take 9e9 steps, and there is one."""
    tracemalloc.start()
    assert grid_bound([0.001], [9e6, 0.0, 0.0], [1, 1, 1]) == pytest.approx(9e6)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 1e6


@pytest.mark.parametrize("powers, fixed, units, level", [([2000] * 3, [0, 0], [1, 1], 4000), ([2000] * 61, [0] * 3, [1] * 3, 42000), ([3, 3, 2, 2, 2], [0, 0], [1, 1], 6), ([7], [0, 3], [1, 2], 5)])
def test_the_grid_lifts_the_bound_to_sums_that_exist(powers, fixed, units, level):
    """Powers on a coarse grid cannot share out evenly, and the bound knows."""
    assert grid_bound(powers, fixed, units) == pytest.approx(level)


def test_a_bound_whose_lifts_are_spent_is_still_a_bound(monkeypatch):
    """4.5 kW in motors of 700, 1100 and 1300 W over seven units: 643 W evenly, 700 W in sums that exist; one lift gets to 667 W."""
    motors, units = [1100, 700, 1300, 700, 700], [1, 3, 3]
    assert grid_bound(motors, [0] * 3, units) == pytest.approx(700)
    monkeypatch.setattr("engine.solvers.grid._MOST_LIFTS", 1)
    assert grid_bound(motors, [0] * 3, units) == pytest.approx(2000 / 3)


def test_the_same_problem_gives_the_same_answer():
    """The search is deterministic."""
    rng = Random(9)
    portions = [lagging(rng.uniform(200, 3500), rng.uniform(0.6, 1)) for _ in range(40)]
    assert len({balance(portions, [Fixed()] * 3, Rating(20_000, 20_000), least=3, most=6) for _ in range(3)}) == 1


def test_the_phases_sum_afresh():
    """The figures told belong to the places told."""
    portions = [lagging(1000, 0.8), lagging(500, 1)]
    phases = standing(portions, (0, 1), [Fixed(100 + 0j, 100 + 0j)] * 2, Rating(5000, 5000), (1, 1))
    assert phases.demand == [100 + portions[0].demand, 600 + 0j]


def test_a_phase_that_is_full_to_the_last_watt_takes_nothing_and_is_no_less_full():
    """Half a watt beside 10 and 9.5 W: 10 W on each, and no less is possible."""
    assert grid_bound((0.5,), (10.0, 9.5), (1, 1)) == 10.0


def test_the_two_phases_that_are_not_the_busiest_are_evened():
    """12.5 kW in steps of half a kilowatt: no phase can be the busiest with less than 4.5 kW; the other 8 kW are 4 and 4, not 4.5 and 3.5."""
    portions = [Portion(complex(power)) for power in (2000, 1000, 2000, 1500, 1500, 1500)]
    found = balance(portions, [Fixed(3000 + 0j), Fixed(), Fixed()], Rating(5000, 5000), least=3, most=3, split=(1, 1, 1))
    on = [3000.0, 0.0, 0.0]
    for portion, phase in zip(portions, found.places, strict=True):
        on[phase] += portion.demand.real
    assert on == [4500, 4000, 4000]
