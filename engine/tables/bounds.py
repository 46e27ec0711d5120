"""How much of one site a plan takes on."""

from __future__ import annotations

from engine.tables import Table, table


def bounds() -> Table:
    """The table itself, for its source."""
    return table("bounds")


def most(what: str) -> int:
    """The bound of that name."""
    row = bounds().row("what", what)
    assert row is not None and isinstance(row["most"], float)
    return int(row["most"])
