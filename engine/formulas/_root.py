"""The square root that formulas take: of a float, and of a quantity with its unit."""

from __future__ import annotations


def root(square: float) -> float:
    """`math.sqrt` would lose the unit of a quantity."""
    result: float = square**0.5
    return result
