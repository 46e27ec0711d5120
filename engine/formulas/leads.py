"""What a lead does to a machine that draws power, not current."""

from __future__ import annotations

from engine.quantities import Ampere, Ohm, Ratio, Volt, Watt


def drawn_current(voltage: Volt, resistance: Ohm, power: Watt) -> Ampere:
    """Current of a machine that takes a power at the end of a lead.

    Equation: I = 2 P / (U + sqrt(U^2 - 4 P R))
    Source: P = (U - R I) I, the smaller root
    """
    root: Volt = (voltage * voltage - 4 * power * resistance) ** 0.5
    return 2 * power / (voltage + root)


def end_voltage(voltage: Volt, resistance: Ohm, current: Ampere) -> Volt:
    """Voltage at the end of a lead.

    Equation: U2 = U - R I
    Source: Ohm's law
    """
    return voltage - resistance * current


def both_poles(pole: Ohm) -> Ohm:
    """Resistance of a lead out and back.

    Equation: R = 2 R_pole
    Source: two like conductors in series
    """
    return 2 * pole


def drawn_power(power: Watt, efficiency: Ratio) -> Watt:
    """Power that a unit takes from the battery for what it gives.

    Equation: P_dc = P / eta
    Source: definition of efficiency
    """
    return power / efficiency
