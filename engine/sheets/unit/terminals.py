"""What is landed on a unit: every earth first, then circuit by circuit, as it is cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engine.facts import Facts
from engine.planner import Planned
from engine.quantities import told
from engine.sheets.unit.parts import Item, Terminal, Terminals, Told
from engine.stages.bill.part import Cut
from engine.tables.conductors import ALUMINIUM
from engine.workings import Figure

_SIGNS = {"plus": "+", "minus": "-"}


def landed(planned: Planned, tag: str) -> Iterator[Item]:
    """The terminals, and what cable and fuse must say of themselves."""
    parts = planned.parts
    own = [cut for cut in parts.bill.cuts if cut.tag == tag and cut.lands_on(tag)]
    pieces = sorted(own, key=lambda cut: cut.pole != "PE")  # every earth first
    if not pieces:
        yield Told("Not computed: the planner decides what is landed where. Land nothing.")
        return
    groups: dict[tuple[str, bool], list[Cut]] = {}
    for cut in pieces:
        groups.setdefault((cut.circuit, cut.pole == "PE"), []).append(cut)
    rows = tuple(_row(planned, tag, some) for some in groups.values())
    yield Terminals(rows)
    manual = " 'Manual': the maker's torque." if any(row.torque == "manual" for row in rows) else ""
    small = [] if all(row.fits for row in rows) else ["* DOES NOT FIT the unit's terminal: adaptor (or two conductors: see the plan)."]
    yield Told(" ".join([*small, *_protected(planned, tag), *_printed(pieces), f"Colours never tell: measure.{manual}"]))


def _row(planned: Planned, tag: str, cuts: Sequence[Cut]) -> Terminal:
    parts, facts, cut = planned.parts, planned.facts, cuts[0]
    circuit = next(circuit for circuit in parts.circuits.circuits if circuit.name == cut.circuit)
    by_pole = {pole: [cut for cut in cuts if cut.pole == pole] for pole in dict.fromkeys(cut.pole for cut in cuts)}
    end, torque = _end(facts, cut)
    # A group of circuits that the bill does not cut alike would be told by its first pole: they are cut alike.
    many = f"{len(by_pole[cut.pole])} x " if len(by_pole[cut.pole]) > 1 and cut.size else ""
    colours = " and ".join(dict.fromkeys(some[0].colour.replace("-and-", "/") for some in by_pole.values()))
    fits = cut.pole == "PE" or cut.circuit not in parts.conductors.too_large
    goes = " and ".join(_SIGNS.get(pole, pole) for pole in by_pole)
    return Terminal(
        cut.kind.upper(),
        tuple("L" if pole.startswith("L") else _SIGNS.get(pole, pole) for pole in by_pole),
        f"{circuit.start if circuit.end == tag else circuit.end}, {goes}",
        f"{many}{cut.size or 'NOT COMPUTED'} {colours}{'' if fits else '*'}",
        end,
        torque,
        fits,
    )


def _end(facts: Facts, cut: Cut) -> tuple[str, str]:
    """What is on the end of a conductor at the unit, and how tight it goes; under the NEC a terminal is listed for what goes into it."""
    stud = facts.answers.unit.dc_stud
    dc, ac = (_narrow(facts, facts.figure(key)) for key in ("unit.dc_torque", "unit.ac_torque"))
    plain = "as listed" if facts.rules == "nec" else "ferrule"
    ends = {"battery": (f"lug {stud}" if stud else "lug: measure", dc), "earth": ("lug: measure", "manual"), "solar": ("connector", "-")}
    end, torque = ends.get(cut.kind, (plain, ac))
    if cut.cable and cut.cable.metal == ALUMINIUM:
        end = "AL/CU pin" if end == plain else f"AL/CU {end}"
    return end, torque


def _narrow(facts: Facts, torque: Figure | None) -> str:
    """A torque for a narrow column: under the NEC in its customary unit alone, since the tools tell both."""
    return told(torque.value, torque.unit, facts.rules, short=True) if torque else "manual"


def _protected(planned: Planned, tag: str) -> Iterator[str]:
    """The fuses of a unit's circuits, each with its place: what opens a circuit is told where it is locked."""
    own = [ends for ends in planned.parts.circuits.circuits if ends.tag == tag]
    fuses = [(ends, gear) for ends in own if (gear := planned.parts.switchgear.fuse(ends))]
    for ends, gear in fuses:
        yield f"{ends.kind.upper()} goes through its isolator and a fuse at {gear.place} ({gear.rated}; not fitted yet)."


def _printed(pieces: Sequence[Cut]) -> Iterator[str]:
    """What the print on each conductor must say."""
    alike: dict[str, list[str]] = {}
    for cut in pieces:
        if cut.cable and cut.size:
            alike.setdefault(str(cut.cable), []).append(cut.kind.upper())
    if alike:
        told = [f"{', '.join(dict.fromkeys(kinds))}: {cable}" for cable, kinds in alike.items()]
        yield f"Read the print on every cable. {'; '.join(told)}. Any other cable burns: do not land it."
