"""Sites that somebody might really build, over the whole space of answers; and what spoils them.

`site` gives the plausible site of a number: its parts fit each other as an installer's would, and most plan without a stop.
`damaged`, `absurd` and `courses` spoil one of those, or a sample. A site is a document: what TOML reads out of a file, before anything is checked.

A plausible site comes from one number, not from a hundred draws: hypothesis repeats draws of one example in the next, and a run
would be a few dozen sites with variations. What is lost, making a failure small, `smallest` does by leaving answers out.
"""

from __future__ import annotations

import copy
import math
import sys
import tomllib
import unicodedata
from collections.abc import Callable, Iterator
from functools import cache
from random import Random
from typing import Any

from hypothesis import strategies as st

from tests.conftest import ROOT, SAMPLES

Document = dict[str, Any]
Path = tuple[Any, ...]

DOCUMENTS: dict[str, Document] = {
    name: tomllib.loads((ROOT / "sample_sites" / name / "site.toml").read_text(encoding="utf-8")) for name in SAMPLES
}

# --- names ---

# Each lies, hides, breaks a line, a cell, a mark-up or a column if it is let through.
HOSTILE = ("\u202eLRA\u202c", "a\u200bb", "line\nbreak", "\x1b[31mred\x1b[0m", "=1+1", "-2+3", "@SUM(A1)", "<b>&amp;</b>", 'quo"te', "]]>", "\u2028next", "\ufeffmark",
           "e\u0301" * 20, "漢字" * 30, "ｆｕｌｌ", "👩\u200d👩\u200d👧", "\u3164", "[bold]x[/]", "'", "\\", "x" * 200, "\u0085", "\U000e0041", "ا" * 40, "\t tab \t", "{0}", "%s")
PLAIN = ("Pump", "Mill", "House", "Çiftlik", "Ölmühle", "Насос", "井戸ポンプ", "مضخة", "बिजली", "Ärger & Söhne")


@cache
def _letters() -> tuple[str, ...]:
    """Every character that has a name: most belong to large scripts, but the small and the invisible ones are there too."""
    return tuple(char for code in range(sys.maxunicode + 1) if unicodedata.category(char := chr(code)) not in ("Cs", "Cn", "Co"))


def _name(dice: Random) -> str:
    """A name of any script; one in four is harmful."""
    how = dice.randrange(4)
    if how == 0:
        return dice.choice(HOSTILE)
    if how == 1:
        return "".join(dice.choice(_letters()) for _ in range(dice.randint(1, 30)))
    return dice.choice(PLAIN)


# --- the plausible ---

# Chemistry, volts of a module by name, its cells; volts of a cell at charge, at float, at the end of discharge.
MODULES = (
    ("lfp", 51.2, 16), ("lfp", 51.2, 16), ("lfp", 25.6, 8), ("lfp", 12.8, 4), ("nmc", 51.8, 14), ("flooded", 2, 1), ("flooded", 6, 3), ("agm", 12, 6), ("gel", 12, 6), ("gel", 2, 1),
)
CELL = {"lfp": ((3.45, 3.5, 3.6), (3.35, 3.4), (2.7, 2.9, 3.0)), "nmc": ((4.1, 4.15), (4.0, 4.05), (3.2, 3.3)), "flooded": ((2.4, 2.45), (2.2, 2.25), (1.8, 1.9)),
        "agm": ((2.35, 2.4), (2.25, 2.3), (1.8, 1.85)), "gel": ((2.3, 2.35), (2.25,), (1.8, 1.85))}
ARRANGEMENTS = {"single-phase": ("L1",), "split-phase": ("L1", "L2"), "three-phase": ("L1", "L2", "L3")}
BREAKERS = {"iec": (16, 20, 25, 32, 40, 50, 63, 80, 100, 125, 160, 200, 250), "nec": (20, 30, 40, 50, 60, 70, 80, 100, 125, 150, 200, 225, 250)}
KINDS = ("battery", "load", "incoming", "solar", "earth")
# What may be left open without a stop: each has a safe value of its own.
OPEN = ("site.ambient_max", "site.ambient_min", "site.altitude", "earthing.system", "earthing.bond_at", "output.voltage", "output.frequency", "incoming.prospective_fault", "incoming.rating",
        "set.lead", "unit.efficiency", "unit.surge_time", "unit.settle_time", "unit.dc_min", "unit.charge_current", "unit.width", "unit.clearance", "unit.weight", "unit.dc_terminal_max",
        "unit.ac_terminal_max", "unit.terminal_temperature", "unit.dc_stud", "unit.dc_torque", "unit.fault_current", "unit.bus.ports", "unit.bus.link_lengths", "unit.bus.length_max",
        "storage.autonomy", "storage.depth", "storage.bank.joint_resistance", "storage.bank.feed", "storage.wired", "storage.module.cells", "storage.module.absorption", "storage.module.float",
        "storage.module.low", "storage.module.short_circuit_current", "solar.voc_coefficient", "solar.vmp_coefficient", "solar.imp", "unit.solar.current_max", "wall", "loads", "site.name")


def _some(dice: Random, *values: Any) -> Any:
    return dice.choice(values)


def _odds(dice: Random, one_in: int) -> bool:
    return dice.randint(1, one_in) == one_in


def _between(dice: Random, least: float, most: float, digits: int = 3) -> float:
    """A figure as people write it: of few digits."""
    return float(f"{dice.uniform(least, most):.{digits}g}")


def _up(value: float, step: float) -> int:
    return math.ceil(value / step - 1e-9)


def site(number: int, most_per_phase: int = 4) -> Document:
    """The plausible site of that number."""
    dice = Random(number)
    rules = _some(dice, "iec", "nec")
    arrangement = _some(dice, *ARRANGEMENTS)
    phases = ARRANGEMENTS[arrangement]
    volts = _some(dice, 230, 220, 240) if rules == "iec" else _some(dice, 120, 127, 277)
    kind = _some(dice, "utility", "utility", "generator", "none")
    # Small sets are the most, and the quickest.
    per_phase = [min(dice.randint(1, most_per_phase) for _ in range(2))] * len(phases)
    if _odds(dice, 4):
        per_phase = [min(dice.randint(1, most_per_phase) for _ in range(2)) for _ in phases]
    unit, storage = _power(dice, rules, volts, per_phase)
    tags = [f"{phase}-{n}" for phase, count in zip(phases, per_phase, strict=True) for n in range(1, count + 1)]
    sun = _sun(dice, unit) if kind == "none" or _odds(dice, 2) else None
    document: Document = {
        "schema": 1,
        "site": {
            "name": _name(dice),
            "rules": rules,
            "ambient_max": f"{_some(dice, 20, 25, 30, 35, 38, 40, 45, 50)} degC",
            "ambient_min": f"{_some(dice, -20, -5, 2, 5, 10)} degC",
            "roof_min": f"{sun[2] if sun else -10} degC",
            "altitude": f"{_some(dice, 5, 300, 900, 1800)} m",
        },
        "earthing": _earthing(dice, kind),
        "output": {"arrangement": arrangement, "voltage": f"{volts} V", "frequency": _some(dice, "50 Hz", "60 Hz")},
        "incoming": {"kind": kind},
        "set": {"per_phase": per_phase, "lead": _some(dice, *tags) if _odds(dice, 3) else tags[0]},
        "unit": unit,
        "loads": _loads(dice, unit, phases, per_phase, volts, storage, sun if kind == "none" else None),
        "storage": storage,
        "wall": {},
        "routes": _routes(dice, tags, kind, sun is not None),
    }
    if _odds(dice, 3):
        del document["set"]["per_phase"]
        document["set"]["count"] = sum(per_phase)
    if kind != "none":
        most = max(per_phase) * float(unit["transfer_current"].split()[0]) * (0.9 if max(per_phase) > 1 else 1)
        fitting = [rating for rating in BREAKERS[rules] if rating <= most * 1.3]
        document["incoming"] |= {
            "arrangement": arrangement,
            "voltage": f"{volts} V",
            "breaker": f"{dice.choice(fitting)} A",
            "prospective_fault": f"{_between(dice, 0.5, 10)} kA",
        }
        if kind == "generator":
            document["incoming"]["rating"] = f"{_between(dice, 5, 40)} kVA"
    _wire(dice, document, tags, phases)
    if sun:
        document["solar"], unit["solar"] = sun[0], sun[1]
    _hang(dice, document, tags)
    if _odds(dice, 6):
        document["bus_nodes"] = [{"name": _name(dice), "end": _some(dice, "first", "last")} for _ in range(dice.randint(1, 2))]
    if _odds(dice, 8):
        storage["earthed"] = _some(dice, "minus", "plus")
    if _odds(dice, 8):
        storage["fuse_factor"] = _some(dice, 0.8, 0.9)
    for key in dice.sample(OPEN, dice.randint(0, 3)):
        _forget(document, key)
    if _odds(dice, 4):
        document["drop"] = {kind: f"{_some(dice, 1, 1.5, 2, 3)} %" for kind in dice.sample(("battery", "bar", "load", "incoming", "solar"), dice.randint(1, 5))}
    if _odds(dice, 4):
        unit["labels"] = {"storage_mode": {"name": _name(dice), "common": _name(dice), "separate": _name(dice)}, "role": {"name": _name(dice), "lead": _name(dice)}}
    if _odds(dice, 4):
        document["site"]["note"] = _name(dice)
    if _odds(dice, 3):
        storage["holder"] = _some(dice, "on the bar", "cabled")
    return document


def _earthing(dice: Random, kind: str) -> Document:
    """How the supply is earthed, and a bond that does not make a second one."""
    system = _some(dice, "TN-S", "TN-C-S", "TT", "IT")
    fixed = ["fixed link"] if kind == "none" or system in ("TN-C-S", "IT") else []
    bond = _some(dice, "changeover relay", "changeover relay", "unit relay", *fixed, *(["none"] if system == "IT" else []))
    return {"system": system, "island_bond": bond, "bond_at": _name(dice)}


def _power(dice: Random, rules: str, volts: int, per_phase: list[int]) -> tuple[Document, Document]:
    """A unit, and a bank that carries as many of them as hang on it."""
    chemistry, module, cells = dice.choice(MODULES)
    system = _some(dice, 48, 48, 48, 24) if module < 40 else 48
    series = max(1, round(system / module))
    charged, floating, empty = (dice.choice(levels) * cells for levels in CELL[chemistry])
    least = empty * series
    kilowatts = _some(dice, 2, 3, 5, 5, 6, 8) if system == 48 else _some(dice, 1.2, 2, 3)
    efficiency = _some(dice, 0.9, 0.93, 0.95)
    current = 1000 * kilowatts / efficiency / least
    transfer = _some(dice, *[rating for rating in BREAKERS[rules] if rating * volts >= 1000 * kilowatts][:4])
    unit: Document = {
        "model": _name(dice),
        "max_units": 16,
        "settle_time": "10 s",
        "real_power": f"{kilowatts} kW",
        "apparent_power": f"{kilowatts * _some(dice, 1, 1, 1.1, 1.25):g} kVA",
        "surge_power": f"{kilowatts * _some(dice, 1.6, 2, 2.5):g} kVA",
        "surge_time": _some(dice, "3 s", "5 s", "10 s", "30 s"),
        "fault_current": f"{_between(dice, 2, 5) * 1000 * kilowatts / volts:.0f} A",
        "efficiency": efficiency,
        "dc_min": f"{0.9 * least:.1f} V",
        "dc_max": f"{1.12 * charged * series:.1f} V",
        "charge_current": f"{current * _some(dice, 0.4, 0.6, 0.8):.0f} A",
        "transfer_current": f"{transfer} A",
        "width": f"{_between(dice, 0.25, 0.5, 2)} m",
        "height": f"{_between(dice, 0.35, 0.7, 2)} m",
        "weight": f"{_between(dice, 8, 60, 2)} kg",
        "clearance": _some(dice, "0.1 m", "0.2 m", "8 in"),
        "dc_terminal_max": _some(dice, "35 mm2", "70 mm2", "95 mm2", "4/0 AWG"),
        "ac_terminal_max": _some(dice, "10 mm2", "16 mm2", "25 mm2", "4 AWG"),
        "terminal_temperature": _some(dice, "70 degC", "75 degC", "90 degC"),
        "dc_stud": _some(dice, "M8", "M10", "3/8 in"),
        "dc_torque": _some(dice, "9 N m", "120 lbf in"),
        "ac_torque": "1.8 N m",
        "bus": {
            "ports": _some(dice, ["plug", "socket"], ["socket", "socket"], ["socket", "plug"], ["plug", "plug"], ["socket", "socket", "socket"]),
            "link_lengths": _some(dice, ["0.5 m", "1.5 m", "3 m", "10 m"], ["2 m", "5 m"], ["1 ft", "3 ft", "6 ft", "15 ft", "30 ft"], ["12 m"]),
            "length_max": _some(dice, "60 m", "100 m", "200 m"),
            "bit_rate": _some(dice, "250 kbit/s", "500 kbit/s", "125 kbit/s"),
            "kind": _some(dice, "CAN", "RS-485"),
            "screened": _odds(dice, 2),
        },
    }
    if _odds(dice, 4):
        unit["ripple"] = _between(dice, 0.2, 1, 2)
    together = {"common-bank": sum(per_phase), "bank-per-phase": max(per_phase), "bank-per-unit": 1}
    # More than that on one bar is no plan of one bank: seldom.
    connection = dice.choice([how for how, count in together.items() if count * current < 500] or ["bank-per-unit"]) if not _odds(dice, 20) else "common-bank"
    on_one = together[connection]
    feed = _some(dice, "bar", "bar", "diagonal", "one end")
    lithium = chemistry in ("lfp", "nmc")
    rate = _some(dice, 0.5, 1) if lithium else _some(dice, 0.25, 0.4)
    # One string carries what is asked of it, or as many do as still share well.
    margin = 1.05 if feed == "bar" else 1.8
    strings = dice.randint(1, 3 if feed == "one end" else 5)
    ampere_hours = _up(on_one * current * margin / rate / strings, 20) * 20
    ohms = _between(dice, 0.02, 0.06, 2) * module / ampere_hours
    storage: Document = {
        "connection": connection,
        "chemistry": chemistry,
        "managed": lithium,
        "autonomy": _some(dice, "4 h", "10 h", "1 d"),
        "depth": "80 %" if lithium else "50 %",
        "module": {
            "voltage": f"{module} V",
            "cells": cells,
            "capacity": f"{ampere_hours} Ah",
            "charge_current": f"{ampere_hours * rate * _some(dice, 0.5, 1):.0f} A",
            "discharge_current": f"{ampere_hours * rate:.0f} A",
            "resistance": f"{1000 * ohms:.4g} mohm",
            "absorption": f"{charged:.4g} V",
            "float": f"{floating:.4g} V",
            "low": f"{empty:.4g} V",
            "resistance_measured": _odds(dice, 2),
        },
        "bank": {"series": series, "parallel": strings, "feed": feed, "joint_resistance": _some(dice, "0.1 mohm", "0.2 mohm", "0.05 mohm")},
    }
    if _odds(dice, 3):
        storage["module"]["short_circuit_current"] = f"{module / ohms * _some(dice, 0.6, 0.9, 1.3):.0f} A"
    return unit, storage


def _wire(dice: Random, document: Document, tags: list[str], phases: tuple[str, ...]) -> None:
    """Battery cables as traced, and the data link of every managed bank."""
    storage = document["storage"]
    of = {
        "common-bank": dict.fromkeys(tags, "B1"),
        "bank-per-phase": {tag: f"B{phases.index(tag[:2]) + 1}" for tag in tags},
        "bank-per-unit": {tag: f"B{n}" for n, tag in enumerate(tags, 1)},
    }[storage["connection"]]
    # Where the plan chooses how many units stand on a phase, nobody has traced anything; the first unit of a phase is there in any case.
    if "per_phase" in document["set"] and _odds(dice, 2):
        storage["wired"] = of
    if "count" in document["set"] and storage["connection"] == "bank-per-unit":
        document["set"] = {"per_phase": [sum(tag[:2] == phase for tag in tags) for phase in phases]}
    if storage["managed"]:
        storage["links"] = [{"bank": bank, "unit": next(tag for tag in tags if of[tag] == bank)} for bank in dict.fromkeys(of.values())]


def _sun(dice: Random, unit: Document) -> tuple[Document, Document, int]:
    """Strings that fit a unit's inputs, those inputs, and the coldest morning they were chosen for."""
    coldest = _some(dice, -25, -10, 0, 5)
    voc, isc = _between(dice, 36, 52), _between(dice, 9, 14)
    vmp, imp = round(0.83 * voc, 1), round(0.94 * isc, 2)
    most = _some(dice, 150, 450, 500)
    cold = voc * (1 - 0.003 * (coldest - 25)) * 1.03
    series = max(1, int(most / cold) - dice.randint(0, 1))
    parallel, trackers = _some(dice, 1, 1, 2, 3), _some(dice, 1, 2)
    kilowatts = vmp * imp * series * parallel * trackers / 1000
    panel = {
        "power": f"{vmp * imp:.0f} W", "voc": f"{voc} V", "vmp": f"{vmp} V", "isc": f"{isc} A", "imp": f"{imp} A",
        "voc_coefficient": f"-{_some(dice, 0.25, 0.27, 0.3)} %/K", "vmp_coefficient": f"-{_some(dice, 0.3, 0.35, 0.4)} %/K",
        "series": series, "parallel": parallel, "trackers": trackers, "sun_hours": _between(dice, 1.5, 5, 2),
    }
    inputs = {
        "trackers": 2, "voltage_max": f"{most} V", "mppt_min": f"{0.6 * vmp * series:.0f} V", "mppt_max": f"{0.9 * most:.0f} V", "power_max": f"{kilowatts * 1.1:.2f} kW",
        "current_max": f"{imp * parallel * 1.1:.1f} A", "short_circuit_max": f"{isc * parallel * 1.3:.1f} A", "charge_current": f"{_between(dice, 40, 100, 2)} A",
    }
    return panel, inputs, coldest


def _loads(dice: Random, unit: Document, phases: tuple[str, ...], per_phase: list[int], volts: int, storage: Document, sun: tuple | None) -> list[Document]:
    """Loads until the drawn share of the set is used: of each phase's power, and of its surge."""
    watts, surge = (1000 * float(unit[key].split()[0]) for key in ("real_power", "surge_power"))
    share = dice.uniform(0.2, 0.75)
    left = [share * watts * min(per_phase)] * len(phases)
    starting = [0.95 * surge * min(per_phase) / volts] * len(phases)
    found: list[Document] = []
    for _ in range(dice.randint(1, 6)):
        where = _some(dice, "any", "any", *phases, *(["all"] if len(phases) > 1 else []), *(["L1-L2"] if len(phases) > 1 else []))
        on = range(len(phases)) if where == "all" else (0, 1) if where == "L1-L2" else (phases.index(where),) if where in phases else (max(range(len(phases)), key=left.__getitem__),)
        factor = _between(dice, 0.6, 1, 2)
        most = min(left[k] for k in on) * (len(on) if where != "L1-L2" or len(phases) < 3 else 1.2)
        va = dice.uniform(0.1, 0.9) * most
        quantity = _some(dice, 1, 1, 1, 2, 3, 5)
        load: Document = {"name": _name(dice), "power": f"{max(va * factor / quantity, 1):.3g} W", "power_factor": factor}
        if quantity > 1:
            load["quantity"] = quantity
        if where != "any" or _odds(dice, 2):
            load["phase"] = where
        if _odds(dice, 3):
            load["demand"] = _between(dice, 0.4, 1, 2)
        times = _some(dice, 2, 3, 4, 6)
        drawn = va * times / volts / (len(on) if where != "L1-L2" or len(phases) < 3 else 1)
        if _odds(dice, 3) and all(starting[k] - drawn > left[k] / volts for k in on):
            load |= {"motor": True, "start_multiple": times}
        else:
            drawn = va / volts / len(on)
        for k in on:
            left[k] -= va / most * min(left[k] for k in on)
            starting[k] -= drawn
        if _odds(dice, 4) and "-" not in where:
            load["third_harmonic"] = f"{_some(dice, 5, 15, 25, 35, 50, 80)} %"
        if not _odds(dice, 8):
            load["energy"] = f"{va * factor / quantity * _some(dice, 1, 4, 8) / 1000:.3g} kWh/day"
            load["profile"] = _some(dice, "day", "evening", "night", "steady")
        if len(found) % 3 == 1:
            # Some plates tell kVA: the same machine, by its apparent power.
            load["apparent_power"] = f"{float(load.pop('power').removesuffix(' W')) / factor:.3g} VA"
        found.append(load)
    if sun:
        _within_the_sun(found, per_phase, storage, sun)
    return found


def _within_the_sun(loads: list[Document], per_phase: list[int], storage: Document, sun: tuple[Document, Document, int]) -> None:
    """Where nothing else comes in, the day's use is what the worst month's sun brings and the bank keeps over night."""
    panel, module, bank = sun[0], storage["module"], storage["bank"]
    banks = {"common-bank": 1, "bank-per-phase": len(per_phase), "bank-per-unit": sum(per_phase)}[storage["connection"]]
    array = float(panel["power"].split()[0]) * panel["series"] * panel["parallel"] * panel["trackers"] * min(per_phase) * len(per_phase)
    kept = float(module["voltage"].split()[0]) * bank["series"] * bank["parallel"] * float(module["capacity"].split()[0]) * banks
    day = min(0.4 * array * panel["sun_hours"], 0.3 * kept) / 1000
    for load in loads:
        load["energy"] = f"{day / len(loads) / load.get('quantity', 1) / len(per_phase):.3g} kWh/day"
        load.setdefault("profile", "day")


def _routes(dice: Random, tags: list[str], kind: str, sun: bool) -> list[Document]:
    """How cables run: for some kinds of circuit, and for some single ones."""
    found: list[Document] = []
    for carries in KINDS:
        if carries == "incoming" and kind == "none" or carries == "solar" and not sun or _odds(dice, 4):
            continue
        route: Document = {"carries": carries, "method": _some(dice, "B1", "B2", "C", "E", "F", "A1", "A2", "D1"), "insulation": _some(dice, "xlpe", "xlpe", "pvc")}
        if carries in ("load", "incoming", "earth") and _odds(dice, 6):
            route["metal"] = "aluminium"
        if _odds(dice, 3):
            route["grouped"] = dice.randint(1, 6)
        if _odds(dice, 4):
            route["lane"] = f"{_between(dice, 0.1, 2.3, 2)} m"
        if _odds(dice, 4):
            route["extra"] = f"{_between(dice, 0.1, 1.5, 2)} m"
        if _odds(dice, 4):
            route["containment"] = _some(dice, "none", "ladder", "perforated", "solid")
        found.append(route)
        if carries != "earth" and _odds(dice, 4):
            found.append({"carries": carries, "to": _some(dice, *tags[:1]), "length": f"{_between(dice, 0.5, 12)} {_some(dice, 'm', 'm', 'ft')}"})
    if _odds(dice, 5):
        found.append({"carries": "comms", "lane": f"{_between(dice, 0.3, 2, 2)} m"})
    return found


def _hang(dice: Random, document: Document, tags: list[str]) -> None:
    """The wall: not answered, its size alone, or with all that hangs on it."""
    how = _some(dice, "open", "size", "places", "places")
    if how == "open":
        del document["wall"]
        return
    unit = document["unit"]
    air = 0.21
    wide, high = (float(unit[side].split()[0]) for side in ("width", "height"))
    column = wide + 2 * air + 0.02
    banks = {"common-bank": ["B1"], "bank-per-phase": [f"B{n + 1}" for n in range(len({t[:2] for t in tags}))], "bank-per-unit": [f"B{n + 1}" for n in range(len(tags))]}
    here = banks[document["storage"]["connection"]]
    row = max(column * len(tags), 0.7 * len(here)) + 0.3
    wall = document["wall"]
    wall |= {"width": f"{row + 2.6 + dice.uniform(0, 3):.2f} m", "height": f"{_some(dice, 2.4, 2.6, 3)} m"}
    if how == "size":
        return
    step = row / len(here)
    wall["places"] = [
        *({"what": "unit", "tag": tag, "x": f"{0.25 + column * (n + 0.5):.3f} m", "y": f"{1.05 + high / 2:.3f} m"} for n, tag in enumerate(tags)),
        *({"what": "bank", "tag": bank, "x": f"{0.1 + step * (n + 0.5):.3f} m", "y": "0.35 m", "width": "0.5 m", "height": "0.5 m"} for n, bank in enumerate(here)),
        {"what": "load-board", "x": f"{row + 0.5:.3f} m", "y": "1.5 m", "width": "0.4 m", "height": "0.5 m"},
        {"what": "incoming-board", "x": f"{row + 1.2:.3f} m", "y": "1.5 m", "width": "0.4 m", "height": "0.5 m"},
        {"what": "earth-bar", "x": f"{row + 0.5:.3f} m", "y": "0.5 m"},
        {"what": "solar-isolator", "x": f"{row + 1.9:.3f} m", "y": "1.5 m"},
    ]
    if document["incoming"]["kind"] == "none":
        wall["places"] = [place for place in wall["places"] if place["what"] != "incoming-board"]
    if "solar" not in document:
        wall["places"] = [place for place in wall["places"] if place["what"] != "solar-isolator"]
    if _odds(dice, 4):
        wall["places"].append({"what": "obstacle", "x": f"{row + 1.55:.3f} m", "y": f"{_between(dice, 0.2, 2, 2)} m", "width": "0.1 m", "height": "0.3 m"})
    if _odds(dice, 8):
        del wall["places"][dice.randint(0, len(wall["places"]) - 1)]


def _forget(document: Document, key: str) -> None:
    *way, last = key.split(".")
    node: Any = document
    for step in way:
        node = node.get(step, {})
    node.pop(last, None)


# --- what spoils them ---

numbers = st.integers(0, 2**32 - 1)
seeds = st.one_of(st.sampled_from(SAMPLES).map(lambda name: copy.deepcopy(DOCUMENTS[name])), numbers.map(lambda number: site(number, 2)))


def places(node: Any, path: Path = ()) -> list[Path]:
    """Where every answer stands, tables and lists of them too."""
    found = [path] if path else []
    if isinstance(node, dict):
        for key, value in node.items():
            found += places(value, (*path, key))
    elif isinstance(node, list):
        for place, value in enumerate(node):
            found += places(value, (*path, place))
    return found


def leaves(node: Any, path: Path = ()) -> Iterator[Path]:
    """Where every single answer stands; a list of plain values is one."""
    if isinstance(node, dict):
        for key, value in node.items():
            yield from leaves(value, (*path, key))
    elif isinstance(node, list) and node and isinstance(node[0], dict):
        for place, value in enumerate(node):
            yield from leaves(value, (*path, place))
    else:
        yield path


def without(document: Document, gone: set[Path]) -> Document:
    """The document without what stands there."""

    def keep(node: Any, path: Path) -> Any:
        if isinstance(node, dict):
            return {k: keep(v, (*path, k)) for k, v in node.items() if (*path, k) not in gone}
        if isinstance(node, list):
            return [keep(v, (*path, n)) for n, v in enumerate(node) if (*path, n) not in gone]
        return node

    return keep(document, ())


def removable(document: Document) -> list[Path]:
    """What may be left out of a document so that it still reads: no version, no single port."""
    return [p for p in places(document) if p != ("schema",) and not (isinstance(p[-1], int) and p[-2] in ("ports", "link_lengths", "per_phase"))]


@st.composite
def damaged(draw: Any) -> Document:
    """A site with any subset of its answers left out."""
    document = draw(seeds)
    return without(document, set(draw(st.lists(st.sampled_from(removable(document)), max_size=40))))


ABSURD = {"m": ["0 m", "9999 m", "1 mm"], "kW": ["0 W", "9 MW"], "kVA": ["1 VA", "9 MVA"], "V": ["1 mV", "2 kV"], "A": ["1 mA", "9 kA"], "mohm": ["0 ohm", "9 Mohm"], "Ah": ["1 Ah", "99 kAh"],
          "degC": ["-99 degC", "199 degC"], "%/K": ["-2 %/K", "2 %/K"], "kWh/day": ["0 kWh/day", "999 MWh/day"], "%": ["0 %", "100 %"], "s": ["0 s", "31 h"]}


@st.composite
def absurd(draw: Any) -> Document:
    """A site in which some quantities have become absurd but still read."""
    document = draw(seeds)
    for path in draw(st.lists(st.sampled_from(places(document)), min_size=1, max_size=8)):
        node: Any = document
        for step in path[:-1]:
            node = node[step]
        value = node[path[-1]]
        if isinstance(value, str) and value.split(" ")[-1] in ABSURD:
            node[path[-1]] = draw(st.sampled_from(ABSURD[value.split(" ")[-1]]))
        elif isinstance(value, int) and not isinstance(value, bool) and path != ("schema",):
            node[path[-1]] = draw(st.sampled_from([1, 12, 13, 1000]))
        elif isinstance(value, float):
            node[path[-1]] = draw(st.sampled_from([0.001, 1.0]))
    return document


OTHER = {"m": "1.1 m", "kW": "3.3 kW", "kVA": "4.4 kVA", "V": "49 V", "A": "55 A", "Ah": "120 Ah", "degC": "33 degC", "%": "44 %", "mohm": "9 mohm", "N m": "7 N m", "kWh/day": "3 kWh/day"}


def _changed(document: Document, path: Path, how: str) -> Document:
    """The document with one answer left out, or given another value of its kind."""
    other = copy.deepcopy(document)
    node = other
    for step in path[:-1]:
        node = node[step]
    value = node[path[-1]]
    if how == "gone" or not isinstance(value, str | int | float | bool):
        del node[path[-1]]
    elif isinstance(value, bool):
        node[path[-1]] = not value
    elif isinstance(value, int | float):
        node[path[-1]] = value + 1 if isinstance(value, int) else value * 0.9
    else:
        node[path[-1]] = OTHER.get(value.partition(" ")[2], value)
    return other


@st.composite
def courses(draw: Any) -> list[Document]:
    """A site and up to four changes of it, one after the other."""
    course = [draw(seeds)]
    for _ in range(draw(st.integers(1, 4))):
        path = draw(st.sampled_from([p for p in leaves(course[-1]) if p != ("schema",)]))
        course.append(_changed(course[-1], path, draw(st.sampled_from(["gone", "other"]))))
    return course


# --- and what makes them small ---


def smallest(document: Document, fails: Callable[[Document], bool]) -> Document:
    """The document with every answer left out without which it still fails: the largest tables first, until nothing more can go."""
    again = True
    while again:
        again = False
        for path in sorted(removable(document), key=len):
            if path in set(places(document)) and fails(less := without(document, {path})):
                document, again = less, True
    return document
