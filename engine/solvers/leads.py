"""Voltage at a bar from which machines draw power, not current, each over its own lead."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

_ROUNDS = 500


def bar_voltage(source: float, common: float, leads: Sequence[float], power: float) -> float | None:
    """The bar's voltage (V) where every machine takes `power` (W) at the end of its lead (ohm, out and back).

    `source` is the voltage (V) ahead of the `common` resistance (ohm). None where the leads cannot carry that power at all.
    Falling steps from the source's voltage reach the higher of the two solutions, the one a real set runs at.
    """
    volts = source
    for _ in range(_ROUNDS):
        if any(volts * volts < 4 * r * power for r in leads) or volts <= 0:
            return None
        drawn = sum(2 * power / (volts + sqrt(volts * volts - 4 * r * power)) for r in leads)
        lower = source - common * drawn
        if abs(lower - volts) <= 1e-12 * source:
            return lower
        volts = lower
    return None
