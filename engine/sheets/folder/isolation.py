"""Everything that opens, and the order in which it is opened: for the page of emergencies, for the owner, for whoever locks it off."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from engine.frozen import dataclass
from engine.site.wall import Carries
from engine.stages.circuits import Ends
from engine.stages.switchgear import GearKind
from engine.tables.verification import limit
from engine.text import clean, listed

if TYPE_CHECKING:
    from engine.planner import Planned

Who = Literal["anyone shown", "licensed"]
_BY_NAME = 3  # more are counted: their labels say which


@dataclass(frozen=True)
class Isolator:
    """One thing that is opened and locked: its name as on its label, and where it is."""

    name: str
    place: str


@dataclass(frozen=True)
class Act:
    """One thing to do on the way to nothing live: what, where, what stays live behind it, who may."""

    what: str
    where: str
    live: str
    who: Who


def isolators(planned: Planned) -> tuple[Isolator, ...]:
    """Every isolator and breaker that is locked, one for each solar input."""
    return tuple(isolator for ends in planned.parts.circuits.circuits for isolator in _of(planned, ends))


def charging(planned: Planned) -> str:
    """What is opened so that nothing charges a bank; empty where nothing does."""
    told = []
    if planned.facts.incoming_kind != "none":
        told.append(f"the {_opener(planned, 'incoming', common=len(planned.parts.units.tags) != 1)}")
    if planned.facts.solar:
        told.append(f"the {_opener(planned, 'solar', common=False)}s")
    return " and ".join(told)


def _of(planned: Planned, ends: Ends) -> Iterator[Isolator]:
    gear = planned.parts.switchgear.opening(ends)
    if gear is None:
        return
    for number in range(1, gear.count + 1):
        yield Isolator(f"{ends.name}, input {number}" if gear.count > 1 else ends.name, gear.place)


def opening(planned: Planned) -> tuple[Act, ...]:
    """What is opened until nothing is live that can be made dead: what was closed last goes first, and data before a battery's minus."""
    return tuple(_opening(planned))


def _opening(planned: Planned) -> Iterator[Act]:
    facts, circuits = planned.facts, planned.parts.circuits
    tags = planned.parts.units.tags
    several = len(tags) != 1  # of a set that nobody counted there may be many
    yield _loads(planned, several=several)
    if facts.incoming_kind != "none":
        yield _incoming(planned, several=several)
    units = "Units: every one off at its own switch." if several else "Unit: off at its own switch."
    yield Act(units, "at the units" if several else "at the unit", "its terminals, its capacitors", "anyone shown")
    if facts.solar:
        told = f"Solar: open {_named(planned, 'solar', common=False)}."
        yield Act(told, _where(planned, "solar", common=False), "strings up to it, in daylight", "anyone shown")
    if several and tags:
        kinds: tuple[Carries, ...] = ("load", "incoming")
        there = [kind for kind in kinds if circuits.of(kind, common=False)]
        told = " and ".join(_named(planned, kind, common=False) for kind in there)
        where = ", ".join(_where(planned, kind, common=False) for kind in there)
        yield Act(f"Open {told} of the units.", where, "nothing more, once the units are off", "licensed")
    if planned.parts.chain.links or planned.parts.chain.data or not tags:
        what = "Data cables out of every unit and bank, before any battery isolator: without its minus a unit sends battery current through them."
        yield Act(what, "data ports of the units", "-", "licensed")
    yield from _battery(planned)
    yield Act(f"Capacitors: wait five minutes, then measure: {limit('capacitors')}.", "battery terminals of the units", "-", "licensed")


def _loads(planned: Planned, *, several: bool) -> Act:
    live = "the load bar and the units ahead of it" if several else "the unit ahead of it"
    told = _named(planned, "load", common=several)
    return Act(f"Loads: open {told}.", _where(planned, "load", common=several), live, "anyone shown")


def _incoming(planned: Planned, *, several: bool) -> Act:
    kind = planned.facts.incoming_kind
    after = " Stop the generator; its start off, and locked." if kind == "generator" else ""
    told = _named(planned, "incoming", common=several)
    live = f"its {kind} side, unless dead and locked farther up"
    where = _where(planned, "incoming", common=several)
    return Act(f"{kind[0].upper()}{kind[1:]}: open {told}.{after}", where, live, "anyone shown")


def _battery(planned: Planned) -> Iterator[Act]:
    """Units first, then their banks; a managed bank is switched off besides."""
    banks = planned.parts.banks.banks
    posts = f"the posts of {listed([bank.name for bank in banks], 12)}" if banks else "the posts of every bank"
    off = " Switch every bank off." if planned.facts.answers.storage.managed else ""
    common = planned.parts.circuits.of("battery", common=True)
    behind = "the bars, the capacitors of the units" if common else f"{posts} and up to their fuses, always; the capacitors"
    own = _named(planned, "battery", common=False)
    yield Act(f"Battery: open {own}.{'' if common else off}", _where(planned, "battery", common=False), behind, "licensed")
    if common:
        told = f"Then open {_named(planned, 'battery', common=True)}.{off}"
        yield Act(told, _where(planned, "battery", common=True), f"{posts} and up to their fuses, always", "licensed")


def _named(planned: Planned, kind: Carries, *, common: bool) -> str:
    """What opens the circuits of a kind: what it is, and the names on its label, or how many they are."""
    found = planned.parts.circuits.of(kind, common=common)
    names = [isolator.name for ends in found for isolator in _of(planned, ends)]
    word = _opener(planned, kind, common=common)
    if not names:
        return f"every {word} there is"
    told = listed(names) if len(names) <= _BY_NAME else f"{len(names)}"
    return f"the {word}{'s' if len(names) > 1 else ''} ({told})"


def _opener(planned: Planned, kind: Carries, *, common: bool) -> str:
    """What people call what opens the circuits of a kind."""
    found = (planned.parts.switchgear.opening(ends) for ends in planned.parts.circuits.of(kind, common=common))
    breaker = any(gear and gear.kind in (GearKind.BREAKER, GearKind.THERE) for gear in found)
    return f"{kind} {'breaker' if breaker else 'isolator'}"


def _where(planned: Planned, kind: Carries, *, common: bool) -> str:
    """The places where those are, each once."""
    found = (planned.parts.switchgear.opening(ends) for ends in planned.parts.circuits.of(kind, common=common))
    places = dict.fromkeys(clean(gear.place, 40) for gear in found if gear)
    return listed(list(places), 12) or "where its label says"
