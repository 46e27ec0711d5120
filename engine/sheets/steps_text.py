"""The procedure as text: every step in order, those of the set, the banks and the chain too."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from engine.planner import Planned
from engine.sheets.head import head, stops
from engine.sheets.layout import heading, wrapped


def steps_text(planned: Planned) -> str:
    """All steps, by part of the work; those of a plan that is stopped end before anything is landed."""
    return "\n".join(_lines(planned)) + "\n"


def _lines(planned: Planned) -> Iterator[str]:
    yield from head(planned, "ORDER OF WORK")
    yield from stops(planned, 3)
    yield "Isolator: what opens a circuit; where it has a breaker, that (see the bill)."
    yield "HOLD: nobody goes on before it is right. (!): here someone can be hurt."
    yield "At the first failed test: stop, put it right, repeat what the repair touches."
    if not planned.parts.procedure.steps:
        yield "No steps yet: the plan does not know its units."
    for section, steps in groupby(planned.parts.procedure.steps, key=lambda step: step.section):
        if section == "land" and planned.plan.standing == "stopped":
            yield from ("", heading("THE PLAN IS STOPPED"))
            yield from wrapped("Nothing is landed or energised by it. Cure what stops it, plan again, and take the new papers.")
            return
        yield ""
        yield heading(section.upper())
        for step in steps:
            marks = (" (!)" if step.hurt else "") + (" HOLD" if step.hold else "")
            yield from wrapped(f"{step.who}: {step.do}{marks}", f"{step.place:>4} [ ] ", "         ")
            yield from wrapped(f"WANT: {step.expect}. GOT:________", "         ", "         ")
            yield from wrapped(f"IF NOT: {step.otherwise}", "         ", "         ")
