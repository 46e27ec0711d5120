"""The wall as it lies on the paper: what hangs, and the ways of all cables, side by side where they share one.

Cables of one kind are one net, of one bank each where they carry a bank's current, each link and data lead is one of its own:
what is one net may be drawn as one line, two nets never. All three drawings of a wall show the same scene.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from engine.frozen import dataclass
from engine.quantities import Metre
from engine.sheets.drawings.placing import Box, Spot
from engine.solvers.separation import Point, Rect
from engine.solvers.tracks import Line, Tracks, cut_off, side_by_side
from engine.stages.chain.part import Chain
from engine.stages.circuits import Circuits, Ends
from engine.stages.wall.part import Place, Wall

GAP = 1.6  # millimetres of paper from one line to the next
_APART = 0.45  # millimetres of paper from one bank's line to another's, at least
_MERGED = 4.5  # millimetres of paper within which crossings share a ring


@dataclass(frozen=True)
class Net:
    """What may be drawn as one line: its kind, the bank whose current it carries, and whether it is the bond of a pole."""

    name: str
    kind: str
    bank: str | None = None
    bond: bool = False


@dataclass(frozen=True)
class Thing:
    """One thing that hangs, as far as it is on the wall."""

    place: Place
    box: Box


@dataclass(frozen=True)
class Way:
    """One cable as drawn: its net, its name, the places at its ends, its points."""

    net: Net
    name: str
    ends: tuple[str, str]
    points: tuple[Spot, ...]

    @property
    def common(self) -> bool:
        """Whether it joins a bank to its bar."""
        return self.net.name.endswith(" common")


@dataclass(frozen=True)
class Ring:
    """Where links cross power: how many cables."""

    at: Spot
    count: int


@dataclass(frozen=True)
class Scene:
    """The wall on paper: `frame` is its outline, `hidden` names what has a place beyond it; `close` tells by nets how near lines come
    that have not the room to keep the usual gap.
    """

    frame: Box
    things: tuple[Thing, ...]
    hidden: tuple[str, ...]
    ways: tuple[Way, ...]
    links: tuple[Way, ...]
    leads: tuple[Way, ...]
    rings: tuple[Ring, ...]
    close: Mapping[tuple[str, str], float]

    @property
    def crowded(self) -> tuple[str, ...]:
        """Banks whose cables pass somewhere too close to each other to be told apart on paper."""
        banks = {way.net.name: way.net.bank for way in self.ways if way.net.kind == "battery"}
        close = [nets for nets, apart in self.close.items() if apart < _APART and len({banks.get(net) for net in nets} - {None}) > 1]
        return tuple(sorted({str(banks[net]) for nets in close for net in nets}))

    def nets(self, *kinds: str) -> dict[Net, list[Way]]:
        """The power ways of some kinds by net, in their order."""
        found: dict[Net, list[Way]] = {}
        for way in self.ways:
            if way.net.kind in kinds and way.points:
                found.setdefault(way.net, []).append(way)
        return found

    def box(self, name: str) -> Box | None:
        """The outline of a thing."""
        return next((thing.box for thing in self.things if thing.place.name == name), None)


def net_of(ends: Ends) -> Net:
    """The net of a circuit. What joins a bank to its bar is none with what leaves the bar."""
    if ends.kind == "battery":
        return Net(f"battery {ends.bank}{' common' if ends.common else ''}", "battery", ends.bank)
    return Net(ends.name, "earth", ends.bank, bond=True) if ends.bond else Net(ends.kind, ends.kind)


def scene(wall: Wall, chain: Chain, circuits: Circuits, frame: Box) -> Scene:
    """All of it, on a wall of some size that is `frame` on paper."""
    scale = frame.wide / wall.outline.right
    power = [(net_of(ends), ends.name, (ends.start, ends.end), wall.runs[ends.name].path) for ends in circuits.circuits]
    links = [(Net(f"link {k}", "link"), f"{k}", (link.start, link.end), link.path) for k, link in enumerate(chain.links, 1)]
    leads = [(Net(f"data {lead.bank}", "data", lead.bank), lead.bank, (lead.bank, lead.unit), lead.path) for lead in chain.data]
    every = [*power, *links, *leads]
    rects = _rects(wall)
    lines = [_line(net, path, rects[ends[0]], rects[ends[1]]) for net, _, ends, path in every]
    tracks = side_by_side(lines, [place.rect for place in wall.places if place.width], wall.outline, max(1, round(GAP / scale)))

    def on_paper(x: float, y: float) -> Spot:
        return round(frame.left + x * scale, 3), round(frame.bottom - y * scale, 3)

    ways = [
        Way(net, name, ends, tuple(on_paper(*at) for at in points))
        for (net, name, ends, _), points in zip(every, tracks.points, strict=True)
    ]
    first, second = len(power), len(power) + len(links)
    things = [_thing(place, wall.outline, on_paper) for place in wall.places if place.width]
    crossed = _crossed(chain, tracks, {name: k for k, (_, name, _, _) in enumerate(power)}, range(first, second))
    rings = tuple(ring for spots in crossed.values() for ring in _rings([on_paper(*at) for at in spots]))
    return Scene(
        frame,
        tuple(thing for thing in things if thing.box.wide > 0 and thing.box.high > 0),
        tuple(thing.place.name for thing in things if thing.box.wide <= 0 or thing.box.high <= 0),
        tuple(ways[:first]),
        tuple(ways[first:second]),
        tuple(ways[second:]),
        rings,
        {nets: apart * scale for nets, apart in tracks.close.items()},
    )


def _rects(wall: Wall) -> Mapping[str, Rect]:
    """The outline at which cables to each place end; a bar without a size sits on its bank."""
    rects = {place.name: place.rect for place in wall.places}
    return rects | {place.name: rects[place.name.removeprefix("bar ")] for place in wall.places if place.what == "bar" and not place.width}


def _line(net: Net, path: Sequence[tuple[Metre, Metre]], start: Rect, end: Rect) -> Line:
    points = [(round(x * 1000), round(y * 1000)) for x, y in path]
    return Line(net.name, cut_off(points, start, end), start, end)


def _thing(place: Place, wall: Rect, on_paper: Mapping[str, object] | object) -> Thing:
    rect = place.rect
    assert callable(on_paper)
    left, bottom = on_paper(max(rect.left, wall.left), max(rect.bottom, wall.bottom))
    right, top = on_paper(min(rect.right, wall.right), min(rect.top, wall.top))
    return Thing(place, Box(left, top, right, bottom))


def _crossed(chain: Chain, tracks: Tracks, power: Mapping[str, int], links: range) -> dict[int, list[tuple[float, float]]]:
    """By link where it is drawn to cross power cables, each crossing once."""
    found: dict[int, list[tuple[float, float]]] = {}
    told: set[tuple[int, Point, str]] = set()
    for crossing in chain.crossed:
        for link in links:
            at = None if (link, crossing.at, crossing.of) in told else tracks.crossing(link, power[crossing.of], crossing.at)
            if at is not None:
                told.add((link, crossing.at, crossing.of))
                found.setdefault(link, []).append(at)
                break
    return found


def _rings(spots: Sequence[Spot]) -> Iterator[Ring]:
    """Crossings that lie close together as one ring in their middle."""
    groups: list[list[Spot]] = []
    for at in sorted(spots):
        near = next((some for some in groups if max(abs(some[0][0] - at[0]), abs(some[0][1] - at[1])) <= _MERGED), None)
        if near is None:
            groups.append([at])
        else:
            near.append(at)
    for some in groups:
        yield Ring((sum(x for x, _ in some) / len(some), sum(y for _, y in some) / len(some)), len(some))
