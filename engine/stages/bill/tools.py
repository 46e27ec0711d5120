"""What serves the work itself: labels of the set, test leads, the bench lead."""

from __future__ import annotations

from collections.abc import Iterator

from engine.facts import Facts
from engine.stages.banks import Banks
from engine.stages.bill.part import Line
from engine.stages.circuits import Circuits
from engine.stages.storage.part import Storage
from engine.stages.switchgear import Switchgear
from engine.stages.units import Units


def tags(units: Units, banks: Banks, storage: Storage) -> Iterator[Line]:
    """A tag for each unit, a label for each bank; those of circuits, boards and bonds come with what they name."""
    yield Line("unit tag", "says its name", len(units.units), 0, False, units.tags)
    for bank in banks.banks:
        volts = f"{storage.system_voltage}, " if storage.system_voltage else ""
        yield Line("bank label", f"its name, {volts}live whatever is open", 1, 0, False, (bank.name,))


def leads(facts: Facts, circuits: Circuits, switchgear: Switchgear) -> Iterator[Line]:
    """For the meters, for the bench, and for a neutral that a breaker leaves afloat before its voltage is compared."""
    told = "pair with probes and clips, insulated, measuring category III, one long enough from the earth bar to every case"
    yield Line("test lead", told, 1, 0, False, ("site",))
    outputs = circuits.of("load", common=False)
    if len(outputs) > 1 and any(map(switchgear.floats, outputs)):
        volts = facts.figure("output.voltage") or "the voltage"
        told = f"insulated, with its own fuse of 1 A or less, for {volts} to neutral and between lines, measuring category III"
        yield Line("fused test lead", told, 1, 0, False, ("site",))
    yield Line("bench lead", "battery lead with its own fuse, 20 A or less, and pre-charge", 1, 0, True, ("site",))
