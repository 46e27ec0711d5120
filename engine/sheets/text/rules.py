"""The rules that a paper cites, each with its sentence: no number is left to be looked up elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from engine.sheets.text.layout import heading, wrapped
from engine.tables.rules import cited


def rule_lines(sources: Iterable[str]) -> Iterator[str]:
    """A block with every rule that these texts cite, each once; nothing where they cite none."""
    found = cited("; ".join(sources))
    if found:
        yield ""
        yield heading("RULES CITED")
    for rule in found:
        yield from wrapped(f"{rule.number} {rule.name}", " ", "   ")
        yield from wrapped(rule.text, "   ")
        yield from wrapped(f"Basis: {rule.basis}. Source: {rule.source}.", "   ")
