"""Whether what was chosen can be made and bought: terminals, lugs, joints, protective conductors, cables of that voltage."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from engine.facts import Facts
from engine.findings import Finding, caution
from engine.site.keys import QuantityKey, RouteWord
from engine.stages.circuits import Circuits, Ends
from engine.stages.conductors.cables import Made
from engine.stages.conductors.part import Sizing
from engine.stages.wall.part import Wall
from engine.tables import table
from engine.tables.conductors import ALUMINIUM, smallest_of
from engine.tables.sizes import Size, named
from engine.text import listed


def _at_unit(circuits: Circuits, sizings: Mapping[str, Sizing]) -> Iterator[tuple[Ends, Sizing, Size, QuantityKey]]:
    """Every circuit whose conductors end in a terminal of a unit, with its size and the key of the largest that goes in."""
    for ends in circuits.circuits:
        sizing = sizings.get(ends.name)
        if ends.tag and sizing and sizing.conductor and ends.kind in ("battery", "load", "incoming"):
            yield ends, sizing, sizing.conductor, "unit.dc_terminal_max" if ends.kind == "battery" else "unit.ac_terminal_max"


def too_large(facts: Facts, circuits: Circuits, sizings: Mapping[str, Sizing]) -> frozenset[str]:
    """The circuits whose conductors, one or several, the terminal of their unit does not take (S12)."""
    return frozenset(
        ends.name
        for ends, sizing, size, limit in _at_unit(circuits, sizings)
        if (most := facts.value(limit)) is not None and (size.area > most * (1 + 1e-3) or sizing.parallel > 1)
    )


def of_terminals(facts: Facts, wall: Wall, circuits: Circuits, sizings: Mapping[str, Sizing], crowded: frozenset[str]) -> Iterator[Finding]:
    """A conductor that its terminal or stud does not take: the size stands (S12); `crowded` as `too_large` gives it."""
    seen = set()
    for ends, sizing, size, limit in _at_unit(circuits, sizings):
        most, mark = facts.value(limit), (ends.kind, size, sizing.parallel)
        if mark in seen:
            continue
        seen.add(mark)
        if most is None:
            yield caution(
                "terminal-unanswered",
                limit,
                f"The largest conductor of the unit's {'battery' if ends.kind == 'battery' else 'AC'} terminals is not answered: whether they take {size} is not checked.",
                "It stands beside the terminal in the manual.",
                "T3, S12",
                unanswered=True,
            )
        elif ends.name in crowded:
            yield _too_small(facts, ends, sizing, most, _first_answer(facts, wall, ends))
        if ends.kind == "battery":
            yield from _lug(facts, ends, size)


def _first_answer(facts: Facts, wall: Wall, ends: Ends) -> str:
    """What to answer before anything else: how the cables run, where that was taken and may ask for more than it must."""
    own = [route for route in facts.answers.routes if route.carries == ends.kind and route.to == ends.to]
    asked: tuple[RouteWord, ...] = ("method", "insulation")
    guessed: list[tuple[str, str]] = [
        (f"routes[{ends.kind}].{name}", str(facts.route(ends.kind, ends.to, name)))
        for name in asked
        if (ends.kind, name) in facts.of_kinds and all(getattr(route, name) is None for route in own)
    ]
    run = wall.runs.get(ends.name)
    if run and run.grouped > 1 and facts.grouped(ends.kind, ends.to) is None:
        guessed.append((f"routes[{ends.kind}].grouped", f"{run.grouped} together"))
    if not guessed:
        return ""
    names, words = (", ".join(some) for some in zip(*guessed, strict=True))
    return f"First answer how the {ends.kind} cables run ({names}): {words}, as assumed, may ask for more than they need. Then, if it still does not fit: "


def _too_small(facts: Facts, ends: Ends, sizing: Sizing, most: float, first: str) -> Finding:
    assert sizing.conductor is not None
    many = f"{sizing.parallel} x " if sizing.parallel > 1 else ""
    half = smallest_of(sizing.conductor.area / 2, facts.rules, facts.laid(ends.kind, ends.to)[2])
    two = (
        f"two conductors of {half} or more each, sized again with both in the group, or "
        if half and half.area <= most * 1.001 and sizing.parallel == 1
        else ""
    )
    text = f"{ends.name} needs {many}{sizing.conductor}; the unit's terminal takes at most {named(most, facts.rules)}. The plan does not take a thinner one for that."
    remedy = f"{first}{'use' if first else 'Use'} {two}an adaptor or a short bar that takes {many}{sizing.conductor} and fits the terminal."
    return caution(
        "terminal-too-small",
        f"{ends.key}.conductor",
        text,
        remedy,
        "S12",
        value=sizing.parallel * sizing.conductor.area,
        limit=most,
        unit="m**2",
    )


def _lug(facts: Facts, ends: Ends, size: Size) -> Iterator[Finding]:
    """A lug of that size, or of the next larger in the table, that is not made for the unit's stud."""
    stud = facts.answers.unit.dc_stud
    if not (stud and stud.startswith("M")):
        return
    row = next((row for row in table("lugs").rows if isinstance(most := row["to"], float) and size.area <= most * 1.001), None)
    if row and stud not in str(row["studs"]).split():
        yield caution(
            "lug-not-made",
            f"{ends.key}.conductor",
            f"{ends.name}: a lug for {size} with a hole for {stud} is often not made (usual: {row['studs']}).",
            "Plan a short bar between, and never drill a lug out.",
            table("lugs").told,
        )


def of_protective(circuits: Circuits, sizings: Mapping[str, Sizing]) -> Iterator[Finding]:
    """A circuit that has conductors but no protective conductor of one size that would do."""
    for ends in circuits.circuits:
        sizing = sizings.get(ends.name)
        if sizing and not sizing.earth and (ends.kind == "earth" or (ends.kind in ("load", "incoming") and sizing.conductor)):
            text = f"{ends.name}: no single protective conductor is large enough, or the device is above the end of its table."
            yield caution(
                "earth-not-sized",
                f"{ends.key}.earth",
                text,
                "Run one protective conductor beside each set of line conductors, and have it sized.",
                "T5, S8",
            )


def of_aluminium(circuits: Circuits, sizings: Mapping[str, Sizing]) -> Iterator[Finding]:
    """Joints of aluminium are made otherwise than those of copper, and no lead of it bends (S14, S35)."""
    some = [e for e in circuits.circuits if (s := sizings.get(e.name)) and s.conductor and s.cable and s.cable.metal == ALUMINIUM]
    if some:
        yield caution(
            "aluminium-joints",
            f"{some[0].key}.conductor",
            f"In aluminium: {listed([ends.name for ends in some])}. Its skin does not conduct and it creeps under a screw: a joint made as for copper gets hot.",
            "Lugs and terminals marked AL/CU for its size, brushed under joint compound, torqued with a tool to their maker's figure, and again after the first weeks. Ask the unit's maker whether its terminals take aluminium.",
            "NFPA 70 (NEC) 110.14; common practice, no source",
            where=[ends.name for ends in some],
        )
    if leads := [ends for ends in some if ends.kind == "battery"]:
        yield caution(
            "aluminium-battery-leads",
            f"{leads[0].key}.conductor",
            f"Battery leads in aluminium: {listed([ends.name for ends in leads])}. No flexible cable is made of it; a stiff one works on the unit's stud until it is loose.",
            "Take copper, class 5 or finer, at least between the bar and each unit.",
            "S14, S35; common practice, no source",
            where=[ends.name for ends in leads],
        )


def of_cables(circuits: Circuits, made: Mapping[str, Made]) -> Iterator[Finding]:
    """Circuits whose voltage is not known, or above every cable there is."""
    names = [ends.name for ends in circuits.circuits if ends.name in made and not made[ends.name].proven]
    if names:
        first = made[names[0]]
        yield caution(
            "cable-voltage-unproven",
            first.voltage_class.key,
            f"The highest voltage of {listed(names)} is not known, or above every cable there is: that {first.cable.voltage_class} insulation will do is not proven.",
            "Answer the voltages that the other findings ask for; above 1000 V have the cable's maker name its class for direct current.",
            "S35",
            where=names,
        )
