"""The order of work: numbered steps, each with what to expect and what if not."""

from __future__ import annotations

from typing import Literal

from engine.frozen import dataclass
from engine.workings import Figure

Section = Literal[
    "make safe",
    "look",
    "bench",
    "match",
    "mount",
    "dead tests",
    "land",
    "dead tests again",
    "battery",
    "chain",
    "power up",
    "voltages",
    "incoming",
    "residual current",
    "loads",
    "solar",
    "hand over",
]

# Stands at every step where someone can be hurt.
HURT = "(!) Local code, the maker's instructions and a licensed person come first."


@dataclass(frozen=True)
class Step:
    """One step; `who` is a unit, a bank, the chain or the set.

    `place` is its number, one for all places where it is done word for word; `id` names it for good: what is done, and where (`pre-charge@L1-1`).
    `hold`: nobody goes on before it is right; `hurt`: someone can be hurt, which a sheet marks with (!). `title` is what is done in a few words;
    `got` names the values that are written down where it reads several: none for one that needs no name.
    """

    place: int
    section: Section
    who: str
    do: str
    expect: str
    otherwise: str
    hold: bool
    hurt: bool
    id: str
    title: str
    got: tuple[str, ...] = ()

    @property
    def at(self) -> str:
        """Where it is done."""
        return self.id.partition("@")[2]


@dataclass(frozen=True)
class Procedure:
    """The steps in order, the figures that were computed for them, and the instruments that they measure with."""

    steps: tuple[Step, ...]
    figures: tuple[Figure, ...]
    instruments: tuple[str, ...] = ()
