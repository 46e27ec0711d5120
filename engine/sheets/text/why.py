"""Where a key of the file or of the plan stands: a figure's working as an indented tree, down to the answers; an answer that is no
figure; and what was noticed about it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from engine.files.emit import plan_document
from engine.keys import labelled
from engine.planner import Planned
from engine.sheets.text.findings import finding_block
from engine.sheets.text.layout import WIDTH, wrapped
from engine.sheets.text.rules import rule_lines
from engine.tables.rules import told
from engine.text import clean, counted
from engine.workings import Figure

_STEP = "  "
_DEEPEST = 12  # beyond it the tree is indented no further, so that lines keep room


def told_of(planned: Planned, key: str) -> str | None:
    """All there is to say of a key: its working or its value, and the findings about it with their rules; None where nothing is."""
    figure = planned.figures.get(key)
    about = [finding for finding in planned.plan.findings if finding.about == key]
    value = None if figure else _answer(planned, key)
    if figure is None and not about and (value is None or any(other.startswith((f"{key}.", f"{key}[")) for other in planned.figures)):
        return None
    nothing = "not computed" if key.startswith("plan.") else "not answered"
    lines = list(_lines(figure)) if figure else wrapped(f"{clean(key, 200)}{value or f': {nothing}'}", "", _STEP * 2)
    for finding in about:
        lines += ["", *finding_block(finding, f"{finding.level.upper()}: ")]
    cites = [text for _, part in figure.tree() for text in (part.note, part.source)] if figure else []
    cites += [f"{finding.text} {finding.remedy} {finding.source}" for finding in about]
    return "\n".join([*lines, *rule_lines(cites)]) + "\n"


def _answer(planned: Planned, key: str) -> str | None:
    """What stands under a key that has no figure: an answer, what was assumed, or a word of the plan."""
    taken = next((taken for taken in planned.plan.assumed if taken.key == key), None)
    if taken:
        return f" = {clean(taken.value, 200)} (assumed: {clean(taken.why, 300)})"
    node: Any = planned.facts.answers.model_dump(exclude_none=True) | {"plan": plan_document(planned.plan)}
    for label, name in re.findall(r"\[([^\]]*)\]|([^.\[\]]+)", key):
        if isinstance(node, list):
            rows = zip(labelled("", map(_label, node)), node, strict=True)
            node = next((row for called, row in rows if called == f"[{label}]"), None)
        else:
            node = node.get(label or name) if isinstance(node, Mapping) else None
    if node is None or node in ([], {}):
        return None
    if isinstance(node, Mapping | list) and any(isinstance(inner, Mapping | float) for inner in _within(node)):
        return f": {counted(len(node), 'entry', 'entries')}, each with keys of its own"
    if isinstance(node, Mapping):
        return " = " + clean("; ".join(f"{name} {_word(value)}" for name, value in node.items()), 600)
    return f" = {_word(node)}" + ("" if key.startswith("plan.") else " (answered)")


def _within(node: Mapping[str, Any] | list[Any]) -> Iterable[Any]:
    return node.values() if isinstance(node, Mapping) else node


def _label(row: Mapping[str, Any]) -> str:
    """What an entry of an array is called by in a key."""
    named = next((str(row[name]) for name in ("name", "tag", "bank") if name in row), "")
    return named or " ".join(str(row[name]) for name in ("carries", "to") if name in row)


def _word(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return clean(", ".join(map(str, value)) if isinstance(value, list) else str(value), 300)


def why_text(figure: Figure) -> str:
    """The tree of one figure; a branch that was printed before is named, with "see above". The rules it cites stand below."""
    cites = (text for _, part in figure.tree() for text in (part.note, part.source))
    return "\n".join([*_lines(figure), *rule_lines(cites)]) + "\n"


def _lines(figure: Figure) -> Iterator[str]:
    seen: set[str] = set()
    for depth, part in figure.tree():
        indent = _STEP * min(depth, _DEEPEST)
        head = f"{clean(part.key, 200)} = {part}"
        if part.key in seen and part.of:
            yield from wrapped(f"{head} (see above)", indent, indent + _STEP * 2, WIDTH)
            continue
        seen.add(part.key)
        yield from wrapped(f"{head}{_origin(part)}", indent, indent + _STEP * 2, WIDTH)
        under = indent + _STEP
        if part.how not in ("answered", "assumed", "table", "chosen"):
            yield from wrapped(f"formula: {part.how}", under, under + _STEP, WIDTH)
        if part.of:
            yield from wrapped("with " + "; ".join(f"{clean(inner.key, 120)} = {inner}" for inner in part.of), under, under + _STEP, WIDTH)
        for line in part.note.splitlines():
            yield from wrapped(told(clean(line, 600)), under, under + _STEP, WIDTH)
        if part.how != "answered":
            yield from wrapped(f"source: {told(part.source)}", under, under + _STEP, WIDTH)


def _origin(part: Figure) -> str:
    return {"answered": " (answered)", "assumed": " (assumed)", "table": " (from a table)", "chosen": " (chosen)"}.get(part.how, "")
