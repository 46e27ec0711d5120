"""Published figures and assumptions: TOML files, a unit per column, a source per table or row.

A file holds one or more tables:

    [iec_ambient]
    title = "…" ; source = "…" ; seen = "found" ; note = "…"      # seen: "found" or "memory"
    columns = ["ambient", "pvc", "xlpe"]
    units = ["degC", "1", "1"]                                     # "text" for words
    rows = [[30, 1.0, 1.0]]                                        # a 0 that means "none" is left out: use ""

`table(name)` finds a table in any file of this folder; its figures come back as SI floats, empty cells as None.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from engine.frozen import dataclass
from engine.quantities import rounded, scale

Cell = float | str | None


@dataclass(frozen=True)
class Table:
    """One published table; `rows` hold SI floats (or words) by column."""

    name: str
    title: str
    source: str
    seen: str
    note: str
    rows: tuple[Mapping[str, Cell], ...]

    def row(self, column: str, value: Cell) -> Mapping[str, Cell] | None:
        """The first row whose `column` is `value`, or None."""
        for row in self.rows:
            cell = row[column]
            if cell == value or (isinstance(cell, float) and isinstance(value, float) and abs(cell - value) <= 1e-9 * abs(value)):
                return row
        return None

    def figures(self, column: str) -> tuple[float, ...]:
        """The numbers of a column, empty cells left out."""
        return tuple(c for row in self.rows if isinstance(c := row[column], float))

    @property
    def told(self) -> str:
        """The source as it is printed: one that was not seen says so."""
        return self.source if self.seen == "found" else f"{self.source} (from memory)"


def _cell(value: object, to_si: tuple[float, float] | None) -> Cell:
    """A cell as SI float or word; an empty one is None."""
    if value == "":
        return None
    if to_si is None or isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    factor, offset = to_si
    return rounded(value * factor + offset)


_HEADER = re.compile(r"^\[(\w+)\][^\n]*$", re.MULTILINE)
_HERE = Path(__file__).parent


@cache
def _texts(folder: Path) -> Mapping[str, str]:
    """The TOML text of every table by name. Only those that are asked for are parsed: most plans need a few."""
    found: dict[str, str] = {}
    for path in sorted(folder.glob("*.toml")):
        _, *parts = _HEADER.split(path.read_text(encoding="utf-8"))
        for name, body in zip(parts[::2], parts[1::2], strict=True):
            if name in found:
                raise ValueError(f"table {name} stands twice")
            found[name] = body
    return found


def names(folder: Path = _HERE) -> tuple[str, ...]:
    """Every table there is in a folder."""
    return tuple(_texts(folder))


@cache
def table(name: str, folder: Path = _HERE) -> Table:
    """The table of that name; KeyError where there is none. Plans read from this folder only, tests from theirs too."""
    body = tomllib.loads(_texts(folder)[name])
    columns, units, rows = body["columns"], body["units"], body["rows"]
    assert isinstance(columns, list) and isinstance(units, list) and isinstance(rows, list)
    scales = [None if unit == "text" else scale(str(unit)) for unit in units]
    return Table(
        name=name,
        title=str(body["title"]),
        source=str(body["source"]),
        seen=str(body["seen"]),
        note=str(body.get("note", "")),
        rows=tuple({str(c): _cell(v, s) for c, v, s in zip(columns, row, scales, strict=True)} for row in rows),
    )
