"""Ratings of overcurrent devices that exist, by rule book and kind of device."""

from __future__ import annotations

import math
from functools import cache

from engine.quantities import KINDS, Ampere, Refused, read, shown
from engine.tables import table

BREAKER, FUSE = "breaker", "fuse"
_TABLES = {
    ("iec", BREAKER): ("iec60898_ratings", "iec60947_ratings"),
    ("iec", FUSE): ("iec60269_ratings",),
    ("nec", BREAKER): ("nec_240_6",),
    ("nec", FUSE): ("nec_240_6", "nec_240_6_fuses"),
}
_SLACK = 1e-9  # 1.25 x 100 A is 125 A, whatever the last bit says


@cache
def standard_ratings(rules: str, device: str = BREAKER) -> tuple[Ampere, ...]:
    """The ratings of "breaker" or "fuse" in a rule book ("iec" or "nec"), smallest first."""
    return tuple(sorted({a for name in _TABLES[rules, device] for a in table(name).figures("rating")}))


def ratings_source(rules: str, device: str = BREAKER) -> str:
    """Where those ratings come from."""
    return "; ".join(table(name).told for name in _TABLES[rules, device])


def rated(rating: Ampere) -> str:
    """A rating as it stands on the device: always in amperes, "1000 A"."""
    return f"{rating:g} A"


def next_rating_up(current: Ampere, rules: str, device: str = BREAKER) -> Ampere | None:
    """The smallest rating not below a current, or None where none is large enough."""
    return next((a for a in standard_ratings(rules, device) if a >= current * (1 - _SLACK)), None)


def largest_rating_not_above(current: Ampere, rules: str, device: str = BREAKER) -> Ampere | None:
    """The largest rating not above a current, or None where even the smallest is above."""
    return next((a for a in reversed(standard_ratings(rules, device)) if a <= current * (1 + _SLACK)), None)


@cache
def _all() -> tuple[Ampere, ...]:
    return tuple(sorted({a for rules, device in _TABLES for a in standard_ratings(rules, device)}))


def read_rating(text: str | float) -> Ampere:
    """A device's rating as a person wrote it, such as "63 A"; any that exists in either rule book.

    Raises `Refused` where it is no current, or where no device has that rating (the nearest is named).
    """
    value = read(KINDS["current"], text)
    found = min(_all(), key=lambda a: abs(math.log(a / value)))
    if abs(found - value) <= 1e-6 * found:
        return found
    raise Refused(f"no breaker or fuse is rated {shown(value, 'A')}; the nearest that exists is {rated(found)}")
