"""What the strings of panels are joined by."""

from __future__ import annotations

from collections.abc import Iterator

from engine.facts import Facts
from engine.stages.bill.part import Line
from engine.stages.circuits import Circuits, strings_of
from engine.stages.conductors.part import Conductors


def panels(facts: Facts, circuits: Circuits, conductors: Conductors) -> Iterator[Line]:
    """Connectors, one pair per string end, caps while they are parted, and a pair of conductors for each string down to where it ends (S11)."""
    for ends in circuits.circuits:
        if ends.kind != "solar":
            continue
        strings = strings_of(facts)
        yield Line("string connector", "pair, of the panels' own make", 2 * strings, 0, False, (ends.name,))
        yield Line("connector cap", "for a parted connector, plus or minus", 2 * strings, 0, False, (ends.name,))
        sizing = conductors.of.get(ends.name)
        # As thick as the pair of them all: safe whatever the others drive back through a string.
        size = f"{sizing.conductor} {sizing.cable}" if sizing and sizing.conductor else "a size not computed"
        where = "where strings meet" if facts.strings_on_tracker > 1 else f"the {ends.start}"
        told = f"plus and minus of one string to {where}, {size}, length by the roof: measure"
        yield Line("string pair", told, strings, 0, False, (ends.name,))
