"""Capacitors charged through a resistor, and the time for any share of it."""

from __future__ import annotations

import math

from engine.quantities import Farad, Joule, Number, Ratio, Second, Volt


def charged_share(time_constants: Number) -> Ratio:
    """How full capacitors are after some time constants.

    Equation: 1 - exp(-n)
    Source: charging of a capacitor
    """
    return 1 - math.exp(-time_constants)


def charging_time(tau: Second, share: Ratio) -> Second:
    """Time until capacitors are charged to a share.

    Equation: t = -tau ln(1 - a)
    Source: charging of a capacitor
    """
    return -tau * math.log(1 - share)


def stored_energy(voltage: Volt, capacitance: Farad) -> Joule:
    """Energy of charged capacitors; the resistor takes as much once.

    Equation: E = C U^2 / 2
    Source: energy of a capacitor
    """
    return capacitance * voltage**2 / 2
