"""A bank through the hours: what it stores, what it gives, when a source must help. Knows no site."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

# A generator that was started runs until the bank is this full.
_FULL_ENOUGH = 0.9
_HOUR = 3600.0


@dataclass(frozen=True)
class Course:
    """A bank and its sources, in W and J: `loads` and `sun` by hour; `floor` is the state below which nothing is taken.

    `source` is the power that generator or utility can give (0 where there is none), `charging` what the bank
    may be charged with, `efficiency` that of the units.
    """

    loads: Sequence[float]
    sun: Sequence[float]
    energy: float
    floor: float
    charging: float
    source: float
    efficiency: float


@dataclass(frozen=True)
class Passed:
    """One hour: state at its end, W from the source, W that nobody could give, whether the source ran."""

    state: float
    source: float
    missing: float
    running: bool


def hour(course: Course, at: int, state: float, *, running: bool) -> Passed:
    """One hour on from `state`: sun first, then the bank, then the source, which runs on until the bank is full enough."""
    wanted = course.loads[at] / course.efficiency - course.sun[at]
    after = state - _stored(course, state, -wanted)
    if course.source > 0 and (after < course.floor or (running and state < _FULL_ENOUGH)):
        given = min(course.source, course.loads[at] + course.charging / course.efficiency)
        spare = course.sun[at] + (given - course.loads[at]) * (course.efficiency if given > course.loads[at] else 1 / course.efficiency)
        ended = state - _stored(course, state, spare)
        ended, missing = _floored(course, ended, state)
        return Passed(ended, given, missing, running=ended < _FULL_ENOUGH)
    after, missing = _floored(course, after, state)
    return Passed(after, 0.0, missing, running=False)


def _stored(course: Course, state: float, power: float) -> float:
    """Minus the change of state in an hour at a power into the bank; no more than it may take and has room for."""
    taken = min(power, course.charging, (1 - state) * course.energy / _HOUR)
    return -taken * _HOUR / course.energy


def _floored(course: Course, state: float, before: float) -> tuple[float, float]:
    """The state held at the floor, and the power (as the loads see it) that is then missing."""
    floor = min(course.floor, before)
    return max(state, floor), max(0.0, floor - state) * course.energy * course.efficiency / _HOUR


def days(course: Course, count: int) -> list[list[Passed]]:
    """The hours of some days, beginning full at midnight."""
    found, state, running = [], 1.0, False
    for _ in range(count):
        day = []
        for at in range(24):
            passed = hour(course, at, state, running=running)
            state, running = passed.state, passed.running
            day.append(passed)
        found.append(day)
    return found


def night(course: Course, down: int, rise: int) -> tuple[int | None, float]:
    """From a full bank at sunset, without any source: the hour in which it is empty before sunrise (or None), and the energy missing (J)."""
    alone = Course(course.loads, [0.0] * 24, course.energy, course.floor, course.charging, 0.0, course.efficiency)
    state, empty, missing = 1.0, None, 0.0
    for at in [h % 24 for h in range(down, rise + 24)]:
        passed = hour(alone, at, state, running=False)
        state, missing = passed.state, missing + passed.missing * _HOUR
        if passed.missing > 1e-6 and empty is None:
            empty = at
    return empty, missing
