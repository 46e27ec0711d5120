"""The bill as CSV for a spreadsheet, with no cell that a spreadsheet would run as a formula."""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Iterable

from engine.planner import Planned
from engine.sheets.bill import groups, read_on
from engine.text import clean

HEAD = (
    "site",
    "revision",
    "plan",
    "made with",
    "standing",
    "supplier",
    "needed for",
    "item",
    "specification",
    "quantity",
    "of which spare",
    "order ahead",
    "buy or cut",
    "beware",
    "read on it",
    "step",
    "goes to",
)
_FORMULA = tuple("=+-@|%\N{MINUS SIGN}")  # `clean` leaves no tab and no line break


def bill_csv(sites: Iterable[Planned]) -> str:
    """The bills of several sites, one under the other, each line with its site and the plan it is of; by supplier, then by when it is needed."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEAD)
    for planned in sites:
        name = planned.facts.answers.site.name or ""
        read = read_on(planned)
        bought = [line for group in groups(planned) for line in group.lines]
        for line in (*bought, *(line for line in planned.plan.bill if line.cut_from_reel)):
            told = (
                name,
                planned.plan.revision,
                planned.plan.digest,
                planned.plan.made_with,
                planned.plan.standing,
                line.supplier or "",
                line.needed or "",
                line.item,
                line.specification,
                line.quantity,
                line.spare,
                "yes" if line.order_ahead else "no",
                "cut from reel" if line.cut_from_reel else "buy",
                line.mark or "",
                read[line.item],
                line.step or "",
                "; ".join(line.goes_to),
            )
            writer.writerow([safe_cell(cell) if isinstance(cell, str) else cell for cell in told])
    return out.getvalue()


def safe_cell(text: str) -> str:
    """One cell: an apostrophe before what a spreadsheet would take for a formula, also in full-width and other forms of its sign.

    Where a semicolon parts lists, a spreadsheet parts a cell at it, quoted or not: what follows begins a cell of its own there.
    """
    return ";".join(map(_guarded, clean(text, 2000).split(";")))


def _guarded(part: str) -> str:
    bare = part.lstrip()
    risky = unicodedata.normalize("NFKC", bare[:1]).startswith(_FORMULA)
    return f"{part[: len(part) - len(bare)]}'{bare}" if risky else part
