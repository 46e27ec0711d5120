"""A wall in characters: a grid to which metres are scaled, with ways of cables, boxes and names on it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from engine.quantities import Metre, shown
from engine.stages.wall.part import Place

OBSTACLE, MARKED = "%", "#"


class Grid:
    """A grid of characters to which metres on the wall are scaled; row 0 is the top."""

    def __init__(self, width: Metre, height: Metre, columns: int, rows: int) -> None:
        self._width, self._height, self._columns, self._rows = width, height, columns, rows
        self._cells = [[" "] * columns for _ in range(rows)]
        self._runs: dict[tuple[int, int], list[str]] = {}

    def _cell(self, x: Metre, y: Metre) -> tuple[int, int]:
        """Column and row of a point; beyond the wall they lie beyond the grid."""
        return math.floor(x / self._width * self._columns), math.floor((self._height - y) / self._height * self._rows)

    def _within(self, x: Metre, y: Metre) -> tuple[int, int]:
        column, row = self._cell(x, y)
        return min(max(column, 0), self._columns - 1), min(max(row, 0), self._rows - 1)

    def put(self, x: Metre, y: Metre, char: str) -> None:
        """One character at a point."""
        column, row = self._within(x, y)
        self._cells[row][column] = char

    def run(self, path: Sequence[tuple[Metre, Metre]], char: str) -> None:
        """A rectilinear path in one character; where several share a cell each has its turn along the way, so that none hides another."""
        for cell in self._along(path):
            chars = self._runs.setdefault(cell, [])
            if char not in chars:
                chars.append(char)
                self._cells[cell[0]][cell[1]] = sorted(chars)[(cell[0] + cell[1]) % len(chars)]

    def line(self, path: Sequence[tuple[Metre, Metre]], char: str) -> None:
        """A rectilinear path in one character, over whatever is there."""
        for row, column in self._along(path):
            self._cells[row][column] = char

    def _along(self, path: Sequence[tuple[Metre, Metre]]) -> Iterator[tuple[int, int]]:
        """Row and column of every cell of a path."""
        for (ax, ay), (bx, by) in pairwise(path):
            (left, top), (right, bottom) = self._within(min(ax, bx), max(ay, by)), self._within(max(ax, bx), min(ay, by))
            yield from ((row, column) for row in range(top, bottom + 1) for column in range(left, right + 1))

    def _box(self, place: Place) -> tuple[int, int, int, int]:
        """Left, top, right and bottom cells of a place; beyond the grid where it is beyond the wall."""
        left, top = self._cell(place.x - place.width / 2, place.y + place.height / 2)
        right, bottom = self._cell(place.x + place.width / 2 - 1e-9, place.y - place.height / 2 + 1e-9)
        return left, top, right, bottom

    def box(self, place: Place, *, marked: bool) -> None:
        """An outline with nothing inside, or an obstacle all through."""
        left, top, right, bottom = self._box(place)
        for row in range(max(top, 0), min(bottom, self._rows - 1) + 1):
            for column in range(max(left, 0), min(right, self._columns - 1) + 1):
                edge = _outline(row in (top, bottom), column in (left, right), marked=marked)
                self._cells[row][column] = OBSTACLE if place.what == "obstacle" else edge

    def label(self, place: Place, name: str, number: str) -> None:
        """A name in the middle of its box, from above where that is too narrow; the place in the chain in the lower side."""
        left, top, right, bottom = self._box(place)
        middle, row = (left + right + 1) // 2, (top + bottom) // 2
        if right - left + 1 < len(name) <= bottom - top + 1:
            first = (top + bottom - len(name) + 1) // 2
            for k, char in enumerate(name):
                self._write(char, middle, first + k)
        else:
            self._write(name, middle, row)
        self._write(number, middle, bottom if bottom > row else bottom + 1)

    def _write(self, text: str, column: int, row: int) -> None:
        start = min(max(column - len(text) // 2, 0), max(0, self._columns - len(text)))
        if 0 <= row < self._rows:
            for k, char in enumerate(text[: self._columns]):
                self._cells[row][start + k] = char

    def framed(self, metres: Callable[[Metre], str]) -> list[str]:
        """The lines, with the wall's edge round them and its scale in the upper one."""
        column, row = (shown(side, "m", 2) for side in (self._width / self._columns, self._height / self._rows))
        scale = f" {metres(self._width)} by {metres(self._height)}; 1 column {column}, 1 row {row} "
        return [
            f"+{scale[: self._columns]:-^{self._columns}}+",
            *("|" + "".join(row) + "|" for row in self._cells),
            "+" + "-" * self._columns + "+",
        ]


def _outline(level: bool, upright: bool, *, marked: bool) -> str:
    if marked and (level or upright):
        return MARKED
    return "+" if level and upright else "-" if level else "|" if upright else " "
