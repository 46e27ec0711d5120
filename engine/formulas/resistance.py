"""Resistance of a conductor: from its stuff, its size, its temperature."""

from __future__ import annotations

from collections.abc import Sequence

from engine.quantities import Kelvin, Metre, Number, Ohm, OhmPerMetre, PerKelvin


def temperature_factor(coefficient: PerKelvin, temperature: Kelvin, reference: Kelvin = 293.15) -> Number:
    """How much larger a resistance is at a temperature than at the one its coefficient is told for.

    Equation: R / R0 = 1 + alpha (t - t0)
    Source: IEC 60228 annex; NFPA 70 (NEC) chapter 9 table 8 note 2
    Range: about -50 to 200 degC, where metals are linear; no error, below 0 far outside.

    >>> round(temperature_factor(0.004, 343.15), 6)
    1.2
    """
    return 1 + coefficient * (temperature - reference)


def warm_resistance(
    resistance: OhmPerMetre, coefficient: PerKelvin, temperature: Kelvin, reference: Kelvin, told_at: Kelvin = 293.15
) -> OhmPerMetre:
    """A resistance tabled at `reference` carried to another temperature; `coefficient` is told for 20 degC.

    Equation: R_t = R_ref (1 + alpha20 (t - 20)) / (1 + alpha20 (t_ref - 20))
    Source: IEC 60228 annex; NFPA 70 (NEC) chapter 9 table 8 note 2
    Range: about -50 to 200 degC; ZeroDivisionError where the factor at t_ref is 0, far below that.

    >>> round(warm_resistance(0.001, 0.004, 343.15, 293.15), 6)
    0.0012
    """
    return resistance * temperature_factor(coefficient, temperature, told_at) / temperature_factor(coefficient, reference, told_at)


def conductor_resistance(resistance: OhmPerMetre, length: Metre, *, parallel: int = 1) -> Ohm:
    """Resistance of one pole: a length of one conductor, or of several like ones side by side.

    Equation: R = r L / n
    Source: common physics
    Range: n at least 1; ZeroDivisionError where it is 0.

    >>> conductor_resistance(0.0005, 10, parallel=2)
    0.0025
    """
    return resistance * length / parallel


def series_resistance(resistances: Sequence[Ohm]) -> Ohm:
    """Resistance of several things one after the other.

    Equation: R = sum R_i
    Source: Kirchhoff's voltage law
    Range: at least one resistance, else IndexError.

    >>> series_resistance([1.5, 2.5])
    4.0
    """
    total = resistances[0]
    for resistance in resistances[1:]:
        total += resistance
    return total
