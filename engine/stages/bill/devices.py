"""What protects and what opens each circuit, as it is bought: fuses and holders, breakers, isolators, padlocks."""

from __future__ import annotations

from collections.abc import Iterator

from engine.stages.bill.part import Line
from engine.stages.circuits import Circuits
from engine.stages.switchgear import Gear, GearKind, Switchgear
from engine.text import counted

_DIRECT = ("battery", "solar")


def devices(circuits: Circuits, switchgear: Switchgear) -> Iterator[Line]:
    """Fuses with a spare set per size (the set of one circuit, or of one string), a holder each; breakers by poles."""
    spared = set()
    for ends in circuits.circuits:
        direct = ends.kind in _DIRECT
        for gear in switchgear.of(ends, GearKind.FUSE, GearKind.BREAKER):
            rated = _rated(gear)
            if gear.kind is GearKind.BREAKER:
                yield Line("breaker", f"{rated}, {counted(len(gear.poles), 'pole')}", 1, 0, direct, (ends.name,))
                continue
            place = f"{ends.name}, each string" if ends.kind == "solar" else ends.name
            place += f", {gear.poles[0]} pole" if len(gear.poles) == 1 else ""
            poles = len(gear.poles)
            yield Line("fuse", rated, poles * gear.count, 0, direct, (place,))
            yield Line("fuse holder", f"for {rated}", poles * gear.count, 0, direct, (place,))
            if rated not in spared:
                spared.add(rated)
                yield Line("fuse", rated, poles, poles, direct, ("spare",))


def isolators(circuits: Circuits, switchgear: Switchgear) -> Iterator[Line]:
    """What opens a circuit is locked.

    A neutral that opens before the lines leaves near line voltage on the light phase (T7; IEC 60364-4-43 431.3, from memory).
    """
    for ends in circuits.circuits:
        gear = switchgear.opening(ends)
        if gear is None:
            continue
        if gear.kind is not GearKind.ISOLATOR:
            yield Line("breaker lock", "locking piece and padlock for a breaker", 1, 0, False, (ends.name,))
            continue
        direct = ends.kind in _DIRECT
        parts = [
            "DC" if direct else "AC",
            counted(len(gear.poles), "pole"),
            *([] if direct else ["neutral last to open and first to close"]),
            f"{gear.rating} or more" if gear.rating else "rating not computed",
            *([f"{gear.voltage} or more"] if gear.voltage else []),
            "made to open under load",
        ]
        yield Line("isolator", ", ".join(parts), gear.count, 0, direct, (ends.name,))
        yield Line("padlock", "with tag, one key each", gear.count, 0, False, (ends.name,))


def residual_current(circuits: Circuits, switchgear: Switchgear) -> Iterator[Line]:
    """As many poles as lines and neutral; what it trips at is the licensed person's."""
    for ends in circuits.circuits:
        for gear in switchgear.of(ends, GearKind.RESIDUAL):
            rating = f"rated {gear.rating} or more" if gear.rating else "rating not computed"
            trips = "trips at 30 mA or as the licensed person decides, type by the units' manual"
            yield Line("residual-current device", f"{counted(len(gear.poles), 'pole')}, {rating}, {trips}", 1, 0, False, (ends.name,))


def boards(switchgear: Switchgear) -> Iterator[Line]:
    """What sits on a board between its conductors, and the label that names what feeds it."""
    for board, row in switchgear.boards.items():
        for gear in row:
            yield Line("surge device", f"{gear.name}, {gear.voltage or 'by the voltage'} to neutral", 1, 0, False, (board,))
        yield Line("source label", "names every source that feeds this board", 1, 0, False, (board,))


def bond(switchgear: Switchgear) -> Iterator[Line]:
    """The bond of island mode; a relay inside the units is there already: it takes a label, nothing else."""
    if gear := switchgear.bond:
        if switchgear.link:
            yield Line("neutral-earth bond link", gear.name, 1, 0, False, (gear.place,))
        yield Line("bond label", "neutral meets earth here and nowhere else", 1, 0, False, (gear.place,))


def _rated(gear: Gear) -> str:
    parts = [gear.rated]
    parts += [f"{gear.voltage} or more"] if gear.voltage else []
    parts += [f"breaks {gear.breaking} or more"] if gear.breaking else []
    return ", ".join(parts)
