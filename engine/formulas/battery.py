"""A bank of modules: energy, time, thresholds, currents and faults."""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.formulas._root import root
from engine.quantities import Ampere, Coulomb, Joule, Kelvin, Number, Ohm, PerSecond, Ratio, Second, Volt, VoltAmpere, VoltPerKelvin, Watt


def bank_voltage(module_voltage: Volt, series: int) -> Volt:
    """Voltage of modules in series; the same sum serves cells.

    Equation: U = s u
    Source: Kirchhoff's voltage law
    Range: linear, no error.

    >>> bank_voltage(12, 4)
    48
    """
    return series * module_voltage


def bank_capacity(module_capacity: Coulomb, parallel: int) -> Coulomb:
    """Capacity of strings in parallel.

    Equation: C = p c
    Source: Kirchhoff's current law
    Range: linear, no error.

    >>> bank_capacity(360_000, 4) / 3600
    400.0
    """
    return parallel * module_capacity


def bank_energy(voltage: Volt, capacity: Coulomb) -> Joule:
    """Energy of a full bank at its nominal voltage.

    Equation: E = U C
    Source: definition of energy
    Range: linear, no error.

    >>> bank_energy(50, 360_000) / 3.6e6
    5.0
    """
    return voltage * capacity


def usable_energy(energy: Joule, depth: Ratio, efficiency: Ratio) -> Joule:
    """Energy that a bank hands to the loads: down to the depth allowed, after the units' losses.

    Equation: E_u = E d eta
    Source: common practice (IEEE 1013 counts both); counting the losses is the safe side
    Range: d and eta from 0 to 1; linear, no error.

    >>> usable_energy(10e6, 0.5, 0.5)
    2500000.0
    """
    return energy * depth * efficiency


def run_time(energy: Joule, power: Watt) -> Second:
    """Time for which an energy carries a load.

    Equation: t = E / P
    Source: definition of power
    Range: P above 0; ZeroDivisionError where it is 0, which means for ever.

    >>> run_time(3.6e6, 500) / 3600
    2.0
    """
    return energy / power


def discharge_rate(current: Ampere, capacity: Coulomb) -> PerSecond:
    """C-rate: current over capacity.

    Equation: r = I / C
    Source: definition of the C-rate
    Range: C above 0; ZeroDivisionError where it is 0.

    >>> discharge_rate(50, 360_000) * 3600
    0.5
    """
    return current / capacity


def peukert_time(capacity: Coulomb, rated_time: Second, exponent: Number, current: Ampere) -> Second:
    """Time for which a lead-acid bank gives a current.

    `capacity` is stated at `rated_time`; for the old form with a one-ampere capacity, `rated_time` is C / 1 A.

    Equation: t = H (C / (I H))^k
    Source: Peukert's law, textbook form
    Range: lead-acid, currents of about C/100 to C/1 and k from 1 to 1.6; ZeroDivisionError where I or H is 0, ValueError where C / (I H) is below 0.

    >>> peukert_time(360_000, 72_000, 1, 10) / 3600
    10.0
    """
    ratio = capacity / (current * rated_time)
    if ratio < 0:
        raise ValueError("Peukert's law holds for a discharge only")
    share: float = ratio**exponent
    return rated_time * share


def compensated_voltage(voltage: Volt, slope: VoltPerKelvin, cells: int, temperature: Kelvin, reference: Kelvin = 298.15) -> Volt:
    """Charging voltage at a cell temperature; `slope` is negative and counts for one cell.

    Equation: U = U_25 + n k (T - 25 degC)
    Source: lead-acid data sheets (3 to 5 mV per cell and kelvin)
    Range: within the temperatures that the cell's maker allows; linear, no error.

    >>> round(compensated_voltage(57.6, -0.004, 24, 308.15), 3)
    56.64
    """
    return voltage + cells * slope * (temperature - reference)


def least_voltage(limits: Sequence[Volt]) -> Volt:
    """Lowest battery voltage at which a unit still works: the first of the unit's and the bank's limits to be met.

    Equation: U = max(U_dc,min, s u_low)
    Source: the site's own limits
    Range: at least one limit, else ValueError.

    >>> least_voltage([42, 46])
    46
    """
    return max(limits)


def rated_load(power: Watt, units: int) -> Watt:
    """Rated load of several units.

    Equation: P = n P_unit
    Source: sum
    Range: linear, no error.

    >>> rated_load(5000, 3)
    15000
    """
    return units * power


def battery_current(power: Watt, efficiency: Ratio, voltage: Volt) -> Ampere:
    """Direct current that a unit draws for a power it gives.

    Equation: I = P / (eta U)
    Source: conservation of energy
    Range: eta from above 0 to 1, U above 0; ZeroDivisionError where either is 0.

    >>> battery_current(4500, 0.9, 50)
    100.0
    """
    return power / (efficiency * voltage)


def pulsed_current(current: Ampere, apparent: VoltAmpere, power: Watt, ripple: Ratio) -> Ampere:
    """Thermal current of a single-phase unit's battery cable, which carries pulses of twice the line frequency.

    Equation: I_th = I sqrt(1 + (r S / P)^2 / 2)
    Source: a single-phase power pulses by S around P; effective value of a mean and a sine
    Range: r from 0 to 1, P above 0; ZeroDivisionError where P is 0.

    >>> round(pulsed_current(100, 5000, 5000, 1), 2)
    122.47
    """
    return current * root(1 + (ripple * apparent / power) ** 2 / 2)


def bank_resistance(module_resistance: Ohm, series: int, parallel: int) -> Ohm:
    """Internal resistance of a bank of like modules.

    Equation: R = s r / p
    Source: Kirchhoff's laws
    Range: p at least 1; ZeroDivisionError where it is 0.

    >>> bank_resistance(0.012, 2, 4)
    0.006
    """
    return module_resistance * series / parallel


def safe_resistance(resistance: Ohm, share: Ratio) -> Ohm:
    """Resistance taken for the greatest fault: a stated one is halved, a measured one stands.

    Equation: R' = a R
    Source: common practice, no source
    Range: a from above 0 to 1; linear, no error.

    >>> safe_resistance(0.012, 0.5)
    0.006
    """
    return resistance * share


def paralleled_current(current: Ampere, parallel: int) -> Ampere:
    """Current of like strings together.

    Equation: I = p i
    Source: Kirchhoff's current law
    Range: linear, no error.

    >>> paralleled_current(50, 4)
    200
    """
    return parallel * current


def greater_current(currents: Sequence[Ampere]) -> Ampere:
    """The largest of several currents, which breaking capacity is held against.

    Equation: I = max(I_i)
    Source: the safe side
    Range: at least one current, else ValueError.

    >>> greater_current([80, 120])
    120
    """
    return max(currents)


def lesser_current(currents: Sequence[Ampere]) -> Ampere:
    """The smallest of several currents, which limits and clearing are held against.

    Equation: I = min(I_i)
    Source: the safe side
    Range: at least one current, else ValueError.

    >>> lesser_current([80, 120])
    80
    """
    return min(currents)


def source_resistance(voltage: Volt, current: Ampere) -> Ohm:
    """Resistance of a source whose short-circuit current is known.

    Equation: R = U / I_k
    Source: Ohm's law
    Range: I_k above 0; ZeroDivisionError where it is 0.

    >>> source_resistance(50, 5000)
    0.01
    """
    return voltage / current


def bank_slope(slope: VoltPerKelvin, cells: int) -> VoltPerKelvin:
    """Temperature slope of a bank's charging voltages, from that of one cell.

    Equation: k = n k_cell
    Source: Kirchhoff's voltage law
    Range: linear, no error.

    >>> bank_slope(-0.004, 24)
    -0.096
    """
    return cells * slope


def allowed_difference(current: Ampere, resistance: Ohm) -> Volt:
    """Difference of voltage at which two banks may still be joined.

    Equation: dU = I R
    Source: Ohm's law
    Range: linear, no error.

    >>> allowed_difference(50, 0.02)
    1.0
    """
    return current * resistance


def bank_limit(module_limit: Ampere, largest_share: Ratio) -> Ampere:
    """Current of a bank at which its busiest string reaches the limit of its modules.

    Equation: I = i / w_max
    Source: Kirchhoff's current law
    Range: w_max from 1 / strings to 1; ZeroDivisionError where it is 0.

    >>> bank_limit(50, 0.25)
    200.0
    """
    return module_limit / largest_share


def unit_limit(bank_limit: Ampere, units: int, own_limit: Ampere, step: Ampere = 1.0) -> Ampere:
    """Charge setting of one unit: its part of the bank's limit, at most its own, in whole steps rounded down.

    Equation: I = floor(min(I_bank / n, I_unit))
    Source: common practice, no source
    Range: n at least 1, a step above 0; ZeroDivisionError where either is 0.

    >>> unit_limit(250, 3, 100)
    83.0
    """
    return math.floor(min(bank_limit / units, own_limit) / step + 1e-9) * step
