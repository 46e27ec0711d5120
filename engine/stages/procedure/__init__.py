"""The procedure: the order of work as numbered steps, each with what to expect and what if not."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import fields
from typing import Any

from engine.facts import Facts
from engine.findings import Finding
from engine.model.acts import Act, Reading
from engine.stages.banks import Banks
from engine.stages.bill.part import Bill
from engine.stages.chain.part import Chain
from engine.stages.circuits import Circuits
from engine.stages.conductors.part import Conductors
from engine.stages.demand import Demand
from engine.stages.limits import Limits
from engine.stages.phases.part import Phases
from engine.stages.procedure import bench, landed, landing, loading, power, supply
from engine.stages.procedure.part import Procedure, Step
from engine.stages.procedure.site import Site
from engine.stages.procedure.titles import TITLES
from engine.stages.settings import Settings
from engine.stages.storage.part import Storage
from engine.stages.strings import Strings
from engine.stages.switchgear import Switchgear
from engine.stages.units import Units
from engine.stages.wall.part import Wall

# The order of work. A mistake is found in one part before a later part would do damage with it.
ORDER = (
    bench.make_safe,
    bench.look,
    bench.bench,
    landing.match,
    landing.mount,
    landing.dead_tests,
    landing.land,
    landed.dead_tests_again,
    power.battery,
    power.chain,
    power.power_up,
    power.voltages,
    supply.incoming,
    supply.residual_current,
    loading.loads,
    power.solar,
    power.hand_over,
)


def procedure(
    *,
    facts: Facts,
    units: Units,
    banks: Banks,
    demand: Demand,
    phases: Phases,
    storage: Storage,
    strings: Strings,
    limits: Limits,
    circuits: Circuits,
    conductors: Conductors,
    switchgear: Switchgear,
    wall: Wall,
    chain: Chain,
    settings: Settings,
    bill: Bill,
) -> tuple[Procedure, list[Finding]]:
    """The procedure of this site; nothing for a set of no units."""
    if not units.units:
        return Procedure((), ()), []
    site = Site(
        facts, units, banks, phases, storage, strings, limits, circuits, conductors, switchgear, wall, chain, settings, demand, bill
    )
    measured = [f"earth {tag}" for tag in units.tags] + [ends.name for ends in site.bonds]
    computed = (
        site.match(),
        site.line_voltage(),
        site.rotation(),
        *map(site.earth_resistance, measured),
        *phases.all_on.figures,
        *(site.open_voltage() or ()),
    )
    steps = tuple(step for step, _ in _steps(site))
    return Procedure(steps, tuple(figure for figure in computed if figure), bench.instruments(site)), []


def course(facts: Facts, parts: Any) -> list[tuple[Step, tuple[Act | Reading, ...]]]:
    """Every step with what it makes and reads, for those who go through the order of work by a model; `parts` are those of the plan.

    A plan does without: nobody who reads it needs them.
    """
    if not parts.units.units:
        return []
    site = Site(facts, **{field.name: getattr(parts, field.name) for field in fields(Site) if field.name != "facts"})
    return [(step, tuple(doing)) for step, doing in _steps(site)]


def _steps(site: Site) -> Iterator[tuple[Step, Iterable[Act | Reading]]]:
    """A step that is repeated word for word at another place has one number: it is one step over many places."""
    numbers: dict[tuple[str, ...], int] = {}
    for draft in (draft for part in ORDER for draft in part(site)):
        place = numbers.setdefault((draft.section, draft.name, draft.do, draft.otherwise), len(numbers) + 1)
        name = f"{draft.name}@{draft.at or draft.who}"
        told = (draft.do, draft.expect, draft.otherwise, draft.hold, draft.hurt)
        yield Step(place, draft.section, draft.who, *told, name, TITLES[draft.name], draft.got), draft.doing
