"""The wall with its power cables: battery, load, incoming, solar. Each bank has lines of its own, named where they end and on their way."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from engine.sheets.drawings.placing import Placer, Spot, Words
from engine.sheets.drawings.wall_marks import Pen, share, stroke
from engine.sheets.drawings.wall_page import Entry, Sheet
from engine.sheets.drawings.wall_parts import anchors, beside, laid, named
from engine.sheets.drawings.wall_scene import Net, Scene, Way, net_of

if TYPE_CHECKING:
    from engine.planner import Planned

KINDS = ("incoming", "solar", "load", "battery")  # what is drawn later crosses over what was drawn before
_LANES = ("battery", "load", "solar", "incoming")


def sheet(planned: Planned) -> Sheet:
    """The sheet with its legend."""
    banks = [bank.name for bank in planned.parts.banks.banks]

    def shared(scene: Scene) -> float:
        return share(scene, scene.nets(*KINDS), banks)

    def drawn(scene: Scene, placer: Placer) -> Iterator[str]:
        yield from laid(scene, placer, Pen(shared(scene)), KINDS, banks)
        yield from named(placer, scene.things)
        for net, ways in scene.nets(*KINDS).items():
            yield from counted(net, ways, scene, placer)
            if net.bank and len(banks) > 1:
                yield from _where_they_end(net, [way for way in ways if not way.common], placer)
                yield from _on_the_way(net, ways, placer)

    return Sheet("power", _LANES, tuple(_legend(planned, banks)), drawn, shared)


def _legend(planned: Planned, banks: list[str]) -> Iterator[Entry]:
    nets = [net_of(ends) for ends in planned.parts.circuits.circuits if ends.kind != "earth"]
    for net in {(net.kind, net.bank): net for net in nets}.values():
        serves = sum(ends.bank == net.bank and ends.kind == net.kind and not ends.common for ends in planned.parts.circuits.circuits)
        yield Entry(
            f"battery {net.bank}: plus and minus, {serves} {'unit' if serves == 1 else 'units'}" if net.bank else net.kind,
            stroke(net, banks),
        )
    yield Entry("x3: that many cables in one line")
    yield from common(planned)


def common(planned: Planned) -> Iterator[Entry]:
    """What the legends of all three drawings say."""
    wall = planned.parts.wall
    if any(place.assumed for place in wall.places):
        yield Entry("dashed outline: place assumed")
    if any(place.what == "obstacle" for place in wall.places):
        yield Entry("grey: in the way")
    if wall.terminals is None:
        yield Entry("not answered: at which side of a unit power comes in")
    unit = "metres (feet)" if planned.facts.rules == "nec" else "metres"
    yield Entry(f"above and below the wall: {unit} from its left edge to the centre; at its left: height of the centre above the floor")


def counted(net: Net, ways: list[Way], scene: Scene, placer: Placer) -> Iterator[str]:
    """How many cables leave each board or bar as one line, where they do."""
    leaving: dict[Spot, int] = {}
    for way in ways:
        units = {way.ends[0]: way.points[0], way.ends[1]: way.points[-1]}
        for name, at in units.items():
            if not any(thing.place.name == name and thing.place.what == "unit" for thing in scene.things):
                leaving[at] = leaving.get(at, 0) + 1
    for at, count in leaving.items():
        if count > 1:
            words = Words((f"{net.bank or net.kind} x{count}",))
            first = next(way for way in ways if at in (way.points[0], way.points[-1]))
            near = first.points if first.points[0] == at else first.points[::-1]
            yield from placer.placed(words, beside(near[:3], words), anchors(near[:2]), needed=False)


def _where_they_end(net: Net, ways: list[Way], placer: Placer) -> Iterator[str]:
    """The bank's name beside the last stretch of each of its cables."""
    for way in ways:
        words = Words((str(net.bank),), bold=True)
        last = way.points[-2:]
        yield from placer.placed(words, beside(last, words), anchors(last))


_EVERY = 70.0  # millimetres of paper: in so much of a lane a bank is named once


def _on_the_way(net: Net, ways: list[Way], placer: Placer) -> Iterator[str]:
    """The bank's name along its lane, at intervals."""
    told: list[Spot] = []
    for way in ways:
        for a, b in pairwise(way.points):
            at = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
            if abs(a[0] - b[0]) > _EVERY / 2 and all(abs(at[0] - other[0]) + abs(at[1] - other[1]) > _EVERY for other in told):
                told.append(at)
                words = Words((str(net.bank),), bold=True)
                yield from placer.placed(words, (), [at], needed=False)
