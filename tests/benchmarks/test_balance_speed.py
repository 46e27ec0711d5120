"""The balance of sixty loads on three phases against OR-Tools CP-SAT, in the same run."""

from random import Random
from statistics import median
from time import perf_counter

import pytest

from engine.solvers.balance import Fixed, Portion, Rating, balance

cp_model = pytest.importorskip("ortools.sat.python.cp_model")


def by_cp_sat(powers, phases):
    """Least largest sum."""
    model = cp_model.CpModel()
    on = [[model.new_bool_var("") for _ in range(phases)] for _ in powers]
    largest = model.new_int_var(0, sum(powers), "")
    for row in on:
        model.add_exactly_one(row)
    for k in range(phases):
        model.add(sum(p * row[k] for p, row in zip(powers, on, strict=True)) <= largest)
    model.minimize(largest)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = 30
    assert solver.solve(model) == cp_model.OPTIMAL
    return solver.objective_value


def timed(call):
    """Result and seconds."""
    start = perf_counter()
    result = call()
    return result, perf_counter() - start


@pytest.mark.parametrize("grid", [1, 50, 100])
def test_sixty_loads_are_spread_not_slower_than_by_cp_sat(grid, capsys):
    """Sixty loads at one power factor: the same optimum to 1 VA, at most the time that CP-SAT takes."""
    unit, ours, theirs = Rating(50_000, 50_000), [], []
    for seed in range(5):
        rng = Random(seed)
        powers = [grid * rng.randint(max(1, 100 // grid), 3500 // grid) for _ in range(60)]
        portions = [Portion(complex(p, 0)) for p in powers]
        found, seconds = timed(lambda portions=portions: balance(portions, [Fixed()] * 3, unit, least=3, most=3))
        ours.append(seconds)
        # In whole steps of the grid, without which CP-SAT does not come to a proof.
        other, seconds = timed(lambda powers=powers: grid * by_cp_sat([p // grid for p in powers], 3))
        theirs.append(seconds)
        assert found.proven
        assert abs(found.used * unit.apparent - other) <= 1.0
    with capsys.disabled():
        print(f"\n60 loads on a grid of {grid} W: ours {median(ours) * 1e3:.1f} ms, CP-SAT {median(theirs) * 1e3:.1f} ms, ratio {median(ours) / median(theirs):.2f}")
    assert median(ours) <= median(theirs)
