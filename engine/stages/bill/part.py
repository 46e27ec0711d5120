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

    `cut_from_reel`: nothing to buy, it is cut from what stands on the bill too. `mark` says what is wrong with it: that it is not made, or
    does not fit. `supplier` sells it, the step of that name in the section `needed` of the order of work needs it first, `read` is what is
    read on it when it comes.
    """

    item: str
    specification: str
    quantity: int
    spare: int
    order_ahead: bool
    goes_to: tuple[str, ...]
    cut_from_reel: bool | None = None
    mark: str | None = None
    supplier: str = ""
    needed: str = ""
    step: str = ""
    read: str = ""


@dataclass(frozen=True)
class Joint:
    """What one end of a conductor is bolted to, or goes into: "unit", "case", "post", "bar", "board", "earth bar", "solar isolator", or what
    sits in its circuit ("fuse holder", "isolator" and the like); and of which place.
    """

    what: str
    place: str

    @property
    def gear(self) -> bool:
        """Whether it is a piece of switchgear of the conductor's own circuit."""
        return self.place == ""

    def __str__(self) -> str:
        return f"{self.what} of {self.place}" if self.what in ("case", "post") else self.place or self.what


@dataclass(frozen=True)
class Cut:
    """One piece of conductor: its pole ("plus", "minus", "L1".., "N", "PE"), of which cable, between which joints; what is not known is None.

    Where a pole has several beside each other it is the `number` of `beside`.
    """

    circuit: str
    kind: Carries
    tag: str | None
    pole: str
    size: Size | None
    colour: str
    length: Figure | None
    cable: Cable | None = None
    start: Joint = Joint("", "")
    end: Joint = Joint("", "")
    number: int = 1
    beside: int = 1

    @property
    def made(self) -> str:
        """Size and cable."""
        cable = f" {self.cable}" if self.size and self.cable else f", {self.cable}" if self.cable else ""
        return f"{self.size or 'size not computed'}{cable}"

    @property
    def conductor(self) -> str:
        """Size, cable and colour, as it is ordered: two that differ in any of them never come from one reel."""
        return f"{self.made}, {self.colour}"

    @property
    def joints(self) -> tuple[Joint, Joint]:
        """Both its ends."""
        return self.start, self.end

    def lands_on(self, place: str) -> bool:
        """Whether one of its ends is at that place."""
        return any(joint.place == place for joint in self.joints)

    @property
    def marks(self) -> tuple[str, str]:
        """What is marked on each end: circuit, pole, which of several, where that end goes, and the other one."""
        name = f"{self.circuit} {self.pole}{f' ({self.number} of {self.beside})' if self.beside > 1 else ''}"
        return f"{name}: {self.start} (to {self.end})", f"{name}: {self.end} (to {self.start})"


@dataclass(frozen=True)
class Reel:
    """One reel, or a length cut in the shop: what it holds, how long, what is cut from it, what is left, the allowance included.

    `bought` says which: "reel", "cable by the metre" or "cable by the foot"; `proof` why, and how near all of the specification together
    are to the least possible.
    """

    conductor: str
    length: Metre
    cuts: tuple[Cut, ...]
    offcut: Metre
    proof: str
    bought: str = "reel"


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

    def has(self, item: str) -> bool:
        """Whether an item is on it."""
        return any(line.item == item for line in self.lines)
