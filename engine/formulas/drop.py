"""Voltage lost along a circuit, each circuit alone."""

from __future__ import annotations

from engine.formulas._root import root
from engine.quantities import Ampere, Metre, OhmPerMetre, Ratio, Volt


def drop_dc(current: Ampere, resistance: OhmPerMetre, length: Metre, *, parallel: int = 1) -> Volt:
    """Drop of a direct-current circuit, out and back.

    Equation: u = 2 I r L / n
    Source: IEC 60364-5-52 annex G (b = 2, cos phi = 1)
    Range: n at least 1; ZeroDivisionError where it is 0. Linear in the rest.

    >>> drop_dc(100, 0.0005, 4)
    0.4
    """
    return 2 * current * resistance * length / parallel


def _in_phase(resistance: OhmPerMetre, reactance: OhmPerMetre, power_factor: Ratio) -> OhmPerMetre:
    if not 0 <= power_factor <= 1:
        raise ValueError("the power factor of a lagging load lies from 0 to 1")
    return resistance * power_factor + reactance * root(1 - power_factor**2)


def drop_single_phase(
    current: Ampere, resistance: OhmPerMetre, reactance: OhmPerMetre, length: Metre, power_factor: Ratio, *, parallel: int = 1
) -> Volt:
    """Drop of a line and its neutral carrying the same current. Lagging loads; the in-phase part only.

    Equation: u = 2 I L (r cos phi + x sin phi) / n
    Source: IEC 60364-5-52 annex G (b = 2)
    Range: cos phi from 0 to 1, lagging, else ValueError; ZeroDivisionError where n is 0.

    >>> drop_single_phase(10, 0.005, 0, 10, 1)
    1.0
    """
    return 2 * current * length * _in_phase(resistance, reactance, power_factor) / parallel


def drop_three_phase(
    current: Ampere, resistance: OhmPerMetre, reactance: OhmPerMetre, length: Metre, power_factor: Ratio, *, parallel: int = 1
) -> Volt:
    """Drop from phase to neutral of a balanced three-phase circuit; line to line it is sqrt 3 times that.

    Equation: u = I L (r cos phi + x sin phi) / n
    Source: IEC 60364-5-52 annex G (b = 1)
    Range: cos phi from 0 to 1, lagging, else ValueError; ZeroDivisionError where n is 0.

    >>> drop_three_phase(10, 0.005, 0, 10, 1)
    0.5
    """
    return current * length * _in_phase(resistance, reactance, power_factor) / parallel


def drop_share(drop: Volt, voltage: Volt) -> Ratio:
    """A drop as a share of the voltage it is reckoned against.

    Equation: share = u / U
    Source: IEC 60364-5-52 annex G
    Range: U above 0; ZeroDivisionError where it is 0.

    >>> drop_share(4, 200)
    0.02
    """
    return drop / voltage
