"""What is measured before and after power: pre-charge, readings and their limits."""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.quantities import Ampere, Farad, Joule, Number, Ohm, Ratio, Second, Volt, Watt


def time_constant(resistance: Ohm, capacitance: Farad) -> Second:
    """Time constant of capacitors charged through a resistor.

    Equation: tau = R C
    Source: definition
    """
    return resistance * capacitance


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


def first_current(voltage: Volt, resistance: Ohm) -> Ampere:
    """Current at the moment a voltage meets empty capacitors.

    Equation: I = U / R
    Source: Ohm's law
    """
    return voltage / resistance


def pre_charge_resistance(voltage: Volt, current: Ampere) -> Ohm:
    """Least resistor that keeps the first current into empty capacitors within a limit.

    Equation: R = U / I
    Source: Ohm's law
    """
    return voltage / current


def held_energy(power: Watt, time: Second) -> Joule:
    """Energy that a resistor takes while its first power lasts: the bound where the capacitors do not charge.

    Equation: E = P t
    Source: Joule's law
    """
    return power * time


def first_power(voltage: Volt, resistance: Ohm) -> Watt:
    """Power in the pre-charge resistor at its first moment.

    Equation: P = U^2 / R
    Source: Joule's law
    """
    return voltage**2 / resistance


def stored_energy(voltage: Volt, capacitance: Farad) -> Joule:
    """Energy of charged capacitors; the resistor takes as much once.

    Equation: E = C U^2 / 2
    Source: energy of a capacitor
    """
    return capacitance * voltage**2 / 2


def mean_resistance(readings: Sequence[Ohm]) -> Ohm:
    """Mean of like joints.

    Equation: R = sum(R_i) / n
    Source: definition
    """
    return sum(readings) / len(readings)


def joint_limit(mean: Ohm, share: Ratio = 0.1, least: Ohm = 5e-6) -> Ohm:
    """Resistance above which a joint is remade: 10 % or 5 micro-ohm over the mean of like joints, the larger.

    Equation: R = R_mean + max(0.1 R_mean, 5 micro-ohm)
    Source: a battery maker's installation manual, section on connection resistance
    """
    return mean + max(share * mean, least)


def reading_spread(readings: Sequence[Volt]) -> Ratio:
    """Difference between the highest and the lowest reading, of their mean.

    Equation: d = (U_max - U_min) / U_mean
    Source: IEC 62446-1 (like strings within 5 %)
    """
    return (max(readings) - min(readings)) * len(readings) / sum(readings)


def within(value: Number, low: Number, high: Number) -> Number:
    """Whether a reading lies inside its limits: 1 where it does, 0 where not.

    Equation: low <= x <= high
    Source: definition
    """
    return 1.0 if low <= value <= high else 0.0
