"""The whole way from answers to plan, in the order in which it goes.

No stage changes an earlier figure; where it does not like one it raises a finding. So the order is a
plain list, and there is no loop to converge.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import fields
from functools import cache
from inspect import signature
from operator import is_
from typing import Any

from engine import MADE_WITH
from engine.facts import Assumed, Facts, assume
from engine.files.digest import canonical, digest_of
from engine.findings import Finding, standing
from engine.frozen import dataclass
from engine.parts import Parts
from engine.plan import Plan
from engine.reads import Reading, holds, watched
from engine.rows import SECTIONS, assumptions, noticed, solar
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
from engine.stages.switchgear import switchgear
from engine.stages.units import units
from engine.stages.verdict import verdict
from engine.stages.wall import wall
from engine.within import alike
from engine.within import figures as figures_in
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
    switchgear,
    sharing,
    chain,
    hours,
    settings,
    bill,
    procedure,
)


def plan(answers: Answers, revision: str, made_with: str = MADE_WITH) -> Planned:
    """Plan a site. Never raises for what a person answered, or did not answer."""
    with _uncollected():
        facts = assume(answers)
        known: dict[str, Any] = {"facts": facts}
        seen: list[Finding] = []
        for stage in STAGES:
            known[stage.__name__], noticed = stage(**{name: known[name] for name in _reads(stage)})
            seen.extend(noticed)
        return _planned(facts, known, seen, revision, made_with, {}, {})


@contextmanager
def _uncollected() -> Iterator[None]:
    """Nothing that a plan makes hangs together in a ring: looking for rings among it would cost a tenth of the time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


@dataclass(frozen=True)
class _Kept:
    """What a stage gave, and what it read to come to that: parts of stages above it, and of the facts."""

    read: tuple[object, ...]
    seen: Mapping[Reading, object]
    part: object
    findings: list[Finding]


@dataclass(frozen=True)
class _Section:
    """A section of the plan and its text for the digest, with the parts that it was made of."""

    read: tuple[object, ...]
    rows: Any
    text: str


_Figures = tuple[object, list[Figure]]  # a part and what lies within it


class Replanner:
    """Plans the same site over and over: a stage runs again only where something that it read has changed.

    What a stage reads is seen as it reads, nobody has to say it. A part that comes out as it was is the one that was, so that
    what rests on it stands too: stages, figures, rows of the plan and their share of its digest. Plans may be made in several
    threads at a time: each starts from what the last to end has left.
    """

    def __init__(self) -> None:
        self._before: tuple[Mapping[str, _Kept], Mapping[str, _Figures], Mapping[str, _Section]] = {}, {}, {}

    def plan(self, answers: Answers, revision: str, made_with: str = MADE_WITH) -> Planned:
        """The same plan as `plan` makes."""
        with _uncollected():
            before, figures, sections = self._before
            figures, sections = dict(figures), dict(sections)
            facts, after = assume(answers), dict[str, _Kept]()
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
            planned = _planned(facts, known, seen, revision, made_with, figures, sections)
            self._before = after, figures, sections
            return planned


@cache
def _reads(stage: Callable[..., object]) -> tuple[str, ...]:
    return tuple(signature(stage).parameters)


def _planned(
    facts: Facts,
    known: Mapping[str, Any],
    seen: list[Finding],
    revision: str,
    made_with: str,
    within: dict[str, _Figures],
    sections: dict[str, _Section],
) -> Planned:
    """The plan of what the stages gave. What is `within` a part, and the `sections`, stand where their parts are those of before."""
    parts = Parts(**{field.name: known[field.name] for field in fields(Parts)})
    findings = verdict(facts=facts, findings=seen)
    for name, part in vars(parts).items():
        if name not in within or within[name][0] is not part:
            within[name] = part, figures_in(part)
    # Each once, where it is first met: so a plan's own figure has the last word on its key, for it comes after those that went into it.
    each = {id(figure): figure for name in vars(parts) for figure in within[name][1]}
    figures = {figure.key: figure for figure in each.values()}
    taken = {a.key: a for a in (*facts.assumed, *_taken_by(parts))} | {
        f.key: Assumed(f.key, str(f), f.note, f.source) for f in figures.values() if f.how == "assumed" and f.key not in facts.figures
    }
    # What was taken for a kind of circuit, and is answered for each one of it, is no figure of this plan.
    figures |= {key: figure for key, figure in facts.figures.items() if figure.how != "assumed" or key in taken}
    assumed = tuple(taken.values())
    for name, section in SECTIONS.items():
        read = tuple(known[part] for part in _reads(section))
        if name not in sections or not all(map(is_, sections[name].read, read)):
            made = section(*read)
            sections[name] = _Section(read, made, canonical(made))
    rows: dict[str, Any] = {
        "revision": revision,
        "standing": standing(findings).value,
        "assumed": assumptions(assumed),
        "findings": noticed(findings),
        "solar": solar(parts.strings) if facts.solar else None,
    }
    texts = {name: canonical(made) for name, made in rows.items()} | {name: section.text for name, section in sections.items()}
    digest = digest_of({name: text for name, text in texts.items() if text != _NOTHING})
    made_of = {name: section.rows for name, section in sections.items()}
    return Planned(facts, parts, findings, Plan(made_with=made_with, digest=digest, **rows, **made_of), figures, assumed)


def _taken_by(parts: Parts) -> Iterator[Assumed]:
    """What stages took; a later one has the last word on a key."""
    for part in (parts.banks, parts.storage, parts.circuits, parts.wall, parts.conductors):
        yield from part.assumed


_NOTHING = "null"  # what does not apply is left out
