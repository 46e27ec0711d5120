"""The first candidate that does all that is asked, and the record of why."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import field, fields, is_dataclass, replace
from functools import cache
from typing import Any

from engine.frozen import dataclass
from engine.quantities import shown
from engine.stages.circuits import Ends
from engine.stages.conductors import electric, iec, nec
from engine.stages.conductors.part import Criterion
from engine.stages.conductors.task import Candidate, Rule, Task, candidates
from engine.workings import Figure

# S13, in this order where two criteria ask for the same size.
WORDS = ("current", "device", "fuse", "drop", "withstand", "termination", "correction", "neutral", "like circuits", "smallest size")
_OF_CURRENTS = ("current", "device", "fuse", "termination", "correction", "withstand")


@dataclass(frozen=True)
class Choice:
    """What one task came to. `place` counts in `candidates`; None where none of them will do, and `worst` then says what failed.

    `asks` is what each of the rules asks for by itself: the first place that passes it, or None; `needed` is the
    place that the currents alone ask for, without voltage drop. Two are the same where task and outcome are: the rules are the task's.
    """

    task: Task
    rules: tuple[Rule, ...] = field(compare=False)
    asks: tuple[int | None, ...]
    place: int | None
    governed_by: str | None
    worst: Rule | None = field(compare=False)
    needed: int | None
    told: dict[tuple[int, str | None], tuple[tuple[Criterion, ...], str]] = field(default_factory=dict, compare=False)

    def record(self, place: int, like: str | None) -> tuple[tuple[Criterion, ...], str]:
        """The whole record for a place, and what the next smaller candidate fails; told once for all circuits that ask the same."""
        if (place, like) not in self.told:
            self.told[place, like] = decision(self, place, like), next_smaller(self, place, like)
        return self.told[place, like]

    def fails(self, place: int) -> Rule | None:
        """The first criterion that decides and that the candidate of a place fails."""
        return next((rule for rule in self.rules if rule.decides and not rule.passes(self.among[place])), None)

    def at_largest(self) -> Choice:
        """The choice where only more conductors would do for its like: none at all where it does not take the largest there is."""
        worst = self.fails(len(self.among) - 1)
        return replace(self, place=None, governed_by=None, worst=worst) if worst else self

    @property
    def among(self) -> tuple[Candidate, ...]:
        """What there is to choose from."""
        return candidates(self.task.rules, self.task.metal)

    @property
    def chosen(self) -> Candidate | None:
        """The conductors chosen."""
        return None if self.place is None else self.among[self.place]


@dataclass(frozen=True)
class Taken:
    """A choice with the place that was taken at last: its own, or that of the like circuit `like` which asks for more.

    `place` is None where none will do; `needed` is the least place that the currents alone ask for, of this circuit and its like.
    """

    ends: Ends
    choice: Choice
    place: int | None
    like: str | None
    needed: int | None

    @property
    def governed_by(self) -> str | None:
        """S13's word for what decided."""
        return None if self.place is None else "like circuits" if self.like else self.choice.governed_by

    @property
    def chosen(self) -> Candidate | None:
        """The conductors that were taken."""
        return None if self.place is None else self.choice.among[self.place]


def for_all(alike: Sequence[Choice]) -> int | None:
    """The first place that does all that each of some choices asks; None where there is none, or one of them has none by itself.

    It may lie above what any of them asks for: more conductors lie closer together.
    """
    sized = [choice for choice in alike if choice.place is not None or choice.task.currents.design]
    places = [choice.place for choice in sized if choice.place is not None]
    if not sized or len(places) < len(sized):
        return None
    return next((n for n in range(max(places), len(sized[0].among)) if not any(choice.fails(n) for choice in sized)), None)


def asked_of(task: Task) -> tuple[Rule, ...]:
    """All criteria of a task, in the order of S13."""
    book = iec if task.rules == "iec" else nec
    largest = candidates(task.rules, task.metal)[-1]
    found = (replace(r, decides=False) if r.yielding and not r.passes(largest) else r for r in (*book.rules(task), *electric.rules(task)))
    return tuple(sorted(found, key=lambda rule: WORDS.index(rule.name)))


def choose_all(tasks: Sequence[Task]) -> list[Choice]:
    """A choice for each task; tasks that ask the same, of whichever circuit, are decided once."""
    asked = [_asked(task) for task in tasks]
    decided = {asks: choose(task) for asks, task in dict(zip(asked, tasks, strict=True)).items()}
    return [replace(decided[asks], task=task) for asks, task in zip(asked, tasks, strict=True)]


def _asked(part: Any) -> Hashable:
    """What a task asks, without whose it is: figures count by their value and by how they came about."""
    if isinstance(part, Figure):
        return part.value, part.unit, part.how, part.label
    if isinstance(part, tuple):
        return tuple(map(_asked, part))
    names = _telling(part.__class__)
    return tuple(_asked(getattr(part, name)) for name in names) if names else part


@cache
def _telling(kind: Any) -> tuple[str, ...]:
    """The fields of a dataclass that do not say whose it is; none of anything else."""
    return tuple(field.name for field in fields(kind) if field.name not in ("key", "name")) if is_dataclass(kind) else ()


def choose(task: Task) -> Choice:
    """Take the first candidate that passes every criterion that decides."""
    rules, among = asked_of(task), candidates(task.rules, task.metal)
    asks = tuple(next((n for n, candidate in enumerate(among) if rule.passes(candidate)), None) for rule in rules)
    deciding = [(rule, first) for rule, first in zip(rules, asks, strict=True) if rule.decides]
    needed = _first(among, [(rule, first) for rule, first in deciding if rule.name in _OF_CURRENTS])
    if task.currents.design is None:
        return Choice(task, rules, asks, None, None, None, needed)
    place = _first(among, deciding)
    if place is None:
        return Choice(task, rules, asks, None, None, next((rule for rule, _ in deciding if not rule.passes(among[-1])), None), needed)
    failing = _failing([rule for rule, _ in deciding], among, place)
    return Choice(task, rules, asks, place, failing.name if failing else "smallest size", None, needed)


def _first(among: Sequence[Candidate], deciding: Sequence[tuple[Rule, int | None]]) -> int | None:
    """The first candidate that passes all of some rules, each given with the first that passes it alone; None where there is none."""
    # What passes one rule first need not pass the others, nor need every larger one.
    least = max((first for _, first in deciding if first is not None), default=0)
    return next((n for n in range(least, len(among)) if all(rule.passes(among[n]) for rule, _ in deciding)), None)


def _failing(deciding: Sequence[Rule], among: Sequence[Candidate], place: int) -> Rule | None:
    """The first criterion that the next smaller candidate fails."""
    return next((rule for rule in deciding if not rule.passes(among[place - 1])), None) if place else None


def decision(choice: Choice, place: int, like: str | None) -> tuple[Criterion, ...]:
    """The whole record for the candidate that was taken at last: `like` names the circuit whose size this one shares."""
    among, chosen = choice.among, choice.among[place]
    found = []
    for rule, first in zip(choice.rules, choice.asks, strict=True):
        asked = f"more than {among[-1]}" if first is None else str(among[first])
        wanted = f"{'at most' if rule.at_most else 'at least'} {shown(rule.wanted, rule.unit)}"
        text = f"{rule.name}: {rule.says}; {wanted} asks for {asked}; {chosen} gives {rule.told(chosen)}. {rule.source}."
        found.append(Criterion(rule.name, asked, rule.passes(chosen), text))
    if like:
        text = f"like circuits: one conductor across the kind; {like} asks for {chosen}. S18."
        found.append(Criterion("like circuits", str(chosen), passed=True, text=text))
    return tuple(found)


def next_smaller(choice: Choice, place: int, like: str | None) -> str:
    """What the next smaller candidate fails."""
    if not place:
        return "It is the smallest size there is."
    smaller = choice.among[place - 1]
    failing = choice.fails(place - 1)
    if failing:
        need = f"{'at most' if failing.at_most else 'at least'} {shown(failing.wanted, failing.unit)}"
        return f"The next smaller, {smaller}, fails {failing.name}: {failing.told(smaller)} where {need} is wanted."
    # By itself a circuit takes the first that does, so that the one before it fails: here another one asks for more.
    return f"The next smaller, {smaller}, would do here but not for {like}."
