"""The whole way from answers to plan, in the order in which it goes.

No stage changes an earlier figure; where it does not like one it raises a finding. So the order is a
plain list, and there is no loop to converge.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from inspect import signature
from operator import attrgetter, is_
from typing import Any

from engine import MADE_WITH
from engine.facts import Assumed, Facts, assume
from engine.files.digest import sealed
from engine.findings import Finding
from engine.frozen import dataclass
from engine.parts import Parts
from engine.plan import Plan
from engine.reads import Reading, alike, holds, watched
from engine.rows import rows
from engine.site import Answers
from engine.stages.banks import banks
from engine.stages.bill import bill
from engine.stages.chain import chain
from engine.stages.circuits import circuits
from engine.stages.conductors import conductors
from engine.stages.currents import currents
from engine.stages.demand import demand
from engine.stages.earthing import earthing
from engine.stages.hours import hours
from engine.stages.limits import limits
from engine.stages.phases import phases
from engine.stages.procedure import procedure
from engine.stages.settings import settings
from engine.stages.sharing import sharing
from engine.stages.storage import storage
from engine.stages.strings import strings
from engine.stages.units import units
from engine.stages.verdict import verdict
from engine.stages.wall import wall
from engine.workings import Figure


@dataclass(frozen=True)
class Planned:
    """A plan with everything it came from; `figures` are all worked figures by their key, `assumed` is all that nobody answered."""

    facts: Facts
    parts: Parts
    findings: tuple[Finding, ...]
    plan: Plan
    figures: Mapping[str, Figure]
    assumed: tuple[Assumed, ...]


# The order. A stage's keyword arguments are what it reads: the facts, and parts of stages above it.
STAGES: tuple[Callable[..., tuple[Any, list[Finding]]], ...] = (
    earthing,
    demand,
    phases,
    units,
    banks,
    storage,
    strings,
    limits,
    circuits,
    wall,
    currents,
    conductors,
    sharing,
    chain,
    hours,
    settings,
    bill,
    procedure,
)


def plan(answers: Answers, revision: str, made_with: str = MADE_WITH) -> Planned:
    """Plan a site. Never raises for what a person answered, or did not answer."""
    facts = assume(answers)
    known: dict[str, Any] = {"facts": facts}
    seen: list[Finding] = []
    for stage in STAGES:
        known[stage.__name__], noticed = stage(**{name: known[name] for name in _reads(stage)})
        seen.extend(noticed)
    return _planned(facts, known, seen, revision, made_with)


@dataclass(frozen=True)
class _Kept:
    """What a stage gave, and what it read to come to that: parts of stages above it, and of the facts."""

    read: tuple[object, ...]
    seen: Mapping[Reading, object]
    part: object
    findings: list[Finding]


class Replanner:
    """Plans the same site over and over: a stage runs again only where something that it read has changed.

    What a stage reads is seen as it reads, nobody has to say it. A part that comes out as it was is the one that was, so that
    what rests on it stands too. Plans may be made in several threads at a time: each starts from what the last to end has left.
    """

    def __init__(self) -> None:
        self._kept: Mapping[str, _Kept] = {}

    def plan(self, answers: Answers, revision: str, made_with: str = MADE_WITH) -> Planned:
        """The same plan as `plan` makes."""
        facts, before, after = assume(answers), self._kept, dict[str, _Kept]()
        known: dict[str, Any] = {}
        seen: list[Finding] = []
        for stage in STAGES:
            name, read = stage.__name__, tuple(known[name] for name in _reads(stage) if name != "facts")
            kept = before.get(name)
            if kept is None or not (all(map(is_, kept.read, read)) and holds(facts, kept.seen)):
                looked = watched(facts)
                part, noticed = stage(**{name: looked if name == "facts" else known[name] for name in _reads(stage)})
                kept = _Kept(read, looked.seen, kept.part if kept and alike(kept.part, part) else part, noticed)
            after[name], known[name] = kept, kept.part
            seen.extend(kept.findings)
        self._kept = after
        return _planned(facts, known, seen, revision, made_with)


@cache
def _reads(stage: Callable[..., object]) -> tuple[str, ...]:
    return tuple(signature(stage).parameters)


def _planned(facts: Facts, known: Mapping[str, Any], seen: list[Finding], revision: str, made_with: str) -> Planned:
    parts = Parts(**{field.name: known[field.name] for field in fields(Parts)})
    findings = verdict(facts=facts, findings=seen)
    figures = {figure.key: figure for figure in _figures(parts)}
    taken = {a.key: a for a in (*facts.assumed, *parts.circuits.assumed, *parts.wall.assumed)} | {
        f.key: Assumed(f.key, str(f), f.note, f.source) for f in figures.values() if f.how == "assumed" and f.key not in facts.figures
    }
    # What was taken for a kind of circuit, and is answered for each one of it, is no figure of this plan.
    figures |= {key: figure for key, figure in facts.figures.items() if figure.how != "assumed" or key in taken}
    assumed = tuple(taken.values())
    table = rows(parts=parts, assumed=assumed, findings=findings, solar=facts.solar, revision=revision, made_with=made_with)
    return Planned(facts, parts, findings, sealed(table), figures, assumed)


def _figures(parts: Parts) -> list[Figure]:
    """Every figure in the parts, those that went into others first, so that a plan's own figure has the last word on its key."""
    found: list[Figure] = []
    seen: set[int] = set()

    def walk(part: object) -> None:
        kind = type(part)
        inner = _INSIDE.get(kind)
        if inner is None:
            inner = _INSIDE[kind] = _inside(kind)
        if inner is _nothing or id(part) in seen:
            return
        seen.add(id(part))
        for value in inner(part):
            walk(value)
        if kind is Figure:
            found.append(part)  # type: ignore[arg-type]

    walk(parts)
    return found


_Inside = Callable[[Any], Iterable[object]]
_INSIDE: dict[type, _Inside] = {}  # how to look into a thing of a type: found out once, not anew for each of tens of thousands


def _nothing(_: object) -> Iterable[object]:
    return ()


def _inside(kind: type) -> _Inside:
    if kind is Figure:
        return attrgetter("of")
    if issubclass(kind, Mapping):
        return kind.values
    if issubclass(kind, tuple | list):
        return iter
    if is_dataclass(kind):
        names = [field.name for field in fields(kind)]
        return lambda part: [getattr(part, name) for name in names]
    return _nothing
