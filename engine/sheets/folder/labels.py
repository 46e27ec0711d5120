"""Labels and cable markers to cut out, and which rule asks for each label."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from engine.sheets.folder.blocks import CUT, HAIR, Block, Chapter, Labels, Para, Row, Table, Title
from engine.sheets.folder.filling import Paper
from engine.sheets.folder.joints import mark, sides
from engine.sheets.folder.letters import BOX, LINE, Words, bold, lines
from engine.sheets.folder.stuck import Stuck, stuck
from engine.text import clean

if TYPE_CHECKING:
    from engine.planner import Planned
    from engine.stages.chain.part import Port

_MARKERS = 4  # across: two conductors with both their ends
_SEEN = {"found": "seen", "memory": "from memory", None: ""}
Cell = tuple[Words, ...]


def labels(planned: Planned, paper: Paper) -> tuple[Chapter, ...]:
    """The labels of a site and the markers of all its conductors; none of a plan that is stopped: what is wrong in it would be stuck on."""
    if planned.plan.standing == "stopped" or not planned.parts.circuits.circuits:
        return ()
    room = paper.room(wide=False)[0]
    found = tuple(stuck(planned))
    blocks: tuple[Block, ...] = (
        *_first(planned.facts.rules),
        _asked(found),
        Title("Labels", "cut along the broken lines"),
        *_sheets(found, room),
        Title("Cable markers", "both ends of each piece, side by side"),
        *_rows(markers(planned), _MARKERS, room),
    )
    return (Chapter("labels", "Labels and cable markers", blocks, "whoever builds and marks"),)


def _first(rules: str) -> Iterator[Block]:
    yield Para(
        (
            bold("The authority, the utility, the rule book and the makers come first: "),
            "what they ask for stands on a label, in their words, colours and signs; this list takes none of theirs away. Ask them first.",
        ),
        framed=True,
    )
    by_hand = " (NFPA 70 110.21(B), seen)" if rules == "nec" else ""
    yield Para(
        "Patterns: have them made of what lasts there, in the rule book's words for a hazard; "
        f"by hand only what changes{by_hand}. Signs and colours: ISO 3864, ANSI Z535.4 (from memory). Fill in the blanks first."
    )


def _asked(found: Sequence[Stuck]) -> Table:
    """Each label with its clause and whether that was seen."""
    rows = tuple(
        Row((one.label.name, str(len(one.cells)), one.label.where, one.label.clause, _SEEN[one.label.seen], (BOX,)), shaded=number % 2 == 1)
        for number, one in enumerate(found)
    )
    return Table(("label", "", "where it is stuck", "asked for by", "that clause", "on"), rows, (31.0, 6.0, 40.0, 60.0, 21.0, 7.0))


def _sheets(found: Sequence[Stuck], room: float) -> Iterator[Labels]:
    """All labels of one width together, large ones first, so that little paper is left over."""
    by_width: dict[int, list[Cell]] = {}
    for one in found:
        by_width.setdefault(one.label.across, []).extend(one.cells)
    for across in sorted(by_width):
        yield from _rows(sorted(by_width[across], key=lambda cell: -_high(cell, _within(room, across))), across, room)


def _rows(cells: Iterable[Cell], across: int, room: float) -> Iterator[Labels]:
    """Labels in rows, each row as high as the most that stands in one of it; rows that are alike in one piece."""
    high = [(_high(cell, _within(room, across)), cell) for cell in cells]
    rows = [high[start : start + across] for start in range(0, len(high), across)]
    for tall, some in groupby(rows, key=lambda row: max(of for of, _ in row)):
        yield Labels(tuple(cell for row in some for _, cell in row), across, tall)


def _within(room: float, across: int) -> float:
    """How wide what stands on a label may be."""
    return room / across - 2 * CUT - 2 * HAIR


def _high(cell: Cell, wide: float) -> float:
    return sum(lines(line, wide, bold=not number) for number, line in enumerate(cell)) * LINE + 2 * CUT + 2 * HAIR


def markers(planned: Planned) -> Iterator[Cell]:
    """For each end of each conductor and data cable: what it is, where this end goes, and where the other one does (IEC 62491)."""
    ends = {circuit.name: circuit for circuit in planned.parts.circuits.circuits}
    for cut in planned.parts.bill.cuts:
        here, far = sides(ends[cut.circuit], cut)
        yield from _pair(f"{cut.circuit} {mark(cut)}", clean(str(here), 40), clean(str(far), 40))
    chain = planned.parts.chain
    for link in chain.links:
        yield from _pair("link", _port(link.start, link.start_port), _port(link.end, link.end_port))
    for node in chain.nodes:
        yield from _pair("link", _port(node.unit, node.port), clean(node.name, 40))
    for lead in chain.data:
        yield from _pair("battery data", lead.bank, lead.unit)


def _port(name: str, port: Port | None) -> str:
    return clean(f"{name} {port or ''}", 40)


def _pair(name: str, here: str, far: str) -> tuple[Cell, Cell]:
    return (name, f"{here} > {far}"), (name, f"{far} > {here}")
