"""What the steps before landing make and read: sources open, devices and plates read, every unit alone on its bench feed."""

from __future__ import annotations

from engine.model.acts import RESIDUAL, Act, Instrument, Reading, Verb, opener
from engine.stages.procedure.doing.readings import Doing, dc, looked, nothing
from engine.stages.procedure.site import Site
from engine.stages.switchgear import GearKind
from engine.tables.verification import volts


def lock(site: Site) -> Doing:
    """Every circuit open and locked."""
    for ends in site.circuits.circuits:
        if site.switchgear.opening(ends):
            yield Act(Verb.OPEN, opener(ends.name))
            yield looked(opener(ends.name), "locked open")


def prove_dead(site: Site) -> Doing:
    """No unit holds a charge."""
    for tag in site.units.tags:
        yield nothing(f"{tag} plus", f"{tag} minus", "dead")


def plates(site: Site) -> Doing:
    """Every unit is of the planned model."""
    for tag in site.units.tags:
        yield looked(tag, "model")


def gear(site: Site) -> Doing:
    """What stands on every piece but the fuses."""
    for ends in site.circuits.circuits:
        for piece in site.switchgear.of(ends):
            if piece.kind is GearKind.RESIDUAL:
                yield looked(RESIDUAL, "rating")
            elif piece.kind is not GearKind.FUSE:
                yield looked(opener(ends.name), "rating")


def bench_polarity(site: Site, tag: str) -> Doing:
    """The bench lead, before it touches the unit."""
    low, high = site.window(site.banks.bank_of.get(tag), 1) or (volts("dead"), None)
    yield dc(f"bench {tag} plus", f"bench {tag} minus", low, high)


def bench_pre_charge(tag: str) -> Doing:
    """Through its resistor, then bridged."""
    yield Act(Verb.FIT, f"bench {tag}")
    yield nothing(f"bench {tag} plus", f"{tag} plus", "across_isolator")
    yield Act(Verb.CLOSE, f"bench {tag} bridged")


def bench_enter(tag: str) -> Doing:
    """Every setting of the sheet."""
    yield Act(Verb.ON, tag)
    yield Act(Verb.ENTER, f"{tag} settings")


def read_back(site: Site, tag: str) -> Doing:
    """What a unit still knows after it was off."""
    yield Act(Verb.OFF, tag)
    yield Act(Verb.ON, tag)
    for setting in site.settings.of.get(tag, ()):
        yield Reading(Instrument.DISPLAY, (tag, setting.setting), want=setting.value)
    yield Reading(Instrument.DISPLAY, (tag, "firmware"), want="the same on every unit")


def bench_away(tag: str) -> Doing:
    """Off, and its capacitors empty."""
    yield Act(Verb.OFF, tag)
    yield Act(Verb.OPEN, f"bench {tag} bridged")
    yield Act(Verb.TAKE_OUT, f"bench {tag}")
    yield nothing(f"{tag} plus", f"{tag} minus", "capacitors")


def charge_sum(units: tuple[str, ...]) -> Doing:
    """What the units of a bank would charge it with together."""
    for tag in units:
        yield Reading(Instrument.DISPLAY, (tag, "charge_limit"), want="within what its bank takes")
