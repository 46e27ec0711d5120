"""A figure's working as an indented tree: key, value, formula, source, down to the answers."""

from __future__ import annotations

from collections.abc import Iterator

from engine.sheets.layout import WIDTH, wrapped
from engine.sheets.rules_text import rule_lines
from engine.tables.rules import told
from engine.text import clean
from engine.workings import Figure

_STEP = "  "
_DEEPEST = 12  # beyond it the tree is indented no further, so that lines keep room


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
