"""Island operation: whether what the units give trips an AC device at once (T6)."""

from __future__ import annotations

from collections.abc import Iterator

from engine.facts import Facts
from engine.findings import Finding, caution, note
from engine.formulas.protection import sure_trip, units_fault
from engine.quantities import Ampere, shown
from engine.stages.circuits import Circuits, Ends
from engine.stages.currents import Currents
from engine.tables.protection import trip_multiple
from engine.tables.ratings import rated

_CURVES = ("C", "B")  # C first: motors start behind it


def curve(rating: Ampere, fault: Ampere | None) -> str:
    """The breaker's curve: C, or B where only that trips on what the units give, or nobody knows what they give."""
    if fault is None:
        return _CURVES[-1]
    return next((c for c in _CURVES if fault >= sure_trip(rating, trip_multiple(c).value)), _CURVES[-1])


def fault_of(facts: Facts, circuits: Circuits, ends: Ends) -> Ampere | None:
    """What the units of the circuit's phase give; for a common circuit, those of the weakest phase."""
    unit = facts.value("unit.fault_current")
    counts = [sum(u.phase == phase for u in circuits.of("load", common=False)) for phase in _phases(circuits, ends)]
    return units_fault(unit, min(counts)) if unit is not None and counts else None


def _phases(circuits: Circuits, ends: Ends) -> tuple[str | None, ...]:
    return (ends.phase,) if ends.phase else tuple(dict.fromkeys(u.phase for u in circuits.of("load", common=False)))


def findings(facts: Facts, circuits: Circuits, currents: Currents) -> Iterator[Finding]:
    """A load device that does not trip in island operation, and the residual-current device that follows."""
    loads = circuits.of("load", common=False)
    if not loads:
        return
    where = "after the common bar, none per unit" if len(loads) > 1 else "in its load circuit"
    cure = f"Fit a residual-current device {where} (it is on the bill), and have the maker confirm in writing how fast the units shut down by themselves."
    if facts.missing("unit.fault_current"):
        told = "breakers" if facts.rules == "nec" else "curve B, which trips on the least,"
        text = f"What a unit gives into a short circuit is not answered: that a breaker disconnects in island operation is unproven. The plan takes {told} and counts on none of them."
        yield caution(
            "unit-fault-current-unanswered",
            "unit.fault_current",
            text,
            f"{cure} The figure is in the unit's datasheet; never take it from a loop tester.",
            "T6",
        )
    else:
        yield from _too_small(facts, circuits, currents, cure)


def _too_small(facts: Facts, circuits: Circuits, currents: Currents, cure: str) -> Iterator[Finding]:
    for alike in _alike(facts, circuits, currents).values():
        ends, rating, fault = alike[0]
        taken = curve(rating, fault)
        needs = shown(sure_trip(rating, trip_multiple(taken).value), "A")
        about, where = f"{ends.key}.device.rating", ", ".join(str(e.phase) for e, _, _ in alike)
        if fault < sure_trip(rating, trip_multiple(taken).value):
            text = f"In island operation the units of {where} give {shown(fault, 'A')} per phase into a short circuit; the {rated(rating)} breakers there trip at once only from {needs} (curve {taken}). What hangs behind them does not surely trip either."
            yield caution("island-fault-too-small", about, text, cure, "T6; IEC 60898-1")
        elif taken == _CURVES[-1]:
            text = (
                f"On {where} only curve B trips at once on the {shown(fault, 'A')} that the units give (from {needs}); curve C would not."
            )
            yield note(
                "curve-b-needed",
                about,
                text,
                "Do not replace it by curve C, and check that the largest motor's start does not trip it.",
                "T6; IEC 60898-1",
            )


def _alike(facts: Facts, circuits: Circuits, currents: Currents) -> dict[tuple[Ampere, Ampere], list[tuple[Ends, Ampere, Ampere]]]:
    """One load circuit of each phase with its rating and island fault; phases of the same figures together."""
    found: dict[tuple[Ampere, Ampere], list[tuple[Ends, Ampere, Ampere]]] = {}
    first = {ends.phase: ends for ends in reversed(circuits.of("load", common=False))}
    for ends in reversed(first.values()):
        told, fault = currents.of.get(ends.name), fault_of(facts, circuits, ends)
        if told and told.rating and fault is not None:
            found.setdefault((told.rating.value, fault), []).append((ends, told.rating.value, fault))
    return found
