"""What each load draws, and what it draws while it starts (S21, S23)."""

from __future__ import annotations

from collections.abc import Iterator

from engine.facts import Facts
from engine.findings import Finding, caution, note, stop
from engine.formulas import energy, motors, phasors
from engine.frozen import dataclass
from engine.site.loads import Load
from engine.text import clean
from engine.workings import Figure, chosen, work

_DAY = 86_400.0  # s


@dataclass(frozen=True)
class LoadDemand:
    """One machine of a load: real and reactive power at the worst moment, apparent power while it starts, third harmonic.

    `start` is None where it does not start; demand does not reduce it. `real` and `reactive` are None
    where the power is not answered, or where the load's phase is not one of the site's. `energy` is a day's.
    """

    key: str
    name: str
    quantity: int
    phase: str
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
    return Demand(loads), [*_none(facts), *(finding for key, load in pairs for finding in _findings(facts, key, load))]


def _load(facts: Facts, key: str, load: Load) -> LoadDemand:
    phase = load.phase
    assert phase and load.quantity and load.profile  # rows of the assumptions see to it
    power, power_factor, share = facts.load(key, "power"), facts.load(key, "power_factor"), facts.load(key, "demand")
    real = reactive = start = None
    if power and power_factor and share and _stands(facts, phase):
        plan = f"plan.{key}"
        real = work(f"{plan}.real_power", phasors.counted_power, power=power, demand=share)
        reactive = work(f"{plan}.reactive_power", phasors.reactive_power, power=real, power_factor=power_factor)
        start = _start(facts, key, load, power, power_factor)
    return LoadDemand(
        key,
        clean(load.name or key, 60),
        load.quantity,
        phase,
        real,
        reactive,
        start,
        facts.load(key, "third_harmonic"),
        facts.load(key, "energy") or _steady(key, real),
        load.profile,
    )


def _start(facts: Facts, key: str, load: Load, power: Figure, power_factor: Figure) -> Figure | None:
    """Apparent power while it starts, from all of its power; None where it neither is a motor nor draws more at first."""
    multiple = facts.load(key, "start_multiple")
    if multiple is None or not (load.motor or multiple.value > 1):
        return None
    if multiple.value < 1:
        multiple = chosen(f"plan.{key}.start_multiple", 1.0, "1", "a start draws at least the running current", "safe side", [multiple])
    apparent = work(f"plan.{key}.apparent_power", phasors.apparent_power, power=power, power_factor=power_factor)
    return work(f"plan.{key}.start", motors.start_power, running=apparent, multiple=multiple)


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


def _findings(facts: Facts, key: str, load: Load) -> Iterator[Finding]:
    name = clean(load.name or key, 60)
    if load.power is None:
        yield caution(
            "load-power-unanswered",
            f"{key}.power",
            f"The power of {name} is not answered: the plan does not count it.",
            "Read it off the plate, or pick the machine from the list.",
            "S21",
            unanswered=True,
        )
    if facts.phases and load.phase and not _stands(facts, load.phase):
        yield stop(
            "load-on-absent-phase",
            f"{key}.phase",
            f"{name} is on {load.phase}, but the site has only {', '.join(facts.phases)}.",
            f"Put it on {facts.phases[0]}, or answer any; or correct output.arrangement.",
            "S23",
        )
    if load.energy is None and load.power:
        yield note(
            "load-energy-unanswered",
            f"{key}.energy",
            f"What {name} uses in a day is not answered: it is taken as running day and night, so the bank's time comes out short.",
            "Answer its energy per day, from a meter or the machine list.",
            "safe side",
        )
    if load.energy is not None and load.power is not None and load.energy > load.power * _DAY * (1 + 1e-9):
        yield caution(
            "load-energy-above-power",
            f"{key}.energy",
            f"{name} cannot use so much in a day: {facts.load(key, 'energy')} is more than its {facts.load(key, 'power')} gives in 24 hours.",
            "Check both figures; power is that of one machine, energy too.",
            "definition of energy",
            value=load.energy,
            limit=load.power * _DAY,
            unit="J",
        )
