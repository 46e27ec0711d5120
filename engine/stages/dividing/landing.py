"""What one copy of a load puts on each phase it touches (S23)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from engine.formulas import motors, phasors
from engine.stages.demand import LoadDemand
from engine.workings import Figure, work

# The phase that comes first in the order L1, L2, L3, L1 of each pair.
_FIRST = {"L1-L2": "L1", "L2-L3": "L2", "L1-L3": "L3"}


@dataclass(frozen=True)
class OnPhase:
    """Powers that copies of one load put on one phase; `start` is None where they do not start."""

    real: Figure
    reactive: Figure
    start: Figure | None


def touched(load: LoadDemand, phases: Sequence[str]) -> tuple[str, ...]:
    """The phases that every copy of the load is on; none where the plan chooses."""
    if load.phase == "any":
        return ()
    return tuple(phases) if load.phase == "all" else tuple(load.phase.split("-"))


def landed(load: LoadDemand, phase: str, copies: int, phases: Sequence[str]) -> OnPhase | None:
    """What `copies` copies of the load put on a phase; None where their power is not known or nothing comes."""
    if load.real is None or load.reactive is None or copies == 0:
        return None
    key = f"plan.{load.key}"
    touches = len(touched(load, phases)) or 1
    if touches == 2 and len(phases) == 3:
        side = 1 if _FIRST[load.phase] == phase else -1
        real = work(f"{key}.power_of_one_on_{phase}", phasors.line_line_power, power=load.real, reactive=load.reactive, side=side)
        reactive = work(f"{key}.reactive_of_one_on_{phase}", phasors.line_line_reactive, power=load.real, reactive=load.reactive, side=side)
        start = work(f"{key}.start_of_one_on_{phase}", motors.line_line_start, apparent=load.start) if load.start else None
    elif touches > 1:
        real = work(f"{key}.power_of_one_on_{phase}", phasors.phase_part, power=load.real, phases=touches)
        reactive = work(f"{key}.reactive_of_one_on_{phase}", phasors.reactive_part, reactive=load.reactive, phases=touches)
        start = work(f"{key}.start_of_one_on_{phase}", motors.per_phase, apparent=load.start, phases=touches) if load.start else None
    else:
        real, reactive, start = load.real, load.reactive, load.start
    return OnPhase(
        work(f"{key}.power_on_{phase}", phasors.several, power=real, count=copies),
        work(f"{key}.reactive_power_on_{phase}", phasors.several_reactive, reactive=reactive, count=copies),
        work(f"{key}.start_on_{phase}", phasors.several_starts, apparent=start, count=copies) if start else None,
    )
