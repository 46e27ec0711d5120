"""The bill as text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from engine.facts import Facts
from engine.plan import BillRow
from engine.planner import Planned
from engine.sheets.bill import MARKING, Lot, Piece, cut_list, groups, places, read_on
from engine.sheets.text.layout import grid, heading, wrapped
from engine.sheets.text.top import head, stops
from engine.stages.bill.part import Reel
from engine.text import clean


def bill_text(sites: Iterable[Planned]) -> str:
    """What to buy for each site, by who supplies it and when it is needed; what to read on it when it comes; reels and cuts."""
    return "\n".join(line for planned in sites for line in _lines(planned)) + "\n"


def _lines(planned: Planned) -> Iterator[str]:
    yield from head(planned, "BILL")
    yield from stops(planned, 3)
    if not planned.plan.bill:
        yield "Nothing is counted: the plan has no units yet."
        return
    yield ""
    yield "Quantities include the spares. AHEAD: no wholesaler stocks it, order it first."
    yield "Tick the box when it has come and what stands under READ was read on it."
    for group in groups(planned):
        yield ""
        ahead = sum(line.order_ahead for line in group.lines)
        yield heading(f"BUY: {group.supplier.upper()}", f"{ahead} of {len(group.lines)} to order ahead" if ahead else "")
        for lot in group.lots:
            yield from _lot(planned, lot)
        yield from _read(read_on(planned), group.lines)
    yield from _cuts(planned.facts, cut_list(planned))
    if planned.parts.bill.reels:
        yield ""
        yield heading("REELS and lengths, what is cut from each")
        for reel in planned.parts.bill.reels:
            yield from _reel(planned.facts, reel)
    yield ""
    yield "Colours are for finding, not trusting: measure."


def _lot(planned: Planned, lot: Lot) -> Iterator[str]:
    yield ""
    yield f"Needed for {lot.needed.upper()}" + (f", from step {lot.step} of the order of work on" if lot.step else "")
    rows = [
        (
            f"[ ] {line.quantity}" + (f" ({line.spare} spare)" if line.spare else ""),
            line.item + (" AHEAD" if line.order_ahead else ""),
            clean(line.specification, 2000) + (f" ({line.mark})" if line.mark else ""),
            ", ".join(clean(place, 120) for place in places(planned, line)),
        )
        for line in lot.lines
    ]
    yield from grid(("pieces", "item", "specification", "goes to"), rows)


def _read(read: Mapping[str, str], lines: Iterable[BillRow]) -> Iterator[str]:
    """What is read when it comes, item by item: those that are read alike together."""
    alike: dict[str, list[str]] = {}
    for line in lines:
        alike.setdefault(read[line.item], []).append(line.item)
    told = "; ".join(f"{', '.join(dict.fromkeys(items))}: {what}" for what, items in alike.items())
    yield ""
    yield from wrapped(f"READ on {told}.", " ", "   ")


def _cuts(facts: Facts, pieces: Iterable[Piece]) -> Iterator[str]:
    rows = [
        (
            piece.row.circuit,
            ", ".join(f"{f'{piece.row.each} x ' if piece.row.each > 1 else ''}{pole}" for pole in piece.row.poles),
            f"{piece.row.from_} > {piece.row.to}",
            piece.row.conductor,
            facts.told(piece.length) if piece.length else "measure",
        )
        for piece in pieces
    ]
    if rows:
        yield ""
        yield heading("CUT LIST")
        yield from wrapped(MARKING + " A piece between devices: measure it before it is cut.", " ")
        yield from grid(("circuit", "poles", "from > to", "conductor", "length"), rows)


def _reel(facts: Facts, reel: Reel) -> Iterator[str]:
    cuts = ", ".join(facts.told(cut.length) for cut in reel.cuts if cut.length)
    text = f"{clean(reel.conductor, 120)}, {facts.metres(reel.length)}: {cuts}; left over {facts.metres(reel.offcut)}. {reel.proof}."
    yield from wrapped(text, " ", "   ")
