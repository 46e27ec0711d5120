"""What each caution asks somebody to decide, and how grave it is."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Literal, get_args

from engine.frozen import dataclass
from engine.tables import table

Gravity = Literal["danger", "supply", "cost", "confirm"]
# From the gravest on: people, fire and destroyed equipment; a supply that fails; money and comfort; a value of ours that somebody must look up.
GRAVITIES: tuple[Gravity, ...] = get_args(Gravity)


@dataclass(frozen=True)
class Asked:
    """One decision, in words for the one who signs it.

    `decide` is what going on as planned means, `who` decides and signs, `ask` are those who are asked first, `instead` is what else could
    be done.
    """

    codes: tuple[str, ...]
    gravity: Gravity
    title: str
    decide: str
    who: str
    ask: tuple[str, ...]
    instead: str


@cache
def decisions() -> Mapping[str, Asked]:
    """The decision that each code of a caution asks for."""
    rows = [{column: str(cell) for column, cell in row.items()} for row in table("decisions").rows]
    every = [_asked(row) for row in rows]
    return {code: asked for asked in every for code in asked.codes}


def gravity(code: str) -> int:
    """The place of a caution among others: 0 for the gravest."""
    return GRAVITIES.index(_gravities()[code])


@cache
def _gravities() -> Mapping[str, Gravity]:
    return {code: _gravity(str(row["gravity"])) for row in table("gravities").rows for code in _several(str(row["codes"]))}


def _asked(row: Mapping[str, str]) -> Asked:
    who, *ask = _several(row["who"])
    codes = _several(row["codes"])
    return Asked(codes, _gravities()[codes[0]], row["title"], row["decide"], who, tuple(ask), row["instead"])


def _several(text: str) -> tuple[str, ...]:
    return tuple(text.split(", "))


def _gravity(text: str) -> Gravity:
    return next(one for one in GRAVITIES if one == text)
