"""Strings of modules on a unit's solar input."""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.quantities import Ampere, Joule, Kelvin, Number, PerKelvin, Ratio, Second, Volt, Watt


def voltage_at(voltage: Volt, coefficient: PerKelvin, temperature: Kelvin, reference: Kelvin = 298.15) -> Volt:
    """Voltage of a module (open or at its best point) at a cell temperature; `coefficient` is negative.

    Equation: U = U_25 (1 + b (T - 25 degC))
    Source: NEC 690.7(A)(1), IEC 62548 (from memory)
    Range: about -40 to 85 degC, where cells are linear; no error.

    >>> round(voltage_at(50, -0.003, 263.15), 3)
    55.25
    """
    return voltage * (1 + coefficient * (temperature - reference))


def tabled_cold_voltage(voltage: Volt, factor: Ratio) -> Volt:
    """Open voltage of a cold module whose maker states no coefficient.

    Equation: U = f U_25
    Source: NEC table 690.7(A)
    Range: crystalline silicon; linear, no error.

    >>> tabled_cold_voltage(50, 1.25)
    62.5
    """
    return voltage * factor


def string_voltage(module_voltage: Volt, series: int) -> Volt:
    """Voltage of a string.

    Equation: U = s u
    Source: Kirchhoff's voltage law
    Range: linear, no error.

    >>> string_voltage(50, 8)
    400
    """
    return series * module_voltage


def most_in_series(limit: Volt, cold_voltage: Volt) -> Number:
    """Modules in series that stay under a limit on the coldest morning.

    Equation: s = floor(U_max / u_cold)
    Source: NEC 690.7
    Range: u_cold above 0; ZeroDivisionError where it is 0.

    >>> most_in_series(500, 55)
    9.0
    """
    return float(math.floor(float(limit / cold_voltage) + 1e-9))


def least_in_series(minimum: Volt, hot_voltage: Volt) -> Number:
    """Modules in series that reach a minimum when hot.

    Equation: s = ceil(U_min / u_hot)
    Source: common practice, no source
    Range: u_hot above 0; ZeroDivisionError where it is 0.

    >>> least_in_series(120, 33)
    4.0
    """
    return float(math.ceil(float(minimum / hot_voltage) - 1e-9))


def circuit_current(short_circuit: Ampere, strings: int, factor: Number) -> Ampere:
    """Current for which a solar circuit is built: 1.25 for its greatest current, 1.5625 with continuous duty.

    Equation: I = f p I_sc
    Source: NEC 690.8(A) and (B); IEC 62548 (from memory)
    Range: linear, no error.

    >>> circuit_current(10, 2, 1.25)
    25.0
    """
    return factor * strings * short_circuit


def strings_current(current: Ampere, strings: int) -> Ampere:
    """Current of like strings in parallel.

    Equation: I = p i
    Source: Kirchhoff's current law
    Range: linear, no error.

    >>> strings_current(10, 2)
    20
    """
    return strings * current


def array_power(module_power: Watt, series: int, strings: int) -> Watt:
    """Power of strings of like modules.

    Equation: P = s p P_module
    Source: sum
    Range: linear, no error.

    >>> array_power(450, 8, 2)
    7200
    """
    return module_power * series * strings


def peak_sun(hours: Number, hour: Second = 3600.0) -> Second:
    """Time of full sun that a day's irradiation amounts to.

    Equation: t = n x 1 h
    Source: definition of peak sun hours: the day's irradiation over 1 kW/m2
    Range: 0 to 24 hours; linear, no error.

    >>> peak_sun(2)
    7200.0
    """
    return hours * hour


def day_yield(power: Watt, sun: Second, performance: Ratio) -> Joule:
    """Energy that an array gives in a day.

    Equation: E = P t_sun eta
    Source: peak-sun-hours method, common practice (IEEE 1562, from memory)
    Range: performance from 0 to 1; linear, no error.

    >>> day_yield(5000, 7200, 0.75) / 3.6e6
    7.5
    """
    return power * sun * performance


def sun_share(hour: int, rise: int, down: int) -> Ratio:
    """Part of the day's irradiation that falls into one hour: half a sine from sunrise to sunset.

    Equation: w = (cos(pi (h - r) / d) - cos(pi (h + 1 - r) / d)) / 2, d = s - r
    Source: common practice, no source
    Range: whole hours; 0 in the night and where the sun does not rise; no error.

    >>> round(sun_share(12, 6, 18), 4)
    0.1294
    """
    if not rise <= hour < down:
        return 0.0
    day = down - rise
    return (math.cos(math.pi * (hour - rise) / day) - math.cos(math.pi * (hour + 1 - rise) / day)) / 2


def hour_yield(energy: Joule, share: Ratio, hour: Second = 3600.0) -> Watt:
    """Mean power of an array in one hour of its day.

    Equation: P_h = w_h E / 1 h
    Source: definition of power
    Range: an hour above 0; ZeroDivisionError where it is 0.

    >>> hour_yield(3.6e6, 0.5)
    500.0
    """
    return energy * share / hour


def array_of_units(power: Watt, units: int) -> Watt:
    """Power of the arrays on several units.

    Equation: P = n P_unit
    Source: sum
    Range: linear, no error.

    >>> array_of_units(5000, 3)
    15000
    """
    return units * power


def used_power(powers: Sequence[Watt]) -> Watt:
    """Solar power that a unit uses: of its modules and of its own limit, the smaller.

    Equation: P = min(P_i)
    Source: the unit's limit
    Range: at least one power, else ValueError.

    >>> used_power([7200, 5500])
    5500
    """
    return min(powers)
