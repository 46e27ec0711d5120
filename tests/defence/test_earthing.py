"""T21 decides the bond of island mode, and the findings on it."""

from __future__ import annotations

import itertools

import pytest

from engine.findings import Level
from tests.defence import twins
from tests.defence.sites import codes, found, routes, site, sized, split

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


@pytest.mark.parametrize(("system", "kind", "bond"), [
    ("TN-S", "utility", "at the transformer"),
    ("TN-C-S", "utility", "at the service entrance"),
    ("TT", "generator", "at the transformer"),
    ("IT", "utility", "nowhere"),
    (None, "utility", "not answered"),
    ("TN-S", "none", "no supply comes in"),
    (None, "none", "no supply comes in"),
])
def test_the_bond_while_a_supply_comes_in_is_that_of_its_earthing(system, kind, bond) -> None:
    """T21; where neutral meets earth: IEC 60364-1 312.2 (from memory)."""
    assert site(earthed(system, "changeover relay", kind)).parts.earthing.incoming == bond


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
    assert [step.id.split("@")[0] for step in steps] == ["trip-alone", "test-load", "incoming-close", "trip-incoming"]
    assert "Close the incoming isolator" in steps[2].do
    assert "not bonded" in steps[0].otherwise


def test_the_common_earth_is_no_smaller_than_a_units_of_another_metal() -> None:
    """T5: a unit's 16 mm2 of copper (k 143) is worth 16 x 143 / 95 = 24.1 mm2 of aluminium: 25 mm2 (IEC 60364-5-54 tables A.54.2)."""
    metals = [{"carries": "earth", "to": "earth-bar", "metal": "aluminium"}, {"carries": "earth", "metal": "copper"}]
    common, of_unit = (twins.planned({"routes": metals}).parts.conductors.of[name] for name in ("earth common", "earth L1-1"))
    assert of_unit.conductor.label == "16 mm2"
    assert [criterion.asked for criterion in common.decision if criterion.name == "like circuits"] == ["25 mm2"] * 3


@pytest.mark.parametrize("far", ["L1-1", "L3-1"])
def test_the_bond_stands_the_weakest_earth_fault_whichever_unit_it_is_of(far: str) -> None:
    """S30: behind fuses of one rating the longest earth conductor (8 m among 3 m) lets the least flow and the most through: it decides the bond."""
    bonds = [site({"storage.earthed": "minus", "routes": way}) for way in (routes(), routes({"carries": "earth", "to": far, "length": "8 m"}))]
    assert [sized(plan, "bond B1").conductor.label for plan in bonds] == ["35 mm2", "50 mm2"]


BLOCKED = {"wall.width": "4 m", "wall.height": "2.4 m", "wall.places": [{"what": "obstacle", "x": "2 m", "y": "1.2 m", "width": "4 m", "height": "0.02 m"}]}


@pytest.mark.parametrize(("changes", "stopped"), [
    # Thirty circuits in a trunking: no conductor for the loads of the units, so none for their earths.
    ({"routes": routes({"carries": "load", "to": "L1-1", "method": "B2", "grouped": 30})}, "grouping-beyond-table"),
    # No way from the earth bar to the units, and no length answered.
    (BLOCKED | {"routes": [entry for entry in routes() if entry["carries"] != "earth"]}, "no-room-on-the-wall"),
])
def test_an_earth_fault_over_an_unknown_conductor_is_not_reckoned(changes: dict[str, object], stopped: str) -> None:
    """S30: the case of the bank is known, those of the units are not."""
    plan = site({"storage.earthed": "minus"} | changes)
    assert stopped in codes(plan, Level.STOP)
    told = found(plan, "earth-fault-not-checked")
    assert told.text.startswith("earth L1-1, earth L2-1, earth L3-1: ")
    assert sized(plan, "earth B1").conductor is not None
