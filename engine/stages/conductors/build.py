"""From the site's facts to the question that one circuit's conductors must answer."""

from __future__ import annotations

from dataclasses import replace

from engine.facts import Facts
from engine.formulas.ampacity import weighted_harmonic
from engine.formulas.protection import let_through, sure_trip
from engine.formulas.solar import string_voltage
from engine.frozen import dataclass
from engine.stages.circuits import Ends
from engine.stages.conductors.part import drop_limit
from engine.stages.conductors.task import Clearing, Dropping, Harmonic, Task
from engine.stages.currents.part import CircuitCurrents, Currents
from engine.stages.demand import Demand
from engine.stages.phases.part import Phases
from engine.stages.storage.part import Storage
from engine.stages.wall.part import Run, Wall
from engine.tables import table
from engine.tables.correction import harmonics
from engine.tables.protection import fuse_let_through, strings_fused, trip_multiple
from engine.tables.ratings import BREAKER, FUSE
from engine.tables.sizes import Size, read_size
from engine.workings import Figure, chosen, work

_INSTANT = 0.02  # s: a breaker above its instantaneous trip (S4)
_SLOW = 5.0  # s: below it; the adiabatic equation holds no longer than that


@dataclass(frozen=True)
class Basis:
    """What the sizing reads."""

    facts: Facts
    wall: Wall
    currents: Currents
    storage: Storage
    demand: Demand
    phases: Phases


def device_kind(basis: Basis, ends: Ends) -> str | None:
    """What protects a circuit: fuses in direct current, breakers in AC; None where nothing needs to (T9, S11)."""
    if ends.kind == "battery":
        return FUSE
    if ends.kind == "solar":
        return FUSE if strings_fused(basis.facts.strings_on_tracker) else None
    return None if ends.kind == "load" and ends.common else BREAKER


def task(basis: Basis, ends: Ends, ahead: Figure | None = None, instead: str | None = None) -> Task:
    """The task of a circuit; `ahead` is the resistance between bank and circuit, out and back, `instead` a method for one that is assumed."""
    facts = basis.facts
    method, insulation, metal = facts.laid(ends.kind, ends.to)
    if instead and facts.assumes_method(ends.kind, ends.to):
        method = instead
    run = basis.wall.runs.get(ends.name)
    told = basis.currents.of.get(ends.name, CircuitCurrents())
    device = device_kind(basis, ends)
    loaded = 3 if ends.poles == 4 else 2
    energy, how = _let_through(ends, told, device)
    return Task(
        key=ends.key,
        name=ends.name,
        rules=facts.rules,
        metal=metal,
        insulation=insulation,
        method=method,
        ambient=facts.ambient,
        grouped=run.grouped if run else 1,
        loaded=loaded,
        counted=loaded,
        flexible=ends.kind in ("battery", "solar"),
        device=device,
        currents=told,
        terminals=_terminals(facts, ends),
        dropping=_dropping(basis, ends, told, run),
        clearing=_clearing(basis, ends, run, ahead),
        let_through=energy,
        let_through_how=how,
        harmonic=_harmonic(basis, ends),
        smallest=_stocked(facts.rules) if ends.kind == "solar" else None,
    )


def _stocked(rules: str) -> Size | None:
    """The smallest string cable that is commonly stocked."""
    row = table("string_cable").row("rules", rules)
    return read_size(str(row["size"])) if row else None


def _terminals(facts: Facts, ends: Ends) -> Figure:
    """What the terminals stand: a unit's as answered or assumed; bars and boards are not marked."""
    own = facts.figure("unit.terminal_temperature") if ends.tag else None
    return own or facts.taken("plan.terminal_temperature")


def _let_through(ends: Ends, told: CircuitCurrents, device: str | None) -> tuple[float | None, str]:
    """What reaches the conductors at a fault beside their beginning: what the device there, or the devices ahead, let through (S4)."""
    if device == FUSE and ends.kind == "battery" and told.rating:
        return _past_fuse(told.rating)
    # A common load circuit opens by a switch: the units' devices ahead of it share the fault as they share the current, so that
    # they trip together where it is large enough for the sum of their ratings, which is the circuit's own design current (T9).
    ahead = ends.kind == "load" and ends.common
    trips_by = told.rating if device == BREAKER else told.design if ahead else None
    if trips_by and told.breaking:
        trips = told.breaking.value >= sure_trip(trips_by.value, trip_multiple("C").value)
        time = _INSTANT if trips else _SLOW
        past = ", past the units' devices" if ahead else ""
        return let_through(told.breaking.value, time), f"{told.breaking} for {time:g} s{past}"
    return None, ""


def _past_fuse(rating: Figure) -> tuple[float | None, str]:
    found = fuse_let_through(rating.value)
    return (found.value, f"greatest pre-arcing I2t of its rating, {found.source}") if found else (None, "")


def with_fuse(task: Task, rating: Figure) -> Task:
    """The task of a battery circuit with another fuse."""
    energy, how = _past_fuse(rating)
    return replace(task, currents=replace(task.currents, rating=rating), let_through=energy, let_through_how=how)


def _dropping(basis: Basis, ends: Ends, told: CircuitCurrents, run: Run | None) -> Dropping | None:
    facts = basis.facts
    voltage, limit = _voltage(basis, ends), facts.figure(drop_limit(ends))
    if not (told.drop and voltage and limit):
        return None
    factors = power_factors(basis, ends) if ends.kind in ("load", "incoming") else ()
    ways = 1 if ends.poles == 4 else 2
    return Dropping(told.drop, voltage, limit, run.length if run else None, factors, ways, measured(facts, ends))


def measured(facts: Facts, ends: Ends) -> Figure | None:
    """A circuit's resistance out and back, where it was measured."""
    return facts.route_figure(ends.kind, ends.to, "resistance")


def _voltage(basis: Basis, ends: Ends) -> Figure | None:
    """What the drop is a share of: nominal battery voltage, phase voltage, string voltage (S1)."""
    facts, answers = basis.facts, basis.facts.answers
    if ends.kind == "battery":
        return basis.storage.system_voltage
    if ends.kind == "solar":
        panel = facts.figure("solar.vmp")
        return (
            work(f"{ends.key}.voltage", string_voltage, module_voltage=panel, series=answers.solar.series)
            if panel and answers.solar.series
            else None
        )
    return (facts.figure("incoming.voltage") if ends.kind == "incoming" else None) or facts.figure("output.voltage")


def power_factors(basis: Basis, ends: Ends) -> tuple[Figure, ...]:
    """P / S of each phase that the circuit serves, for which of them drops most hangs on the conductor too (S1); assumed where no load is told."""
    told = [
        chosen(
            f"{ends.key}.power_factor",
            min(1.0, abs(p.real.value) / p.apparent.value),
            "1",
            f"P / S of {p.phase}",
            "S1",
            [p.real, p.apparent],
        )
        for p in basis.phases.rows
        if ends.phase in (None, p.phase) and p.apparent.value > 0
    ]
    return tuple(told) or (basis.facts.taken("plan.power_factor"),)


def _clearing(basis: Basis, ends: Ends, run: Run | None, ahead: Figure | None) -> Clearing | None:
    bank = basis.storage.of(ends.bank)
    if ends.kind != "battery" or bank is None or not (bank.emf_low and bank.resistance_clearing):
        return None
    return Clearing(bank.emf_low, ahead or bank.resistance_clearing, run.length if run else None, measured(basis.facts, ends))


def _harmonic(basis: Basis, ends: Ends) -> Harmonic | None:
    """Third harmonic of the common AC circuits in three-phase, where it adds up in the neutral (T10, S9)."""
    if ends.poles != 4:
        return None
    told = [
        (h, real, load.quantity) for load in basis.demand.loads if (h := load.third_harmonic) and (real := load.real) and real.value > 0
    ]
    if not told or not any(h.value for h, _, _ in told):
        return None
    powers = [
        chosen(f"{real.key}.all", real.value * quantity, "W", f"{quantity} of them", "S9", [real]) if quantity > 1 else real
        for _, real, quantity in told
    ]
    share = work(f"{ends.key}.third_harmonic", weighted_harmonic, shares=[h for h, _, _ in told], powers=powers)
    factor, selects = harmonics(share.value)
    return Harmonic(share, factor.value, selects, factor.source)
