"""What is stuck on the things of a site, by its rule book."""

from __future__ import annotations

from collections.abc import Iterator

from engine.frozen import dataclass
from engine.tables import table

_PARTED = "|"


@dataclass(frozen=True)
class Wanted:
    """One label of the table: one for `each` thing of a kind; `clause` asks for it, `seen` whether that was seen ("found") or is from "memory", None
    where no clause does; in its lines what stands in {} is the plan's, or room to write in.
    """

    name: str
    each: str
    across: int
    clause: str
    seen: str | None
    where: str
    lines: tuple[str, ...]


def wanted(rules: str) -> Iterator[Wanted]:
    """The labels of a rule book, in the order of the table."""
    for row in table("labels").rows:
        if row["rules"] in (rules, None):
            across = row["across"]
            assert isinstance(across, float)
            seen = row["seen"]
            assert seen is None or isinstance(seen, str)
            name, each, clause, where, text = (str(row[column]) for column in ("name", "each", "clause", "where", "text"))
            yield Wanted(name, each, int(across), clause, seen, where, tuple(text.split(_PARTED)))
