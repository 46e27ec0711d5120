"""What a diagram tells of cables and devices in its notes, for it would not fit beside a line: from the rows of the plan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from engine.plan import CircuitRow, GearRow, Plan

UNKNOWN = "not computed"
BOND = "neutral-earth bond"
_OPENS_FAULT = ("fuse", "breaker", "breaker that is there")


def cable_of(circuit: CircuitRow) -> str:
    """What its conductors are made of; empty where there are none."""
    if not circuit.conductor or not circuit.metal:
        return ""
    return f"{circuit.metal}, {circuit.insulation} {circuit.rated_temperature}, {circuit.stranding}, {circuit.voltage_class}"


def letters(plan: Plan) -> Mapping[str, str]:
    """A letter in brackets for each cable: a size alone is not enough to buy one by."""
    cables = dict.fromkeys(cable for circuit in plan.circuits if (cable := cable_of(circuit)))
    return {cable: f"({chr(ord('a') + place)})" for place, cable in enumerate(cables)}


def device_notes(plan: Plan) -> Iterator[str]:
    """Family, voltage and what is not known of them. Pieces that are alike in it are told together: F1 are all whose tag ends so."""
    tags: dict[str, list[str]] = {}
    told_of: dict[str, set[str]] = {}
    for gear in plan.switchgear:
        told = _told(gear)
        told_of.setdefault(_number(gear.tag), set()).add(told)
        if told:
            tags.setdefault(told, []).append(gear.tag)
    for told, alike in tags.items():
        names = [number if len(told_of[number := _number(tag)]) == 1 else tag for tag in alike]
        yield f"{', '.join(dict.fromkeys(names))}: {told}"


def _number(tag: str) -> str:
    return tag.rpartition(".")[2]


def _told(gear: GearRow) -> str:
    if gear.kind == BOND:
        return ""
    name = gear.name or gear.kind
    if gear.kind == "surge device":
        return f"{name.partition(',')[0]}, {gear.voltage or 'voltage by the licensed person'} to neutral"
    if gear.kind == "residual-current device":
        return "type and residual current by the licensed person"
    parts = [name] if gear.kind == "fuse" or name.startswith("DC") else []
    if gear.voltage:
        parts.append(f"{gear.voltage} or more")
    elif name.startswith("DC"):
        parts.append(f"voltage {UNKNOWN}")
    if gear.kind in _OPENS_FAULT and gear.rating and not gear.breaking:
        parts.append(f"breaking capacity {UNKNOWN}")
    return ", ".join(parts)
