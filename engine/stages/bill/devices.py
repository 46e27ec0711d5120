"""What protects and what opens each circuit, as it is bought: fuses and holders, breakers, isolators, padlocks."""

from __future__ import annotations

from collections.abc import Iterator

from engine.facts import Facts
from engine.stages.bill.cuts import lines_of, strings_of
from engine.stages.bill.part import Line
from engine.stages.circuits import Circuits
from engine.stages.conductors.part import Conductors, Device, DeviceKind
from engine.text import counted

_DIRECT = ("battery", "solar")


def devices(facts: Facts, circuits: Circuits, conductors: Conductors) -> Iterator[Line]:
    """Fuses with a spare set per size (the set of one circuit, or of one string), a holder each; breakers by poles."""
    spared = set()
    for ends in circuits.circuits:
        device = conductors.device(ends)
        if device is None or device.kind not in (DeviceKind.FUSE, DeviceKind.BREAKER):
            continue
        direct = ends.kind in _DIRECT
        place = f"{ends.name}, {device.pole} pole" if device.pole else ends.name
        poles, rated = device.poles or ends.poles, _rated(device)
        if device.kind is DeviceKind.BREAKER:
            yield Line("breaker", f"{rated}, {counted(poles, 'pole')}", 1, 0, direct, (place,))
            continue
        many = poles
        if ends.kind == "solar":
            many, place = poles * strings_of(facts), f"{ends.name}, each string"
        yield Line("fuse", rated, many, 0, direct, (place,))
        yield Line("fuse holder", f"for {rated}", many, 0, direct, (place,))
        if rated not in spared:
            spared.add(rated)
            yield Line("fuse", rated, poles, poles, direct, ("spare",))


def isolators(facts: Facts, circuits: Circuits, conductors: Conductors) -> Iterator[Line]:
    """A fuse opens nothing under load: a circuit without a breaker has an isolator, each solar input its own. What opens is locked.

    A neutral that opens before the lines leaves near line voltage on the light phase (T7; IEC 60364-4-43 431.3, from memory).
    """
    for ends in circuits.circuits:
        if ends.kind == "earth":
            continue
        if not conductors.isolated(ends):
            yield Line("breaker lock", "locking piece and padlock for a breaker", 1, 0, False, (ends.name,))
            continue
        device, rating = conductors.device(ends), conductors.isolating(ends)
        parts = [
            "DC" if ends.kind in _DIRECT else "AC",
            counted(ends.poles, "pole"),
            *([] if ends.kind in _DIRECT else ["neutral last to open and first to close"]),
            f"{rating} or more" if rating else "rating not computed",
        ]
        parts += [f"{device.voltage} or more"] if device and device.voltage else []
        parts += ["made to open under load"]
        many = facts.trackers if ends.kind == "solar" else 1
        yield Line("isolator", ", ".join(parts), many, 0, ends.kind in _DIRECT, (ends.name,))
        yield Line("padlock", "with tag, one key each", many, 0, False, (ends.name,))


def residual_current(facts: Facts, circuits: Circuits, conductors: Conductors) -> Iterator[Line]:
    """One after the common bar, never one per paralleled unit (T6, T7)."""
    outputs = [ends for ends in circuits.circuits if ends.kind == "load"]
    after = next((ends for ends in outputs if ends.common), outputs[0])
    device = conductors.device(after)
    rating = f"rated {device.rating} or more" if device and device.rating else "rating not computed"
    poles = counted(len(lines_of(facts, after)) + 1, "pole")
    trips = "trips at 30 mA or as the licensed person decides, type by the units' manual"
    yield Line("residual-current device", f"{poles}, {rating}, {trips}", 1, 0, False, (after.name,))


def _rated(device: Device) -> str:
    parts = [device.name, str(device.rating) if device.rating else "rating not computed"]
    parts += [f"{device.voltage} or more"] if device.voltage else []
    parts += [f"breaks {device.breaking} or more"] if device.breaking else []
    return ", ".join(parts)
