"""Every earth circuit of the site: cases, the common one, and the bond of an earthed battery pole (T5, S8, S30)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from engine.facts import Facts
from engine.formulas.protection import earth_fault_current
from engine.formulas.resistance import conductor_resistance
from engine.frozen import dataclass
from engine.quantities import Ohm
from engine.stages.circuits import EARTH_BAR, LOAD_BOARD, Circuits, Ends
from engine.stages.conductors import earths, electric, worked
from engine.stages.conductors.build import Basis
from engine.stages.conductors.cables import Made
from engine.stages.conductors.choose import Taken
from engine.stages.conductors.earths import EarthFault, Feeding, Live, Loop, ProtectiveConductor
from engine.stages.conductors.part import Sizing
from engine.stages.conductors.task import Way
from engine.tables.sizes import Size
from engine.workings import Figure, altered, chosen, work


@dataclass(frozen=True)
class Pole:
    """A bank with an earthed pole: its bond, its largest fuse and conductors, its low EMF, and all between its cells and the bond's place."""

    bond: Ends
    way: Way
    fuse: Live
    largest: Live
    emf: Figure | None
    source: Figure | None


@dataclass(frozen=True)
class FaultPath:
    """An earth fault through the case of one earth circuit: the fuse that must open it, what it flows through besides earth conductors.

    `current` is the fault through the conductors that were chosen; None where something of it is not known.
    """

    ends: Ends
    pole: Pole
    word: str
    fuse: Live
    rest: tuple[Figure, ...]
    known: bool
    current: Figure | None = None


@dataclass(frozen=True)
class Grounds:
    """The sizing of every earth circuit; the fuses, by circuit, of which nobody knows what they let through; the earthed poles
    and the faults through them, where there are any; the conductor of the neutral-earth link, where one is bought.
    """

    of: Mapping[str, Sizing]
    unproven: Mapping[str, Live]
    poles: tuple[Pole, ...] = ()
    paths: tuple[FaultPath, ...] = ()
    link: Figure | None = None


def grounds(basis: Basis, circuits: Circuits, taken: Mapping[str, Taken], made: Mapping[str, Made]) -> Grounds:
    """The cases first, each as if the bond were the thinnest it may be; then the bond, for what flows through the cases."""
    live = {name: earths.live(t, t.place) for name, t in taken.items() if t.place is not None}
    poles = [pole for ends in circuits.circuits if ends.bond and (pole := _pole(basis, circuits, taken, live, ends))]
    paths = [path for pole in poles for path in _paths(circuits, taken, live, pole)]
    found = dict(_cases(basis, circuits, live, paths))
    units = [found[ends.name] for ends in circuits.of("earth", common=False) if ends.name in found]
    for pole in poles:
        found[pole.bond.name] = earths.bond(pole.way, [*_back(basis, found, [p for p in paths if p.pole is pole])], pole.largest)
    found |= dict(_of_boards(basis, circuits, live, units))
    done = [replace(path, current=_current(basis, found, path)) for path in paths]
    faults = {name: [p.current for p in done if p.ends.name == name and p.current] for name in found}
    of = {name: _sizing(name, ground, made[name], faults[name]) for name, ground in found.items()}
    unproven = {name: ground.unproven for name, ground in found.items() if ground.unproven}
    return Grounds(of, unproven, tuple(poles), tuple(done), _link(basis, circuits, live, found, made))


def _of_boards(
    basis: Basis, circuits: Circuits, live: Mapping[str, Live], units: Sequence[ProtectiveConductor]
) -> Iterator[tuple[str, ProtectiveConductor]]:
    """From the boards to the earth bar: the units' earths go on in the one that ends there."""
    for board, ends in circuits.boards().items():
        way, ac = _way(basis.facts, ends), _lines(circuits, live, ends.units)
        cases = units if ends.end == EARTH_BAR else ()
        if not ac or (ends.end == EARTH_BAR and sum(ground.size is not None for ground in units) != len(ends.units)):
            continue
        feeding = _feeding(circuits, live, ac) if _linked(basis.facts) else []
        yield ends.name, earths.main(way, cases, ac, [*earths.of_load_board(way, ac, feeding)] if board == LOAD_BOARD else ())


def _linked(facts: Facts) -> bool:
    """Whether a neutral-earth link is bought; one that nobody answered may be."""
    return facts.answers.earthing.island_bond not in ("none", "unit relay")


def _feeding(circuits: Circuits, live: Mapping[str, Live], ac: Sequence[Live]) -> list[Feeding]:
    """What feeds the load board, the most in each metal: the lines of the set, and those of all the units on a phase together."""
    found = [Feeding(line.taken.total, line.way.metal, line.name) for line in ac]
    for phase in dict.fromkeys(ends.phase for ends in circuits.of("load", common=False)):
        own = [live[ends.name] for ends in circuits.of("load", common=False) if ends.phase == phase and ends.name in live]
        if len(own) > 1:
            found.append(Feeding(sum(line.taken.total for line in own), own[0].way.metal, f"the units on {phase}"))
    return [*{of.metal: of for of in sorted(found, key=lambda of: of.total)}.values()]


def _link(
    basis: Basis, circuits: Circuits, live: Mapping[str, Live], found: Mapping[str, ProtectiveConductor], made: Mapping[str, Made]
) -> Figure | None:
    """The conductor of the neutral-earth link, made as the load board's own earth is."""
    ends = circuits.boards().get(LOAD_BOARD)
    board = found.get(ends.name) if ends else None
    if ends is None or board is None or board.size is None or not _linked(basis.facts):
        return None
    ground = earths.link(board.way, board, _feeding(circuits, live, _lines(circuits, live, ends.units)))
    why = earths.figure("plan.earthing.link", ground, made[ends.name].cable)
    return replace(why, label=f"{why} {board.way.metal}") if why else None


def _lines(circuits: Circuits, live: Mapping[str, Live], units: Sequence[str]) -> list[Live]:
    """The AC circuits that serve just these units; none at all where one of them has no conductors."""
    names = [ends.name for ends in circuits.circuits if ends.kind in ("load", "incoming") and ends.units == tuple(units)]
    return [live[name] for name in names] if all(name in live for name in names) else []


def _way(facts: Facts, ends: Ends) -> Way:
    method, insulation, metal = facts.laid(ends.kind, ends.to)
    return Way(facts.rules, metal, insulation, method)


def _pole(basis: Basis, circuits: Circuits, taken: Mapping[str, Taken], live: Mapping[str, Live], bond: Ends) -> Pole | None:
    """None where the bank's circuits have no conductors or fuses yet."""
    lines = [live[ends.name] for ends in circuits.circuits if ends.kind == "battery" and ends.bank == bond.bank and ends.name in live]
    fused, bank = [line for line in lines if line.rating], basis.storage.of(bond.bank)
    if not (fused and bank):
        return None
    common = taken.get(f"battery {bond.bank}")
    source = bank.resistance_clearing
    if common:
        source = worked.ahead_of(common.choice.task, common.chosen) if common.chosen else None
    fuse = max(fused, key=lambda line: line.rating or 0.0)
    return Pole(bond, _way(basis.facts, bond), fuse, max(lines, key=lambda line: line.taken.total), bank.emf_low, source)


def _paths(circuits: Circuits, taken: Mapping[str, Taken], live: Mapping[str, Live], pole: Pole) -> Iterator[FaultPath]:
    """Faults into each unit behind its own fuse, and into every case ahead of it, behind the bank's."""
    source = (pole.source,) if pole.source else ()
    for ends in circuits.of("earth", common=False):
        name = f"battery {ends.tag}"
        if ends.tag in pole.bond.units and name in live and live[name].rating:
            line = _line(taken[name])
            yield FaultPath(ends, pole, "earth_fault", live[name], (*source, *([line] if line else [])), bool(source and line))
            if name != pole.fuse.name:
                yield FaultPath(ends, pole, "earth_fault_ahead", pole.fuse, source, bool(source))
    for ends in circuits.earths(pole.bond.bank):
        yield FaultPath(ends, pole, "earth_fault", pole.fuse, source, bool(source))


def _line(taken: Taken) -> Figure | None:
    """Resistance of the one pole of a battery circuit that an earth fault flows through."""
    task, clearing = taken.choice.task, taken.choice.task.clearing
    return worked.pole(task, taken.chosen, clearing.length, clearing.measured) if clearing and taken.chosen else None


def _cases(
    basis: Basis, circuits: Circuits, live: Mapping[str, Live], paths: Sequence[FaultPath]
) -> Iterator[tuple[str, ProtectiveConductor]]:
    """The conductors to the cases of units, and to those of banks and bars with an earthed pole."""
    for ends in circuits.of("earth", common=False):
        battery, ac = live.get(f"battery {ends.tag}"), _lines(circuits, live, ends.units)
        if ac and battery and battery.rating:
            through = [_fault(basis, path) for path in paths if path.ends is ends]
            yield ends.name, earths.case(_way(basis.facts, ends), ac, through or [EarthFault(battery)])
    for ends in dict.fromkeys(path.ends for path in paths if path.ends.tag is None):
        yield ends.name, earths.case(_way(basis.facts, ends), [], [_fault(basis, path) for path in paths if path.ends is ends])


def _fault(basis: Basis, path: FaultPath) -> EarthFault:
    """The fault through a case, with the thinnest bond that stands the bank's fuse at all: the true one is no weaker."""
    pole = path.pole
    least = earths.bond(pole.way, [EarthFault(pole.fuse)], pole.largest).size
    return _looped(path, _ohms(basis, pole.bond, pole.way, least), _length(basis, path.ends))


def _back(basis: Basis, found: Mapping[str, ProtectiveConductor], paths: Sequence[FaultPath]) -> Iterator[EarthFault]:
    """The faults that come back through a bond: of each fuse's rating the weakest, which lets the most through."""
    worst: dict[float | None, EarthFault] = {}
    for path in paths:
        ground = found.get(path.ends.name)
        if ground is None:
            continue
        fault = _looped(path, _ohms(basis, path.ends, ground.way, ground.size), _length(basis, path.pole.bond))
        known = worst.setdefault(path.fuse.rating, fault)
        if known.loop and (fault.loop is None or fault.loop.rest > known.loop.rest):
            worst[path.fuse.rating] = fault
    yield from worst.values()


def _looped(path: FaultPath, other: Ohm | None, length: Figure | None) -> EarthFault:
    """A fault with the earth conductor that is already known; how slow it is, is not known where a part of its way is not."""
    if not (path.known and path.pole.emf and other is not None and length):
        return EarthFault(path.fuse)
    return EarthFault(path.fuse, Loop(path.pole.emf.value, sum(figure.value for figure in path.rest) + other, length.value))


def _length(basis: Basis, ends: Ends) -> Figure | None:
    run = basis.wall.runs.get(ends.name)
    return run.length if run else None


def _ohms(basis: Basis, ends: Ends, way: Way, size: Size | None) -> Ohm | None:
    length = _length(basis, ends)
    return conductor_resistance(electric.per_metre(way, size), length.value) if size and length else None


def _current(basis: Basis, found: Mapping[str, ProtectiveConductor], path: FaultPath) -> Figure | None:
    """The earth fault through the case's conductor and the bond, as both were chosen."""
    ends, bond = found.get(path.ends.name), found.get(path.pole.bond.name)
    if not (path.known and path.pole.emf and ends and bond):
        return None
    own, back = _resistance(basis, path.ends, ends), _resistance(basis, path.pole.bond, bond)
    if own is None or back is None:
        return None
    return work(f"{path.ends.key}.{path.word}", earth_fault_current, emf=path.pole.emf, path=[*path.rest, own, back])


def _resistance(basis: Basis, ends: Ends, ground: ProtectiveConductor) -> Figure | None:
    length = _length(basis, ends)
    if ground.size is None or length is None:
        return None
    return work(f"{ends.key}.pole", conductor_resistance, resistance=worked.per_metre(ends.key, ground.way, ground.size), length=length)


def _sizing(name: str, ground: ProtectiveConductor, made: Made, faults: Sequence[Figure]) -> Sizing:
    key = f"plan.circuits[{name}]"
    why = earths.figure(f"{key}.conductor", ground, made.cable)
    figures = (*faults, made.voltage_class)
    if why is None:
        return Sizing(None, 0, None, None, None, None, None, None, None, ground.criteria, None, figures, made.cable)
    again, why = altered(why, key=f"{key}.earth"), altered(why, label=f"{why} {made.cable.metal}")
    alone = chosen(f"{key}.parallel", 1.0, "1", "one protective conductor", why.source, [why])
    figures = (alone, again, *figures)
    return Sizing(ground.size, 1, ground.size, None, None, None, None, ground.governed_by, None, ground.criteria, why, figures, made.cable)
