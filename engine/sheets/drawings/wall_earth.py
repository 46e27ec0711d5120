"""The wall with its protective conductors, the bonds of earthed poles and the earth bar."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from engine.sheets.drawings.placing import Placer, Words
from engine.sheets.drawings.wall_marks import Pen, share, stroke
from engine.sheets.drawings.wall_page import Entry, Sheet
from engine.sheets.drawings.wall_parts import anchors, beside, laid, named
from engine.sheets.drawings.wall_power import common, counted
from engine.sheets.drawings.wall_scene import Scene, net_of
from engine.text import clean

if TYPE_CHECKING:
    from engine.planner import Planned


def sheet(planned: Planned) -> Sheet:
    """The sheet with its legend."""

    def shared(scene: Scene) -> float:
        return share(scene, scene.nets("earth"), ())

    def drawn(scene: Scene, placer: Placer) -> Iterator[str]:
        yield from laid(scene, placer, Pen(shared(scene)), ("earth",), ())
        yield from named(placer, scene.things)
        for net, ways in scene.nets("earth").items():
            yield from counted(net, ways, scene, placer)
            if net.bond:
                words = Words((net.name,), bold=True)
                yield from placer.placed(words, beside(ways[0].points, words), anchors(ways[0].points))

    return Sheet("earth", ("earth",), tuple(_legend(planned)), drawn, shared)


def _legend(planned: Planned) -> Iterator[Entry]:
    nets = dict.fromkeys(net_of(ends) for ends in planned.parts.circuits.circuits if ends.kind == "earth")
    for net in nets:
        yield Entry(net.name if net.bond else "protective conductor", stroke(net, ()))
    yield Entry("x3: that many conductors in one line")
    bond, at = planned.parts.earthing.island, planned.facts.answers.earthing.bond_at
    if bond:
        where = f" at {clean(at, 40)}" if at else ""
        yield Entry(
            "neutral meets earth nowhere while the units run alone"
            if bond == "none"
            else f"neutral meets earth once: while the units run alone, by the {bond}{where}"
        )
    yield from common(planned)
