"""Loads over phases: the optimum by our search, and what the largest-first rule gives."""

from __future__ import annotations

from math import pi

from engine.formulas import phasors
from engine.solvers.balance import Fixed, Portion, Rating, balance
from engine.solvers.exchange import greedy
from engine.solvers.phases import Phases, Work
from tests.published.formulas import phases

THREE = (0.0, -2 * pi / 3, 2 * pi / 3)
# The checks are small whole numbers: counted in thousands, so that the search's 1 VA is far finer than their steps.
SCALE = 1000.0
UNIT = Rating(1e9, 1e9)


def sums(places, loads, base):
    return [b + sum(load for load, place in zip(loads, places, strict=True) if place == k) for k, b in enumerate(base)]


def spread(given):
    unit = "a" if "loads_a" in given else "w"
    loads, phases = given[f"loads_{unit}"], given["phases"]
    base = given.get("already_on_phase_w", [0] * phases)
    portions, fixed = [Portion(complex(load * SCALE)) for load in loads], [Fixed(complex(b * SCALE)) for b in base]
    best = balance(portions, fixed, UNIT, least=phases, most=phases, split=(1,) * phases, budget=10**6)
    assert best.proven
    by_search = sums(best.places, loads, base)
    order = sorted(range(len(loads)), key=lambda i: -loads[i])
    by_rule = sums(greedy([portions[i] for i in order], Phases(fixed, UNIT, (1,) * phases), Work(10**6)), [loads[i] for i in order], base)
    limit = given.get("limit_per_phase_w", float("inf"))
    return {
        f"optimum_max_{unit}": max(by_search),
        f"optimum_spread_{unit}": max(by_search) - min(by_search),
        f"lpt_max_{unit}": max(by_rule),
        f"lpt_loads_sorted_{unit}": sorted(by_rule),
        "fits_at_optimum": max(by_search) <= limit,
        "fits_with_lpt": max(by_rule) <= limit,
        f"optimum_neutral_unity_{unit}": phasors.phasor_sum(by_search, THREE) if phases == 3 else None,
    }


def pairs(given):
    worst = phases.pair_difference(given["phase_a"])
    return {"worst_pair_difference_pct_of_larger": 100 * worst, "within_10pct": worst <= 0.10}


CALLS = {
    "bal-graham-m3": spread,
    "bal-wiki-m2": spread,
    "bal-house-10": spread,
    "bal-split-10": spread,
    "bal-with-base": spread,
    "bal-limit-lpt-fails": spread,
    "bal-amps-7": spread,
    "bal-lpt-bound-m2": lambda g: {"bound": phases.greedy_ratio(g["phases"])},
    "bal-lpt-bound-m3": lambda g: {"bound": phases.greedy_ratio(g["phases"])},
    "bal-utility-10pct": pairs,
}
