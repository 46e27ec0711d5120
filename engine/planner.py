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
from typing import Any

from engine import MADE_WITH
from engine.again import again
from engine.facts import Assumed, Facts, assume
from engine.files.digest import canonical, digest_of
from engine.findings import Finding, standing
from engine.frozen import dataclass
from engine.once import Memory, once
from engine.parts import Parts
from engine.plan import Plan
from engine.rows import NOTHING, SECTIONS, written
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
from engine.within import figures as figures_in
from engine.within import held
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
        facts = again("facts", assume, answers=answers)
        known: dict[str, Any] = {"facts": facts}
        seen: list[Finding] = []
        for stage in STAGES:
            given = {name: known[name] for name in _reads(stage)}
            known[stage.__name__], noticed = again(stage.__name__, stage, **given)
            seen.extend(noticed)
        return _planned(facts, known, seen, revision, made_with)


class Replanner:
    """Plans the same site over and over: a piece of work runs again only where something that it read has changed.

    Nobody has to say what that is. A stage is such a piece, and so is what a stage marks by `again`; what it reads of the facts is
    seen as it reads. What comes out as it was is the thing that was, part by part down to the figures (`once`, `settled`), so that what
    rests on it stands too: other stages, rows of the plan and their share of its digest. One plan is remembered, the last to end; plans
    may be made in several threads at a time, and each starts from that.
    """

    def __init__(self) -> None:
        self._last = Memory()

    def plan(self, answers: Answers, revision: str, made_with: str = MADE_WITH) -> Planned:
        """The same plan as `plan` makes."""
        memory = Memory(self._last)
        with memory.opened():
            planned = plan(answers, revision, made_with)
        self._last = memory
        return planned


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


@cache
def _reads(stage: Callable[..., object]) -> tuple[str, ...]:
    return tuple(signature(stage).parameters)


def _planned(facts: Facts, known: Mapping[str, Any], seen: list[Finding], revision: str, made_with: str) -> Planned:
    """The plan of what the stages gave."""
    parts = Parts(**{field.name: known[field.name] for field in fields(Parts)})
    findings = again("verdict", verdict, facts=facts, findings=seen)
    # Each once, where it is first met: so a plan's own figure has the last word on its key, for it comes after those that went into it.
    holds = [again(f"figures of {name}", held, part=part) for name, part in vars(parts).items()]
    figures = {figure.key: figure for figure in figures_in(holds)}
    taken = {a.key: a for a in (*facts.assumed, *_taken_by(parts))} | {
        f.key: once(_assumed, f) for f in figures.values() if f.how == "assumed" and f.key not in facts.figures
    }
    # What was taken for a kind of circuit, and is answered for each one of it, is no figure of this plan.
    figures |= {key: figure for key, figure in facts.figures.items() if figure.how != "assumed" or key in taken}
    assumed = tuple(taken.values())
    of = {**known, "standing": standing(findings), "assumed": assumed, "findings": findings}
    sections = {
        name: again(f"rows {name}", written, section=section, of=[of[read] for read in section.reads]) for name, section in SECTIONS.items()
    }
    digest = digest_of({"revision": canonical(revision)} | {name: s.text for name, s in sections.items() if s.text != NOTHING})
    rows = {name: section.rows for name, section in sections.items()}
    return Planned(facts, parts, findings, Plan(revision=revision, made_with=made_with, digest=digest, **rows), figures, assumed)


def _taken_by(parts: Parts) -> Iterator[Assumed]:
    """What stages took; a later one has the last word on a key."""
    for part in (parts.banks, parts.storage, parts.circuits, parts.wall, parts.conductors):
        yield from part.assumed


def _assumed(figure: Figure) -> Assumed:
    return Assumed(figure.key, str(figure), figure.note, figure.source)
