"""The whole way from answers to plan, in the order in which it goes.

No stage changes an earlier figure; where it does not like one it raises a finding. So the order is a
plain list, and there is no loop to converge.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from inspect import signature
from typing import Any

from engine import MADE_WITH
from engine.facts import Assumed, Facts, assume
from engine.files.digest import sealed
from engine.findings import Finding
from engine.parts import Parts
from engine.plan import Plan
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
        known[stage.__name__], noticed = stage(**{name: known[name] for name in signature(stage).parameters})
        seen.extend(noticed)
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


_PLAIN = (float, int, str, type(None))  # told apart once, not anew for each of tens of thousands of values


def _figures(part: object, seen: set[int] | None = None) -> Iterator[Figure]:
    """Every figure in a part, those that went into others first, so that a plan's own figure has the last word on its key."""
    if isinstance(part, _PLAIN):
        return
    seen = set() if seen is None else seen
    if id(part) in seen:
        return
    seen.add(id(part))
    if isinstance(part, Figure):
        yield from _figures(part.of, seen)
        yield part
    elif isinstance(part, Mapping | tuple | list):
        for value in part.values() if isinstance(part, Mapping) else part:
            yield from _figures(value, seen)
    elif is_dataclass(part):
        for field in fields(part):
            yield from _figures(getattr(part, field.name), seen)
