"""The worked figures of each phase, and of all together: powers, start, use, what is left, neutral current, unbalance (S21 to S23, T10, T17)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engine.facts import Facts
from engine.formulas import motors, phasors, protection
from engine.frozen import dataclass
from engine.site.supply import ANGLES
from engine.stages.demand import Demand, LoadDemand
from engine.stages.phases.landing import OnPhase, landed
from engine.stages.phases.part import PhaseLoad
from engine.workings import Figure, altered, tabled, work


@dataclass(frozen=True)
class PhaseSums:
    """Every phase, and what the phases make together."""

    phases: tuple[PhaseLoad, ...]
    neutral: Figure
    unbalance: Figure | None
    third_harmonic: float


def phase_sums(facts: Facts, demand: Demand, on: Sequence[Sequence[int]], split: Sequence[int]) -> PhaseSums:
    """Work all figures for `on` copies of each load and `split` units on each phase."""
    landings = [_landings(facts, demand, on, k) for k in range(len(facts.phases))]
    rows = tuple(_phase(facts, k, found, split[k]) for k, found in enumerate(landings))
    third = [_third_harmonic(facts, k, found) for k, found in enumerate(landings)]
    currents = [row.current for row in rows]
    neutral = _neutral(facts, rows, third)
    told = tuple(replace(row, neutral_current=altered(neutral, key=f"plan.phases[{row.phase}].neutral_current")) for row in rows)
    whole = sum(current.value for current in currents)
    content = sum(h.value for h in third) / whole if whole > 0 else 0.0
    unbalance = work("plan.unbalance", phasors.unbalance, currents=currents) if len(rows) > 1 else None
    return PhaseSums(told, neutral, unbalance, content)


def _landings(facts: Facts, demand: Demand, on: Sequence[Sequence[int]], k: int) -> list[tuple[LoadDemand, OnPhase]]:
    phases = facts.phases
    pairs = ((load, landed(load, phases[k], copies[k], phases)) for load, copies in zip(demand.loads, on, strict=True))
    return [(load, found) for load, found in pairs if found]


def _phase(facts: Facts, k: int, found: Sequence[tuple[LoadDemand, OnPhase]], units: int) -> PhaseLoad:
    phase = facts.phases[k]
    key, voltage = f"plan.phases[{phase}]", facts.output_voltage
    real = work(f"{key}.power", phasors.summed_power, powers=[f.real for _, f in found])
    reactive = work(f"{key}.reactive_power", phasors.summed_reactive, reactives=[f.reactive for _, f in found])
    apparent = work(f"{key}.apparent_power", phasors.joined_power, power=real, reactive=reactive)
    current = work(f"{key}.current", phasors.phase_current, apparent=apparent, voltage=voltage)
    surge = _black_start(phase, voltage, found)
    row = PhaseLoad(phase, units, real, reactive, apparent, current, surge, None, None, None, None)
    unit = facts.have("unit.real_power", "unit.apparent_power")
    if unit and units and unit[0].value > 0:
        used = work(
            f"{key}.used", phasors.used_share, power=real, apparent=apparent, unit_power=unit[0], unit_apparent=unit[1], units=units
        )
        left = work(f"{key}.left", phasors.power_left, unit_apparent=unit[1], used=used, units=units, out=0)
        one_out = work(f"{key}.left_one_out", phasors.power_left, unit_apparent=unit[1], used=used, units=units, out=1)
        row = replace(row, used=used, left=left, left_one_out=one_out)
    most = facts.figure("unit.surge_power")
    if most and units:
        row = replace(row, surge_limit=work(f"{key}.surge_limit", phasors.surge_limit, unit_surge=most, voltage=voltage, units=units))
    fault = facts.figure("unit.fault_current")
    if fault and units:
        row = replace(row, fault_current=work(f"{key}.fault_current", protection.units_fault, unit=fault, units=units))
    return row


def _black_start(phase: str, voltage: Figure, found: Sequence[tuple[LoadDemand, OnPhase]]) -> Figure:
    """Every machine that starts does so at once, on top of the rest (T17, S21)."""
    key = f"plan.phases[{phase}]"
    rest_real = work(f"{key}.rest_power", phasors.summed_power, powers=[f.real for _, f in found if not f.start])
    rest_reactive = work(f"{key}.rest_reactive_power", phasors.summed_reactive, reactives=[f.reactive for _, f in found if not f.start])
    rest = work(f"{key}.rest_apparent_power", phasors.joined_power, power=rest_real, reactive=rest_reactive)
    running = work(f"{key}.rest_current", phasors.phase_current, apparent=rest, voltage=voltage)
    starts = [
        work(f"plan.{load.key}.start_current_on_{phase}", phasors.phase_current, apparent=f.start, voltage=voltage)
        for load, f in found
        if f.start
    ]
    return work(f"{key}.surge", motors.black_start, rest=running, starts=starts)


def _third_harmonic(facts: Facts, k: int, found: Sequence[tuple[LoadDemand, OnPhase]]) -> Figure:
    """Third harmonic of all loads between a phase and the neutral; those between two phases put none into it."""
    phase, parts = facts.phases[k], []
    for load, on in found:
        if load.third_harmonic is None or "-" in load.phase or load.third_harmonic.value == 0:
            continue
        key = f"plan.{load.key}"
        apparent = work(f"{key}.apparent_power_on_{phase}", phasors.joined_power, power=on.real, reactive=on.reactive)
        current = work(f"{key}.current_on_{phase}", phasors.phase_current, apparent=apparent, voltage=facts.output_voltage)
        parts.append(work(f"{key}.third_harmonic_on_{phase}", phasors.harmonic_current, current=current, content=load.third_harmonic))
    return work(f"plan.phases[{phase}].third_harmonic_current", phasors.triplen_sum, third_harmonics=parts)


def _neutral(facts: Facts, rows: Sequence[PhaseLoad], third: Sequence[Figure]) -> Figure:
    """Phasor sum of the phases; third harmonics add in three-phase and stand opposed in split-phase (T10)."""
    arrangement = facts.answers.output.arrangement
    assert arrangement is not None  # otherwise there are no rows
    sources = [
        tabled(f"plan.phases[{row.phase}].source_angle", angle, "radian", f"definition of {arrangement}")
        for row, angle in zip(rows, ANGLES[arrangement].values(), strict=True)
    ]
    angles = [
        work(f"plan.phases[{row.phase}].current_angle", phasors.power_angle, source_angle=source, power=row.real, reactive=row.reactive)
        for row, source in zip(rows, sources, strict=True)
    ]
    currents = [row.current for row in rows]
    if len(rows) == 1:
        return work(
            "plan.neutral_current",
            phasors.phasor_sum,
            currents=currents,
            angles=angles,
            note="one phase: the neutral carries what the line carries",
        )
    fundamental = work("plan.neutral_fundamental", phasors.phasor_sum, currents=currents, angles=angles)
    if arrangement == "split-phase":
        triplen = work("plan.neutral_triplen", phasors.phasor_sum, currents=third, angles=sources)
    else:
        triplen = work("plan.neutral_triplen", phasors.triplen_sum, third_harmonics=third)
    return work("plan.neutral_current", phasors.rms_sum, components=[fundamental, triplen])
