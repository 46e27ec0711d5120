"""Branches in parallel."""

from __future__ import annotations

from engine.formulas import sharing
from tests.published.formulas import branches, conductors
from tests.published.tables import table

MOHM, MM2 = 1e-3, 1e-6


def leads(given):
    """Both leads of each branch count, and the source's own resistance."""
    ways = [2 * length * given["mohm_per_m"] * MOHM + given["internal_mohm"] * MOHM for length in given["one_way_m"]]
    currents = [sharing.branch_current(given["load_a"], ways, place) for place in range(len(ways))]
    return {"currents_a": currents, "difference_pct_of_mean": 100 * sharing.spread(currents)}


def two_branches(given):
    pair = [given["r1_mohm"] * MOHM, given["r2_mohm"] * MOHM]
    return {"i1_over_i2": sharing.branch_current(1.0, pair, 0) / sharing.branch_current(1.0, pair, 1), "difference_over_mean_pct": 100 * sharing.resistance_spread(pair)}


def odd_branch(given):
    like, odd, many = given["branch_mohm"] * MOHM, given["odd_branch_mohm"] * MOHM, given["branches"]
    ways = [odd, *[like] * (many - 1)]
    currents = [sharing.branch_current(given["load_a"], ways, place) for place in (0, 1)]
    mean = given["load_a"] / many
    return {
        "odd_a": currents[0],
        "others_a": currents[1],
        "odd_deviation_pct": 100 * (currents[0] / mean - 1),
        "first_order_pct": 100 * branches.odd_branch_deviation(like, odd, many),
    }


def per_metre(given):
    area = given["copper_mm2"] * MM2
    copper = table("metals").row("metal", "copper")
    return {
        "mohm_per_m": table("iec60228_copper").row("area", area)[f"class{given['iec_class']}"] / MOHM,
        "from_resistivity_mohm_per_m": conductors.stuff_resistance(copper["resistivity"], 1.0, area) / MOHM,
    }


CALLS = {
    "sha-leads-only-2m-3m": leads,
    "sha-leads-plus-5mohm": leads,
    "sha-two-branch-rule": two_branches,
    "sha-one-odd-of-four": odd_branch,
    "sha-10pct-limit": lambda g: {"max_branch_difference_mohm": branches.allowed_spread(g["mean_branch_mohm"] * MOHM, g["limit_pct"] / 100) / MOHM},
    "sha-five-samenesses": lambda _: {"same": [row["sameness"] for row in table("like_conductors").rows]},
    "sha-resistance-per-metre": per_metre,
}
