"""What is missing on a phase, with units out or without any (S22, S36, T17), and what the bill cannot name."""

from __future__ import annotations

from typing import Any

import pytest

from tests.defence.sites import codes, found, site, split


def load(kilowatts: float, **more: Any) -> dict[str, Any]:
    return {"loads": [{"name": "Machine", "power": f"{kilowatts} kW", "power_factor": 1.0, "phase": "L1"} | more]}


@pytest.mark.parametrize(("spare", "load_", "value", "limit", "missing"), [
    # Three units of 5 kW: two carry 10 kW, none nothing.
    (1, load(10.5), 10_500, 10_000, "500 VA are missing"),
    (1, load(10.0005), 10_000.5, 10_000, "0.5 VA are missing"),
    (3, load(10.5), 10_500, 0, "10.5 kVA are missing"),
    # A motor of 4 kW starts with six times its 17.4 A: 104.3 A; two units give twice 10 kVA, 87.0 A.
    (1, load(4, motor=True, start_multiple=6), 6 * 4000 / 230, 2 * 10_000 / 230, "17.39 A are missing while motors start"),
])
def test_what_the_units_left_must_carry(spare, load_, value, limit, missing) -> None:
    """S22, T17: what runs is held against the power of the units that are left, what starts against their surge."""
    finding = found(site(split(3) | {"set.spare": spare, "storage.bank.parallel": 12} | load_), "spare-not-met")
    assert (finding.value, finding.limit) == (pytest.approx(value), pytest.approx(limit))
    assert finding.text.startswith(f"With {spare} unit{'s' if spare > 1 else ''} out, L1 no longer carries its loads: {missing}")


@pytest.mark.parametrize(("arrangement", "count", "least"), [("split-phase", 1, "at least 2"), ("three-phase", 1, "at least 3"), ("three-phase", 2, "at least 3")])
def test_each_phase_needs_a_unit(arrangement, count, least) -> None:
    """S36."""
    finding = found(site({"output.arrangement": arrangement, "set": {"count": count}, "storage.wired": {}, "storage.links": []}), "phase-without-unit")
    assert f"each phase needs one of its own, so {least}." in finding.text


def test_a_load_whose_power_is_unknown_leaves_the_plan_open() -> None:
    """S21: more may be noticed once it is answered."""
    finding = found(site({"loads": [{"name": "Pump", "phase": "L1"}]}), "load-power-unanswered")
    assert finding.unanswered


@pytest.mark.parametrize(("bond", "items"), [
    ("changeover relay", ["neutral-earth bond link", "bond label"]),
    ("fixed link", ["neutral-earth bond link", "bond label"]),
    ("unit relay", ["bond label"]),
    ("none", []),
])
def test_a_bond_is_bought_and_labelled_as_far_as_there_is_one(bond, items) -> None:
    lines = [line.item for line in site({"earthing.island_bond": bond}).parts.bill.lines if "bond" in line.item]
    assert lines == items


def test_the_bill_names_four_circuits_without_a_size_and_says_that_there_are_more() -> None:
    """Without a transfer current neither the units' incoming circuits nor what hangs on them has a size."""
    plan = site(without=("unit.transfer_current",))
    sizes = {cut.circuit for cut in plan.parts.bill.cuts if not cut.size}
    assert len(sizes) > 4
    finding = found(plan, "bill-incomplete")
    assert f"conductor sizes for {', '.join(sorted(sizes)[:4])} and more:" in finding.text
    assert "bill-incomplete" not in codes(site())
