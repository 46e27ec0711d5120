"""Busbars with the amperes they must carry, and their covers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engine.facts import Facts
from engine.formulas.battery import greater_current
from engine.formulas.protection import summed_ratings
from engine.stages.bill.part import Line
from engine.stages.circuits import INCOMING_BOARD, LOAD_BOARD, Circuits, Ends, lines_of
from engine.stages.conductors.part import Conductors
from engine.stages.phases.part import Phases
from engine.stages.storage.part import Storage
from engine.text import counted
from engine.workings import Figure, work

_AC = ("load", "incoming")
_BOARDS = ("load-board", "incoming-board")


def bars(facts: Facts, circuits: Circuits, conductors: Conductors, phases: Phases, storage: Storage) -> tuple[list[Line], list[Figure]]:
    """Two per battery bar, one per line and neutral of a board that gathers several units, each with a cover; one of each board for earths, and
    the earth bar, which anybody may touch.
    """
    lines: list[Line] = []
    figures: list[Figure] = []
    for place in dict.fromkeys(place for ends in circuits.circuits for place in (ends.start, ends.end)):
        for pole, current in _poles(facts, circuits, conductors, phases, storage, place):
            if pole == "PE":
                lines.append(Line("busbar", f"PE, {_section(circuits, conductors, place)}", 1, 0, False, (place,)))
                continue
            lines.append(Line("busbar", f"{pole}, {f'{current} or more' if current else 'amperes not computed'}", 1, 0, False, (place,)))
            lines.append(Line("busbar cover", "touch-proof", 1, 0, False, (place,)))
            figures += [current] if current else []
    return lines, figures


def _poles(
    facts: Facts, circuits: Circuits, conductors: Conductors, phases: Phases, storage: Storage, place: str
) -> Iterator[tuple[str, Figure | None]]:
    """The bars of one place, each with the current it must carry."""
    what = circuits.spots[place].what
    if what == "bar":
        current = _both_ways(circuits, conductors, place)
        yield from (("plus", current), ("minus", current))
    elif what == "bank" and _gathers(facts, storage, place):
        fed = [ends for ends in circuits.circuits if ends.kind == "battery" and ends.start == place]
        current = _sum(conductors, fed, f"plan.bill.busbar[{place}]")
        yield from (("plus", current), ("minus", current))
    elif common := [ends for ends in circuits.circuits if ends.common and ends.kind in _AC and place in (ends.start, ends.end)]:
        lines = {line: _fed(circuits, conductors, common[0], line) for line in lines_of(facts, common[0])}
        yield from lines.items()
        yield "N", _neutral(common[0], list(lines.values()), phases)
    if what in (*_BOARDS, "earth-bar"):
        yield "PE", None


def _gathers(facts: Facts, storage: Storage, bank: str) -> bool:
    """Whether the strings of a bank meet on bars of its own."""
    sums = storage.of(bank)
    return facts.strings_in_parallel > 1 and (sums.feed if sums else facts.feed) == "bar"


def _both_ways(circuits: Circuits, conductors: Conductors, place: str) -> Figure | None:
    """A battery bar is fed by its bank and, while charging, by every unit: the larger sum of device ratings (T9)."""
    battery = [ends for ends in circuits.circuits if ends.kind == "battery"]
    sides = ([ends for ends in battery if ends.end == place], [ends for ends in battery if ends.start == place])
    sums = [
        _sum(conductors, side, f"plan.bill.busbar[{place} {word}]") for side, word in zip(sides, ("from bank", "from units"), strict=True)
    ]
    known = [current for current in sums if current]
    return work(f"plan.bill.busbar[{place}]", greater_current, currents=known) if len(known) == len(sums) else None


def _fed(circuits: Circuits, conductors: Conductors, common: Ends, line: str) -> Figure | None:
    """A line of the load board is fed by the units of that phase, one of the incoming board by the breaker ahead (T9)."""
    feeding = [common] if common.kind == "incoming" else [ends for ends in circuits.of("load", common=False) if ends.phase == line]
    return _sum(conductors, feeding, f"plan.bill.busbar[{common.start} {line}]")


def _neutral(common: Ends, lines: Sequence[Figure | None], phases: Phases) -> Figure | None:
    """As much as the busiest line, or more where harmonics ask for more (T10)."""
    known = [line for line in lines if line]
    if not known or len(known) < len(lines):
        return None
    planned = [phases.neutral] if phases.neutral and common.kind == "load" else []
    return work(f"plan.bill.busbar[{common.start} N]", greater_current, currents=[*known, *planned])


def _sum(conductors: Conductors, feeding: Sequence[Ends], key: str) -> Figure | None:
    sizings = [conductors.of.get(ends.name) for ends in feeding]
    ratings = [sizing.device.rating for sizing in sizings if sizing and sizing.device and sizing.device.rating]
    return work(key, summed_ratings, ratings=ratings) if ratings and len(ratings) == len(feeding) else None


def _section(circuits: Circuits, conductors: Conductors, place: str) -> str:
    """A bar of earths is bought by its section and its screws, one of them for the surge device of a board."""
    earths = [ends for ends in circuits.circuits if ends.kind in (*_AC, "earth") and place in (ends.start, ends.end)]
    sizings = [(ends, sizing) for ends in earths if (sizing := conductors.of.get(ends.name))]
    found = [size for ends, sizing in sizings if (size := sizing.conductor if ends.kind == "earth" else sizing.earth)]
    largest = max(found, key=lambda size: size.area, default=None)
    screws = len(earths) + (place in (LOAD_BOARD, INCOMING_BOARD))
    return f"{counted(screws, 'conductor')}, section of {f'{largest} or more' if largest else 'the largest of them (not computed)'}"
