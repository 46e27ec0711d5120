"""Small sites for the tests of settings, bill, procedure and sheets; a change is given by its key."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from engine.files.read import read
from engine.planner import Planned, plan
from engine.site import Answers

SAMPLES = Path(__file__).parents[2] / "sample_sites"
NAMES = ("alder-farm", "copper-creek", "ferry-house", "harbour-works", "ridge-lodge")

_BASE: dict[str, Any] = {
    "site": {"name": "Test place", "rules": "iec", "roof_min": "-10 degC"},
    "earthing": {"system": "TN-S", "island_bond": "changeover relay", "bond_at": "changeover board"},
    "output": {"arrangement": "three-phase", "voltage": "230 V", "frequency": "50 Hz"},
    "incoming": {"kind": "utility", "breaker": "63 A", "prospective_fault": "6 kA"},
    "set": {"count": 3, "per_phase": [1, 1, 1], "lead": "L1-1"},
    "unit": {
        "model": "Example 5-48",
        "max_units": 24,
        "settle_time": "10 s",
        "real_power": "5 kW",
        "apparent_power": "5 kVA",
        "surge_power": "10 kVA",
        "fault_current": "60 A",
        "efficiency": 0.93,
        "dc_min": "42 V",
        "dc_max": "60 V",
        "charge_current": "80 A",
        "transfer_current": "40 A",
        "weight": "28 kg",
        "dc_terminal_max": "95 mm2",
        "ac_terminal_max": "16 mm2",
        "dc_stud": "M8",
        "dc_torque": "9 N m",
        "ac_torque": "1.8 N m",
        "bus": {"ports": ["plug", "socket"], "link_lengths": ["1.5 m", "3 m", "10 m"], "kind": "CAN"},
        "labels": {"storage_mode": {"name": "Battery wiring", "common": "shared", "separate": "own"}},
    },
    "storage": {
        "connection": "common-bank",
        "chemistry": "lfp",
        "managed": True,
        "module": {
            "voltage": "51.2 V",
            "cells": 16,
            "capacity": "100 Ah",
            "charge_current": "50 A",
            "discharge_current": "100 A",
            "resistance": "12 mohm",
            "absorption": "56 V",
            "float": "54 V",
            "low": "46 V",
        },
        "bank": {"series": 1, "parallel": 6},
        "wired": {"L1-1": "B1", "L2-1": "B1", "L3-1": "B1"},
        "links": [{"bank": "B1", "unit": "L1-1"}],
    },
}
_SOLAR = {
    "power": "450 W",
    "voc": "49.5 V",
    "vmp": "41.5 V",
    "isc": "11.5 A",
    "imp": "10.9 A",
    "voc_coefficient": "-0.27 %/K",
    "vmp_coefficient": "-0.35 %/K",
    "series": 7,
    "parallel": 1,
    "trackers": 2,
}
SOLAR = {f"solar.{key}": value for key, value in _SOLAR.items()}


def planned(changes: dict[str, Any] | None = None, *, without: tuple[str, ...] = ()) -> Planned:
    """A plan of the small site with keys changed ("unit.bus.ports") or left out."""
    document = _copy(_BASE)
    for key in without:
        *path, last = key.split(".")
        _inner(document, path).pop(last)
    for key, value in (changes or {}).items():
        *path, last = key.split(".")
        _inner(document, path)[last] = value
    return plan(Answers.model_validate(document), "0123abcd")


@cache
def sample(name: str) -> Planned:
    """The plan of a sample site."""
    file = read(SAMPLES / name / "site.toml")
    return plan(file.answers, file.revision)


def set_of(count: int) -> dict[str, Any]:
    """Changes that make a single-phase set of so many units on one bank."""
    tags = [f"L1-{n}" for n in range(1, count + 1)]
    return {"output.arrangement": "single-phase", "set.count": count, "set.per_phase": [count], "storage.wired": dict.fromkeys(tags, "B1")}


def _copy(value: Any) -> Any:
    return {key: _copy(item) for key, item in value.items()} if isinstance(value, dict) else value


def _inner(document: dict[str, Any], path: list[str]) -> dict[str, Any]:
    for name in path:
        document = document.setdefault(name, {})
    return document
