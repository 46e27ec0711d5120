"""The set: how many units feed each phase, and which phase each load is on (T12, T17, S21 to S23)."""

from __future__ import annotations

from math import inf

from engine.facts import Facts
from engine.findings import Finding
from engine.formulas import energy
from engine.solvers.balance import Balance, Fixed, Portion, Rating, balance
from engine.stages.demand import Demand, LoadDemand
from engine.stages.phases.all_on import all_on
from engine.stages.phases.checks import capacity, count_unknown, no_set, of_answers
from engine.stages.phases.count import Wanted, most_units, wanted
from engine.stages.phases.landing import copies_worth, landed, touched
from engine.stages.phases.part import AllOn, Phases
from engine.stages.phases.sums import phase_sums
from engine.text import counted
from engine.workings import Figure, work


def phases(*, facts: Facts, demand: Demand) -> tuple[Phases, list[Finding]]:
    """Find the fewest units and their split, or keep what was answered, and spread the loads that may go on any phase."""
    findings, used, want = [*of_answers(facts)], _energy(demand), wanted(facts)
    forbidden = [*no_set(facts)] if facts.phases else []
    if facts.phases and not (want.known or any(load.real for load in demand.loads)):
        forbidden.append(count_unknown())
    if forbidden or not facts.phases:
        return Phases({}, (), (), None, None, "", used, (), AllOn({}, None, None)), [*findings, *forbidden]
    unit = _unit(facts)
    if unit is None:
        split = want.split or _even(want.least, len(facts.phases))
        on = _spread_blindly(facts, demand)
        proof = ""
    else:
        found = _search(facts, demand, unit, want)
        split, on = found.units, _on(facts, demand, found)
        proof = _proof(found, want, unit) if any(load.real for load in demand.loads) else ""
    sums = phase_sums(facts, demand, on, split)
    if unit is not None:
        findings += capacity(facts, demand, on, sums, unit, lambda: _would_do(facts, demand, unit, sum(split)))
    per_phase = dict(zip(facts.phases, split, strict=True))
    everything = all_on(facts, demand, on, per_phase, sums.neutral)
    return Phases(per_phase, on, sums.phases, sums.neutral, sums.unbalance, proof, used, _worth(facts, demand, on), everything), findings


def _worth(facts: Facts, demand: Demand, on: tuple[tuple[int, ...], ...]) -> tuple[tuple[Figure | None, ...], ...]:
    """How many copies' daily energy each phase gives, load by load; None where none of them is on it."""
    return tuple(
        tuple(copies_worth(load, phase, n, facts.phases) if n else None for phase, n in zip(facts.phases, copies, strict=True))
        for load, copies in zip(demand.loads, on, strict=True)
    )


def _unit(facts: Facts) -> Rating | None:
    """One unit in the solver's terms; a rating that is not answered is taken like the other one."""
    real, apparent = facts.value("unit.real_power"), facts.value("unit.apparent_power")
    if not (real or apparent):
        return None
    surge = facts.value("unit.surge_power") or inf
    return Rating(real or apparent or 0.0, apparent or real or 0.0, surge, facts.spare)


def _search(facts: Facts, demand: Demand, unit: Rating, want: Wanted) -> Balance:
    return balance(_portions(demand), _fixed(facts, demand), unit, least=want.least, most=want.most, split=want.split)


def _portions(demand: Demand) -> list[Portion]:
    """Every copy of every load that may go on any phase."""
    found = []
    for load in demand.loads:
        if load.phase == "any" and load.real and load.reactive:
            portion = Portion(complex(load.real.value, load.reactive.value), load.start.value if load.start else 0.0)
            found += [portion] * load.quantity
    return found


def _fixed(facts: Facts, demand: Demand) -> list[Fixed]:
    """What the loads with a phase of their own put on each phase."""
    found = []
    for phase in facts.phases:
        whole, rest, start = 0j, 0j, 0.0
        for load in demand.loads:
            if phase in touched(load, facts.phases) and (on := landed(load, phase, load.quantity, facts.phases)):
                power = complex(on.real.value, on.reactive.value)
                whole += power
                rest, start = (rest, start + on.start.value) if on.start else (rest + power, start)
        found.append(Fixed(whole, rest, start))
    return found


def _on(facts: Facts, demand: Demand, found: Balance) -> tuple[tuple[int, ...], ...]:
    """Copies of each load on each phase, every copy counted on each phase it touches (S23)."""
    places, rows = iter(found.places), []
    for load in demand.loads:
        if load.phase == "any" and load.real:
            own = [next(places) for _ in range(load.quantity)]
            rows.append(tuple(own.count(k) for k in range(len(facts.phases))))
        else:
            rows.append(_own_phases(facts, load))
    return tuple(rows)


def _own_phases(facts: Facts, load: LoadDemand) -> tuple[int, ...]:
    return tuple(load.quantity * (phase in touched(load, facts.phases)) for phase in facts.phases)


def _spread_blindly(facts: Facts, demand: Demand) -> tuple[tuple[int, ...], ...]:
    """Copies in turn over the phases, where no unit's rating is known to weigh them against."""
    phases, turn, rows = len(facts.phases), 0, []
    for load in demand.loads:
        if load.phase == "any" and load.real:
            own = [(turn + i) % phases for i in range(load.quantity)]
            turn += len(own)
            rows.append(tuple(own.count(k) for k in range(phases)))
        else:
            rows.append(_own_phases(facts, load))
    return tuple(rows)


def _even(count: int, phases: int) -> tuple[int, ...]:
    return tuple(count // phases + (k < count % phases) for k in range(phases))


def _would_do(facts: Facts, demand: Demand, unit: Rating, count: int) -> Balance | None:
    """The smallest larger set that carries the loads, or None where the most units do not."""
    most = min(facts.answers.unit.max_units or count, most_units())
    if count >= most:
        return None
    found = balance(_portions(demand), _fixed(facts, demand), unit, least=count + 1, most=most)
    return found if found.carries else None


def _proof(found: Balance, want: Wanted, unit: Rating) -> str:
    """One line on how good the arrangement is."""
    total, told = sum(found.units), " + ".join(str(n) for n in found.units)
    line = f"{total} {'unit' if total == 1 else 'units'} ({told}), the most used phase at {found.used:.2%}"
    given = want.split is not None and len(found.units) > 1  # of other divisions of the units nothing is known then
    if not found.carries:
        return f"{line}: {_failing(found, given=given)}{_spared(unit)}"
    gap = (found.used - found.bound) * max(found.units) * unit.apparent
    if found.proven:
        line += f"; proven: {'no division of the loads' if given else 'none of so many units'} goes below it by more than 1 VA"
    else:
        line += f"; not proven: at most {gap:.0f} VA of it could be saved ({found.nodes} arrangements looked at)"
    if not want.known and total > len(found.units):
        line += "; fewer units do not carry the loads" if found.fewest else "; fewer units are not ruled out"
    return line


def _failing(found: Balance, *, given: bool) -> str:
    """What the units fail at, for certain or as far as was looked; of `given` ones only the division of the loads was looked for."""
    does, do = ("carries the loads", "carry the loads") if not found.runs else ("starts all motors at once", "start all motors at once")
    if given:
        return f"so divided they do not {do}" if found.proven else f"no division of the loads found with which they {do}"
    of_them = " of them" if not found.runs else ""
    return f"no arrangement{of_them} {does}" if found.proven else f"no arrangement found that {does}"


def _spared(unit: Rating) -> str:
    return f" with {counted(unit.spare, 'unit')} out on a phase" if unit.spare else ""


def _energy(demand: Demand) -> Figure | None:
    """What all loads use in a day."""
    several = [
        work(f"plan.{load.key}.energy_of_all", energy.several_energy, energy=load.energy, count=load.quantity)
        for load in demand.loads
        if load.energy
    ]
    return work("plan.energy_per_day", energy.summed_energy, energies=several) if several else None
