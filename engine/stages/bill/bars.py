"""Busbars with the amperes they must carry, and what charges the capacitors before an isolator closes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engine.facts import Facts
from engine.formulas.battery import greater_current
from engine.formulas.protection import summed_ratings
from engine.formulas.verification import (
    first_current,
    first_power,
    held_energy,
    pre_charge_resistance,
    settled_time,
    time_constant,
)
from engine.quantities import shown
from engine.stages.bill.part import Line, PreCharge
from engine.stages.circuits import Circuits, Ends, lines_of
from engine.stages.conductors.part import Conductors
from engine.stages.phases.part import Phases
from engine.stages.storage.part import Storage
from engine.tables import table
from engine.text import counted
from engine.workings import Figure, chosen, work

_AC = ("load", "incoming")


def bars(facts: Facts, circuits: Circuits, conductors: Conductors, phases: Phases) -> tuple[list[Line], list[Figure]]:
    """Bars and a cover each: two per battery bar, one per line and neutral of a board that gathers several units, the earth bar."""
    lines: list[Line] = []
    figures: list[Figure] = []
    for place in dict.fromkeys(place for ends in circuits.circuits for place in (ends.start, ends.end)):
        for pole, current in _poles(facts, circuits, conductors, phases, place):
            told = _section(circuits, conductors) if pole == "PE" else f"{current} or more" if current else "amperes not computed"
            lines.append(Line("busbar", f"{pole}, {told}", 1, 0, False, (place,)))
            lines.append(Line("busbar cover", "touch-proof", 1, 0, False, (place,)))
            figures += [current] if current else []
    return lines, figures


def _poles(facts: Facts, circuits: Circuits, conductors: Conductors, phases: Phases, place: str) -> Iterator[tuple[str, Figure | None]]:
    """The bars of one place, each with the current it must carry."""
    what = circuits.spots[place].what
    if what == "earth-bar":
        yield "PE", None
    elif what == "bar":
        current = _both_ways(circuits, conductors, place)
        yield from (("plus", current), ("minus", current))
    elif common := [ends for ends in circuits.circuits if ends.common and ends.kind in _AC and place in (ends.start, ends.end)]:
        lines = {line: _fed(circuits, conductors, common[0], line) for line in lines_of(facts, common[0])}
        yield from lines.items()
        yield "N", _neutral(common[0], list(lines.values()), phases)


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


def _section(circuits: Circuits, conductors: Conductors) -> str:
    """An earth bar is bought by its section and its screws."""
    earths = [ends for ends in circuits.circuits if ends.kind == "earth"]
    found = [sizing.conductor for ends in earths if (sizing := conductors.of.get(ends.name)) and sizing.conductor]
    largest = max(found, key=lambda size: size.area, default=None)
    return f"{counted(len(earths), 'conductor')}, section of {f'{largest} or more' if largest else 'the largest of them (not computed)'}"


def pre_charge(facts: Facts, storage: Storage) -> tuple[Line, PreCharge | None]:
    """One resistor for all units, each charged by itself: the smallest usual one that keeps the first current small."""
    full = [bank.emf_full for bank in storage.banks if bank.emf_full]
    if not full:
        return Line(
            "pre-charge kit",
            "resistor by the bank's voltage (not computed), with clips and cover, and a fused clip lead",
            1,
            0,
            True,
            ("site",),
        ), None
    rule = table("pre_charge").row("item", "kit")
    assert rule is not None
    peak, held = rule["first_current"], rule["held"]
    assert isinstance(peak, float)
    assert isinstance(held, float)
    source = table("pre_charge").told
    highest = max(full, key=lambda figure: figure.value)
    most = chosen("plan.bill.pre_charge.first_current", peak, "A", "small enough for clips and for any unit", source)
    least = work("plan.bill.pre_charge.least_resistance", pre_charge_resistance, voltage=highest, current=most)
    resistance = chosen(
        "plan.bill.pre_charge.resistance",
        _preferred(least.value),
        "ohm",
        f"the next usual value not below {least}",
        "IEC 60063, series E6",
        [least],
    )
    power = work("plan.bill.pre_charge.power", first_power, voltage=highest, resistance=resistance)
    capacitance = facts.figure("unit.dc_capacitance")
    assert capacitance is not None  # a row of the assumptions sees to it
    tau = work("plan.bill.pre_charge.time_constant", time_constant, resistance=resistance, capacitance=capacitance)
    wait = work("plan.bill.pre_charge.time", settled_time, tau=tau)
    noticed = "held on a unit that does not charge, until it is noticed: never before the wait is over"
    time = chosen("plan.bill.pre_charge.held", max(held, wait.value), "s", noticed, source, [wait])
    energy = work("plan.bill.pre_charge.energy", held_energy, power=power, time=time)
    told = (
        f"wire-wound resistor, {resistance}, stands {highest} across it for {time}: {shown(power.value, 'W', 3)}, "
        f"{energy.value:.0f} J (common practice); with clips and cover, and a fused clip lead"
    )
    return Line("pre-charge kit", told, 1, 0, True, ("site",)), PreCharge(
        resistance=resistance,
        current=work("plan.bill.pre_charge.current", first_current, voltage=highest, resistance=resistance),
        energy=energy,
        time=wait,
    )


def _preferred(least: float) -> float:
    """The smallest value of the series that is not below `least`."""
    series = table("pre_charge_series").figures("value")
    decade = 0
    while True:
        for value in series:
            if value * 10**decade >= least * (1 - 1e-9):
                return float(value * 10**decade)
        decade += 1
