"""The findings as text: by level, each with its place, its cure, its code and rule."""

from __future__ import annotations

from collections.abc import Iterator

from engine.planner import Planned
from engine.sheets.layout import heading, wrapped
from engine.text import clean

_TITLES = {"stop": "STOP: do not energise", "caution": "CAUTION: read and decide", "note": "NOTE"}


def findings_text(planned: Planned) -> str:
    """Every finding; a line that says so where there is none."""
    lines = list(finding_lines(planned))
    return "\n".join(lines or ["No findings."]) + "\n"


def finding_lines(planned: Planned) -> Iterator[str]:
    """The same as lines, for a page that has more to say."""
    for level, title in _TITLES.items():
        found = [finding for finding in planned.plan.findings if finding.level == level]
        if found:
            yield ""
            yield heading(title, str(len(found)))
        for finding in found:
            yield from wrapped(f"{clean(finding.about, 80)}: {finding.text}", " * ", "   ")
            yield from wrapped(f"{finding.remedy} [{finding.code}; {finding.source}]", "   -> ", "      ")
