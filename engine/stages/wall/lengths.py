"""How long every circuit is, and how many lie together: measured, or along its way; like circuits cut alike (S17, S18)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Literal

from engine.facts import Facts
from engine.formulas.lengths import cut_length, length_spread
from engine.site.wall import Carries
from engine.solvers.separation import Point, length
from engine.stages.circuits import Circuits, Ends
from engine.stages.wall.part import Run
from engine.workings import Figure, altered, chosen, work

_AXES: tuple[Literal["x", "y"], ...] = ("x", "y")
Spans = Mapping[str, tuple[int | None, bool, tuple[tuple[int, int], ...]]]  # by circuit: its lane, whether it is loaded, its stretches


def own_length(facts: Facts, keys: Mapping[str, str], ends: Ends, path: Sequence[Point] | None) -> Figure | None:
    """The length of one circuit by itself: measured, or along the wall with what goes inside the gear."""
    key, to = ends.key, ends.to
    if measured := facts.route_figure(ends.kind, to, "length"):
        return altered(measured, key=f"{key}.length", of=(measured,))
    extra = facts.route_figure(ends.kind, to, "extra")
    if path is None or extra is None:
        return None
    spots = [f for name in dict.fromkeys((ends.start, ends.end)) for axis in _AXES if (f := facts.place(keys.get(name, ""), axis))]
    lane = facts.route_figure(ends.kind, to, "lane")
    way = f"along the wall from {ends.start} to {ends.end}" if len(path) > 1 else f"within the {ends.start}"
    along = chosen(f"{key}.path", length(path) / 1000, "m", way, "S19: rectilinear, in its lane", [*spots, *([lane] if lane else [])])
    return work(f"{key}.length", cut_length, path=along, extra=extra)


def measured(facts: Facts, ends: Ends) -> bool:
    """Whether somebody measured the circuit, its length or its resistance."""
    return bool(facts.route_figure(ends.kind, ends.to, "length") or facts.route_figure(ends.kind, ends.to, "resistance"))


def lanes_of(facts: Facts, circuits: Circuits) -> tuple[tuple[Carries, Figure], ...]:
    """Kind and height of every lane that something runs in, the data cables' own last; each once."""
    wanted: tuple[tuple[Carries, str | None], ...] = (*((ends.kind, ends.to) for ends in circuits.circuits), ("comms", None))
    return tuple(dict.fromkeys((kind, lane) for kind, to in wanted if (lane := facts.route_figure(kind, to, "lane"))))


def cut(facts: Facts, ends: Ends, own: Mapping[str, Figure | None], circuits: Circuits) -> Figure | None:
    """The length a circuit is cut to: its own, or the longest of its like circuits where it was not measured."""
    mine = own[ends.name]
    others = [(other.name, figure) for other in circuits.like(ends) if (figure := own[other.name])]
    if mine is None or measured(facts, ends) or not others:
        return mine
    name, longest = max(others, key=lambda pair: pair[1].value)
    if longest.value <= mine.value:
        return mine
    by_itself = altered(mine, key=f"{ends.key}.own_length")
    return chosen(
        f"{ends.key}.length", longest.value, "m", f"cut to the longest of its like circuits, {name}", "T11, S18", [by_itself, longest]
    )


def run_of(facts: Facts, ends: Ends, cuts: Mapping[str, Figure | None], way: Sequence[Point], spans: Spans, circuits: Circuits) -> Run:
    """The circuit as it is cut and laid."""
    alike = [figure for other in circuits.like(ends) if (figure := cuts[other.name])]
    spread = work(f"{ends.key}.spread", length_spread, lengths=alike) if len(alike) > 1 and any(f.value for f in alike) else None
    grouped = facts.grouped(ends.kind, ends.to) or _together(ends.name, spans)
    path = tuple((x / 1000, y / 1000) for x, y in way)
    bank = ends.bank if ends.kind == "battery" else None
    return Run(cuts[ends.name], path, grouped, measured(facts, ends), spread, ends.kind, ends.to, bank)


def _along(path: Sequence[Point], lane: int | None) -> Iterator[tuple[int, int]]:
    """The stretches of a path in its lane."""
    for a, b in pairwise(path):
        if a[1] == b[1] == lane and a[0] != b[0]:
            yield min(a[0], b[0]), max(a[0], b[0])


def spans_of(facts: Facts, paths: Mapping[str, Sequence[Point]], circuits: Circuits) -> Spans:
    """The stretches of every circuit in its lane, with the lane; earth conductors carry no load and count for nobody."""
    lanes = {ends.name: (facts.lane(ends.kind, ends.to), ends.kind != "earth") for ends in circuits.circuits if ends.name in paths}
    return {name: (lane, loaded, tuple(_along(paths[name], lane))) for name, (lane, loaded) in lanes.items()}


def _together(name: str, spans: Spans) -> int:
    """The most loaded circuits that lie side by side anywhere along this one's stretch of its lane."""
    if name not in spans:
        return 1
    lane, _, mine = spans[name]
    others = [span for other, loaded, some in spans.values() if loaded and other == lane for span in some]
    # The count changes only where a stretch begins, so it is taken there and at the start of our own.
    starts = [x for low, high in mine for x in (low, *(o for o, _ in others if low < o < high))]
    return max((sum(low <= x < high for low, high in others) for x in starts), default=1) or 1
