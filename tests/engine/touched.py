"""Which formulas run and which tables are read while sites are planned, their papers made, and the order of work of one of them proven.

Run by itself, in a process of its own: what was remembered from another plan would not be read again.
"""

from __future__ import annotations

import importlib
import inspect
import json
import pkgutil
import sys
from collections.abc import Iterator
from types import CodeType, FrameType
from typing import Any

import engine.formulas
import engine.tables

THREE_STRINGS = {"series": 7, "parallel": 3, "trackers": 2}

# Sites that the samples leave out, each with what it is for.
VARIED: dict[str, dict[str, Any]] = {
    "aluminium in trunking": {"routes": [{"carries": kind, "metal": "aluminium"} for kind in ("battery", "load", "incoming")]},
    "aluminium in XLPE": {"routes": [{"carries": kind, "metal": "aluminium", "insulation": "xlpe"} for kind in ("battery", "load", "incoming")]},
    "earth in aluminium": {"routes": [{"carries": "earth", "metal": "aluminium"}]},
    "an earthed pole": {"storage.earthed": "minus"},
    "an earthed pole by the NEC": {"site.rules": "nec", "storage.earthed": "plus"},
    "fuses in a warm box": {"storage.fuse_factor": 0.9},
    "cables in the ground": {"routes": [{"carries": "incoming", "method": "D1"}]},
    "free air by the NEC": {"site.rules": "nec", "routes": [{"carries": kind, "method": "F", "insulation": "xlpe"} for kind in ("battery", "load")]},
    "a bus by RS-485": {"unit.bus.kind": "RS-485", "unit.bus.bit_rate": "9.6 kbit/s"},
    "cool terminals": {"unit.terminal_temperature": "60 degC"},
    "loads full of harmonics": {"loads": [{"name": "Screens", "power": "6 kW", "phase": "all", "third_harmonic": "60 %"}]},
    "a load without energy": {"loads": [{"name": "Lamps", "power": "1 kW"}]},
    "loads by their machine, by kVA, and by all three": {
        "loads": [
            {"machine": "washing machine"},
            {"machine": "LED lamp", "power": "20 W"},
            {"name": "Drive", "apparent_power": "2 kVA"},
            {"name": "Press", "power": "1 kW", "apparent_power": "1.3 kVA"},
            {"name": "Mill", "power": "1 kW", "apparent_power": "1.3 kVA", "power_factor": 0.8},
        ]
    },
    "a motor too large to start": {"loads": [{"name": "Saw", "power": "4 kW", "phase": "L1", "motor": True, "start_multiple": 7}]},
    "modules without a coefficient": {},
    "three strings in parallel": {},
}


def formulas() -> Iterator[tuple[str, CodeType]]:
    """Name and code of every public formula."""
    for found in pkgutil.iter_modules(engine.formulas.__path__):
        module = importlib.import_module(f"engine.formulas.{found.name}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == module.__name__ and not f"{found.name}{name}".startswith("_") and not name.startswith("_"):
                yield f"{found.name}.{name}", function.__code__


def touched() -> dict[str, list[str]]:
    """All formulas and tables there are, and those that ran or were read, by name."""
    of = {code: name for name, code in formulas()}
    reading = engine.tables.table.__wrapped__.__code__
    ran, read = set(), set()

    def watch(frame: FrameType, event: str, _: object) -> None:
        if event == "call":
            if name := of.get(frame.f_code):
                ran.add(name)
            elif frame.f_code is reading:
                read.add(frame.f_locals["name"])

    sys.setprofile(watch)
    try:
        _work()
    finally:
        sys.setprofile(None)
    return {"formulas": sorted(of.values()), "ran": sorted(ran), "tables": sorted(engine.tables.names()), "read": sorted(read)}


def _work() -> None:
    from engine.proof.proof_text import proof_text
    from engine.sheets.papers import whole
    from engine.sheets.text.findings import findings_text
    from tests.engine.paper_sites import NAMES, SOLAR, planned, sample, set_of

    sites = [sample(name) for name in NAMES]
    sites += [planned(changes) for changes in VARIED.values()]
    sites.append(planned(SOLAR | {"solar.voc_coefficient": None}))
    sites.append(planned(SOLAR | {f"solar.{key}": value for key, value in THREE_STRINGS.items()}))
    for site in sites:
        whole(site)
        findings_text(site)
    # Of one unit alone: every single mistake in a second.
    proof_text(planned(set_of(1) | {"incoming.kind": "none"}))


if __name__ == "__main__":
    print(json.dumps(touched()))
