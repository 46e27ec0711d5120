"""The bill for the desk and for whoever takes the goods in: what to buy, from whom, for which step; what is cut, and from what."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from engine.sheets.bill import MARKING, Group, Lot, Piece, cut_list, groups, read_on
from engine.sheets.folder.blocks import Block, Chapter, Para, Row, Table, Title
from engine.sheets.folder.filling import Paper
from engine.sheets.folder.joints import sign
from engine.sheets.folder.letters import BOX, Words, bold, box
from engine.sheets.folder.numbers import steps
from engine.text import clean, counted

if TYPE_CHECKING:
    from engine.plan import BillRow, CutRow
    from engine.planner import Planned
    from engine.stages.bill.part import Reel

_WIDTHS = (7.0, 15.0, 104.0, 60.0)  # shares: box, pieces, what it is, where it goes
_CUT = {"iec": (7.0, 63.0, 51.0, 47.0, 18.0), "nec": (7.0, 54.0, 50.0, 46.0, 29.0)}  # box, circuit, poles, from and to, length
_REEL = {"iec": (7.0, 40.0, 30.0, 109.0), "nec": (7.0, 40.0, 34.0, 105.0)}  # box, colour, length, cuts
_CABLE = ("reel", "cable by the metre", "cable by the foot")


def bill(planned: Planned, _paper: Paper) -> tuple[Chapter, ...]:
    """The chapter; none of a plan without units, for nothing is counted then."""
    if not planned.plan.bill:
        return ()
    blocks = [
        *_first(planned),
        *(block for group in groups(planned) for block in _group(planned, group)),
        *_cuts(planned),
        *_reels(planned),
    ]
    return (Chapter("bill", "Bill and cut list", tuple(blocks), "desk and store"),)


def _first(planned: Planned) -> Iterator[Block]:
    if planned.plan.standing == "stopped":
        yield Para("This plan is stopped: what cures it may change what is bought. Order nothing by it.", framed=True, strong=True)
    yield Para(
        (
            BOX,
            "it has come, and what stands behind ",
            bold("read"),
            " was read on the thing itself. Quantities include spares. ",
            bold("AHEAD"),
            ": no wholesaler stocks it, order it first. What reads otherwise goes back: nothing here may be exchanged without the planner.",
        )
    )


def _group(planned: Planned, group: Group) -> Iterator[Block]:
    ahead = sum(line.order_ahead for line in group.lines)
    supplier = group.supplier[0].upper() + group.supplier[1:]
    yield Title(supplier, f"{ahead} of {len(group.lines)} lines to order ahead" if ahead else "")
    yield Table(
        ("", "pieces", "what, and what to read on it", "goes to"), tuple(row for lot in group.lots for row in _lot(planned, lot)), _WIDTHS
    )


def _lot(planned: Planned, lot: Lot) -> Iterator[Row]:
    """Under the part of the work that needs it first; what is to be read stands once for lines that are read alike."""
    when = steps(planned, *(str(line.step) for line in lot.lines))
    yield Row(((bold(f"needed for {lot.needed.upper()}"), f", {when}" if when else ""),), shaded=True, spans=(4,))
    cables = [line for line in lot.lines if line.item in _CABLE]
    if cables:
        told = (bold("cable: "), f"{counted(len(cables), 'line')}, under reels and lengths at the end of this bill.")
        yield Row(("", "", told, ""), follows=True)
    others = [line for line in lot.lines if line.item not in _CABLE]
    on = read_on(planned)
    for number, (read, alike) in enumerate(groupby(others, key=lambda line: on[line.item])):
        for place, line in enumerate(alike):
            yield Row(_line(planned, line, read if not place else None), follows=not number and not place)


def _line(planned: Planned, line: BillRow, read: str | None) -> tuple[Words, ...]:
    spare = f" {line.spare} of them spare." if line.spare else ""
    what: Words = (bold(f"{line.item}{' AHEAD' if line.order_ahead else ''}: "), f"{clean(line.specification, 2000)}.{spare}")
    what = (*what, bold(f" {line.mark}.")) if line.mark else what
    what = (*what, bold(" Read: "), f"{read}.") if read else what
    return (BOX,), str(line.quantity), what, _places(planned, [place for place in line.goes_to if place != "spare"])


def _places(planned: Planned, names: Sequence[str]) -> str:
    """Where a line goes, what is alike in names said once: "load L1-1, L1-2", or "load of every unit"."""
    alike: dict[str, list[str]] = {}
    for name in dict.fromkeys(clean(name, 120) for name in names):
        head, _, tail = ("", "", name) if ">" in name else name.rpartition(" ")
        alike.setdefault(head, []).append(tail)
    return ", ".join(told for head, tails in alike.items() for told in _joined(planned, head, tails))


def _joined(planned: Planned, head: str, tails: Sequence[str]) -> Iterator[str]:
    tags = planned.parts.units.tags
    if len(tags) > 1 and set(tags) <= set(tails):
        yield f"{head} of every unit" if head else "every unit"
        tails = [tail for tail in tails if tail not in tags]
    if tails:
        yield f"{head} {', '.join(tails)}".strip()


def _cuts(planned: Planned) -> Iterator[Block]:
    areas = {cut.made: cut.size.area for cut in planned.parts.bill.cuts if cut.size}
    pieces = sorted(cut_list(planned), key=lambda piece: (areas.get(piece.row.conductor, 0.0), piece.row.conductor))
    if not pieces:
        return
    yield Title("Cut list", "by conductor; nothing is cut before its way is measured")
    yield Para(f"{MARKING} A piece between devices is measured before it is cut. Colours are for finding, never for trusting.")
    rows = []
    for conductor, alike in groupby(pieces, key=lambda piece: piece.row.conductor):
        rows.append(Row(((bold(conductor), "; read the print: any other burns"),), shaded=True, spans=(5,)))
        rows += [Row(cells, follows=not number) for number, cells in enumerate(_of_units(planned, _together(list(alike))))]
    yield Table(("", "circuit", "poles and colours", "from > to", "length"), tuple(rows), _CUT[planned.facts.rules])


def _together(pieces: Sequence[Piece]) -> list[list[Piece]]:
    """Pieces of one circuit and one length that stand in a row: other poles beside each other, or the same poles once more."""
    found: list[list[Piece]] = []
    for piece in pieces:
        alike = [some for some in found if (some[0].row.circuit, some[0].row.length) == (piece.row.circuit, piece.row.length)]
        same = all(piece.row.poles == other.row.poles for other in alike[-1]) if alike else False
        other = all(set(piece.row.poles).isdisjoint(other.row.poles) for other in alike[-1]) if alike else False
        if same or other:
            alike[-1].append(piece)
        else:
            found.append([piece])
    return found


def _of_units(planned: Planned, pieces: Sequence[list[Piece]]) -> Iterator[tuple[Words, ...]]:
    """The rows of one conductor; what is cut alike for several units is one row, with a box for each of them."""
    tags = {ends.name: ends.tag for ends in planned.parts.circuits.circuits if ends.tag}
    alike: dict[tuple[str, ...], list[str]] = {}
    for some in pieces:
        circuit, *rest = _cut(planned, some)
        tag = tags.get(circuit, "")
        shared = (cell.replace(tag, "its unit") for cell in rest) if tag else rest
        alike.setdefault((circuit.removesuffix(tag).strip(), *shared), []).append(tag)
    for (kind, *rest), own in alike.items():
        if len(own) == 1:
            yield ((BOX,), f"{kind} {own[0]}".strip(), *(cell.replace("its unit", own[0]) for cell in rest))
        else:
            yield ("", (f"{kind} ", *map(box, own)), *rest)


def _cut(planned: Planned, some: Sequence[Piece]) -> tuple[str, ...]:
    """Circuit, poles, from where to where, length."""
    rows = [piece.row for piece in some]
    same = len(rows) > 1 and rows[0].poles == rows[1].poles
    poles = [
        f"{f'{row.each} x ' if row.each > 1 else ''}{sign(pole)} {colour}"
        for row in (rows[:1] if same else rows)
        for pole, colour in zip(row.poles, row.colours, strict=True)
    ]
    length = planned.facts.told(some[0].length) if some[0].length else "measure"
    return rows[0].circuit, ", ".join(poles), _way(rows), f"{len(rows)} x {length}" if same else length


def _way(rows: Sequence[CutRow]) -> str:
    """From where to where, what is alike said once: "breaker, load board > L1-1", "bar B1 > fuse holder > isolator"."""
    starts, ends = ([*dict.fromkeys(name)] for name in zip(*((row.from_, row.to) for row in rows), strict=True))
    if len(starts) == 1 or len(ends) == 1:
        return f"{', '.join(starts)} > {', '.join(ends)}"
    if starts[1:] == ends[:-1]:
        return " > ".join([*starts, ends[-1]])
    return "; ".join(f"{row.from_} > {row.to}" for row in rows)


def _reels(planned: Planned) -> Iterator[Block]:
    """By conductor, thin ones first; why so much is bought is the same for all, and told once."""
    reels = planned.parts.bill.reels
    if not reels:
        return
    over = planned.figures.get("plan.bill.allowance")
    whole = "foot" if planned.facts.rules == "nec" else "metre"
    yield Title("Reels and lengths", "what each is cut into; read on it what stands over its row, and the length")
    yield Para(
        f"{over or 'Some'} more than the cuts, up to a whole {whole}: cut in the shop where whole reels would be more, or where the size is not sold on reels."
    )
    rows: list[Row] = []
    for made, alike in groupby(sorted(reels, key=_thickness), key=lambda reel: reel.cuts[0].made):
        rows.append(Row(((bold(made),),), shaded=True, spans=(4,)))
        rows += [Row(_reel(planned, reel), follows=not number) for number, reel in enumerate(alike)]
    yield Table(("", "colour", "bought", "cut into"), tuple(rows), _REEL[planned.facts.rules])


def _thickness(reel: Reel) -> tuple[float, str]:
    cut = reel.cuts[0]
    return cut.size.area if cut.size else 0.0, cut.made


def _reel(planned: Planned, reel: Reel) -> tuple[Words, ...]:
    lengths = [planned.facts.told(cut.length) for cut in reel.cuts if cut.length]
    cuts = ", ".join(f"{f'{lengths.count(length)} x ' if lengths.count(length) > 1 else ''}{length}" for length in dict.fromkeys(lengths))
    length = planned.facts.metres(reel.length)
    return (BOX,), reel.cuts[0].colour, f"reel of {length}" if reel.bought == "reel" else length, cuts
