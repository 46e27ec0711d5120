"""Generators and chargers on the incoming side."""

from __future__ import annotations

import math

from engine.quantities import Ampere, Metre, Number, Ratio, Volt, VoltAmpere


def altitude_factor(altitude: Metre, step: Metre = 304.8, knee: Metre = 1828.8, slope: Ratio = 0.03, steep: Ratio = 0.06) -> Ratio:
    """What an engine keeps of its power at an altitude: 3 % lost each 1000 ft up to 6000 ft, 6 % beyond.

    Equation: f = 1 - 0.03 h / 1000 ft - 0.03 max(0, h - 6000 ft) / 1000 ft
    Source: a dealer's design notes for off-grid generators (secondary)
    Range: engines without a turbocharger; 1 below sea level, never below 0; ZeroDivisionError where the step is 0.

    >>> round(altitude_factor(1524), 9)
    0.85
    """
    low = max(min(altitude, knee), 0 * knee)
    high = max(altitude - knee, 0 * knee)
    return max(1 - slope * low / step - steep * high / step, 0.0)


def input_current(charge_current: Ampere, charge_voltage: Volt, efficiency: Ratio, power_factor: Number, voltage: Volt) -> Ampere:
    """Line current with which one unit charges.

    Equation: I = I_dc U_dc / (eta cos phi U)
    Source: conservation of energy
    Range: eta and cos phi from above 0 to 1, U above 0; ZeroDivisionError where one is 0.

    >>> input_current(80, 50, 0.8, 1, 250)
    20.0
    """
    return charge_current * charge_voltage / (efficiency * power_factor * voltage)


def generator_current(rating: VoltAmpere, voltage: Volt, phases: int) -> Ampere:
    """Current of a generator on each of its phases; `voltage` is phase to neutral.

    Equation: I = S / (n U)
    Source: definition of apparent power
    Range: U above 0, n at least 1; ZeroDivisionError where either is 0.

    >>> generator_current(15_000, 250, 3)
    20.0
    """
    return rating / (voltage * phases)


def share_of(current: Ampere, share: Ratio) -> Ampere:
    """Part of a device's or source's current that may be used for hours.

    Equation: I = k I_n
    Source: NEC 210.20 (80 % of a breaker); 80 % of a generator is common practice, no source
    Range: k from 0 to 1; linear, no error.

    >>> share_of(60, 0.8)
    48.0
    """
    return share * current


def unit_incoming(current: Ampere, units: int, own_limit: Ampere, step: Ampere = 1.0) -> Ampere:
    """Incoming setting of one unit: its part of the source's current on its phase, at most its own, in whole steps rounded down.

    Equation: I = floor(min(I_source / n, I_unit))
    Source: common practice, no source
    Range: n at least 1, a step above 0; ZeroDivisionError where either is 0.

    >>> unit_incoming(63, 2, 40)
    31.0
    """
    return math.floor(min(current / units, own_limit) / step + 1e-9) * step
