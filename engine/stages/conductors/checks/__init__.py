"""What the sizes say that a person must read, each module by what it is held against."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from engine.facts import Facts, Instead
from engine.findings import Finding, note
from engine.site.wall import Carries
from engine.stages.circuits import Circuits
from engine.stages.conductors.cables import Made
from engine.stages.conductors.checks import choices, devices, faults, fitting
from engine.stages.conductors.checks.fitting import too_large
from engine.stages.conductors.choose import Taken
from engine.stages.conductors.grounds import Grounds
from engine.stages.conductors.part import Sizing
from engine.stages.currents.part import Currents
from engine.stages.storage.part import Storage
from engine.stages.wall.part import Wall
from engine.tables import table

__all__ = ["of_conductors", "too_large"]


def of_conductors(
    *,
    facts: Facts,
    storage: Storage,
    circuits: Circuits,
    wall: Wall,
    currents: Currents,
    taken: Sequence[Taken],
    made: Mapping[str, Made],
    sizings: Mapping[str, Sizing],
    crowded: frozenset[str],
    earthed: Grounds,
    methods: Mapping[Carries, Instead],
) -> Iterator[Finding]:
    """Every finding on conductors and devices."""
    yield from choices.of_choices(taken)
    yield from choices.of_methods(facts, methods)
    yield from fitting.of_terminals(facts, wall, circuits, sizings, crowded)
    yield from fitting.of_protective(circuits, sizings)
    yield from faults.of_breaking(facts, circuits, currents)
    yield from fitting.of_aluminium(circuits, sizings)
    yield from _of_tables(facts, sizings)
    yield from faults.of_unproven(taken, sizings, earthed.unproven)
    yield from devices.of_loading(facts, taken)
    yield from devices.of_fuses(facts, circuits, storage)
    yield from devices.of_island(facts, circuits, currents)
    yield from fitting.of_cables(circuits, made)
    yield from faults.of_poles(facts, earthed.poles, earthed.paths)


def _of_tables(facts: Facts, sizings: Mapping[str, Sizing]) -> Iterator[Finding]:
    """How sure the tables are."""
    if sizings and facts.rules == "iec":
        text = "The current-carrying capacities and fuse gates were not all seen in a copy of their standards: the tables say which are from memory."
        yield note(
            "tables-from-memory",
            "site.rules",
            text,
            "Hold the sizes against your own copy of the standard before ordering.",
            table("iec_copper_pvc_2").told,
        )
