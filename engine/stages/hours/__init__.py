"""24 hours of the worst month from a full bank at sunset: loads, sun, bank and generator hour by hour (S25).

Where a utility comes in, the day is that of an outage: it is then that the bank must carry the loads.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engine.again import again
from engine.facts import Facts
from engine.findings import Finding
from engine.formulas import energy
from engine.quantities import Joule
from engine.solvers.day import Course, Passed, follow
from engine.stages.banks import Banks
from engine.stages.demand import Demand
from engine.stages.hours.checks import day_finding, night_finding, sun_unanswered
from engine.stages.hours.part import Hour, Hours
from engine.stages.hours.sources import Daylight, Sources, busiest, sources
from engine.stages.hours.telling import Drawn, told
from engine.stages.limits import Limits
from engine.stages.phases.part import Phases
from engine.stages.storage.part import BankSums, Storage
from engine.stages.strings import Strings
from engine.stages.units import Units
from engine.workings import chosen, work

_DAYS = 14  # so many days tell how often a generator runs


def hours(
    *,
    facts: Facts,
    demand: Demand,
    phases: Phases,
    units: Units,
    banks: Banks,
    storage: Storage,
    strings: Strings,
    limits: Limits,
) -> tuple[Hours, list[Finding]]:
    """Follow the bank whose loads use it up fastest through 24 hours, and through two weeks for what happens on the whole."""
    bank, depth = busiest(storage), facts.value("storage.depth")
    if bank is None or not depth or not facts.value("unit.efficiency"):
        return Hours(), []
    daylight = Daylight(facts.taken("plan.hours.sunrise"), facts.taken("plan.hours.sunset"))
    found = sources(facts, bank, demand, phases, units, banks, strings, limits, daylight)
    kind, course, down = facts.incoming_kind, found.course, daylight.down
    alone = replace(course, source=0.0)
    drawn = Drawn(kind, down, daylight.rise, follow(course if kind == "generator" else alone, down))
    ran, lacking = again("weeks", _weeks, course=course, down=down)
    note = f"mean of {_DAYS} days hour by hour"
    run = chosen("plan.generator_hours", ran * 3600, "s", note, "conservation of energy", [found.source, found.until])
    day = Hours(
        tuple(_row(found, passed, start=at == 0) for at, passed in enumerate(drawn.passed)),
        lasts_night=drawn.empty(drawn.night) is None and drawn.called(drawn.night) is None,
        generator_hours=run if kind == "generator" else None,
        text=told(found, drawn, ran),
        scope=_scope(bank, found.tags, banks),
        sunrise=daylight.sunrise,
        sunset=daylight.sunset,
    )
    missing = sum(p.missing for p in follow(alone, down, len(drawn.night))) * 3600
    return day, [*night_finding(found, drawn, missing, depth), *day_finding(facts, found, drawn, lacking), *sun_unanswered(facts)]


def _weeks(course: Course, down: int) -> tuple[float, Joule]:
    """Hours in which the source runs, and energy that nobody can give, a day."""
    weeks = follow(course, down, 24 * _DAYS)
    return sum(p.source > 0 for p in weeks) / _DAYS, sum(p.missing for p in weeks) / len(weeks) * 24 * 3600


def _row(found: Sources, passed: Passed, *, start: bool) -> Hour:
    """One hour as figures. The state before it is given by value: its own working is that of the hour before."""
    at, bank = passed.at, found.bank.name
    key, load, sun = f"plan.hours[{at}]", found.loads[at], found.sun[at]
    note = f"{bank} is full at sunset, where the day begins" if start else f"{bank} at the end of hour {(at - 1) % 24}: see why there"
    before = chosen(f"{key}.state_before", passed.before, "ratio", note, "conservation of energy")
    runs = f"from the state below which nothing is taken, until the bank is {found.until} full: what loads and bank take of what comes in"
    given = chosen(
        f"{key}.generator",
        passed.source,
        "W",
        runs if passed.source > 0 else "not needed in this hour, or nothing that comes in is counted",
        "conservation of energy",
        [load, found.source, found.until] if passed.source > 0 else [],
    )
    into = work(f"{key}.into_bank", energy.bank_power, load=load, sun=sun, given=given, efficiency=found.efficiency)
    state = work(
        f"{key}.state", energy.state_after, state=before, power=into, charging=found.charging, energy=found.energy, floor=found.floor
    )
    return Hour(at, load, sun, given, state)


def _scope(bank: BankSums, tags: Sequence[str], banks: Banks) -> str:
    if len(banks.banks) == 1:
        return f"{bank.name} and the units on it"
    return f"{bank.name} alone, used up fastest of {len(banks.banks)} banks, and the units on it: {', '.join(tags)}"
