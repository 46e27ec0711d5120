"""The wall: where everything hangs, the way and the length of every circuit."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from engine.facts import Assumed
from engine.frozen import dataclass
from engine.quantities import Metre
from engine.site.unit import Side
from engine.site.wall import Carries
from engine.solvers.separation import Point, Rect
from engine.workings import Figure


def outline(width: Figure, height: Figure) -> Rect:
    """A wall in whole millimetres."""
    return Rect(0, 0, round(width.value * 1000), round(height.value * 1000))


@dataclass(frozen=True)
class Place:
    """One thing on the wall: its centre from the bottom left corner, its size; `assumed` where nobody gave its place.

    `key` is its entry in the answers, or the one it would have.
    """

    name: str
    what: str
    x: Metre
    y: Metre
    width: Metre
    height: Metre
    assumed: bool
    key: str

    @property
    def called(self) -> str:
        """What it is called in a sentence."""
        return f"the obstacle of {self.key}" if self.what == "obstacle" else self.name

    @cached_property
    def at(self) -> tuple[int, int]:
        """Its centre in whole millimetres."""
        return round(self.x * 1000), round(self.y * 1000)

    @cached_property
    def rect(self) -> Rect:
        """Its outline in whole millimetres."""
        x, y = self.at
        wide, high = round(self.width * 500), round(self.height * 500)
        return Rect(x - wide, y - high, x + wide, y + high)

    def entry(self, side: Side | None) -> Point:
        """Where a cable comes in: at the middle of that side, or at the centre where nobody said which (S19)."""
        (x, y), rect = self.at, self.rect
        if side is None:
            return x, y
        return (x, rect.bottom) if side == "bottom" else (rect.left if side == "left" else rect.right, y)


@dataclass(frozen=True)
class Run:
    """One circuit on the wall. `length` is one way, as cut; `path` runs from its start to its end in metres.

    `grouped` circuits lie together, this one included; `measured`: its length or resistance was measured;
    `spread` is how far its like circuits' lengths lie apart, of their mean; `to` is what `routes.to` calls it;
    `bank` is the bank whose current it carries, of battery circuits alone.
    """

    length: Figure | None
    path: tuple[tuple[Metre, Metre], ...]
    grouped: int
    measured: bool
    spread: Figure | None
    kind: Carries
    to: str
    bank: str | None = None


@dataclass(frozen=True)
class Wall:
    """The wall as planned; `lanes` are heights by kind of circuit, comms too; `astray` names what cannot hang where it is planned.

    `terminals` and `port_side` are the sides of a unit where power and data come in; None where nobody said.
    """

    width: Figure
    height: Figure
    places: tuple[Place, ...]
    runs: Mapping[str, Run]
    lanes: Mapping[str, Metre]
    assumed: tuple[Assumed, ...]
    astray: frozenset[str] = frozenset()
    terminals: Side | None = None
    port_side: Side | None = None

    def place(self, name: str) -> Place | None:
        """The place of that name."""
        return next((place for place in self.places if place.name == name), None)

    @property
    def outline(self) -> Rect:
        """The wall in whole millimetres."""
        return outline(self.width, self.height)
