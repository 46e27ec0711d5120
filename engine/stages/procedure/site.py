"""What the procedure knows of this site, as words and figures for a step; nothing is invented where a figure is missing."""

from __future__ import annotations

import math
from collections.abc import Iterable

from engine.facts import Facts
from engine.formulas.battery import allowed_difference
from engine.formulas.phasors import rotation, voltage_between
from engine.formulas.resistance import conductor_resistance, series_resistance
from engine.formulas.solar import string_voltage, voltage_at
from engine.frozen import dataclass
from engine.model.acts import Act, Reading
from engine.quantities import Volt, shown
from engine.site.keys import QuantityKey
from engine.site.supply import ANGLES, LINES
from engine.stages.banks import Banks
from engine.stages.bill.part import Bill
from engine.stages.chain.part import Chain
from engine.stages.circuits import Circuits, Ends
from engine.stages.conductors.part import Conductors
from engine.stages.demand import Demand
from engine.stages.limits import Limits
from engine.stages.phases.part import Phases
from engine.stages.procedure.part import Section
from engine.stages.settings import Settings
from engine.stages.storage.part import BankSums, Storage
from engine.stages.strings import Strings
from engine.stages.switchgear import Switchgear
from engine.stages.units import UnitPlace, Units
from engine.stages.wall.part import Wall
from engine.tables.conductors import resistance
from engine.tables.verification import frequency_share
from engine.text import clean
from engine.workings import Figure, chosen, tabled, work


@dataclass(frozen=True)
class Draft:
    """A step before it has its place. `name` is what it is called wherever it is repeated, `at` where that is, if not with `who`; `doing` what it
    makes and reads, `got` the names of the values to write down where they are several. `hurt`: someone can be hurt; `hold`: nobody goes on
    before it is right.
    """

    section: Section
    name: str
    who: str
    do: str
    expect: str
    otherwise: str
    doing: Iterable[Act | Reading] = ()
    at: str | None = None
    hold: bool = False
    hurt: bool = False
    got: tuple[str, ...] = ()


@dataclass(frozen=True)
class Site:
    """The parts that the procedure reads."""

    facts: Facts
    units: Units
    banks: Banks
    phases: Phases
    storage: Storage
    strings: Strings
    limits: Limits
    circuits: Circuits
    conductors: Conductors
    switchgear: Switchgear
    wall: Wall
    chain: Chain
    settings: Settings
    demand: Demand
    bill: Bill

    @property
    def several(self) -> bool:
        """Whether units act together: then there are bars, a load isolator and an incoming isolator of the set."""
        return len(self.units.units) > 1

    @property
    def off(self) -> str:
        """What is said where everything must go off."""
        return "All units off." if self.several else "The unit off."

    @property
    def bank_off(self) -> str:
        """A managed bank can be switched off."""
        return "Bank switched off. " if self.facts.answers.storage.managed else ""

    @property
    def bank_on(self) -> str:
        """A managed bank shows no voltage before its management lets it."""
        return "Bank switched on. " if self.facts.answers.storage.managed else ""

    @property
    def incoming_isolator(self) -> str:
        """The isolator through which the supply comes in."""
        return f"incoming isolator of the {'set' if self.several else 'unit'}"

    @property
    def consumers(self) -> str:
        """What leads from the load board to what the people use: the breakers of the consumers, never a unit's own."""
        return f"every {'branch' if self.facts.rules == 'nec' else 'final'} circuit"

    @property
    def isolators(self) -> str:
        """The kinds of isolators there are on this site, solar first; a breaker is one too where it opens the circuit."""
        kinds = {ends.kind for ends in self.circuits.circuits}
        return ", ".join(kind for kind in ("solar", "load", "incoming", "battery") if kind in kinds)

    @property
    def incoming(self) -> str | None:
        """What comes in besides the battery: "utility", "generator", or None where nothing does."""
        return None if self.facts.incoming_kind == "none" else self.facts.incoming_kind

    @property
    def incoming_circuit(self) -> Ends | None:
        """The circuit through which the supply comes in: the set's, or the only unit's."""
        return next(iter(self.circuits.of("incoming", common=self.several)), None)

    @property
    def load_circuit(self) -> Ends:
        """The circuit that feeds the consumers: the set's, or the only unit's."""
        return self.circuits.of("load", common=self.several)[0]

    @property
    def trips_following(self) -> bool:
        """Whether a first fault trips anything while the supply is in: on IT earthing it does not, but where a fixed link earths the neutral."""
        earthing = self.facts.answers.earthing
        return earthing.system != "IT" or earthing.island_bond == "fixed link"

    @property
    def bond_place(self) -> str:
        """Where the neutral-earth bond is."""
        given = self.facts.answers.earthing
        unknown = "the relay in the units" if given.island_bond == "unit relay" else "its place (find it, write it here: ______)"
        return clean(given.bond_at or unknown, 60)

    def sums(self, bank: str | None) -> BankSums | None:
        """The sums of one bank."""
        return next((sums for sums in self.storage.banks if sums.name == bank), None)

    def circuit(self, name: str) -> Ends | None:
        """A circuit by its name."""
        return next((ends for ends in self.circuits.circuits if ends.name == name), None)

    def highest_voltage(self, bank: str | None) -> Volt | None:
        """What a bank has at the most, as far as it is known."""
        sums = self.sums(bank)
        return sums.emf_full.value if sums and sums.emf_full else None

    def battery_window(self, bank: str | None) -> str:
        """What a voltmeter at a bank must read."""
        if window := self._window(bank, 1):
            return window
        nominal = self.storage.system_voltage
        if nominal:
            return f"plus sign, near +{nominal} (nominal; its limits are not computed)"
        return "plus sign; voltage not computed: compare with the battery's plate, the planner decides"

    def module_window(self, bank: str | None) -> str | None:
        """The same for one module of it."""
        return self._window(bank, self.facts.series)

    def bench_window(self, bank: str | None) -> str | None:
        """What a voltmeter at the bench lead must read: the bank's window, or else what the unit takes."""
        low, high = self.facts.figure("unit.dc_min"), self.facts.figure("unit.dc_max")
        return self._window(bank, 1) or (f"+{low} to +{high}" if low and high else None)

    def _window(self, bank: str | None, parts: int) -> str | None:
        window = self.window(bank, parts)
        return f"+{shown(window[0], 'V')} to +{shown(window[1], 'V')}" if window else None

    def window(self, bank: str | None, parts: int) -> tuple[Volt, Volt] | None:
        """What a bank has at the least and at the most, or one of so many modules in series; None where it is not computed."""
        sums = self.sums(bank)
        return (
            None if sums is None or sums.low is None or sums.absorption is None else (sums.low.value / parts, sums.absorption.value / parts)
        )

    def around(self, key: QuantityKey, share: float) -> str:
        """A voltage's window, in whole volts inwards."""
        voltage = self.facts.figures[key].value
        return f"{shown(math.ceil(voltage * (1 - share)), 'V')} to {shown(math.floor(voltage * (1 + share)), 'V')}"

    def line_voltage(self) -> Figure | None:
        """Voltage between two phases."""
        voltage, arrangement = self.facts.output_voltage, self.facts.answers.output.arrangement
        if arrangement is None or len(LINES[arrangement]) < 2:
            return None
        angle = abs(ANGLES[arrangement]["L2"])
        first = chosen("plan.steps.first_angle", 0.0, "radian", "the first phase is the reference", "definition")
        second = chosen("plan.steps.second_angle", angle, "radian", "the angle between two phases of this arrangement", "definition")
        return work("plan.steps.line_voltage", voltage_between, first=voltage, first_angle=first, second=voltage, second_angle=second)

    def rotation(self) -> Figure | None:
        """The sense in which the phases of the output follow each other."""
        arrangement = self.facts.answers.output.arrangement
        if arrangement != "three-phase":
            return None
        angles = [
            chosen(f"plan.steps.angle[{phase}]", angle, "radian", "the unit set to this phase", "definition")
            for phase, angle in ANGLES[arrangement].items()
        ]
        return work("plan.steps.rotation", rotation, angles=angles)

    @property
    def turning(self) -> tuple[str, str] | None:
        """What a rotation meter on L1, L2, L3 shows, and what it shows where two lines are swapped; None where nothing turns."""
        sense = self.rotation()
        return None if sense is None else ("123", "132") if sense.value > 0 else ("132", "123")

    def match(self) -> Figure | None:
        """Most difference of voltage at which two strings of a bank may be joined: the charge limit through their loop."""
        current, string = self.facts.figure("storage.module.charge_current"), self.storage.string_resistance
        if current is None or string is None:
            return None
        # Two strings make the loop; their leads are left out.
        loop = work("plan.steps.loop_resistance", series_resistance, resistances=[string, string])
        return work("plan.steps.match", allowed_difference, current=current, resistance=loop)

    def open_voltage(self) -> tuple[Figure, Figure] | None:
        """What an open string reads with hot cells and with cells at 25 degC; None where voltage, coefficient or number of modules is missing."""
        voc, coefficient, series = (
            self.facts.figure("solar.voc"),
            self.facts.figure("solar.voc_coefficient"),
            self.facts.answers.solar.series,
        )
        if voc is None or coefficient is None or coefficient.value > 0 or not series:
            return None
        hot = work("plan.steps.hot_voc_of_module", voltage_at, voltage=voc, coefficient=coefficient, temperature=self.cell_hot)
        return (
            work("plan.steps.hot_voc", string_voltage, module_voltage=hot, series=series),
            work("plan.steps.voc", string_voltage, module_voltage=voc, series=series),
        )

    @property
    def cell_hot(self) -> Figure:
        """How hot a cell in full sun is."""
        return self.facts.taken("plan.solar.cell_hot")

    def frequency(self) -> str:
        """Between what the frequency of the supply must lie."""
        share = frequency_share(self.incoming)
        whole = self.facts.output_frequency.value
        return f"{shown(whole * (1 - share), 'Hz')} to {shown(whole * (1 + share), 'Hz')}"

    @property
    def bonds(self) -> tuple[Ends, ...]:
        """The bonds of an earthed battery pole, one of each bank; none where no pole is."""
        return tuple(ends for ends in self.circuits.circuits if ends.bond)

    def earth_resistance(self, name: str) -> Figure | None:
        """What the earth conductor of a circuit must read, without its lugs."""
        sizing, run = self.conductors.of.get(name), self.wall.runs.get(name)
        if sizing is None or sizing.conductor is None or sizing.cable is None or run is None or run.length is None:
            return None
        reading, _ = resistance(sizing.conductor, sizing.cable.metal, flexible=False)
        per_metre = tabled(f"plan.steps[{name}].resistance_per_metre", reading.value, "ohm/m", reading.source)
        return work(f"plan.steps[{name}].resistance", conductor_resistance, resistance=per_metre, length=run.length)

    def setting(self, tag: str, name: str) -> str | None:
        """The value a unit's setting must have."""
        return next((setting.value for setting in self.settings.of.get(tag, ()) if setting.setting == name), None)


def others(units: Units, unit: UnitPlace) -> tuple[UnitPlace, ...]:
    """The units of the same phase that come before this one."""
    return tuple(other for other in units.on(unit.phase) if other.ordinal < unit.ordinal)
