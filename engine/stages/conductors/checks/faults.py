"""Faults: what breaks them, what stands them, and whether the fuse ahead opens at all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from engine.facts import Facts
from engine.findings import Finding, caution, stop
from engine.quantities import Ampere, shown
from engine.stages.circuits import Circuits
from engine.stages.conductors.choose import Taken
from engine.stages.conductors.earths import Live
from engine.stages.conductors.grounds import FaultPath, Pole
from engine.stages.conductors.part import Sizing
from engine.stages.currents.part import Currents
from engine.tables.protection import breaking_capacity, fuse_gate, fuse_let_through, largest_breaking_capacity, last_gate
from engine.tables.ratings import BREAKER, FUSE, rated
from engine.text import listed
from engine.workings import Figure


def of_breaking(facts: Facts, circuits: Circuits, currents: Currents) -> Iterator[Finding]:
    """A fault above every device there is (S10)."""
    seen = set()
    for ends in circuits.circuits:
        told = currents.of.get(ends.name)
        kind = FUSE if ends.kind == "battery" else BREAKER
        if told and told.breaking and breaking_capacity(told.breaking.value, facts.rules, kind) is None and (kind, ends.bank) not in seen:
            seen.add((kind, ends.bank))
            text = f"{ends.name}: the fault of {told.breaking} is above every device there is (200 kA)."
            remedy = "Divide the bank, fuse each string of modules, or have the maker state the real short-circuit current; in AC ask the utility."
            most = largest_breaking_capacity(facts.rules, kind)
            yield stop("fault-above-every-device", told.breaking.key, text, remedy, "T4, S10", value=told.breaking, limit=most)


def of_unproven(taken: Sequence[Taken], sizings: Mapping[str, Sizing], unproven: Mapping[str, Live]) -> Iterator[Finding]:
    """Conductors behind a fuse whose let-through nobody knows, each by its name and size: none of them is silently too thin (S4)."""
    behind: dict[Ampere, list[str]] = {}
    for task in (one.choice.task for one in taken if one.chosen and one.ends.kind == "battery"):
        if task.rating and fuse_let_through(task.rating) is None:
            behind.setdefault(task.rating, []).append(task.name)
    for name, line in unproven.items():
        behind.setdefault(line.rating or 0.0, []).append(name)
    for rating, names in behind.items():
        told = ", ".join(f"{name} ({_size(sizings[name])})" for name in names)
        yield caution(
            "withstand-not-checked",
            f"plan.circuits[{names[0]}].conductor",
            f"The table of let-through ends below a {rated(rating)} fuse. Not proven behind it: that these stand a fault, and that it opens in time: {told}.",
            "Take the fuse's total I2t and its curve from its maker: hold k2 S2 of each against the one, its clearing fault against the other.",
            "S4, S8; IEC 60269-1",
            where=names,
        )


def _size(sizing: Sizing) -> str:
    many = f"{sizing.parallel} x " if sizing.parallel > 1 else ""
    return f"{many}{sizing.conductor or 'no size'}"


def of_poles(facts: Facts, poles: Sequence[Pole], paths: Sequence[FaultPath]) -> Iterator[Finding]:
    """What an earthed battery pole means, and whether every earth fault is opened by its fuse (S30)."""
    live = {"minus": "plus", "plus": "minus"}.get(facts.earthed_pole or "", "")
    if poles:
        banks = listed([str(pole.bond.bank) for pole in poles])
        places = listed([pole.bond.start for pole in poles])
        yield caution(
            "battery-pole-earthed",
            "storage.earthed",
            f"The {facts.earthed_pole} of {banks} is earthed: a first fault from {live} to any case is a short circuit. Only the fuses in {live} open it; between the cells and the bank's own fuse nothing does. The residual-current devices of the AC side do not see it.",
            f"Have the unit's maker confirm that it may work with its {facts.earthed_pole} earthed. One bond only, at {places}; the {live} lead up to its fuse as short as can be, and clear of metal.",
            "S30; NFPA 70 (NEC) 250.162 to 250.168, 240.22; IEC 60364-1 312 and IEC 60364-4-41 411.4 (from memory)",
            where=[str(pole.bond.bank) for pole in poles],
        )
    unknown = [path for path in paths if path.current is None]
    if unknown:
        names = listed([*dict.fromkeys(path.ends.name for path in unknown)])
        yield caution(
            "earth-fault-not-checked",
            f"{unknown[0].ends.key}.conductor",
            f"{names}: a length, a size or the bank's resistance is not known, so it is not checked that an earth fault opens the fuse.",
            "Give the places on the wall, or measured lengths, and the modules' resistance.",
            "S30, T4",
            unanswered=True,
            where=dict.fromkeys(path.ends.name for path in unknown),
        )
    yield from _uncleared(paths, live)


def _uncleared(paths: Sequence[FaultPath], live: str) -> Iterator[Finding]:
    """Earth faults too weak for their fuse; those of one rating come as one, told by the weakest."""
    weak: dict[Ampere, list[tuple[FaultPath, Figure]]] = {}
    for path in paths:
        rating = path.fuse.rating or 0.0
        gate = fuse_gate(rating, "most_5s") or last_gate("most_5s")
        if path.current and path.current.value < gate.value * (1 - 1e-9):
            weak.setdefault(rating, []).append((path, path.current))
    for rating, some in weak.items():
        gate = fuse_gate(rating, "most_5s") or last_gate("most_5s")
        _, current = min(some, key=lambda pair: pair[1].value)
        names = listed([*dict.fromkeys(path.ends.name for path, _ in some)])
        yield stop(
            "earth-fault-does-not-clear",
            current.key,
            f"{names}: an earth fault of the {live} draws {current}; the {rated(rating)} fuse of {some[0][0].fuse.name} surely opens within 5 s only from {shown(gate.value, 'A')}.",
            "Shorten or thicken the earth conductors and the bond, or take a smaller fuse or modules of lower resistance.",
            f"S30, T4; {gate.source}",
            value=current,
            limit=gate.value,
        )
