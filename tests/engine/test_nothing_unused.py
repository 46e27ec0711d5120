"""Every formula runs in a plan and every table is read by one, but for those that are named here with their reason."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

# What plans will need next, and no plan has yet. Whoever brings one into a plan takes it off this list.
FORMULAS_TO_COME = {
    "battery.compensated_voltage": "the charging voltage of lead-acid at the temperature of its room",
    "bus.longest_stub": "how long a stub of the data bus may be",
    "bus.shared_tap": "how long stubs from one box may be",
    "bus.terminated_resistance": "what the data pair reads with a terminator missing or one too many",
    "bus.terminators_read": "how many terminators a reading speaks of",
    "phasors.rotation": "the sense of rotation that a phase-sequence meter must show",
    "phasors.star_point_voltage": "where the star point goes when the neutral is lost",
    "phasors.open_neutral_voltage": "what the loads of a phase get when the neutral is lost",
    "verification.first_current": "pre-charge: the first current",
    "verification.time_constant": "pre-charge: how fast it goes",
    "verification.charged_share": "pre-charge: how far it is after a time",
    "verification.charging_time": "pre-charge: how long to wait",
    "verification.stored_energy": "pre-charge: what the resistor takes",
}
TABLES_TO_COME = {
    "can_standard": "stubs of a CAN bus by the standard",
    "rs485_limits": "stubs of an RS-485 bus",
    "safe_work_steps": "the steps that may not be left out of the order of work",
    "test_order": "the tests that a standard asks for, in its order",
}


@pytest.fixture(scope="module")
def found() -> dict[str, set[str]]:
    done = subprocess.run([sys.executable, "-m", "tests.engine.touched"], cwd=ROOT, capture_output=True, text=True, check=True, env={"PYTHONPATH": str(ROOT)})
    return {name: set(those) for name, those in json.loads(done.stdout).items()}


def test_every_formula_runs_in_a_plan(found: dict[str, set[str]]) -> None:
    assert len(found["formulas"]) > 120
    assert found["formulas"] - found["ran"] == set(FORMULAS_TO_COME)


def test_every_table_is_read_by_a_plan(found: dict[str, set[str]]) -> None:
    assert len(found["tables"]) > 60
    assert found["tables"] - found["read"] == set(TABLES_TO_COME)


def test_what_runs_and_is_read_exists(found: dict[str, set[str]]) -> None:
    """The watcher sees the engine's own: nothing ran or was read that is not among all there are."""
    assert found["ran"] < found["formulas"]
    assert found["read"] < found["tables"]
