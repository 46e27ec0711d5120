"""Joints as rows of a table: on either side what is joined, room for the torque, and two boxes for each conductor."""

from __future__ import annotations

from collections.abc import Sequence

from engine.sheets.folder.blocks import Row, Table
from engine.sheets.folder.letters import Words, blank, ticks

TORQUE: Words = (blank(8.0),)
_SHARES = (26.0, 8.0, 34.0)  # of the room for one side: what it is, its torque, its boxes


def unit(rules: str) -> str:
    """In what a torque tool is read."""
    return "lbf in" if rules == "nec" else "N m"


def joints_table(rules: str, rows: Sequence[Row]) -> Table:
    """Rows of joints under their head."""
    side = (unit(rules), "torqued, checked")
    return Table(("from", *side, "to", *side), tuple(rows), (*_SHARES, *_SHARES))


def heading(words: Words) -> Row:
    """A row over all columns that says what those below it are of."""
    return Row((words,), shaded=True, spans=(6,))


def boxes(marks: Sequence[str]) -> Words:
    """A pair of boxes behind each name; behind none where there is but one."""
    return tuple(ticks(2, name) for name in marks)


def between(one: str, other: str, marks: Sequence[str]) -> Row:
    """A row of joints that are alike on both sides."""
    return Row((one, TORQUE, boxes(marks), other, TORQUE, boxes(marks)), follows=True)
