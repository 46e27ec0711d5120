"""Protective conductors: those that run with a circuit, those to cases, the bond of an earthed battery pole (T5, S8, S30)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from engine.formulas.earthing import other_metal_area, upsized_ground
from engine.formulas.protection import AdiabaticFactor, earth_fault_current, withstand, withstand_area
from engine.formulas.resistance import conductor_resistance
from engine.frozen import dataclass
from engine.quantities import Ampere, AmpereSquaredSecond, Metre, Ohm, SquareMetre, Volt, shown
from engine.stages.conductors import electric
from engine.stages.conductors.choose import WORDS, Taken
from engine.stages.conductors.part import Cable, Criterion
from engine.stages.conductors.task import Candidate, Way
from engine.tables.conductors import offered, smallest_of
from engine.tables.earth import (
    equipment_ground,
    least_protective,
    live_k,
    main_bonding,
    protective_k,
    system_bond,
    system_jumper,
    table_54_2,
)
from engine.tables.protection import fuse_gate, fuse_let_through
from engine.tables.ratings import rated
from engine.tables.sizes import Size
from engine.workings import Figure, chosen

_IN_CONDUIT = ("A1", "A2", "B1", "B2")


@dataclass(frozen=True)
class Asked:
    """One thing that asks for a protective conductor: S13's word, the least area, where it stands, in words."""

    name: str
    area: SquareMetre
    text: str


@dataclass(frozen=True)
class Live:
    """The live conductors that a protective conductor belongs to: what was taken, what the currents alone needed, the most the device lets through.

    Of like circuits the least counts as needed, and `own` tells whether it is this one: so like circuits have like earths, and none
    loses what NEC 250.122(B) asks for where its conductors were enlarged only to match the others.
    """

    name: str
    way: Way
    rating: Ampere | None
    taken: Candidate
    needed: Candidate
    energy: AmpereSquaredSecond | None = None
    own: bool = True


@dataclass(frozen=True)
class ProtectiveConductor:
    """A protective conductor with what decided; `size` None where none is large enough or the table ends.

    `unproven` is the largest fuse of which nobody knows what it lets through, so that nothing was asked for it.
    """

    way: Way
    size: Size | None
    governed_by: str | None
    criteria: tuple[Criterion, ...]
    book: str
    unproven: Live | None = None


@dataclass(frozen=True)
class Loop:
    """The way of an earth fault where a pole is earthed: the bank's low EMF, all of it but this conductor, this conductor's length."""

    emf: Volt
    rest: Ohm
    length: Metre

    def current(self, way: Way, size: Size) -> Ampere:
        """What flows through a conductor of that size."""
        return earth_fault_current(self.emf, [self.rest, conductor_resistance(electric.per_metre(way, size), self.length)])


@dataclass(frozen=True)
class EarthFault:
    """A battery fuse whose fault flows through a protective conductor. Without a `loop` it is as slow as a fault on its own line."""

    line: Live
    loop: Loop | None = None


def live(taken: Taken, place: int) -> Live:
    """A circuit's conductors; `needed` leaves out what voltage drop or a like circuit added."""
    among, task, own = taken.choice.among, taken.choice.task, taken.choice.needed
    least = place if taken.needed is None else taken.needed
    return Live(task.name, task.way, task.rating, among[place], among[least], electric.let_through(task, among[place]), own == least)


def with_circuit(line: Live) -> ProtectiveConductor:
    """The protective conductor that runs with a circuit, made as its lines are."""
    return _settle(line.way, [*_beside(line.way, line)])


def case(way: Way, ac: Sequence[Live], faults: Sequence[EarthFault]) -> ProtectiveConductor:
    """The conductor to a case: for its AC lines and for the battery fuses ahead of it, the largest wins (T5, S30)."""
    asked = [a for line in ac for a in _beside(way, line)]
    if way.rules == "nec":
        asked += [Asked("fuse", a.area, a.text) for fault in faults for a in _beside(way, fault.line)]
        # 250.122 goes with 250.4(A)(5): an earth fault must also be stood and opened.
        stood = [fault for fault in faults if fault.loop]
        asked += [a for fault in stood for a in _for_fuse(way, fault)]
    else:
        stood = [*faults]
        asked += [*(a for fault in stood for a in _for_fuse(way, fault)), _least(way)]
    return replace(_settle(way, asked), unproven=_unknown(stood))


def bond(way: Way, faults: Sequence[EarthFault], largest: Live) -> ProtectiveConductor:
    """The bond of an earthed battery pole: for the bank's largest fuse and whatever faults flow back through it (S30).

    Where nobody knows what that fuse lets through, it is made as for the bank's own conductors.
    """
    asked, unknown = [a for fault in faults for a in _for_fuse(way, fault)], _unknown(faults)
    if way.rules == "nec":
        found = system_bond(largest.taken.total, way.metal)
        told = f"for the bank's largest conductors, {largest.taken} of {largest.name}: {shown(found.value, 'm**2')}. {found.source}."
        settled = _settle(way, [*asked, Asked("device", found.value, told)], "NFPA 70 (NEC) 250.166, 250.168")
    else:
        settled = _settle(way, [*asked, *(_beside(way, largest) if unknown else ()), _least(way)])
    return replace(settled, unproven=unknown)


def _unknown(faults: Sequence[EarthFault]) -> Live | None:
    lines = [fault.line for fault in faults if fault.line.rating and fuse_let_through(fault.line.rating) is None]
    return max(lines, key=lambda line: line.rating or 0.0, default=None)


@dataclass(frozen=True)
class Feeding:
    """Line conductors that feed the load board: those of one phase together, their metal, whose they are."""

    total: SquareMetre
    metal: str
    name: str


def main(way: Way, cases: Sequence[ProtectiveConductor], ac: Sequence[Live], board: Sequence[Asked] = ()) -> ProtectiveConductor:
    """An earth conductor of the set: for the common AC lines, no smaller than a unit's where those meet in it, and what its board asks for."""
    asked = [a for line in ac for a in _beside(way, line)]
    asked += [_no_smaller(way, ground.way, ground.size, "a unit's earth conductor", "T5") for ground in cases if ground.size]
    return _settle(way, [*asked, *board, *([_least(way)] if way.rules == "iec" else [])])


def of_load_board(way: Way, ac: Sequence[Live], feeding: Sequence[Feeding]) -> Iterator[Asked]:
    """What the load board asks for beyond its lines: to stand what the devices ahead let through; to be a way back to the link on it."""
    if way.rules == "iec":
        yield from (_for_breaker(way, line) for line in ac if line.energy)
    else:
        yield from (_jumper(way, of) for of in feeding)


def link(way: Way, board: ProtectiveConductor, feeding: Sequence[Feeding]) -> ProtectiveConductor:
    """The conductor of the neutral-earth link: every earth fault while the units run alone comes back through it (T21).

    It is no smaller than the load board's own earth, and no smaller than a main bonding conductor, or a system bonding jumper.
    """
    asked = [_no_smaller(way, board.way, board.size, "the earth conductor of the load board", "T21")] if board.size else []
    if way.rules == "nec":
        return _settle(way, [*asked, *(_jumper(way, of) for of in feeding)], "NFPA 70 (NEC) 250.28(D)")
    least = main_bonding(way.metal)
    told = f"least main bonding conductor: {shown(least.value, 'm**2')}. {least.source}."
    return _settle(way, [*asked, Asked("smallest size", least.value, told)], "IEC 60364-5-54 543.1, 544.1")


def _for_breaker(way: Way, line: Live) -> Asked:
    """Adiabatic: what reaches the board past the devices ahead of it (S4)."""
    k, energy = protective_k(way.rules, way.metal, way.insulation), line.energy or 0.0
    area = withstand_area(energy, k.value)
    told = f"stands the {shown(energy, 'A**2*s')} that reaches {line.name}: {shown(area, 'm**2')}"
    return Asked("withstand", area, f"{told}. IEC 60364-5-54 543.1.2; S4; {k.source}.")


def _jumper(way: Way, of: Feeding) -> Asked:
    found = system_jumper(of.total, of.metal, way.metal)
    told = f"for the line conductors of {of.name}, {shown(of.total, 'm**2')} {of.metal} together: {shown(found.value, 'm**2')}"
    return Asked("device", found.value, f"{told}. {found.source}.")


def _no_smaller(way: Way, other: Way, size: Size, whose: str, rule: str) -> Asked:
    area, told = size.area, f"no smaller than {whose}, {size}"
    if other.metal != way.metal:
        area = other_metal_area(
            area, protective_k(way.rules, other.metal, other.insulation).value, protective_k(way.rules, way.metal, way.insulation).value
        )
        told += f" {other.metal}, which is {shown(area, 'm**2')} {way.metal}"
    return Asked("like circuits", area, f"{told}. {rule}.")


def figure(key: str, ground: ProtectiveConductor, cable: Cable) -> Figure | None:
    """The protective conductor as a figure: its note holds a line for each thing that asks for one."""
    size = ground.size
    if size is None or ground.governed_by is None:
        return None
    lines = [
        f"{size} {cable}, governed by {ground.governed_by}.",
        *(f"asks for {c.asked}: {c.text}" for c in ground.criteria),
        _next_smaller(ground),
    ]
    return chosen(key, size.area, "m**2", "\n".join(lines), ground.book, label=size.label)


def _next_smaller(ground: ProtectiveConductor) -> str:
    """What the next smaller size fails."""
    among = offered(ground.way.rules, ground.way.metal)
    place = among.index(ground.size) if ground.size else 0
    if not place:
        return "It is the smallest size there is."
    return f"The next smaller, {among[place - 1]}, fails {ground.governed_by}."


def _beside(way: Way, line: Live) -> Iterator[Asked]:
    """What the line conductors ask for of a protective conductor made in that way."""
    if way.rules == "iec":
        area, source = table_54_2(line.taken.total)
        told = f"for the line conductors of {line.name}, {line.taken}: {shown(area, 'm**2')}"
        if way.metal != line.way.metal:
            of_line, own = live_k(way.rules, line.way.metal, line.way.insulation), protective_k(way.rules, way.metal, way.insulation)
            area = other_metal_area(area, of_line.value, own.value)
            told += f" {line.way.metal}, which is {shown(area, 'm**2')} {way.metal}"
        yield Asked("device", area, f"{told}. {source}.")
    elif line.rating and (found := equipment_ground(line.rating, way.metal)):
        size, source = found
        area = upsized_ground(size.area, line.needed.total, line.taken.total)
        whose = "with its conductors" if line.own else "as that of a like circuit, whose conductors grew"
        grown = f", grown {whose} from {line.needed} to {line.taken} (250.122(B))" if area > size.area * 1.001 else ""
        # 250.122(A): never required larger than the circuit's own conductors.
        area = min(area, line.taken.total) if way.metal == line.way.metal else area
        yield Asked("device", area, f"for the {rated(line.rating)} device of {line.name}: {size}{grown}. {source}.")


def _for_fuse(way: Way, fault: EarthFault) -> Iterator[Asked]:
    """Adiabatic: what a battery fuse lets through into a case."""
    line, rating = fault.line, fault.line.rating or 0.0
    found = fuse_let_through(rating)
    if found is None:
        return
    k = protective_k(way.rules, way.metal, way.insulation)
    source = f"IEC 60364-5-54 543.1.2; {found.source}; {k.source}"
    # A far fault opens the fuse slowly, and lets the more through: the case earth stands what the line stands.
    energy = max(found.value, line.energy or 0.0)
    area, at = withstand_area(energy, k.value), ""
    if fault.loop:
        size = _through(way, fault.loop, rating, energy, k.value)
        current = fault.loop.current(way, size)
        energy = electric.fuse_energy(rating, energy, current)
        area, at = max(size.area, withstand_area(energy, k.value)), f" at an earth fault of {shown(current, 'A')}"
    told = f"stands {shown(energy, 'A**2*s')} of the {rated(rating)} fuse of {line.name}{at}: {shown(area, 'm**2')}"
    yield Asked("fuse", area, f"{told}. {source}.")


def _through(way: Way, loop: Loop, rating: Ampere, quick: AmpereSquaredSecond, k: AdiabaticFactor) -> Size:
    """The smallest size that stands the earth fault and lets enough flow to open the fuse; that stands it where none does both."""
    among = offered(way.rules, way.metal)
    gate = fuse_gate(rating, "most_5s")
    stands = [s for s in among if withstand(s.area, k) >= electric.fuse_energy(rating, quick, loop.current(way, s)) * (1 - 1e-9)]
    opens = [s for s in stands if gate and loop.current(way, s) >= gate.value]
    return next(iter((*opens, *stands)), among[-1])


def _least(way: Way) -> Asked:
    found = least_protective(protected=way.method in _IN_CONDUIT, metal=way.metal)
    return Asked("smallest size", found.value, f"least by itself: {shown(found.value, 'm**2')}. {found.source}.")


_BOOKS = {"iec": "IEC 60364-5-54", "nec": "NFPA 70 (NEC) 250.122"}


def _settle(way: Way, asked: Sequence[Asked], book: str = "") -> ProtectiveConductor:
    book = book or _BOOKS[way.rules]
    if not asked:
        return ProtectiveConductor(way, None, None, (), book)
    ordered = sorted(asked, key=lambda a: WORDS.index(a.name))
    sizes = [smallest_of(a.area, way.rules, way.metal) for a in ordered]
    size = smallest_of(max(a.area for a in ordered), way.rules, way.metal)
    # The word is that of the first that asks for this size.
    word = next(a.name for a, own in zip(ordered, sizes, strict=True) if own == size)
    end = f"more than {offered(way.rules, way.metal)[-1]}"
    criteria = tuple(
        Criterion(a.name, str(own or end), size is not None and size.area >= a.area * (1 - 1e-9), f"{a.name}: {a.text}")
        for a, own in zip(ordered, sizes, strict=True)
    )
    return ProtectiveConductor(way, size, word if size else None, criteria, book)
