"""Settings and firmware as they were left: each setting of each unit, what is planned and room for what stands in it when all is done."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from engine.sheets.folder.blocks import Block, Row, Table, Title, Together
from engine.sheets.folder.letters import strong
from engine.text import clean

if TYPE_CHECKING:
    from engine.planner import Planned

ACROSS = 6  # units side by side: more do not leave room to write
_ONE, _TWO = 6.0, 9.0  # millimetres: a line to write on, and one below what is planned
_SHOWN = {"low": "low battery"}


def as_left(planned: Planned) -> Iterator[Block]:
    """Blocks of up to six units; what is planned alike for all of them stands once."""
    tags = planned.parts.units.tags
    yield Title("Settings and firmware as left", "read back after the last change, units switched off and on")
    for start in range(0, len(tags), ACROSS):
        yield Together((_table(planned, tags[start : start + ACROSS]),))
    yield from _others(planned)


def _table(planned: Planned, tags: Sequence[str]) -> Table:
    rows = [Row((strong("serial number"), "its plate", *("",) * len(tags)), least=_ONE)]
    rows += [_row(planned, name, tags) for name in planned.parts.settings.decides]
    rows.append(Row((strong("firmware"), "same in all" if len(tags) > 1 else "", *("",) * len(tags)), least=_ONE))
    return Table(("setting", "planned", *tags), tuple(rows), widths=(21, 17, *(62 / len(tags),) * len(tags)), ruled=True)


def _row(planned: Planned, name: str, tags: Sequence[str]) -> Row:
    """A setting: where units differ, what is planned stands in the cell of each, above what is written."""
    planned_for = [_value(planned, name, tag) for tag in tags]
    title = strong(_SHOWN.get(name, name.replace("_", " ")))
    if len(set(planned_for)) == 1:
        return Row((title, planned_for[0], *("",) * len(tags)), least=_ONE)
    return Row((title, "each its own", *planned_for), least=_TWO)


def _value(planned: Planned, name: str, tag: str) -> str:
    setting = next((s for s in planned.parts.settings.of.get(tag, ()) if s.setting == name), None)
    return "NOT KNOWN" if setting is None else f"{setting.value}{' CONFIRM' if setting.confirm else ''}"


def _others(planned: Planned) -> Iterator[Block]:
    """What else has firmware or settings of its own."""
    banks = [f"management of {bank.name}" for bank in planned.parts.banks.banks] if planned.facts.answers.storage.managed else []
    nodes = [clean(name, 40) for name in planned.parts.chain.beyond]
    more = ["generator's controller"] if planned.facts.incoming_kind == "generator" else []
    names = [*banks, *nodes, *more, "residual-current device"]
    rows = tuple(Row((strong(name), "", "", ""), least=_ONE) for name in names)
    head = ("what else is set", "serial number", "firmware", "settings as left, or the file they are in")
    yield Table(head, rows, widths=(24, 22, 16, 38), ruled=True)
