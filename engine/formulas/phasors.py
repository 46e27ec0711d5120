"""Powers, phasor sums and unbalance of one, two and three phases.

Angles are those of the source: L1 at 0, L2 at -120 and L3 at +120 degrees; split-phase L2 at 180.
A positive power factor lags, a negative one leads.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.formulas._root import root
from engine.quantities import Ampere, Number, Ohm, Radian, Ratio, Var, Volt, VoltAmpere, Watt


def apparent_power(power: Watt, power_factor: Number) -> VoltAmpere:
    """Apparent power of a load at a power factor (0 < |pf| <= 1).

    Equation: S = P / |cos phi|
    Source: definition of the power factor (IEC 60050-131, 131-11-46, from memory)
    """
    return power / abs(power_factor)


def reactive_power(power: Watt, power_factor: Number) -> Var:
    """Reactive power of a load, positive where it lags.

    Equation: Q = P sqrt(1 / cos^2 phi - 1)
    Source: power triangle
    """
    reactive = power * root(1 / power_factor**2 - 1)
    return reactive if power_factor > 0 else -reactive


def counted_power(power: Watt, demand: Ratio) -> Watt:
    """Power of a machine that must be counted at the worst moment.

    Equation: P = g P_n
    Source: demand factor, IEC 60364-3 311 (clause from memory)
    """
    return demand * power


def several(power: Watt, count: int) -> Watt:
    """Power of several machines alike.

    Equation: P = n P_1
    Source: sum
    """
    return count * power


def several_reactive(reactive: Var, count: int) -> Var:
    """Reactive power of several machines alike.

    Equation: Q = n Q_1
    Source: sum
    """
    return count * reactive


def several_starts(apparent: VoltAmpere, count: int) -> VoltAmpere:
    """Apparent power of several machines that start together.

    Equation: S = n S_1
    Source: sum; added arithmetically, which is the safe bound
    """
    return count * apparent


def phase_part(power: Watt, phases: int) -> Watt:
    """Real power that each phase gives to a balanced load.

    Equation: P_phase = P / n
    Source: symmetry
    """
    return power / phases


def reactive_part(reactive: Var, phases: int) -> Var:
    """Reactive power that each phase gives to a balanced load.

    Equation: Q_phase = Q / n
    Source: symmetry
    """
    return reactive / phases


def used_share(power: Watt, apparent: VoltAmpere, unit_power: Watt, unit_apparent: VoltAmpere, units: int) -> Ratio:
    """How much of the units of a phase its loads use.

    Equation: u = max(P / (n P_unit), S / (n S_unit))
    Source: both ratings of a unit hold at once
    """
    return max(power / (units * unit_power), apparent / (units * unit_apparent))


def power_left(unit_apparent: VoltAmpere, used: Ratio, units: int, out: int) -> VoltAmpere:
    """Apparent power that a phase has left while some of its units are out; below 0 it is missing.

    Equation: S_left = S_unit (n - out - u n)
    Source: difference of rating and load
    """
    return unit_apparent * (units - out - used * units)


def surge_limit(unit_surge: VoltAmpere, voltage: Volt, units: int) -> Ampere:
    """Current that the units of a phase give while motors start.

    Equation: I = n S_surge / U
    Source: definition of apparent power
    """
    return units * unit_surge / voltage


def power_angle(source_angle: Radian, power: Watt, reactive: Var) -> Radian:
    """Angle of the current of a phase that carries both powers; that of the source where it carries none.

    Equation: theta = theta_source - atan2(Q, P)
    Source: power triangle
    """
    size = root(power**2 + reactive**2)
    return source_angle - (math.atan2(reactive / size, power / size) if size > 0 else 0.0)


def joined_power(power: Watt, reactive: Var) -> VoltAmpere:
    """Apparent power of a real and a reactive power.

    Equation: S = sqrt(P^2 + Q^2)
    Source: power triangle
    """
    return root(power**2 + reactive**2)


def phase_current(apparent: VoltAmpere, voltage: Volt) -> Ampere:
    """Current that an apparent power draws at a phase voltage.

    Equation: I = S / U
    Source: definition of apparent power
    """
    return apparent / voltage


def summed_power(powers: Sequence[Watt]) -> Watt:
    """Real power of several loads on one phase.

    Equation: P = sum P_i
    Source: conservation of energy
    """
    return sum(powers)


def summed_reactive(reactives: Sequence[Var]) -> Var:
    """Reactive power of several loads on one phase.

    Equation: Q = sum Q_i
    Source: conservation of reactive power (Boucherot)
    """
    return sum(reactives)


def _parts(currents: Sequence[Ampere], angles: Sequence[Radian]) -> tuple[Ampere, Ampere]:
    real = sum(i * math.cos(a) for i, a in zip(currents, angles, strict=True))
    return real, sum(i * math.sin(a) for i, a in zip(currents, angles, strict=True))


def phasor_sum(currents: Sequence[Ampere], angles: Sequence[Radian]) -> Ampere:
    """Size of the sum of phasors: the neutral current of phases, or a line current of loads.

    Equation: I = |sum I_i exp(j theta_i)|
    Source: Kirchhoff's current law; for unity power factor sqrt(a^2 + b^2 + c^2 - ab - bc - ca)
    """
    real, imaginary = _parts(currents, angles)
    return root(real**2 + imaginary**2)


def line_line_power(power: Watt, reactive: Var, side: int) -> Watt:
    """Real power that one of two phases gives to a load between them, in a three-phase set.

    `side` is 1 for the phase that comes first in the order L1, L2, L3, L1, and -1 for the other.

    Equation: P_1,2 = P / 2 +- Q / (2 sqrt 3)
    Source: Kirchhoff's laws: S_1 = S V_1 / (V_1 - V_2) and S_2 = S V_2 / (V_2 - V_1)
    """
    return power / 2 + side * reactive / (2 * 3**0.5)


def line_line_reactive(power: Watt, reactive: Var, side: int) -> Var:
    """Reactive power that one of two phases gives to a load between them, in a three-phase set.

    `side` as in `line_line_power`.

    Equation: Q_1,2 = Q / 2 -+ P / (2 sqrt 3)
    Source: Kirchhoff's laws: S_1 = S V_1 / (V_1 - V_2) and S_2 = S V_2 / (V_2 - V_1)
    """
    return reactive / 2 - side * power / (2 * 3**0.5)


def rms_sum(components: Sequence[Ampere]) -> Ampere:
    """Effective value of currents that never coincide: harmonics, or pulses one after another.

    Equation: I = sqrt(sum I_h^2)
    Source: orthogonality of harmonics (Parseval)
    """
    return root(sum(i**2 for i in components))


def triplen_sum(third_harmonics: Sequence[Ampere]) -> Ampere:
    """Neutral current of the harmonics divisible by three: they stand in phase and add.

    `third_harmonics` are the triplen currents of the phases.

    Equation: I_N3 = sum I_3,i
    Source: G. M. Masters, Renewable and Efficient Electric Power Systems, eq. 2.102 (3 I_3 where balanced)
    """
    return sum(third_harmonics)


def harmonic_current(current: Ampere, content: Ratio) -> Ampere:
    """Harmonic part of a line current, taken of the whole current (a little above that of its fundamental).

    Equation: I_h = h I
    Source: definition of harmonic content (IEC 60050-551, from memory)
    """
    return content * current


def unbalance(currents: Sequence[Ampere]) -> Ratio:
    """Unbalance of phase currents: greatest deviation from the mean; 0 where nothing flows.

    Equation: u = max |I_i - I_mean| / I_mean
    Source: NEMA MG 1 definition, applied to currents
    """
    mean = sum(currents) / len(currents)
    return max(abs(i - mean) for i in currents) / mean if mean > 0 else 0.0


def voltage_between(first: Volt, first_angle: Radian, second: Volt, second_angle: Radian) -> Volt:
    """Voltage across an open pole between two sources.

    Equation: U = sqrt(U1^2 + U2^2 - 2 U1 U2 cos(theta1 - theta2))
    Source: law of cosines; phasing across an open device
    """
    square = first**2 + second**2 - 2 * first * second * math.cos(first_angle - second_angle)
    return root(square)


def rotation(angles: Sequence[Radian]) -> Number:
    """Sense in which three phases follow each other: 1 for L1, L2, L3 (clockwise), -1 for the reverse.

    Equation: sign of sin(theta1 - theta2)
    Source: definition of the phase sequence
    """
    return math.copysign(1.0, math.sin(angles[0] - angles[1]))


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
    return root(real**2 + imaginary**2)


def open_neutral_voltage(voltage: Volt, resistances: Sequence[Ohm], angles: Sequence[Radian], place: int) -> Volt:
    """Voltage across the load on phase `place` (from 0) once the neutral is lost.

    Equation: U = |U_i - U_N|
    Source: Millman's theorem
    """
    real, imaginary = _star(voltage, resistances, angles)
    across = voltage * math.cos(angles[place]) - real
    return root(across**2 + (voltage * math.sin(angles[place]) - imaginary) ** 2)
