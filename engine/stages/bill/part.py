"""What is bought, and the conductors that are cut from it."""

from __future__ import annotations

from engine.frozen import dataclass
from engine.quantities import Metre
from engine.site.wall import Carries
from engine.stages.conductors.part import Cable
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
    """One conductor: its pole ("plus", "minus", "L1".., "N", "PE"), of which cable; what is not known is None."""

    circuit: str
    kind: Carries
    tag: str | None
    pole: str
    size: Size | None
    colour: str
    length: Figure | None
    cable: Cable | None = None

    @property
    def conductor(self) -> str:
        """Size, cable and colour, as it is ordered: two that differ in any of them never come from one reel."""
        made = f" {self.cable}" if self.size and self.cable else f", {self.cable}" if self.cable else ""
        return f"{self.size or 'size not computed'}{made}, {self.colour}"


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
class PreCharge:
    """The resistor that charges one unit at a time: the first current through it, the energy it takes, and how long to wait."""

    resistance: Figure
    current: Figure
    energy: Figure
    time: Figure


@dataclass(frozen=True)
class Bill:
    """The lines, alike ones joined, the reels and every cut from them, what was computed for the lines, and the pre-charge."""

    lines: tuple[Line, ...]
    reels: tuple[Reel, ...]
    cuts: tuple[Cut, ...] = ()
    figures: tuple[Figure, ...] = ()
    pre_charge: PreCharge | None = None
