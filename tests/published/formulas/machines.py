"""Code letters, starts and generators of published examples."""

from __future__ import annotations

from collections.abc import Sequence

from engine.quantities import Ampere, Joule, Number, Ratio, Second, Volt, VoltAmpere, Watt


def start_current(running: Ampere, multiple: Number) -> Ampere:
    """Current of a motor at the moment it starts.

    Equation: I_start = k I
    Source: IEC 60034-12 (locked rotor); k = 6 where nothing is known, as for unmarked motor-compressors
    """
    return multiple * running


def start_multiple(running: Ampere, locked: Ampere) -> Number:
    """How many times its running current a motor draws with its rotor locked.

    Equation: k = I_locked / I
    Source: definition
    """
    return locked / running


def locked_rotor_power(horsepower: Number, per_horsepower: VoltAmpere) -> VoltAmpere:
    """Apparent power with the rotor locked, from the code letter's figure for each horsepower.

    Equation: S = hp x s
    Source: NEMA code letters, NEC 430.7(B)
    """
    return horsepower * per_horsepower


def locked_rotor_current(apparent: VoltAmpere, voltage: Volt, phases: int) -> Ampere:
    """Line current of an apparent power; `voltage` is the line voltage, or the phase voltage of one phase.

    Equation: I = S / U for one phase, S / (sqrt(3) U) for three
    Source: definition of apparent power
    """
    return apparent / (voltage * (3**0.5 if phases == 3 else 1))


def starting_peak(running: Sequence[Watt], starting: Sequence[Watt]) -> Watt:
    """Peak where one motor starts while the rest runs: the largest step on top of all running loads.

    Equation: P = sum P_i + max(P_start,i - P_i)
    Source: common practice of generator sizing guides
    """
    return sum(running) + max(s - r for s, r in zip(starting, running, strict=True))


def bulk_power(energy: Joule, time: Second) -> Watt:
    """Direct-current power that fills an energy in a time.

    Equation: P = E / t
    Source: definition of power
    """
    return energy / time


def generator_power(load: Watt, altitude: Ratio, efficiency: Ratio) -> Watt:
    """Rating of a generator that feeds a charger at an altitude.

    Equation: P_g = P / (f eta)
    Source: a dealer's design notes for off-grid generators (secondary)
    """
    return load / (altitude * efficiency)


def distorting_power(load: Watt, factor: Number) -> Watt:
    """Rating of a generator for a load that draws distorted current: factor 2, or 1.4 below 10 % distortion.

    Equation: P_g = f P
    Source: industrial generator application manual rev 4 (2007) p 26
    """
    return factor * load
