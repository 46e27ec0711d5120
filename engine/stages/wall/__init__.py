"""The wall: where everything hangs, the way of every circuit along its lane, its length, how many lie together.

A cable goes from its terminal down or up to its lane, along it, and to its other end, round what is
in its way. Like circuits are cut to one length, the longest among them.
"""

from __future__ import annotations

from dataclasses import replace

from engine.facts import CIRCUIT_KINDS, Facts
from engine.findings import Finding
from engine.quantities import Metre
from engine.stages.circuits import Circuits
from engine.stages.wall.checks import fitting, of_circuits, of_places
from engine.stages.wall.lengths import cut, lanes_of, own_length, run_of, spans_of
from engine.stages.wall.part import Wall, outline
from engine.stages.wall.places import hung, sides_taken, told
from engine.stages.wall.setting_out import set_out
from engine.stages.wall.size import sized
from engine.stages.wall.ways import ways


def wall(*, facts: Facts, circuits: Circuits) -> tuple[Wall, list[Finding]]:
    """Hang everything, route every circuit, and find its length."""
    known = hung(facts, circuits.spots)
    there = {place.name for place in known.places}
    missing = [spot for name, spot in circuits.spots.items() if name not in there]
    width, height = sized(facts, known, missing, (round(lane.value * 1000) for _, lane in lanes_of(facts, circuits)))
    added = set_out(facts, outline(width, height), known, missing).places
    lanes: dict[str, Metre] = {kind: lane.value for kind in CIRCUIT_KINDS if (lane := facts.route_figure(kind, None, "lane"))}
    assumed = (*known.assumed, *(told(facts, place) for place in added), *sides_taken(facts, circuits.spots.values()))
    unit = facts.answers.unit
    bare = Wall(width, height, (*known.places, *added), {}, lanes, assumed, terminals=unit.terminals, port_side=unit.port_side)
    found = ways(facts, bare, circuits)
    keys = {place.name: place.key for place in bare.places}
    own = {ends.name: own_length(facts, keys, ends, found.get(ends.name)) for ends in circuits.circuits}
    spans = spans_of(facts, found, circuits)
    cuts = {ends.name: cut(facts, ends, own, circuits) for ends in circuits.circuits}
    runs = {ends.name: run_of(facts, ends, cuts, found.get(ends.name, ()), spans, circuits) for ends in circuits.circuits}
    fit = fitting(facts, bare)
    done = replace(bare, runs=runs, astray=fit.astray)
    return done, [*known.findings, *of_places(facts, done, fit.findings), *of_circuits(facts, done, circuits, own)]
