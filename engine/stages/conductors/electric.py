"""What both rule books ask alike: voltage drop, the fault that must be cleared and stood."""

from __future__ import annotations

from collections.abc import Iterator

from engine.formulas.drop import drop_dc, drop_share, drop_single_phase, drop_three_phase
from engine.formulas.protection import fault_current, withstand
from engine.formulas.resistance import conductor_resistance, warm_resistance
from engine.quantities import Ampere, AmpereSquaredSecond, OhmPerMetre, shown
from engine.stages.conductors.task import Candidate, Clearing, Dropping, Rule, Task, Way
from engine.tables import table
from engine.tables.conductors import LIMIT, resistance, temperature_coefficient
from engine.tables.earth import live_k
from engine.tables.protection import fuse_gate, last_gate
from engine.tables.ratings import FUSE
from engine.tables.sizes import Size
from engine.workings import Figure

_GATES = (("most_100ms", 0.1), ("most_5s", 5.0))  # s


def reactance() -> tuple[OhmPerMetre, str]:
    """Reactance of a cable per metre, and its source (S1)."""
    found = table("annex_g")
    cell = found.rows[0]["reactance"]
    assert isinstance(cell, float)
    return cell, found.told


def per_metre(way: Way, size: Size) -> OhmPerMetre:
    """Resistance of one conductor in service: at the insulation's limit (`iec`), as chapter 9 table 8 has it (`nec`)."""
    told, at = resistance(size, way.metal, flexible=way.flexible)
    if way.rules == "nec":
        return told.value
    return warm_resistance(told.value, temperature_coefficient(way.metal).value, LIMIT[way.insulation], at)


def drop(task: Task, dropping: Dropping, candidate: Candidate) -> float:
    """Drop as a share of the circuit's voltage."""
    if dropping.measured:
        return drop_share(dropping.current.value * dropping.measured.value, dropping.voltage.value)
    assert dropping.length is not None  # otherwise nothing is asked of the drop
    current, length, many = dropping.current.value, dropping.length.value, candidate.parallel
    ohms = per_metre(task.way, candidate.size)
    if not dropping.power_factors:
        volts = drop_dc(current, ohms, length, parallel=many)
    else:
        formula = drop_three_phase if dropping.ways == 1 else drop_single_phase
        factor = worst_factor(dropping, ohms).value
        volts = formula(current, ohms, reactance()[0], length, factor, parallel=many)
    return drop_share(volts, dropping.voltage.value)


def worst_factor(dropping: Dropping, ohms: OhmPerMetre) -> Figure:
    """The power factor of the phase that drops most over a conductor of that resistance: r cos phi + x sin phi."""
    along = reactance()[0]
    return max(dropping.power_factors, key=lambda f: ohms * f.value + along * (1 - f.value**2) ** 0.5)


def fault(task: Task, clearing: Clearing, candidate: Candidate) -> float | None:
    """Clearing fault at the far end of a battery circuit."""
    if clearing.measured:
        pole = clearing.measured.value / 2
    elif clearing.length:
        pole = conductor_resistance(per_metre(task.way, candidate.size), clearing.length.value, parallel=candidate.parallel)
    else:
        return None
    return fault_current(clearing.emf.value, clearing.source.value, pole)


def let_through(task: Task, candidate: Candidate) -> float | None:
    """Most that reaches the conductor before its device opens: at a fault beside the device, or slowly at the far end."""
    if task.let_through is None or not task.clearing or task.device != FUSE or not task.rating:
        return task.let_through
    return fuse_energy(task.rating, task.let_through, fault(task, task.clearing, candidate))


def fuse_energy(rating: Ampere, quick: AmpereSquaredSecond, current: Ampere | None) -> AmpereSquaredSecond:
    """The most that a fuse lets through at a fault of that current: `quick`, or what opens it slowly where the fault is far."""
    most = quick
    for gate, time in _GATES:
        found = fuse_gate(rating, gate)
        if current is None or found is None:
            return most
        most = max(most, found.value**2 * time)
        if current >= found.value:
            return most
    return most


def rules(task: Task) -> Iterator[Rule]:
    """Drop, withstand, that the fuse opens at the far end, and that the cable is stocked."""
    if task.smallest:
        says = f"string cable is commonly stocked from {task.smallest}"
        yield Rule("smallest size", says, task.smallest.area, "m**2", table("string_cable").told, lambda c: c.size.area)
    if (dropping := task.dropping) and (dropping.length or dropping.measured):
        # Under the NEC the drop is told; a measured resistance does not change with the size.
        decides = task.rules == "iec" and dropping.measured is None
        says = f"drop <= {dropping.limit} at {dropping.current}" + ("" if decides else ", told only")
        source = "IEC 60364-5-52 annex G; S1" if task.rules == "iec" else "NFPA 70 (NEC) 210.19, 215.2 informational notes; S1"
        yield Rule("drop", says, dropping.limit.value, "ratio", source, lambda c: drop(task, dropping, c), at_most=True, decides=decides)
    if task.let_through is not None:
        yield _withstand(task)
    clearing, gate = task.clearing, (fuse_gate(task.rating, "most_5s") or last_gate("most_5s")) if task.rating else None
    if clearing and gate and task.device == FUSE and (clearing.length or clearing.measured):
        says, source = "the far fault opens the fuse within 5 s", f"T4; {gate.source}"
        yield Rule("withstand", says, gate.value, "A", source, lambda c: fault(task, clearing, c), yielding=True)


def _withstand(task: Task) -> Rule:
    """(k S)² against what the device lets through; each of several conductors must stand it alone."""
    k = live_k(task.rules, task.metal, task.insulation)

    def margin(candidate: Candidate) -> float | None:
        energy = let_through(task, candidate)
        return None if energy is None else withstand(candidate.size.area, k.value) / energy

    def how(candidate: Candidate) -> str:
        energy = let_through(task, candidate) or 0.0
        slow = energy > (task.let_through or 0.0)
        came = "the gate at which the far fault opens the fuse" if slow else task.let_through_how
        return f"k2 S2 = {shown(withstand(candidate.size.area, k.value), 'A**2*s')}, I2t = {shown(energy, 'A**2*s')}: {came}"

    return Rule("withstand", "k2 S2 / I2t >= 1", 1.0, "1", f"IEC 60364-4-43 434.5.2; {k.source}", margin, how)
