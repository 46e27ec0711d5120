"""Nodes and links of a bus."""

from __future__ import annotations

import math
from typing import Annotated

from engine.quantities import Metre, Number, Ohm, Ratio, Second, Unit

MetrePerSecond = Annotated[float, Unit("m/s")]


def links(units: int) -> Number:
    """Links of a chain without branches.

    Equation: n - 1
    Source: one line from end to end (TIA-485 application guides)
    """
    return float(units - 1)


def node_load(unit_load: Ohm, loads: int) -> Ohm:
    """Resistance of all receivers of an RS-485 bus together.

    Equation: R = R_UL / n
    Source: TIA-485: 32 unit loads of 12 kohm
    """
    return unit_load / loads


def most_nodes(unit_loads: Number, share: Ratio, taken: Number = 0.0) -> Number:
    """Nodes of a fraction of a unit load that a bus carries beside what its bias resistors take.

    Equation: n = floor((UL - UL_taken) / share)
    Source: RS-485 design guide (unit loads)
    """
    return float(math.floor(float((unit_loads - taken) / share) + 1e-9))


def terminators_read(reading: Ohm, terminator: Ohm) -> Number:
    """How many terminators a reading speaks of.

    Equation: n = R_t / R, to the nearest whole
    Source: resistors in parallel
    """
    return float(round(float(terminator / reading)))


def longest_stub(rise_time: Second, velocity: Ratio, share: Ratio = 0.1, light: MetrePerSecond = 3e8) -> Metre:
    """Longest stub whose delay stays under a tenth of the driver's rise time.

    Equation: L = 0.1 t_r v c
    Source: RS-485 transceiver data sheets (rule); equation from memory
    """
    return share * rise_time * velocity * light
