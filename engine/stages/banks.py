"""Banks by name, the units on each, and the storage mode that follows (T13, T15)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal

from engine.facts import Assumed, Facts
from engine.findings import Finding, caution, stop
from engine.frozen import dataclass
from engine.stages.units import Units

Mode = Literal["common", "separate"]


@dataclass(frozen=True)
class BankPlace:
    """One bank and the units it feeds."""

    name: str
    units: tuple[str, ...]


@dataclass(frozen=True)
class DataLink:
    """A data cable from a managed bank to a unit."""

    bank: str
    unit: str


@dataclass(frozen=True)
class Banks:
    """Which unit is on which bank. `traced`: by hand, from what is wired, rather than planned.

    `links` are the data cables of managed banks, as answered or, where nobody said, as `assumed`.
    """

    banks: tuple[BankPlace, ...]
    bank_of: Mapping[str, str | None]
    mode: Mode | None
    traced: bool
    links: tuple[DataLink, ...] = ()
    assumed: tuple[Assumed, ...] = ()


def banks(*, facts: Facts, units: Units) -> tuple[Banks, list[Finding]]:
    """Give every unit its bank: as traced, or else as the connection says."""
    storage = facts.answers.storage
    if not units.units:
        return Banks((), {}, None, traced=False), []
    planned = _planned(storage.connection, units)
    traced = bool(storage.wired)
    of: dict[str, str | None] = {tag: storage.wired.get(tag) for tag in units.tags} if traced else dict(planned)
    names = sorted({bank for bank in of.values() if bank}, key=lambda name: int(name[1:]))
    mode: Mode | None = None if not names else "common" if len(names) == 1 else "separate"
    feeding = tuple(BankPlace(n, tuple(t for t in units.tags if of[t] == n)) for n in names)
    answered = tuple(DataLink(link.bank, link.unit) for link in storage.links if link.bank and link.unit)
    proposed = tuple(_proposed(units, bank) for bank in feeding if storage.managed and bank.name not in {link.bank for link in answered})
    placed = Banks(feeding, of, mode, traced, (*answered, *proposed), tuple(_told(link) for link in proposed))
    findings = [*_unanswered(facts), *_wiring(facts, units, placed, planned), *_management(facts, placed)]
    return placed, findings


def _proposed(units: Units, bank: BankPlace) -> DataLink:
    """A bank speaks to the lead where that is on it, else to its first unit."""
    return DataLink(bank.name, units.lead if units.lead in bank.units else bank.units[0])


def _told(link: DataLink) -> Assumed:
    return Assumed(
        f"storage.links[{link.bank}].unit", link.unit, "a managed bank speaks to one of its units", "T15, common practice, no source"
    )


def _planned(connection: str | None, units: Units) -> dict[str, str | None]:
    """The bank of each unit if it is wired as the connection says."""
    if connection == "common-bank":
        return dict.fromkeys(units.tags, "B1")
    if connection == "bank-per-phase":
        phases = list(dict.fromkeys(unit.phase for unit in units.units))
        return {unit.tag: f"B{phases.index(unit.phase) + 1}" for unit in units.units}
    if connection == "bank-per-unit":
        return {tag: f"B{place}" for place, tag in enumerate(units.tags, 1)}
    return dict.fromkeys(units.tags, None)


def _unanswered(facts: Facts) -> Iterator[Finding]:
    storage = facts.answers.storage
    if storage.connection is None and not storage.wired:
        yield stop(
            "connection-unanswered",
            "storage.connection",
            "How the banks meet the units is not answered, so no storage mode can be given. A wrong storage mode destroys equipment.",
            "Trace the battery cables and answer common-bank, bank-per-phase or bank-per-unit.",
            "T13",
            unanswered=True,
        )
    elif not storage.wired:
        yield caution(
            "bank-not-traced",
            "storage.wired",
            "Nobody has traced the battery cables yet: banks and storage modes are planned from the connection. CONFIRM on every sheet.",
            "When the cables hang, trace each unit's pair by hand from terminal to bank and write it under storage.wired.",
            "T13",
        )


def _wiring(facts: Facts, units: Units, placed: Banks, planned: Mapping[str, str | None]) -> Iterator[Finding]:
    """Contradictions between what is wired, what was meant, and what units there are."""
    wired, connection = facts.answers.storage.wired, facts.answers.storage.connection
    if strangers := [tag for tag in wired if tag not in units.tags]:
        yield stop(
            "wired-unknown-unit",
            "storage.wired",
            f"No unit of this set is called {' or '.join(strangers)}, yet storage.wired gives {'it a bank' if len(strangers) == 1 else 'them banks'}.",
            "Correct the tag, or the number of units per phase.",
            "T13",
        )
    for tag in units.tags:
        if placed.traced and placed.bank_of[tag] is None:
            yield stop(
                "unit-without-bank",
                f"storage.wired.{tag}",
                f"Unit {tag} has no bank while others have one.",
                f"Trace the battery cables of {tag} and write its bank under storage.wired; do not energise before.",
                "T13",
            )
    if (
        placed.traced
        and connection
        and _partition(placed.bank_of) != _partition({tag: planned[tag] for tag in units.tags if placed.bank_of[tag]})
    ):
        told = "; ".join(f"{bank.name}: {', '.join(bank.units)}" for bank in placed.banks)
        yield stop(
            "wiring-contradicts-connection",
            "storage.wired",
            f"What is wired ({told}) is not {connection}. The storage mode would be wrong, and a wrong storage mode destroys equipment.",
            "Trace every battery cable again; then correct either the wiring or storage.connection.",
            "T13",
        )


def _partition(of: Mapping[str, str | None]) -> set[frozenset[str]]:
    """Which units share a bank, whatever the banks are called."""
    return {frozenset(tag for tag, bank in of.items() if bank == name) for name in set(of.values()) if name}


def _management(facts: Facts, placed: Banks) -> Iterator[Finding]:
    """Data links of managed banks, and lithium without management (T15)."""
    storage = facts.answers.storage
    if storage.chemistry in ("lfp", "nmc") and not storage.managed:
        yield stop(
            "lithium-unmanaged",
            "storage.managed",
            "A lithium bank without management of its own can be overcharged until it burns. "
            + (
                "Whether this bank has one is not answered."
                if "storage.managed" in {a.key for a in facts.assumed}
                else "This bank is answered to have none."
            ),
            "Use a bank whose management can open its circuit, and answer managed = true.",
            "T15",
        )
    if not storage.managed:
        return
    links: dict[str, list[str]] = {}
    for link in placed.links:
        links.setdefault(link.bank, []).append(link.unit)
    proposed = {taken.key for taken in placed.assumed}
    for bank in placed.banks:
        to = links.pop(bank.name)
        about = f"storage.links[{bank.name}]"
        if f"{about}.unit" in proposed:
            yield caution(
                "bank-without-link",
                about,
                f"Bank {bank.name} is managed, and nobody said which of its units ({', '.join(bank.units)}) its data cable goes to: {to[0]} is planned. CONFIRM.",
                f'See in its manual where it speaks to, and write it down: [[storage.links]] bank = "{bank.name}", unit = "{to[0]}". Without that cable nothing may charge it.',
                "T15, S31",
            )
        elif len(to) > 1:
            yield stop(
                "bank-with-two-links",
                about,
                f"Bank {bank.name} has {len(to)} data links ({', '.join(to)}): two masters on one bank.",
                "Keep exactly one.",
                "T15",
            )
        elif to[0] not in bank.units:
            yield stop(
                "link-to-other-bank",
                about,
                f"The data link of bank {bank.name} goes to {to[0]}, a unit of {placed.bank_of.get(to[0]) or 'no bank'}.",
                f"Move it to one of {', '.join(bank.units)}.",
                "T15",
            )
    for name in links:
        yield stop(
            "link-of-unknown-bank",
            f"storage.links[{name}]",
            f"A data link names bank {name}, which this site does not have.",
            "Correct the bank's name.",
            "T15",
        )
