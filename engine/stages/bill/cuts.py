"""Every single conductor that is cut from a reel: which circuit, which pole, size, colour, length."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from engine.facts import Facts
from engine.stages.bill.part import Cut
from engine.stages.circuits import Circuits, Ends, lines_of
from engine.stages.conductors.part import Conductors, Sizing
from engine.stages.wall.part import Wall
from engine.tables import table
from engine.tables.sizes import Size


def cuts(*, facts: Facts, circuits: Circuits, conductors: Conductors, wall: Wall) -> tuple[Cut, ...]:
    """The cuts of every circuit, pole by pole, parallel conductors each on their own."""
    colours = conductor_colours(facts)
    found = []
    for ends in circuits.circuits:
        sizing, run = conductors.of.get(ends.name), wall.runs.get(ends.name)
        for pole, size in _poles(facts, ends, sizing):
            cable = sizing.cable if sizing else None
            found.append(Cut(ends.name, ends.kind, ends.tag, pole, size, colours[pole], run.length if run else None, cable))
    return tuple(found)


def conductor_colours(facts: Facts) -> Mapping[str, str]:
    """The colour of each pole by the site's rules and voltage."""
    voltage = facts.output_voltage.value
    rows = [row for row in table("conductor_colours").rows if row["rules"] == facts.rules]
    fitting = [row for row in rows if isinstance(above := row["above"], float) and voltage > above] or rows[:1]
    colours = {column: str(cell) for column, cell in fitting[-1].items() if column not in ("rules", "above")}
    if facts.rules == "nec" and facts.earthed_pole:
        colours[facts.earthed_pole] = colours["N"]  # 200.6: a grounded conductor is white or gray
    return colours


def _poles(facts: Facts, ends: Ends, sizing: Sizing | None) -> Iterator[tuple[str, Size | None]]:
    size = sizing.conductor if sizing else None
    parallel = max(1, sizing.parallel) if sizing else 1
    if ends.kind == "earth":
        yield from [("PE", size)] * parallel
    elif ends.kind == "battery":
        yield from [("plus", size), ("minus", size)] * parallel
    elif ends.kind == "solar":
        # A pair for each solar input, and all of its strings in it (S11).
        yield from [("plus", size), ("minus", size)] * (parallel * facts.trackers)
    else:
        neutral = sizing.neutral if sizing and sizing.neutral else size
        yield from [(line, size) for line in lines_of(facts, ends)] * parallel
        yield from [("N", neutral)] * parallel
        if sizing and sizing.earth:
            yield "PE", sizing.earth
