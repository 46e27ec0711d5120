"""The bill as text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from engine.facts import Facts
from engine.plan import BillRow
from engine.planner import Planned
from engine.sheets.head import head, stops
from engine.sheets.layout import grid, wrapped
from engine.stages.bill.part import Reel
from engine.text import clean


def bill_text(sites: Iterable[Planned]) -> str:
    """What to buy for each site, first what must be ordered ahead; then the reels and what is cut from each."""
    return "\n".join(line for planned in sites for line in _lines(planned)) + "\n"


def _lines(planned: Planned) -> Iterator[str]:
    yield from head(planned, "BILL")
    yield from stops(planned, 3)
    lines = planned.plan.bill
    if not lines:
        yield "Nothing is counted: the plan has no units yet."
        return
    for title, part in (
        ("BUY, ORDER AHEAD: no wholesaler stocks these", [line for line in lines if line.order_ahead]),
        ("BUY, FROM STOCK", [line for line in lines if not line.order_ahead and not line.cut_from_reel]),
        ("CUT FROM THE REELS THAT ARE BOUGHT ABOVE: nothing more to buy", [line for line in lines if line.cut_from_reel]),
    ):
        if part:
            yield ""
            yield title
            yield from _table(part)
    if planned.parts.bill.reels:
        yield ""
        yield "REELS, and what is cut from each"
        for reel in planned.parts.bill.reels:
            yield from _reel(planned.facts, reel)
    yield ""
    yield "Quantities include the spares. Colours are for finding, not trusting: measure."


def _table(lines: list[BillRow]) -> list[str]:
    rows = [
        (
            f"{line.quantity}" + (f" ({line.spare} spare)" if line.spare else ""),
            line.item,
            clean(line.specification, 600) + (", cut from reel" if line.cut_from_reel else ""),
            ", ".join(clean(place, 120) for place in line.goes_to),
        )
        for line in lines
    ]
    return grid(("pieces", "item", "specification", "goes to"), rows)


def _reel(facts: Facts, reel: Reel) -> Iterator[str]:
    cuts = ", ".join(facts.told(cut.length) for cut in reel.cuts if cut.length)
    text = f"{clean(reel.conductor, 120)}, {facts.metres(reel.length)}: {cuts}; left over {facts.metres(reel.offcut)}"
    yield from wrapped(text, " ", "   ")
