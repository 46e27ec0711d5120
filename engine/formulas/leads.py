"""What a lead does to a machine that draws power, not current."""

from __future__ import annotations

from engine.formulas._root import root
from engine.quantities import Ampere, Ohm, Ratio, Volt, Watt


def drawn_current(voltage: Volt, resistance: Ohm, power: Watt) -> Ampere:
    """Current of a machine that takes a power at the end of a lead.

    Equation: I = 2 P / (U + sqrt(U^2 - 4 P R))
    Source: P = (U - R I) I, the smaller root
    Range: U above 0 and 4 P R not above U^2, else ValueError: the lead cannot carry that power at all.

    >>> drawn_current(50, 0.1, 960)
    20.0
    """
    square = voltage * voltage
    left = square - 4 * power * resistance
    # A load at the very limit may miss it by its last digits.
    if voltage <= 0 or left < -1e-9 * square:
        raise ValueError("the lead cannot carry that power at all")
    return 2 * power / (voltage + root(max(left, 0 * left)))


def end_voltage(voltage: Volt, resistance: Ohm, current: Ampere) -> Volt:
    """Voltage at the end of a lead.

    Equation: U2 = U - R I
    Source: Ohm's law
    Range: linear, no error; below 0 where the lead cannot carry the current.

    >>> end_voltage(50, 0.1, 20)
    48.0
    """
    return voltage - resistance * current


def both_poles(pole: Ohm) -> Ohm:
    """Resistance of a lead out and back.

    Equation: R = 2 R_pole
    Source: two like conductors in series
    Range: linear, no error.

    >>> both_poles(0.003)
    0.006
    """
    return 2 * pole


def drawn_power(power: Watt, efficiency: Ratio) -> Watt:
    """Power that a unit takes from the battery for what it gives.

    Equation: P_dc = P / eta
    Source: definition of efficiency
    Range: eta from above 0 to 1; ZeroDivisionError where it is 0.

    >>> drawn_power(4500, 0.9)
    5000.0
    """
    return power / efficiency
