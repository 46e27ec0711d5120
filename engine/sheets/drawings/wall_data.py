"""The wall with its data cables: links from port to port, the banks' own leads, terminators, and every crossing with power."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from engine.quantities import Metre
from engine.sheets.drawings.ink import BLACK, WHITE, tag
from engine.sheets.drawings.placing import SMALL, Box, Placer, Spot, Words
from engine.sheets.drawings.wall_marks import GREY, Pen, Stroke, share, stroke
from engine.sheets.drawings.wall_page import Entry, Sheet
from engine.sheets.drawings.wall_parts import anchors, beside, laid, lined, named, ring_mark, ringed, upright
from engine.sheets.drawings.wall_power import KINDS, common
from engine.sheets.drawings.wall_scene import Net, Scene, Way
from engine.site.unit import Side
from engine.stages.chain.part import Chain, Port
from engine.text import clean

if TYPE_CHECKING:
    from engine.planner import Planned

_LANES = ("comms", "battery", "load", "solar", "incoming")
_SQUARE = 4.2  # millimetres: a terminator
_PORT = 1.8


def sheet(planned: Planned) -> Sheet:
    """The sheet with its legend."""
    chain, metres = planned.parts.chain, planned.facts.metres
    banks = [bank.name for bank in planned.parts.banks.banks]

    def shared(scene: Scene) -> float:
        return share(scene, [way.net for way in (*scene.links, *scene.leads) if way.points], banks)

    def drawn(scene: Scene, placer: Placer) -> Iterator[str]:
        ways = [way for way in (*scene.links, *scene.leads) if way.points]
        yield from laid(scene, placer, Pen(share(scene, scene.nets(*KINDS), banks)), KINDS, banks, behind=True)
        yield from lined(ways, placer, Pen(shared(scene)))
        yield from named(placer, scene.things)
        yield from _numbered(chain, scene, placer)
        yield from _ports(chain, scene, placer)
        yield from ringed(scene.rings, placer)
        yield from _terminated(chain, planned.parts.wall.port_side, scene, placer)
        yield from _lengths(planned, scene, placer, metres)

    return Sheet("data", _LANES, tuple(_legend(planned)), drawn, shared)


def _legend(planned: Planned) -> Iterator[Entry]:
    chain = planned.parts.chain
    if any(link.path for link in chain.links):
        yield Entry(
            "link, with the length to take" if planned.facts.answers.unit.bus.link_lengths else "link, with its length",
            stroke(Net("", "link"), ()),
        )
        yield Entry("plug", mark=lambda x, y: _port(x, y, "plug"))
        yield Entry("socket", mark=lambda x, y: _port(x, y, "socket"))
        yield Entry("place in the chain", mark=lambda x, y: _number_mark(x, y, 2.0))
    if chain.terminators:
        yield Entry("terminator", mark=_square)
    if chain.crossings:
        yield Entry("so many power cables crossed", mark=ring_mark)
    if chain.data:
        yield Entry("data lead of a bank", stroke(Net("", "data"), ()))
    yield Entry("power cables", Stroke(0.9), GREY)
    if planned.parts.wall.port_side is None and len(chain.order) > 1:
        yield Entry("not answered: at which side of a unit its data ports are")
    yield from common(planned)


def _numbered(chain: Chain, scene: Scene, placer: Placer) -> Iterator[str]:
    """Each unit's place in the chain: in a circle below its tag, or beside it where the unit is drawn too small for that."""
    for number, name in enumerate(chain.order, 1):
        box = scene.box(name)
        if box is None:
            continue
        words = Words((str(number),))
        radius = max(words.extent) / 2 + 0.3
        x, y = box.middle[0], box.bottom - radius - 1.2
        room = Box.about(x, y, 2 * radius, 2 * radius)
        if box.holds(room) and placer.free(room, inside=True):
            placer.taken.append(room)
            yield _number_mark(x, y, radius)
            yield from words.drawn(x, y)
        else:
            told = Words((f"no. {number}",))
            yield from placer.placed(told, ((box.middle[0], box.bottom + 2.6), (box.middle[0], box.top - 2.6)), [box.middle])


def _number_mark(x: float, y: float, radius: float) -> str:
    return tag("circle", cx=f"{x:.2f}", cy=f"{y:.2f}", r=f"{radius:.2f}", fill=WHITE, stroke=BLACK, stroke_width=0.25)


def _ports(chain: Chain, scene: Scene, placer: Placer) -> Iterator[str]:
    """A mark at either end of each link: black for a plug, white for a socket; a small ring at the ends of data leads."""
    for x, y in (at for way in scene.leads for at in (way.points[:1] + way.points[-1:])):
        yield tag("circle", cx=f"{x:.2f}", cy=f"{y:.2f}", r=0.9, fill=WHITE, stroke=BLACK, stroke_width=0.3)
    for link, way in zip(chain.links, scene.links, strict=True):
        for port, at in ((link.start_port, way.points[:1]), (link.end_port, way.points[-1:])):
            for x, y in at:
                placer.taken.append(Box.about(x, y, _PORT, _PORT))
                yield _port(x, y, port.kind if isinstance(port, Port) else None)


def _port(x: float, y: float, kind: str | None) -> str:
    fill = BLACK if kind == "plug" else WHITE
    half = _PORT / 2
    return tag("rect", x=f"{x - half:.2f}", y=f"{y - half:.2f}", width=_PORT, height=_PORT, fill=fill, stroke=BLACK, stroke_width=0.35)


def _terminated(chain: Chain, side: Side | None, scene: Scene, placer: Placer) -> Iterator[str]:
    """A black T at the free port of either end; where something else hangs on the bus beyond it, its name instead."""
    for terminator, unit in zip(chain.terminators, chain.order[:1] + chain.order[-1:], strict=False):
        box = scene.box(unit)
        if box is None:
            continue
        spots = list(_free_sides(box, [way for way in scene.links if unit in way.ends and way.points], unit, side))
        if terminator.unit == unit:
            free = [room for spot in spots if placer.free(room := Box.about(*spot, _SQUARE, _SQUARE))]
            at = min(free, key=placer.hits).middle if free else None
            if at is None:
                yield from placer.placed(Words(("T",), bold=True), (), [box.middle])
                continue
            placer.taken.append(Box.about(*at, _SQUARE, _SQUARE))
            yield _square(*at)
        else:
            words = Words((f"to {clean(terminator.unit, 20)},", "T there"))
            yield from placer.placed(words, [(x, y) for x, y in spots], spots[:1])


def _free_sides(box: Box, ways: Sequence[Way], unit: str, side: Side | None) -> Iterator[Spot]:
    """Centres of a terminator outside a unit: along the side of its ports; where nobody said which that is, first opposite to a port in use."""
    (x, y), away = box.middle, _SQUARE / 2 + 0.8
    used = [way.points[0] if way.ends[0] == unit else way.points[-1] for way in ways]
    if side is None:
        yield from ((box.left - away, v) for u, v in used if abs(u - box.right) < 0.1)
        yield from ((box.right + away, v) for u, v in used if abs(u - box.left) < 0.1)
    for aside in (0.0, 0.2, -0.2, 0.4, -0.4):
        u, v = x + aside * box.wide, y + aside * box.high
        spots = {"bottom": (u, box.bottom + away), "left": (box.left - away, v), "right": (box.right + away, v)}
        yield from spots.values() if side is None else (spots[side],)


def _square(x: float, y: float) -> str:
    half = _SQUARE / 2
    square = tag("rect", x=f"{x - half:.2f}", y=f"{y - half:.2f}", width=_SQUARE, height=_SQUARE, fill=BLACK)
    return square + "".join(Words(("T",), SMALL, bold=True).drawn(x, y, fill=WHITE))


def _lengths(planned: Planned, scene: Scene, placer: Placer, metres: Callable[[Metre], str]) -> Iterator[str]:
    """Beside each link the length to take, beside each data lead whose it is and how long."""
    chain = planned.parts.chain
    for link, way in zip(chain.links, scene.links, strict=True):
        length = link.stock or link.length
        if length and len(way.points) > 1:
            words = Words(_folded(metres(length.value)), bold=True)
            yield from placer.placed(words, beside(way.points, words), anchors(way.points), upright(way.points, words))
    for lead, way in zip(chain.data, scene.leads, strict=True):
        if len(way.points) > 1:
            words = Words((f"data {lead.bank}", *(_folded(metres(lead.length.value)) if lead.length else ())))
            yield from placer.placed(words, beside(way.points, words), anchors(way.points), upright(way.points, words))


def _folded(told: str) -> tuple[str, ...]:
    """A length with its feet in a line of their own."""
    own, _, other = told.partition(" (")
    return (own, f"({other}") if other else (own,)
