"""What the stages give, together: the sums behind a plan."""

from __future__ import annotations

from dataclasses import dataclass

from engine.stages.banks import Banks
from engine.stages.bill import Bill
from engine.stages.circuits import Circuits
from engine.stages.currents import Currents
from engine.stages.demand import Demand
from engine.stages.earthing import Bonds
from engine.stages.hours import Hours
from engine.stages.laying.chained import Chain
from engine.stages.limits import Limits
from engine.stages.settings import Settings
from engine.stages.sharing import Sharing
from engine.stages.sized import Sized
from engine.stages.sizes import Sizes
from engine.stages.steps import Steps
from engine.stages.storage import Storage
from engine.stages.strings import Strings
from engine.stages.units import Units
from engine.stages.wall import Wall


@dataclass(frozen=True)
class Parts:
    """What every stage gave, by the stage's name."""

    earthing: Bonds
    demand: Demand
    sized: Sized
    units: Units
    banks: Banks
    storage: Storage
    strings: Strings
    limits: Limits
    circuits: Circuits
    wall: Wall
    currents: Currents
    sizes: Sizes
    sharing: Sharing
    chain: Chain
    hours: Hours
    settings: Settings
    bill: Bill
    steps: Steps
