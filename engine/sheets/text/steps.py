"""The order of work as text: every step of the set in full, those of the units as boxes to tick."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from engine.planner import Planned
from engine.sheets.order import STOPPED, TOLD, TURNS, Line, Stretch, calls, stretches, want
from engine.sheets.text.layout import heading, wrapped
from engine.sheets.text.top import head, stops
from engine.sheets.text.unit import got, marks

_INDENT = "        "


def steps_text(planned: Planned) -> str:
    """All steps, by part of the work; those of a plan that is stopped end before anything is landed."""
    return "\n".join(_lines(planned)) + "\n"


def _lines(planned: Planned) -> Iterator[str]:
    yield from head(planned, "ORDER OF WORK")
    yield from stops(planned, 3)
    for told in TOLD:
        yield from wrapped(told)
    if not planned.parts.procedure.steps:
        yield "No steps yet: the plan does not know its units."
    for stretch in stretches(planned):
        yield ""
        yield from _stretch(stretch)
    if planned.plan.standing == "stopped" and planned.parts.procedure.steps:
        yield from ("", heading("THE PLAN IS STOPPED"))
        yield from wrapped(STOPPED)


def _stretch(stretch: Stretch) -> Iterator[str]:
    yield heading(stretch.section.upper())
    if stretch.visits:
        yield from wrapped(f"{TURNS} {stretch.visits}.", " ", " ")
    for of_units, lines in groupby(stretch.lines, key=lambda line: line.part is not None):
        for line in lines:
            yield from _ticked(line) if of_units else _told(line)


def _ticked(line: Line) -> Iterator[str]:
    """What is done, on whose sheet it is told, and a box for each unit; a tag and its box are never parted."""
    step = line.first
    yield from wrapped(f"{marks(step)}{step.title}: unit's sheet, part {line.part}", f"{step.place:>3}     ", _INDENT)
    boxes = " ".join(f"{tag}[\N{NO-BREAK SPACE}]" for tag in line.places)
    yield from (text.replace("\N{NO-BREAK SPACE}", " ") for text in wrapped(boxes, _INDENT, _INDENT))


def _told(line: Line) -> Iterator[str]:
    step = line.first
    where = f"{line.where}: " if line.where else ""
    do = " ".join(piece for piece in (step.do, calls(line)) if piece)
    yield from wrapped(f"{marks(step)}{where}{do}", f"{step.place:>3} [ ] ", _INDENT)
    yield from wrapped(f"WANT: {want(line)}. {got(line.got)}", _INDENT, _INDENT)
    yield from wrapped(f"IF NOT: {step.otherwise}", _INDENT, _INDENT)
