"""What the sizing of one circuit gives."""

from __future__ import annotations

from dataclasses import dataclass

from engine.stages.sizing.choose import Criterion
from engine.tables.sizes import Size
from engine.workings import Figure


@dataclass(frozen=True)
class Device:
    """A protective or switching device: what it is, its rating, the breaking capacity to buy, poles, DC voltage at least."""

    kind: str
    rating: Figure | None
    breaking: Figure | None
    poles: int | None
    voltage: Figure | None


@dataclass(frozen=True)
class Sizing:
    """Conductor, device and the reasons of one circuit.

    `conductor` is one of `parallel` per pole; `earth` the protective conductor that runs with it; `why` holds the whole decision
    as lines in its note, under the key `plan.circuits[NAME].conductor`; `figures` explain what else the plan says of the circuit.
    """

    conductor: Size | None
    parallel: int
    earth: Size | None
    neutral: Size | None
    drop: Figure | None
    current: Figure | None
    fault_clearing: Figure | None
    governed_by: str | None
    device: Device | None
    decision: tuple[Criterion, ...]
    why: Figure | None
    figures: tuple[Figure, ...] = ()
