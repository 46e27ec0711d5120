"""T21 decides the bond of island mode, and the findings on it."""

from __future__ import annotations

import itertools

import pytest

from engine.findings import Level
from tests.defence.sites import codes, found, site, split

BONDS = ("changeover relay", "unit relay", "fixed link", "none")


def earthed(system: str, bond: str, kind: str = "utility") -> dict[str, object]:
    incoming = {"kind": kind, "breaker": "40 A", "prospective_fault": "2 kA", "rating": "30 kVA"} if kind != "none" else {"kind": "none"}
    return {"earthing": {"system": system, "island_bond": bond, "bond_at": "board"}, "incoming": incoming}


@pytest.mark.parametrize(("system", "bond", "kind"), [*itertools.product(("TN-S", "TN-C-S", "TT", "IT"), BONDS, ("utility", "generator", "none"))])
def test_neutral_meets_earth_once_in_each_mode(system, bond, kind) -> None:
    """T21: with a fixed link neutral meets earth twice where the supply's own neutral is earthed elsewhere (TN-S, TT: at the transformer;
    TN-C-S is joined to earth at this very entrance; without a supply there is one mode only). Without any bond it floats, but for IT.
    """
    plan = site(earthed(system, bond, kind))
    stops = codes(plan, Level.STOP) & {"island-bond-none", "second-bond", "island-bond-unanswered"}
    expected = set()
    if bond == "none" and system != "IT":
        expected = {"island-bond-none"}
    if bond == "fixed link" and system in ("TN-S", "TT") and kind != "none":
        expected = {"second-bond"}
    assert stops == expected
    # Without any supply and sun the day itself is a stop.
    assert (plan.plan.standing == "stopped") is (bool(expected) or kind == "none")


def test_the_bond_is_never_assumed() -> None:
    """T21: unanswered it stops the plan, and no figure stands in for it."""
    plan = site(without=("earthing.island_bond",))
    assert found(plan, "island-bond-unanswered").level is Level.STOP
    assert plan.plan.standing == "stopped"
    assert plan.parts.earthing.island is None


@pytest.mark.parametrize(("per_phase", "bond", "told"), [((2,), "unit relay", True), ((1,), "unit relay", False), ((2,), "changeover relay", False)])
def test_only_one_relay_closes(per_phase, bond, told) -> None:
    """T21: a relay in each of several units would join neutral to earth in several places."""
    assert ("one-relay-only" in codes(site(split(*per_phase) | earthed("TN-S", bond)), Level.CAUTION)) is told


def test_the_residual_current_test_is_made_in_island_mode_before_the_supply_comes_in() -> None:
    """T21: a missing bond shows only there: its step comes before the incoming isolators close."""
    steps = [step for step in site().parts.procedure.steps if step.section == "residual current"]
    assert "units alone" in steps[0].do
    assert "Close the incoming isolator" in steps[1].do
    assert "not bonded" in steps[0].otherwise
