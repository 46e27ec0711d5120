"""What a single-line drawing writes beside its symbols: ratings, sizes, and the notes that hold what would not fit there."""

from __future__ import annotations

from collections.abc import Iterator

from engine.planner import Planned
from engine.sheets.devices import UNKNOWN, device_notes, letters
from engine.stages.circuits import Ends
from engine.stages.switchgear import Gear, GearKind
from engine.text import clean, counted

_OPENS_FAULT = (GearKind.FUSE, GearKind.BREAKER, GearKind.THERE)
SYMBOL_OF = {
    GearKind.FUSE: "fuse",
    GearKind.ISOLATOR: "isolator",
    GearKind.BREAKER: "breaker",
    GearKind.THERE: "breaker",
    GearKind.RESIDUAL: "residual",
    GearKind.SURGE: "surge",
}


def tag_of(gear: Gear) -> str:
    """Its tag, and how many there are."""
    return f"{gear.tag} x{gear.count}" if gear.count > 1 else gear.tag


def link_symbol(gear: Gear) -> str:
    """A relay or a link."""
    return "relay" if gear.name.endswith("relay") else "link"


class Cables:
    """The cables of a plan by letter, for a size alone is not enough to buy one by."""

    def __init__(self, planned: Planned, unknown: str = UNKNOWN) -> None:
        self._unknown, self._sizings = unknown, planned.parts.conductors.of
        self._letters = letters(planned.plan)

    def size(self, ends: Ends) -> str:
        """What one pole is made of."""
        sizing = self._sizings.get(ends.name)
        if not sizing or not sizing.conductor:
            return self._unknown
        return f"{sizing.parallel}x{sizing.conductor}" if sizing.parallel > 1 else str(sizing.conductor)

    def letter(self, ends: Ends) -> str:
        """The letter of its cable."""
        sizing = self._sizings.get(ends.name)
        return self._letters.get(str(sizing.cable), "") if sizing and sizing.conductor else ""

    def sized(self, ends: Ends) -> str:
        """Size and letter."""
        return " ".join(part for part in (self.size(ends), self.letter(ends)) if part)

    def earth(self, ends: Ends) -> str:
        """The protective conductor that runs with it."""
        sizing = self._sizings.get(ends.name)
        return f"PE {sizing.earth if sizing and sizing.earth else self._unknown}"

    def neutral(self, ends: Ends) -> str:
        """Its neutral, where that is of a size of its own."""
        sizing = self._sizings.get(ends.name)
        return f"N {sizing.neutral}" if sizing and sizing.neutral and sizing.neutral != sizing.conductor else ""

    def told(self) -> Iterator[str]:
        """What each letter stands for."""
        yield from (f"{letter} {cable}" for cable, letter in self._letters.items())


class Named:
    """The words of one sheet; what is not `known` is a sign there that its notes explain, where the words would not fit."""

    def __init__(self, planned: Planned, unknown: str = UNKNOWN) -> None:
        self._planned, self.unknown = planned, unknown
        self.cables = Cables(planned, unknown)

    @property
    def joined(self) -> str:
        """How a bank's modules are joined, in short: "1s 4p" are four rows side by side of one in series."""
        return f"{self._planned.facts.series}s {self._planned.facts.strings_in_parallel}p"

    def rated(self, gear: Gear) -> str:
        """Its rating in short, with a breaker's curve before it and the breaking capacity behind it: "C 40 A 6 kA"."""
        curve = gear.name.removeprefix("breaker curve ") if gear.name.startswith("breaker curve ") else ""
        breaking = str(gear.breaking) if gear.breaking and gear.kind in _OPENS_FAULT else ""
        return " ".join(part for part in (curve, str(gear.rating or self.unknown), breaking) if part)

    def notes(self) -> Iterator[str]:
        """What every sheet says below its drawing, a paragraph each."""
        if self.unknown != UNKNOWN:
            yield f"{self.unknown}: {UNKNOWN}."
        if told := "; ".join(self.cables.told()):
            yield f"Cables: {told}. Sizes: one pole. The same size of another cable may burn."
        yield "; ".join(device_notes(self._planned.plan)) + "."
        yield "; ".join(_sources(self._planned, self.joined)) + "."


def _sources(planned: Planned, joined: str) -> Iterator[str]:
    facts, parts = planned.facts, planned.parts
    unit, solar = facts.answers.unit, facts.answers.solar
    ratings = [str(figure) for key in ("unit.real_power", "unit.apparent_power") if (figure := facts.figure(key))]
    yield f"Units: {', '.join((clean(unit.model or 'model not named', 40), *ratings))}"
    if parts.banks.banks:
        module = facts.figure("storage.module.voltage")
        rows = f"{joined}: {counted(facts.strings_in_parallel, 'row')} of {counted(facts.series, 'module')}"
        known = {sums.name: str(sums.fault_breaking or UNKNOWN) for sums in parts.storage.banks}
        faults = list(dict.fromkeys(known.values()))
        faults = faults if len(faults) == 1 else [f"{name} {told}" for name, told in known.items()]
        yield f"each bank {rows}{f' of {module}' if module else ''}, fault at its posts {', '.join(faults)}"
        if not parts.banks.traced:
            yield "banks planned, not traced: CONFIRM"
        yield "all units on one bank" if parts.banks.mode == "common" else "the banks are apart: never join two of them"
    if facts.earthed_pole:
        yield f"the battery's {facts.earthed_pole} is earthed, at its bond alone"
    if facts.solar:
        panels = counted(solar.series, "panel") if solar.series else "panels (how many is not answered)"
        yield f"each unit has {counted(facts.trackers, 'solar input')} with {counted(facts.strings_on_tracker, 'string')} of {panels}"
    bond = parts.switchgear.bond
    island = f"at {bond.tag} (units alone)" if bond else "nowhere (units alone)"
    incoming = "" if facts.incoming_kind == "none" else f"{parts.earthing.incoming} (supply in), "
    yield f"neutral meets earth {incoming}{island}"


def bond_told(gear: Gear) -> str:
    """The bond of island mode, in words."""
    inside = ", inside the units: nothing to fit" if gear.name == "unit relay" else ""
    made = f" with {gear.conductor}" if gear.conductor else ""
    return f"{gear.tag} bond of output N to PE in island mode: {gear.name}{made}{inside}, at {gear.place}"
