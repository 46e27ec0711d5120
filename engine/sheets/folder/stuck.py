"""Which label goes on which thing of this plan, and what stands on it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from engine.frozen import dataclass
from engine.sheets.folder.letters import Run, Words, blank
from engine.site.storage import LEAD_ACID
from engine.stages.circuits import EARTH_BAR, INCOMING_BOARD, LOAD_BOARD, Ends
from engine.stages.switchgear import Gear, GearKind
from engine.tables.labels import Wanted, wanted
from engine.text import clean, listed

if TYPE_CHECKING:
    from engine.planner import Planned
    from engine.workings import Figure

# What stands for a word in {}: a piece of a line, or whole lines.
Value = str | Run | tuple[str, ...]
_ROOM, _DATE = blank(20.0), blank(16.0)


@dataclass(frozen=True)
class Stuck:
    """One label of the table with all its copies: what stands on each, line by line."""

    label: Wanted
    cells: tuple[tuple[Words, ...], ...]


def stuck(planned: Planned) -> Iterator[Stuck]:
    """The labels that this site has a thing for, in the order of the table."""
    for label in wanted(planned.facts.rules):
        cells = tuple(tuple(_lines(label.lines, values)) for values in _THINGS[label.each](planned))
        if cells:
            yield Stuck(label, cells)


def _lines(lines: Sequence[str], values: Mapping[str, Value]) -> Iterator[Words]:
    for line in lines:
        alone = values.get(line[1:-1]) if line.startswith("{") else None
        if isinstance(alone, tuple):
            yield from alone
        else:
            yield tuple(_filled(line, values))


def _filled(line: str, values: Mapping[str, Value]) -> Iterator[str | Run]:
    """A line with its words in {} replaced; never by a format, for what people wrote may look like one."""
    for number, piece in enumerate(re.split(r"\{([a-z ]+)\}", line)):
        value = values[piece] if number % 2 else piece
        if not isinstance(value, tuple) and value != "":
            yield value


def _told(planned: Planned, figure: Figure | None) -> str | Run:
    """A figure of the plan, or room to write it."""
    return planned.facts.told(figure) if figure else blank(14.0)


# --- things of a site, each with what its labels say of it ---


def _units(planned: Planned) -> Iterator[Mapping[str, Value]]:
    parts = planned.parts
    for unit in parts.units.units:
        kinds = [ends.kind for ends in parts.circuits.circuits if ends.tag == unit.tag and ends.kind != "earth"]
        bank = parts.banks.bank_of.get(unit.tag)
        openers = f"its isolators ({listed(list(dict.fromkeys(kinds)))})"
        yield {"tag": unit.tag, "phase": unit.phase, "bank": f"bank {bank}" if bank else "no bank", "openers": openers}


def _circuits(planned: Planned) -> Iterator[Mapping[str, Value]]:
    for ends in planned.parts.circuits.circuits:
        if gear := planned.parts.switchgear.of(ends):
            yield {"circuit": ends.name, "gear": _named(gear), "start": ends.start, "end": _far(ends)}


def _named(gear: Sequence[Gear]) -> str:
    """What sits in a circuit as its label says it: of a fuse the rating alone counts, of an isolator that it is one."""
    return ", ".join(
        _called(one) if one.kind in (GearKind.ISOLATOR, GearKind.RESIDUAL) else f"{_called(one)} {one.rating or ''}".strip() for one in gear
    )


def _called(gear: Gear) -> str:
    """What a device is called where it hangs: that one was there already, or that a family is to be confirmed, is for the planner."""
    return {GearKind.FUSE: "fuse", GearKind.THERE: "breaker"}.get(gear.kind, gear.name)


def _far(ends: Ends) -> str:
    """Where a circuit leads that begins and ends on one board."""
    if ends.start != ends.end:
        return ends.end
    return "consumers" if ends.kind == "load" else "its bars"


def _boards(planned: Planned) -> Iterator[Mapping[str, Value]]:
    for board in (INCOMING_BOARD, LOAD_BOARD):
        if board in planned.parts.circuits.spots:
            rows = tuple(_line(planned, ends) for ends in planned.parts.circuits.circuits if _on(planned, ends, board))
            yield {"board": board, "sources": _sources(planned, board), "circuits": rows, "blank": _ROOM, "date": _DATE}


def _on(planned: Planned, ends: Ends, board: str) -> bool:
    return any(gear.place == board for gear in planned.parts.switchgear.of(ends))


def _line(planned: Planned, ends: Ends) -> str:
    return f"{ends.name}: {_named(planned.parts.switchgear.of(ends))}"


def _sources(planned: Planned, board: str) -> str:
    """The units feed either board; what comes in reaches the load board through them."""
    banks = [bank.name for bank in planned.parts.banks.banks]
    panels = " and panels" if planned.facts.solar else ""
    units = f"the {'unit' if len(planned.parts.units.units) == 1 else 'units'} (banks{panels}: {listed(banks, most=len(banks))})"
    supply = planned.facts.incoming_kind
    if supply == "none":
        return units
    return f"the {supply} and {units}" if board == INCOMING_BOARD else f"{units} and, through them, the {supply}"


def _site(planned: Planned) -> Iterator[Mapping[str, Value]]:
    if planned.parts.circuits.circuits:
        name = clean(planned.facts.answers.site.name or "this site", 60)
        daylight = ", cables of panels stay live in daylight" if planned.facts.solar else ""
        shutdown = tuple(f"{number}. {line}" for number, line in enumerate(_shutdown(planned), 1))
        yield {"site": name, "directory": tuple(_directory(planned)), "shutdown": shutdown, "daylight": daylight, "blank": blank(40.0)}


def _directory(planned: Planned) -> Iterator[str]:
    """Every source, what opens it, and where that is."""
    supply = planned.facts.incoming_kind
    if supply != "none":
        yield f"{supply}: {_opened(planned, _first(planned, 'incoming'))}"
    for bank in planned.parts.banks.banks:
        yield f"bank {bank.name}: {_opened(planned, _of_bank(planned, bank.name))}"
    if solar := planned.parts.circuits.of("solar", common=False):
        yield f"panels: {_opened(planned, solar)}"


def _shutdown(planned: Planned) -> Iterator[str]:
    """What anybody may open who was shown how, loads first; a battery is not: with its data cables in, a unit that loses its minus sends battery
    current through them.
    """
    for told, some in (("Loads", _first(planned, "load")), ("Supply", _first(planned, "incoming"))):
        if some:
            yield f"{told}: open {_opened(planned, some)}."
    yield f"{'Unit' if len(planned.parts.units.units) == 1 else 'Every unit'} off at its own switch."
    if solar := planned.parts.circuits.of("solar", common=False):
        yield f"Panels: open {_opened(planned, solar)}."
    yield "Batteries: only a licensed person, never alone; data cables out first, then the isolators of the units, those of the banks last."


def _first(planned: Planned, kind: str) -> tuple[Ends, ...]:
    """What opens all of a kind at once: the common circuit, or the only unit's."""
    own = [ends for ends in planned.parts.circuits.circuits if ends.kind == kind]
    return tuple(ends for ends in own if ends.common) or tuple(own)


def _of_bank(planned: Planned, bank: str) -> tuple[Ends, ...]:
    """What opens a bank: its own circuit, or those of the units on it."""
    own = [ends for ends in planned.parts.circuits.circuits if ends.kind == "battery" and ends.bank == bank]
    return tuple(ends for ends in own if ends.common) or tuple(own)


def _opened(planned: Planned, some: Sequence[Ends]) -> str:
    """What opens some circuits, and where; not computed without them."""
    gear = [(ends, one) for ends in some if (one := planned.parts.switchgear.opening(ends))]
    if not gear:
        return "what opens it is not computed"
    places = list(dict.fromkeys(one.place for _, one in gear))
    names = [ends.name for ends, _ in gear]
    return f"{_called(gear[0][1])} of {listed(names, most=len(names))} at {listed(places, most=len(places))}"


def _service(planned: Planned) -> Iterator[Mapping[str, Value]]:
    if planned.facts.incoming_kind == "utility":
        fault = _told(planned, planned.facts.figure("incoming.prospective_fault"))
        yield {"incoming fault": fault, "date": _DATE, "blank": _ROOM}


def _bank(planned: Planned, bank: str | None) -> Mapping[str, Value]:
    """Its highest voltage, cold if that is higher, and the fault that its devices must break."""
    sums = planned.parts.storage.of(bank)
    highest = [figure for figure in ((sums.emf_full, sums.absorption_cold) if sums else ()) if figure]
    return {
        "bank": f"bank {bank}",
        "nominal": _told(planned, planned.parts.storage.system_voltage),
        "volts": _told(planned, max(highest, key=lambda figure: figure.value, default=None)),
        "fault": _told(planned, sums.fault_breaking if sums else None),
        "blank": _ROOM,
        "date": _DATE,
    }


def _banks(planned: Planned) -> Iterator[Mapping[str, Value]]:
    yield from (_bank(planned, bank.name) for bank in planned.parts.banks.banks)


def _acid(planned: Planned) -> Iterator[Mapping[str, Value]]:
    if planned.facts.answers.storage.chemistry in LEAD_ACID:
        yield from _banks(planned)


def _lithium(planned: Planned) -> Iterator[Mapping[str, Value]]:
    if planned.facts.answers.storage.chemistry in ("lfp", "nmc"):
        yield from _banks(planned)


def _batteries(planned: Planned) -> Iterator[Mapping[str, Value]]:
    """Every isolator of a battery, at the fault of its bank: what cables take from that is left to nobody's luck."""
    for ends in planned.parts.circuits.circuits:
        if ends.kind == "battery":
            yield {"circuit": ends.name, **_bank(planned, ends.bank)}


def _solar(planned: Planned) -> Iterator[Mapping[str, Value]]:
    volts = _told(planned, planned.parts.strings.cold_voc)
    for ends in planned.parts.circuits.of("solar", common=False):
        yield {"circuit": ends.name, "end": ends.end, "string volts": volts}


def _array(planned: Planned) -> Iterator[Mapping[str, Value]]:
    if planned.parts.circuits.of("solar", common=False):
        yield {"blank": _ROOM}


def _residual(planned: Planned) -> Iterator[Mapping[str, Value]]:
    for ends in planned.parts.circuits.circuits:
        if planned.parts.switchgear.of(ends, GearKind.RESIDUAL):
            yield {"circuit": ends.name, "blank": blank(8.0)}


def _bond(planned: Planned) -> Iterator[Mapping[str, Value]]:
    if gear := planned.parts.switchgear.bond:
        yield {"kind": f"{gear.name}, {gear.place}"}


def _pole_bonds(planned: Planned) -> Iterator[Mapping[str, Value]]:
    for ends in planned.parts.circuits.circuits:
        if ends.bond:
            yield {"pole": str(planned.facts.earthed_pole).upper(), "start": ends.start}


def _earth(planned: Planned) -> Iterator[Mapping[str, Value]]:
    if EARTH_BAR in planned.parts.circuits.spots:
        yield {}


_THINGS = {
    "unit": _units,
    "circuit": _circuits,
    "board": _boards,
    "site": _site,
    "service": _service,
    "battery": _batteries,
    "bank": _banks,
    "acid bank": _acid,
    "lithium bank": _lithium,
    "solar": _solar,
    "array": _array,
    "residual": _residual,
    "bond": _bond,
    "pole bond": _pole_bonds,
    "earth": _earth,
}
