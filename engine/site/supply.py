"""What comes in, what goes out, and the set of units between."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field

from engine.site.kinds import ApparentPower, Count, Fault, Frequency, Part, Rating, Some, Tag, Voltage, ask

Arrangement = Literal["single-phase", "split-phase", "three-phase"]
IncomingKind = Literal["utility", "generator", "none"]
Loss = Literal["stops", "carries on"]

# The lines of each arrangement with the angle of its source, rad; and the lines alone.
ANGLES: Mapping[Arrangement, Mapping[str, float]] = {
    "single-phase": {"L1": 0.0},
    "split-phase": {"L1": 0.0, "L2": math.pi},
    "three-phase": {"L1": 0.0, "L2": -2 * math.pi / 3, "L3": 2 * math.pi / 3},
}
LINES: Mapping[Arrangement, tuple[str, ...]] = {arrangement: tuple(angles) for arrangement, angles in ANGLES.items()}


class Output(Part):
    """`[output]`"""

    arrangement: Arrangement | None = ask(
        "Phases of the supply",
        "How many phases the loads need: single-phase, split-phase or three-phase.",
        "Read the plates of the largest machines: three-phase motors need three-phase.",
    )
    voltage: Voltage | None = ask(
        "Voltage to neutral", "Phase to neutral.", "The plates of the machines; 230 V or 120 V almost everywhere."
    )
    frequency: Frequency | None = ask("Frequency", "50 Hz or 60 Hz, as the country has it.", "The plate of any machine.")


class Incoming(Part):
    """`[incoming]`"""

    kind: IncomingKind | None = ask("What comes in", "What feeds the set besides the battery.")
    arrangement: Arrangement | None = ask(
        "Phases coming in", "How many phases come in.", "Count the poles of the main switch: one, two or three beside the neutral."
    )
    voltage: Voltage | None = ask("Voltage coming in", "Phase to neutral.", "A voltmeter between a phase and neutral.")
    breaker: Rating | None = ask(
        "Incoming breaker", "The device ahead of the whole set. Never assumed.", "It is printed on the device's front."
    )
    prospective_fault: Fault | None = ask(
        "Fault level there",
        "The most current a short circuit there can draw.",
        "A letter from the utility. Own transformer: its rated current over its impedance (400 A at 4 % is 10 kA). Don't know: leave it open.",
    )
    rating: ApparentPower | None = ask("Generator rating", "What a generator can give for hours.", "The plate, prime rating, not standby.")


class Set(Part):
    """`[set]`: the units acting together as one supply"""

    count: Some | None = ask(
        "Number of units",
        "How many units; leave it open and the plan finds the fewest.",
        "Your order; or answer the loads and leave this open.",
    )
    per_phase: Annotated[list[Count], Field(min_length=1, max_length=3)] | None = ask(
        "Units on each phase", "Units on L1, L2, L3.", "One number a phase with commas between; they add up to the number of units."
    )
    spare: Count | None = ask(
        "Units to spare",
        "Units that may be out on a phase while it still carries its loads.",
        "Ask the owner what must go on while a unit is away for repair.",
    )
    lead: Tag | None = ask(
        "The leading unit",
        "The unit whose waveform the others follow.",
        "Any unit of the set; usually L1-1, with a place at one end of the data chain.",
    )
    lead_loss: Loss | None = ask("If the lead is lost", "What the supply does when the lead is lost.", "The units' manual.")
    phase_loss: Loss | None = ask("If a phase is lost", "What it does when the last unit of a phase is lost.", "The units' manual.")
