"""How like branches in parallel share a current."""

from __future__ import annotations

from collections.abc import Sequence

from engine.quantities import Ampere, Number, Ohm, Ratio


def branch_current(current: Ampere, resistances: Sequence[Ohm], place: int) -> Ampere:
    """Current of branch `place` (from 0) of several between two points.

    Equation: I_i = I (1 / R_i) / sum(1 / R_k)
    Source: Kirchhoff's current law
    """
    return current / resistances[place] / sum(1 / r for r in resistances)


def spread(currents: Sequence[Ampere]) -> Ratio:
    """Difference between the largest and the smallest of several currents, of their mean.

    Equation: d = (I_max - I_min) / I_mean
    Source: IEC 60364-4-43 433.4: above 10 % each conductor is protected on its own (from memory)
    """
    return (max(currents) - min(currents)) * len(currents) / sum(currents)


def resistance_spread(resistances: Sequence[Ohm]) -> Ratio:
    """Difference between the largest and the smallest of several resistances, of their mean.

    Two branches share with exactly this spread.

    Equation: d = (R_max - R_min) / R_mean
    Source: Kirchhoff's laws
    """
    return (max(resistances) - min(resistances)) * len(resistances) / sum(resistances)


def current_ratio(first: Ohm, second: Ohm) -> Number:
    """Current of one branch over that of the other.

    Equation: I1 / I2 = R2 / R1
    Source: Kirchhoff's laws
    """
    return second / first


def odd_branch_deviation(resistance: Ohm, odd: Ohm, branches: int) -> Ratio:
    """Deviation of the current of one odd branch among like ones, to first order.

    Equation: dI / I = -(dR / R) (1 - 1 / n)
    Source: derivative of the current divider
    """
    return -(odd - resistance) / resistance * (1 - 1 / branches)


def allowed_spread(mean: Ohm, limit: Ratio) -> Ohm:
    """Difference of resistance between branches that keeps their currents within a limit.

    Equation: dR = d R_mean
    Source: IEC 60364-4-43 433.4 (from memory) with the two-branch rule
    """
    return limit * mean
