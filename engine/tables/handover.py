"""What is handed over, and what is looked after: heads of the record, limits that it repeats, maintenance, protective gear; by rule book."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal

from engine.frozen import dataclass
from engine.quantities import Volt
from engine.tables import Cell, table

Of = Literal["inspection", "test", "document"]
FROM_MEMORY = "memory"


@dataclass(frozen=True)
class Head:
    """One head of the record: its clause, whether that was seen in a source, the steps whose readings belong to it, the paper that serves it."""

    of: str
    head: str
    clause: str
    seen: bool
    steps: tuple[str, ...]
    page: str


@dataclass(frozen=True)
class Held:
    """A test of which the record keeps one reading of the day: the step that says the limit, and which reading it is."""

    test: str
    step: str
    keep: str


@dataclass(frozen=True)
class Task:
    """One thing that is looked after; `limit` is the name of a limit, or words; `who` is "owner", "instructed" or "licensed"."""

    what: str
    how: str
    often: str
    who: str
    limit: str
    source: str


def heads(rules: str, holds: frozenset[str]) -> tuple[Head, ...]:
    """The heads that this rule book asks for where these circumstances hold."""
    return tuple(
        Head(
            _word(row, "of"), _word(row, "head"), _word(row, "clause"), row["seen"] != FROM_MEMORY, _names(row["steps"]), _word(row, "page")
        )
        for row in _fitting("handover_heads", rules, holds)
    )


def held(rules: str, holds: frozenset[str]) -> tuple[Held, ...]:
    """The tests of which the record keeps a reading."""
    return tuple(Held(_word(row, "test"), _word(row, "step"), _word(row, "keep")) for row in _fitting("record_limits", rules, holds))


def tasks(rules: str, holds: frozenset[str]) -> tuple[Task, ...]:
    """What is looked after."""
    names = ("what", "how", "often", "who", "limit", "source")
    return tuple(Task(*(_word(row, name) for name in names)) for row in _fitting("maintenance", rules, holds))


def gloves(alternating: Volt | None, direct: Volt | None) -> str:
    """The least class of insulating gloves for these voltages; one that is not known is taken as the highest that there is a class for."""
    rows = table("gloves").rows
    fitting = (row for row in rows if _within(alternating, row["alternating"]) and _within(direct, row["direct"]))
    return str(next(fitting, rows[-1])["class"])


def _within(voltage: Volt | None, most: Cell) -> bool:
    return voltage is not None and isinstance(most, float) and voltage <= most


def _fitting(name: str, rules: str, holds: frozenset[str]) -> Iterator[Mapping[str, Cell]]:
    """The rows of a rule book, or of any, whose circumstances all hold."""
    for row in table(name).rows:
        if row["rules"] in (None, rules) and holds.issuperset(_names(row["when"])):
            yield row


def _names(cell: Cell) -> tuple[str, ...]:
    return tuple(str(cell or "").split())


def _word(row: Mapping[str, Cell], column: str) -> str:
    return str(row[column] or "")
