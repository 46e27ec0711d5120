"""Each check of `systems.toml` as a call of our formulas with the check's own constants: check id -> call of its `given`."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.published.system_checks import balance, battery, bus, motors, phasors, sharing, solar, verification

PUBLISHED = tomllib.loads((Path(__file__).parents[1] / "systems.toml").read_text(encoding="utf-8"))
CHECKS: dict[str, dict[str, Any]] = {check["id"]: check for check in PUBLISHED["check"]}
TABLES: dict[str, dict[str, Any]] = {table["id"]: table for table in PUBLISHED["table"]}
OURS: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
    id_: call for module in (balance, battery, bus, motors, phasors, sharing, solar, verification) for id_, call in module.CALLS.items()
}
