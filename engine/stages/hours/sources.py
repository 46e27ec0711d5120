"""What the day of one bank is reckoned from: its loads and its sun by the hour, what charges it, what comes in (S25)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from engine.facts import Facts
from engine.formulas import energy, solar
from engine.frozen import dataclass
from engine.solvers.day import Course
from engine.stages.banks import Banks
from engine.stages.demand import Demand
from engine.stages.limits import Limits
from engine.stages.phases.part import Phases
from engine.stages.storage.part import BankSums, Storage
from engine.stages.strings import Strings
from engine.stages.units import Units
from engine.tables import table
from engine.workings import Figure, chosen, tabled, work


@dataclass(frozen=True)
class Sources:
    """What the day of one bank is reckoned from, as figures; `loads` and `sun` by the hour of the clock, `until` as in `Course`."""

    bank: BankSums
    tags: tuple[str, ...]
    loads: tuple[Figure, ...]
    sun: tuple[Figure, ...]
    energy: Figure
    floor: Figure
    charging: Figure
    source: Figure
    efficiency: Figure
    until: Figure

    @property
    def course(self) -> Course:
        """The same as numbers."""
        return Course(
            [figure.value for figure in self.loads],
            [figure.value for figure in self.sun],
            self.energy.value,
            self.floor.value,
            self.charging.value,
            self.source.value,
            self.efficiency.value,
            self.until.value,
        )


@dataclass(frozen=True)
class Daylight:
    """Sunrise and sunset, after midnight."""

    sunrise: Figure
    sunset: Figure

    @property
    def rise(self) -> int:
        """The hour that begins with sunrise."""
        return round(self.sunrise.value / 3600)

    @property
    def down(self) -> int:
        """The hour that begins with sunset."""
        return round(self.sunset.value / 3600)


def busiest(storage: Storage) -> BankSums | None:
    """The bank that its loads use up fastest."""
    known = [bank for bank in storage.banks if bank.energy and bank.daily and bank.energy.value > 0 and bank.daily.value > 0]
    return max(known, key=_rate, default=None)


def _rate(bank: BankSums) -> float:
    return bank.daily.value / bank.energy.value if bank.daily and bank.energy else 0.0


def sources(
    facts: Facts,
    bank: BankSums,
    demand: Demand,
    phases: Phases,
    units: Units,
    banks: Banks,
    strings: Strings,
    limits: Limits,
    daylight: Daylight,
) -> Sources:
    """The figures of one bank's day; depth and efficiency are known."""
    given = facts.have("storage.depth", "unit.efficiency")
    assert bank.energy is not None
    assert given is not None
    tags, key = next(place.units for place in banks.banks if place.name == bank.name), f"plan.banks[{bank.name}]"
    own = _energies(facts, bank.name, demand, phases, units, tags)
    voltage = facts.figure("incoming.voltage") if facts.answers.incoming.kind != "none" else None
    return Sources(
        bank,
        tags,
        tuple(_load(own, at) for at in range(24)),
        tuple(_sun(facts, strings, bank.name, len(tags), at, daylight) for at in range(24)),
        energy=bank.energy,
        floor=work(f"{key}.floor", energy.floor_state, depth=given[0]),
        charging=_fed(f"{key}.charging_power", bank.absorption, limits.charge, tags, "no charging limit is known"),
        source=_fed(f"{key}.incoming_power", voltage, limits.incoming, tags, "nothing comes in, or its limits are not known"),
        efficiency=given[1],
        until=facts.taken("plan.hours.generator_until"),
    )


def _fed(key: str, voltage: Figure | None, limits: Mapping[str, Figure | None], tags: Sequence[str], none: str) -> Figure:
    """Power of the units' limits together; nothing where they are not known."""
    known = [figure for tag in tags if (figure := limits.get(tag))]
    if voltage is None or not known:
        return chosen(key, 0.0, "W", none, "the site's answers")
    return work(key, energy.fed_power, voltage=voltage, currents=known)


def _energies(facts: Facts, bank: str, demand: Demand, phases: Phases, units: Units, tags: Sequence[str]) -> tuple[tuple[str, Figure], ...]:
    """Profile and daily energy of every load, as far as it hangs on the bank's units; units of a phase share its loads."""
    parts = [sum(unit.tag in tags for unit in on) / len(on) if (on := units.on(phase)) else 0.0 for phase in facts.phases]
    found = []
    for load, copies in zip(demand.loads, phases.worth, strict=True):
        worth = [figure for figure in copies if figure]
        shares = [part for part, figure in zip(parts, copies, strict=True) if figure]
        each = sum(figure.value * share for figure, share in zip(worth, shares, strict=True))
        if load.energy and each:
            count = chosen(
                f"plan.{load.key}.copies_on_{bank}",
                each,
                "1",
                f"copies that the units of {bank} feed, in parts",
                "S23, T13",
                [w for w in worth if w.of],
            )
            told = work(f"plan.{load.key}.energy_from_{bank}", energy.weighted_energy, energies=[load.energy], weights=[count])
            found.append((load.profile, told))
    return tuple(found)


def _load(own: Sequence[tuple[str, Figure]], at: int) -> Figure:
    """Mean power of the bank's loads in one hour."""
    profiles, shares = table("load_profiles"), []
    for profile, _ in own:
        value, column = profiles.rows[at][profile], profiles.figures(profile)
        assert isinstance(value, float)
        shares.append(tabled(f"plan.profiles[{profile}].hour_{at}", value / sum(column), "ratio", profiles.told))
    return work(f"plan.hours[{at}].load", energy.hour_power, energies=[figure for _, figure in own], shares=shares)


def _sun(facts: Facts, strings: Strings, bank: str, count: int, at: int, daylight: Daylight) -> Figure:
    """Mean solar power of the bank's units in one hour."""
    key, sun = f"plan.hours[{at}].solar", facts.figure("solar.sun_hours")
    if strings.power is None or sun is None:
        return chosen(key, 0.0, "W", "no sun counted", "the site's answers", [])
    own = facts.figure("unit.solar.power_max")
    used = work("plan.solar.power_used", solar.used_power, powers=[strings.power, *([own] if own else [])])
    whole = work(f"plan.banks[{bank}].solar_power", solar.array_of_units, power=used, units=count)
    peak = work("plan.solar.sun", solar.peak_sun, hours=sun)
    day = work(f"plan.banks[{bank}].solar_yield", solar.day_yield, power=whole, sun=peak, performance=facts.taken("plan.solar.performance"))
    share = work(f"plan.solar.share_of_hour_{at}", solar.sun_share, hour=at, rise=daylight.rise, down=daylight.down)
    return work(key, solar.hour_yield, energy=day, share=share)
