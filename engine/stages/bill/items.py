"""From whom each line is bought, and which step of the order of work needs it first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache

from engine.stages.bill.part import Line
from engine.tables import table


def joined(lines: Iterable[Line]) -> tuple[Line, ...]:
    """Alike lines as one, where the first stood, each with its supplier and the step that uses it."""
    alike: dict[tuple[str, str, str | None], list[Line]] = {}
    for line in lines:
        alike.setdefault((line.item, line.specification, line.mark), []).append(line)
    return tuple(_one(some) for some in alike.values())


def _one(some: Sequence[Line]) -> Line:
    first = some[0]
    supplier, needed, step, read = _row(first.item)
    return Line(
        first.item,
        first.specification,
        sum(line.quantity for line in some),
        sum(line.spare for line in some),
        any(line.order_ahead for line in some),
        tuple(dict.fromkeys(place for line in some for place in line.goes_to)),
        first.cut_from_reel,
        first.mark,
        supplier,
        needed,
        step,
        read,
    )


@cache
def _row(item: str) -> tuple[str, ...]:
    row = table("items").row("item", item)
    assert row is not None, item  # a test holds every item to the table
    return tuple(str(row[name]) for name in ("supplier", "needed", "step", "read"))
