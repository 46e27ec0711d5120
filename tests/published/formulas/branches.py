"""Branches in parallel and joints of published examples."""

from __future__ import annotations

from collections.abc import Sequence

from engine.quantities import Ohm, Ratio


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


def mean_resistance(readings: Sequence[Ohm]) -> Ohm:
    """Mean of like joints.

    Equation: R = sum(R_i) / n
    Source: definition
    """
    return sum(readings) / len(readings)


def joint_limit(mean: Ohm, share: Ratio = 0.1, least: Ohm = 5e-6) -> Ohm:
    """Resistance above which a joint is remade: 10 % or 5 micro-ohm over the mean of like joints, the larger.

    Equation: R = R_mean + max(0.1 R_mean, 5 micro-ohm)
    Source: a battery maker's installation manual, section on connection resistance
    """
    return mean + max(share * mean, least)
