"""What protects and what opens each circuit, as it is bought: fuses and holders, breakers, isolators, padlocks."""

from __future__ import annotations

from collections.abc import Iterator

from engine.facts import Facts
from engine.stages.circuits import Circuits, Ends
from engine.stages.cutting.cuts import lines_of
from engine.stages.cutting.line import Line
from engine.stages.sizes import Device, Sizes
from engine.text import counted

_DIRECT = ("battery", "solar")


def devices(circuits: Circuits, sizes: Sizes) -> Iterator[Line]:
    """Fuses with a spare set per size (the set of one circuit), a holder each; breakers by poles."""
    spared = set()
    for ends in circuits.circuits:
        device, item = _device(sizes, ends)
        if device is None or item not in ("fuse", "breaker"):
            continue
        direct = ends.kind in _DIRECT
        poles, rated = device.poles or ends.poles, _rated(device)
        if item == "breaker":
            yield Line("breaker", f"{rated}, {counted(poles, 'pole')}", 1, 0, direct, (ends.name,))
            continue
        yield Line("fuse", rated, poles, 0, direct, (ends.name,))
        yield Line("fuse holder", f"for {rated}", poles, 0, direct, (ends.name,))
        if rated not in spared:
            spared.add(rated)
            yield Line("fuse", rated, poles, poles, direct, ("spare",))


def isolators(circuits: Circuits, sizes: Sizes) -> Iterator[Line]:
    """A fuse opens nothing under load: a circuit without a breaker has an isolator. What opens is locked."""
    for ends in circuits.circuits:
        if ends.kind == "earth":
            continue
        device, item = _device(sizes, ends)
        if item in ("breaker", "there"):
            yield Line("breaker lock", "locking piece and padlock for a breaker", 1, 0, False, (ends.name,))
            continue
        parts = ["DC" if ends.kind in _DIRECT else "AC", counted(ends.poles, "pole"), _isolating(sizes, ends)]
        parts += [f"{device.voltage} or more"] if device and device.voltage else []
        yield Line("isolator", ", ".join(parts), 1, 0, ends.kind in _DIRECT, (ends.name,))
        yield Line("padlock", "with tag, one key each", 1, 0, False, (ends.name,))


def opener(sizes: Sizes, ends: Ends) -> str:
    """What opens a circuit and is locked, for the one who does it: its breaker, or its isolator, never a fuse."""
    device, item = _device(sizes, ends)
    if device and item in ("breaker", "there"):
        return f"{device.kind} {device.rating or ''}".strip()
    return f"{'DC' if ends.kind in _DIRECT else 'AC'} isolator, {_isolating(sizes, ends)}"


def residual_current(facts: Facts, circuits: Circuits, sizes: Sizes) -> Iterator[Line]:
    """One after the common bar, never one per paralleled unit (T6, T7)."""
    outputs = [ends for ends in circuits.circuits if ends.kind == "load"]
    after = next((ends for ends in outputs if ends.common), outputs[0] if outputs else None)
    if after:
        device, _ = _device(sizes, after)
        rating = f"rated {device.rating} or more" if device and device.rating else "rating not computed"
        poles = counted(len(lines_of(facts, after)) + 1, "pole")
        trips = "trips at 30 mA or as the licensed person decides, type by the units' manual"
        yield Line("residual-current device", f"{poles}, {rating}, {trips}", 1, 0, False, (after.name,))


def _rated(device: Device) -> str:
    parts = [device.kind, str(device.rating) if device.rating else "rating not computed"]
    parts += [f"{device.voltage} or more"] if device.voltage else []
    parts += [f"breaks {device.breaking} or more"] if device.breaking else []
    return ", ".join(parts)


def _isolating(sizes: Sizes, ends: Ends) -> str:
    """The rating of the isolator of a circuit: that of its fuse, or else what it carries."""
    sizing = sizes.of.get(ends.name)
    rating = sizing and ((sizing.device.rating if sizing.device else None) or sizing.current)
    return f"{rating} or more" if rating else "rating not computed"


def _device(sizes: Sizes, ends: Ends) -> tuple[Device | None, str]:
    """The device of a circuit and what it is on the bill: "fuse", "breaker", "there" (already on site) or "isolator"."""
    sizing = sizes.of.get(ends.name)
    device = sizing.device if sizing else None
    if device is None:
        return None, "isolator"
    if "fuse" in device.kind:
        return device, "fuse"
    if "breaker" in device.kind:
        return device, "there" if "there" in device.kind else "breaker"
    return device, "isolator"
