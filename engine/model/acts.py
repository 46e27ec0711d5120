"""What is done at a site and what is read there, in words that the order of work and the model of the site share.

A *thing* is what work makes or unmakes: an isolator closed, a fuse fitted, a circuit landed, a link plugged, a unit on. A *point* is a place
that a probe touches. Both are names; the model has an element for each, and a test holds the two together.
"""

from __future__ import annotations

from enum import StrEnum

from engine.frozen import dataclass
from engine.quantities import shown


class Verb(StrEnum):
    """How a thing is made or unmade."""

    CLOSE = "close"
    FIT = "fit"
    LAND = "land"
    JOIN = "join"
    PLUG = "plug"
    ON = "switch on"
    ENTER = "enter"
    OPEN = "open"
    TAKE_OUT = "take out"
    LIFT = "lift"
    UNPLUG = "unplug"
    OFF = "switch off"


_MAKES = (Verb.CLOSE, Verb.FIT, Verb.LAND, Verb.JOIN, Verb.PLUG, Verb.ON, Verb.ENTER)


@dataclass(frozen=True)
class Act:
    """One thing made or unmade."""

    verb: Verb
    thing: str

    @property
    def makes(self) -> bool:
        """Whether the thing is there afterwards."""
        return self.verb in _MAKES

    def __str__(self) -> str:
        return f"{self.verb.value} {self.thing}"


class Instrument(StrEnum):
    """What a reading is taken with. A display shows what is set or seen; looking catches the one attribute that it names."""

    DC = "voltmeter, direct"
    AC = "voltmeter, alternating"
    OHM = "ohmmeter"
    MILLIOHM = "milliohmmeter"
    MICROOHM = "micro-ohmmeter"
    INSULATION = "insulation tester"
    CLAMP_DC = "clamp meter, direct"
    CLAMP = "clamp meter, alternating"
    LEAKAGE = "earth-leakage clamp"
    ROTATION = "rotation meter"
    TRIP = "residual-current tester"
    DISPLAY = "display"
    LOOK = "looking"


_UNITS = {
    Instrument.DC: "V",
    Instrument.AC: "V",
    Instrument.OHM: "ohm",
    Instrument.MILLIOHM: "ohm",
    Instrument.MICROOHM: "ohm",
    Instrument.INSULATION: "ohm",
    Instrument.CLAMP_DC: "A",
    Instrument.CLAMP: "A",
    Instrument.LEAKAGE: "A",
}


@dataclass(frozen=True)
class Reading:
    """One reading: the instrument, where, and the band that it must lie in; a bound that is None is none.

    `at` is two points for a meter with probes (first red, then black), conductors for a clamp that goes round all of them, three points for a
    rotation meter, what and its attribute for a display and for looking; the end of a conductor for a micro-ohmmeter. `beside`: the two points
    of a second reading that is taken off before the band is held against it. `want` is what a display, a rotation meter or the eye must see.
    """

    instrument: Instrument
    at: tuple[str, ...]
    least: float | None = None
    most: float | None = None
    beside: tuple[str, str] | None = None
    want: str = ""

    @property
    def unit(self) -> str:
        """The SI unit of its bounds, empty where it has none."""
        return _UNITS.get(self.instrument, "")

    @property
    def band(self) -> str:
        """The band in words."""
        if self.want or not self.unit:
            return self.want
        low, high = (shown(bound, self.unit, 3) if bound is not None else None for bound in (self.least, self.most))
        told = f"{low} to {high}" if low and high else f"above {low}" if low else f"below {high}" if high else "any"
        return f"within {high} of {self.beside[0]}" if self.beside and high else told

    def takes(self, value: float) -> bool:
        """Whether a value lies in the band; nothing read (not a number) never does."""
        return value == value and (self.least is None or value >= self.least) and (self.most is None or value <= self.most)  # noqa: PLR0124


# --- names of things and points, one place for both sides ---


def opener(circuit: str) -> str:
    """What opens a circuit and is locked, breaker or isolator, all its poles together."""
    return f"{circuit} isolator"


def fuse(circuit: str) -> str:
    """The fuse links of a circuit, in every pole that has a holder."""
    return f"{circuit} fuse"


def before(circuit: str, pole: str) -> str:
    """The side of what opens a circuit that is nearer its start."""
    return f"{circuit} {pole} before isolator"


def after(circuit: str, pole: str) -> str:
    """The side of what opens a circuit that is nearer its end."""
    return f"{circuit} {pole} after isolator"


def end(circuit: str, pole: str, spot: str) -> str:
    """The end of a conductor at a spot."""
    return f"{circuit} {pole} at {spot}"


RESIDUAL = "residual-current device"
SURGE = "surge devices"
BOND = "bond"
EARTH = "earth bar"
SUPPLY = "supply"
