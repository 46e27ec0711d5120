"""Conductor lengths packed into the reels they are bought on."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from engine.quantities import Metre, Refused, SquareMetre, shown
from engine.solvers.reels import packed
from engine.stages.bill.part import Reel
from engine.tables import table
from engine.tables.sizes import AWG, read_size

_BY_THE_METRE: SquareMetre = 35e-6  # above this shops cut to length: note of the table reel_lengths


@dataclass(frozen=True)
class Reels:
    """The reels to buy, and by specification the cuts that fit no reel."""

    rows: tuple[Reel, ...]
    too_long: Mapping[str, tuple[str, ...]]


def reels(*, cuts: Mapping[str, Sequence[Metre]]) -> Reels:
    """Pack the cuts of each specification ("35 mm2, red") into reels of its market's lengths."""
    rows: list[Reel] = []
    too_long: dict[str, tuple[str, ...]] = {}
    for specification, lengths in cuts.items():
        wanted = [round(length * 1000) for length in lengths if length > 0]
        market, by_the_metre = _market(specification)
        stock = [math.ceil(sum(wanted) / 1000) * 1000] if by_the_metre and wanted else [round(row * 1000) for row in _stock(market)]
        found = packed(wanted, stock)
        proof = f"{_told(found.bought)} bought; " + ("less cannot be bought" if found.proven else f"at least {_told(found.bound)} must be")
        rows += [Reel(specification, _told(r.stock), tuple(_told(c) for c in r.cuts), _told(r.offcut), proof) for r in found.reels]
        if found.too_long:
            too_long[specification] = tuple(_told(c) for c in found.too_long)
    return Reels(tuple(rows), too_long)


def _told(millimetres: int) -> str:
    return shown(millimetres / 1000, "m")


def _market(specification: str) -> tuple[str, bool]:
    """The market whose reels a conductor comes on, and whether the shop cuts it to length."""
    try:
        size = read_size(specification.partition(",")[0])
    except Refused:
        return "metric", False
    return "us" if size.system == AWG else "metric", size.area > _BY_THE_METRE + 1e-9


def _stock(market: str) -> tuple[Metre, ...]:
    return tuple(length for row in table("reel_lengths").rows if row["market"] == market and isinstance(length := row["length"], float))
