"""A site as it is wired: named elements between named nodes, what must be made for each to conduct, and edits that wire it wrongly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from enum import Enum, auto
from typing import Any

from engine.frozen import dataclass
from engine.model.scenario import Factor, Scenario

JOINT = 1e-4  # ohm of a bolted joint; common practice, no source
CONTACT = 5e-4  # ohm of a closed contact or a fuse link; common practice, no source
NEVER = "nothing"  # what is never made
_FREE = " free"  # behind the name of an end: the node at which it hangs


class Kind(Enum):
    """What an element is to the equations; a `JOINED` one is there to conduct, a `RESISTOR` is not."""

    JOINED = auto()
    RESISTOR = auto()
    CAPACITOR = auto()
    SURGE = auto()
    DIRECT = auto()
    ALTERNATING = auto()
    DIODE = auto()


@dataclass(frozen=True, eq=False)
class Element:
    """One element from node `a` to node `b`; of a source `a` is the plus side, a diode conducts from `a` to `b`.

    `value` is ohm, F, V of a source or V that a diode drops, for both levels of `by` where that is named; `ohms` are behind a source or
    a diode. `when` must all be made for it to be there. `ends` name the two ends of a wire. An alternating source has the angle of
    `phase`, or of the phase that the unit `of` is set to.
    """

    name: str
    kind: Kind
    a: str
    b: str
    value: float | tuple[float, float]
    ohms: float = 0.0
    by: Factor | None = None
    when: frozenset[str] = frozenset()
    ends: tuple[str, str] | None = None
    phase: str = ""
    of: str | None = None

    def at(self, scenario: Scenario) -> float:
        """Its value in one scenario."""
        if isinstance(self.value, tuple):
            assert self.by
            return self.value[scenario.level(self.by)]
        return self.value


@dataclass(frozen=True)
class Inverter:
    """How a unit decides what it does: off without `least` V at its battery terminals, following while `volts` come in, else alone."""

    tag: str
    phase: str
    least: float
    volts: float


@dataclass(frozen=True)
class Swap:
    """Two ends of wires exchange their nodes."""

    one: str
    other: str


@dataclass(frozen=True)
class Move:
    """An end of a wire lies at another node."""

    end: str
    node: str


@dataclass(frozen=True)
class Open:
    """An element does not conduct, or an end hangs free, at the node `END free`."""

    name: str


@dataclass(frozen=True)
class Loose:
    """A bad joint at an end of a wire, or within an element."""

    name: str
    ohms: float


@dataclass(frozen=True)
class Join:
    """A connection that should not be there; `when`: what must be made for it."""

    one: str
    other: str
    ohms: float = 1e-3
    when: str | None = None


@dataclass(frozen=True)
class Scale:
    """An element of another value."""

    name: str
    factor: float


@dataclass(frozen=True)
class Stuck:
    """Whatever is done, this is made, or not."""

    thing: str
    made: bool


@dataclass(frozen=True)
class Reverse:
    """A source the wrong way round."""

    name: str


Edit = Swap | Move | Open | Loose | Join | Scale | Stuck | Reverse


@dataclass(frozen=True, eq=False)
class Wired:
    """The site as it is wired, right or wrong.

    `elements` by name, those `around` each node, the `ends` of wires with their element and which of its two ends it is (each under every
    name that it has), all `things` that can be made, in the order of the site; `angles` of the phases in rad; `relay` are the line and
    neutral that hold the bond of island mode open while they are live. Of an edited site `base` is the one that it came from and `changed`
    what is not there any more and what is instead. `solved` is the solver's memory, shared by all edits of a site.
    """

    elements: Mapping[str, Element]
    around: Mapping[str, tuple[Element, ...]]
    ends: Mapping[str, tuple[str, int]]
    things: tuple[str, ...]
    inverters: Mapping[str, Inverter]
    angles: Mapping[str, float]
    frequency: float
    relay: tuple[str, str] | None = None
    stuck: Mapping[str, bool] = field(default_factory=dict)
    base: Wired | None = None
    changed: tuple[Element, ...] = ()
    solved: dict[object, Any] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        elements: Sequence[Element],
        aliases: Mapping[str, str],
        things: tuple[str, ...],
        inverters: Mapping[str, Inverter],
        angles: Mapping[str, float],
        frequency: float,
        relay: tuple[str, str] | None,
    ) -> Wired:
        """The site of these elements; `aliases` are further names of ends, with the name that each has."""
        around: dict[str, tuple[Element, ...]] = {}
        for element in elements:
            for node in dict.fromkeys((element.a, element.b)):
                around[node] = (*around.get(node, ()), element)
        ends = {name: (element.name, side) for element in elements for side, name in enumerate(element.ends or ())}
        ends |= {alias: ends[name] for alias, name in aliases.items()}
        around |= {f"{name}{_FREE}": () for name in ends}  # where a probe may touch an end, landed or not
        return cls({element.name: element for element in elements}, around, ends, things, inverters, angles, frequency, relay)

    def names(self) -> Mapping[str, tuple[str, ...]]:
        """Everything that an edit may name."""
        ends = dict.fromkeys(name for element in self.elements.values() for name in element.ends or ())
        return {
            "terminals": tuple(node for node in self.around if not node.endswith(_FREE)),
            "elements": tuple(self.elements),
            "ends": tuple(ends),
            "things": self.things,
        }

    def node(self, end: str) -> str:
        """The node at which an end of a wire lies."""
        name, side = self.ends[end]
        element = self.elements[name]
        return element.b if side else element.a

    def edited(self, *edits: Edit) -> Wired:
        """The same site with these mistakes, one after the other. KeyError: a name that it does not have."""
        wired = self
        for edit in edits:
            wired = wired._edited(edit)
        return wired

    def _edited(self, edit: Edit) -> Wired:
        match edit:
            case Swap(one, other):
                return self.edited(Move(one, self.node(other)), Move(other, self.node(one)))
            case Move(end, node):
                return self._moved(end, node)
            case Open(name) if name in self.ends:
                return self._moved(name, f"{name}{_FREE}")
            case Open(name):
                old = self.elements[name]
                return self._with(old, replace(old, when=old.when | {NEVER}))
            case Loose(name, ohms):
                old = self.elements[self.ends[name][0] if name in self.ends else name]
                behind = old.kind in (Kind.DIRECT, Kind.ALTERNATING, Kind.DIODE)
                return self._with(old, replace(old, ohms=old.ohms + ohms) if behind else _times(old, 1.0, ohms))
            case Join(one, other, ohms, when):
                name = f"join {len(self.elements)}"
                return self._with(None, Element(name, Kind.JOINED, one, other, ohms, when=frozenset({when} if when else ())))
            case Scale(name, factor):
                return self._with(self.elements[name], _times(self.elements[name], factor))
            case Reverse(name):
                return self._with(self.elements[name], _times(self.elements[name], -1.0))
            case Stuck(thing, made):
                return replace(self, stuck={**self.stuck, thing: made})

    def _moved(self, end: str, node: str) -> Wired:
        name, side = self.ends[end]
        old = self.elements[name]
        return self._with(old, replace(old, b=node) if side else replace(old, a=node))

    def _with(self, old: Element | None, new: Element) -> Wired:
        around = dict(self.around)
        for node in {old.a, old.b} if old else ():
            around[node] = tuple(element for element in around[node] if element is not old)
        for node in {new.a, new.b}:
            around[node] = (*around.get(node, ()), new)
        changed = (*self.changed, *((old, new) if old else (new,)))
        elements, solved = {**self.elements, new.name: new}, self.solved if self.base else {}
        return replace(self, elements=elements, around=around, base=self.base or self, changed=changed, solved=solved)


def _times(element: Element, factor: float, more: float = 0.0) -> Element:
    value = element.value
    if isinstance(value, tuple):
        return replace(element, value=(value[0] * factor + more, value[1] * factor + more))
    return replace(element, value=value * factor + more)
