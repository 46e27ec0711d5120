"""What nobody answered about the inside of the gear, as two levels of each, and eight scenarios that spread them."""

from __future__ import annotations

from typing import Literal

from engine.frozen import dataclass

Factor = Literal[
    "bleed",
    "filters",
    "transfer",
    "neutral",
    "meter",
    "charge",
    "bond",
    "capacitance",
    "data",
    "source",
]
Level = Literal[0, 1]

# Common practice, no source, where none is named.
BLEED = (10e3, 1e6)  # ohm across a unit's battery terminals
FILTERS = (1e-9, 100e-9)  # F, from each AC line and neutral of a unit to its case: interference filters
CAPACITANCE = (0.5, 2.0)  # of the capacitance answered or assumed at a unit's battery terminals
DATA = (10.0, float("inf"))  # ohm from data common to battery minus within a unit: tied, or isolated
SOURCE = (5e-3, 0.5)  # ohm from the incoming supply's neutral to the earth that comes with it
ELECTRODE = (1.0, 100.0)  # ohm, where earth is an electrode of the site's own
# Low-impedance inputs of multimeters are printed as 2 to 3 kohm; two-pole testers to IEC 61243-3 have some hundred (from memory).
METER = (3e3, 400e3)  # ohm


@dataclass(frozen=True)
class Scenario:
    """One level of each factor.

    `transfer`: the relay from incoming to load line of a unit that is off is closed; `neutral`: so is its neutral's. `charge`: the banks
    are full, else near their lowest. `bond`: the link of island mode is behind the load isolator of the set, else at the load bar. All others are the place in the pair of that name above.
    """

    bleed: Level = 0
    filters: Level = 0
    transfer: Level = 0
    neutral: Level = 0
    meter: Level = 0
    charge: Level = 0
    bond: Level = 0
    capacitance: Level = 0
    data: Level = 0
    source: Level = 0

    def level(self, factor: Factor) -> Level:
        """The level of one factor."""
        found: Level = getattr(self, factor)
        return found

    @property
    def voltmeter(self) -> float:
        """The input of the voltmeter, ohm."""
        return METER[self.meter]


def _row(run: int) -> Scenario:
    """One run of the orthogonal array L8 (Plackett and Burman 1946; Taguchi): a column is the parity of some bits of the run's number.

    Any two factors with columns of their own meet in all four ways. Ten factors have seven columns: three share one with a factor that
    acts on nothing that they act on.
    """
    of: dict[str, Level] = {
        name: 1 if (run & bits).bit_count() % 2 else 0
        for name, bits in {"bleed": 1, "transfer": 2, "neutral": 4, "filters": 3, "meter": 5, "charge": 6, "bond": 7}.items()
    }
    return Scenario(**of, capacitance=of["neutral"], data=of["filters"], source=of["charge"])


SCENARIOS: tuple[Scenario, ...] = tuple(map(_row, range(8)))
