"""The sheet of one unit as text: its parts in true order of work, a page mark on every 62 lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engine.plan import UnitRow
from engine.planner import Planned
from engine.sheets.head import FIRST, STANDINGS, stamp
from engine.sheets.text.layout import WIDTH, cells, fit, grid, heading, wrapped
from engine.sheets.text.top import stops
from engine.sheets.unit import BOX, Back, Box, Item, Part, Setting, Settings, Sign, Terminal, Terminals, Told, unit_parts
from engine.stages.procedure.part import Step
from engine.text import clean

PAGE = 62  # lines of an A4 page, its own head included
_LEADS = ("== ", " setting ", " terminal ", " ---")
_INDENT = "        "
_WHOLE = "[\N{NO-BREAK SPACE}]"  # a box that no line's end parts


def unit_sheet(planned: Planned, tag: str) -> str:
    """The sheet of unit `tag`; KeyError where the plan has no such unit."""
    parts = unit_parts(planned, tag, "on the plan page (plan.txt)")
    unit = next(row for row in planned.plan.units if row.tag == tag)
    return "\n".join(_printed(planned, unit, _pages([_top(planned), *([*_part(part)] for part in parts)]))) + "\n"


def _pages(blocks: Sequence[list[str]]) -> list[list[str]]:
    """The lines with a break where a page is full, between two items."""
    pages: list[list[str]] = [[]]
    for item in (item for block in blocks for item in _items(block)):
        if pages[-1] and len(pages[-1]) + len(item) > PAGE - 1:
            pages.append([])
        pages[-1].extend(item)
    return pages


def _printed(planned: Planned, unit: UnitRow, pages: list[list[str]]) -> Iterator[str]:
    """Every page says whose it is, and of which plan: pages get parted."""
    right = stamp(planned.plan)
    for number, page in enumerate(pages, 1):
        yield fit(f"{unit.tag}  sheet, page {number} of {len(pages)}", WIDTH - cells(right)) + right
        yield from page


def _items(block: list[str]) -> Iterator[list[str]]:
    """A block cut before each box, step or row; what leads in (a heading, a table's head) stays with what follows."""
    item: list[str] = []
    for line in block:
        if item and not line.startswith(("      ", " -->")) and not item[-1].startswith(_LEADS):
            yield item
            item = []
        item.append(line)
    yield item


def _top(planned: Planned) -> list[str]:
    site, stands = planned.facts.answers.site, f"  {STANDINGS[planned.plan.standing]}"
    return [
        fit(f" Site: {clean(site.name or '', 32) or 'not named'}", WIDTH - cells(stands)) + stands,
        *stops(planned, 2),
        f" {FIRST}",
    ]


def _part(part: Part) -> Iterator[str]:
    short = cells(part.title) + cells(part.remark) < WIDTH - 12
    yield heading(part.title, _plain(part.remark) if short else "")
    if not short:
        yield from wrapped(_plain(part.remark), " ", "      ")
    for item in part.items:
        yield from _item(item)


def _plain(words: str) -> str:
    return words.replace(BOX, "[ ]")


def _item(item: Item) -> Iterator[str]:
    match item:
        case Told(words=words):
            yield from wrapped(_plain(words), " ", "      ")
        case Box(words=words):
            yield from wrapped(_plain(words), " [ ] ", "      ")
        case Back(words=words, again=again):
            yield from wrapped(f"{words} {again}".rstrip(), " --> ", "      ")
        case Sign(who=who):
            for one in who:
                yield fit(f" {one}:", 20) + "____________________________  date: ______________"
        case Settings(rows=rows):
            yield from _settings(rows)
        case Terminals(rows=rows):
            lines = grid(("terminal", "goes to", "conductor", "end", "torque"), [_terminal(row) for row in rows])
            yield from (line.replace(_WHOLE, "[ ]") for line in lines)
        case step:
            yield from _step(step)


def _settings(rows: Sequence[Setting]) -> Iterator[str]:
    known = [row for row in rows if not row.unknown]
    head = ("setting", "maker's menu", "value", "maker's value", "read back")
    yield from grid(head, [(row.name, row.label, row.value, row.value_label, "[ ] ____") for row in known])
    for row in rows:
        if row.unknown:
            yield f" {row.name:<17} {row.unknown:<50} [ ] ____"


def _terminal(row: Terminal) -> tuple[str, ...]:
    return " ".join([row.name, *(f"{pole}{_WHOLE}" for pole in row.poles)]), row.to, row.conductor, row.end, row.torque


def marks(step: Step) -> str:
    """What stands before a step that is never passed over, or at which someone can be hurt."""
    return "".join(f"{mark} " for mark, there in (("HOLD", step.hold), ("(!)", step.hurt)) if there)


def got(names: Sequence[str]) -> str:
    """Room for every value, by its name; a name and its room are never parted, nor is the word before."""
    return "GOT:________" if not names else "GOT: " + " ".join(f"{name}:____" for name in names)


def _step(step: Step) -> Iterator[str]:
    told = f"{marks(step)}{step.do} WANT: {step.expect}. {got(step.got)} IF NOT: {step.otherwise}"
    yield from wrapped(told, f"{step.place:>3} [ ] ", _INDENT)
