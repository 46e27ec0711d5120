"""What the comms chain is made of: links, terminators, and what else hangs on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from itertools import count
from typing import Literal

from engine.frozen import dataclass
from engine.quantities import Metre
from engine.site.wall import Carries
from engine.solvers.separation import Crossing
from engine.text import clean
from engine.workings import Figure

PortKind = Literal["plug", "socket"]
_FITS: Mapping[PortKind, PortKind] = {"plug": "socket", "socket": "plug"}  # what is pushed into a port is its opposite


@dataclass(frozen=True)
class Port:
    """One data port of a unit: a plug or a socket, numbered where the unit has two of a kind (S20)."""

    kind: PortKind
    number: int | None = None

    def __str__(self) -> str:
        return self.kind if self.number is None else f"{self.kind} {self.number}"

    @property
    def fits(self) -> PortKind:
        """What is pushed into it."""
        return _FITS[self.kind]


@dataclass(frozen=True)
class Link:
    """One cable between neighbours, `length` as needed, `stock` the length it is bought in; `path` in metres."""

    start: str
    start_port: Port | None
    end: str
    end_port: Port | None
    length: Figure | None
    stock: Figure | None
    path: tuple[tuple[Metre, Metre], ...]

    @property
    def cable(self) -> str:
        """The cable's own two ends, which fit the ports (S20)."""
        if self.start_port is None or self.end_port is None:
            return "ends by the maker's ports"
        return " to ".join(sorted((self.start_port.fits, self.end_port.fits)))


@dataclass(frozen=True)
class Terminator:
    """What closes one open end: at a unit's free port, or at the bus node that is the end there."""

    unit: str
    port: Port | None
    kind: PortKind | None


@dataclass(frozen=True)
class Node:
    """What else hangs on the bus: its name, the end it is at, the unit it is plugged into and that unit's port."""

    name: str
    end: str
    unit: str
    port: Port | None


@dataclass(frozen=True)
class DataLead:
    """The data cable of a managed bank to its unit; it is no part of the chain."""

    bank: str
    unit: str
    length: Figure | None
    path: tuple[tuple[Metre, Metre], ...]


@dataclass(frozen=True)
class Chain:
    """The chain as planned.

    `resistance` is what its data pair reads with both terminators; `longest_stub` how long a node's own lead may be where it is tapped in
    between the ends. `length` is the bus as bought, link by link; `proven`: no other order is shorter; `closest` the least distance to a power cable alongside,
    `beside` the length run nearer than the separation, `crossing` how often power is crossed and `crossed` where,
    `kept` the separation by kind.
    """

    order: tuple[str, ...]
    links: tuple[Link, ...]
    terminators: tuple[Terminator, ...]
    length: Figure | None
    proof: str
    proven: bool
    closest: Figure | None
    beside: Figure | None
    crossing: Figure | None
    resistance: Figure | None = None
    longest_stub: Figure | None = None
    nodes: tuple[Node, ...] = ()
    data: tuple[DataLead, ...] = ()
    crossed: tuple[Crossing, ...] = ()
    kept: Mapping[Carries, Figure] = field(default_factory=dict)

    @property
    def beyond(self) -> tuple[str, ...]:
        """What each node is called where it is worked on: short, and none as another or as a unit."""
        taken, names = {*self.order}, list[str]()
        for node in self.nodes:
            told = clean(node.name, 40)
            names.append(next(name for k in count(1) if (name := told if k == 1 else f"{told} {k}") not in taken))
            taken.add(names[-1])
        return tuple(names)

    @property
    def ends(self) -> tuple[str, str]:
        """What the bus begins and ends with: a unit, or the outermost node beyond it."""
        outer = {node.end: name for node, name in zip(self.nodes, self.beyond, strict=True)}
        return outer.get("first", self.order[0]), outer.get("last", self.order[-1])

    @property
    def crossings(self) -> int | None:
        """How many power cables the links cross."""
        return round(self.crossing.value) if self.crossing else None
