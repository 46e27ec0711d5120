"""Modules of published examples."""

from __future__ import annotations

from collections.abc import Sequence

from engine.quantities import Ampere, Kelvin, Number, PerKelvin, Volt


def cell_temperature(
    ambient: Kelvin,
    noct: Kelvin,
    irradiance: float,
    noct_ambient: Kelvin = 293.15,
    noct_irradiance: float = 800.0,
) -> Kelvin:
    """Temperature of a cell in the sun.

    Equation: T = T_a + (NOCT - 20 degC) G / 800
    Source: IEC 61215, standard relation (from memory)
    """
    return ambient + (noct - noct_ambient) * (irradiance / noct_irradiance)


def current_at(current: Ampere, coefficient: PerKelvin, temperature: Kelvin, reference: Kelvin = 298.15) -> Ampere:
    """Short-circuit current of a module at a cell temperature.

    Equation: I = I_25 (1 + a (T - 25 degC))
    Source: IEC 60891 (from memory)
    """
    return current * (1 + coefficient * (temperature - reference))


def paralleled_voltage(voltages: Sequence[Volt]) -> Volt:
    """Open voltage of strings in parallel: that of the highest, never their sum.

    Equation: U = max(U_i)
    Source: Kirchhoff's voltage law
    """
    return max(voltages)


def modules_each(modules: int, inputs: int) -> Number:
    """Modules on each input where every input gets the same number.

    Equation: floor(n / inputs)
    Source: like strings on every input
    """
    return float(modules // inputs)


def modules_left(modules: int, inputs: int) -> Number:
    """Modules left over where every input gets the same number.

    Equation: n mod inputs
    Source: like strings on every input
    """
    return float(modules % inputs)
