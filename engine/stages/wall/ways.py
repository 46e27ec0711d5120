"""The way of every circuit: down or up to its lane, along it, and to its other end, round what is in between."""

from __future__ import annotations

from engine.facts import Facts
from engine.solvers import routes
from engine.solvers.separation import Point
from engine.stages.circuits import Circuits, Ends
from engine.stages.wall.part import Place, Wall


def ways(facts: Facts, wall: Wall, circuits: Circuits) -> dict[str, tuple[Point, ...]]:
    """The way of every circuit that has one; circuits that share a lane and an end are searched together."""
    here = [place for place in wall.places if place.what != "obstacle"]
    number = {place.name: k for k, place in enumerate(here)}
    ports = [_end(wall, place) for place in here]
    obstacles = [place.rect for place in wall.places if place.what == "obstacle"]
    groups: dict[tuple[int | None, str], list[Ends]] = {}
    for ends in circuits.circuits:
        hub = ends.end if ends.start == ends.tag else ends.start
        groups.setdefault((facts.lane(ends.kind, ends.to), hub), []).append(ends)
    grids: dict[int | None, routes.RouteGrid] = {}
    paths = {}
    for (lane, hub), some in groups.items():
        if lane not in grids:
            grids[lane] = routes.RouteGrid(wall.outline, ports, obstacles=obstacles, lane=lane, lane_first=True)
        found = grids[lane].routes(number[hub], {number[e.end if e.start == hub else e.start] for e in some})
        for ends in some:
            route = found.get(number[ends.end if ends.start == hub else ends.start])
            if route:
                paths[ends.name] = route.points if ends.start == hub else route.points[::-1]
    return paths


def _end(wall: Wall, place: Place) -> routes.CableEnd:
    """Where power comes in. To a unit of unknown terminals from above or below, so that data may leave it sideways."""
    if place.what == "unit":
        return routes.CableEnd(place.entry(wall.terminals), place.rect, (1,))
    return routes.CableEnd(place.at, place.rect)
