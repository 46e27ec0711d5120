"""Conductor lengths packed into the reels they are bought on, or bought by the metre where that leaves less over."""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.again import again
from engine.formulas.lengths import with_allowance
from engine.frozen import dataclass
from engine.quantities import Metre, Ratio, SquareMetre, shown, told
from engine.solvers.reels import Filled, packed
from engine.stages.bill.part import Cut, Reel
from engine.tables import table
from engine.tables.sizes import AWG, Size

_ONLY_BY_THE_METRE: SquareMetre = 35e-6  # above this shops cut to length: note of the table reel_lengths
_FOOT: Metre = 0.3048


@dataclass(frozen=True)
class TooLong:
    """A cut that no reel holds in one piece with the allowance, and the longest of them."""

    cut: Cut
    reel: Metre
    allowance: Ratio


@dataclass(frozen=True)
class Packed:
    """The reels to buy, and the cuts that are too long for any."""

    rows: tuple[Reel, ...]
    too_long: tuple[TooLong, ...]


def reels(cuts: Sequence[Cut], allowance: Ratio) -> Packed:
    """What the cuts of each conductor are bought on, each reckoned longer by the allowance; one without size or length waits for both."""
    conductors: dict[str, list[Cut]] = {}
    for cut in cuts:
        if cut.size and cut.length and cut.length.value > 0:
            conductors.setdefault(cut.conductor, []).append(cut)
    rows: list[Reel] = []
    too_long: list[TooLong] = []
    for conductor, some in conductors.items():
        waiting: dict[int, list[Cut]] = {}
        for cut in some:
            waiting.setdefault(_millimetres(cut, allowance), []).append(cut)
        wanted = [_millimetres(cut, allowance) for cut in some]
        bought, longest = again(conductor, _bought, size=some[0].size, wanted=wanted, allowance=allowance)
        rows += [_reel(conductor, one, [waiting[c].pop(0) for c in one.filled.cuts]) for one in bought]
        too_long += [TooLong(cut, longest, allowance) for left in waiting.values() for cut in left]
    return Packed(tuple(rows), tuple(too_long))


@dataclass(frozen=True)
class _Bought:
    """One length that is bought, whole or cut in the shop, and why."""

    filled: Filled
    length: Metre
    how: str
    proof: str


def _bought(size: Size | None, wanted: list[int], allowance: Ratio) -> tuple[list[_Bought], Metre]:
    """Whole reels, or lengths cut in the shop to whole metres or feet: the shorter of the two; and the longest reel there is."""
    rules, unit, name = ("nec", _FOOT, "foot") if size and size.system == AWG else ("iec", 1.0, "metre")
    stock = _stock(rules)
    whole, off = packed(wanted, stock), packed(wanted, [max(stock)])
    lengths = [math.ceil(sum(filled.cuts) / 1000 / unit - 1e-9) * unit for filled in off.reels]
    over = f"{shown(allowance, 'ratio')} over the cuts"
    shop, reel = told(sum(lengths), "m", rules), told(whole.bought / 1000, "m", rules)
    if size and size.area > _ONLY_BY_THE_METRE + 1e-9:
        proof = f"{shop} by the {name}, {over} and up to a whole {name}: above {shown(_ONLY_BY_THE_METRE, 'm**2')} shops cut to length"
    elif sum(lengths) < whole.bought / 1000 - 1e-9:
        least = reel if whole.proven else f"{reel}, at the least {told(whole.bound / 1000, 'm', rules)}"
        proof = f"{shop} by the {name}, {over} and up to a whole {name}: on whole reels it would be {least}"
    else:
        # Reels that are no longer than the cuts up to a whole metre are the least there are: their lengths lie farther apart than that.
        proof = f"{reel} on whole reels, {over}: less cannot be bought; by the {name} it would be {shop}"
        return [_Bought(filled, filled.stock / 1000, "reel", proof) for filled in whole.reels], max(stock) / 1000
    how = f"cable by the {name}"
    return [_Bought(filled, length, how, proof) for filled, length in zip(off.reels, lengths, strict=True)], max(stock) / 1000


def _reel(conductor: str, one: _Bought, cuts: Sequence[Cut]) -> Reel:
    used = sum(cut.length.value for cut in cuts if cut.length)
    return Reel(conductor, one.length, tuple(cuts), one.length - used, one.proof, one.how)


def _millimetres(cut: Cut, allowance: Ratio) -> int:
    assert cut.length is not None
    return math.ceil(with_allowance(cut.length.value, allowance) * 1000 - 1e-6)


def _stock(rules: str) -> list[int]:
    """The reels of a market, in millimetres."""
    market = "us" if rules == "nec" else "metric"
    return [
        round(length * 1000) for row in table("reel_lengths").rows if row["market"] == market and isinstance(length := row["length"], float)
    ]
