"""What is bought, and the conductors that are cut from it."""

from __future__ import annotations

from dataclasses import dataclass

from engine.quantities import Metre
from engine.site.wall import Carries
from engine.tables.sizes import Size
from engine.workings import Figure


@dataclass(frozen=True)
class Line:
    """One line; `quantity` includes `spare`. `order_ahead`: no wholesaler stocks it.

    `cut_from_reel`: nothing to buy, it is cut from a reel that stands on the bill too.
    """

    item: str
    specification: str
    quantity: int
    spare: int
    order_ahead: bool
    goes_to: tuple[str, ...]
    cut_from_reel: bool | None = None


@dataclass(frozen=True)
class Cut:
    """One conductor: its pole ("plus", "minus", "L1".., "N", "PE"); size and length are None where not known.

    `make` tells it from a battery cable of the same size and colour, and is empty where there is none.
    """

    circuit: str
    kind: Carries
    tag: str | None
    pole: str
    size: Size | None
    colour: str
    length: Figure | None
    make: str = ""

    @property
    def conductor(self) -> str:
        """Size and colour, as it is ordered."""
        return ", ".join(part for part in (str(self.size or "size not computed"), self.colour, self.make) if part)


@dataclass(frozen=True)
class Reel:
    """One reel, or a piece cut in the shop: what it holds, how long, what is cut from it, what is left.

    `proof` tells how near all reels of the specification together are to the least possible.
    """

    conductor: str
    length: Metre
    cuts: tuple[Cut, ...]
    offcut: Metre
    proof: str


@dataclass(frozen=True)
class Bill:
    """The lines, alike ones joined, the reels and every cut from them, and what was computed for the lines."""

    lines: tuple[Line, ...]
    reels: tuple[Reel, ...]
    cuts: tuple[Cut, ...] = ()
    figures: tuple[Figure, ...] = ()
