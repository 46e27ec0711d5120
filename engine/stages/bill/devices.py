"""What protects and what opens each circuit, as it is bought: fuses and holders, breakers, isolators, padlocks, and what they sit in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from engine.facts import Facts
from engine.stages.bill.part import Line
from engine.stages.circuits import LOAD_BOARD, Circuits
from engine.stages.switchgear import Gear, GearKind, Switchgear
from engine.text import counted, listed

_DIRECT = ("battery", "solar")
# By IEC 60947-3, from memory: switching mixed loads; several strings, with currents that flow back.
_DUTY = {"battery": "DC-22 or as its maker says for batteries", "solar": "DC-PV2"}


def devices(circuits: Circuits, switchgear: Switchgear) -> Iterator[Line]:
    """Fuses with a spare set per size (the set of one circuit, or of one string), a holder each; breakers by poles."""
    spared = set()
    for ends in circuits.circuits:
        direct = ends.kind in _DIRECT
        item = "string fuse" if ends.kind == "solar" else "fuse"
        for gear in switchgear.of(ends, GearKind.FUSE, GearKind.BREAKER):
            rated = _rated(gear)
            if gear.kind is GearKind.BREAKER:
                yield Line("breaker", f"{rated}, {counted(len(gear.poles), 'pole')}", 1, 0, direct, (ends.name,))
                continue
            place = f"{ends.name}, each string" if ends.kind == "solar" else ends.name
            place += f", {gear.poles[0]} pole" if len(gear.poles) == 1 else ""
            poles = len(gear.poles)
            yield Line(item, rated, poles * gear.count, 0, direct, (place,))
            yield Line(f"{item} holder", f"for {rated}", poles * gear.count, 0, direct, (place,))
            if rated not in spared:
                spared.add(rated)
                yield Line(item, rated, poles, poles, direct, ("spare",))


def isolators(facts: Facts, circuits: Circuits, switchgear: Switchgear) -> Iterator[Line]:
    """What opens a circuit is locked.

    A neutral that opens before the lines leaves near line voltage on the light phase (T7; IEC 60364-4-43 431.3, from memory). Battery
    current runs both ways: a polarised isolator burns when it opens against the way that it was made for.
    """
    for ends in circuits.circuits:
        gear = switchgear.opening(ends)
        if gear is None:
            continue
        yield Line("isolator label", "names its circuit and what feeds it", gear.count, 0, False, (ends.name,))
        if gear.kind is not GearKind.ISOLATOR:
            yield Line("breaker lock", "locking piece and padlock for a breaker", 1, 0, False, (ends.name,))
            continue
        direct = ends.kind in _DIRECT
        duty = f"IEC 60947-3 {_DUTY.get(ends.kind, 'AC-22')}" if facts.rules == "iec" else "listed for it"
        parts = [
            "DC" if direct else "AC",
            counted(len(gear.poles), "pole"),
            *(["not polarised"] if direct else ["neutral last to open and first to close"]),
            f"{gear.rating} or more" if gear.rating else "rating not computed",
            *([f"{gear.voltage} or more"] if gear.voltage else []),
            f"made to open under load ({duty})",
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


def enclosures(circuits: Circuits, switchgear: Switchgear) -> Iterator[Line]:
    """A board, or a box, wherever something sits; a breaker that is there has its own."""
    inside: dict[str, dict[str, int]] = {board: {"surge device": len(row)} for board, row in switchgear.boards.items()}
    for ends in circuits.circuits:
        for gear in switchgear.of(ends):
            if gear.kind is not GearKind.THERE:
                fuse = gear.kind is GearKind.FUSE
                name, number = ("fuse holder", gear.count * len(gear.poles)) if fuse else (gear.kind.value, gear.count)
                held = inside.setdefault(gear.place, {})
                held[name] = held.get(name, 0) + number
    for place, held in inside.items():
        told = _told(held)
        board = place in switchgear.boards
        kind = f"board with its bars, for {told}" if board else f"for {told}, where they do not come in one"
        yield Line("enclosure", f"{kind}; live parts out of a finger's reach, by the room: dust, damp", 1, 0, False, (place,))


def _told(held: Mapping[str, int]) -> str:
    return listed([counted(number, name) for name, number in held.items()], most=len(held))


def bond(switchgear: Switchgear) -> Iterator[Line]:
    """The bond of island mode; a relay inside the units is there already: it takes a label, nothing else."""
    if gear := switchgear.bond:
        if switchgear.link:
            size = f"{gear.conductor} or more" if gear.conductor else "a size not computed"
            made = f"{gear.name}, with its conductor of {size}, length to be measured"
            yield Line("neutral-earth bond link", made, 1, 0, False, (gear.place,))
        yield Line("bond label", "neutral meets earth here and nowhere else", 1, 0, False, (gear.place,))


def pole_bonds(facts: Facts, circuits: Circuits) -> Iterator[Line]:
    """An earthed battery pole is labelled where it is earthed; the bond itself is cut like any conductor."""
    for ends in circuits.circuits:
        if ends.bond:
            yield Line("pole bond label", f"battery {facts.earthed_pole} meets earth here and nowhere else", 1, 0, False, (ends.start,))


def watching(facts: Facts) -> Iterator[Line]:
    """Where neutral never meets earth in island mode, a first fault trips nothing: something watches the insulation."""
    if facts.answers.earthing.island_bond == "none":
        volts = facts.figure("output.voltage") or "the voltage"
        told = f"for {volts} to neutral, by IEC 60364-4-41 411.6.3 (from memory); the licensed person decides what it does"
        yield Line("insulation monitoring device", told, 1, 0, True, (LOAD_BOARD,))


def shutdown(facts: Facts, *, stored: bool) -> Iterator[Line]:
    """What a rule book asks for, that a fire brigade can shut down from outside; IEC 60364 asks for none in general."""
    if facts.rules != "nec":
        return
    decides = "the licensed person decides whether this building is one"
    if stored:
        told = f"switch outside, its off position marked, for a one- or two-family dwelling: NFPA 70 (NEC) 706.15; {decides}"
        yield Line("emergency shutdown device", told, 1, 0, True, ("outside, within reach",))
    if facts.solar:
        told = f"switch and what it switches at the array, for strings on or in a building: NFPA 70 (NEC) 690.12; {decides}"
        yield Line("rapid shutdown device", told, 1, 0, True, ("outside, within reach",))


def _rated(gear: Gear) -> str:
    parts = [gear.rated]
    parts += [f"{gear.voltage} or more"] if gear.voltage else []
    parts += [f"breaks {gear.breaking} or more"] if gear.breaking else []
    return ", ".join(parts)
