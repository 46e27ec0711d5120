"""How many units, as answered: what is kept of it, and what contradicts it (T12)."""

from __future__ import annotations

from engine.facts import Facts
from engine.frozen import dataclass

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
