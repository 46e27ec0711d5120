"""What hangs wrong, what has no way, what was cut alike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from engine.facts import CIRCUIT_KINDS, Facts
from engine.findings import Finding, caution, note, stop
from engine.frozen import dataclass
from engine.site.wall import Carries
from engine.solvers.separation import Rect
from engine.stages.circuits import Circuits, Ends
from engine.stages.wall.lengths import lanes_of, measured
from engine.stages.wall.part import Place, Wall
from engine.text import listed
from engine.workings import Figure

_SHORTEST = 0.1  # m


@dataclass(frozen=True)
class Fit:
    """Whether everything can hang where it is planned; `astray` are the places where it cannot."""

    findings: tuple[Finding, ...]
    astray: frozenset[str]


def fitting(facts: Facts, done: Wall) -> Fit:
    """Things off the wall, over each other, without room, or with too little air."""
    wall, everything = done.outline, done.places
    air = round(facts.clearance * 1000)
    pairs = [(one, other) for k, one in enumerate(everything) for other in everything[k + 1 :] if not _belong(one, other)]
    over = [(one, other) for one, other in pairs if one.rect.gap(other.rect) < 0]
    off = [place for place in everything if place.what != "obstacle" and _edge(place, wall) < 0]
    # A place that was set out for want of an answer is wrong only where there is no room; a bar goes where its bank is.
    roomless = [p for p in everything if p.assumed and p.what != "bar" and (p in off or any(p in pair for pair in over))]
    off = [place for place in off if not place.assumed]
    over = [pair for pair in over if not any(place.assumed for place in pair)]
    blocked = [pair for pair in over if "unit" in (pair[0].what, pair[1].what)]
    astray = frozenset(place.name for place in (*roomless, *off, *(unit for pair in blocked for unit in pair if unit.what == "unit")))
    return Fit(
        (
            *_no_room(facts, done, roomless),
            *_off_the_wall(facts, done, off),
            *_overlapping(over, blocked),
            *(f for place in everything if place.name not in astray for f in _near_the_edge(facts, place, wall, air)),
            *(f for pair in pairs if not astray & {place.name for place in pair} for f in _too_near(facts, *pair, air)),
        ),
        astray,
    )


def _belong(one: Place, other: Place) -> bool:
    """Obstacles may lie over each other, and a bar may sit on its bank's own terminals."""
    return one.what == other.what == "obstacle" or f"bar {one.name}" == other.name or f"bar {other.name}" == one.name


def _edge(place: Place, wall: Rect) -> int:
    """How far a place keeps from the wall's edge; negative beyond it."""
    rect = place.rect
    return min(rect.left - wall.left, rect.bottom - wall.bottom, wall.right - rect.right, wall.top - rect.top)


def _size(facts: Facts, wall: Wall) -> str:
    """The wall's size in words, and whether anyone measured it."""
    guessed = [name for name, figure in (("width", wall.width), ("height", wall.height)) if figure.how == "assumed"]
    return f"the wall of {facts.told(wall.width)} by {facts.told(wall.height)}{f', of which nobody answered the {listed(guessed)}' if guessed else ''}"


def _no_room(facts: Facts, wall: Wall, places: Sequence[Place]) -> Iterator[Finding]:
    if places:
        text = f"There is no room on {_size(facts, wall)}, for {listed([place.called for place in places])}."
        remedy = "Measure the wall and answer its width and height; where they are right, hang the units on a larger wall, or on two and plan each by itself."
        yield stop("no-room-on-the-wall", "wall.width", text, remedy, "S19; the unit's clearance")


def _off_the_wall(facts: Facts, wall: Wall, places: Sequence[Place]) -> Iterator[Finding]:
    if places:
        how_far = [f"{place.name} {facts.metres(-_edge(place, wall.outline) / 1000)}" for place in places]
        text, worst = f"Beyond {_size(facts, wall)}: {listed(how_far)}.", min(_edge(place, wall.outline) for place in places)
        yield stop(
            "off-the-wall",
            places[0].key,
            text,
            "Correct where it hangs, or the width and height of the wall.",
            "S19",
            value=worst / 1000,
            limit=0.0,
            unit="m",
        )


def _overlapping(over: Sequence[tuple[Place, Place]], blocked: Sequence[tuple[Place, Place]]) -> Iterator[Finding]:
    """Nothing else fits where a unit hangs; other things may be one above the other in depth."""
    for raised, some in ((stop, blocked), (caution, [pair for pair in over if pair not in blocked])):
        if some:
            text = f"Over each other: {listed([f'{one.called} and {other.called}' for one, other in some])}."
            about = next(place for place in some[0] if place.what != "obstacle").key
            where = dict.fromkeys(place.called for pair in some for place in pair)
            yield raised("places-overlap", about, text, "Move one of them.", "S19", where=where)


def _near_the_edge(facts: Facts, place: Place, wall: Rect, air: int) -> Iterator[Finding]:
    edge = _edge(place, wall)
    if place.what == "unit" and edge < air:
        text = f"{place.name} is {facts.metres(edge / 1000)} from the wall's edge, floor or ceiling; it needs {facts.metres(air / 1000)} of free space."
        cure = "Move it inwards; where the side is open, a wider wall says so."
        yield caution("clearance-too-small", place.key, text, cure, "the unit's clearance", value=edge / 1000, limit=air / 1000, unit="m")


def _too_near(facts: Facts, one: Place, other: Place, air: int) -> Iterator[Finding]:
    gap, about = one.rect.gap(other.rect), (one if one.what != "obstacle" else other).key
    if 0 <= gap < air and "unit" in (one.what, other.what):
        text = (
            f"{one.called} and {other.called} are {facts.metres(gap / 1000)} apart; a unit needs {facts.metres(air / 1000)} of free space."
        )
        cure = "Move them apart: a unit that cannot cool gives less or switches off."
        yield caution("clearance-too-small", about, text, cure, "the unit's clearance", value=gap / 1000, limit=air / 1000, unit="m")


def of_places(facts: Facts, done: Wall, fit: Sequence[Finding]) -> list[Finding]:
    """Findings on the wall itself, on what hangs there, and on what was set out."""
    if not done.outline.right or not done.outline.top:
        size = f"{facts.told(done.width)} by {facts.told(done.height)}"
        return [
            stop(
                "wall-without-size",
                "wall.width",
                f"The wall is {size}: nothing can hang on it and no cable has a way.",
                "Measure its width and height.",
                "S19",
            )
        ]
    return [*_assumed(facts, done), *fit]


def _assumed(facts: Facts, wall: Wall) -> Iterator[Finding]:
    """S31: a side that nobody measured is as long as what hangs there needs; it comes with the places that nobody gave."""
    # A bar hangs at its bank, as it always does: listed as assumed, but nothing to be cautious of.
    hung = [place.name for place in wall.places if place.assumed and place.what != "bar"]
    places = f"{len(hung)} assumed places ({listed(hung)}): every length that follows from them is a guess." if hung else ""
    sides = {"width": wall.width, "height": wall.height}
    guessed = [name for name, figure in sides.items() if figure.how == "assumed"]
    if guessed and wall.places:
        told = listed([f"a {name} of {facts.told(sides[name])}" for name in guessed])
        text = f"Nobody measured the wall: {told} {'is' if len(guessed) == 1 else 'are'} assumed, as much as what hangs there needs."
        cure = "Measure the wall, and where each thing will hang: on a smaller one not everything hangs as planned, and lengths differ."
        yield caution("wall-assumed", f"wall.{guessed[0]}", f"{text} {places}".rstrip(), cure, "S31, S19", where=hung)
    elif hung:
        yield caution(
            "places-assumed", "wall.places", places, "Measure where each thing will hang, or measure the lengths.", "S19", where=hung
        )


def of_circuits(facts: Facts, done: Wall, circuits: Circuits, own: Mapping[str, Figure | None]) -> Iterator[Finding]:
    """Findings on lanes and ways that do not exist, and on like circuits cut alike."""
    yield from _next_to_nothing(facts, circuits)
    if done.outline.right and done.outline.top:
        yield from _lanes(facts, done, circuits)
        yield from _no_way(done, [ends for ends in circuits.circuits if own[ends.name] is None])
    for kind in CIRCUIT_KINDS:
        cut = [told for told in (_cut_alike(facts, done, some, own) for some in _groups(kind, circuits)) if told]
        if cut:
            text = f"Like {kind} circuits are cut to the longest among them: {'; '.join(text for _, text in cut)}."
            remedy = "Take up what is over in the lane, both conductors side by side, not in a coil."
            yield note("like-circuits-cut", f"plan.circuits[{cut[0][0]}].length", text, remedy, "T11, S18")


def _next_to_nothing(facts: Facts, circuits: Circuits) -> Iterator[Finding]:
    """Measured lengths that no cable between two terminals has, each answer once: no drop, no fault and no cut follows from them."""
    given = (facts.route_figure(ends.kind, ends.to, "length") for ends in circuits.circuits)
    for length in dict.fromkeys(length for length in given if length and length.value < _SHORTEST):
        yield stop(
            "length-next-to-nothing",
            length.key,
            f"A cable of {facts.told(length)} joins nothing: from terminal to terminal it is longer than a hand.",
            "Measure it along the way that it runs, or leave it open: it is then taken from the wall.",
            "common practice, no source",
            value=length.value,
            limit=_SHORTEST,
            unit="m",
        )


def _lanes(facts: Facts, done: Wall, circuits: Circuits) -> Iterator[Finding]:
    """Lanes that some cable should run in and that lie above the wall, each once."""
    for kind, lane in lanes_of(facts, circuits):
        if round(lane.value * 1000) > done.outline.top:
            text = f"The {kind} lane at {facts.told(lane)} is above the wall's {facts.told(done.height)}: these cables are planned without a lane."
            yield caution(
                "lane-above-ceiling",
                lane.key,
                text,
                "Lower the lane, or correct the height of the wall.",
                "S19",
                value=lane,
                limit=done.height,
            )


def _no_way(done: Wall, lost: Sequence[Ends]) -> Iterator[Finding]:
    """Circuits without a way: what follows where something cannot hang, and by itself what must be cleared."""
    if not lost:
        return
    names = f"{listed([ends.name for ends in lost])} ({len(lost)} of {len(done.runs)} circuits)"
    if done.astray:
        text = f"As long as {listed(sorted(done.astray))} cannot hang as planned, these have no way and no length: {names}, and the comms links there."
        cure = "Cure that first; the ways follow by themselves."
        yield caution("no-way-yet", "wall.places", text, cure, "S17", where=[ends.name for ends in lost])
        return
    text = f"No way on the wall leads along {names}, such as from {lost[0].start} to {lost[0].end}: something lies over an end, or across everything."
    remedy = "Move what is in the way, or measure the lengths and answer them."
    yield stop("no-way-for-circuit", "wall.places", text, remedy, "S17")


def _groups(kind: Carries, circuits: Circuits) -> Iterator[tuple[Ends, ...]]:
    """The groups of like circuits of a kind."""
    seen: set[str] = set()
    for ends in circuits.circuits:
        if ends.kind == kind and ends.name not in seen:
            alike = circuits.like(ends)
            seen |= {e.name for e in alike}
            yield alike


def _cut_alike(facts: Facts, done: Wall, alike: Sequence[Ends], own: Mapping[str, Figure | None]) -> tuple[str, str] | None:
    """The first circuit of a group and what was done to it, where its circuits would differ by themselves."""
    free = [e for e in alike if not measured(facts, e) and own[e.name]]
    lengths = [figure.value for e in free if (figure := own[e.name])]
    cut = done.runs[free[0].name].length if free else None
    if cut is None or min(lengths) >= cut.value:
        return None
    on = free[0].bank if free[0].kind == "battery" else free[0].phase
    return (
        free[0].name,
        f"{on}, {len(free)} circuits of {facts.told(cut)} each ({facts.metres(min(lengths))} to {facts.metres(max(lengths))} by themselves)",
    )
