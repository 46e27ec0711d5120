"""Which direct-current fuse families do for a bank (T4)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from engine.facts import Facts
from engine.findings import Finding, caution, note, stop
from engine.quantities import shown
from engine.stages.banking.sums import BankSums
from engine.stages.circuits import Circuits, Ends
from engine.stages.storage import Storage
from engine.tables import table
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


def findings(facts: Facts, circuits: Circuits, storage: Storage) -> Iterator[Finding]:
    """No polarised device in a bank's circuits, and whether a fuse family does for it; banks alike raise one finding."""
    first = {ends.bank: ends for ends in reversed(circuits.circuits) if ends.kind == "battery"}
    banks = [(bank.name, ends) for bank in storage.banks if (ends := first.get(bank.name))]
    if banks:
        text = f"Battery current flows both ways ({_listed([name for name, _ in banks])}): a polarised breaker burns instead of opening, so the plan takes fuses."
        remedy = "A breaker instead must be rated for this DC voltage and marked as not polarised."
        yield note("no-polarised-device", f"{banks[0][1].key}.device", text, remedy, "T4; common practice, no source")
    alike: dict[Families, list[tuple[str, Ends]]] = {}
    for name, ends in banks:
        found = families(facts, storage.of(name))
        if found:
            alike.setdefault(found, []).append((name, ends))
    for found, some in alike.items():
        yield _judged(found, _listed([name for name, _ in some]), f"{some[0][1].key}.device.breaking")


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")


def _judged(found: Families, banks: str, about: str) -> Finding:
    source = table("dc_fuse_families").told
    if found.sure:
        text = f"{banks}: {', '.join(found.sure)} fuses break {found.need}; the plan takes {found.sure[0]}."
        return note(
            "fuse-family", about, text, "Read voltage and breaking capacity in direct current on the fuse before fitting it.", source
        )
    if found.some:
        text = f"{banks}: no fuse family breaks {found.need} for certain; some makes of {', '.join(found.some)} do. The plan takes {found.some[0]}."
        remedy = "Have the maker confirm breaking capacity at that DC voltage and time constant in writing before ordering."
        return caution("fuse-family-to-confirm", about, text, remedy, source)
    text = f"{banks}: no usual fuse family breaks {found.need}, not even at the upper end of what its makers state."
    remedy = "Divide the bank, or measure the modules' resistance and answer it (a stated one is halved): the fault must come down to what a fuse breaks."
    return stop("no-usual-fuse-family", about, text, remedy, source)
