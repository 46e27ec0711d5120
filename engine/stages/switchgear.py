"""What sits in every circuit, one after the other from its source on: what protects it, and what opens it and is locked (T4 to T7, T9)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from enum import StrEnum

from engine.facts import Facts
from engine.findings import Finding
from engine.frozen import dataclass
from engine.stages.circuits import INCOMING_BOARD, LOAD_BOARD, Circuits, Ends, lines_of, poles_of, strings_of
from engine.stages.conductors.part import Conductors, Device, DeviceKind
from engine.tables import table
from engine.text import clean
from engine.workings import Figure, chosen

_DIRECT = ("battery", "solar")

# The number within a tag says what a piece serves, so that a unit, a bank or a circuit that comes later renames nothing.
_SERVES = {"battery": 1, "load": 2, "solar": 3, "incoming": 4}
_RESIDUAL, _SURGES, _BONDS = "F5", {INCOMING_BOARD: "F6", LOAD_BOARD: "F7"}, 8


class GearKind(StrEnum):
    """What a piece of switchgear is; `THERE` is a breaker that the site has already."""

    FUSE = "fuse"
    ISOLATOR = "isolator"
    BREAKER = "breaker"
    THERE = "breaker that is there"
    RESIDUAL = "residual-current device"
    SURGE = "surge device"
    BOND = "neutral-earth bond"


_OPENS = (GearKind.ISOLATOR, GearKind.BREAKER, GearKind.THERE)


@dataclass(frozen=True)
class Gear:
    """One piece of switchgear: the place that it sits at, the poles that go through it, what it is called, what it must stand.

    `count` alike sit side by side, one for each string or solar input, and share a `tag`; `conductor` is what the neutral-earth link is made
    with, which is in no circuit.
    """

    tag: str
    kind: GearKind
    place: str
    poles: tuple[str, ...]
    name: str
    rating: Figure | None = None
    breaking: Figure | None = None
    voltage: Figure | None = None
    count: int = 1
    conductor: Figure | None = None

    @property
    def opens(self) -> bool:
        """Whether it opens under load and is locked: a fuse does neither."""
        return self.kind in _OPENS

    @property
    def rated(self) -> str:
        """What stands on it."""
        return f"{self.name}, {self.rating or 'rating not computed'}"


@dataclass(frozen=True)
class Switchgear:
    """The row of every circuit by name, from its start to its end; what sits on a board between lines, neutral and earth, by board; and the
    bond of island mode, where one is fitted or is in the units.
    """

    rows: Mapping[str, tuple[Gear, ...]]
    boards: Mapping[str, tuple[Gear, ...]]
    bond: Gear | None

    def laid_out(self) -> Switchgear:
        """The same without names and figures: what sits where, in which poles."""
        rows = {
            name: tuple([Gear(gear.tag, gear.kind, gear.place, gear.poles, "", count=gear.count) for gear in row])
            for name, row in self.rows.items()
        }
        return Switchgear(rows, {}, None)

    def of(self, ends: Ends, *kinds: GearKind) -> tuple[Gear, ...]:
        """What sits in a circuit, of these kinds or of any."""
        return tuple(gear for gear in self.rows[ends.name] if not kinds or gear.kind in kinds)

    def opening(self, ends: Ends) -> Gear | None:
        """What opens a circuit and is locked; nothing opens an earth."""
        return next((gear for gear in self.rows[ends.name] if gear.opens), None)

    def floats(self, ends: Ends) -> bool:
        """Whether what opens a circuit opens its neutral too, so that nothing holds the far side at any voltage to a bar."""
        gear = self.opening(ends)
        return gear is not None and "N" in gear.poles

    @property
    def link(self) -> Gear | None:
        """The bond of island mode where it is bought and can be taken out: a relay in the units is neither."""
        return self.bond if self.bond and self.bond.name != "unit relay" else None

    @property
    def pieces(self) -> Iterator[tuple[str | None, Gear]]:
        """Every piece once, with the name of its circuit; a surge device and the bond are in none."""
        yield from ((name, gear) for name, row in self.rows.items() for gear in row)
        yield from ((None, gear) for row in self.boards.values() for gear in row)
        yield from ((None, self.bond),) if self.bond else ()

    def fuse(self, ends: Ends) -> Gear | None:
        """The fuse of a circuit, where it has one."""
        return next(iter(self.of(ends, GearKind.FUSE)), None)


def switchgear(*, facts: Facts, circuits: Circuits, conductors: Conductors) -> tuple[Switchgear, list[Finding]]:
    """Put what protects a circuit at its source, what opens it behind that, and one residual-current device behind the common output."""
    rows = {ends.name: (*_of_circuit(facts, conductors, ends), *_residual(facts, circuits, conductors, ends)) for ends in circuits.circuits}
    return Switchgear(rows, {board: (gear,) for board, gear in _surge(facts, circuits)}, _bond(facts, conductors)), []


def _of_circuit(facts: Facts, conductors: Conductors, ends: Ends) -> Iterator[Gear]:
    """A fuse opens nothing under load: a circuit without a breaker has an isolator, each solar input its own."""
    if ends.kind == "earth":
        return
    # Units feed the load board and each other through it: there their circuits are protected, all others where they begin.
    place = ends.end if ends.kind == "load" else ends.start
    device, poles = conductors.device(ends), poles_of(facts, ends)
    voltage = _voltage(ends, device)
    if device and device.kind in (DeviceKind.BREAKER, DeviceKind.THERE):
        kind = GearKind.BREAKER if device.kind is DeviceKind.BREAKER else GearKind.THERE
        yield Gear(_tag(ends, "Q"), kind, place, _through(device, poles), device.name, device.rating, device.breaking, voltage)
        return
    if device and device.kind is DeviceKind.FUSE:
        each = strings_of(facts) if ends.kind == "solar" else 1
        yield Gear(
            _tag(ends, "F"),
            GearKind.FUSE,
            place,
            _through(device, poles),
            device.name,
            device.rating,
            device.breaking,
            voltage,
            each,
        )
    direct = ends.kind in _DIRECT
    rating, each = _switch(facts, ends, conductors.isolating(ends)), facts.trackers if ends.kind == "solar" else 1
    name = f"{'DC' if direct else 'AC'} isolator"
    yield Gear(_tag(ends, "Q"), GearKind.ISOLATOR, place, poles, name, rating, None, voltage, each)


def _tag(ends: Ends, letter: str) -> str:
    """Its designation: the unit or bank that it serves, a letter, what circuit it is in.

    Letters after IEC 81346-2: F protects, Q switches, X joins; a point between levels of one aspect after IEC 81346-1 (both from memory).
    """
    owner = ends.tag or ends.bank
    return f"{owner}.{letter}{_SERVES[ends.kind]}" if owner else f"{letter}{_SERVES[ends.kind]}"


def _switch(facts: Facts, ends: Ends, least: Figure | None) -> Figure | None:
    """The rating of an isolator that is made, not below what it must carry: 45 A stands on breakers, on no switch of the NEC's market."""
    ratings = [rating for row in table("switch_ratings").rows if row["rules"] == facts.rules and isinstance(rating := row["rating"], float)]
    return _next(f"{ends.key}.isolator", least, ratings, "the next rating that isolators are made in", table("switch_ratings").told)


def _voltage(ends: Ends, device: Device | None) -> Figure | None:
    """The DC voltage that stands on a fuse or an isolator, not below what it must stand."""
    steps = table("dc_voltages").figures("step")
    least = device.voltage if device else None
    return _next(
        f"{ends.key}.rated_voltage", least, steps, "the next voltage that fuses and isolators are made for", table("dc_voltages").told
    )


def _next(key: str, least: Figure | None, steps: Sequence[float], note: str, source: str) -> Figure | None:
    """The smallest step not below a figure; beyond the last one the figure itself."""
    if least is None:
        return None
    step = next((step for step in steps if step >= least.value * (1 - 1e-9)), None)
    return least if step is None else chosen(key, step, least.unit, f"{note}, not below {least}", source, [least], f"{step:g} {least.unit}")


def _through(device: Device, poles: tuple[str, ...]) -> tuple[str, ...]:
    """The poles that go through a device: the one that is not earthed, or the first of them, for a neutral that is not switched is the last."""
    return (device.pole,) if device.pole else poles[: device.poles]


def _residual(facts: Facts, circuits: Circuits, conductors: Conductors, ends: Ends) -> Iterator[Gear]:
    """One behind the common output, never one per paralleled unit (T6, T7)."""
    outputs = [other for other in circuits.circuits if other.kind == "load"]
    if ends == next((other for other in outputs if other.common), next(iter(outputs), None)):
        device = conductors.device(ends)
        poles, rating = (*lines_of(facts, ends), "N"), device.rating if device else None
        yield Gear(_RESIDUAL, GearKind.RESIDUAL, ends.end, poles, "residual-current device", rating)


def _surge(facts: Facts, circuits: Circuits) -> Iterator[tuple[str, Gear]]:
    """One on each board, at the voltage from its lines to neutral."""
    for board, lines in ((INCOMING_BOARD, facts.incoming_lines), (LOAD_BOARD, facts.phases)):
        if board in circuits.spots:
            name = f"type 2, {' '.join(lines) or 'lines'} and N"
            voltage = facts.figure("output.voltage")
            yield board, Gear(_SURGES[board], GearKind.SURGE, board, (*lines, "N", "PE"), name, voltage=voltage)


def _bond(facts: Facts, conductors: Conductors) -> Gear | None:
    """Where neutral meets earth while the units run alone."""
    bond = facts.answers.earthing.island_bond
    if bond == "none":
        return None
    place = clean(facts.answers.earthing.bond_at or ("the units" if bond == "unit relay" else "place to be decided"), 60)
    letter = "Q" if bond in ("changeover relay", "unit relay") else "X"
    name = bond or "kind to be decided"
    return Gear(f"{letter}{_BONDS}", GearKind.BOND, place, ("N", "PE"), name, conductor=conductors.link)
