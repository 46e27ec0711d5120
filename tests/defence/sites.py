"""One sound site, of which a few answers are changed: what a rule decides on it is reckoned by hand in the tests.

Three units of 5 kW and 5 kVA on one bank of six lfp strings, 230 V. Every circuit lies alone on a wall of 30 degC (method C, PVC), so
that its current-carrying capacity is the table's own figure, and is short enough for its drop to decide nothing.
"""

from __future__ import annotations

from typing import Any

from engine.findings import Finding, Level
from engine.planner import Planned
from engine.stages.conductors.part import Sizing
from tests.engine import paper_sites

LENGTHS = {"battery": "2 m", "load": "4 m", "incoming": "5 m", "solar": "10 m", "earth": "3 m"}
_SOUND: dict[str, Any] = {
    "site.ambient_max": "30 degC",
    "site.ambient_min": "5 degC",
    "incoming.breaker": "40 A",
    "incoming.prospective_fault": "2 kA",
    "unit.fault_current": "500 A",
    "loads": [{"name": "Heater", "power": "6 kW", "power_factor": 1.0, "phase": "all", "energy": "24 kWh/day"}],
    "storage.bank.feed": "bar",
}
# Seven modules of 49.5 V in series on each of two trackers, a string each.
SOLAR: dict[str, Any] = paper_sites.SOLAR | {
    "unit.solar": {"trackers": 2, "voltage_max": "500 V", "mppt_min": "120 V", "mppt_max": "430 V", "power_max": "8 kW", "current_max": "18 A", "short_circuit_max": "23 A", "charge_current": "80 A"},
    "solar.sun_hours": 2.1,
}
# The same units and loads under the NEC.
NEC: dict[str, Any] = {"site.rules": "nec", "output.voltage": "120 V", "output.frequency": "60 Hz"}


def routes(*own: dict[str, Any], **of: dict[str, Any]) -> list[dict[str, Any]]:
    """How every kind lies, some of it changed by kind, and entries for circuits of their own."""
    kinds = [{"carries": kind, "method": "C", "grouped": 1, "length": length} | of.get(kind, {}) for kind, length in LENGTHS.items()]
    return [*kinds, *own]


def site(changes: dict[str, Any] | None = None, *, without: tuple[str, ...] = (), **of: dict[str, Any]) -> Planned:
    """The plan of the sound site with answers changed by their keys, routes changed by their kind, or answers left out."""
    return paper_sites.planned(_SOUND | {"routes": routes(**of)} | (changes or {}), without=without)


def split(*per_phase: int, bank: str = "common-bank", links: int | None = None) -> dict[str, Any]:
    """Changes that put so many units on each phase, on one bank or (`bank`) on several, each bank with its data link."""
    arrangement = {1: "single-phase", 2: "split-phase", 3: "three-phase"}[len(per_phase)]
    tags = [f"L{phase}-{n}" for phase, count in enumerate(per_phase, 1) for n in range(1, count + 1)]
    of = {"common-bank": dict.fromkeys(tags, "B1"), "bank-per-phase": {tag: f"B{tag[1]}" for tag in tags}, "bank-per-unit": {tag: f"B{k}" for k, tag in enumerate(tags, 1)}}[bank]
    first = {name: next(tag for tag in tags if of[tag] == name) for name in dict.fromkeys(of.values())}
    return {
        "output.arrangement": arrangement,
        "set": {"count": len(tags), "per_phase": list(per_phase), "lead": "L1-1"},
        "storage.connection": bank,
        "storage.wired": of,
        "storage.links": [{"bank": name, "unit": tag} for name, tag in first.items()],
    }


def codes(plan: Planned, *levels: Level) -> set[str]:
    """The codes of the findings of these levels, or of all."""
    return {finding.code for finding in plan.findings if not levels or finding.level in levels}


def found(plan: Planned, code: str) -> Finding:
    """The one finding of that code."""
    [finding] = [finding for finding in plan.findings if finding.code == code]
    return finding


def sized(plan: Planned, name: str) -> Sizing:
    """The sizing of a circuit."""
    return plan.parts.conductors.of[name]


def size(plan: Planned, name: str) -> tuple[str, str | None]:
    """A circuit's conductor and what decided it."""
    sizing = sized(plan, name)
    assert sizing.conductor is not None
    many = f"{sizing.parallel} x " if sizing.parallel > 1 else ""
    return f"{many}{sizing.conductor.label}", sizing.governed_by


def rating(plan: Planned, name: str) -> float:
    """The rating of a circuit's device in amperes."""
    device = sized(plan, name).device
    assert device is not None
    assert device.rating is not None
    return device.rating.value
