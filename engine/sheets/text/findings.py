"""The findings as text for the desk: by level and gravity, each with its cure, its code and rule, and the keys that answer it."""

from __future__ import annotations

from collections.abc import Iterator

from engine.findings import Level
from engine.plan import Noticed
from engine.planner import Planned
from engine.sheets.cover.decisions import GRAVITIES
from engine.sheets.text.layout import heading, wrapped
from engine.sheets.text.rules import rule_lines
from engine.site.spoken import keys_in, spoken
from engine.tables.decisions import decisions
from engine.tables.rules import told
from engine.text import clean

_KEYS = (
    'Questions stand in quotation marks. Behind "key" stands where they are answered in the file (site.rules is rules under [site]), or, after '
    'plan., which figure of the plan it is about; "why FILE KEY" tells more of it.'
)
MORE = "Something essential is not answered yet. What rests on it could not be checked: more may appear here once it is."
_TITLES = {"stop": "STOP: do not energise", "caution": "CAUTION: read and decide, the gravest first", "note": "NOTE"}


def findings_text(planned: Planned) -> str:
    """Every finding; a line that says so where there is none."""
    lines = list(_lines(planned))
    return "\n".join(lines or ["No findings."]) + "\n"


def finding_block(finding: Noticed, lead: str = "") -> Iterator[str]:
    """One finding and its cure, behind what leads in."""
    keys = dict.fromkeys((clean(finding.about, 80), *keys_in(f"{finding.text} {finding.remedy}")))
    yield from wrapped(f"{lead}{spoken(finding.text)}", " * ", "   ")
    yield from wrapped(f"{spoken(finding.remedy)} [{finding.code}; {told(finding.source)}]", "   -> ", "      ")
    yield from wrapped(f"key: {', '.join(keys)}", "      ", "      ")


def _lines(planned: Planned) -> Iterator[str]:
    findings = planned.plan.findings
    if findings:
        yield ""
        yield from wrapped(_KEYS, " ")
    if open_ended(planned):
        yield from wrapped(MORE, " ")
    for level, title in _TITLES.items():
        found = [finding for finding in findings if finding.level == level]
        if found:
            yield ""
            yield heading(title, str(len(found)))
        before = ""
        for finding in found:
            grave = GRAVITIES[decisions()[finding.code].gravity] if level == "caution" else ""
            if grave != before:
                yield f" {grave}:"
                before = grave
            yield from finding_block(finding)
    yield from rule_lines(f"{finding.text} {finding.remedy} {finding.source}" for finding in findings)


def open_ended(planned: Planned) -> bool:
    """Whether more may be noticed once something essential is answered."""
    return any(finding.unanswered and finding.level is not Level.NOTE for finding in planned.findings)
