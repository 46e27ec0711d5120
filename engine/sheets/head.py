"""What stands on top of every sheet: which plan it is of, site, standing; and the sentence that comes before all of them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from engine.findings import Level
from engine.plan import Plan
from engine.sheets.layout import WIDTH, cells, fit, heading, wrapped
from engine.text import clean

if TYPE_CHECKING:
    from engine.planner import Planned

FIRST = "Local codes, the maker's instructions and a licensed person come first."
STANDINGS = {
    "stopped": "STOPPED - DO NOT ENERGISE",
    "cautions": "CAUTIONS - read them before going on",
    "ready": "READY - as far as this plan can see",
}


def stamp(plan: Plan) -> str:
    """Which plan a paper is of: the revision of the answers, the digest of the plan, the program."""
    return f"revision {plan.revision}, plan {plan.digest}, {plan.made_with}"


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
        yield from wrapped(f"{clean(finding.about, 60)}: {clean(finding.text, 110)}", " STOP ", "      ")
    if len(found) > most:
        yield f" STOP and {len(found) - most} more: see the plan page."
