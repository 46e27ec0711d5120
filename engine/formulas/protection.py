"""Devices against conductors and faults."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from engine.formulas._root import root
from engine.quantities import Ampere, AmpereSquaredSecond, Number, Ohm, Ratio, Second, SquareMetre, Unit, Volt, Watt

AdiabaticFactor = Annotated[float, Unit("A*s**0.5/m**2")]


def continuous_rating(continuous: Ampere, other: Ampere = 0.0, margin: Number = 1.25) -> Ampere:
    """Least device and conductor for current that flows three hours or longer, and current that does not.

    Equation: I = 1.25 I_continuous + I_other
    Source: NFPA 70 (NEC) 210.20(A), 215.2(A)(1), 215.3
    Range: linear, no error.

    >>> continuous_rating(80, 10)
    110.0
    """
    return margin * continuous + other


def continuous_current(rating: Ampere, share: Ratio = 0.8) -> Ampere:
    """Current that a device may carry for three hours or longer.

    Equation: I = 0.8 In
    Source: NFPA 70 (NEC) 210.20(A), 215.3
    Range: linear, no error.

    >>> continuous_current(60)
    48.0
    """
    return share * rating


def summed_ratings(ratings: Sequence[Ampere]) -> Ampere:
    """Current of a conductor that several devices feed.

    Equation: I = sum In_i
    Source: IEC 60364-4-43 433.1; NFPA 70 (NEC) 240.4
    Range: at least one rating, else IndexError.

    >>> summed_ratings([63, 63])
    126
    """
    total = ratings[0]
    for rating in ratings[1:]:
        total += rating
    return total


def operating_current(rating: Ampere, multiple: Number) -> Ampere:
    """Current that surely operates a device in its conventional time.

    Equation: I2 = m In
    Source: IEC 60898-1, IEC 60947-2, IEC 60269-1
    Range: within the device's conventional time (one to four hours); linear, no error.

    >>> operating_current(100, 1.6)
    160.0
    """
    return rating * multiple


def overload_ampacity(operating: Ampere, share: Number = 1.45) -> Ampere:
    """Least current-carrying capacity that a device protects from overload.

    Equation: Iz = I2 / 1.45
    Source: IEC 60364-4-43 433.1
    Range: a share above 0; ZeroDivisionError where it is 0.

    >>> overload_ampacity(145)
    100.0
    """
    return operating / share


def warm_rating(current: Ampere, factor: Ratio) -> Ampere:
    """Least fuse that carries a current for hours in the air of its box.

    Equation: In = I / k
    Source: the fuse maker's ambient factor
    Range: k above 0; ZeroDivisionError where it is 0.

    >>> warm_rating(144, 0.9)
    160.0
    """
    return current / factor


def surge_current(current: Ampere, power: Watt, surge: Watt) -> Ampere:
    """Direct current while a unit gives its surge, from the one at its rated power.

    Equation: I_surge = I P_surge / P
    Source: conservation of energy, efficiency and voltage unchanged
    Range: P above 0; ZeroDivisionError where it is 0. The battery's voltage sags, so that the true surge is larger.

    >>> surge_current(100, 5000, 10_000)
    200.0
    """
    return current * surge / power


def surge_rating(surge: Ampere, share: Number = 2.0) -> Ampere:
    """Least fuse that carries a surge of up to ten seconds.

    Equation: In = I_surge / 2
    Source: common practice, no source
    Range: up to 10 s; a share above 0, ZeroDivisionError where it is 0.

    >>> surge_rating(300)
    150.0
    """
    return surge / share


def fault_current(emf: Volt, source: Ohm, conductor: Ohm = 0.0) -> Ampere:
    """Fault at the far end of a two-wire circuit, conductor out and back; without one, at the source's terminals.

    Equation: I = E / (R_source + 2 R_conductor)
    Source: IEC 61660-1, quasi steady state, resistances only
    Range: resistances of together above 0; ZeroDivisionError where they add to 0. No inductance: the first milliseconds are less.

    >>> fault_current(50, 0.005, 0.0025)
    5000.0
    """
    return emf / (source + 2 * conductor)


def earth_fault_current(emf: Volt, path: Sequence[Ohm]) -> Ampere:
    """Fault from the pole that is not earthed, through a case and the bond back to the bank.

    Equation: I = E / sum R_i
    Source: IEC 61660-1, quasi steady state, resistances only
    Range: at least one resistance, else IndexError; ZeroDivisionError where they add up to nothing.

    >>> earth_fault_current(46, [0.003, 0.001, 0.001])
    9200.0
    """
    total = path[0]
    for resistance in path[1:]:
        total += resistance
    return emf / total


def let_through(current: Ampere, time: Second) -> AmpereSquaredSecond:
    """What a fault of constant current lets through until it is cleared.

    Equation: I2t = I^2 t
    Source: IEC 60364-4-43 434.5.2
    Range: constant current, no alternating half-wave; no error.

    >>> let_through(1000, 0.5)
    500000.0
    """
    return current**2 * time


def withstand(area: SquareMetre, k: AdiabaticFactor) -> AmpereSquaredSecond:
    """What a conductor stands without harm to its insulation.

    Equation: (k S)^2
    Source: IEC 60364-4-43 434.5.2
    Range: up to 5 s, without heat given off; no error.

    >>> round(withstand(10e-6, 115e6))
    1322500
    """
    return (k * area) ** 2


def withstand_area(let_through: AmpereSquaredSecond, k: AdiabaticFactor) -> SquareMetre:
    """Least area that stands what a device lets through. Holds for times up to 5 s.

    Equation: S = sqrt(I2t) / k
    Source: IEC 60364-4-43 434.5.2; IEC 60364-5-54 543.1.2
    Range: up to 5 s; ValueError where I2t is below 0, ZeroDivisionError where k is 0.

    >>> round(withstand_area(1_322_500, 115e6) * 1e6, 6)
    10.0
    """
    return root(let_through) / k


def sure_trip(rating: Ampere, multiple: Number) -> Ampere:
    """Current that trips a breaker at once.

    Equation: I = m In, m = upper end of its curve's band
    Source: IEC 60898-1
    Range: alternating current; the band lies higher on direct current. Linear, no error.

    >>> sure_trip(20, 5)
    100
    """
    return rating * multiple


def units_fault(unit: Ampere, units: int) -> Ampere:
    """Fault current that the units of one phase give by themselves.

    Equation: I = n I_unit
    Source: the units' datasheet; common practice, no source
    Range: linear, no error; for as long as the maker states.

    >>> units_fault(60, 2)
    120
    """
    return unit * units
