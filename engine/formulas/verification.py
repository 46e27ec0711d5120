"""What is measured before and after power: pre-charge, readings and their limits."""

from __future__ import annotations

from engine.quantities import Ampere, Farad, Joule, Number, Ohm, Second, Volt, Watt


def time_constant(resistance: Ohm, capacitance: Farad) -> Second:
    """Time constant of capacitors charged through a resistor.

    Equation: tau = R C
    Source: definition
    Range: linear, no error.

    >>> time_constant(25, 0.008)
    0.2
    """
    return resistance * capacitance


def settled_time(tau: Second, constants: Number = 5.0) -> Second:
    """Time after which capacitors count as charged through a resistor.

    Equation: t = 5 tau
    Source: Texas Instruments TIDUF73: a passive pre-charge counts as complete after five time constants, 99.3 %
    Range: linear, no error.

    >>> settled_time(0.2)
    1.0
    """
    return constants * tau


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
