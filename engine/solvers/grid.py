"""A lower bound from the grid on which powers lie: three motors of 2 kW never share out evenly over two phases."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import gcd

# Sums finer than this are dense: every value can be met, and there is nothing to gain.
_MOST_STEPS = 400_000
_MOST_LIFTS = 2_000
_MOST_WORK = 10_000_000  # lifts by steps: where there are very many of both the level gains next to nothing by the last lifts


def grid_bound(powers: Sequence[float], fixed: Sequence[float], units: Sequence[int]) -> float:
    """Least possible value of the largest power per unit of any phase.

    `powers` (at least 0) are to be placed, `fixed` stand on each phase already, `units` (at least one each) share each
    phase's power. Every phase holds its fixed power and a sum of some of `powers`; the level is raised until what the
    phases can hold below it, in sums that exist, takes everything. Raises ValueError where a phase has no unit.
    """
    if min(units) < 1:
        raise ValueError("each phase needs a unit")
    level = (sum(powers) + sum(fixed)) / sum(units)
    if (grid := _grid(tuple(powers))) is None:
        return level
    whole, size, sums = grid
    for _ in range(min(_MOST_LIFTS, _MOST_WORK // whole)):
        held = [_highest(sums, _room(level * n - f, size, whole)) for n, f in zip(units, fixed, strict=True)]
        if min(held) >= 0 and sum(held) >= whole:
            break
        level = min((f + size * _next(sums, h, whole)) / n for n, f, h in zip(units, fixed, held, strict=True) if h < whole)
    return level


@lru_cache(maxsize=4)
def _grid(powers: tuple[float, ...]) -> tuple[int, float, int] | None:
    """All powers in steps, the size of a step, and every sum of some of them, as bits; None where there is no step, or a very fine one.

    Kept, because the same powers are asked about for hundreds of splits.
    """
    steps = [round(p * 1000) for p in powers]
    step = gcd(*steps) if steps else 0
    if step == 0 or sum(steps) // step > _MOST_STEPS or any(abs(s / 1000 - p) > 1e-9 * p for s, p in zip(steps, powers, strict=True)):
        return None
    return sum(steps) // step, step / 1000, _sums([s // step for s in steps])


def _room(power: float, size: float, whole: int) -> int:
    """Steps that fit into a power, no more than there are; -1 where it is below nothing."""
    return int(min(power / size + 1e-6, whole)) if power >= 0 else -1


def _sums(steps: Sequence[int]) -> int:
    """Every sum of some of the steps, as bits."""
    bits = 1
    for step in steps:
        bits |= bits << step
    return bits


def _highest(bits: int, most: int) -> int:
    """The highest bit that is set up to `most`, or -1."""
    return (bits & ((1 << (most + 1)) - 1)).bit_length() - 1 if most >= 0 else -1


def _next(bits: int, after: int, whole: int) -> int:
    """The next bit that is set above `after`; `whole` where there is none."""
    above = bits >> (after + 1)
    return after + (above & -above).bit_length() if above else whole
