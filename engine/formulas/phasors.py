"""Powers, phasor sums and unbalance of one, two and three phases.

Angles are those of the source: L1 at 0, L2 at -120 and L3 at +120 degrees; split-phase L2 at 180.
A positive power factor lags, a negative one leads.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.formulas._root import root
from engine.quantities import Ampere, Number, Radian, Ratio, Var, Volt, VoltAmpere, Watt


def apparent_power(power: Watt, power_factor: Number) -> VoltAmpere:
    """Apparent power of a load at a power factor (0 < |pf| <= 1).

    Equation: S = P / |cos phi|
    Source: definition of the power factor (IEC 60050-131, 131-11-46, from memory)
    Range: 0 < |pf| <= 1, else ValueError.

    >>> apparent_power(4000, 0.8)
    5000.0
    """
    if not 0 < abs(power_factor) <= 1:
        raise ValueError("a power factor is above 0 and at most 1, whatever its sign")
    return power / abs(power_factor)


def real_power(apparent: VoltAmpere, power_factor: Number) -> Watt:
    """Real power of a load whose apparent power is known.

    Equation: P = S |cos phi|
    Source: definition of the power factor (IEC 60050-131, 131-11-46, from memory)
    Range: linear, no error.

    >>> real_power(4000, 0.8)
    3200.0
    """
    return apparent * abs(power_factor)


def power_factor(power: Watt, apparent: VoltAmpere) -> Number:
    """Power factor of a load whose real and apparent power are known.

    Equation: cos phi = P / S
    Source: definition of the power factor (IEC 60050-131, 131-11-46, from memory)
    Range: S above 0; ZeroDivisionError where it is 0.

    >>> power_factor(3200, 4000)
    0.8
    """
    return power / apparent


def larger_real_power(power: Watt, apparent: VoltAmpere, power_factor: Number) -> Watt:
    """Real power of a load of which three things are told that need not agree.

    Equation: P = max(P_told, S cos phi)
    Source: power triangle; of two readings the larger
    Range: no error.

    >>> larger_real_power(3000, 4000, 0.8)
    3200.0
    """
    return max(power, apparent * power_factor)


def larger_apparent_power(power: Watt, apparent: VoltAmpere, power_factor: Number) -> VoltAmpere:
    """Apparent power of a load of which three things are told that need not agree.

    Equation: S = max(S_told, P / cos phi)
    Source: power triangle; of two readings the larger
    Range: a power factor above 0; ZeroDivisionError where it is 0.

    >>> larger_apparent_power(3600, 4000, 0.8)
    4500.0
    """
    return max(apparent, power / power_factor)


def reactive_power(power: Watt, power_factor: Number) -> Var:
    """Reactive power of a load, positive where it lags.

    Equation: Q = P sqrt(1 / cos^2 phi - 1)
    Source: power triangle
    Range: 0 < |pf| <= 1; ValueError above, ZeroDivisionError where it is 0.

    >>> round(reactive_power(4000, 0.8), 6)
    3000.0
    """
    reactive = power * root(1 / power_factor**2 - 1)
    return reactive if power_factor > 0 else -reactive


def counted_power(power: Watt, demand: Ratio) -> Watt:
    """Power of a machine that must be counted at the worst moment.

    Equation: P = g P_n
    Source: demand factor, IEC 60364-3 311 (clause from memory)
    Range: g from 0 to 1; linear, no error.

    >>> counted_power(2000, 0.5)
    1000.0
    """
    return demand * power


def several(power: Watt, count: int) -> Watt:
    """Power of several machines alike.

    Equation: P = n P_1
    Source: sum
    Range: linear, no error.

    >>> several(500, 3)
    1500
    """
    return count * power


def several_reactive(reactive: Var, count: int) -> Var:
    """Reactive power of several machines alike.

    Equation: Q = n Q_1
    Source: sum
    Range: linear, no error.

    >>> several_reactive(500, 3)
    1500
    """
    return count * reactive


def several_starts(apparent: VoltAmpere, count: int) -> VoltAmpere:
    """Apparent power of several machines that start together.

    Equation: S = n S_1
    Source: sum; added arithmetically, which is the safe bound
    Range: linear, no error.

    >>> several_starts(6000, 2)
    12000
    """
    return count * apparent


def phase_part(power: Watt, phases: int) -> Watt:
    """Real power that each phase gives to a balanced load.

    Equation: P_phase = P / n
    Source: symmetry
    Range: n at least 1; ZeroDivisionError where it is 0.

    >>> phase_part(9000, 3)
    3000.0
    """
    return power / phases


def reactive_part(reactive: Var, phases: int) -> Var:
    """Reactive power that each phase gives to a balanced load.

    Equation: Q_phase = Q / n
    Source: symmetry
    Range: n at least 1; ZeroDivisionError where it is 0.

    >>> reactive_part(900, 3)
    300.0
    """
    return reactive / phases


def used_share(power: Watt, apparent: VoltAmpere, unit_power: Watt, unit_apparent: VoltAmpere, units: int) -> Ratio:
    """How much of the units of a phase its loads use.

    Equation: u = max(P / (n P_unit), S / (n S_unit))
    Source: both ratings of a unit hold at once
    Range: n at least 1, ratings above 0; ZeroDivisionError where one is 0. Above 1 the units are overloaded.

    >>> used_share(4000, 6000, 5000, 5000, 2)
    0.6
    """
    return max(power / (units * unit_power), apparent / (units * unit_apparent))


def power_left(unit_apparent: VoltAmpere, used: Ratio, units: int, out: int) -> VoltAmpere:
    """Apparent power that a phase has left while some of its units are out; below 0 it is missing.

    Equation: S_left = S_unit (n - out - u n)
    Source: difference of rating and load
    Range: linear, no error.

    >>> power_left(5000, 0.75, 2, 1)
    -2500.0
    """
    return unit_apparent * (units - out - used * units)


def surge_limit(unit_surge: VoltAmpere, voltage: Volt, units: int) -> Ampere:
    """Current that the units of a phase give while motors start.

    Equation: I = n S_surge / U
    Source: definition of apparent power
    Range: U above 0; ZeroDivisionError where it is 0.

    >>> surge_limit(10_000, 250, 2)
    80.0
    """
    return units * unit_surge / voltage


def power_angle(source_angle: Radian, power: Watt, reactive: Var) -> Radian:
    """Angle of the current of a phase that carries both powers; that of the source where it carries none.

    Equation: theta = theta_source - atan2(Q, P)
    Source: power triangle
    Range: any powers, no error.

    >>> round(power_angle(0, 1000, 1000), 4)
    -0.7854
    """
    size = root(power**2 + reactive**2)
    return source_angle - (math.atan2(reactive / size, power / size) if size > 0 else 0.0)


def joined_power(power: Watt, reactive: Var) -> VoltAmpere:
    """Apparent power of a real and a reactive power.

    Equation: S = sqrt(P^2 + Q^2)
    Source: power triangle
    Range: any powers, no error.

    >>> joined_power(4000, 3000)
    5000.0
    """
    return root(power**2 + reactive**2)


def phase_current(apparent: VoltAmpere, voltage: Volt) -> Ampere:
    """Current that an apparent power draws at a phase voltage.

    Equation: I = S / U
    Source: definition of apparent power
    Range: U above 0; ZeroDivisionError where it is 0.

    >>> phase_current(5000, 250)
    20.0
    """
    return apparent / voltage


def summed_power(powers: Sequence[Watt]) -> Watt:
    """Real power of several loads on one phase.

    Equation: P = sum P_i
    Source: conservation of energy
    Range: any number of powers, none of them gives 0; no error.

    >>> summed_power([1000, 500])
    1500
    """
    return sum(powers)


def summed_reactive(reactives: Sequence[Var]) -> Var:
    """Reactive power of several loads on one phase.

    Equation: Q = sum Q_i
    Source: conservation of reactive power (Boucherot)
    Range: any number of powers, none of them gives 0; no error.

    >>> summed_reactive([1000, -500])
    500
    """
    return sum(reactives)


def _parts(currents: Sequence[Ampere], angles: Sequence[Radian]) -> tuple[Ampere, Ampere]:
    real = sum(i * math.cos(a) for i, a in zip(currents, angles, strict=True))
    return real, sum(i * math.sin(a) for i, a in zip(currents, angles, strict=True))


def phasor_sum(currents: Sequence[Ampere], angles: Sequence[Radian]) -> Ampere:
    """Size of the sum of phasors: the neutral current of phases, or a line current of loads.

    Equation: I = |sum I_i exp(j theta_i)|
    Source: Kirchhoff's current law; for unity power factor sqrt(a^2 + b^2 + c^2 - ab - bc - ca)
    Range: as many angles as currents, else ValueError; none of them gives 0.

    >>> phasor_sum([3, 4], [0, math.pi / 2])
    5.0
    """
    real, imaginary = _parts(currents, angles)
    return root(real**2 + imaginary**2)


def line_line_power(power: Watt, reactive: Var, side: int) -> Watt:
    """Real power that one of two phases gives to a load between them, in a three-phase set.

    `side` is 1 for the phase that comes first in the order L1, L2, L3, L1, and -1 for the other.

    Equation: P_1,2 = P / 2 +- Q / (2 sqrt 3)
    Source: Kirchhoff's laws: S_1 = S V_1 / (V_1 - V_2) and S_2 = S V_2 / (V_2 - V_1)
    Range: `side` 1 or -1, nothing else has a meaning; no error.

    >>> line_line_power(2000, 0, 1)
    1000.0
    """
    return power / 2 + side * reactive / (2 * 3**0.5)


def line_line_reactive(power: Watt, reactive: Var, side: int) -> Var:
    """Reactive power that one of two phases gives to a load between them, in a three-phase set.

    `side` as in `line_line_power`.

    Equation: Q_1,2 = Q / 2 -+ P / (2 sqrt 3)
    Source: Kirchhoff's laws: S_1 = S V_1 / (V_1 - V_2) and S_2 = S V_2 / (V_2 - V_1)
    Range: `side` 1 or -1, nothing else has a meaning; no error.

    >>> round(line_line_reactive(0, 2000, -1), 6)
    1000.0
    """
    return reactive / 2 - side * power / (2 * 3**0.5)


def rms_sum(components: Sequence[Ampere]) -> Ampere:
    """Effective value of currents that never coincide: harmonics, or pulses one after another.

    Equation: I = sqrt(sum I_h^2)
    Source: orthogonality of harmonics (Parseval)
    Range: any number of currents, none of them gives 0; no error.

    >>> rms_sum([3, 4])
    5.0
    """
    return root(sum(i**2 for i in components))


def triplen_sum(third_harmonics: Sequence[Ampere]) -> Ampere:
    """Neutral current of the harmonics divisible by three: they stand in phase and add.

    `third_harmonics` are the triplen currents of the phases.

    Equation: I_N3 = sum I_3,i
    Source: G. M. Masters, Renewable and Efficient Electric Power Systems, eq. 2.102 (3 I_3 where balanced)
    Range: any number of currents, none of them gives 0; no error.

    >>> triplen_sum([10, 10, 10])
    30
    """
    return sum(third_harmonics)


def harmonic_current(current: Ampere, content: Ratio) -> Ampere:
    """Harmonic part of a line current, taken of the whole current (a little above that of its fundamental).

    Equation: I_h = h I
    Source: definition of harmonic content (IEC 60050-551, from memory)
    Range: h from 0 to 1; linear, no error.

    >>> harmonic_current(40, 0.25)
    10.0
    """
    return content * current


def unbalance(currents: Sequence[Ampere]) -> Ratio:
    """Unbalance of phase currents: greatest deviation from the mean; 0 where nothing flows.

    Equation: u = max |I_i - I_mean| / I_mean
    Source: NEMA MG 1 definition, applied to currents
    Range: magnitudes, at least one, else ZeroDivisionError.

    >>> unbalance([10, 10, 13]) == 2 / 11
    True
    """
    mean = sum(currents) / len(currents)
    return max(abs(i - mean) for i in currents) / mean if mean > 0 else 0.0


def voltage_between(first: Volt, first_angle: Radian, second: Volt, second_angle: Radian) -> Volt:
    """Voltage across an open pole between two sources.

    Equation: U = sqrt(U1^2 + U2^2 - 2 U1 U2 cos(theta1 - theta2))
    Source: law of cosines; phasing across an open device
    Range: magnitudes and any angles; no error.

    >>> voltage_between(230, 0, 230, math.pi)
    460.0
    """
    square = first**2 + second**2 - 2 * first * second * math.cos(first_angle - second_angle)
    return root(max(square, 0 * square))


def phase_to_phase(voltage: Volt, lines: int) -> Volt:
    """Highest voltage between two conductors of a supply of one, two (split-phase) or three lines, from its voltage to neutral.

    Equation: U = U0 (one line); 2 U0 (two); sqrt(3) U0 (three)
    Source: definition of the arrangements
    Range: one, two or three lines, else KeyError.

    >>> phase_to_phase(120, 2)
    240.0
    """
    return voltage * {1: 1.0, 2: 2.0, 3: 3**0.5}[lines]


def rotation(angles: Sequence[Radian]) -> Number:
    """Sense in which three phases follow each other: 1 for L1, L2, L3 (clockwise), -1 for the reverse.

    Equation: sign of sin(theta1 - theta2) + sin(theta2 - theta3) + sin(theta3 - theta1)
    Source: definition of the phase sequence
    Range: three angles, else ValueError; so where two of them coincide: they have no sense of rotation.

    >>> rotation([0, -2 * math.pi / 3, 2 * math.pi / 3])
    1.0
    """
    first, second, third = angles
    sense = math.sin(first - second) + math.sin(second - third) + math.sin(third - first)
    if abs(sense) < 1e-9:
        raise ValueError("phases that coincide have no sense of rotation")
    return math.copysign(1.0, sense)
