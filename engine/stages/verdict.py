"""All findings in the order they should be read, each once; their worst is the plan's standing."""

from __future__ import annotations

from collections.abc import Sequence

from engine.facts import Facts
from engine.findings import Finding, Level, note
from engine.tables.decisions import gravity

_ORDER = {Level.STOP: 0, Level.CAUTION: 1, Level.NOTE: 2}


def verdict(*, facts: Facts, findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Stops first, then cautions from the gravest on, then notes; within each the order of the stages, those of one code together."""
    once = tuple(dict.fromkeys((*findings, _closing(facts))))
    first = {(finding.level, finding.code): place for place, finding in reversed([*enumerate(once)])}

    def place(finding: Finding) -> tuple[int, int, int]:
        grave = gravity(finding.code) if finding.level is Level.CAUTION else 0
        return _ORDER[finding.level], grave, first[finding.level, finding.code]

    return tuple(sorted(once, key=place))


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
