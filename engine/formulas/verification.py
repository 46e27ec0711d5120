"""What is measured before and after power: pre-charge, readings and their limits."""

from __future__ import annotations

import math

from engine.quantities import Ampere, Farad, Joule, Number, Ohm, Ratio, Second, Volt, Watt


def time_constant(resistance: Ohm, capacitance: Farad) -> Second:
    """Time constant of capacitors charged through a resistor.

    Equation: tau = R C
    Source: definition
    Range: linear, no error.

    >>> time_constant(25, 0.008)
    0.2
    """
    return resistance * capacitance


def charged_share(time_constants: Number) -> Ratio:
    """How full capacitors are after some time constants.

    Equation: 1 - exp(-n)
    Source: charging of a capacitor
    Range: n not below 0, else ValueError.

    >>> round(charged_share(5), 4)
    0.9933
    """
    if time_constants < 0:
        raise ValueError("a time before the beginning")
    return 1 - math.exp(-time_constants)


def charging_time(tau: Second, share: Ratio) -> Second:
    """Time until capacitors are charged to a share.

    Equation: t = -tau ln(1 - a)
    Source: charging of a capacitor
    Range: a from 0 to below 1, else ValueError: never quite full.

    >>> round(charging_time(0.2, 0.9933), 3)
    1.001
    """
    if not 0 <= share < 1:
        raise ValueError("capacitors are never quite full, and never less than empty")
    return -tau * math.log(1 - share)


def first_current(voltage: Volt, resistance: Ohm) -> Ampere:
    """Current at the moment a voltage meets empty capacitors.

    Equation: I = U / R
    Source: Ohm's law
    Range: R above 0; ZeroDivisionError where it is 0.

    >>> first_current(50, 25)
    2.0
    """
    return voltage / resistance


def pre_charge_resistance(voltage: Volt, current: Ampere) -> Ohm:
    """Least resistor that keeps the first current into empty capacitors within a limit.

    Equation: R = U / I
    Source: Ohm's law
    Range: I above 0; ZeroDivisionError where it is 0.

    >>> pre_charge_resistance(50, 2.5)
    20.0
    """
    return voltage / current


def held_energy(power: Watt, time: Second) -> Joule:
    """Energy that a resistor takes while its first power lasts: the bound where the capacitors do not charge.

    Equation: E = P t
    Source: Joule's law
    Range: linear, no error.

    >>> held_energy(100, 5)
    500
    """
    return power * time


def first_power(voltage: Volt, resistance: Ohm) -> Watt:
    """Power in the pre-charge resistor at its first moment.

    Equation: P = U^2 / R
    Source: Joule's law
    Range: R above 0; ZeroDivisionError where it is 0.

    >>> first_power(50, 25)
    100.0
    """
    return voltage**2 / resistance


def stored_energy(voltage: Volt, capacitance: Farad) -> Joule:
    """Energy of charged capacitors; the resistor takes as much once.

    Equation: E = C U^2 / 2
    Source: energy of a capacitor
    Range: linear in C, no error.

    >>> stored_energy(50, 0.008)
    10.0
    """
    return capacitance * voltage**2 / 2
