"""Every formula runs in a plan and every table is read by one or by its proof; what only published examples reckon with stands beside their tests."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

@pytest.fixture(scope="module")
def found() -> dict[str, set[str]]:
    done = subprocess.run([sys.executable, "-m", "tests.engine.touched"], cwd=ROOT, capture_output=True, text=True, check=True, env={"PYTHONPATH": str(ROOT)})
    return {name: set(those) for name, those in json.loads(done.stdout).items()}


def test_every_formula_runs_in_a_plan(found: dict[str, set[str]]) -> None:
    assert len(found["formulas"]) > 120
    assert found["formulas"] - found["ran"] == set()


def test_every_table_is_read_by_a_plan_or_its_proof(found: dict[str, set[str]]) -> None:
    assert len(found["tables"]) > 60
    assert found["tables"] - found["read"] == set()


def test_what_runs_and_is_read_exists(found: dict[str, set[str]]) -> None:
    """The watcher sees the engine's own: nothing ran or was read that is not among all there are."""
    assert found["ran"] <= found["formulas"]
    assert found["read"] <= found["tables"]
