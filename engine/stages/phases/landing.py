"""What one copy of a load puts on each phase it touches (S23)."""

from __future__ import annotations

from collections.abc import Sequence

from engine.formulas import motors, phasors
from engine.frozen import dataclass
from engine.stages.demand import LoadDemand
from engine.workings import Figure, chosen, work

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


def copies_worth(load: LoadDemand, phase: str, copies: int, phases: Sequence[str]) -> Figure:
    """How many copies' daily energy comes from a phase: a load on several is given by each in proportion to its real power (S23).

    Where one of two phases would take power back (power factor below 0.5) it counts as giving none: the other's whole is the safe side.
    """
    key, touches = f"plan.{load.key}.copies_on_{phase}", len(touched(load, phases)) or 1
    one = _between(load, phase, phases)
    if one and load.real and load.real.value > 0:
        worth = copies * max(0.0, one.value / load.real.value)
        return chosen(key, worth, "1", "copies, in proportion to the real power that the phase gives", "S23", [one, load.real])
    return chosen(key, copies / touches, "1", "copies, those on several phases in equal parts", "S23")


def _between(load: LoadDemand, phase: str, phases: Sequence[str]) -> Figure | None:
    """Real power that a phase gives to one copy of a load between two of three phases; None for any other load."""
    if load.real is None or load.reactive is None or len(phases) != 3 or len(touched(load, phases)) != 2:
        return None
    side = 1 if _FIRST[load.phase] == phase else -1
    key = f"plan.{load.key}.power_of_one_on_{phase}"
    return work(key, phasors.line_line_power, power=load.real, reactive=load.reactive, side=side)


def landed(load: LoadDemand, phase: str, copies: int, phases: Sequence[str]) -> OnPhase | None:
    """What `copies` copies of the load put on a phase; None where their power is not known or nothing comes."""
    if load.real is None or load.reactive is None or copies == 0:
        return None
    key = f"plan.{load.key}"
    touches = len(touched(load, phases)) or 1
    if real := _between(load, phase, phases):
        side = 1 if _FIRST[load.phase] == phase else -1
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
