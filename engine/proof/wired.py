"""A plan as it is wired when nobody has made a mistake: the names of the plan, the resistances that it reckons with.

Where a plan does not know a value, a small one that is usual stands for it: this must be built for any plan that has units. A pole is its
resistance alone, without reactance. All strings of panels on a unit are taken as joined, whatever inputs they are on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from engine.model.elements import CONTACT, JOINT, Element, Inverter, Kind, Wired
from engine.model.scenario import BLEED, CAPACITANCE, DATA, ELECTRODE, FILTERS, SOURCE, Factor
from engine.planner import Planned
from engine.site.supply import ANGLES, Arrangement
from engine.stages.circuits import EARTH_BAR, Ends, strings_of
from engine.stages.switchgear import GearKind
from engine.workings import Figure

# What stands for what is not known: common practice, no source, where none is named.
_WIRE = 0.01  # ohm
_MODULE = 0.01  # ohm
_RELAY = 0.01  # ohm of a relay in a unit
_OUTPUT = 0.1  # ohm behind a unit's output
_SUPPLY = 0.1  # ohm behind a line that comes in
_LEAD = 0.02  # ohm of a test lead with its clips and fuse
_LINK = 0.1  # ohm of one core of a data cable
_TERMINATOR = 120.0  # ohm; ISO 11898-2 and TIA-485 guides
_NODE = 50e3  # ohm between the data pins of a node that is off; ISO 11898-2: 10 to 100 kohm (from memory)
_PRE_CHARGE = 50.0  # ohm
_CAPACITANCE = 30e-3  # F
_CONSUMERS = 100.0  # ohm
_DIODE = (1.0, 5e-3)  # V and ohm of a unit's battery terminals the wrong way round
_INPUT = 1e6  # ohm of a unit's solar input
_STRING = (100.0, 10.0)  # V and A of a string of panels
_STARTS = 0.5  # of the bank's voltage starts a unit
_RESTS = 0.1  # of the way from its lowest to full: no bank is joined at its last
_TEST_LOAD = 1500.0  # W of the heater that is the first load
_NEVER = float("inf")  # ohm


def wired(planned: Planned) -> Wired:
    """The site of a plan. One without units has nothing that is wired."""
    facts, site = planned.facts, _Site(planned)
    site.build()
    volts, least = facts.output_voltage.value, _STARTS * site.bank_emf(None)[0]
    return Wired.of(
        site.elements,
        dict(site.aliases()),
        tuple(site.things()),
        {unit.tag: Inverter(unit.tag, unit.phase, least, volts) for unit in planned.parts.units.units},
        {**_angles(facts.answers.incoming.arrangement), **_angles(facts.answers.output.arrangement)},
        facts.output_frequency.value,
        site.relay(),
    )


def _angles(arrangement: Arrangement | None) -> Mapping[str, float]:
    return ANGLES[arrangement or "single-phase"]


class _Site:
    def __init__(self, planned: Planned) -> None:
        self.facts, self.parts = planned.facts, planned.parts
        self.elements: list[Element] = []
        self.single = len(self.parts.units.units) == 1

    def build(self) -> None:
        for ends in self.parts.circuits.circuits:
            self._circuit(ends)
        for bank in self.parts.banks.banks:
            self._bank(bank.name)
        for unit in self.parts.units.units:
            self._unit(unit.tag, unit.phase)
        self._boards()
        self._supply()
        self._data()

    # --- what there is ---

    def _add(
        self,
        name: str,
        kind: Kind,
        a: str,
        b: str,
        value: float | tuple[float, float],
        *when: str,
        ohms: float = 0.0,
        by: Factor | None = None,
    ) -> None:
        self.elements.append(Element(name, kind, a, b, value, ohms, by, frozenset(when)))

    def _join(self, name: str, a: str, b: str, *when: str, ohms: float = CONTACT) -> None:
        self._add(name, Kind.JOINED, a, b, ohms, *when)

    def _wire(self, name: str, at: tuple[str, str], spots: tuple[str, str], thing: str, ohms: float) -> None:
        labels = f"{name} at {spots[0]}", f"{name} at {spots[1]}"
        self.elements.append(Element(name, Kind.JOINED, *at, ohms, when=frozenset({thing}), ends=labels))

    def aliases(self) -> Iterator[tuple[str, str]]:
        """Another name for an end at a board or bar."""
        for element in self.elements:
            for name in element.ends or ():
                spot = name.removeprefix(f"{element.name} at ")
                if spot.endswith("board") or spot.startswith("bar "):
                    yield f"{element.name} at bar", name

    def things(self) -> Iterator[str]:
        """What can be made, in the order in which it was built."""
        modes = {f"{tag} {mode}" for tag in self.parts.units.tags for mode in ("off", "alone", "following")} | {"island"}
        found = [thing for element in self.elements for thing in sorted(element.when) if thing not in modes]
        return iter(dict.fromkeys((*found, *self.parts.units.tags)))

    def relay(self) -> tuple[str, str] | None:
        """The line and the neutral that hold the bond open, where it is a relay beside the units."""
        lines = self.facts.incoming_lines
        if self.facts.answers.earthing.island_bond != "changeover relay" or not self.parts.units.units or not lines:
            return None
        if self.single:
            return f"{self.parts.units.tags[0]} incoming L", f"{self.parts.units.tags[0]} incoming N"
        return f"incoming bar {lines[0]}", "incoming bar N"

    def bonding(self) -> str | None:
        """The unit whose relay makes the bond of island mode: all others are set to keep theirs open (T21)."""
        units = self.parts.units
        return (units.lead or units.tags[0]) if self.facts.answers.earthing.island_bond == "unit relay" else None

    # --- circuits ---

    def _circuit(self, ends: Ends) -> None:
        name, opening = ends.name, self.parts.switchgear.opening(ends)
        sizing = self.parts.conductors.of.get(name)
        ohms = _value(sizing.pole if sizing else None, _WIRE)
        spots, fuse = self._spots(ends), self.parts.switchgear.fuse(ends)
        if opening is None or (ends.kind in ("load", "incoming") and not ends.common):
            # A protective conductor that runs with others is landed by itself, before them.
            thing = f"{name} PE" if opening else name
            self._wire(f"{name} PE", (self._start(ends, "PE"), self._end(ends, "PE")), spots, thing, ohms)
        for pole in self._poles(ends) if opening else ():
            own = pole if ends.common or pole != "L" else ends.phase or pole
            at = f"{name} {pole}"
            start, end, before, after = self._start(ends, pole), self._end(ends, pole), f"{at} before isolator", f"{at} after isolator"
            here, then = (end, (start, before)) if ends.kind == "load" else (start, (after, end))
            self._wire(at, then, spots, name, ohms)
            tap = (after, here) if ends.kind == "load" else (here, before)
            if ends.kind == "solar":
                self._strings(ends, pole, before, fused=fuse is not None)
            elif fuse and own in fuse.poles:
                self._join(f"{at} fuse", *tap, f"{name} fuse")
            else:
                self._join(f"{at} tap", *tap, ohms=JOINT)
            if opening and own in opening.poles:
                self._join(f"{at} contact", before, after, f"{name} isolator")
            else:
                self._join(f"{at} joint", before, after, ohms=JOINT)
        for gear in self.parts.switchgear.of(ends, GearKind.RESIDUAL):
            for pole in gear.poles:
                before = self._end(ends, pole if ends.common or pole == "N" else "L")
                self._join(f"{gear.kind} {pole}", before, f"consumers {pole}", str(gear.kind))

    def _poles(self, ends: Ends) -> tuple[str, ...]:
        if ends.kind in ("battery", "solar"):
            return "plus", "minus"
        if not ends.common:
            return "L", "N"
        return (*(self.facts.incoming_lines if ends.kind == "incoming" else self.facts.phases), "N")

    def _spots(self, ends: Ends) -> tuple[str, str]:
        if ends.start != ends.end:
            return ends.start, ends.end
        return ("bar", "consumers") if ends.kind == "load" else ("supply", "bar")

    def _start(self, ends: Ends, pole: str) -> str:
        if ends.kind == "incoming" and pole != "PE" and (ends.common or self.single):
            return f"supply {ends.phase if pole == 'L' else pole}"
        if ends.bond:
            return f"{ends.start} {self.facts.earthed_pole}"
        return self._terminal(ends, ends.start, pole)

    def _end(self, ends: Ends, pole: str) -> str:
        if ends.kind == "load" and ends.common:
            return f"{ends.name} {pole} before residual-current device"
        return self._terminal(ends, ends.end, pole)

    def _terminal(self, ends: Ends, spot: str, pole: str) -> str:
        """The terminal of a pole at the unit, bank, bar or board of that name."""
        if spot == EARTH_BAR:
            return EARTH_BAR
        if spot in self.parts.units.tags:
            side = f"{ends.kind} " if ends.kind in ("load", "incoming", "solar") else ""
            return f"{spot} case" if pole == "PE" else f"{spot} {side}{pole}"
        if spot.endswith("board"):
            return f"{spot} PE" if pole == "PE" else f"{spot.removesuffix('board')}bar {ends.phase if pole == 'L' else pole}"
        return f"{spot} case" if pole == "PE" else f"{spot} {pole}"

    def _strings(self, ends: Ends, pole: str, bus: str, *, fused: bool) -> None:
        for number in range(1, strings_of(self.facts) + 1):
            string = f"{ends.name} string {number} {pole}"
            self._join(f"{string} connector", string, f"{string} joined", f"{ends.name} connectors")
            if fused:
                self._join(f"{string} fuse", f"{string} joined", bus, f"{ends.name} fuse")
            else:
                self._join(f"{string} tap", f"{string} joined", bus, ohms=JOINT)

    # --- what is at their ends ---

    def bank_emf(self, name: str | None) -> tuple[float, float]:
        """A bank at its lowest and full, V; nominal, where that is not known."""
        sums = self.parts.storage.of(name)
        nominal = self.facts.series * (self.facts.value("storage.module.voltage") or 12.0)
        low, full = _value(sums.emf_low if sums else None, nominal), _value(sums.emf_full if sums else None, nominal)
        # A bank at rest below what its units stop at is charged before anything else.
        low = max(low, _value(sums.low if sums else None, low))
        return low + _RESTS * (full - low), full

    def _bank(self, name: str) -> None:
        series, parallel = self.facts.series, self.facts.strings_in_parallel
        low, full = (volts / series for volts in self.bank_emf(name))
        ohms = self.facts.value("storage.module.resistance") or _MODULE
        inside = f"{name} cells" if self.facts.answers.storage.managed else name
        if self.facts.answers.storage.managed:
            self._join(f"{name} switch", f"{name} cells plus", f"{name} plus", name)
            self._join(f"{name} minus joint", f"{name} cells minus", f"{name} minus", ohms=JOINT)
        for number in range(1, parallel + 1):
            string = f"{name} string {number}"
            nodes = (f"{string} minus", *(f"{string} behind {k}" for k in range(1, series)), f"{string} plus")
            for k in range(series):
                self._add(f"{string} module {k + 1}", Kind.DIRECT, nodes[k + 1], nodes[k], (low, full), ohms=ohms, by="charge")
            for pole in ("plus", "minus"):
                joined = (f"{name} strings",) if parallel > 1 else ()
                self._join(f"{string} {pole} joint", f"{string} {pole}", f"{inside} {pole}", *joined, ohms=JOINT)

    def _unit(self, tag: str, phase: str) -> None:
        plus, minus, case = f"{tag} plus", f"{tag} minus", f"{tag} case"
        sides = {side: (f"{tag} {side} L", f"{tag} {side} N") for side in ("load", "incoming")}
        (load, neutral), (line_in, neutral_in) = sides["load"], sides["incoming"]
        farads = self.facts.value("unit.dc_capacitance") or _CAPACITANCE
        self._add(f"{tag} capacitance", Kind.CAPACITOR, plus, minus, (farads * CAPACITANCE[0], farads * CAPACITANCE[1]), by="capacitance")
        self._add(f"{tag} bleed", Kind.RESISTOR, plus, minus, BLEED, by="bleed")
        self._add(f"{tag} reverse path", Kind.DIODE, minus, plus, _DIODE[0], ohms=_DIODE[1])
        for node in (*sides["load"], *sides["incoming"]):
            self._add(f"{node} filter", Kind.CAPACITOR, node, case, FILTERS, by="filters")
        for pole, one, other, factor in (("L", line_in, load, "transfer"), ("N", neutral_in, neutral, "neutral")):
            by: Factor = "transfer" if factor == "transfer" else "neutral"
            self._add(f"{tag} relay {pole} at rest", Kind.JOINED, one, other, (_NEVER, _RELAY), f"{tag} off", by=by)
            self._join(f"{tag} relay {pole}", one, other, f"{tag} following", ohms=_RELAY)
        volts = self.facts.output_voltage.value
        alone = frozenset({f"{tag} alone"})
        self.elements.append(Element(f"{tag} output", Kind.ALTERNATING, load, neutral, volts, _OUTPUT, when=alone, phase=phase, of=tag))
        if tag == self.bonding():
            self._join(f"{tag} bond", neutral, case, f"{tag} alone")
        if self.facts.solar:
            self._solar(tag)
        self._add(f"{tag} data", Kind.RESISTOR, f"{tag} data A", f"{tag} data B", _NODE)
        self._add(f"{tag} data ground", Kind.JOINED, f"{tag} data common", minus, DATA, by="data")
        self._leads(tag)

    def _solar(self, tag: str) -> None:
        solar = self.facts.answers.solar
        volts = (self.facts.value("solar.voc") or _STRING[0]) * (solar.series or 1)
        self._add(f"{tag} solar input", Kind.RESISTOR, f"{tag} solar plus", f"{tag} solar minus", _INPUT)
        for number in range(1, strings_of(self.facts) + 1):
            string = f"solar {tag} string {number}"
            ohms = volts / (self.facts.value("solar.isc") or _STRING[1])
            self._add(string, Kind.DIRECT, f"{string} plus", f"{string} minus", volts, ohms=ohms)

    def _leads(self, tag: str) -> None:
        """What hangs on a unit for a test, or alone on the bench."""
        bench, kit = f"bench {tag}", self.parts.bill.pre_charge
        resistor = _value(kit.resistance if kit else None, _PRE_CHARGE)
        emf = self.bank_emf(self.parts.banks.bank_of.get(tag))
        self._add(f"{bench} battery", Kind.DIRECT, f"{bench} plus", f"{bench} minus", emf, ohms=_MODULE, by="charge")
        self._add(f"{bench} resistor", Kind.RESISTOR, f"{bench} plus", f"{tag} plus", resistor, bench)
        self._join(f"{bench} bridge", f"{bench} plus", f"{tag} plus", bench, f"{bench} bridged")
        self._join(f"{bench} minus lead", f"{bench} minus", f"{tag} minus", bench, ohms=_LEAD)
        self._join(f"bridge {tag} neutral", f"load {tag} N before isolator", "load bar N", f"bridge {tag} neutral", ohms=_LEAD)
        if self.parts.banks.bank_of.get(tag):
            at, thing = f"battery {tag}", f"pre-charge {tag}"
            self._join(f"{thing} lead", f"{at} minus before isolator", f"{at} minus after isolator", thing, ohms=_LEAD)
            self._add(f"{thing} resistor", Kind.RESISTOR, f"{at} plus before isolator", f"{at} plus after isolator", resistor, thing)

    def _boards(self) -> None:
        if not self.parts.units.units:
            return
        for row in self.parts.phases.rows:
            ohms = self.facts.output_voltage.value**2 / row.real.value if row.real.value > 0 else _CONSUMERS
            self._add(f"loads of {row.phase}", Kind.RESISTOR, f"consumers {row.phase}", "consumers N", ohms, f"consumers {row.phase}")
        for line in self.facts.phases:
            heater = self.facts.output_voltage.value**2 / _TEST_LOAD
            self._add(f"heater on {line}", Kind.RESISTOR, f"consumers {line}", "consumers N", heater, f"test load {line}")
        for board, pieces in self.parts.switchgear.boards.items():
            bar = f"{board.removesuffix('board')}bar"
            for pole in (pole for gear in pieces for pole in gear.poles if pole != "PE"):
                self._add(f"{board} surge device {pole}", Kind.SURGE, f"{bar} {pole}", f"{board} PE", 0.0, "surge devices")
        if self.parts.switchgear.link:
            when = ("bond", "island") if self.relay() else ("bond",)
            self._join("bond", "bond N", "load board PE", *when)
            self._add("bond at load bar N", Kind.JOINED, "bond N", "load bar N", (JOINT, _NEVER), by="bond")
            behind = "load bar N" if self.single else "load common N before residual-current device"
            self._add("bond behind the load isolator", Kind.JOINED, "bond N", behind, (_NEVER, JOINT), by="bond")

    def _supply(self) -> None:
        volts, fault = (
            self.facts.value("incoming.voltage") or self.facts.output_voltage.value,
            self.facts.value("incoming.prospective_fault"),
        )
        for line in self.facts.incoming_lines if self.parts.units.units else ():
            ohms = volts / fault if fault else _SUPPLY
            name, supply = f"supply source {line}", frozenset({"supply"})
            self.elements.append(Element(name, Kind.ALTERNATING, f"supply {line}", "supply N", volts, ohms, when=supply, phase=line))
        if self.single and self.facts.incoming_lines:
            # Its one isolator opens what leaves the board.
            for pole in (*self.facts.incoming_lines, "N"):
                self._join(f"incoming bar {pole} joint", f"supply {pole}", f"incoming bar {pole}", ohms=JOINT)
        # Where the link of island mode stays closed, it is what makes earth of the supply's PEN conductor: only electrodes join them beside it.
        electrode = self.facts.answers.earthing.system == "TT" or self.facts.answers.earthing.island_bond == "fixed link"
        if self.facts.incoming_lines and self.facts.answers.earthing.system != "IT":
            self._add("supply earth", Kind.RESISTOR, "supply N", "incoming board PE", ELECTRODE if electrode else SOURCE, by="source")

    def _data(self) -> None:
        chain = self.parts.chain
        links = [(link.start, link.end) for link in chain.links]
        links += [(node.unit, name) for node, name in zip(chain.nodes, chain.beyond, strict=True)]
        for start, end in links:
            thing = f"link {start} to {end}"
            for core in ("A", "B", "common"):
                at = f"{start} data {core}", f"{end} data {core}"
                self._wire(f"{thing} {core}", at, (start, end), thing, _LINK)
        for name in chain.beyond:
            self._add(f"{name} data", Kind.RESISTOR, f"{name} data A", f"{name} data B", _NODE)
        for end in chain.ends if chain.terminators else ():
            self._add(f"terminator {end}", Kind.RESISTOR, f"{end} data A", f"{end} data B", _TERMINATOR, f"terminator {end}")


def _value(figure: Figure | None, otherwise: float) -> float:
    return figure.value if figure else otherwise
