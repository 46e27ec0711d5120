"""How many units, as answered: what is kept of it, and what contradicts it (T12)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from engine.facts import Facts
from engine.findings import Finding, caution, stop
from engine.text import counted

# Where the manual's limit is not answered the search goes no further than this.
_FAR = 36


@dataclass(frozen=True)
class Wanted:
    """What the answers say of the count: `split` per phase, or `least` to `most` units; `known` where anything is said."""

    split: tuple[int, ...] | None
    least: int
    most: int
    known: bool


def wanted(facts: Facts) -> Wanted:
    """The count as far as it is answered; where both are given and disagree, the split wins."""
    phases, given = facts.phases, facts.answers.set
    most = facts.answers.unit.max_units or _FAR
    if given.per_phase and len(given.per_phase) == len(phases):
        return Wanted(tuple(given.per_phase), 0, most, known=True)
    if given.count is not None and given.count < len(phases):
        return Wanted(tuple(int(i < given.count) for i in range(len(phases))), 0, most, known=True)
    if given.count is not None:
        return Wanted(None, given.count, given.count, known=True)
    return Wanted(None, len(phases), max(most, len(phases)), known=False)


def contradictions(facts: Facts) -> Iterator[Finding]:
    """What the answers on the count, the arrangement and the unit's limit say against each other."""
    phases, given, arrangement = facts.phases, facts.answers.set, facts.answers.output.arrangement
    if not phases:
        yield stop(
            "arrangement-unanswered",
            "output.arrangement",
            "How many phases the loads need is not answered, so no unit can be given a phase.",
            "Answer single-phase, split-phase or three-phase.",
            "T12",
        )
        return
    split = given.per_phase
    if split and len(split) != len(phases):
        yield stop(
            "per-phase-contradicts-arrangement",
            "set.per_phase",
            f"Units are given for {len(split)} phases, but {arrangement} has {len(phases)}.",
            f"Give {len(phases)} numbers: units on {', '.join(phases)}.",
            "T12",
        )
        split = None
    if split and given.count is not None and sum(split) != given.count:
        yield stop(
            "count-contradicts-per-phase",
            "set.count",
            f"{counted(given.count, 'unit is', 'units are')} answered, but the phases add up to {sum(split)}.",
            f"Correct one of them; the plan goes on with {sum(split)}.",
            "T12",
        )
    total = sum(split) if split else given.count
    if total is not None:
        yield from _too_few(facts, total, split)
        yield from _too_many(facts, total)
        if facts.answers.unit.max_units is None and total > 1:
            yield caution(
                "max-units-unanswered",
                "unit.max_units",
                f"How many units may act together is not answered: nobody can say whether {total} may.",
                "Look for it in the manual's part on parallel operation.",
                "T12",
            )
    elif facts.answers.unit.max_units is None:
        yield caution(
            "max-units-unanswered",
            "unit.max_units",
            f"How many units may act together is not answered: the search goes up to {_FAR}.",
            "Look for it in the manual's part on parallel operation.",
            "T12",
        )
    elif facts.answers.unit.max_units < len(phases):
        yield from _too_many(facts, len(phases))


def _too_few(facts: Facts, total: int, split: list[int] | None) -> Iterator[Finding]:
    phases, arrangement = facts.phases, facts.answers.output.arrangement
    least = f"at least {len(phases)}" if len(phases) > 1 else "at least one"
    if total < len(phases):
        yield stop(
            "phase-without-unit",
            "set.count",
            f"{total} {'unit' if total == 1 else 'units'} cannot make a {arrangement} supply: each phase needs one of its own, so {least}.",
            f"Plan {len(phases)} units, or another arrangement. Two legs of a three-phase supply are not split-phase.",
            "T12",
        )
    elif split and (bare := [phase for phase, units in zip(phases, split, strict=True) if units == 0]):
        yield stop(
            "phase-without-unit",
            "set.per_phase",
            f"No unit feeds {', '.join(bare)}.",
            f"Put at least one unit on each of {', '.join(phases)}.",
            "T12, S26",
        )


def _too_many(facts: Facts, total: int) -> Iterator[Finding]:
    most = facts.answers.unit.max_units
    if most is not None and total > most:
        yield stop(
            "over-max-units",
            "set.count",
            f"{total} units are {total - most} more than the {most} that may act together.",
            "Choose units of a larger rating, or divide the site into sets that never meet.",
            "T12",
        )
