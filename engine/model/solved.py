"""What instruments read, and what flows, at a wired site in one state: what is made, and what each unit is set to."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping

from engine.model.elements import Inverter, Kind, Wired
from engine.model.islands import Test, view
from engine.model.scenario import Scenario

Settings = Mapping[str, Mapping[str, object]]  # what each unit is set to, by tag; `phase` alone matters here

_MUTE = 0.5  # V at its leads from which on an ohmmeter's reading means nothing; common practice, no source
_ROTATION = 40.0  # V between lines that a rotation meter wants; common practice, no source
_COMES_IN = (0.9, 1.1)  # of its voltage at a unit's incoming terminals makes it follow; common practice, no source
_FELT = 1e-6  # of 1 ohm, or of what lies between the points of a reading if that is less: what rounding leaves; ours
_HOLDS = 0.5  # of that voltage holds the relay of the bond open; common practice, no source


class Solver:
    """One wired site under one scenario, solved state by state as it is asked."""

    def __init__(self, wired: Wired, scenario: Scenario) -> None:
        self.wired, self.scenario = wired, scenario
        self._states: dict[object, Solved] = {}

    def at(self, made: Collection[str], settings: Settings | None = None) -> Solved:
        """The site with these things made and every other one open, out or off; a unit without a setting has the phase of its tag."""
        given, there = settings or {}, self._there(made)
        phases = {tag: str(given.get(tag, {}).get("phase", unit.phase)) for tag, unit in self.wired.inverters.items()}
        key = there, *phases.values()
        if key not in self._states:
            self._states[key] = self._decided(there, phases)
        return self._states[key]

    def starts(self, made: Collection[str], tag: str) -> bool:
        """Whether a unit that is switched on has the voltage to start, all units off until then."""
        there, phases = self._there(made), {unit.tag: unit.phase for unit in self.wired.inverters.values()}
        off = Solved(self.wired, self.scenario, there.union(("island",), (f"{other} off" for other in phases)), phases)
        return tag in there and self._enough(off, self.wired.inverters[tag])

    def _there(self, made: Collection[str]) -> frozenset[str]:
        stuck = self.wired.stuck.items()
        return frozenset(made).union(t for t, is_made in stuck if is_made).difference(t for t, is_made in stuck if not is_made)

    def _enough(self, off: Solved, unit: Inverter) -> bool:
        return off.volts(Test.DIRECT, f"{unit.tag} plus", f"{unit.tag} minus").real >= unit.least

    def _decided(self, made: frozenset[str], phases: Mapping[str, str]) -> Solved:
        """What units and the relay of the bond do by themselves: each decides on what it sees before any of them passes on what comes in."""
        wired, units = self.wired, self.wired.inverters.values()

        def solved(modes: Mapping[str, str], *relay: str) -> Solved:
            return Solved(wired, self.scenario, made.union(relay, (f"{tag} {mode}" for tag, mode in modes.items())), phases)

        modes = {unit.tag: "off" for unit in units}
        found = solved(modes, "island")
        running = [unit for unit in units if unit.tag in made and self._enough(found, unit)]
        if running:
            modes |= {unit.tag: "alone" for unit in running}
            found = solved(modes, "island")
        if "supply" not in made:
            return found
        relay = () if wired.relay and _held(found, wired) else ("island",)
        following = {unit.tag: "following" for unit in running if _comes_in(found, unit)}
        return solved(modes | following, *relay) if following or not relay else found


def _held(found: Solved, wired: Wired) -> bool:
    assert wired.relay
    return abs(found.volts(Test.ALTERNATING, *wired.relay)) >= _HOLDS * next(iter(wired.inverters.values())).volts


def _comes_in(found: Solved, unit: Inverter) -> bool:
    least, most = (share * unit.volts for share in _COMES_IN)
    return least <= abs(found.volts(Test.ALTERNATING, f"{unit.tag} incoming L", f"{unit.tag} incoming N")) <= most


class Solved:
    """One state. Nodes are named as in `Wired`; KeyError where there is none of that name."""

    def __init__(self, wired: Wired, scenario: Scenario, made: frozenset[str], phases: Mapping[str, str]) -> None:
        self.made = made
        self._wired, self._scenario = wired, scenario
        self._views = {test: view(wired, scenario, made, phases, test) for test in Test}
        self._transfers: dict[tuple[Test, str, str], Callable[[str], complex]] = {}
        self._read: dict[tuple[Test, str, str], complex] = {}

    def dc(self, a: str, b: str) -> float:
        """What a voltmeter reads from `b` to `a`, red on `a`, V; capacitors are charged."""
        return self._metered(Test.DIRECT, a, b).real

    def ac(self, a: str, b: str) -> float:
        """What a voltmeter reads, V rms."""
        return abs(self._metered(Test.ALTERNATING, a, b))

    def volts(self, test: Test, a: str, b: str) -> complex:
        """The voltage from `b` to `a`, no meter in, V; nothing lies between what nothing joins."""
        island = self._views[test].island(a)
        return island.network.voltage(a, b) if self._there(b) in island.nodes and island.live else 0.0

    def phasor(self, node: str) -> complex:
        """The AC voltage of a node, no meter in, to the earth bar, or to some node of its island where that is not in it, V rms."""
        island = self._views[Test.ALTERNATING].island(node)
        return island.network.potential(node) if island.live else 0.0

    def ohms(self, a: str, b: str) -> float:
        """What an ohmmeter reads; inf where nothing joins them, nan where a voltage lies there."""
        return self._resistance(Test.DIRECT, a, b)

    def insulation(self, a: str, b: str) -> float:
        """The same with the voltage of an insulation test, at which surge devices conduct."""
        return self._resistance(Test.INSULATION, a, b)

    def amps(self, element: str) -> tuple[float, float]:
        """What flows through an element from its first node to its second one: DC, and AC rms, A."""
        found = self._wired.elements[element]
        direct, alternating = (self._current(test, element, found.a) for test in (Test.DIRECT, Test.ALTERNATING))
        return direct.real, abs(alternating)

    def around(self, node: str, elements: Collection[str]) -> float:
        """What a clamp round these elements shows, all of which end at the node: the sum of what they carry away from it, A rms."""
        return abs(sum(self._away(name, node) for name in elements))

    def residual(self, poles: str) -> float:
        """What the elements of that name, up to the pole, carry together from their first nodes on: what comes back another way, A rms."""
        return abs(sum(self._current(Test.ALTERNATING, name, e.a) for name, e in self._wired.elements.items() if name.startswith(poles)))

    def thevenin(self, a: str, b: str) -> tuple[float, float, float]:
        """The site between two nodes as a source, no meter in: V DC, V AC rms, and its DC resistance, ohm; inf where nothing joins them."""
        return self.volts(Test.DIRECT, a, b).real, abs(self.volts(Test.ALTERNATING, a, b)), self._ohms(Test.DIRECT, a, b)

    def rotation(self, points: tuple[str, str, str]) -> str | None:
        """What a rotation meter shows with its three leads there: 123, 132, or nothing."""
        a, b, c = points
        if min(self.ac(a, b), self.ac(b, c), self.ac(c, a)) < _ROTATION:
            return None
        turn = (self.volts(Test.ALTERNATING, a, b) * complex(self.volts(Test.ALTERNATING, b, c)).conjugate()).imag
        return None if abs(turn) < _ROTATION**2 / 2 else "123" if turn > 0 else "132"

    def reach(self, nodes: Collection[str]) -> frozenset[str]:
        """All nodes on which what is read at these depends, whatever is asked."""
        tests = (Test.DIRECT, Test.ALTERNATING)
        return frozenset(other for node in nodes for test in tests for other in self._views[test].island(node).nodes)

    def felt(self, test: Test, a: str, b: str, nodes: Collection[str]) -> bool:
        """Whether what is read between two nodes can change where something is changed among others.

        A change does what currents do that are fed in at its nodes, and add up to nothing: it is felt where the transfer impedance of these
        to the reading differs. Between two islands it is felt where it has a node in each.
        """
        one, other = self._views[test].island(a), self._views[test].island(b)
        near = [node for node in nodes if node in one.nodes]
        if one is not other:
            return bool(near) and any(node in other.nodes for node in nodes)
        if len(near) < 2:
            return False
        key = test, a, b
        if key not in self._transfers:
            self._transfers[key] = one.network.transfer(a, b)
        transfer = self._transfers[key]
        least = _FELT * min(1.0, abs(transfer(a) - transfer(b)))
        first = transfer(near[0])
        return any(abs(transfer(node) - first) > least for node in near[1:])

    def meets(self, test: Test, points: Collection[str], nodes: Collection[str]) -> bool:
        """Whether any of these nodes is in an island of one of these points."""
        islands = [self._views[test].island(point) for point in points]
        return any(node in island.nodes for island in islands for node in nodes)

    def hot(self, nodes: Collection[str], earth: str, least: float) -> frozenset[str]:
        """All nodes joined to these that stand at more than so many volts to earth, or in an island without earth that is live."""
        found: set[str] = set()
        for test in (Test.DIRECT, Test.ALTERNATING):
            for island in {id(island): island for node in nodes if (island := self._views[test].island(node)).live}.values():
                if earth not in island.nodes:
                    found.update(island.nodes)
                    continue
                zero = island.network.potential(earth)
                found.update(node for node in island.nodes if abs(island.network.potential(node) - zero) > least)
        return frozenset(found)

    def joined(self, node: str) -> frozenset[str]:
        """All nodes that wires, bars and closed contacts join to this one."""
        found, queue = {node}, [node]
        for here in queue:
            for element in self._wired.around[here]:
                if element.kind is Kind.JOINED and self._views[Test.DIRECT].admittance(element):
                    other = element.b if element.a == here else element.a
                    if other not in found:
                        found.add(other)
                        queue.append(other)
        return frozenset(found)

    def charged(self, tag: str, seconds: float) -> float:
        """The voltage at a unit's battery terminals so long after it was joined as it is now, empty until then, V.

        All other capacitors are charged. Equation: U = U_0 (1 - exp(-t / (R C))).
        """
        volts, _, ohms = self.thevenin(f"{tag} plus", f"{tag} minus")
        farads = self._wired.elements[f"{tag} capacitance"].at(self._scenario)
        return -volts * math.expm1(-seconds / (ohms * farads))

    # --- how ---

    def _away(self, name: str, node: str) -> complex:
        element = self._wired.elements[name]
        flow = self._current(Test.ALTERNATING, name, element.a)
        return flow if element.a == node else -flow

    def _ohms(self, test: Test, a: str, b: str) -> float:
        island = self._views[test].island(a)
        return island.network.impedance(a, b).real if self._there(b) in island.nodes else math.inf

    def _metered(self, test: Test, a: str, b: str) -> complex:
        key = test, a, b
        if key not in self._read:
            volts, meter = self.volts(test, a, b), self._scenario.voltmeter
            self._read[key] = volts and volts * meter / (meter + self._views[test].island(a).network.impedance(a, b))
        return self._read[key]

    def _resistance(self, test: Test, a: str, b: str) -> float:
        return math.nan if max(abs(self.dc(a, b)), self.ac(a, b)) > _MUTE else self._ohms(test, a, b)

    def _current(self, test: Test, element: str, node: str) -> complex:
        island = self._views[test].island(node)
        return island.current(self._wired.elements[element]) if island.live else 0.0

    def _there(self, node: str) -> str:
        if node not in self._wired.around:
            raise KeyError(node)
        return node
