"""A day of 24 hours in the worst month: loads, sun, bank and generator hour by hour (S25)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import fmean

from engine.facts import Facts
from engine.findings import Finding, caution
from engine.formulas import energy, solar
from engine.quantities import shown
from engine.solvers.day import Course, Passed, days, night
from engine.stages.banking.sums import BankSums
from engine.stages.banks import Banks
from engine.stages.demand import Demand
from engine.stages.limits import Limits
from engine.stages.storage import Storage
from engine.stages.strings import Strings
from engine.stages.units import Units
from engine.tables import table
from engine.workings import Figure, assumed, chosen, tabled, work

_DAYS = 14  # so many days tell how often a generator runs
_PERFORMANCE = 0.75


@dataclass(frozen=True)
class Hour:
    """One hour: mean powers, and the state of the busiest bank at its end."""

    hour: int
    load: Figure
    solar: Figure
    generator: Figure
    state: Figure


@dataclass(frozen=True)
class Hours:
    """The day, or nothing where loads or bank are not known. `text` is one line on what it means."""

    hours: tuple[Hour, ...] = ()
    lasts_night: bool | None = None
    generator_hours: Figure | None = None
    text: str = ""


def hours(
    *, facts: Facts, demand: Demand, units: Units, banks: Banks, storage: Storage, strings: Strings, limits: Limits
) -> tuple[Hours, list[Finding]]:
    """Follow the bank whose loads use it up fastest through two weeks of the worst month; the last day is told."""
    bank = _busiest(storage)
    loads = [_load(demand, at) for at in range(24)]
    depth, efficiency = facts.value("storage.depth"), facts.value("unit.efficiency")
    if bank is None or bank.energy is None or bank.daily is None or not depth or not efficiency:
        return Hours(), []
    rise, down = _sunlight(facts)
    sun = [_sun(facts, strings, units, at, rise, down) for at in range(24)]
    whole = sum(figure.value for figure in loads) * 3600
    part = bank.daily.value / whole
    tags = next(place.units for place in banks.banks if place.name == bank.name)
    own = len(tags) / len(units.units)
    course = Course(
        [figure.value * part for figure in loads],
        [figure.value * own for figure in sun],
        bank.energy.value,
        1 - depth,
        _charging(bank, limits, tags),
        _source(facts, limits) * own,
        efficiency,
    )
    passed = days(course, _DAYS)
    rows = _rows(passed[-1], loads, sun, own, bank)
    ran = fmean(sum(p.source > 0 for p in day) for day in passed)
    run = chosen(
        "plan.generator_hours", ran * 3600, "s", f"mean of {_DAYS} days hour by hour", "conservation of energy", [bank.energy, bank.daily]
    )
    empty, missing = night(course, down, rise)
    found = Hours(rows, empty is None, run, _told(facts, bank, empty, ran))
    lacking = fmean(sum(p.missing for p in day) * 3600 for day in passed)
    return found, [*_night(bank, empty, missing, down, rise, depth), *_day(facts, course, lacking), *_sun_unanswered(facts)]


def _busiest(storage: Storage) -> BankSums | None:
    """The bank that its loads use up fastest."""
    known = [bank for bank in storage.banks if bank.energy and bank.daily and bank.energy.value > 0 and bank.daily.value > 0]
    return max(known, key=_rate, default=None)


def _rate(bank: BankSums) -> float:
    return bank.daily.value / bank.energy.value if bank.daily and bank.energy else 0.0


def _load(demand: Demand, at: int) -> Figure:
    """Mean power of all loads in one hour."""
    profiles = table("load_profiles")
    energies, shares = [], []
    for load in demand.loads:
        if load.energy:
            energies.append(work(f"plan.{load.key}.energy_of_all", energy.several_energy, energy=load.energy, count=load.quantity))
            value, column = profiles.rows[at][load.profile], profiles.figures(load.profile)
            assert isinstance(value, float)
            shares.append(tabled(f"plan.profiles[{load.profile}].hour_{at}", value / sum(column), "ratio", profiles.told))
    return work(f"plan.hours[{at}].load", energy.hour_power, energies=energies, shares=shares)


def _sunlight(facts: Facts) -> tuple[int, int]:
    """Sunrise and sunset: a short winter day where the worst month gives little sun."""
    return (8, 16) if (facts.value("solar.sun_hours") or 0.0) <= 4 else (6, 18)


def _sun(facts: Facts, strings: Strings, units: Units, at: int, rise: int, down: int) -> Figure:
    """Mean solar power of all units in one hour."""
    key, sun = f"plan.hours[{at}].solar", facts.figure("solar.sun_hours")
    if strings.power is None or sun is None:
        return chosen(key, 0.0, "W", "no sun counted", "the site's answers", [])
    own = facts.figure("unit.solar.power_max")
    used = work("plan.solar.power_used", solar.used_power, powers=[strings.power, *([own] if own else [])])
    whole = work("plan.solar.power_of_all", solar.array_of_units, power=used, units=len(units.units))
    performance = assumed("plan.solar.performance", _PERFORMANCE, "ratio", "heat, dirt, wiring and charging", "common practice, no source")
    day = work(
        "plan.solar.day_yield", solar.day_yield, power=whole, sun=work("plan.solar.sun", solar.peak_sun, hours=sun), performance=performance
    )
    share = work(f"plan.solar.share_of_hour_{at}", solar.sun_share, hour=at, rise=rise, down=down)
    return work(key, solar.hour_yield, energy=day, share=share)


def _charging(bank: BankSums, limits: Limits, tags: Sequence[str]) -> float:
    """Power that the bank's units charge it with, at its charging voltage."""
    if bank.absorption is None:
        return 0.0
    return bank.absorption.value * sum(figure.value for tag in tags if (figure := limits.charge.get(tag)))


def _source(facts: Facts, limits: Limits) -> float:
    """Power that the incoming side may give the whole set."""
    voltage, total = facts.value("incoming.voltage"), limits.incoming_total
    if voltage is None or total is None:
        return 0.0
    return total.value * voltage * len({tag.split("-")[0] for tag, figure in limits.incoming.items() if figure})


def _rows(day: Sequence[Passed], loads: Sequence[Figure], sun: Sequence[Figure], own: float, bank: BankSums) -> tuple[Hour, ...]:
    """The hours as figures; the state of each follows from the hour before."""
    rows: list[Hour] = []
    for at, passed in enumerate(day):
        before = [rows[-1].state] if rows else []
        given = chosen(
            f"plan.hours[{at}].generator", passed.source / own, "W", "what the incoming side gives in this hour", "conservation of energy"
        )
        note = f"{bank.name} at the end of the hour: sun first, then the bank, then the incoming side"
        state = chosen(
            f"plan.hours[{at}].state", passed.state, "ratio", note, "conservation of energy", [*before, loads[at], sun[at], given]
        )
        rows.append(Hour(at, loads[at], sun[at], given, state))
    return tuple(rows)


def _told(facts: Facts, bank: BankSums, empty: int | None, ran: float) -> str:
    """One line on the night and on the incoming side."""
    night = (
        f"{bank.name}, full at sunset, lasts the night"
        if empty is None
        else f"{bank.name}, full at sunset, is empty by {(empty + 1) % 24:02d}:00"
    )
    source = {"generator": "the generator runs", "utility": "the utility helps"}.get(facts.answers.incoming.kind or "")
    return f"{night}; {source} {ran:.1f} h a day." if source else f"{night}."


def _night(bank: BankSums, empty: int | None, missing: float, down: int, rise: int, depth: float) -> Iterator[Finding]:
    if empty is None or bank.energy is None:
        return
    more = missing / depth / bank.energy.value
    yield caution(
        "empty-before-sunrise",
        f"plan.hours[{empty}].state",
        f"{bank.name}, full at {down:02d}:00, is empty by {(empty + 1) % 24:02d}:00; {shown(missing, 'J')} are missing until {rise:02d}:00.",
        f"A bank larger by {more:.0%}, less use at night, or a generator in the evening.",
        "S25",
    )


def _day(facts: Facts, course: Course, lacking: float) -> Iterator[Finding]:
    """A day that neither sun nor incoming side covers."""
    if lacking < 3600:
        return
    sun, used = sum(course.sun) * 3600, sum(course.loads) * 3600 / course.efficiency
    about = "solar.sun_hours" if facts.solar else "incoming.kind"
    if facts.solar and sun > 0 and course.source <= 0:
        cure = f"About {used / sun:.1f} times as many modules, less use, or a generator."
    elif course.source > 0:
        cure = "A stronger supply or generator, a larger charge limit, or less use."
    else:
        cure = "Plan a generator, a utility supply or solar modules: nothing charges the bank."
    yield caution(
        "day-not-covered",
        about,
        f"In the worst month {shown(lacking, 'J')} a day cannot be given: the loads take {shown(used, 'J')} from the bank, the sun brings {shown(sun, 'J')}.",
        cure,
        "S25",
    )


def _sun_unanswered(facts: Facts) -> Iterator[Finding]:
    if facts.solar and facts.missing("solar.sun_hours"):
        text = "The peak sun hours of the worst month are not answered: the day is reckoned without any sun."
        yield caution(
            "sun-hours-unanswered", "solar.sun_hours", text, "Look them up in a solar atlas for the worst month and your tilt.", "S25"
        )
