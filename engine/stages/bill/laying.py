"""What carries the cables: conduit, trunking or tray by the method of their route, cleats where they lie open."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from engine.facts import Facts
from engine.formulas.lengths import cut_length, with_allowance
from engine.stages.bill.part import Cut, Line
from engine.stages.circuits import Circuits, Ends
from engine.stages.conductors.part import Conductors
from engine.stages.wall.part import Run, Wall
from engine.tables import table
from engine.workings import Figure, chosen, work

_OPEN = ("cleat", "tray")  # what cables are fastened on by cleats
_FILLED = {"iec": "its maker", "nec": "NFPA 70 (NEC) chapter 9 table 1"}
_WITH = {"tray": "supports and bends", "trunking": "fixings, bends and lids"}


def laid(
    facts: Facts, circuits: Circuits, conductors: Conductors, wall: Wall, pieces: Sequence[Cut], allowance: Figure
) -> tuple[list[Line], list[Figure]]:
    """By kind of circuit and method; what begins and ends on one board is carried by the board."""
    groups: dict[tuple[str, str], list[Ends]] = {}
    for ends in circuits.circuits:
        if ends.start != ends.end:
            groups.setdefault((ends.kind, _method(facts, conductors, ends)), []).append(ends)
    lines: list[Line] = []
    figures: list[Figure] = []
    for (kind, method), some in groups.items():
        row = next(row for row in table("laying").rows if (row["rules"], row["method"]) == (facts.rules, method))
        way, stock = str(row["way"]), row["length"]
        if isinstance(stock, float):
            along = _along(f"plan.bill.{way}[{kind} {method}]", some, wall, allowance)
            figures += along[-1:]
            lines.append(_lengths(facts, way, stock, some, along, pieces))
        if way in _OPEN:
            lines += _cleats(facts, some, wall)
    return lines, figures


def _method(facts: Facts, conductors: Conductors, ends: Ends) -> str:
    """How a circuit is laid: as answered, or as it was sized for."""
    taken = next((one.value for one in conductors.assumed if one.key == f"routes[{ends.kind}].method"), None)
    return taken if taken and facts.assumes_method(ends.kind, ends.to) else facts.laid(ends.kind, ends.to)[0]


def _along(key: str, some: Sequence[Ends], wall: Wall, allowance: Figure) -> tuple[Figure, ...]:
    """The way that these circuits take, each stretch of the wall once, and with the allowance; none where a way is not known."""
    runs = [run for ends in some if (run := wall.runs.get(ends.name))]
    if len(runs) < len(some) or not all(run.length or len(run.path) > 1 for run in runs):
        return ()
    apart = [run.length.value for run in runs if len(run.path) < 2 and run.length]  # measured, and nowhere on the wall
    metres = _once(runs) + max(apart, default=0.0)
    note = "the ways on the wall, each stretch once, estimated from its lanes"
    way = chosen(f"{key}.way", metres, "m", note, "S19: rectilinear, in its lane", [run.length for run in runs if run.length])
    return way, work(key, with_allowance, length=way, allowance=allowance)


def _once(runs: Sequence[Run]) -> float:
    """Length of all stretches of some paths, what lies side by side counted once."""
    stretches: dict[tuple[bool, float], list[tuple[float, float]]] = {}
    for run in runs:
        for (x, y), (u, v) in pairwise(run.path):
            level = y == v
            at, ends = (y, (min(x, u), max(x, u))) if level else (x, (min(y, v), max(y, v)))
            stretches.setdefault((level, at), []).append(ends)
    return sum(_covered(some) for some in stretches.values())


def _covered(some: Sequence[tuple[float, float]]) -> float:
    total, reached = 0.0, -math.inf
    for low, high in sorted(some):
        total += max(0.0, high - max(low, reached))
        reached = max(reached, high)
    return total


def _lengths(facts: Facts, way: str, stock: float, some: Sequence[Ends], along: Sequence[Figure], pieces: Sequence[Cut]) -> Line:
    names = {ends.name for ends in some}
    own = [cut for cut in pieces if cut.circuit in names and not all(joint.gear for joint in cut.joints)]
    sizes = [cut.size for cut in own if cut.size]
    largest = max(sizes, key=lambda size: size.area, default=None)
    how_many = f"for up to {len(own)} {some[0].kind} conductors" + (f" of {largest} or less" if largest else "")
    fill = "" if way == "tray" else f", filled as {_FILLED[facts.rules]} allows"
    about = facts.metres(cut_length(along[-1].value, 0.0)) if along else ""
    told = f"about {about} along the wall, estimated from its lanes" if along else "length to be measured"
    number = max(1, math.ceil(along[-1].value / stock - 1e-9)) if along else 1
    places = tuple(ends.name for ends in some)
    return Line(
        way,
        f"lengths of {facts.metres(stock)}: {how_many}{fill}, with {_WITH.get(way, 'fixings and bends')}; {told}",
        number,
        0,
        False,
        places,
    )


def _cleats(facts: Facts, some: Sequence[Ends], wall: Wall) -> Iterator[Line]:
    spacing = {str(row["kind"]): row["spacing"] for row in table("cleat_spacing").rows}
    for ends in some:
        run, space = wall.runs.get(ends.name), spacing[ends.kind]
        if run and run.length and isinstance(space, float):
            number = math.ceil(run.length.value / space) + 1
            yield Line("cleat", f"for {ends.kind} cable, every {facts.metres(space)} or closer", number, 0, False, (ends.name,))
