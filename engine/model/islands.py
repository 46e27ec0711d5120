"""The islands of a wired site: what is joined in one state under one test, as equations that are solved once."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Collection, Mapping
from enum import Enum, auto
from functools import cached_property
from typing import TypeVar

from engine.model.elements import Element, Kind, Wired
from engine.model.network import Network
from engine.model.scenario import Scenario

T = TypeVar("T")

_SURGE_AT_TEST = 10e3  # ohm of a surge device at the voltage of an insulation test, which is above its own; common practice, no source
_LEAST = 1e-9  # ohm, so that a value of nothing can be reckoned with
_FEW = 12  # changed elements up to which an island is not solved from the beginning
_KEPT = 15_000  # islands and views of one site in memory


class Test(Enum):
    """What is asked of an island, and so what conducts in it."""

    DIRECT = auto()
    ALTERNATING = auto()
    INSULATION = auto()


_ALWAYS = frozenset({Kind.JOINED, Kind.RESISTOR, Kind.DIRECT, Kind.ALTERNATING})
_CONDUCTS = {Test.DIRECT: _ALWAYS, Test.ALTERNATING: _ALWAYS | {Kind.CAPACITOR}, Test.INSULATION: _ALWAYS | {Kind.SURGE}}
_DRIVES: Mapping[Test, tuple[Kind, ...]] = {
    Test.DIRECT: (Kind.DIRECT, Kind.DIODE),
    Test.ALTERNATING: (Kind.ALTERNATING,),
    Test.INSULATION: (),
}


class _Admittances(dict[Element, complex]):
    """What each element conducts while it is there, S."""

    def __init__(self, scenario: Scenario, test: Test, frequency: float) -> None:
        super().__init__()
        self._scenario, self._conducts, self._pulse = scenario, _CONDUCTS[test], 2 * math.pi * frequency

    def __missing__(self, element: Element) -> complex:
        value = element.at(self._scenario)
        if element.kind not in self._conducts:
            found: complex = 0.0
        elif element.kind is Kind.SURGE:
            found = 1 / _SURGE_AT_TEST
        elif element.kind is Kind.CAPACITOR:
            found = 1j * self._pulse * value
        else:
            found = 1 / max(value if element.kind in (Kind.JOINED, Kind.RESISTOR) else element.ohms, _LEAST)
        self[element] = found
        return found


class View:
    """A wired site as one test sees it: under a scenario, with all of `made` there, units at the angle of the phase that each is set to."""

    def __init__(self, wired: Wired, scenario: Scenario, made: frozenset[str], phases: Mapping[str, str], test: Test) -> None:
        self.wired, self.scenario, self.made, self.phases, self.test = wired, scenario, made, phases, test
        self._admittances = _kept(wired.base or wired, (scenario, test), lambda: _Admittances(scenario, test, wired.frequency))
        self._drives = _DRIVES[test]
        self._islands: list[Island] = []
        self._changed = {node for element in wired.changed if element.when <= made for node in (element.a, element.b)}

    def admittance(self, element: Element) -> complex:
        """What it conducts, S; 0 where it is not there."""
        return self._admittances[element] if element.when <= self.made else 0.0

    def emf(self, element: Element) -> complex:
        """What drives it from its node `a`, or what a diode drops, V."""
        if element.kind not in self._drives:
            return 0.0
        value = element.at(self.scenario)
        if element.kind is Kind.ALTERNATING:
            phase = self.phases[element.of] if element.of else element.phase
            return cmath.rect(value, self.wired.angles.get(phase, 0.0))
        return value

    def island(self, node: str) -> Island:
        """All that conducts from a node on. KeyError: there is no such node."""
        found = next((island for island in self._islands if node in island.nodes), None)
        if found is None:
            base = self.wired.base
            right = view(base, self.scenario, self.made, self.phases, self.test).island(node) if base and node in base.around else None
            untouched = right and not any(changed in right.nodes for changed in self._changed)
            found = right if right and untouched else self._gathered(node, right)
            self._islands.append(found)
        return found

    def _gathered(self, node: str, right: Island | None) -> Island:
        """The island of a node; `right` is that of the site that this one was edited from."""
        nodes, there, diodes = {node: None}, dict[Element, complex](), dict[Element, None]()
        around, queue, made, admittances = self.wired.around, [node], self.made, self._admittances
        for here in queue:
            for element in around[here]:
                if element in there or not element.when <= made:
                    continue
                if admittance := admittances[element]:
                    there[element] = admittance
                    other = element.b if element.a == here else element.a
                    if other not in nodes:
                        nodes[other] = None
                        queue.append(other)
                elif element.kind is Kind.DIODE:
                    diodes[element] = None
        angles = tuple(self.phases.values()) if self.test is Test.ALTERNATING else ()
        key = self.test, self.scenario, angles, frozenset(there) or node, frozenset(diodes)
        return _kept(self.wired, key, lambda: Island(self, nodes, there, [e for e in diodes if e.a in nodes and e.b in nodes], right))


def view(wired: Wired, scenario: Scenario, made: frozenset[str], phases: Mapping[str, str], test: Test) -> View:
    """The view of a site; of one that is not edited, it is kept."""
    if wired.base:
        return View(wired, scenario, made, phases, test)
    key = scenario, made, tuple(phases.values()), test
    return _kept(wired, key, lambda: View(wired, scenario, made, phases, test))


class Island:
    """Nodes that one test reaches from each other, and what joins them; `right`: as it was before an edit."""

    def __init__(
        self, view: View, nodes: Collection[str], there: Mapping[Element, complex], diodes: Collection[Element], right: Island | None
    ) -> None:
        self.nodes = nodes
        self.there, self._right = there, right
        self._emf = {element: emf for element in there if (emf := view.emf(element))}
        self._drops: dict[Element, tuple[complex, complex]] = {diode: (view.emf(diode), 1 / diode.ohms) for diode in diodes}
        self.conducting: set[Element] = set()
        self.zero: str = right.zero if right and right.zero in nodes else "earth bar" if "earth bar" in nodes else next(iter(nodes))

    @property
    def live(self) -> bool:
        """Whether anything drives it."""
        return bool(self._emf)

    @cached_property
    def network(self) -> Network:
        """Its equations; diodes conduct where the voltage over them says so, by trial."""
        network = self._network()
        for _ in range(2 * len(self._drops) if self.live else 0):
            over = {diode for diode, (drop, _) in self._drops.items() if network.voltage(diode.a, diode.b).real > drop.real}
            if over == self.conducting:
                break
            self.conducting = over
            network = self._network()
        return network

    def _network(self) -> Network:
        branches = [(element.a, element.b, admittance) for element, admittance in self.there.items() if element.a != element.b]
        driving = [(element.a, element.b, emf * self.there[element]) for element, emf in self._emf.items()]
        for diode in self.conducting:
            drop, admittance = self._drops[diode]
            branches.append((diode.a, diode.b, admittance))
            driving.append((diode.a, diode.b, drop * admittance))
        fed: dict[str, complex] = {}
        for plus, minus, current in driving:
            fed[plus] = fed.get(plus, 0.0) + current
            fed[minus] = fed.get(minus, 0.0) - current
        if (right := self._right) and right.zero == self.zero:
            known = right.network
            changed = (self.there.keys() ^ right.there.keys()) | (self.conducting ^ right.conducting)
            if len(changed) <= _FEW:
                return known.changed({node for element in changed for node in (element.a, element.b)}, branches, fed)
        return Network(branches, fed, self.zero)

    def current(self, element: Element) -> complex:
        """What flows through it from its node `a` to its node `b`, A."""
        network = self.network  # solved first: it finds what diodes do
        if element in self.conducting:
            drop, admittance = self._drops[element]
        elif element in self.there:
            drop, admittance = self._emf.get(element, 0.0), self.there[element]
        else:
            return 0.0
        return (network.voltage(element.a, element.b) - drop) * admittance


def _kept(wired: Wired, key: object, made: Callable[[], T]) -> T:
    """What was made once for a site, whatever it was edited to since; all is forgotten where it grows too much."""
    kept = wired.solved
    if key not in kept:
        if len(kept) >= _KEPT:
            kept.clear()
        kept[key] = made()
    found: T = kept[key]
    return found
