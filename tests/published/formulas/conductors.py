"""Conductors: what published examples reckon with and no plan does."""

from __future__ import annotations

from engine.formulas.resistance import temperature_factor
from engine.quantities import Ampere, Kelvin, Metre, Ohm, PerKelvin, Ratio, SquareMetre, Volt


def ambient_factor(limit: Kelvin, ambient: Kelvin, reference: Kelvin) -> Ratio:
    """Factor for surroundings other than the table's: the temperature rise left, by the square of the current.

    Equation: k = sqrt((t_limit - t_ambient) / (t_limit - t_reference))
    Source: NFPA 70 (NEC) 310.15(B) equation; the tables of IEC 60364-5-52 follow it within their rounding
    """
    factor: float = ((limit - ambient) / (limit - reference)) ** 0.5
    return factor


def table_current_needed(current: Ampere, ambient: Ratio, grouping: Ratio, *, harmonic: Ratio = 1.0, parallel: int = 1) -> Ampere:
    """What the table must show for one conductor, so that the pole may carry a current where it lies.

    Equation: I_table = I / (n k_ambient k_grouping k_harmonic)
    Source: IEC 60364-5-52 523.5; NFPA 70 (NEC) 310.15(B) and (C)
    """
    return current / (parallel * ambient * grouping * harmonic)


def drop_split_phase(current: Ampere, other: Ampere, outer: Ohm, neutral: Ohm) -> Volt:
    """Drop of one leg of a three-wire circuit; the neutral carries the difference of the legs. Negative: the leg rises.

    Equation: u = I R_outer + (I - I_other) R_neutral
    Source: Mehta, Principles of Power System, ch. 13 (three-wire systems)
    """
    return current * outer + (current - other) * neutral


def drop_limit_at(limit: Ratio, length: Metre, per_metre: float = 5e-5, beyond: Metre = 100.0, most: Ratio = 0.005) -> Ratio:
    """A published limit of the whole drop from the origin, with its supplement for long circuits.

    Equation: limit + min(0.005 %/m (L - 100 m), 0.5 %) where L > 100 m
    Source: IEC 60364-5-52 annex G, note to the table of limits
    """
    return limit + min(per_metre * (max(length, beyond) - beyond), most)


def bonding_area(earthing: SquareMetre, least: SquareMetre = 6e-6, most: SquareMetre = 25e-6) -> SquareMetre:
    """Main bonding conductor, copper, before rounding up to a size.

    Equation: half of the earthing conductor, at least 6 mm2, not above 25 mm2
    Source: IEC 60364-5-54 544.1
    """
    return min(max(earthing / 2, least), most)


def stuff_resistance(resistivity: float, length: Metre, area: SquareMetre) -> Ohm:
    """Resistance of a length of conductor.

    Equation: R = rho L / S
    Source: common physics; Bird, Electrical Circuit Theory and Technology, ch. 3
    """
    return resistivity * length / area


def coefficient_at(coefficient: PerKelvin, temperature: Kelvin, reference: Kelvin = 293.15) -> PerKelvin:
    """The coefficient of resistance told for another temperature.

    Equation: alpha_t = alpha / (1 + alpha (t - t0))
    Source: common physics; Bird, Electrical Circuit Theory and Technology, ch. 3
    """
    return coefficient / temperature_factor(coefficient, temperature, reference)
