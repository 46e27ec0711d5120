"""What each phase draws with every load on at once, held against what its units carry: the limits of the last live test.

The plan reckons with demand factors; on the day of the test nobody waits for them, every load is switched on.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from engine.facts import Facts
from engine.formulas import battery, phasors
from engine.stages.demand import Demand, LoadDemand
from engine.stages.phases.part import AllOn, PhaseLimit
from engine.stages.phases.sums import phase_sums
from engine.workings import Figure, altered, work

_KEY = "all_on."  # stands before the keys of these figures: those of the plan keep theirs


def all_on(facts: Facts, demand: Demand, on: Sequence[Sequence[int]], per_phase: Mapping[str, int], neutral: Figure) -> AllOn:
    """The sums without demand factors, where every load's power is known; the limits in any case. `neutral` is the planned one."""
    whole = Demand(tuple(_whole(load) for load in demand.loads))
    known = bool(whole.loads and on and all(load.real for load in whole.loads))
    sums = phase_sums(facts, whole, on, tuple(per_phase.values())) if known else None
    renamed: dict[int, Figure] = {}
    rows = sums.phases if sums else ()
    drawn: dict[str, tuple[Figure | None, Figure | None, Figure | None]] = {
        row.phase: (_own(row.apparent, renamed), _own(row.current, renamed), _own(row.real, renamed)) for row in rows
    }
    limited = {
        phase: PhaseLimit(*drawn.get(phase, (None, None, None)), *_carried(facts, phase, units))
        for phase, units in per_phase.items()
        if units
    }
    return AllOn(limited, _own(sums.neutral, renamed) if sums else None, _neutral_limit(limited, neutral))


def _whole(load: LoadDemand) -> LoadDemand:
    """A load without its demand factor."""
    key, power, factor = f"{_KEY}{load.key}", load.power, load.power_factor
    if power is None or factor is None or load.real is None:
        return replace(load, key=key, real=None, reactive=None)
    reactive = work(f"plan.{key}.reactive_power", phasors.reactive_power, power=power, power_factor=factor)
    return replace(load, key=key, real=power, reactive=reactive)


def _own(figure: Figure, renamed: dict[int, Figure]) -> Figure:
    """The figure, and all that went into it, under keys of their own: the plan's figures are the counted ones."""
    if id(figure) not in renamed:
        key = re.sub(r"^plan\.(?=phases|neutral)", f"plan.{_KEY}", figure.key)
        renamed[id(figure)] = altered(figure, key=key, of=tuple(_own(part, renamed) for part in figure.of))
    return renamed[id(figure)]


def _carried(facts: Facts, phase: str, units: int) -> tuple[Figure | None, Figure | None, Figure | None]:
    """Apparent power, current and (where it is less) power of the units of a phase."""
    key = f"plan.{_KEY}phases[{phase}]"
    rating, power = facts.figure("unit.apparent_power"), facts.figure("unit.real_power")
    if rating is None:
        return None, None, None
    apparent = work(f"{key}.carried", phasors.several_starts, apparent=rating, count=units)
    current = work(f"{key}.carried_current", phasors.phase_current, apparent=apparent, voltage=facts.output_voltage)
    less = power is not None and power.value < rating.value * (1 - 1e-9)
    return apparent, current, work(f"{key}.power_carried", phasors.several, power=power, count=units) if power and less else None


def _neutral_limit(limited: Mapping[str, PhaseLimit], planned: Figure) -> Figure | None:
    """What the units of the busiest phase carry; more only where the plan itself reckons with more in the neutral."""
    carried = [row.carried_current for row in limited.values() if row.carried_current]
    if not carried:
        return None
    return work(f"plan.{_KEY}neutral_limit", battery.greater_current, currents=[*carried, planned])
