"""One grammar of keys for the whole file: `unit.real_power`, `loads[Pump].power`, `plan.circuits[battery L1-1].drop`."""

from __future__ import annotations

from collections.abc import Iterable

from engine.text import clean


def labelled(table: str, labels: Iterable[str | None]) -> list[str]:
    """The keys of an array's entries, by label; a label that comes again, or is missing, is numbered."""
    keys: list[str] = []
    for place, label in enumerate(labels, 1):
        text = clean(label or "", 60).replace("[", "(").replace("]", ")")
        key = f"{table}[{text}]" if text else f"{table}[#{place}]"
        keys.append(key if key not in keys else f"{table}[{text} #{place}]")
    return keys
