"""The figures of the conductors that were chosen, each with its working, and the decision as one figure."""

from __future__ import annotations

from collections.abc import Sequence

from engine.formulas import ampacity, drop, protection, resistance
from engine.quantities import shown
from engine.stages.conductors import electric, iec, nec
from engine.stages.conductors.choose import Choice
from engine.stages.conductors.part import Cable, Criterion
from engine.stages.conductors.task import Candidate, Task, Way
from engine.tables import conductors
from engine.tables.conductors import LIMIT
from engine.tables.sizes import Size
from engine.workings import Figure, chosen, tabled, work


def per_metre(key: str, way: Way, size: Size) -> Figure:
    """Resistance of one conductor per metre, in service."""
    told, at = conductors.resistance(size, way.metal, flexible=way.flexible)
    base = tabled(f"{key}.resistance_tabled", told.value, "ohm/m", told.source, f"{size} {way.metal}")
    if way.rules == "nec":
        return base
    metal = conductors.temperature_coefficient(way.metal)
    limit = "70 degC for PVC, 90 degC for XLPE"
    return work(
        f"{key}.resistance",
        resistance.warm_resistance,
        resistance=base,
        coefficient=tabled(f"{key}.coefficient", metal.value, "1/K", metal.source),
        temperature=chosen(f"{key}.conductor_temperature", LIMIT[way.insulation], "K", limit, "IEC 60364-5-52 table 52.1", []),
        reference=chosen(f"{key}.told_at", at, "K", "the temperature that the table is told for", told.source, []),
    )


def pole(task: Task, candidate: Candidate | None, length: Figure | None, measured: Figure | None) -> Figure | None:
    """Resistance of one pole of a circuit: measured, or by its length where it has a conductor."""
    if measured:
        return chosen(f"{task.key}.pole", measured.value / 2, "ohm", "half of what was measured out and back", "S16", [measured])
    if length is None or candidate is None:
        return None
    key = f"{task.key}.pole"
    return work(
        key,
        resistance.conductor_resistance,
        resistance=per_metre(task.key, task.way, candidate.size),
        length=length,
        parallel=candidate.parallel,
    )


def drop_of(task: Task, candidate: Candidate) -> Figure | None:
    """The voltage drop as a share."""
    told = task.dropping
    if told is None:
        return None
    key, share = f"{task.key}.drop_voltage", f"{task.key}.drop"
    if told.measured:
        volts = chosen(
            key,
            told.current.value * told.measured.value,
            "V",
            "u = I R, R measured out and back",
            "Ohm's law",
            [told.current, told.measured],
        )
        return work(share, drop.drop_share, drop=volts, voltage=told.voltage)
    if told.length is None:
        return None
    current, length, many, metre = told.current, told.length, candidate.parallel, per_metre(task.key, task.way, candidate.size)
    if not told.power_factors:
        volts = work(key, drop.drop_dc, current=current, resistance=metre, length=length, parallel=many)
    else:
        ohms, source = electric.reactance()
        formula = drop.drop_three_phase if told.ways == 1 else drop.drop_single_phase
        along = tabled(f"{task.key}.reactance", ohms, "ohm/m", source)
        factor = electric.worst_factor(told, metre.value)
        volts = work(key, formula, current=current, resistance=metre, reactance=along, length=length, power_factor=factor, parallel=many)
    return work(share, drop.drop_share, drop=volts, voltage=told.voltage)


def fault_of(task: Task, candidate: Candidate) -> Figure | None:
    """The clearing fault of a battery circuit."""
    told = task.clearing
    ohms = pole(task, candidate, told.length, told.measured) if told else None
    if told is None or ohms is None:
        return None
    return work(f"{task.key}.fault_clearing", protection.fault_current, emf=told.emf, source=told.source, conductor=ohms)


def ahead_of(task: Task, candidate: Candidate) -> Figure | None:
    """Resistance of a bank and its cable to the bar, out and back: the source of what hangs on the bar."""
    told = task.clearing
    ohms = pole(task, candidate, told.length, told.measured) if told else None
    if told is None or ohms is None:
        return None
    return work(f"{task.key}.resistance_to_bar", resistance.series_resistance, resistances=[told.source, ohms, ohms])


def ampacity_of(task: Task, candidate: Candidate) -> Figure:
    """What the pole carries where it lies."""
    if task.rules == "iec":
        found, lying = iec.readings(task, candidate), f"{task.grouped * candidate.parallel} circuits together"
    else:
        found, lying = nec.readings(task, candidate), f"{nec.counted(task, candidate)} current-carrying conductors together"
    assert found is not None  # it was chosen by these readings
    base, air, company = found
    key, what = task.key, f"{candidate.size} {task.metal}, {task.insulation}, method {task.method}"
    return work(
        f"{key}.ampacity",
        ampacity.derated_ampacity,
        table=tabled(f"{key}.ampacity_tabled", base.value, "A", base.source, what),
        ambient=tabled(f"{key}.ambient_factor", air.value, "ratio", air.source, f"at {task.ambient}"),
        grouping=tabled(f"{key}.grouping_factor", company.value, "ratio", company.source, lying),
        parallel=candidate.parallel,
    )


def why(
    choice: Choice, place: int, governed_by: str, like: str | None, figures: Sequence[Figure | None], cable: Cable
) -> tuple[Figure, tuple[Criterion, ...]]:
    """The decision as one figure: its note holds a line for each criterion, and one for the next smaller size."""
    criteria, smaller = choice.record(place, like)
    candidate = choice.among[place]
    lines = [
        f"{candidate} {cable}, governed by {governed_by}.",
        *(f"{'passes' if c.passed else 'fails'} {c.text}" for c in criteria),
        smaller,
    ]
    book = {"iec": "IEC 60364", "nec": "NFPA 70 (NEC)"}[choice.task.rules]
    found = [figure for figure in figures if figure]
    return chosen(
        f"{choice.task.key}.conductor", candidate.size.area, "m**2", "\n".join(lines), book, found, called(candidate, cable)
    ), criteria


def called(candidate: Candidate, cable: Cable) -> str:
    """What a conductor is called, with its area where that is no part of its name."""
    area, each = shown(candidate.size.area, "m**2"), " each" if candidate.parallel > 1 else ""
    return f"{candidate} {cable.metal}" + ("" if str(candidate) == area else f" ({area}{each})")


def beside(task: Task, candidate: Candidate, why: Figure, *, neutral: bool) -> list[Figure]:
    """What else the plan says of the conductors: how many per pole, and the neutral."""
    many = "the fewest of one size that do all that is asked (S12)"
    found = [chosen(f"{task.key}.parallel", candidate.parallel, "1", many, "IEC 60364-5-52 523.7; NFPA 70 (NEC) 310.10(G)", [why])]
    if neutral:
        alike = "as large as the lines; where harmonics ask for a larger neutral, the lines are made as large"
        found.append(chosen(f"{task.key}.neutral", candidate.size.area, "m**2", alike, "T10", [why], candidate.size.label))
    return found
