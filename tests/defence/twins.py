"""Pieces of the small site for twins: a site that a finding is raised on, and the same site with the one thing mended."""

from __future__ import annotations

from typing import Any

from engine.plan import CircuitRow
from engine.planner import Planned
from tests.engine import paper_sites
from tests.engine.paper_sites import SOLAR, set_of

Changes = dict[str, Any]

# Strings of seven on both trackers of every unit, each answer inside the unit's window.
SUN: Changes = SOLAR | {
    "solar.sun_hours": 3,
    "unit.solar.trackers": 2,
    "unit.solar.voltage_max": "450 V",
    "unit.solar.mppt_min": "120 V",
    "unit.solar.mppt_max": "430 V",
    "unit.solar.power_max": "7 kW",
    "unit.solar.current_max": "13 A",
    "unit.solar.short_circuit_max": "16 A",
    "unit.solar.charge_current": "60 A",
}
ONE: Changes = set_of(1)
TRACED: Changes = {"L1-1": "B1", "L2-1": "B1", "L3-1": "B1"}
THREE: Changes = {"output.arrangement": "three-phase", "set.count": 3, "set.per_phase": [1, 1, 1], "storage.wired": TRACED}
LEAD: Changes = {
    "storage.chemistry": "agm",
    "storage.module.voltage": "48 V",
    "storage.module.cells": 24,
    "storage.module.absorption": "57.6 V",
    "storage.module.float": "54 V",
    "storage.module.low": "46 V",
}
# A supply so weak that no conductor is larger for the sake of a fault: 1 kA for 0.02 s is 20 kA2s, 1.2 mm2 of copper.
WEAK: Changes = {"incoming.prospective_fault": "1 kA"}
GENERATOR: Changes = {"incoming.kind": "generator", "incoming.rating": "30 kVA"}

_PLACES: Changes = {
    "L1-1": {"what": "unit", "x": "0.9 m", "y": "1.5 m"},
    "L2-1": {"what": "unit", "x": "1.9 m", "y": "1.5 m"},
    "L3-1": {"what": "unit", "x": "2.9 m", "y": "1.5 m"},
    "B1": {"what": "bank", "x": "1.9 m", "y": "0.4 m", "width": "0.6 m", "height": "0.6 m"},
    "load-board": {"what": "load-board", "x": "3.8 m", "y": "1.5 m", "width": "0.3 m", "height": "0.5 m"},
    "incoming-board": {"what": "incoming-board", "x": "0.25 m", "y": "1.5 m", "width": "0.3 m", "height": "0.5 m"},
    "earth-bar": {"what": "earth-bar", "x": "3.6 m", "y": "0.4 m", "width": "0.4 m", "height": "0.1 m"},
}


def load(power: str = "1 kW", phase: str = "L1", **more: Any) -> Changes:
    """One load that draws real power alone, whatever else is said of it."""
    return {"name": "Lamps", "power": power, "phase": phase, "power_factor": 1, "energy": "2 kWh/d"} | more


def route(carries: str, **more: Any) -> Changes:
    """One entry on how cables run."""
    return {"carries": carries} | more


# Battery cables in the air, that need no doubling.
FREE = [route("battery", method="F", insulation="xlpe")]


def hung(*more: Changes, **moved: Changes) -> Changes:
    """A wall on which everything hangs with room; `moved` changes places by name with _ for -, `more` is added."""
    changed = {name.replace("_", "-"): change for name, change in moved.items()}
    places = [{**place, **({"tag": name} if place["what"] in ("unit", "bank") else {}), **changed.get(name, {})} for name, place in _PLACES.items()]
    return {"wall.width": "4.2 m", "wall.height": "2.4 m", "unit.width": "0.4 m", "unit.height": "0.5 m", "wall.places": [*places, *more]}


_KEPT: dict[str, Planned] = {}  # the last few: a test asks its site more than once


def planned(site: Changes) -> Planned:
    """The plan of the small site with these changes."""
    asked = repr(site)
    if asked not in _KEPT:
        if len(_KEPT) > 8:
            _KEPT.clear()
        _KEPT[asked] = paper_sites.planned(site)
    return _KEPT[asked]


def circuit(site: Changes, name: str) -> CircuitRow:
    """One circuit of a site's plan."""
    return next(row for row in planned(site).plan.circuits if row.name == name)


def codes(site: Changes) -> set[str]:
    """The codes of a site's findings."""
    return {finding.code for finding in planned(site).findings}
