"""The wall: where everything hangs, the way of every circuit along its lane, its length, how many lie together.

A cable goes from its terminal down or up to its lane, along it, and to its other end, round what is
in its way. Like circuits are cut to one length, the longest among them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from engine.facts import CIRCUIT_KINDS, Assumed, Facts
from engine.findings import Finding, caution, note, stop
from engine.formulas.lengths import cut_length, length_spread
from engine.quantities import Metre, shown
from engine.site.wall import Carries
from engine.solvers import routes
from engine.solvers.separation import Point, Rect, length
from engine.stages.circuits import Circuits, Ends
from engine.stages.laying.places import Place, fitting, hung, listed, told
from engine.stages.laying.setting_out import set_out
from engine.stages.units import Units
from engine.workings import Figure, chosen, work


@dataclass(frozen=True)
class Run:
    """One circuit on the wall. `length` is one way, as cut; `path` runs from its start to its end in metres.

    `grouped` circuits lie together, this one included; `measured`: its length or resistance was measured;
    `spread` is how far its like circuits' lengths lie apart, of their mean; `to` is what `routes.to` calls it.
    """

    length: Figure | None
    path: tuple[tuple[Metre, Metre], ...]
    grouped: int
    measured: bool
    spread: Figure | None
    kind: Carries
    to: str


@dataclass(frozen=True)
class Wall:
    """The wall as planned; `lanes` are heights by kind of circuit, comms too; `astray` names what cannot hang where it is planned."""

    width: Metre
    height: Metre
    places: tuple[Place, ...]
    runs: Mapping[str, Run]
    lanes: Mapping[str, Metre]
    assumed: tuple[Assumed, ...]
    astray: frozenset[str] = frozenset()

    def place(self, name: str) -> Place | None:
        """The place of that name."""
        return next((place for place in self.places if place.name == name), None)

    @property
    def outline(self) -> Rect:
        """The wall in whole millimetres."""
        return Rect(0, 0, round(self.width * 1000), round(self.height * 1000))


_Spans = Mapping[str, tuple[int | None, bool, tuple[tuple[int, int], ...]]]  # by circuit: its lane, whether it is loaded, its stretches

# Above this a wall is no longer one wall that a crew looks at; drawing and searching it helps nobody.
MOST_UNITS = 48


def wall(*, facts: Facts, units: Units, circuits: Circuits) -> tuple[Wall, list[Finding]]:
    """Hang everything, route every circuit, and find its length."""
    if len(units.tags) > MOST_UNITS:
        return _unplanned(facts, units, circuits)
    names = list(dict.fromkeys(end for circuit in circuits.circuits for end in (circuit.start, circuit.end)))
    known = hung(facts, [*names, *units.tags])
    there = {place.name for place in known.places}
    added = set_out(facts, known.places, [n for n in dict.fromkeys((*names, *units.tags)) if n not in there], known.begun)
    lanes: dict[str, Metre] = {kind: lane for kind in CIRCUIT_KINDS if isinstance(lane := facts.route(kind, None, "lane"), float)}
    bare = Wall(
        facts.answers.wall.width or 0.0,
        facts.answers.wall.height or 0.0,
        (*known.places, *added),
        {},
        lanes,
        (*known.assumed, *(told(place) for place in added)),
    )
    paths = _paths(facts, bare, circuits.circuits)
    keys = {place.name: place.key for place in bare.places}
    own = {ends.name: _own(facts, keys, ends, paths.get(ends.name)) for ends in circuits.circuits}
    spans = _spans(facts, paths, circuits.circuits)
    runs = {ends.name: _run(facts, ends, own, paths.get(ends.name, ()), spans, circuits.circuits) for ends in circuits.circuits}
    fit = fitting(facts, bare.places)
    done = replace(bare, runs=runs, astray=fit.astray)
    return done, [*known.findings, *_of_places(done, fit.findings), *_of_circuits(facts, done, circuits.circuits, own)]


def _unplanned(facts: Facts, units: Units, circuits: Circuits) -> tuple[Wall, list[Finding]]:
    """Too many units for one wall: only what was measured has a length."""
    runs = {
        e.name: Run(facts.route_figure(e.kind, e.to, "length"), (), len(units.tags), _measured(facts, e), None, e.kind, e.to)
        for e in circuits.circuits
    }
    text = f"{len(units.tags)} units are more than the {MOST_UNITS} that are laid out on a wall: ways and lengths are not planned."
    finding = stop(
        "too-many-for-the-wall", "wall.places", text, "Plan the site in parts, or measure every length and write it under routes.", "S19"
    )
    return Wall(facts.answers.wall.width or 0.0, facts.answers.wall.height or 0.0, (), runs, {}, ()), [finding]


def _lane(facts: Facts, ends: Ends) -> int | None:
    lane = facts.route(ends.kind, ends.to, "lane")
    return round(lane * 1000) if isinstance(lane, float) else None


def _paths(facts: Facts, wall: Wall, circuits: Sequence[Ends]) -> dict[str, tuple[Point, ...]]:
    """The way of every circuit that has one; circuits that share a lane and an end are searched together."""
    here = [place for place in wall.places if place.what != "obstacle"]
    number = {place.name: k for k, place in enumerate(here)}
    # Power enters a unit from above or below, as its glands are; so data may leave it sideways.
    ports = [routes.Port(place.at, place.rect, (1,) if place.what == "unit" else (0, 1)) for place in here]
    obstacles = [place.rect for place in wall.places if place.what == "obstacle"]
    groups: dict[tuple[int | None, str], list[Ends]] = {}
    for ends in circuits:
        hub = ends.end if ends.start == ends.tag else ends.start
        groups.setdefault((_lane(facts, ends), hub), []).append(ends)
    grids: dict[int | None, routes.Wall] = {}
    paths = {}
    for (lane, hub), some in groups.items():
        if lane not in grids:
            grids[lane] = routes.Wall(wall.outline, ports, obstacles=obstacles, lane=lane, lane_first=True)
        found = grids[lane].routes(number[hub], {number[e.end if e.start == hub else e.start] for e in some})
        for ends in some:
            route = found.get(number[ends.end if ends.start == hub else ends.start])
            if route:
                paths[ends.name] = route.points if ends.start == hub else route.points[::-1]
    return paths


def _own(facts: Facts, keys: Mapping[str, str], ends: Ends, path: Sequence[Point] | None) -> Figure | None:
    """The length of one circuit by itself: measured, or along the wall with what goes inside the gear."""
    key, to = ends.key, ends.to
    if measured := facts.route_figure(ends.kind, to, "length"):
        return replace(measured, key=f"{key}.length", of=(measured,))
    extra = facts.route_figure(ends.kind, to, "extra")
    if path is None or extra is None:
        return None
    spots = [f for name in dict.fromkeys((ends.start, ends.end)) for axis in "xy" if (f := facts.figure(f"{keys.get(name)}.{axis}"))]
    lane = facts.route_figure(ends.kind, to, "lane")
    way = f"along the wall from {ends.start} to {ends.end}" if len(path) > 1 else f"within the {ends.start}"
    along = chosen(f"{key}.path", length(path) / 1000, "m", way, "S19: rectilinear, in its lane", [*spots, *([lane] if lane else [])])
    return work(f"{key}.length", cut_length, path=along, extra=extra)


def _measured(facts: Facts, ends: Ends) -> bool:
    return any(facts.route(ends.kind, ends.to, name) is not None for name in ("length", "resistance"))


def _like(ends: Ends, circuits: Sequence[Ends]) -> list[Ends]:
    """The circuits that must be alike with this one (S18), itself included; empty where it stands alone."""
    if ends.common or ends.tag is None or ends.kind not in ("battery", "load", "incoming"):
        return []
    mark = ends.bank if ends.kind == "battery" else ends.phase
    return [
        e
        for e in circuits
        if e.kind == ends.kind and not e.common and mark is not None and mark == (e.bank if e.kind == "battery" else e.phase)
    ]


def _cut(facts: Facts, ends: Ends, own: Mapping[str, Figure | None], circuits: Sequence[Ends]) -> Figure | None:
    """The length a circuit is cut to: its own, or the longest of its like circuits where it was not measured."""
    mine = own[ends.name]
    others = [(other.name, figure) for other in _like(ends, circuits) if (figure := own[other.name])]
    if mine is None or _measured(facts, ends) or not others:
        return mine
    name, longest = max(others, key=lambda pair: pair[1].value)
    if longest.value <= mine.value:
        return mine
    by_itself = replace(mine, key=f"{ends.key}.own_length")
    return chosen(
        f"{ends.key}.length", longest.value, "m", f"cut to the longest of its like circuits, {name}", "T11, S18", [by_itself, longest]
    )


def _run(facts: Facts, ends: Ends, own: Mapping[str, Figure | None], way: Sequence[Point], spans: _Spans, circuits: Sequence[Ends]) -> Run:
    alike = [figure for other in _like(ends, circuits) if (figure := _cut(facts, other, own, circuits))]
    spread = work(f"{ends.key}.spread", length_spread, lengths=alike) if len(alike) > 1 and any(f.value for f in alike) else None
    said = facts.route(ends.kind, ends.to, "grouped")
    grouped = said if isinstance(said, int) else _together(ends.name, spans)
    path = tuple((x / 1000, y / 1000) for x, y in way)
    return Run(_cut(facts, ends, own, circuits), path, grouped, _measured(facts, ends), spread, ends.kind, ends.to)


def _along(path: Sequence[Point], lane: int | None) -> Iterator[tuple[int, int]]:
    """The stretches of a path in its lane."""
    for a, b in pairwise(path):
        if a[1] == b[1] == lane and a[0] != b[0]:
            yield min(a[0], b[0]), max(a[0], b[0])


def _spans(facts: Facts, paths: Mapping[str, Sequence[Point]], circuits: Sequence[Ends]) -> _Spans:
    """The stretches of every circuit in its lane, with the lane; earth conductors carry no load and count for nobody."""
    lanes = {ends.name: (_lane(facts, ends), ends.kind != "earth") for ends in circuits if ends.name in paths}
    return {name: (lane, loaded, tuple(_along(paths[name], lane))) for name, (lane, loaded) in lanes.items()}


def _together(name: str, spans: _Spans) -> int:
    """The most loaded circuits that lie side by side anywhere along this one's stretch of its lane."""
    if name not in spans:
        return 1
    lane, _, mine = spans[name]
    others = [span for other, loaded, some in spans.values() if loaded and other == lane for span in some]
    # The count changes only where a stretch begins, so it is taken there and at the start of our own.
    starts = [x for low, high in mine for x in (low, *(o for o, _ in others if low < o < high))]
    return max((sum(low <= x < high for low, high in others) for x in starts), default=1) or 1


def _of_places(done: Wall, fit: Sequence[Finding]) -> list[Finding]:
    """Findings on the wall itself, on what hangs there, and on what was set out."""
    if not done.outline.right or not done.outline.top:
        size = f"{shown(done.width, 'm')} by {shown(done.height, 'm')}"
        return [
            stop(
                "wall-without-size",
                "wall.width",
                f"The wall is {size}: nothing can hang on it and no cable has a way.",
                "Measure its width and height.",
                "S19",
            )
        ]
    findings = list(fit)
    for kind, lane in done.lanes.items():
        if round(lane * 1000) > done.outline.top:
            text = f"The {kind} lane at {shown(lane, 'm')} is above the wall's {shown(done.height, 'm')}: these cables are planned without a lane."
            findings.append(
                caution("lane-above-ceiling", f"routes[{kind}].lane", text, "Lower the lane, or correct the height of the wall.", "S19")
            )
    # A bar hangs at its bank, as it always does: listed as assumed, but nothing to be cautious of.
    if guessed := [place.name for place in done.places if place.assumed and place.what != "bar"]:
        text = f"Assumed places: {', '.join(guessed[:6])}{' and more' if len(guessed) > 6 else ''} ({len(guessed)}). Every length that follows from them is a guess."
        findings.append(
            caution("places-assumed", "wall.places", text, "Measure where each thing will hang, or measure the lengths.", "S19")
        )
    return findings


def _of_circuits(facts: Facts, done: Wall, circuits: Sequence[Ends], own: Mapping[str, Figure | None]) -> Iterator[Finding]:
    """Findings on ways that do not exist, and on like circuits cut alike."""
    if done.outline.right and done.outline.top:
        yield from _no_way(done, [ends for ends in circuits if own[ends.name] is None])
    for kind in CIRCUIT_KINDS:
        cut = [told for told in (_cut_alike(facts, done, some, own) for some in _groups(kind, circuits)) if told]
        if cut:
            text = f"Like {kind} circuits are cut to the longest among them: {'; '.join(text for _, text in cut)}."
            remedy = "Take up what is over in the lane, both conductors side by side, not in a coil."
            yield note("like-circuits-cut", f"plan.circuits[{cut[0][0]}].length", text, remedy, "T11, S18")


def _no_way(done: Wall, lost: Sequence[Ends]) -> Iterator[Finding]:
    """Circuits without a way: what follows where something cannot hang, and by itself what must be cleared."""
    if not lost:
        return
    names = f"{listed([ends.name for ends in lost])} ({len(lost)} of {len(done.runs)} circuits)"
    if done.astray:
        text = f"As long as {listed(sorted(done.astray))} cannot hang as planned, these have no way and no length: {names}, and the comms links there."
        yield caution("no-way-yet", "wall.places", text, "Cure that first; the ways follow by themselves.", "S17")
        return
    text = f"No way on the wall leads along {names}, such as from {lost[0].start} to {lost[0].end}: something lies over an end, or across everything."
    remedy = "Move what is in the way, or measure the lengths and write them under routes."
    yield stop("no-way-for-circuit", "wall.places", text, remedy, "S17")


def _groups(kind: Carries, circuits: Sequence[Ends]) -> Iterator[list[Ends]]:
    """The groups of like circuits of a kind."""
    seen: set[str] = set()
    for ends in circuits:
        if ends.kind == kind and ends.name not in seen:
            alike = _like(ends, circuits)
            seen |= {e.name for e in alike}
            yield alike


def _cut_alike(facts: Facts, done: Wall, alike: Sequence[Ends], own: Mapping[str, Figure | None]) -> tuple[str, str] | None:
    """The first circuit of a group and what was done to it, where its circuits would differ by themselves."""
    free = [e for e in alike if not _measured(facts, e) and own[e.name]]
    lengths = [figure.value for e in free if (figure := own[e.name])]
    cut = done.runs[free[0].name].length if free else None
    if cut is None or min(lengths) >= cut.value:
        return None
    on = free[0].bank if free[0].kind == "battery" else free[0].phase
    return free[0].name, f"{on} {len(free)} of {cut} ({shown(min(lengths), 'm')} to {shown(max(lengths), 'm')} by themselves)"
