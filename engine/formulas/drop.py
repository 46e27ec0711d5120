"""Voltage lost along a circuit, each circuit alone."""

from __future__ import annotations

from typing import Annotated

from engine.quantities import Ampere, Metre, Ohm, OhmPerMetre, Ratio, Unit, Volt

PerMetre = Annotated[float, Unit("1/m")]


def drop_dc(current: Ampere, resistance: OhmPerMetre, length: Metre, *, parallel: int = 1) -> Volt:
    """Drop of a direct-current circuit, out and back.

    Equation: u = 2 I r L / n
    Source: IEC 60364-5-52 annex G (b = 2, cos phi = 1)
    """
    return 2 * current * resistance * length / parallel


def _in_phase(resistance: OhmPerMetre, reactance: OhmPerMetre, power_factor: Ratio) -> OhmPerMetre:
    impedance: float = resistance * power_factor + reactance * (1 - power_factor**2) ** 0.5
    return impedance


def drop_single_phase(
    current: Ampere, resistance: OhmPerMetre, reactance: OhmPerMetre, length: Metre, power_factor: Ratio, *, parallel: int = 1
) -> Volt:
    """Drop of a line and its neutral carrying the same current. Lagging loads; the in-phase part only.

    Equation: u = 2 I L (r cos phi + x sin phi) / n
    Source: IEC 60364-5-52 annex G (b = 2)
    """
    return 2 * current * length * _in_phase(resistance, reactance, power_factor) / parallel


def drop_three_phase(
    current: Ampere, resistance: OhmPerMetre, reactance: OhmPerMetre, length: Metre, power_factor: Ratio, *, parallel: int = 1
) -> Volt:
    """Drop from phase to neutral of a balanced three-phase circuit; line to line it is sqrt 3 times that.

    Equation: u = I L (r cos phi + x sin phi) / n
    Source: IEC 60364-5-52 annex G (b = 1)
    """
    return current * length * _in_phase(resistance, reactance, power_factor) / parallel


def drop_split_phase(current: Ampere, other: Ampere, outer: Ohm, neutral: Ohm) -> Volt:
    """Drop of one leg of a three-wire circuit; the neutral carries the difference of the legs. Negative: the leg rises.

    Equation: u = I R_outer + (I - I_other) R_neutral
    Source: Mehta, Principles of Power System, ch. 13 (three-wire systems)
    """
    return current * outer + (current - other) * neutral


def drop_share(drop: Volt, voltage: Volt) -> Ratio:
    """A drop as a share of the voltage it is reckoned against.

    Equation: share = u / U
    Source: IEC 60364-5-52 annex G
    """
    return drop / voltage


def drop_limit_at(limit: Ratio, length: Metre, per_metre: PerMetre = 5e-5, beyond: Metre = 100.0, most: Ratio = 0.005) -> Ratio:
    """A published limit of the whole drop from the origin, with its supplement for long circuits.

    Equation: limit + min(0.005 %/m (L - 100 m), 0.5 %) where L > 100 m
    Source: IEC 60364-5-52 annex G, note to the table of limits
    """
    return limit + min(per_metre * (max(length, beyond) - beyond), most)
