"""What the phases carry: units and loads on each, and with everything switched on at once (T10, T17, S21 to S23)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields

from engine.frozen import dataclass
from engine.workings import Figure


@dataclass(frozen=True)
class PhaseLoad:
    """What one phase carries; `surge` after a black start, `fault_current` what its units alone give into a short circuit. None where an answer is missing."""

    phase: str
    units: int
    real: Figure
    reactive: Figure
    apparent: Figure
    current: Figure
    surge: Figure
    surge_limit: Figure | None
    used: Figure | None
    left: Figure | None
    left_one_out: Figure | None
    neutral_current: Figure | None = None
    fault_current: Figure | None = None


@dataclass(frozen=True)
class PhaseLimit:
    """One phase: what all its loads draw without demand factors, and what its units carry, as power and as current.

    `power_carried` is told only where units give less power than apparent power. None where an answer is missing.
    """

    drawn: Figure | None
    drawn_current: Figure | None
    drawn_power: Figure | None
    carried: Figure | None
    carried_current: Figure | None
    power_carried: Figure | None

    @property
    def more_than_carried(self) -> bool:
        """Whether everything at once is more than the units carry."""
        pairs = ((self.drawn, self.carried), (self.drawn_power, self.power_carried))
        return any(drawn and carried and drawn.value > carried.value * (1 + 1e-9) for drawn, carried in pairs)


@dataclass(frozen=True)
class AllOn:
    """Every phase by its name; the neutral with everything on, and the most it may carry."""

    phases: Mapping[str, PhaseLimit]
    neutral: Figure | None
    neutral_limit: Figure | None

    @property
    def figures(self) -> Iterator[Figure]:
        """All of them."""
        for row in self.phases.values():
            yield from (f for field in fields(row) if (f := getattr(row, field.name)))
        yield from (f for f in (self.neutral, self.neutral_limit) if f)


@dataclass(frozen=True)
class Phases:
    """The set as it was answered or found.

    `per_phase` is empty where nothing can be said; `on` holds the copies of each load on each phase, `worth` how many copies'
    daily energy comes from it; `neutral` is the set's, `proof` says how good the arrangement is; `all_on` is the set with every
    load switched on.
    """

    per_phase: Mapping[str, int]
    on: tuple[tuple[int, ...], ...]
    rows: tuple[PhaseLoad, ...]
    neutral: Figure | None
    unbalance: Figure | None
    proof: str
    energy_per_day: Figure | None
    worth: tuple[tuple[Figure | None, ...], ...]
    all_on: AllOn
