"""Mutants of the tables: one cell each, its number a fifth larger or smaller, its word another of its column."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks.mutation.mutants import Mutant, Text, numbered

FOLDER = "engine/tables"
# What a cell says to people, or says of where it is from, decides nothing.
_PROSE = {"source", "seen", "why", "note", "text", "name", "remark", "standard", "want", "step"}
_TABLE = re.compile(r"^\[(\w+)\][^\n]*$", re.MULTILINE)
_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[-+]?\d[\d._e+-]*|[\[\]]|#[^\n]*')
_QUANTITY = re.compile(r"([-+]?\d+(?:\.\d+)?)((?: (?!AWG|kcmil)\S+)?)")


def of_tables(root: Path) -> list[Mutant]:
    """Every mutant of every table, file by file."""
    return [mutant for path in sorted((root / FOLDER).glob("*.toml")) for mutant in numbered(_file(path.relative_to(root).as_posix(), path.read_bytes()))]


def _file(file: str, source: bytes) -> Iterator[Mutant]:
    text = Text(source)
    whole = source.decode()
    heads = [*_TABLE.finditer(whole)]
    for head, after in zip(heads, [*(h.start() for h in heads[1:]), len(whole)], strict=True):
        body = tomllib.loads(whole[head.start() : after])[head[1]]
        columns, units, rows = body["columns"], body["units"], body["rows"]
        for number, places in enumerate(_cells(whole, whole.index("\nrows = [", head.end()) + len("\nrows = ["))):
            assert len(places) == len(columns)
            for (begin, end), column, unit in zip(places, columns, units, strict=True):
                value = rows[number][columns.index(column)]
                if column in _PROSE or value == "":
                    continue
                among = [row[columns.index(column)] for row in rows[number:] + rows[:number]]
                start, stop = (len(whole[:at].encode()) for at in (begin, end))
                for rule, now in _others(value, unit, among):
                    where = f"{head[1]}[{rows[number][0]}].{column}"
                    was = whole[begin:end]
                    yield Mutant(file, where, rule, was, now, text.line(start), start, stop, now, cell=(head[1], number, column))


def _cells(whole: str, at: int) -> Iterator[list[tuple[int, int]]]:
    """Where the cells of each row stand, from the opening bracket of all rows on."""
    row: list[tuple[int, int]] | None = None
    for token in _TOKEN.finditer(whole, at):
        if token[0] == "[":
            row = []
        elif token[0] == "]":
            if row is None:
                return
            yield row
            row = None
        elif row is not None and token[0][0] != "#":
            row.append(token.span())


def _others(value: object, unit: str, among: list[object]) -> Iterator[tuple[str, str]]:
    """What a cell might say instead, each with its rule."""
    if isinstance(value, str):
        if quantity := _QUANTITY.fullmatch(value):
            for rule, changed in _moved(float(quantity[1]), whole="." not in quantity[1] and not quantity[2]):
                yield rule, f'"{changed}{quantity[2]}"'
        elif other := next((a for a in among if a not in (value, "") and isinstance(a, str) and not _QUANTITY.fullmatch(a)), None):
            yield "word", f'"{other}"'
    elif isinstance(value, int | float):
        yield from _moved(float(value), whole=isinstance(value, int) and unit == "1")


def _moved(value: float, *, whole: bool) -> Iterator[tuple[str, str]]:
    if whole:
        yield "next number", f"{value + 1:.0f}"
        if value > 0:
            yield "number before", f"{value - 1:.0f}"
    elif value:
        yield "x 1.2", f"{value * 1.2:.6g}"
        yield "x 0.8", f"{value * 0.8:.6g}"
    else:
        yield "none to one", "1"
