"""The procedure as text: every step in order, those of the set, the banks and the chain too; a step over many places once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from engine.planner import Planned
from engine.sheets.head import head, stops
from engine.sheets.layout import heading, wrapped
from engine.stages.procedure.part import Step

_INDENT = "        "


def steps_text(planned: Planned) -> str:
    """All steps, by part of the work; those of a plan that is stopped end before anything is landed."""
    return "\n".join(_lines(planned)) + "\n"


def _lines(planned: Planned) -> Iterator[str]:
    yield from head(planned, "ORDER OF WORK")
    yield from stops(planned, 3)
    yield "Isolator: what opens a circuit; where it has a breaker, that (see the bill)."
    yield "HOLD: nobody goes on before it is right. (!): here someone can be hurt."
    yield "set: all units together. A step at several places: all steps named for one"
    yield "place, then the next. A lock comes off only where a step says close, by whoever"
    yield "put it on. What a unit's sheet asks for is written there, and ticked here."
    yield "At the first failed test: stop, put it right, repeat what the repair touches."
    if not planned.parts.procedure.steps:
        yield "No steps yet: the plan does not know its units."
    for section, steps in groupby(planned.parts.procedure.steps, key=lambda step: step.section):
        if section == "land" and planned.plan.standing == "stopped":
            yield from ("", heading("THE PLAN IS STOPPED"))
            yield from wrapped("Nothing is landed or energised by it. Cure what stops it, plan again, and take the new papers.")
            return
        own = list(steps)
        yield ""
        yield heading(section.upper())
        yield from _order(own)
        for _, alike in groupby(sorted(own, key=lambda step: step.place), key=lambda step: step.place):
            yield from _step(list(alike), planned.parts.units.tags)


def _order(steps: list[Step]) -> Iterator[str]:
    """Which steps are done at which place before those of the next, where a step is done at several."""
    if len({step.place for step in steps}) == len(steps):
        return
    visits = [(at, [step.place for step in some]) for at, some in groupby(steps, key=lambda step: step.at)]
    told = [f"{at} {_span(places)}" for at, places in visits]
    yield from wrapped(f"In this order: {', '.join(told)}.", " ", " ")


def _span(places: list[int]) -> str:
    """Numbers that follow each other as first and last."""
    runs: list[list[int]] = []
    for place in places:
        if runs and place == runs[-1][-1] + 1:
            runs[-1].append(place)
        else:
            runs.append([place])
    return " and ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


def _step(alike: list[Step], units: Sequence[str]) -> Iterator[str]:
    """One step over all its places: what each must read once, where it is the same."""
    first, places = alike[0], [step.at for step in alike]
    marks = (" (!)" if first.hurt else "") + (" HOLD" if first.hold else "")
    where = first.who if len(alike) == 1 else "each unit" if places == list(units) else ", ".join(places)
    who = "" if where == "set" else f"{where}: "
    yield from wrapped(f"{who}{first.do}{marks}", f"{first.place:>3} [ ] ", _INDENT)
    got = "GOT:________" if len(alike) == 1 else "GOT: " + " ".join(f"{place}:____" for place in places)
    yield from wrapped(f"WANT: {_want(alike)}. {got}", _INDENT, _INDENT)
    yield from wrapped(f"IF NOT: {first.otherwise}", _INDENT, _INDENT)


def _want(alike: list[Step]) -> str:
    """What all must read; before it, by place, what only that one must."""
    pieces = [step.expect.split("; ") for step in alike]
    if len({len(some) for some in pieces}) > 1:
        return "; ".join(f"{step.at}: {step.expect}" for step in alike)
    same = [len(set(column)) == 1 for column in zip(*pieces, strict=True)]
    if all(same):
        return alike[0].expect
    own = [
        f"{step.at}: {', '.join(piece for piece, known in zip(some, same, strict=True) if not known)}"
        for step, some in zip(alike, pieces, strict=True)
    ]
    shared = [piece for piece, known in zip(pieces[0], same, strict=True) if known]
    return "; ".join([*own, *([f"each: {'; '.join(shared)}"] if shared else [])])
