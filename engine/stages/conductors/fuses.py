"""Which direct-current fuse families do for a bank (T4)."""

from __future__ import annotations

from engine.facts import Facts
from engine.frozen import dataclass
from engine.quantities import shown
from engine.stages.storage.part import BankSums
from engine.tables.protection import breaking_capacity, dc_families
from engine.tables.ratings import FUSE


@dataclass(frozen=True)
class Families:
    """What a bank's fuse must break at which voltage, the families that surely do, and those whose maker must say so."""

    need: str
    sure: tuple[str, ...]
    some: tuple[str, ...]


def families(facts: Facts, bank: BankSums | None) -> Families | None:
    """Held against the breaking capacity that is ordered; None where the fault is unknown or above every device."""
    if bank is None or not (bank.emf_full and bank.fault_breaking):
        return None
    ordered = breaking_capacity(bank.fault_breaking.value, facts.rules, FUSE)
    if ordered is None:
        return None
    at = (bank.emf_full.value, ordered.value)
    sure = dc_families(*at, "least", facts.rules)
    some = tuple(family for family in dc_families(*at, "most", facts.rules) if family not in sure)
    need = f"{shown(ordered.value, 'A')} at {bank.emf_full} direct current (the fault is {bank.fault_breaking})"
    return Families(need, sure, some)


def kind(found: Families | None) -> str:
    """What the fuse is called in the plan and on the bill."""
    if found is None:
        return "DC fuse (family to be confirmed)"
    if not (taken := (*found.sure, *found.some)):
        return "DC fuse (no usual family breaks the fault)"
    family = taken[0] if "fuse" in taken[0] else f"fuse {taken[0]}"
    return f"DC {family}{'' if found.sure else ' (CONFIRM)'}"
