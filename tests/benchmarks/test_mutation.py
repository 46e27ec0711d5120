"""The runner of mutants judges a small tree of its own: what it must see, what nothing can show, and what nobody reads."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from tests.benchmarks.mutation.cells import of_tables
from tests.benchmarks.mutation.mutants import of_code
from tests.benchmarks.mutation.report import REASONS, reasons

ROOT = Path(__file__).parents[2]

TREE = {
    "engine/__init__.py": "",
    "engine/formulas/__init__.py": "",
    "engine/formulas/size.py": '''
def size(x: float) -> float:
    """How far from zero."""
    return -x if x < 0 else x
''',
    "engine/tables/__init__.py": """
import tomllib
from pathlib import Path
from types import SimpleNamespace as Table

def table(name):
    body = tomllib.loads((Path(__file__).parent / "trees.toml").read_text())[name]
    return Table(name=name, rows=[dict(zip(body["columns"], row)) for row in body["rows"]])
""",
    "engine/tables/trees.toml": """
[trees]
columns = ["tree", "height", "age"]
units = ["text", "m", "1"]
rows = [["oak", 30, 500]]
""",
    "engine/planner.py": """
from functools import cache
from engine.tables import table

@cache
def plan():
    return table("trees").rows[0]["height"]
""",
    # What is remembered from here, while tests are collected, hides from none what it reaches.
    "tests/test_first.py": """
from engine.planner import plan

PLANNED = plan()

def test_planned():
    assert PLANNED
""",
    "tests/test_size.py": """
from engine.formulas.size import size
from engine.planner import plan

def test_size():
    assert (size(-0.5), size(0), size(0.5)) == (0.5, 0, 0.5)

def test_height():
    assert plan() == 30
""",
    "pyproject.toml": "[tool.pytest.ini_options]\naddopts = '--import-mode=importlib'\n",
}


def test_what_is_wrong_is_seen_and_what_is_the_same_is_spared(tmp_path: Path) -> None:
    for name, text in TREE.items():
        (tmp_path / "tree" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "tree" / name).write_text(text)
    call = [sys.executable, "-m", "tests.benchmarks.mutation", "--root", str(tmp_path / "tree"), "--work", str(tmp_path / "work"), "--processes", "1"]
    done = subprocess.run(call, cwd=ROOT, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (1, "")
    lines = (tmp_path / "work" / "verdicts.jsonl").read_text().splitlines()
    killed = {(said["name"][1], said["name"][3]): said["verdict"]["killed"].partition("::")[2] for said in map(json.loads, lines)}
    assert killed == {
        ("size", "return x if x < 0 else x"): "test_size",
        ("size", "return -x if True else x"): "test_size",
        ("size", "return -x if False else x"): "test_size",
        ("size", "return -x if x < 1 else x"): "test_size",
        ("size", "return -x if x <= 0 else x"): "",
        ("trees[oak].height", "36"): "test_height",
        ("trees[oak].height", "24"): "test_height",
    }
    report = (tmp_path / "work" / "report.md").read_text()
    assert "code: 4 of 5 seen" in report
    assert "table cells: 2 of 2 seen" in report
    assert "trees.age: 1 cells" in report


def test_the_list_of_survivors_tells_of_mutants_there_are() -> None:
    """A survivor whose place was changed is judged anew: its old reason is taken off the list."""
    known = reasons(ROOT)
    assert {reason.reason for reason in known.values()} <= set(REASONS)
    assert all(reason.why for reason in known.values())
    assert set(known) <= {mutant.name for mutant in (*of_code(ROOT), *of_tables(ROOT))}
