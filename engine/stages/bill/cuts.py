"""Every single piece of conductor that is cut: which circuit, which pole, size, colour, length, and what its two ends are bolted to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

from engine.facts import Facts
from engine.stages.bill.part import Cut, Joint
from engine.stages.circuits import Circuits, Ends, lines_of, strings_of
from engine.stages.conductors.part import Conductors, Sizing
from engine.stages.switchgear import GearKind, Switchgear
from engine.stages.wall.part import Wall
from engine.tables import table
from engine.tables.sizes import Size
from engine.workings import Figure

ON_THE_BAR = "on the bar"
HOLDER, ISOLATOR = "fuse holder", "isolator"
_CALLED = {GearKind.FUSE: HOLDER, GearKind.ISOLATOR: ISOLATOR, GearKind.THERE: "breaker"}
_AT = {"unit": "unit", "bank": "post", "bar": "bar", "load-board": "board", "incoming-board": "board"}


def cuts(*, facts: Facts, circuits: Circuits, conductors: Conductors, switchgear: Switchgear, wall: Wall, piece: Figure) -> tuple[Cut, ...]:
    """The cuts of every circuit, pole by pole, parallel conductors each on their own, from joint to joint."""
    colours = conductor_colours(facts)
    found = []
    for ends in circuits.circuits:
        sizing, run = conductors.of.get(ends.name), wall.runs.get(ends.name)
        for pole, size, number, beside in _poles(facts, ends, sizing):
            cable = sizing.cable if sizing else None
            for start, end, long in _pieces(facts, circuits, switchgear, ends, pole):
                length = (run.length if run else None) if long else piece
                cut = Cut(ends.name, ends.kind, ends.tag, pole, size, colours[pole], length, cable, start, end, number, beside)
                found.append(cut)
        found += _fused_strings(facts, switchgear, ends, sizing, colours, piece)
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


def _pieces(facts: Facts, circuits: Circuits, switchgear: Switchgear, ends: Ends, pole: str) -> Iterator[tuple[Joint, Joint, bool]]:
    """From joint to joint along a pole, and whether a piece is as long as the way of the circuit: what sits in it sits at one of its ends.

    Devices of a board sit on its bars, or are joined to them by what the board's maker gives with them.
    """
    start, end = _spot(circuits, ends, ends.start), _spot(circuits, ends, ends.end)
    gear = [Joint(_CALLED.get(g.kind, g.kind.value), "") for g in switchgear.of(ends) if pole in g.poles]
    if ends.kind == "earth" or not gear:
        joints, long = [start, end], 0
    elif ends.kind == "battery":
        # A holder on its bar has no cable between; on the post of a bank nobody bolts one.
        merged = facts.answers.storage.holder == ON_THE_BAR and start.what == "bar" and gear[0].what == HOLDER
        joints, long = [*([] if merged else [start]), *gear, end], -1
    elif ends.kind == "solar":
        joints, long = [gear[-1], end], -1
    elif ends.kind == "load":
        joints, long = [start, *gear], 0
    else:
        joints, long = [*gear, end], -1
    pieces = [*pairwise(joints)]
    for number, (one, other) in enumerate(pieces):
        yield one, other, number == long % len(pieces)


def _spot(circuits: Circuits, ends: Ends, name: str) -> Joint:
    what = circuits.spots[name].what
    if ends.kind == "earth" and not (ends.bond and name == ends.start) and what in ("unit", "bank", "bar"):
        return Joint("case", name)
    return Joint(_AT.get(what, what.replace("-", " ")), name)


def _fused_strings(
    facts: Facts, switchgear: Switchgear, ends: Ends, sizing: Sizing | None, colours: Mapping[str, str], piece: Figure
) -> Iterator[Cut]:
    """From the fuse holder of each string to the isolator at which strings meet, as thick as what they feed together."""
    fuse = switchgear.fuse(ends) if ends.kind == "solar" else None
    size, cable = (sizing.conductor, sizing.cable) if sizing else (None, None)
    for string in range(strings_of(facts) if fuse else 0):
        for pole in ("plus", "minus"):
            yield Cut(
                ends.name, ends.kind, ends.tag, pole, size, colours[pole], piece, cable,
                Joint(HOLDER, ""), Joint(ISOLATOR, ""), string + 1, strings_of(facts),
            )  # fmt: skip


def _poles(facts: Facts, ends: Ends, sizing: Sizing | None) -> Iterator[tuple[str, Size | None, int, int]]:
    """Each conductor of a circuit: its pole and size, which it is of how many beside each other."""
    size = sizing.conductor if sizing else None
    # A pair for each solar input, and all of its strings in it (S11).
    many = (max(1, sizing.parallel) if sizing else 1) * (facts.trackers if ends.kind == "solar" else 1)
    sizes: list[tuple[str, Size | None]]
    if ends.kind == "earth":
        sizes = [("PE", size)]
    elif ends.kind in ("battery", "solar"):
        sizes = [("plus", size), ("minus", size)]
    else:
        sizes = [*((line, size) for line in lines_of(facts, ends)), ("N", sizing.neutral if sizing and sizing.neutral else size)]
    for number in range(1, many + 1):
        yield from ((pole, of, number, many) for pole, of in sizes)
    if ends.kind in ("load", "incoming") and sizing and sizing.earth:
        yield "PE", sizing.earth, 1, 1
