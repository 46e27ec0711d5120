"""Every circuit of the site: what it joins, and its name (S15)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from engine.facts import Facts
from engine.findings import Finding
from engine.site.wall import Carries
from engine.stages.banks import Banks
from engine.stages.units import Units

LOAD_BOARD, INCOMING_BOARD, SOLAR_ISOLATOR, EARTH_BAR = "load board", "incoming board", "solar isolator", "earth bar"


@dataclass(frozen=True)
class Ends:
    """One circuit: its name, what it carries, the two places it joins (the source first) and what it belongs to.

    `poles` counts its live conductors, neutral included; `units` are the tags it serves; `common` is true where
    it serves the whole set or bank. An earth circuit of a bank goes to its case or its bar's, or is the `bond` of its earthed pole.
    """

    name: str
    kind: Carries
    start: str
    end: str
    poles: int
    phase: str | None = None
    tag: str | None = None
    bank: str | None = None
    common: bool = False
    units: tuple[str, ...] = ()
    bond: bool = False

    @property
    def key(self) -> str:
        """Its key in the plan."""
        return f"plan.circuits[{self.name}]"

    @property
    def to(self) -> str:
        """What `routes.to` calls it: the unit, the bank or the place (S16)."""
        return self.tag or self.bank or self.end.replace(" ", "-")


@dataclass(frozen=True)
class Circuits:
    """Every circuit, in the order in which they are landed: earth, battery, load, solar, incoming."""

    circuits: tuple[Ends, ...]

    def of(self, kind: Carries, *, common: bool) -> tuple[Ends, ...]:
        """The circuits of a kind, either the common ones or those of the units."""
        return tuple(c for c in self.circuits if c.kind == kind and c.common is common)

    def earths(self, bank: str | None) -> tuple[Ends, ...]:
        """The earth conductors of a bank's own cases, or those of the whole set (None); no bonds."""
        return tuple(c for c in self.of("earth", common=True) if c.bank == bank and not c.bond)

    def bond(self, bank: str | None) -> Ends | None:
        """The bond of a bank's earthed pole."""
        return next((c for c in self.circuits if c.bond and c.bank == bank), None)

    def like(self, ends: Ends) -> tuple[Ends, ...]:
        """The circuits that must be alike with this one, itself included (S18): on one bank, on one phase; none where it stands alone."""
        if ends.common or ends.tag is None or ends.kind not in ("battery", "load", "incoming"):
            return ()
        mark = ends.bank if ends.kind == "battery" else ends.phase
        return tuple(
            c for c in self.of(ends.kind, common=False) if mark is not None and mark == (c.bank if c.kind == "battery" else c.phase)
        )


def circuits(*, facts: Facts, units: Units, banks: Banks) -> tuple[Circuits, list[Finding]]:
    """Name every circuit. A bar exists where a bank feeds several units; a common AC circuit where there are several units; a bond and
    earths of the banks' own cases where one of their poles is earthed (S30).
    """
    found = (*_earth(facts, units, banks), *_battery(units, banks), *_load(facts, units), *_solar(facts, units), *_incoming(facts, units))
    return Circuits(found), []


def _earth(facts: Facts, units: Units, banks: Banks) -> Iterator[Ends]:
    if units.units:
        end = LOAD_BOARD if facts.answers.incoming.kind == "none" else INCOMING_BOARD
        yield Ends("earth common", "earth", end, EARTH_BAR, 1, common=True, units=units.tags)
    for unit in units.units:
        yield Ends(f"earth {unit.tag}", "earth", EARTH_BAR, unit.tag, 1, unit.phase, unit.tag, units=(unit.tag,))
    for bank in banks.banks if facts.earthed_pole else ():
        meets = f"bar {bank.name}" if len(bank.units) > 1 else bank.name
        for case in dict.fromkeys((bank.name, meets)):
            yield Ends(f"earth {case}", "earth", EARTH_BAR, case, 1, bank=bank.name, common=True, units=bank.units)
        yield Ends(f"bond {bank.name}", "earth", meets, EARTH_BAR, 1, bank=bank.name, common=True, units=bank.units, bond=True)


def _battery(units: Units, banks: Banks) -> Iterator[Ends]:
    for bank in banks.banks:
        if len(bank.units) > 1:
            yield Ends(f"battery {bank.name}", "battery", bank.name, f"bar {bank.name}", 2, bank=bank.name, common=True, units=bank.units)
    for unit in units.units:
        feeding = next((bank for bank in banks.banks if unit.tag in bank.units), None)
        if feeding:
            start = f"bar {feeding.name}" if len(feeding.units) > 1 else feeding.name
            yield Ends(f"battery {unit.tag}", "battery", start, unit.tag, 2, unit.phase, unit.tag, feeding.name, units=(unit.tag,))


def _load(facts: Facts, units: Units) -> Iterator[Ends]:
    for unit in units.units:
        yield Ends(f"load {unit.tag}", "load", unit.tag, LOAD_BOARD, 2, unit.phase, unit.tag, units=(unit.tag,))
    if len(units.units) > 1:
        yield Ends("load common", "load", LOAD_BOARD, LOAD_BOARD, len(facts.phases) + 1, common=True, units=units.tags)


def _incoming(facts: Facts, units: Units) -> Iterator[Ends]:
    if facts.answers.incoming.kind == "none":
        return
    lines = {"single-phase": 1, "split-phase": 2, "three-phase": 3}.get(facts.answers.incoming.arrangement or "", len(facts.phases))
    if len(units.units) > 1:
        yield Ends("incoming common", "incoming", INCOMING_BOARD, INCOMING_BOARD, lines + 1, common=True, units=units.tags)
    for unit in units.units:
        yield Ends(f"incoming {unit.tag}", "incoming", INCOMING_BOARD, unit.tag, 2, unit.phase, unit.tag, units=(unit.tag,))


def _solar(facts: Facts, units: Units) -> Iterator[Ends]:
    if not facts.solar:
        return
    for unit in units.units:
        yield Ends(f"solar {unit.tag}", "solar", SOLAR_ISOLATOR, unit.tag, 2, unit.phase, unit.tag, units=(unit.tag,))
