"""How many units, as answered: what is kept of it (T12, S36)."""

from __future__ import annotations

from engine.facts import Facts
from engine.frozen import dataclass
from engine.tables.bounds import most


@dataclass(frozen=True)
class Wanted:
    """What the answers say of the count: `split` per phase, or `least` to `most` units; `known` where anything is said."""

    split: tuple[int, ...] | None
    least: int
    most: int
    known: bool


def most_units() -> int:
    """Units that one plan holds; where the manual's limit is not answered the search goes no further either."""
    return most("units")


def split_answered(facts: Facts) -> tuple[int, ...] | None:
    """The units on each phase, where they are answered for the phases that there are."""
    split = facts.answers.set.per_phase
    return tuple(split) if split and len(split) == len(facts.phases) else None


def wanted(facts: Facts) -> Wanted:
    """The count as far as it is answered, where nothing forbids it; where both are given and disagree, the split wins."""
    count, most_wanted = facts.answers.set.count, min(facts.answers.unit.max_units or most_units(), most_units())
    if split := split_answered(facts):
        return Wanted(split, sum(split), sum(split), known=True)
    if count is not None:
        return Wanted(None, count, count, known=True)
    return Wanted(None, len(facts.phases), most_wanted, known=False)
