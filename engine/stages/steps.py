"""The procedure: the order of work as numbered steps, each with what to expect and what if not."""

from __future__ import annotations

from dataclasses import dataclass

from engine.facts import Facts
from engine.findings import Finding
from engine.stages.banks import Banks
from engine.stages.circuits import Circuits
from engine.stages.demand import Demand
from engine.stages.laying.chained import Chain
from engine.stages.limits import Limits
from engine.stages.procedure import bench, landing, loading, power
from engine.stages.procedure.all_on import all_on
from engine.stages.procedure.site import HURT, Section, Site
from engine.stages.settings import Settings
from engine.stages.sized import Sized
from engine.stages.sizes import Sizes
from engine.stages.storage import Storage
from engine.stages.strings import Strings
from engine.stages.units import Units
from engine.stages.wall import Wall
from engine.workings import Figure

# The order of work. A mistake is found in one part before a later part would do damage with it.
ORDER = (
    bench.make_safe,
    bench.look,
    bench.bench,
    landing.match,
    landing.dead_tests,
    landing.land,
    landing.chain,
    landing.dead_tests_again,
    power.battery,
    power.power_up,
    power.voltages,
    power.incoming,
    power.residual_current,
    loading.loads,
    power.solar,
    power.hand_over,
)


@dataclass(frozen=True)
class Step:
    """One step; `who` is a unit, a bank, the chain or the set; `hold`: nobody goes on before it is right."""

    place: int
    section: Section
    who: str
    do: str
    expect: str
    otherwise: str
    hold: bool


@dataclass(frozen=True)
class Steps:
    """The steps in order, and the figures that were computed for them."""

    steps: tuple[Step, ...]
    figures: tuple[Figure, ...]


def steps(
    *,
    facts: Facts,
    units: Units,
    banks: Banks,
    demand: Demand,
    sized: Sized,
    storage: Storage,
    strings: Strings,
    limits: Limits,
    circuits: Circuits,
    sizes: Sizes,
    wall: Wall,
    chain: Chain,
    settings: Settings,
) -> tuple[Steps, list[Finding]]:
    """The procedure of this site; nothing for a set of no units."""
    if not units.units:
        return Steps((), ()), []
    everything = all_on(facts, demand, sized)
    site = Site(facts, units, banks, sized, storage, strings, limits, circuits, sizes, wall, chain, settings, demand, everything)
    drafts = [draft for part in ORDER for draft in part(site)]
    numbered = tuple(
        Step(place, draft.section, draft.who, f"{draft.do} {HURT}" if draft.hurt else draft.do, draft.expect, draft.otherwise, draft.hold)
        for place, draft in enumerate(drafts, 1)
    )
    computed = (site.match(), site.line_voltage(), *(site.earth_resistance(tag) for tag in units.tags), *everything.figures)
    return Steps(numbered, tuple(figure for figure in computed if figure)), []
