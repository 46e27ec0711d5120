"""How far data keeps from power (EN 50174-2)."""

from __future__ import annotations

import math

from engine.quantities import Ampere, Metre, Number, Ratio


def circuit_count(current: Ampere, phases: int, circuits: int, base: Ampere = 20.0) -> Number:
    """Power circuits counted as single-phase circuits of up to 20 A.

    Equation: n = circuits x phases x ceil(I / 20 A)
    Source: EN 50174-2 counting rule (from memory)
    Range: a base above 0; ZeroDivisionError where it is 0.

    >>> circuit_count(40, 3, 1)
    6.0
    """
    return float(circuits * phases * math.ceil(float(current / base) - 1e-9))


def separation(base: Metre, factor: Ratio) -> Metre:
    """Separation of a data cable from power cables along its way.

    Equation: A = S P
    Source: EN 50174-2
    Range: linear, no error.

    >>> separation(0.1, 0.5)
    0.05
    """
    return base * factor
