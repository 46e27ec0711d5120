"""Banks: worksheets and data sheets of published examples."""

from __future__ import annotations

import math

from engine.formulas.ventilation import CubicMetrePerCoulomb
from engine.quantities import Ampere, Coulomb, Joule, Kelvin, Number, Ratio, Second, Volt, VoltPerKelvin


def wanted_energy(daily: Joule, days: Number, depth: Ratio, temperature_multiplier: Number) -> Joule:
    """Energy a bank must hold for days without a source.

    Equation: E = E_day N k_T / d
    Source: IEEE 1013 and Sandia SAND87-7023 worksheets (from memory)
    """
    return daily * days / depth * temperature_multiplier


def capacity_of(energy: Joule, voltage: Volt) -> Coulomb:
    """Capacity that holds an energy at a voltage.

    Equation: C = E / U
    Source: definition of energy
    """
    return energy / voltage


def battery_energy(load_energy: Joule, efficiency: Ratio) -> Joule:
    """Energy taken from a bank for an energy that the loads receive.

    Equation: E_dc = E_ac / eta
    Source: definition of efficiency
    """
    return load_energy / efficiency


def modules_in_series(voltage: Volt, module_voltage: Volt) -> Number:
    """Modules in series that make a voltage.

    Equation: s = U / u, to the nearest whole
    Source: Kirchhoff's voltage law
    """
    return float(round(float(voltage / module_voltage)))


def strings_for(capacity: Coulomb, module_capacity: Coulomb) -> Number:
    """Strings in parallel that hold a capacity, rounded up.

    Equation: p = ceil(C / c)
    Source: Sandia SAND87-7023 worksheet (from memory)
    """
    return float(math.ceil(float(capacity / module_capacity) - 1e-9))


def rated_current(capacity: Coulomb, time: Second) -> Ampere:
    """Current that empties a capacity in a time.

    Equation: I = C / t
    Source: definition of capacity
    """
    return capacity / time


def peukert_exponent(capacity_short: Coulomb, time_short: Second, capacity_long: Coulomb, time_long: Second) -> Number:
    """Exponent of Peukert's law from two ratings of one battery.

    Equation: k = ln(t2 / t1) / ln(I1 / I2)
    Source: Peukert's law
    """
    ratio = (capacity_short / time_short) / (capacity_long / time_long)
    return math.log(time_long / time_short) / math.log(ratio)


def temperature_slope(step: Volt, interval: Kelvin) -> VoltPerKelvin:
    """Slope of a charging voltage that a data sheet states for an interval of temperature.

    Equation: k = dU / dT
    Source: definition
    """
    return step / interval


def minute_rate_fault(minute_rate: Ampere, multiple: Number = 10.0) -> Ampere:
    """Short-circuit current of a lead-acid battery of which only the one-minute rate is known.

    Equation: I_k = 10 I_1min
    Source: IEEE 946 (from memory)
    """
    return multiple * minute_rate


def dilution_volume(dilution: Number, hydrogen: CubicMetrePerCoulomb, safety: Number) -> CubicMetrePerCoulomb:
    """Air wanted for each unit of gassing charge.

    Equation: v q s = 24 x 0.42e-3 m3/Ah x 5, rounded to 0.05 m3/Ah
    Source: IEC 62485-2 7.2 (clause from memory); EN 50272-3 gives the same product
    """
    return dilution * hydrogen * safety
