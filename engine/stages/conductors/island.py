"""Island operation: whether what the units give trips an AC device at once (T6)."""

from __future__ import annotations

from engine.facts import Facts
from engine.formulas.protection import sure_trip, units_fault
from engine.quantities import Ampere
from engine.stages.circuits import Circuits, Ends
from engine.tables.protection import trip_multiple

CURVES = ("C", "B")  # C first: motors start behind it


def curve(rating: Ampere, fault: Ampere | None) -> str:
    """The breaker's curve: C, or B where only that trips on what the units give, or nobody knows what they give."""
    if fault is None:
        return CURVES[-1]
    return next((c for c in CURVES if fault >= sure_trip(rating, trip_multiple(c).value)), CURVES[-1])


def available(facts: Facts, circuits: Circuits, ends: Ends) -> Ampere | None:
    """What the units of the circuit's phase give; for a common circuit, those of the weakest phase."""
    unit = facts.value("unit.fault_current")
    counts = [sum(u.phase == phase for u in circuits.of("load", common=False)) for phase in _phases(circuits, ends)]
    return units_fault(unit, min(counts)) if unit is not None and counts else None


def _phases(circuits: Circuits, ends: Ends) -> tuple[str | None, ...]:
    return (ends.phase,) if ends.phase else tuple(dict.fromkeys(u.phase for u in circuits.of("load", common=False)))
