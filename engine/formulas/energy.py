"""A day's energy: what loads use, when, and what a bank makes of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from engine.quantities import JoulePerDay, Number, Ratio, Unit, Watt

SecondPerDay = Annotated[float, Unit("s/d")]


def day_energy(power: Watt, day: SecondPerDay = 86_400.0) -> JoulePerDay:
    """Energy of a day at a power that never pauses.

    Equation: E = P x 24 h
    Source: definition of power
    """
    return power * day


def several_energy(energy: JoulePerDay, count: int) -> JoulePerDay:
    """Daily energy of several machines alike.

    Equation: E = n E_1
    Source: sum
    """
    return count * energy


def summed_energy(energies: Sequence[JoulePerDay]) -> JoulePerDay:
    """Daily energy of several loads.

    Equation: E = sum E_i
    Source: sum
    """
    return sum(energies)


def mean_load(energy: JoulePerDay, day: SecondPerDay = 86_400.0) -> Watt:
    """Mean power of a daily energy.

    Equation: P = E / 24 h
    Source: definition of power
    """
    return energy / day


def weighted_energy(energies: Sequence[JoulePerDay], weights: Sequence[Number]) -> JoulePerDay:
    """Daily energy of several loads or phases of which only some copies, or a part, count.

    Equation: E = sum w_i E_i
    Source: sum; units of a phase share its load evenly
    """
    return sum(e * w for e, w in zip(energies, weights, strict=True))


def hour_power(energies: Sequence[JoulePerDay], shares: Sequence[Ratio], hour: SecondPerDay = 3600.0) -> Watt:
    """Mean power of several loads in one hour of the day.

    `shares` are the parts of each load's daily energy that fall into the hour; `hour` are the seconds of an hour once a day.

    Equation: P_h = sum w_h,i E_i / 1 h
    Source: standard load profile
    """
    return sum(e * w for e, w in zip(energies, shares, strict=True)) / hour
