"""What every test may use: the sample sites, and a way to plan a small TOML text."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import settings

from engine.files.read import parse
from engine.planner import Planned, plan

# A machine that is busy with something else makes no test wrong.
settings.register_profile("project", deadline=None)
settings.load_profile("project")

ROOT = Path(__file__).parent.parent
SAMPLES = sorted(path.parent.name for path in (ROOT / "sample_sites").glob("*/site.toml"))


def plan_text(text: str) -> Planned:
    """The plan of a site given as TOML."""
    site = parse(text.encode(), "test.toml")
    return plan(site.answers, site.revision)


@pytest.fixture(scope="session")
def sample_text():
    """A function: the answers of one sample site as text."""
    return lambda name: (ROOT / "sample_sites" / name / "site.toml").read_text(encoding="utf-8")


@pytest.fixture
def planned():
    """A function: the plan of a site given as TOML."""
    return plan_text
