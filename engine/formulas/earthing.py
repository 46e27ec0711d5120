"""Protective conductors."""

from __future__ import annotations

from engine.quantities import SquareMetre


def upsized_ground(ground: SquareMetre, needed: SquareMetre, installed: SquareMetre) -> SquareMetre:
    """Equipment grounding conductor grown with its line conductors, before rounding up to a size.

    Equation: S_ground S_installed / S_needed
    Source: NFPA 70 (NEC) 250.122(B)
    Range: S_needed above 0; ZeroDivisionError where it is 0.

    >>> upsized_ground(8e-6, 10e-6, 20e-6)
    1.6e-05
    """
    return ground * installed / needed
