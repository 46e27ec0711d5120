"""Conductor lengths packed into the reels they are bought on."""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.frozen import dataclass
from engine.quantities import Metre, SquareMetre, shown
from engine.solvers.reels import packed
from engine.stages.bill.part import Cut, Reel
from engine.tables import table
from engine.tables.sizes import AWG, Size

_BY_THE_METRE: SquareMetre = 35e-6  # above this shops cut to length: note of the table reel_lengths


@dataclass(frozen=True)
class TooLong:
    """A cut that no reel holds in one piece, and the longest of them."""

    cut: Cut
    reel: Metre


@dataclass(frozen=True)
class Packed:
    """The reels to buy, and the cuts that are too long for any."""

    rows: tuple[Reel, ...]
    too_long: tuple[TooLong, ...]


def reels(cuts: Sequence[Cut]) -> Packed:
    """Pack the cuts of each conductor into reels of its market's lengths; a cut without size or length waits for both."""
    conductors: dict[str, list[Cut]] = {}
    for cut in cuts:
        if cut.size and cut.length and cut.length.value > 0:
            conductors.setdefault(cut.conductor, []).append(cut)
    rows: list[Reel] = []
    too_long: list[TooLong] = []
    for conductor, some in conductors.items():
        waiting: dict[int, list[Cut]] = {}
        for cut in some:
            waiting.setdefault(_millimetres(cut), []).append(cut)
        wanted = [_millimetres(cut) for cut in some]
        stock = _stock(some[0].size, sum(wanted))
        found = packed(wanted, stock)
        proof = f"{_told(found.bought)} bought; " + ("less cannot be bought" if found.proven else f"at least {_told(found.bound)} must be")
        rows += [Reel(conductor, r.stock / 1000, tuple(waiting[c].pop(0) for c in r.cuts), r.offcut / 1000, proof) for r in found.reels]
        too_long += [TooLong(waiting[length].pop(0), max(stock) / 1000) for length in found.too_long]
    return Packed(tuple(rows), tuple(too_long))


def _millimetres(cut: Cut) -> int:
    assert cut.length is not None
    return round(cut.length.value * 1000)


def _told(millimetres: int) -> str:
    return shown(millimetres / 1000, "m")


def _stock(size: Size | None, whole: int) -> list[int]:
    """The reels that a size comes on in its market; large ones are cut in the shop to the metre. Millimetres."""
    if size and size.area > _BY_THE_METRE + 1e-9:
        return [math.ceil(whole / 1000) * 1000]
    market = "us" if size and size.system == AWG else "metric"
    return [
        round(length * 1000) for row in table("reel_lengths").rows if row["market"] == market and isinstance(length := row["length"], float)
    ]
