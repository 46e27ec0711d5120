"""What the count of units and the phases say that a person must read (T10, T12, T17, S21, S22, S26)."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from engine.facts import Facts
from engine.findings import Finding, caution, stop
from engine.quantities import shown
from engine.site.keys import QuantityKey
from engine.solvers.balance import Balance, Rating
from engine.stages.demand import Demand
from engine.stages.phases.count import most_units, split_answered
from engine.stages.phases.landing import landed
from engine.stages.phases.part import PhaseLoad
from engine.stages.phases.sums import PhaseSums
from engine.tables import table
from engine.tables.bounds import bounds
from engine.text import counted
from engine.workings import Figure

_LOW_LAND = 1000.0  # m: up to it power electronics keep their rating
_TO_NEUTRAL = (100.0, 110.0, 115.0, 120.0, 127.0, 220.0, 230.0, 240.0, 277.0)  # V: nominal voltages of public supplies
_TO_MID_POINT = tuple(volts for volts in _TO_NEUTRAL if volts < 200)  # of a split-phase one
_NEAR = 0.05  # of a nominal voltage
_SLACK = 1 + 1e-9


def of_answers(facts: Facts) -> Iterator[Finding]:
    """What the answers on units and phases leave open or say against each other."""
    yield from _contradictions(facts)
    yield from _unanswered(facts)
    yield from _thin_air(facts)
    yield from _voltages(facts)


def _contradictions(facts: Facts) -> Iterator[Finding]:
    """What the answers on the count, the arrangement and the unit's limit say against each other."""
    phases, given, arrangement = facts.phases, facts.answers.set, facts.answers.output.arrangement
    if not phases:
        yield stop(
            "arrangement-unanswered",
            "output.arrangement",
            "How many phases the loads need is not answered, so no unit can be given a phase.",
            "Answer single-phase, split-phase or three-phase.",
            "T12",
            unanswered=True,
        )
        return
    split = given.per_phase
    if split and len(split) != len(phases):
        yield stop(
            "per-phase-contradicts-arrangement",
            "set.per_phase",
            f"Units are given for {len(split)} phases, but {arrangement} has {len(phases)}.",
            f"Give {len(phases)} numbers: units on {', '.join(phases)}.",
            "T12",
            value=float(len(split)),
            limit=float(len(phases)),
            unit="1",
        )
        split = None
    if split and given.count is not None and sum(split) != given.count:
        yield stop(
            "count-contradicts-per-phase",
            "set.count",
            f"{counted(given.count, 'unit is', 'units are')} answered, but the phases add up to {sum(split)}.",
            f"Correct one of them; the plan goes on with {sum(split)}.",
            "T12",
            value=float(given.count),
            limit=float(sum(split)),
            unit="1",
        )
    total = sum(split) if split else given.count
    if facts.answers.unit.max_units is None and (total is None or total > 1):
        told = f"the search goes up to {most_units()}" if total is None else f"nobody can say whether {total} may"
        yield caution(
            "max-units-unanswered",
            "unit.max_units",
            f"How many units may act together is not answered: {told}.",
            "Look for it in the manual's part on parallel operation.",
            "T12",
            unanswered=True,
        )


def no_set(facts: Facts) -> Iterator[Finding]:
    """What forbids planning any unit: too few for the phases, none on one of them, more than may act together, more than one plan holds (S36)."""
    split = split_answered(facts)
    total = sum(split) if split else facts.answers.set.count or len(facts.phases)
    about = "set.per_phase" if split else "set.count"
    yield from _too_few(facts, total, split, about)
    yield from _too_many(facts, total, about)


def _too_few(facts: Facts, total: int, split: tuple[int, ...] | None, about: str) -> Iterator[Finding]:
    phases, arrangement = facts.phases, facts.answers.output.arrangement
    least = f"at least {len(phases)}" if len(phases) > 1 else "at least one"
    if total < len(phases):
        yield stop(
            "phase-without-unit",
            about,
            f"{counted(total, 'unit')} cannot make a {arrangement} supply: each phase needs one of its own, so {least}. No unit is planned.",
            f"Plan {counted(len(phases), 'unit')}, or another arrangement. Two legs of a three-phase supply are not split-phase.",
            "T12, S26, S36",
            value=float(total),
            limit=float(len(phases)),
            unit="1",
        )
    elif split and (bare := [phase for phase, units in zip(phases, split, strict=True) if units == 0]):
        yield stop(
            "phase-without-unit",
            about,
            f"No unit feeds {', '.join(bare)}. No unit is planned.",
            f"Put at least one unit on each of {', '.join(phases)}.",
            "T12, S26, S36",
        )


def _too_many(facts: Facts, total: int, about: str) -> Iterator[Finding]:
    allowed, planned = facts.answers.unit.max_units, most_units()
    if allowed is not None and total > allowed:
        yield stop(
            "over-max-units",
            about,
            f"{counted(total, 'unit is', 'units are')} {total - allowed} more than the {allowed} that may act together. No unit is planned.",
            "Choose units of a larger rating, or divide the site into sets that never meet.",
            "T12, S36",
            value=float(total),
            limit=float(allowed),
            unit="1",
        )
    elif total > planned:
        yield stop(
            "over-planned-units",
            about,
            f"{total} units are {total - planned} more than the {planned} that one plan holds. No unit is planned.",
            "Divide the site into sets that never meet, and plan each by itself.",
            f"S36: {bounds().source}",
            value=float(total),
            limit=float(planned),
            unit="1",
        )


def count_unknown() -> Finding:
    """Neither a number of units nor a load that would tell it."""
    return stop(
        "count-unknown",
        "set.count",
        "Neither the number of units nor a load with its power is answered, so no set can be planned.",
        "List the loads with their power, or say how many units there are.",
        "T12",
        unanswered=True,
    )


def _unanswered(facts: Facts) -> Iterator[Finding]:
    ratings: Mapping[QuantityKey, str] = {"unit.real_power": "continuous power", "unit.apparent_power": "continuous apparent power"}
    for key, what in ratings.items():
        if facts.value(key):
            continue
        said = "not answered" if facts.missing(key) else "answered as nothing"
        yield stop(
            "unit-power-unanswered",
            key,
            f"The {what} of a unit is {said}: nobody can say whether the set carries the loads.",
            "It stands on the unit's plate and in its datasheet, continuous, at the hottest the room gets.",
            "S21",
            unanswered=True,
        )


def _thin_air(facts: Facts) -> Iterator[Finding]:
    """Gear that cools itself by air, and breaks arcs in it, is rated for low places."""
    altitude = facts.figure("site.altitude")
    if altitude and altitude.value > _LOW_LAND:
        yield caution(
            "thin-air",
            "site.altitude",
            f"At {altitude} thin air cools less: units are mostly rated up to 1000 m, breakers and fuses up to 2000 m; the plan takes all ratings as they are.",
            "Ask the makers of unit and devices for the derating at this height, and answer the unit's power after it.",
            "IEC 60146-1-1 (1000 m) and IEC 60947-1 (2000 m), from memory",
            value=altitude,
            limit=_LOW_LAND,
        )


def _voltages(facts: Facts) -> Iterator[Finding]:
    """What stands on most plates is the voltage between lines; all is reckoned with the one to neutral."""
    keys: tuple[QuantityKey, ...] = ("output.voltage", "incoming.voltage")
    for key, arrangement in zip(keys, (facts.answers.output.arrangement, facts.answers.incoming.arrangement), strict=True):
        figure = facts.figure(key)
        if figure is None or (key == "incoming.voltage" and facts.incoming_kind == "none"):
            continue
        usual = _TO_MID_POINT if arrangement == "split-phase" else _TO_NEUTRAL
        if _nominal(figure.value, usual):
            continue
        between = 2.0 if arrangement == "split-phase" else 3.0**0.5 if arrangement == "three-phase" else None
        # Where the rule book is IEC 60364 some countries have split phases of 230 V each.
        sure = arrangement != "split-phase" or facts.rules == "nec"
        if between and sure and (meant := _nominal(figure.value / between, usual)):
            yield stop(
                "voltage-between-lines",
                key,
                f"{figure} is the voltage between two lines of a {arrangement} supply; to neutral it has {shown(meant, 'V')}, and every current and reading is reckoned with that.",
                f"Answer {shown(meant, 'V')}, or what the supply has from a line to neutral.",
                "IEC 60038 (from memory)",
                value=figure,
                limit=meant,
            )
        else:
            yield caution(
                "voltage-unusual",
                key,
                f"{figure} from a line to neutral is unusual{f' on a {arrangement} supply' if arrangement else ''}.",
                "Read the plates again: from a line to neutral, not between lines, in volts of alternating current.",
                "IEC 60038 (from memory)",
            )


def _nominal(volts: float, usual: Sequence[float]) -> float | None:
    """The nominal voltage that it is near to, or None."""
    nearest = min(usual, key=lambda nominal: abs(volts - nominal))
    return nearest if abs(volts - nearest) <= _NEAR * nearest else None


def capacity(
    facts: Facts, demand: Demand, on: Sequence[Sequence[int]], sums: PhaseSums, unit: Rating, would_do: Callable[[], Balance | None]
) -> Iterator[Finding]:
    """Findings on what the phases carry with `on` copies of each load; `would_do` finds a larger set that carries it all."""
    running = [row for row in sums.phases if row.units and _short(row, unit, out=0) > 0]
    starting = [row for row in sums.phases if row.surge_limit and row.surge.value > row.surge_limit.value * _SLACK]
    spared = [row for row in sums.phases if unit.spare and row not in running and _spare_missing(row, unit)]
    cure = _cure(would_do()) if running or starting or spared else ""
    for row in running:
        carried, given = _held(row, unit, 0)
        yield stop(
            "phase-overloaded",
            f"plan.phases[{row.phase}].used",
            f"{row.phase} carries {row.real} and {row.apparent}: {row.used} of what its {_units(row.units)} can give, {shown(_short(row, unit, out=0), 'VA')} too much.",
            cure or f"Take {shown(_short(row, unit, out=0), 'VA')} off {row.phase}, or choose units of a larger rating.",
            "S21, S26",
            value=carried,
            limit=given,
        )
    for row in starting:
        yield _start(row, _largest(facts, demand, on, row.phase), cure)
    for row in spared:
        asked, given = _held(row, unit, unit.spare) if _short(row, unit, unit.spare) > 0 else _start_held(row, unit)
        text = f"With {_units(unit.spare)} out, {row.phase} no longer carries its loads: {_missing_told(row, unit)}."
        yield caution(
            "spare-not-met",
            f"plan.phases[{row.phase}].left_one_out",
            text,
            cure or "Take loads off the phase, or plan without spare units.",
            "S22",
            value=asked,
            limit=given,
        )
    if facts.phases and facts.value("unit.surge_power") is None and any(load.start for load in demand.loads):
        yield stop(
            "surge-power-unanswered",
            "unit.surge_power",
            "Motors start on this set, and what a unit gives for a moment is not answered: nobody can say whether they do.",
            "It stands in the datasheet as surge or peak power, with a time.",
            "T17",
            unanswered=True,
        )
    yield from _neutral(facts, sums)
    yield from _unbalance(facts, sums)


def _units(count: int) -> str:
    return "1 unit" if count == 1 else f"{count} units"


def _short(row: PhaseLoad, unit: Rating, out: int) -> float:
    """VA by which a phase is short with some units out; 0 or less where it is not."""
    left = row.units - out
    real = row.real.value - left * unit.real
    short = max(row.apparent.value - left * unit.apparent, real)
    return short if short > 1e-6 * max(unit.real, 1.0) else 0.0


def _spare_missing(row: PhaseLoad, unit: Rating) -> bool:
    """Whether the phase fails with its spare units out, running or starting."""
    return _short(row, unit, unit.spare) > 0 or _start_short(row, unit) > 0


def _start_short(row: PhaseLoad, unit: Rating) -> float:
    """Amperes that starting is short with the spare units out."""
    if row.surge_limit is None:
        return 0.0
    limit = row.surge_limit.value * max(row.units - unit.spare, 0) / row.units
    return max(0.0, row.surge.value - limit * _SLACK)


def _held(row: PhaseLoad, unit: Rating, out: int) -> tuple[Figure, float]:
    """What a phase carries and what its units give with some out: power where that is what they are short of, else apparent power."""
    left = max(row.units - out, 0)
    real = row.real.value - left * unit.real > row.apparent.value - left * unit.apparent
    return (row.real, left * unit.real) if real else (row.apparent, left * unit.apparent)


def _start_held(row: PhaseLoad, unit: Rating) -> tuple[Figure | None, float]:
    """What a phase draws while its motors start, and what its units give then with the spare ones out."""
    return row.surge, row.surge_limit.value * max(row.units - unit.spare, 0) / row.units if row.surge_limit else 0.0


def _missing_told(row: PhaseLoad, unit: Rating) -> str:
    short = _short(row, unit, unit.spare)
    return f"{shown(short, 'VA')} are missing" if short > 0 else f"{shown(_start_short(row, unit), 'A')} are missing while motors start"


def _cure(found: Balance | None) -> str:
    if found is None:
        return ""
    return f"{_units(sum(found.units))} would carry it ({' + '.join(map(str, found.units))} on the phases)."


def _largest(facts: Facts, demand: Demand, on: Sequence[Sequence[int]], phase: str) -> str:
    """Name of the motor of which one copy asks most of a phase while it starts; only those that stand on it."""
    k = facts.phases.index(phase)
    here = [
        (found.start.value, load.name)
        for load, copies in zip(demand.loads, on, strict=True)
        if copies[k] and (found := landed(load, phase, 1, facts.phases)) and found.start
    ]
    return max(here, default=(0.0, ""))[1]


def _start(row: PhaseLoad, largest: str, cure: str) -> Finding:
    """A phase whose motors cannot all start after a black start; names the one that asks for most."""
    assert row.surge_limit is not None
    motor = f" The largest is {largest}." if largest else ""
    over = shown(row.surge.value - row.surge_limit.value, "A")
    soft = (
        "Start the motors one after another by delayed contactors, or give the largest another start and answer its start_multiple: "
        f"{_multiple('soft starter')}, {_multiple('frequency converter')} (times its running current)."
    )
    return stop(
        "start-above-surge",
        f"plan.phases[{row.phase}].surge",
        f"After a black start every motor on {row.phase} starts at once and draws {row.surge}; its {_units(row.units)} can give {row.surge_limit}: {over} too little.{motor}",
        f"{cure} {soft}".strip(),
        "T17, S21, S26",
        value=row.surge,
        limit=row.surge_limit,
    )


def _multiple(method: str) -> str:
    """What a way of starting draws, in times the running current."""
    row = table("start_methods").row("method", method)
    assert row is not None
    return f"{method} {row['least']:g} to {row['most']:g}"


def _neutral(facts: Facts, sums: PhaseSums) -> Iterator[Finding]:
    """T10: a neutral that carries more than a line."""
    if len(facts.phases) < 2:
        return
    line = max(row.current.value for row in sums.phases)
    if sums.third_harmonic > 0.33 * _SLACK:
        yield caution(
            "neutral-harmonics",
            "plan.phases[L1].neutral_current",
            f"The loads' third harmonic is {sums.third_harmonic:.0%} of their current, above 33 %: the neutral carries {sums.neutral} and decides the cable.",
            "Size the common neutral for its own current; never fuse it, never make it smaller than the lines.",
            "T10: IEC 60364-5-52 annex E",
            value=sums.third_harmonic,
            limit=0.33,
            unit="ratio",
            where=(),
        )
    elif sums.neutral.value > line * _SLACK:
        yield caution(
            "neutral-above-line",
            "plan.phases[L1].neutral_current",
            f"The neutral carries {sums.neutral}, more than any line ({shown(line, 'A')}).",
            "Size the common neutral for its own current, or move loads of a low power factor to another phase.",
            "T10",
            value=sums.neutral,
            limit=line,
            where=(),
        )


def _unbalance(facts: Facts, sums: PhaseSums) -> Iterator[Finding]:
    """A generator's phases are kept alike."""
    if facts.answers.incoming.kind == "generator" and sums.unbalance and len(facts.phases) == 3 and sums.unbalance.value > 0.10 * _SLACK:
        yield caution(
            "generator-unbalanced",
            "plan.unbalance",
            f"The phases differ from their mean by up to {sums.unbalance}; a generator wants at most 10 %.",
            "Let the plan choose the phase of more loads (phase = any), or move some.",
            "US Army engineer lesson EN0389: phases of a generator balanced within 10 %",
            value=sums.unbalance,
            limit=0.10,
        )
