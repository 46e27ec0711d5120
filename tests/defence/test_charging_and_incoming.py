"""What a unit may charge with and take from the incoming side (T14, T19, S3), held against what at the very edge, and in whose words."""

from __future__ import annotations

from typing import Any

import pytest

from tests.defence.sites import NEC, codes, found, rating, site, split

GENERATOR: dict[str, Any] = {"incoming": {"kind": "generator", "breaker": "40 A", "prospective_fault": "2 kA", "rating": "12 kVA"}}


@pytest.mark.parametrize(("module", "limit", "told"), [
    # Six strings alike, three units: twice the module's charging current each.
    ("40 A", 80, None),
    ("39.5 A", 79, None),
    ("39 A", 78, "charge-limit-below-unit"),
    ("0.5 A", 1, "charge-limit-below-unit"),
    ("0.49 A", 0, "charge-limit-zero"),
])
def test_a_unit_charges_with_its_part_of_the_bank(module, limit, told) -> None:
    """T14, S24: whole amperes, rounded down; a part an ampere below the unit's own 80 A is a rounding, two are told; none at all is told as that."""
    plan = site({"storage.module.charge_current": module})
    assert plan.parts.limits.charge["L1-1"].value == limit
    assert codes(plan) & {"charge-limit-below-unit", "charge-limit-zero"} == ({told} if told else set())


def test_an_unanswered_charging_current_is_told() -> None:
    plan = site(without=("unit.charge_current",))
    assert plan.parts.limits.charge["L1-1"].value == 6 * 50 // 3
    assert "charge-current-unanswered" in codes(plan)
    assert "charge-current-unanswered" not in codes(site())
    # The sheet says that the unit's own part in it was assumed.
    told = {one.setting: one for one in plan.plan.units[0].settings}["charge_limit"]
    assert told.assumed
    assert "its datasheet" in told.why
    assert not {one.setting: one for one in site().plan.units[0].settings}["charge_limit"].assumed


def heater(*per_phase: float) -> dict[str, Any]:
    return {"loads": [{"name": f"Heater {n}", "power": f"{kilowatts} kW", "power_factor": 1.0, "phase": f"L{n}"} for n, kilowatts in enumerate(per_phase, 1)]}


@pytest.mark.parametrize(("changes", "whose"), [({}, "the 30 A that the breaker allows"), (GENERATOR, "A that 80 % of the generator allows")])
def test_loads_and_charging_are_added_phase_by_phase(changes, whose) -> None:
    """T19: 80 A at 56 V through 93 % and a power factor of 0.95 are 22.0 A; beside 2 kW (8.7 A) 30.7 A, beside 4 kW (17.4 A) 39.4 A, beside 1 kW 26.4 A.

    A breaker of 30 A lets L1 and L2 be too much; of 12 kVA 80 % are 13.9 A.
    """
    plan = site({"incoming.breaker": "30 A"} | heater(2, 4, 1) | changes)
    finding = found(plan, "incoming-below-load-and-charge")
    assert whose in finding.text
    assert "L1 loads 8.696 A and charging 22.05 A" in finding.text
    assert "L2 loads 17.39 A and charging 22.05 A" in finding.text
    assert ("L3" in finding.text) is bool(changes)
    assert finding.value == pytest.approx(4000 / 230 + 80 * 56 / 0.93 / 0.95 / 230)


@pytest.mark.parametrize(("rules", "share", "why"), [({}, 1.0, "a device carries its rating"), (NEC, 0.8, "a continuous current is at most 80 % of its device")])
def test_what_a_unit_takes_through_its_device(rules, share, why) -> None:
    """S3: under the NEC a lasting current is 80 % of its device."""
    figure = site(rules).figures["plan.incoming.device_share"]
    assert (figure.value, figure.note) == (share, why)


@pytest.mark.parametrize("key", ["incoming.voltage", "unit.efficiency", "incoming.arrangement"])
def test_what_comes_in_may_be_unanswered(key) -> None:
    """Nothing that is left out breaks a plan: what charging draws is not reckoned then, or is by what is assumed."""
    given = {"incoming.voltage": "230 V", "unit.efficiency": 0.93, "incoming.arrangement": "three-phase"}
    plan = site(given | {key: None})
    assert plan.parts.limits.incoming["L1-1"].value == 40


@pytest.mark.parametrize(("per_phase", "fault"), [((1, 1, 1), 4000), ((2, 1, 1), 8000), ((1, 1, 2), 8000)])
def test_without_a_supply_the_busiest_phase_makes_the_fault(per_phase, fault) -> None:
    """S10: behind the common isolator the units of one phase feed a fault together: 4 kA each."""
    plan = site(split(*per_phase) | {"incoming": {"kind": "none"}, "unit.fault_current": "4 kA", "storage.bank.parallel": 12})
    assert plan.parts.currents.of["load common"].breaking.value == fault
    assert plan.parts.currents.of["load L1-1"].breaking.value == 4000


def test_a_units_own_incoming_device_is_a_breaker_and_the_common_one_is_there() -> None:
    plan = site()
    devices = {name: plan.parts.conductors.of[name].device for name in ("incoming common", "incoming L1-1", "load L1-1", "load common")}
    assert {name: device.name for name, device in devices.items()} == {
        "incoming common": "breaker that is there",
        "incoming L1-1": "breaker curve C",
        "load L1-1": "breaker curve C",
        "load common": "AC isolator",
    }
    assert rating(plan, "incoming common") == 40


@pytest.mark.parametrize(("rules", "poles"), [({}, [2, 2, 4, 4]), (NEC, [1, 1, 3, 4])])
def test_the_neutral_is_switched_with_the_lines_but_for_breakers_under_the_nec(rules, poles) -> None:
    plan = site(rules)
    assert [plan.parts.conductors.of[name].device.poles for name in ("load L1-1", "incoming L1-1", "incoming common", "load common")] == poles


@pytest.mark.parametrize(("kind", "asked", "other"), [("generator", "generator's manual", "utility"), ("utility", "utility", "generator")])
def test_a_fault_current_is_asked_of_what_gives_it(kind: str, asked: str, other: str) -> None:
    remedy = found(site({"incoming.kind": kind, "incoming.rating": "12 kVA", "incoming.prospective_fault": None}), "prospective-fault-unanswered").remedy
    assert asked in remedy
    assert other not in remedy


def test_of_what_does_not_come_in_nothing_is_asked() -> None:
    """No supply: no breaker ahead, no fault current of it, nothing that a unit passes through."""
    asked = {"breaker-unanswered", "transfer-current-unanswered", "prospective-fault-unanswered"}
    unanswered = dict.fromkeys(("unit.transfer_current", "incoming.breaker", "incoming.prospective_fault"))
    assert not codes(site(unanswered | {"incoming.kind": "none"})) & asked
    assert codes(site(unanswered)) >= asked
