"""The square root that formulas take: of a float, and of a quantity with its unit."""

from __future__ import annotations


def root(square: float) -> float:
    """`math.sqrt` would lose the unit of a quantity; `**` alone makes a complex number of what is below 0: ValueError."""
    if square < 0:
        raise ValueError("no real root")
    result: float = square**0.5
    return result
