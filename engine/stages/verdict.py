"""All findings in the order they should be read, each once; their worst is the plan's standing."""

from __future__ import annotations

from collections.abc import Sequence

from engine.facts import Facts
from engine.findings import Finding, Level, note

_ORDER = {Level.STOP: 0, Level.CAUTION: 1, Level.NOTE: 2}


def verdict(*, facts: Facts, findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Stops first, then cautions, then notes; within each, the order of the stages."""
    closing = [_closing(facts)]
    once = dict.fromkeys((*findings, *closing))
    return tuple(sorted(once, key=lambda finding: _ORDER[finding.level]))


def _closing(facts: Facts) -> Finding:
    """What no plan can replace."""
    book = {"iec": "IEC 60364 and its national form", "nec": "NFPA 70 as adopted locally"}[facts.rules]
    return note(
        "licensed-practice",
        "site.rules",
        f"This plan follows {book} as far as it knows them. Local codes, the maker's instructions and a licensed person come first.",
        "Have the plan checked and the work done or supervised by a licensed person.",
        "common practice, no source",
    )
