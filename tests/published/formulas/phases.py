"""Impedances, angles and unbalance of published examples."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence

from engine.quantities import Ampere, Number, Ohm, Radian, Ratio, Volt, VoltAmpere, Watt


def real_power(apparent: VoltAmpere, power_factor: Number) -> Watt:
    """Real power of an apparent power.

    Equation: P = S |cos phi|
    Source: power triangle
    """
    return apparent * abs(power_factor)


def three_phase_apparent(line_voltage: Volt, current: Ampere) -> VoltAmpere:
    """Apparent power of a balanced three-phase line.

    Equation: S = sqrt(3) U I
    Source: DOE Fundamentals Handbook, Electrical Science, Three-Phase Circuits
    """
    return 3**0.5 * line_voltage * current


def impedance_current(voltage: Volt, resistance: Ohm, reactance: Ohm) -> Ampere:
    """Current of an impedance at a voltage.

    Equation: I = U / sqrt(R^2 + X^2)
    Source: Ohm's law for alternating current
    """
    return voltage / math.hypot(resistance, reactance)


def impedance_angle(resistance: Ohm, reactance: Ohm) -> Radian:
    """Angle of an impedance: the current stands behind the voltage by it.

    Equation: phi = atan2(X, R)
    Source: Ohm's law for alternating current
    """
    return math.atan2(reactance, resistance)


def phasor_sum_angle(currents: Sequence[Ampere], angles: Sequence[Radian]) -> Radian:
    """Angle of the sum of phasors; 0 where they cancel.

    Equation: theta = arg(sum I_i exp(j theta_i))
    Source: Kirchhoff's current law
    """
    return cmath.phase(sum(cmath.rect(i, a) for i, a in zip(currents, angles, strict=True)))


def negative_sequence_ratio(line_voltages: Sequence[Volt]) -> Ratio:
    """Voltage unbalance as negative over positive sequence, from the three line voltages.

    Equation: u2 = sqrt((1 - sqrt(3 - 6 b)) / (1 + sqrt(3 - 6 b))), b = sum U^4 / (sum U^2)^2
    Source: IEC 61000-4-30 (from memory)
    """
    beta = sum(v**4 for v in line_voltages) / sum(v**2 for v in line_voltages) ** 2
    part = max(3 - 6 * beta, 0.0) ** 0.5
    return max((1 - part) / (1 + part), 0.0) ** 0.5


def pair_difference(currents: Sequence[Ampere]) -> Ratio:
    """Difference between the most and the least loaded phase, of the larger; 0 where nothing flows.

    Equation: d = (I_max - I_min) / I_max
    Source: a utility's rule of 10 % between any two phases, as quoted on a trade forum
    """
    return (max(currents) - min(currents)) / max(currents) if max(currents) > 0 else 0.0


def greedy_ratio(phases: int) -> Number:
    """Greatest ratio of the busiest phase after placing the largest load first to the best there is.

    Equation: 4/3 - 1/(3 m)
    Source: R. L. Graham, Bounds on multiprocessing timing anomalies (1969)
    """
    return 4 / 3 - 1 / (3 * phases)


def _star(voltage: Volt, resistances: Sequence[Ohm], angles: Sequence[Radian]) -> tuple[Volt, Volt]:
    total = sum(1 / r for r in resistances)
    real = sum(voltage * math.cos(a) / r for r, a in zip(resistances, angles, strict=True)) / total
    return real, sum(voltage * math.sin(a) / r for r, a in zip(resistances, angles, strict=True)) / total


def star_point_voltage(voltage: Volt, resistances: Sequence[Ohm], angles: Sequence[Radian]) -> Volt:
    """Voltage of the loads' star point against the sources' once the neutral is lost.

    Equation: U_N = |sum(U_i / R_i)| / sum(1 / R_i)
    Source: Millman's theorem
    """
    real, imaginary = _star(voltage, resistances, angles)
    return (real**2 + imaginary**2) ** 0.5


def open_neutral_voltage(voltage: Volt, resistances: Sequence[Ohm], angles: Sequence[Radian], place: int) -> Volt:
    """Voltage across the load on phase `place` (from 0) once the neutral is lost.

    Equation: U = |U_i - U_N|
    Source: Millman's theorem
    """
    real, imaginary = _star(voltage, resistances, angles)
    across = voltage * math.cos(angles[place]) - real
    return (across**2 + (voltage * math.sin(angles[place]) - imaginary) ** 2) ** 0.5
