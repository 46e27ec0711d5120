"""24 hours of the worst month, hour by hour (S25)."""

from __future__ import annotations

from engine.frozen import dataclass
from engine.workings import Figure


@dataclass(frozen=True)
class Hour:
    """One hour of one bank and the units on it: mean powers, and the bank's state at its end."""

    hour: int
    load: Figure
    solar: Figure
    generator: Figure
    state: Figure


@dataclass(frozen=True)
class Hours:
    """The hours in their order from sunset on, or nothing where loads or bank are not known.

    `text` is one line on what they mean, `scope` says whose they are. `generator_hours` is None where no generator comes in.
    `sunrise` and `sunset` are after midnight.
    """

    hours: tuple[Hour, ...] = ()
    lasts_night: bool | None = None
    generator_hours: Figure | None = None
    text: str = ""
    scope: str = ""
    sunrise: Figure | None = None
    sunset: Figure | None = None
