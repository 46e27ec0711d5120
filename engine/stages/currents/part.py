"""What every circuit carries, the rating of its device, and the fault that it must break."""

from __future__ import annotations

from collections.abc import Mapping

from engine.frozen import dataclass
from engine.workings import Figure


@dataclass(frozen=True)
class CircuitCurrents:
    """The currents of one circuit.

    `design` is Ib, what the plan calls `current`. `continuous` is what a conductor must carry by the bare table (`nec`: with
    the 125 % where it is due), `carried` what it must carry where it lies, `drop` what the voltage drop is reckoned with.
    `rating` is that of its device, `needed` what it was chosen for, `breaking` the fault at that device without any cable; `lasting`
    what a battery fuse carries for an hour or more.
    """

    design: Figure | None = None
    continuous: Figure | None = None
    carried: Figure | None = None
    drop: Figure | None = None
    rating: Figure | None = None
    breaking: Figure | None = None
    lasting: Figure | None = None
    needed: Figure | None = None


@dataclass(frozen=True)
class Currents:
    """The currents of every circuit, by name."""

    of: Mapping[str, CircuitCurrents]
