"""A day's energy: what loads use, when, and what a bank makes of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from engine.quantities import Ampere, Joule, JoulePerDay, Number, Ratio, Second, Unit, Volt, Watt

SecondPerDay = Annotated[float, Unit("s/d")]


def day_energy(power: Watt, day: SecondPerDay = 86_400.0) -> JoulePerDay:
    """Energy of a day at a power that never pauses.

    Equation: E = P x 24 h
    Source: definition of power
    Range: linear, no error.

    >>> day_energy(1000) / 3.6e6
    24.0
    """
    return power * day


def usual_energy(usual: JoulePerDay, usual_power: Watt, power: Watt, day: SecondPerDay = 86_400.0) -> JoulePerDay:
    """Energy of a day of a machine of which only its power is known, and what others of its kind use.

    Equation: E = min(max(1, P / P_usual) x E_usual, P x 24 h)
    Source: safe side: a stronger machine does more, a weaker one runs longer
    Range: P_usual above 0; ZeroDivisionError where it is 0.

    >>> usual_energy(3.6e6, 1000, 2000) / 3.6e6, usual_energy(3.6e6, 1000, 500) / 3.6e6, usual_energy(3.6e6, 1000, 10) / 3.6e6
    (2.0, 1.0, 0.24)
    """
    return min(max(usual, usual * power / usual_power), power * day)


def several_energy(energy: JoulePerDay, count: int) -> JoulePerDay:
    """Daily energy of several machines alike.

    Equation: E = n E_1
    Source: sum
    Range: linear, no error.

    >>> several_energy(2.5, 2)
    5.0
    """
    return count * energy


def summed_energy(energies: Sequence[JoulePerDay]) -> JoulePerDay:
    """Daily energy of several loads.

    Equation: E = sum E_i
    Source: sum
    Range: any number of energies, none of them gives 0; no error.

    >>> summed_energy([1.5, 2.5])
    4.0
    """
    return sum(energies)


def mean_load(energy: JoulePerDay, day: SecondPerDay = 86_400.0) -> Watt:
    """Mean power of a daily energy.

    Equation: P = E / 24 h
    Source: definition of power
    Range: a day above 0; ZeroDivisionError where it is 0.

    >>> mean_load(24 * 3.6e6)
    1000.0
    """
    return energy / day


def weighted_energy(energies: Sequence[JoulePerDay], weights: Sequence[Number]) -> JoulePerDay:
    """Daily energy of several loads or phases of which only some copies, or a part, count.

    Equation: E = sum w_i E_i
    Source: sum; units of a phase share its load evenly
    Range: as many weights as energies, else ValueError.

    >>> weighted_energy([4.0, 2.0], [1, 0.5])
    5.0
    """
    return sum(e * w for e, w in zip(energies, weights, strict=True))


def hour_power(energies: Sequence[JoulePerDay], shares: Sequence[Ratio], hour: SecondPerDay = 3600.0) -> Watt:
    """Mean power of several loads in one hour of the day.

    `shares` are the parts of each load's daily energy that fall into the hour; `hour` are the seconds of an hour once a day.

    Equation: P_h = sum w_h,i E_i / 1 h
    Source: standard load profile
    Range: as many shares as energies, else ValueError; ZeroDivisionError where the hour is 0.

    >>> hour_power([7.2e6], [0.5])
    1000.0
    """
    return sum(e * w for e, w in zip(energies, shares, strict=True)) / hour


def fed_power(voltage: Volt, currents: Sequence[Ampere]) -> Watt:
    """Power of several currents at one voltage: what units charge a bank with, or take from a phase.

    Equation: P = U sum I_i
    Source: definition of power
    Range: linear, no error; no current gives 0.

    >>> fed_power(50, [80, 80])
    8000
    """
    return voltage * sum(currents)


def bank_power(load: Watt, sun: Watt, given: Watt, efficiency: Ratio) -> Watt:
    """Power into a bank (negative: out of it), where `sun` feeds the bank's side and `given` the loads' side of the units.

    Equation: P = P_sun + eta (P_given - P_load), or P_sun - (P_load - P_given) / eta where less is given than used
    Source: conservation of energy
    Range: eta from above 0 to 1; ZeroDivisionError where it is 0 and less is given than used.

    >>> bank_power(900, 0, 0, 0.9)
    -1000.0
    """
    over = given - load
    return sun + (over * efficiency if over > 0 * over else over / efficiency)


def state_unheld(state: Ratio, power: Watt, charging: Watt, energy: Joule, hour: Second = 3600.0) -> Ratio:
    """State of a bank after an hour, were it neither full nor empty; it takes no more than it may be charged with.

    Equation: z' = z + min(P, P_charge) x 1 h / E
    Source: conservation of energy
    Range: E above 0; ZeroDivisionError where it is 0. Not held between 0 and 1: that is what it is for.

    >>> state_unheld(0.5, 1000, 5000, 3.6e7)
    0.6
    """
    return state + min(power, charging) * hour / energy


def state_after(state: Ratio, power: Watt, charging: Watt, energy: Joule, floor: Ratio, hour: Second = 3600.0) -> Ratio:
    """State of a bank after an hour: never above full, never taken below its floor.

    Equation: z' = z + min(P, P_charge) x 1 h / E, at most 1, at least min(z_floor, z)
    Source: conservation of energy
    Range: states from 0 to 1, E above 0; ZeroDivisionError where it is 0.

    >>> state_after(0.95, 1000, 5000, 3.6e7, 0.2)
    1.0
    """
    return max(min(state_unheld(state, power, charging, energy, hour), 1.0), min(floor, state))


def floor_state(depth: Ratio) -> Ratio:
    """State at which nothing more is taken from a bank.

    Equation: z_floor = 1 - d
    Source: definition of the depth of discharge
    Range: d from 0 to 1; linear, no error.

    >>> floor_state(0.75)
    0.25
    """
    return 1 - depth
