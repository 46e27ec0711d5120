"""How like branches in parallel share a current."""

from __future__ import annotations

from collections.abc import Sequence

from engine.quantities import Ampere, Ohm, Ratio


def branch_current(current: Ampere, resistances: Sequence[Ohm], place: int) -> Ampere:
    """Current of branch `place` (from 0) of several between two points.

    Equation: I_i = I (1 / R_i) / sum(1 / R_k)
    Source: Kirchhoff's current law
    Range: resistances above 0; ZeroDivisionError where one is 0, IndexError where there is no such place.

    >>> branch_current(30, [1, 2], 0)
    20.0
    """
    return current / resistances[place] / sum(1 / r for r in resistances)


def spread(currents: Sequence[Ampere]) -> Ratio:
    """Difference between the largest and the smallest of several currents, of their mean.

    Equation: d = (I_max - I_min) / I_mean
    Source: IEC 60364-4-43 433.4: above 10 % each conductor is protected on its own (from memory)
    Range: at least one current, else ValueError; ZeroDivisionError where they add to 0.

    >>> spread([9, 11])
    0.2
    """
    return (max(currents) - min(currents)) * len(currents) / sum(currents)


def resistance_spread(resistances: Sequence[Ohm]) -> Ratio:
    """Difference between the largest and the smallest of several resistances, of their mean.

    Two branches share with exactly this spread.

    Equation: d = (R_max - R_min) / R_mean
    Source: Kirchhoff's laws
    Range: at least one resistance, else ValueError; ZeroDivisionError where they add to 0.

    >>> resistance_spread([9, 11])
    0.2
    """
    return (max(resistances) - min(resistances)) * len(resistances) / sum(resistances)
