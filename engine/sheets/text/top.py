"""What stands on top of every text paper: which plan it is of, site, standing; and what forbids energising."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from engine.findings import Level
from engine.sheets.head import FIRST, STANDINGS, stamp
from engine.sheets.text.layout import WIDTH, cells, fit, heading, wrapped
from engine.site.spoken import spoken
from engine.text import clean

if TYPE_CHECKING:
    from engine.planner import Planned


def head(planned: Planned, title: str) -> Iterator[str]:
    """Title with the plan's stamp, site, standing."""
    site = planned.facts.answers.site
    yield heading(title, stamp(planned.plan))
    left = f"Site: {clean(site.name or '', 44) or 'not named'}"
    right = f"Ref: {clean(site.reference or '', 24) or '-'}"
    yield fit(left, WIDTH - cells(right)) + right
    yield f"Standing: {STANDINGS[planned.plan.standing]}"
    yield FIRST


def stops(planned: Planned, most: int) -> Iterator[str]:
    """The findings that forbid energising, in short; `most` of them, then how many more."""
    found = [finding for finding in planned.findings if finding.level is Level.STOP]
    for finding in found[:most]:
        yield from wrapped(clean(spoken(finding.text), 170), " STOP ", "      ")
    if len(found) > most:
        yield f" STOP and {len(found) - most} more: see the plan page."
