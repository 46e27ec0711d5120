"""Every circuit of the site: what it joins, and its name (S15); and whether every route leads to one of them (S16)."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from typing import Literal

from engine.facts import CIRCUIT_KINDS, Assumed, Facts
from engine.findings import Finding, caution, stop
from engine.frozen import dataclass
from engine.site.wall import Carries, Route
from engine.stages.banks import BankPlace, Banks
from engine.stages.units import Units
from engine.text import clean, listed

Kind = Literal["unit", "bank", "bar", "load-board", "incoming-board", "solar-isolator", "earth-bar"]
LOAD_BOARD, INCOMING_BOARD, SOLAR_ISOLATOR, EARTH_BAR = "load board", "incoming board", "solar isolator", "earth bar"
_FIXED: Mapping[str, Kind] = {
    LOAD_BOARD: "load-board",
    INCOMING_BOARD: "incoming-board",
    SOLAR_ISOLATOR: "solar-isolator",
    EARTH_BAR: "earth-bar",
}


@dataclass(frozen=True)
class Spot:
    """What circuits join: its name, what it is in the file's words, and of a bar the bank that it hangs beside."""

    name: str
    what: Kind
    bank: str | None = None


@dataclass(frozen=True)
class Ends:
    """One circuit: its name, what it carries, the two places it joins (the source first) and what it belongs to.

    `poles` counts its live conductors, neutral included; `units` are the tags it serves; `common` is true where
    it serves the whole set or bank. An earth circuit of the set joins a board to the earth bar; one of a bank goes to its case or its
    bar's, or is the `bond` of its earthed pole.
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
    """Every circuit, in the order in which they are landed: earth, battery, load, solar, incoming.

    `assumed` is what was taken of a kind's routes and is not answered for each circuit of that kind; `spots` are the ends of circuits
    by name, in the same order, then the units that none of them reaches.
    """

    circuits: tuple[Ends, ...]
    assumed: tuple[Assumed, ...] = ()
    spots: Mapping[str, Spot] = field(default_factory=dict)

    def of(self, kind: Carries, *, common: bool) -> tuple[Ends, ...]:
        """The circuits of a kind, either the common ones or those of the units."""
        return tuple(c for c in self.circuits if c.kind == kind and c.common is common)

    def earths(self, bank: str | None) -> tuple[Ends, ...]:
        """The earth conductors of a bank's own cases, or those of the whole set (None); no bonds."""
        return tuple(c for c in self.of("earth", common=True) if c.bank == bank and not c.bond)

    def boards(self) -> Mapping[str, Ends]:
        """The boards that are joined to the earth bar, each with the conductor that does it."""
        ends_of = {(ends.start if ends.end == EARTH_BAR else ends.end): ends for ends in self.earths(None)}
        return {board: ends_of[board] for board in (LOAD_BOARD, INCOMING_BOARD) if board in ends_of}

    def bond(self, bank: str | None) -> Ends | None:
        """The bond of a bank's earthed pole."""
        return next((c for c in self.circuits if c.bond and c.bank == bank), None)

    def phases_of(self, ends: Ends) -> tuple[str, ...]:
        """The phase of each unit that a circuit serves."""
        of = {c.tag: c.phase for c in self.circuits}
        return tuple(phase for tag in ends.units if (phase := of[tag]))

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
    ends = _ends(units, banks, found)
    return Circuits(found, tuple(_assumed(facts, ends)), _spots(units, banks, found)), [
        *_routes(facts, ends),
        *_contradictions(facts, ends),
    ]


def strings_of(facts: Facts) -> int:
    """How many strings a unit has on all its solar inputs."""
    return facts.trackers * facts.strings_on_tracker


def lines_of(facts: Facts, ends: Ends) -> tuple[str, ...]:
    """The line conductors of an AC circuit."""
    if ends.phase:
        return (ends.phase,)
    return facts.incoming_lines if ends.kind == "incoming" else facts.phases


def poles_of(facts: Facts, ends: Ends) -> tuple[str, ...]:
    """The live conductors, by name, of a circuit that is no earth; a neutral last."""
    return ("plus", "minus") if ends.kind in ("battery", "solar") else (*lines_of(facts, ends), "N")


def _spots(units: Units, banks: Banks, circuits: Sequence[Ends]) -> dict[str, Spot]:
    known = {name: Spot(name, what) for name, what in _FIXED.items()}
    known |= {_bar(bank): Spot(_bar(bank), "bar", bank.name) for bank in banks.banks}
    known |= {bank.name: Spot(bank.name, "bank") for bank in banks.banks} | {tag: Spot(tag, "unit") for tag in units.tags}
    names = (*(name for ends in circuits for name in (ends.start, ends.end)), *units.tags)
    return {name: known[name] for name in dict.fromkeys(names)}


def _bar(bank: BankPlace) -> str:
    return f"bar {bank.name}"


def _earth(facts: Facts, units: Units, banks: Banks) -> Iterator[Ends]:
    if units.units:
        supplied = facts.answers.incoming.kind != "none"
        board = INCOMING_BOARD if supplied else LOAD_BOARD
        yield Ends("earth common", "earth", board, EARTH_BAR, 1, common=True, units=units.tags)
        if supplied:
            # A consumer's fault comes back through it: the conductors of the units are no substitute, for one may be taken away.
            yield Ends("earth load-board", "earth", EARTH_BAR, LOAD_BOARD, 1, common=True, units=units.tags)
    for unit in units.units:
        yield Ends(f"earth {unit.tag}", "earth", EARTH_BAR, unit.tag, 1, unit.phase, unit.tag, units=(unit.tag,))
    for bank in banks.banks if facts.earthed_pole else ():
        meets = _bar(bank) if len(bank.units) > 1 else bank.name
        for case in dict.fromkeys((bank.name, meets)):
            yield Ends(f"earth {case}", "earth", EARTH_BAR, case, 1, bank=bank.name, common=True, units=bank.units)
        yield Ends(f"bond {bank.name}", "earth", meets, EARTH_BAR, 1, bank=bank.name, common=True, units=bank.units, bond=True)


def _battery(units: Units, banks: Banks) -> Iterator[Ends]:
    for bank in banks.banks:
        if len(bank.units) > 1:
            yield Ends(f"battery {bank.name}", "battery", bank.name, _bar(bank), 2, bank=bank.name, common=True, units=bank.units)
    for unit in units.units:
        feeding = next((bank for bank in banks.banks if unit.tag in bank.units), None)
        if feeding:
            start = _bar(feeding) if len(feeding.units) > 1 else feeding.name
            yield Ends(f"battery {unit.tag}", "battery", start, unit.tag, 2, unit.phase, unit.tag, feeding.name, units=(unit.tag,))


def _load(facts: Facts, units: Units) -> Iterator[Ends]:
    for unit in units.units:
        yield Ends(f"load {unit.tag}", "load", unit.tag, LOAD_BOARD, 2, unit.phase, unit.tag, units=(unit.tag,))
    if len(units.units) > 1:
        yield Ends("load common", "load", LOAD_BOARD, LOAD_BOARD, len(facts.phases) + 1, common=True, units=units.tags)


def _incoming(facts: Facts, units: Units) -> Iterator[Ends]:
    if facts.answers.incoming.kind == "none":
        return
    if len(units.units) > 1:
        poles = len(facts.incoming_lines) + 1
        yield Ends("incoming common", "incoming", INCOMING_BOARD, INCOMING_BOARD, poles, common=True, units=units.tags)
    for unit in units.units:
        yield Ends(f"incoming {unit.tag}", "incoming", INCOMING_BOARD, unit.tag, 2, unit.phase, unit.tag, units=(unit.tag,))


def _solar(facts: Facts, units: Units) -> Iterator[Ends]:
    if not facts.solar:
        return
    for unit in units.units:
        yield Ends(f"solar {unit.tag}", "solar", SOLAR_ISOLATOR, unit.tag, 2, unit.phase, unit.tag, units=(unit.tag,))


# --- the routes that lead there ---

_ALIKE = 0.6  # likeness from which on a name may be a slip of another
_OF_ALL = ("lane", "containment")  # what is answered for the data cables together


def _ends(units: Units, banks: Banks, circuits: Sequence[Ends]) -> Mapping[Carries, tuple[str, ...]]:
    """What `routes.to` may name, by kind; no kind whose circuits hang on what is not answered yet.

    A data cable is known by the unit further along the chain, or by its bank.
    """
    found = {kind: [ends.to for ends in circuits if ends.kind == kind] for kind in CIRCUIT_KINDS if kind != "battery" or banks.banks}
    joined = {link.bank for link in banks.links}
    found["comms"] = [tag for tag in units.tags if tag != (units.lead or units.tags[0])]
    found["comms"] += [bank.name for bank in banks.banks if bank.name in joined]
    return {kind: tuple(dict.fromkeys(names)) for kind, names in found.items()} if units.units else {}


def _said(route: Route) -> tuple[str, ...]:
    """The names of what an entry says of how cables run."""
    return tuple(name for name in Route.model_fields if name not in ("carries", "to", "note") and getattr(route, name) is not None)


def _assumed(facts: Facts, ends: Mapping[Carries, tuple[str, ...]]) -> Iterator[Assumed]:
    """What a kind needs to have taken, because not each of its circuits has it answered."""
    own = {(r.carries, r.to, name) for _, r in facts.routes for name in _said(r) if r.carries != "comms" or name not in _OF_ALL}
    for (kind, name), told in facts.of_kinds.items():
        if any((kind, end, name) not in own for end in ends.get(kind, ())):
            yield told


def _routes(facts: Facts, ends: Mapping[Carries, tuple[str, ...]]) -> Iterator[Finding]:
    """Entries that say nothing of any circuit."""
    for key, route in facts.routes:
        kind, to, said = route.carries, route.to, _said(route)
        lost = f" What it says ({', '.join(said)}) is used nowhere." if said else ""
        if kind is None:
            text = f"{key} does not say what its cables carry.{lost}"
            yield stop("route-without-kind", f"{key}.carries", text, f"Answer one of: {', '.join(CIRCUIT_KINDS)}.", "S16", unanswered=True)
        elif to is not None and kind in ends and to not in ends[kind]:
            text = f"{key} is for the {kind} circuit to {clean(to, 60)}, and this site has none.{lost}"
            yield stop("route-to-nowhere", f"{key}.to", text, _nearest(to, kind, ends[kind]), "S16")
        elif to is not None and kind == "comms" and (vain := [name for name in _OF_ALL if name in said]):
            text = f"{key} answers {' and '.join(vain)} for one data cable: what is answered for all of them counts."
            yield caution(
                "route-of-all-data", f"{key}.{vain[0]}", text, "Answer it in an entry that carries comms and has no to.", "S16, S19"
            )


def _nearest(to: str, kind: Carries, ends: Sequence[str]) -> str:
    """The cure for a name that no circuit ends at: one that looks like it is named, but none with another number: that is another unit."""
    if not ends:
        return f"Take the entry away: nothing here carries {kind}."
    from difflib import SequenceMatcher  # noqa: PLC0415 - its import is dear, and seldom needed

    likeness = {end: SequenceMatcher(None, to.lower(), end.lower()).ratio() for end in ends if _digits(end) == _digits(to)}
    near = max(likeness, key=lambda end: likeness[end], default="")
    cure = f"Write {near} if that is meant; {kind}" if likeness.get(near, 0.0) >= _ALIKE else kind.capitalize()
    return f"{cure} circuits end at {listed(ends, most=len(ends))}. Without a to it holds for all of them."


def _digits(name: str) -> str:
    return re.sub(r"[^0-9]", "", name)


def _contradictions(facts: Facts, ends: Mapping[Carries, tuple[str, ...]]) -> Iterator[Finding]:
    """Entries of the same reach that say different things of it."""
    reaches: dict[tuple[Carries, str | None, str], list[tuple[str, object]]] = {}
    for key, route in facts.routes:
        if route.carries and route.to in (None, *ends.get(route.carries, ())):
            for name in _said(route):
                reaches.setdefault((route.carries, route.to, name), []).append((f"{key}.{name}", getattr(route, name)))
    for (kind, to, _), answers in reaches.items():
        if len({value for _, value in answers}) > 1:
            told = [f"{key} = {facts.told(figure) if (figure := facts.figures.get(key)) else value}" for key, value in answers]
            reach = f"the {kind} circuit to {clean(to, 60)}" if to else f"every {kind} circuit that has no entry of its own"
            text = f"Different answers for {reach}: {listed(told)}. The last one is taken."
            yield caution("routes-contradict", answers[-1][0], text, "Take one of them away.", "S16")
