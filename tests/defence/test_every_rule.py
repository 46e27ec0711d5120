"""Every rule of the trade is named by a test in which it decides."""

import ast
import re
from pathlib import Path

from engine.tables.rules import rules

_NUMBER = re.compile(r"\b[TS]\d+\b")


def defended() -> dict[str, list[str]]:
    """Rule -> the tests that name it before the colon of their docstring."""
    found: dict[str, list[str]] = {}
    for path in sorted(Path(__file__).parent.glob("test_*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                head = (ast.get_docstring(node) or "").partition(":")[0]
                for rule in _NUMBER.findall(head):
                    found.setdefault(rule, []).append(f"{path.stem}::{node.name}")
    return found


def test_every_rule_of_the_trade_is_defended() -> None:
    named = defended()
    assert [rule for rule in rules() if rule.startswith("T") and rule not in named] == []
    assert set(named) <= set(rules())
