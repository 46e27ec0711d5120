"""The list of branches that no test enters speaks of the code as it is."""

from __future__ import annotations

import ast
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ROWS = tomllib.loads((ROOT / "tests" / "uncovered.toml").read_text(encoding="utf-8"))["branch"]


@pytest.mark.parametrize("row", ROWS, ids=[f"{Path(row['file']).stem}-{row['function']}-{k}" for k, row in enumerate(ROWS)])
def test_the_branch_stands_in_its_function(row: dict[str, str]) -> None:
    text = (ROOT / row["file"]).read_text(encoding="utf-8")
    functions = [node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.FunctionDef) and node.name == row["function"]]
    lines = [line.strip() for node in functions for line in (ast.get_source_segment(text, node) or "").splitlines()]
    assert lines.count(row["branch"]) == 1
    assert len(row["reason"]) > 20
