"""The findings as text: by level, each with its place, its cure, its code and rule; below them what each rule says."""

from __future__ import annotations

from collections.abc import Iterator

from engine.findings import Level
from engine.plan import Noticed
from engine.planner import Planned
from engine.sheets.layout import heading, wrapped
from engine.sheets.rules_text import rule_lines
from engine.tables.rules import told
from engine.text import clean

_KEYS = (
    "Before each colon stands what it is about: an answer by its key in the file (site.rules is rules under [site]), "
    'or, after plan., a figure of the plan; "why FILE KEY" tells more of it.'
)
_MORE = "Something essential is not answered yet. What rests on it could not be checked: more may appear here once it is."
_TITLES = {"stop": "STOP: do not energise", "caution": "CAUTION: read and decide", "note": "NOTE"}


def findings_text(planned: Planned) -> str:
    """Every finding; a line that says so where there is none."""
    lines = list(finding_lines(planned))
    return "\n".join(lines or ["No findings."]) + "\n"


def finding_block(finding: Noticed, lead: str) -> Iterator[str]:
    """One finding and its cure, behind what leads in."""
    yield from wrapped(f"{lead}{finding.text}", " * ", "   ")
    yield from wrapped(f"{finding.remedy} [{finding.code}; {told(finding.source)}]", "   -> ", "      ")


def finding_lines(planned: Planned) -> Iterator[str]:
    """The same as lines, for a page that has more to say."""
    findings = planned.plan.findings
    if findings:
        yield ""
        yield from wrapped(_KEYS, " ")
    if any(finding.unanswered and finding.level is not Level.NOTE for finding in planned.findings):
        yield from wrapped(_MORE, " ")
    for level, title in _TITLES.items():
        found = [finding for finding in findings if finding.level == level]
        if found:
            yield ""
            yield heading(title, str(len(found)))
        for finding in found:
            yield from finding_block(finding, f"{clean(finding.about, 80)}: ")
    yield from rule_lines(f"{finding.text} {finding.remedy} {finding.source}" for finding in findings)
