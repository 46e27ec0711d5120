"""What the steps under load make and read."""

from __future__ import annotations

from engine.model.acts import Act, Instrument, Reading, Verb, opener
from engine.stages.circuits import Ends
from engine.stages.procedure.doing.readings import Doing, ac, around
from engine.stages.procedure.site import Site
from engine.stages.units import UnitPlace


def loads_on(site: Site, phase: str, incoming: Ends | None) -> Doing:
    """The loads of one phase; a lost neutral shows on all."""
    if incoming and phase == site.facts.phases[0]:
        yield Act(Verb.OPEN, opener(incoming.name))
    yield Act(Verb.ON, f"consumers {phase}")
    for other in site.facts.phases:
        yield ac(f"consumers {other}", "consumers N", *around(site.facts.output_voltage.value, 0.05))


def shares(site: Site, unit: UnitPlace) -> Doing:
    """A unit's share of its phase, over the mean of all units there."""
    lines = tuple(f"load {other.tag} L" for other in site.units.on(unit.phase))
    own = f"load {unit.tag} L"
    yield Reading(Instrument.CLAMP, (own, *(line for line in lines if line != own)), 0.9, 1.1, want="share of the mean")


def earth_current(site: Site) -> Doing:
    """What a unit's earths carry together, with every load on, and with those of one line alone: loads alike on all lines leave the neutral empty."""
    yield from _round_earths(site)
    others = site.facts.phases[1:]
    for phase in others:
        yield Act(Verb.OFF, f"consumers {phase}")
    if others:
        yield from _round_earths(site)
    for phase in others:
        yield Act(Verb.ON, f"consumers {phase}")


def _round_earths(site: Site) -> Doing:
    for unit in site.units.units:
        own = [ends for ends in site.circuits.circuits if ends.tag == unit.tag]
        earths = [f"{ends.name} PE" for ends in own if ends.kind in ("load", "incoming", "earth")]
        yield Reading(Instrument.LEAKAGE, (f"{unit.tag} case", *earths), None, 0.05)


def transfer(site: Site, incoming: Ends) -> Doing:
    """Into the supply and out of it, with loads on."""
    window = around(site.facts.output_voltage.value, 0.10)
    for verb in (Verb.CLOSE, Verb.OPEN, Verb.CLOSE):
        yield Act(verb, opener(incoming.name))
        for phase in site.facts.phases:
            yield ac(f"consumers {phase}", "consumers N", *window)
    yield from earth_current(site)
