"""The wall drawn in plain characters: 80 columns, a drawing in ASCII, no colour needed."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from engine.quantities import Metre, shown
from engine.sheets.head import head, stops
from engine.stages.chain.part import Chain
from engine.stages.wall.part import Place, Wall
from engine.text import clean

if TYPE_CHECKING:
    from engine.planner import Planned

# Drawn in this order: what stands later covers what stands before.
LETTERS: Mapping[str, str] = {"earth": "e", "incoming": "i", "solar": "s", "load": "l", "battery": "b"}
_SHORT = {"load-board": "LOAD", "incoming-board": "IN", "solar-isolator": "SOL", "earth-bar": "PE"}
_MOST_ROWS = 60
_COMMS, _CROSSING, _OBSTACLE, _MARKED = "=", "X", "%", "#"


def in_metres(length: Metre) -> str:
    """A length where no rule book says otherwise."""
    return shown(length, "m")


def ascii_only(text: str) -> str:
    """A person's text as characters that every printer has."""
    return clean(text).encode("ascii", "replace").decode()


def wall_text(planned: Planned) -> str:
    """The page of the wall: the drawing, its legend, and the chain link by link."""
    wall, chain, metres = planned.parts.wall, planned.parts.chain, planned.facts.metres
    top = (*head(planned, "WALL"), *stops(planned, 3), "")
    lines = (*top, *drawing(wall, chain, metres=metres), *legend(wall, chain, metres=metres), "", *chain_lines(chain, metres=metres))
    return "\n".join(lines) + "\n"


def drawing(
    wall: Wall,
    chain: Chain,
    columns: int = 80,
    rows: int | None = None,
    marked: str | None = None,
    metres: Callable[[Metre], str] = in_metres,
) -> list[str]:
    """The wall to scale, a character about twice as high as wide; `rows` is how many lines there are at most.

    `marked` names a place whose outline is drawn in `#`: the one being moved. `metres` writes a length for the people of the site.
    """
    if not wall.outline.right or not wall.outline.top:
        return ["(the wall has no size: nothing to draw)"]
    high = max(6, round(wall.height.value / wall.width.value * (columns - 2) / 2))
    sheet = _Sheet(wall.width.value, wall.height.value, columns - 2, min(high, max(6, rows - 2) if rows else _MOST_ROWS))
    for kind, letter in LETTERS.items():
        for run in wall.runs.values():
            if run.kind == kind:
                sheet.line(run.path, letter)
    for link in chain.links:
        sheet.line(link.path, _COMMS)
    for place in (place for place in wall.places if place.width):
        sheet.box(place, marked=place.name == marked)
    for crossing in chain.crossed:
        sheet.put(crossing.at[0] / 1000, crossing.at[1] / 1000, _CROSSING)
    ends = {terminator.unit for terminator in chain.terminators}
    for place in wall.places:
        if place.what != "obstacle" and place.width:
            number = f"{chain.order.index(place.name) + 1}{'T' if place.name in ends else ''}" if place.name in chain.order else ""
            sheet.label(place, _label(place), number)
    return sheet.framed(metres)


def legend(wall: Wall, chain: Chain, columns: int = 80, metres: Callable[[Metre], str] = in_metres) -> list[str]:
    """What the characters mean, and at what height the lanes run."""
    used = {run.kind for run in wall.runs.values() if run.path}
    kinds = [kind for kind in reversed(list(LETTERS)) if kind in used]
    words = [f"{LETTERS[kind]} {kind}" for kind in kinds]
    words += [f"{_COMMS} comms links, {comms_way(wall, chain, metres)}"] if any(link.path for link in chain.links) else []
    words += [f"{_CROSSING} comms crosses power (power cables crossed: {chain.crossings})"] if chain.crossings else []
    words += ["1, 2 place in the chain", "T terminator"] if chain.terminators else []
    words += [f"{_OBSTACLE} obstacle"] if any(place.what == "obstacle" for place in wall.places) else []
    words += [f"{short} {what.replace('-', ' ')}" for what, short in _SHORT.items() if any(place.what == what for place in wall.places)]
    words += ["? place assumed"] if any(place.assumed for place in wall.places) else []
    lanes = [f"{kind} {metres(wall.lanes[kind])}" for kind in kinds if lanes_used(wall, kind)]
    told = ["; ".join(words), *([f"Lanes, height above the floor: {'; '.join(lanes)}"] if lanes else [])]
    return [line for part in told for line in textwrap.wrap(part, columns)]


def lanes_used(wall: Wall, kind: str) -> bool:
    """Whether any circuit of a kind runs along its lane."""
    return runs_along(wall, kind, (run.path for run in wall.runs.values() if run.kind == kind))


def runs_along(wall: Wall, kind: str, paths: Iterable[Sequence[tuple[Metre, Metre]]]) -> bool:
    """Whether any of the paths lies in the lane of a kind: data links mostly go straight from port to port."""
    lane = wall.lanes.get(kind)
    return lane is not None and any(abs(a[1] - lane) < 1e-3 and a[1] == b[1] for path in paths for a, b in pairwise(path))


def comms_way(wall: Wall, chain: Chain, metres: Callable[[Metre], str] = in_metres) -> str:
    """How the links are drawn."""
    used = runs_along(wall, "comms", (link.path for link in chain.links))
    return f"partly in their lane ({metres(wall.lanes['comms'])} above the floor)" if used else "port to port, not in a lane"


def chain_lines(chain: Chain, columns: int = 80, metres: Callable[[Metre], str] = in_metres) -> list[str]:
    """The chain link by link: ports, length needed, length to take, terminators."""
    if not chain.order:
        return []
    lines = []
    ends = [
        f"terminator ({end.kind or 'kind unknown'}) at {ascii_only(end.unit)}{f', {end.port}' if end.port else ''}"
        for end in chain.terminators
    ]
    lines += [f"begin: {ends[0]}"] if ends else []
    for place, link in enumerate(chain.links, 1):
        way = f"way {metres(link.length.value)}" if link.length else "length unknown"
        take = f"take a cable of {metres(link.stock.value)}" if link.stock else "no stock length"
        lines.append(f"{place:>2}  {link.start} {link.start_port or '?'} > {link.end} {link.end_port or '?'}: {way}, {take}")
    lines += [f"end:   {ends[1]}"] if len(ends) > 1 else []
    lines += [f"{ascii_only(node.name)}: at the {node.end} end, into {node.unit} {node.port or '?'}" for node in chain.nodes]
    lines += [
        f"data lead of {lead.bank}: to {lead.unit}, {metres(lead.length.value) if lead.length else 'length unknown'}" for lead in chain.data
    ]
    lines += (
        ["; ".join(part for part in (f"whole bus: {metres(chain.length.value)} as bought", chain.proof) if part)] if chain.length else []
    )
    return [part for line in lines for part in textwrap.wrap(line, columns, subsequent_indent="    ")]


class _Sheet:
    """A grid of characters to which metres on the wall are scaled; row 0 is the top."""

    def __init__(self, width: Metre, height: Metre, columns: int, rows: int) -> None:
        self._width, self._height, self._columns, self._rows = width, height, columns, rows
        self._cells = [[" "] * columns for _ in range(rows)]

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

    def line(self, path: Sequence[tuple[Metre, Metre]], char: str) -> None:
        """A rectilinear path in one character."""
        for (ax, ay), (bx, by) in pairwise(path):
            (left, top), (right, bottom) = self._within(min(ax, bx), max(ay, by)), self._within(max(ax, bx), min(ay, by))
            for row in range(top, bottom + 1):
                for column in range(left, right + 1):
                    self._cells[row][column] = char

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
                self._cells[row][column] = _OBSTACLE if place.what == "obstacle" else edge

    def label(self, place: Place, name: str, number: str) -> None:
        """A name in the middle of its box, the place in the chain in the lower side."""
        left, top, right, bottom = self._box(place)
        middle, row = (left + right + 1) // 2, (top + bottom) // 2
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
        return _MARKED
    return "+" if level and upright else "-" if level else "|" if upright else " "


def _label(place: Place) -> str:
    name = place.name.replace("bar ", "BAR ") if place.what == "bar" else _SHORT.get(place.what, place.name)
    return name + ("?" if place.assumed else "")
