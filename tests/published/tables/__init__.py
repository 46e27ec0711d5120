"""Published tables that examples reckon with and no plan reads; the engine's own are found as well."""

from __future__ import annotations

from pathlib import Path

from engine import tables

HERE = Path(__file__).parent


def table(name: str) -> tables.Table:
    """A table of the engine, or one of this folder."""
    return tables.table(name) if name in tables.names() else tables.table(name, HERE)
