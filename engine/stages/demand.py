"""What each load draws, and what it draws while it starts (S21, S23)."""

from __future__ import annotations

from collections.abc import Iterator

from engine.facts import Facts
from engine.findings import Finding, caution, note, stop
from engine.formulas import energy, motors, phasors
from engine.frozen import dataclass
from engine.quantities import KINDS, read
from engine.site.loads import Load
from engine.tables.machines import machine, source_of
from engine.text import clean
from engine.workings import Figure, chosen, tabled, work

_DAY = 86_400.0  # s
_ROUNDED = 0.05  # of an apparent power: plates give two digits of each


@dataclass(frozen=True)
class LoadDemand:
    """One machine of a load: real and reactive power at the worst moment, apparent power while it starts, third harmonic.

    `power` and `power_factor` are those of the machine as it runs, whatever its share of demand; None where its power is not known.
    `start` is None where it does not start; demand does not reduce it. `real` and `reactive` are None
    where the power is not known, or where the load's phase is not one of the site's. `energy` is a day's.
    """

    key: str
    name: str
    quantity: int
    phase: str
    power: Figure | None
    power_factor: Figure | None
    real: Figure | None
    reactive: Figure | None
    start: Figure | None
    third_harmonic: Figure | None
    energy: Figure | None
    profile: str


@dataclass(frozen=True)
class Demand:
    """The loads in the order of the answers."""

    loads: tuple[LoadDemand, ...]


def demand(*, facts: Facts) -> tuple[Demand, list[Finding]]:
    """Powers of one machine of each load."""
    pairs = list(zip(facts.load_keys, facts.answers.loads, strict=True))
    loads = tuple(_load(facts, key, load) for key, load in pairs)
    of_loads = (finding for (key, load), found in zip(pairs, loads, strict=True) for finding in _findings(facts, key, load, found))
    return Demand(loads), [*_none(facts), *of_loads]


def _load(facts: Facts, key: str, load: Load) -> LoadDemand:
    phase = load.phase
    assert phase and load.quantity and load.profile  # rows of the assumptions see to it
    power, power_factor, apparent = _running(facts, key) or (None, None, None)
    share = facts.load(key, "demand")
    real = reactive = start = None
    if power and power_factor and apparent and share and _stands(facts, phase):
        plan = f"plan.{key}"
        real = work(f"{plan}.real_power", phasors.counted_power, power=power, demand=share)
        reactive = work(f"{plan}.reactive_power", phasors.reactive_power, power=real, power_factor=power_factor)
        start = _start(facts, key, load, apparent)
    return LoadDemand(
        key,
        clean(load.called or key, 60),
        load.quantity,
        phase,
        power,
        power_factor,
        real,
        reactive,
        start,
        facts.load(key, "third_harmonic"),
        _energy(facts, key, load, power) or _steady(key, real),
        load.profile,
    )


def _running(facts: Facts, key: str) -> tuple[Figure, Figure, Figure] | None:
    """Real power, power factor and apparent power of one machine as it runs, from those of the three that are known; None where no power is.

    Where all three are told and do not agree, the larger power of each kind counts. An apparent power below the real one is none.
    """
    power, factor, told = facts.load(key, "power"), facts.load(key, "power_factor"), facts.load(key, "apparent_power")
    plan = f"plan.{key}"
    if power is None:
        if told is None or factor is None:
            return None
        return work(f"{plan}.running_power", phasors.real_power, apparent=told, power_factor=factor), factor, told
    if told is None or power.value > told.value:
        assert factor is not None  # a row of the assumptions sees to it
        return power, factor, work(f"{plan}.apparent_power", phasors.apparent_power, power=power, power_factor=factor)
    if factor:
        real = work(f"{plan}.running_power", phasors.larger_real_power, power=power, apparent=told, power_factor=factor)
        told = work(f"{plan}.apparent_power", phasors.larger_apparent_power, power=power, apparent=told, power_factor=factor)
        power = real
    return power, work(f"{plan}.power_factor", phasors.power_factor, power=power, apparent=told), told


def _start(facts: Facts, key: str, load: Load, apparent: Figure) -> Figure | None:
    """Apparent power while it starts, from all of its power; None where it neither is a motor nor draws more at first."""
    multiple = facts.load(key, "start_multiple")
    if multiple is None or not (load.motor or multiple.value > 1):
        return None
    if multiple.value < 1:
        multiple = chosen(f"plan.{key}.start_multiple", 1.0, "1", "a start draws at least the running current", "safe side", [multiple])
    return work(f"plan.{key}.start", motors.start_power, running=apparent, multiple=multiple)


def _energy(facts: Facts, key: str, load: Load, power: Figure | None) -> Figure | None:
    """A day's energy as answered; else what its machine usually uses, by its power where that is not the usual one."""
    told, found = facts.load(key, "energy"), machine(load.machine) if load.machine else None
    if told is None or told.how != "assumed" or power is None or found is None:
        return told
    usual = tabled(
        f"plan.{key}.usual_power", read(KINDS["power"], found.stands_for["power"]), "W", source_of("power"), f"usual for {found.one}"
    )
    return work(f"plan.{key}.energy", energy.usual_energy, usual=told, usual_power=usual, power=power)


def _steady(key: str, real: Figure | None) -> Figure | None:
    """A day's energy where it is not answered: its power day and night, which is the most it can be."""
    return work(f"plan.{key}.energy", energy.day_energy, power=real, note="not answered: taken as running day and night") if real else None


def _stands(facts: Facts, phase: str) -> bool:
    """Whether every phase the load is on is one of the site's."""
    return phase in ("any", "all") or set(phase.split("-")) <= set(facts.phases)


def _none(facts: Facts) -> Iterator[Finding]:
    """A set that nothing is known to hang on."""
    if not facts.answers.loads:
        yield caution(
            "no-loads",
            "loads",
            "No load is answered: the set is not checked against any; powers of the phases, neutral current, time of the bank and the day say nothing.",
            "List the machines that the set must carry, each with its power.",
            "S21, S25",
        )


def _findings(facts: Facts, key: str, load: Load, found: LoadDemand) -> Iterator[Finding]:
    yield from _of_power(facts, key, found)
    if facts.phases and load.phase and not _stands(facts, load.phase):
        yield stop(
            "load-on-absent-phase",
            f"{key}.phase",
            f"{found.name} is on {load.phase}, but the site has only {', '.join(facts.phases)}.",
            f"Put it on {facts.phases[0]}, or answer any; or correct output.arrangement.",
            "S23",
        )
    yield from _of_energy(facts, key, found)


def _of_power(facts: Facts, key: str, found: LoadDemand) -> Iterator[Finding]:
    """What is missing of a load's power, and what does not agree."""
    power, apparent, factor = facts.load(key, "power"), facts.load(key, "apparent_power"), facts.load(key, "power_factor")
    if found.power is None:
        yield caution(
            "load-power-unanswered",
            f"{key}.power",
            f"The power of {found.name} is not answered: the plan does not count it.",
            "Read it off the plate, or pick the machine from the list.",
            "S21",
            unanswered=True,
        )
    elif power and power.how == "assumed":
        yield caution(
            "load-power-usual",
            f"{key}.power",
            f"The power of {found.name} is not answered: {power} is taken, {power.note}.",
            "Read it off the plate: machines of one kind differ widely.",
            power.source,
        )
    if power and apparent and power.value > apparent.value:
        yield stop(
            "load-power-above-apparent",
            f"{key}.apparent_power",
            f"{found.name} cannot draw {power} of real power and {apparent} of apparent power: the apparent power is never less.",
            "Check both on the plate: kW is real power, kVA apparent power.",
            "definition of apparent power",
            value=power.value,
            limit=apparent.value,
            unit="VA",
        )
    elif power and apparent and factor and abs(power.value - apparent.value * factor.value) > _ROUNDED * apparent.value:
        yield caution(
            "load-powers-contradict",
            f"{key}.power_factor",
            f"{power}, {apparent} and a power factor of {factor} of {found.name} do not agree: the larger of each counts, "
            f"{found.power} at a power factor of {found.power_factor}.",
            "Read the plate again, and leave out the one of the three that is not on it.",
            "definition of the power factor",
            value=power.value / apparent.value,
            limit=factor.value,
            unit="1",
        )


def _of_energy(facts: Facts, key: str, found: LoadDemand) -> Iterator[Finding]:
    """What is missing of a load's use in a day, and what is more than its power gives."""
    told, power = facts.load(key, "energy"), found.power
    if told is None and power and power.value:
        yield note(
            "load-energy-unanswered",
            f"{key}.energy",
            f"What {found.name} uses in a day is not answered: it is taken as running day and night, so the bank's time comes out short.",
            "Answer its energy per day, from a meter or the machine list.",
            "safe side",
        )
    elif told and told.how == "assumed":
        yield note(
            "load-energy-usual",
            f"{key}.energy",
            f"What {found.name} uses in a day is not answered: {found.energy} is taken, {told.note}.",
            "Answer its energy per day, from a meter or from the hours that it runs.",
            told.source,
        )
    elif told and power and told.value > power.value * _DAY * (1 + 1e-9):
        yield caution(
            "load-energy-above-power",
            f"{key}.energy",
            f"{found.name} cannot use so much in a day: {told} is more than its {power} gives in 24 hours.",
            "Check both figures; power is that of one machine, energy too.",
            "definition of energy",
            value=told.value,
            limit=power.value * _DAY,
            unit="J",
        )
