"""What stands on top of every sheet: site, revision, standing; and the sentence that comes before all of them."""

from __future__ import annotations

from collections.abc import Iterator

from engine.findings import Level
from engine.planner import Planned
from engine.sheets.layout import WIDTH, cells, fit, heading, wrapped
from engine.text import clean

FIRST = "Local codes, the maker's instructions and a licensed person come first."
STANDINGS = {
    "stopped": "STOPPED - DO NOT ENERGISE",
    "cautions": "CAUTIONS - read them before going on",
    "ready": "READY - as far as this plan can see",
}


def head(planned: Planned, title: str) -> Iterator[str]:
    """Title with revision, site, standing."""
    site = planned.facts.answers.site
    yield heading(title, f"revision {planned.plan.revision}")
    left = f"Site: {clean(site.name or 'not named', 44)}"
    right = f"Ref: {clean(site.reference or '-', 24)}"
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
