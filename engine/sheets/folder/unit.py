"""The sheet of each unit as the folder prints it: two pages, in true order of work."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.sheets.folder.blocks import Block, Chapter, Row, Table
from engine.sheets.folder.filling import Paper, filled
from engine.sheets.folder.letters import BOX, NEXT, Run, Words, blank, bold
from engine.sheets.folder.words import marked, numbered, whole
from engine.sheets.unit import Back, Box, Item, Part, Setting, Settings, Sign, Terminal, Terminals, Told, unit_parts

if TYPE_CHECKING:
    from engine.planner import Planned

_NUMBER = 11.5  # millimetres of the column for a step's number and its box
_BACK = 87.0  # of that for the way back into the order of work
_READ_BACK = 13.0  # of a line for a value that is read back
_MOST = 2  # pages
_TERMINALS = 5  # columns of the table of terminals, and of no other
_ARROW = "\N{RIGHTWARDS ARROW}"
_SIGNED = 8.0  # the height that a signature takes
_NAME, _DATE = 38.0, 18.0  # of the lines for it


def units(planned: Planned, paper: Paper) -> tuple[Chapter, ...]:
    """A chapter for each unit, named by its tag."""
    return tuple(_chapter(planned, tag, paper) for tag in planned.parts.units.tags)


def _chapter(planned: Planned, tag: str, paper: Paper) -> Chapter:
    """As it reads best: its terminals on one page; else parted, else set closer, where that takes more than its pages."""
    parts = unit_parts(planned, tag, "on the cover")
    room = paper.room(wide=False)[0]
    ways = tuple(Chapter(tag, f"Unit {tag}", tuple(_blocks(parts, room, close=close)), "who wires it") for close in (False, True))
    whole = replace(ways[0], blocks=tuple(_unparted(ways[0].blocks)))
    return next((way for way in (whole, *ways) if len(filled(way, paper)) <= _MOST), ways[-1])


def _unparted(blocks: Sequence[Block]) -> Iterator[Block]:
    """The terminals with what is told of their cables, on one page."""
    held: Block | None = None
    for block in blocks:
        if held is not None and isinstance(block, Table) and isinstance(held, Table):
            note, *rest = block.rows
            told = replace(note, spans=(len(held.head),), follows=True)
            first, *rows = held.rows
            yield replace(held, rows=(first, *(replace(row, follows=True) for row in rows), told))
            held = None
            if rest:
                yield replace(block, rows=tuple(rest))
        elif isinstance(block, Table) and len(block.head) == _TERMINALS:
            held = block
        else:
            yield block
    if held is not None:
        yield held


def _blocks(parts: Sequence[Part], room: float, *, close: bool) -> Iterator[Block]:
    back = ""
    for part in parts:
        yield from _part(part, back, room, close=close)
        last = part.items[-1]
        back = last.words if isinstance(last, Back) else ""


def _part(part: Part, back: str, room: float, *, close: bool) -> Iterator[Block]:
    """A bar with the part's name and the way back that comes before it, never parted from the first thing behind it."""
    widths = (_NUMBER, room - _NUMBER - _BACK, _BACK)
    rows = [_bar(part, back)]
    items = [item for k, item in enumerate(part.items) if not (isinstance(item, Back) and k == len(part.items) - 1)]
    for item in _paired(items, room, close=close):
        if isinstance(item, Table):
            yield from _behind(rows, item, widths)
            rows = []
        elif close and isinstance(item, Back):
            rows[-1] = replace(rows[-1], cells=((*rows[-1].cells[0], _arrow(item)),))
        else:
            rows.append(_row(item, follows=len(rows) == 1, close=close))
    if rows:
        yield Table(("", "", ""), tuple(rows), widths, gap=False)


def _behind(rows: Sequence[Row], table: Table, widths: tuple[float, ...]) -> Iterator[Block]:
    """A table behind its part's bar: there the bar is a row of the table itself, so that the table may go on on the next page."""
    if len(rows) != 1:
        yield from [Table(("", "", ""), tuple(rows), widths, gap=False)] if rows else []
        yield table
        return
    head = [replace(table.top, follows=True, shaded=True)] if any(table.head) else []
    bar = rows[0]
    columns = len(table.head)
    wide = table.columns(sum(widths))
    ways = [(k, columns - k) for k in range(1, columns)] if len(bar.cells) > 1 else [(columns,)]
    across = min(ways, key=lambda way: table.row_height(replace(bar, spans=way), wide))
    first = [replace(row, follows=True) if k == 0 else row for k, row in enumerate(table.rows)]
    yield replace(table, head=("",) * columns, rows=(replace(bar, spans=across), *head, *first))


def _bar(part: Part, back: str) -> Row:
    """The part's name, and the step of the set that comes before it."""
    name = (bold(part.title), *marked(f"   {part.remark}"))
    if not back:
        return Row((name,), shaded=True, spans=(3,))
    first = back.replace("Back", "First back").replace(" of the order of work", ", order of work") if back.startswith("Back") else back
    return Row((name, (bold(f"{_ARROW} {first}"),)), shaded=True, spans=(2, 1))


def _arrow(back: Back) -> Run:
    return bold(f" {_ARROW} {back.words} {back.again}")


def _paired(items: Sequence[Item], room: float, *, close: bool) -> Iterator[Item | Table]:
    """Tables as they are printed; boxes two in a row, where that takes less room."""
    boxes: list[Box] = []
    for item in [*items, None]:
        if isinstance(item, Box):
            boxes.append(item)
            continue
        yield from _boxes(boxes, room)
        boxes = []
        if isinstance(item, Settings):
            ways = [*(_settings(item, across) for across in (1, 2)), *([_run_on(item)] if close else [])]
            yield min(ways, key=lambda table: table.height(room))
        elif isinstance(item, Terminals):
            yield Table(("terminal", "goes to", "conductor", "end", "torque"), tuple(_terminal(row) for row in item.rows), gap=False)
        elif item is not None:
            yield item


def _boxes(boxes: Sequence[Box], room: float) -> Iterator[Item | Table]:
    one, two = (_ticked(boxes, across) for across in (1, 2))
    yield from [two] if two.height(room) < one.height(room) else boxes


def _ticked(boxes: Sequence[Box], across: int) -> Table:
    cells: list[Words] = [(BOX, *marked(box.words)) for box in boxes]
    cells += [""] * (-len(cells) % across)
    return Table(("",) * across, tuple(Row(tuple(cells[k : k + across])) for k in range(0, len(cells), across)), (1.0,) * across, gap=False)


def _row(item: Item | Table, *, follows: bool, close: bool) -> Row:
    match item:
        case Told(words=words, framed=framed):
            return Row((marked(words),), strong=framed, follows=follows, spans=(3,))
        case Sign(who=who):
            lines = tuple(piece for one in who for piece in (f" {one}: ", blank(_NAME), " date: ", blank(_DATE)))
            return Row(((NEXT, *lines),), follows=follows, spans=(3,), least=_SIGNED)
        case Box(words=words):
            return Row(((BOX, *marked(words)),), follows=follows, spans=(3,))
        case Back():
            return Row(((_arrow(item),),), shaded=True, follows=True, spans=(3,))
        case Settings() | Terminals() | Table():
            raise TypeError(item)
        case step:
            told = whole(step)
            return (
                Row(((*numbered(step), *told),), follows=follows, spans=(3,))
                if close
                else Row((numbered(step), told), follows=follows, spans=(1, 2))
            )


def _settings(settings: Settings, across: int) -> Table:
    """So many side by side, read down one column after the other."""
    head, told = ("setting", "value", "read back"), [_setting(setting) for setting in settings.rows]
    deep = -(-len(told) // across)
    cells = [*told, *[("",) * len(head)] * (deep * across - len(told))]
    rows = tuple(Row(tuple(cell for column in range(across) for cell in cells[column * deep + k])) for k in range(deep))
    return Table(head * across, rows, gap=False)


def _run_on(settings: Settings) -> Table:
    """One behind the other, each with its box and a line."""
    pieces: list[str | Run] = []
    for name, value, (_, back) in map(_setting, settings.rows):
        pieces += [BOX, f"{name}: ", *value, " ", back, "  "]
    return Table(("",), (Row((tuple(pieces),)),), gap=False)


def _setting(setting: Setting) -> tuple[str, tuple[Run, ...], tuple[Run, Run]]:
    name = f"{setting.name} ({setting.label})" if setting.label else setting.name
    value = setting.unknown or (f"{setting.value} ({setting.value_label})" if setting.value_label else setting.value)
    return name, (bold(value),), (BOX, blank(_READ_BACK))


def _terminal(row: Terminal) -> Row:
    poles = tuple(piece for pole in row.poles for piece in (f" {pole} ", BOX))
    return Row(((bold(row.name), *poles), row.to, row.conductor, row.end, row.torque))
