"""What stands in a chapter of the folder, as plain text; and sites for the papers of risk, record, owner and maintenance."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from engine.planner import Planned
from engine.sheets.folder.blocks import Block, Chapter, Para, Row, Signed, Table, Ticks, Title, Together
from engine.sheets.folder.filling import Paper, filled
from engine.sheets.folder.letters import Words, runs
from tests.engine.paper_sites import SOLAR, planned, set_of

_INPUTS = {"voltage_max": "500 V", "mppt_min": "120 V", "mppt_max": "430 V", "trackers": 2, "short_circuit_max": "23 A", "charge_current": "80 A"}
SUN = SOLAR | {f"unit.solar.{key}": value for key, value in _INPUTS.items()}
ALONE = ("incoming.breaker", "incoming.prospective_fault")


@cache
def site(name: str) -> Planned:
    """A small site by what is special about it."""
    return {
        "lithium": planned,
        "acid": lambda: planned({"storage.chemistry": "flooded", "storage.managed": False, "storage.module.cells": 24}, without=("storage.links",)),
        "sealed": lambda: planned({"storage.chemistry": "gel", "storage.managed": False, "storage.module.cells": 24}, without=("storage.links",)),
        "solar": lambda: planned(SUN),
        "island": lambda: planned(SUN | {"incoming.kind": "none"}, without=ALONE),
        "dark island": lambda: planned({"incoming.kind": "none"}, without=ALONE),
        "one unit": lambda: planned(set_of(1)),
        "stopped": lambda: planned(without=("storage.module.resistance",)),
        "nothing known": lambda: planned(without=("output", "storage", "unit", "set", "incoming", "earthing")),
        "fault unknown": lambda: planned(without=("incoming.prospective_fault", "unit.fault_current")),
    }[name]()


def told(words: Words) -> str:
    """A text with its boxes and lines to write on."""
    return "".join("[ ]" if run.box else f"{run.text}{'[ ]' * run.ticks}" if run.ticks else "____" if run.blank else run.text for run in runs(words))


def rows_of(chapter: Chapter) -> list[tuple[str, ...]]:
    """Every row of every table."""
    return [tuple(map(told, row.cells)) for table in tables(chapter) for row in table.rows]


def tables(chapter: Chapter) -> list[Table]:
    """Every table."""
    return [block for block in _flat(chapter.blocks) if isinstance(block, Table)]


def text(chapter: Chapter) -> str:
    """All of it."""
    return "\n".join(line for block in _flat(chapter.blocks) for line in _lines(block))


def pages(chapter: Chapter, paper: Paper) -> int:
    """How many pages it takes."""
    return len(filled(chapter, paper))


def _flat(blocks: tuple[Block, ...]) -> Iterator[Block]:
    for block in blocks:
        yield from _flat(block.blocks) if isinstance(block, Together) else (block,)


def _lines(block: Block) -> Iterator[str]:
    if isinstance(block, Title):
        yield f"{block.words} {block.right}"
    elif isinstance(block, Para):
        yield told(block.words)
    elif isinstance(block, Ticks):
        yield from map(told, block.items)
    elif isinstance(block, Signed):
        yield from block.who
    elif isinstance(block, Table):
        yield from (" | ".join(map(told, row.cells)) for row in (Row(block.head), *block.rows))
