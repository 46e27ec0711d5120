"""Cable lengths as they are cut."""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.quantities import Metre, Ratio


def cut_length(path: Metre, extra: Metre, step: Metre = 0.1) -> Metre:
    """Length of a cable along a path with what goes inside the gear, rounded up to whole tenths of a metre.

    Equation: L = ceil((path + extra) / 0.1 m) 0.1 m
    Source: common practice, no source
    Range: a step above 0; ZeroDivisionError where it is 0.

    >>> round(cut_length(3.42, 0.5), 3)
    4.0
    """
    # A hair is taken off first: 1.2 m + 0.5 m is 1.7 m, not 1.8 m because of its last binary digit.
    return math.ceil(float((path + extra) / step) - 1e-6) * step


def length_spread(lengths: Sequence[Metre]) -> Ratio:
    """Difference between the largest and the smallest of several lengths, of their mean.

    Equation: d = (L_max - L_min) / L_mean
    Source: common practice, no source; of like conductors it is the spread of their resistances
    Range: at least one length, else ValueError; ZeroDivisionError where all are 0.

    >>> length_spread([2, 3])
    0.4
    """
    return (max(lengths) - min(lengths)) * len(lengths) / sum(lengths)


def total_length(lengths: Sequence[Metre]) -> Metre:
    """Length of several cables one after another.

    Equation: L = sum(L_k)
    Source: sum
    Range: at least one length, else IndexError.

    >>> total_length([2, 3])
    5
    """
    return sum(lengths[1:], lengths[0])


def with_allowance(length: Metre, allowance: Ratio) -> Metre:
    """A length as it is bought, with a share over what is cut from it.

    Equation: L = (1 + a) l
    Source: common practice, no source
    Range: any.

    >>> round(with_allowance(20.0, 0.1), 3)
    22.0
    """
    return (1 + allowance) * length
