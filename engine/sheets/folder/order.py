"""The order of work as the folder prints it: every step of the set in full, those of the units as boxes to tick."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

from engine.sheets.folder.blocks import PAD, Block, Chapter, Para, Row, Table, Title
from engine.sheets.folder.filling import Paper
from engine.sheets.folder.letters import BOX, Run, Words, bold, longest
from engine.sheets.folder.words import got, marked, marks, numbered, written
from engine.sheets.order import STOPPED, TOLD, TURNS, Line, Stretch, calls, stretches, want

if TYPE_CHECKING:
    from engine.planner import Planned

_HEAD = ("step", "do", "want", "got", "if not")
_WIDTHS = (12.0, 66.0, 44.0, 26.0, 44.0)  # shares of the page
_SIDE = 4  # values that still find room beside their step; more stand below it
_LONGER = 1.7  # times the height of a step that runs on over the whole line
_TICK = 10.0  # millimetres of the column of a unit
_NUMBER = 12.0


def order(planned: Planned, paper: Paper) -> tuple[Chapter, ...]:
    """One chapter; none where the plan knows no units, for then there are no steps."""
    if not planned.parts.procedure.steps:
        return ()
    room = paper.room(wide=False)[0]
    blocks: list[Block] = [Para(" ".join(TOLD))]
    for stretch in stretches(planned):
        blocks.extend(_stretch(stretch, room))
    if planned.plan.standing == "stopped":
        blocks.append(Para(STOPPED, framed=True, strong=True))
    return (Chapter("order", "Order of work", tuple(blocks), "the crew, page by page"),)


def _stretch(stretch: Stretch, room: float) -> Iterator[Block]:
    yield Title(stretch.section.upper())
    turns: Words = (bold(f"{TURNS} "), f"{stretch.visits}.") if stretch.visits else ""
    for of_units, some in groupby(stretch.lines, key=lambda line: line.part is not None):
        lines = list(some)
        yield _ticked(stretch, lines, turns, room) if of_units else _told(lines, turns, room)
        turns = ""


def _ticked(stretch: Stretch, lines: list[Line], turns: Words, room: float) -> Table:
    """Steps by units: column by column, from the left."""
    units = stretch.units
    rows = []
    for number, line in enumerate(lines):
        name = (*marks(line.first), line.first.title)
        boxes = ((BOX,) if unit in line.places else "" for unit in units)
        rows.append(Row((f"{line.first.place}", name, *boxes), shaded=number % 2 == 1))
    wide = (_NUMBER, room - _NUMBER - _TICK * len(units), *([_TICK] * len(units)))
    return Table(("step", f"unit's sheet, part {lines[0].part}", *units), _turned(turns, rows, len(wide)), wide)


def _told(lines: list[Line], turns: Words, room: float) -> Table:
    table = Table(_HEAD, (), _WIDTHS)
    rows = [row for line in lines for row in _rows(line, table, room)]
    return replace(table, rows=_turned(turns, rows, len(_HEAD)))


def _turned(turns: Words, rows: Sequence[Row], columns: int) -> tuple[Row, ...]:
    """In which turn places are visited, above the first of the steps."""
    return (Row((turns,), spans=(columns,)), replace(rows[0], follows=True), *rows[1:]) if turns else tuple(rows)


def _rows(line: Line, table: Table, room: float) -> list[Row]:
    """In columns; run on over all of them where one column alone would be much longer than the others."""
    columns = table.columns(room)
    apart, together = _apart(line, columns[_HEAD.index("got")] - 2 * PAD), _together(line)
    much = sum(table.row_height(row, columns) for row in apart) > _LONGER * table.row_height(together, columns)
    return [together] if much else apart


def _apart(line: Line, narrow: float) -> list[Row]:
    """A step in columns; what is written down stands below it where its own column is too narrow."""
    step, room = line.first, written(line.got)
    below = len(room) > _SIDE or longest((room,)) > narrow
    row = Row((numbered(step), _do(line), want(line), "below" if below else room, marked(step.otherwise)))
    return [row, Row(("", room), follows=True, spans=(1, 4))] if below else [row]


def _together(line: Line) -> Row:
    step = line.first
    told = (*_do(line), bold(" WANT: "), f"{want(line)}.", *got(line.got), bold(" IF NOT: "), *marked(step.otherwise))
    return Row((numbered(step), told), spans=(1, 4))


def _do(line: Line) -> tuple[str | Run, ...]:
    where = (bold(f"{line.where}: "),) if line.where else ()
    return (*marks(line.first), *where, *marked(" ".join(piece for piece in (line.first.do, calls(line)) if piece)))
