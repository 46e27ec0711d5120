"""A bank through the hours: what it stores, what it gives, when a source must help. Knows no site."""

from __future__ import annotations

from collections.abc import Sequence

from engine.formulas.energy import bank_power, state_after, state_unheld
from engine.frozen import dataclass

_HOUR = 3600.0


@dataclass(frozen=True)
class Course:
    """A bank and its sources, in W and J: `loads` and `sun` by hour; `floor` is the state below which nothing is taken.

    `source` is the power that generator or utility can give (0 where there is none): once started it runs `until` the bank
    is so full. `charging` is what the bank may be charged with, `efficiency` that of the units.
    """

    loads: Sequence[float]
    sun: Sequence[float]
    energy: float
    floor: float
    charging: float
    source: float
    efficiency: float
    until: float


@dataclass(frozen=True)
class Passed:
    """One hour of the clock: state before it and at its end, W from the source, W that nobody could give, whether the source runs on."""

    at: int
    before: float
    state: float
    source: float
    missing: float
    running: bool


def hour(course: Course, at: int, state: float, *, running: bool) -> Passed:
    """One hour on from `state`: sun first, then the bank, then the source, which runs on until the bank is full enough."""
    given = 0.0
    if course.source > 0 and (_unheld(course, at, state, 0.0) < course.floor or (running and state < course.until)):
        given = min(course.source, _of_use(course, at, state))
    power = bank_power(course.loads[at], course.sun[at], given, course.efficiency)
    after = state_after(state, power, course.charging, course.energy, course.floor)
    short = min(course.floor, state) - _unheld(course, at, state, given)
    missing = max(0.0, short) * course.energy * course.efficiency / _HOUR
    return Passed(at, state, after, given, missing, running=given > 0 and after < course.until)


def _unheld(course: Course, at: int, state: float, given: float) -> float:
    power = bank_power(course.loads[at], course.sun[at], given, course.efficiency)
    return state_unheld(state, power, course.charging, course.energy)


def _of_use(course: Course, at: int, state: float) -> float:
    """What a source can give before loads and bank take no more."""
    into = min(course.charging, (1 - state) * course.energy / _HOUR) - course.sun[at]
    return max(0.0, course.loads[at] + (into / course.efficiency if into > 0 else into * course.efficiency))


def follow(course: Course, start: int, count: int = 24) -> list[Passed]:
    """So many hours, from a full bank at `start` o'clock."""
    found: list[Passed] = []
    state, running = 1.0, False
    for step in range(count):
        passed = hour(course, (start + step) % 24, state, running=running)
        state, running = passed.state, passed.running
        found.append(passed)
    return found
