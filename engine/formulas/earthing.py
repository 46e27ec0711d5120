"""Protective conductors."""

from __future__ import annotations

from engine.formulas.protection import AdiabaticFactor
from engine.quantities import SquareMetre


def other_metal_area(area: SquareMetre, line: AdiabaticFactor, protective: AdiabaticFactor) -> SquareMetre:
    """A protective conductor in another metal than the one its area was found for.

    Equation: S k1 / k2
    Source: IEC 60364-5-54 table 54.2
    Range: k2 above 0; ZeroDivisionError where it is 0.

    >>> other_metal_area(10e-6, 120e6, 96e6)
    1.25e-05
    """
    return area * line / protective


def upsized_ground(ground: SquareMetre, needed: SquareMetre, installed: SquareMetre) -> SquareMetre:
    """Equipment grounding conductor grown with its line conductors, before rounding up to a size.

    Equation: S_ground S_installed / S_needed
    Source: NFPA 70 (NEC) 250.122(B)
    Range: S_needed above 0; ZeroDivisionError where it is 0.

    >>> upsized_ground(8e-6, 10e-6, 20e-6)
    1.6e-05
    """
    return ground * installed / needed
