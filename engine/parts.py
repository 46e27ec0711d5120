"""What the stages give, together: the sums behind a plan."""

from __future__ import annotations

from engine.frozen import dataclass
from engine.stages.banks import Banks
from engine.stages.bill.part import Bill
from engine.stages.chain.part import Chain
from engine.stages.circuits import Circuits
from engine.stages.conductors.part import Conductors
from engine.stages.currents.part import Currents
from engine.stages.demand import Demand
from engine.stages.earthing import Bonds
from engine.stages.hours.part import Hours
from engine.stages.limits import Limits
from engine.stages.phases.part import Phases
from engine.stages.procedure.part import Procedure
from engine.stages.settings import Settings
from engine.stages.sharing import Sharing
from engine.stages.storage.part import Storage
from engine.stages.strings import Strings
from engine.stages.switchgear import Switchgear
from engine.stages.units import Units
from engine.stages.wall.part import Wall


@dataclass(frozen=True)
class Parts:
    """What every stage gave, by the stage's name."""

    earthing: Bonds
    demand: Demand
    phases: Phases
    units: Units
    banks: Banks
    storage: Storage
    strings: Strings
    limits: Limits
    circuits: Circuits
    wall: Wall
    currents: Currents
    conductors: Conductors
    switchgear: Switchgear
    sharing: Sharing
    chain: Chain
    hours: Hours
    settings: Settings
    bill: Bill
    procedure: Procedure
