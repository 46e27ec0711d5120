"""Spots for what nobody gave a place: banks on the floor, boards at the ends, units in rows between the lanes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from engine.facts import CIRCUIT_KINDS, Facts
from engine.frozen import dataclass
from engine.quantities import Metre
from engine.solvers.separation import Rect
from engine.stages.circuits import Spot
from engine.stages.wall.part import Place
from engine.stages.wall.places import Hung, size_of
from engine.tables import table

_GAP = 100  # between things that need no air, and from a row of units to a lane
_AT_HAND = 1500  # where people read and work: rows of units lie there first
_STEP = 50  # from one height tried to the next
_NEAR = 500  # from a bank to its bar, at most, where there is no room beside it
_MOST_ROWS = 6  # of units: nobody works higher up


@dataclass(frozen=True)
class _Room:
    """The wall, what hangs on it with the air towards each, and the air a thing itself needs, in whole millimetres."""

    wall: Rect
    taken: Sequence[tuple[Rect, int]]
    air: int

    def free(self, rect: Rect, edge: int = 0) -> bool:
        """Whether a thing may hang there, so far from the wall's edge."""
        inside = rect.left >= edge and rect.bottom >= edge and rect.right <= self.wall.right - edge and rect.top <= self.wall.top - edge
        return inside and all(rect.gap(other) >= air for other, air in self.taken)

    def beside(self, wide: int) -> list[int]:
        """Where the centre of a thing can lie across the wall, close beside what hangs, or at the wall's ends."""
        half = wide // 2
        sides = [s for r, air in self.taken for s in (r.left - air - half, r.right + air + half)]
        return sorted({self.air + half, self.wall.right - self.air - half, *sides})


@dataclass(frozen=True)
class SetOut:
    """Places for what had none; `crowded` counts those for which there was no room as they are, though a spot is given all the same."""

    places: tuple[Place, ...]
    crowded: int


def set_out(facts: Facts, wall: Rect, hung: Hung, missing: Sequence[Spot]) -> SetOut:
    """Places for the missing on a wall of that size, banks first and units last; before those of which nothing was said those of which a part was."""
    clearance = round(facts.clearance * 1000)
    banks = [spot.name for spot in missing if spot.what == "bank"]
    order = sorted(missing, key=lambda spot: (spot.what == "unit", spot.what == "bar", spot.name not in hung.begun))
    done: list[Place] = []
    crowded = 0
    for spot in order:
        name, what = spot.name, spot.what
        given = hung.begun.get(name)
        told = (given.width, given.height) if given else (None, None)
        width, height = (side if side is not None else usual for side, usual in zip(told, size_of(facts, what), strict=True))
        wide, high = 2 * round(width * 500), 2 * round(height * 500)  # as its outline has it: the centre is a whole millimetre
        air = clearance if what == "unit" else _GAP
        room = _Room(wall, [(place.rect, clearance if "unit" in (what, place.what) else _GAP) for place in (*hung.places, *done)], air)
        fixed = (_millimetres(given.x), _millimetres(given.y)) if given else (None, None)
        if what == "bar":
            bank = next(place for place in (*hung.places, *done) if place.name == spot.bank)
            x, y, wide, high = _at_its_bank(facts, room, bank, wide, high)
            width, height = wide / 1000, high / 1000
            crowded += not wide
        elif what == "unit":
            x, y = _in_a_row(room, wide, high, fixed[0], _rows(facts, wall, high, air) if fixed[1] is None else [fixed[1]])
        else:
            x, y = _preferred(spot, wide, high, wall, banks)
            x, y = fixed[0] if fixed[0] is not None else x, fixed[1] if fixed[1] is not None else y
            levels = [y] if fixed[1] is not None or what == "bank" else [y, *_levels(facts, wall, high, y)]
            x, y = _nearest(room, wide, high, (x, y), levels, across=fixed[0] is None)
        crowded += what != "bar" and not room.free(_around(x, y, wide, high), clearance if what == "unit" else 0)
        done.append(Place(name, what, x / 1000, y / 1000, width, height, assumed=True, key=f"wall.places[{name}]"))
    return SetOut(tuple(done), crowded)


def _millimetres(length: Metre | None) -> int | None:
    return None if length is None else round(length * 1000)


def _around(x: int, y: int, wide: int, high: int) -> Rect:
    return Rect(x - wide // 2, y - high // 2, x + wide // 2, y + high // 2)


def _rows(facts: Facts, wall: Rect, high: int, air: int) -> list[int]:
    """Heights of the rows of units: between two lanes, those at hand first, and there from the top."""
    lanes = (lane for kind in CIRCUIT_KINDS if kind != "comms" and (lane := facts.lane(kind)) is not None)
    edges = [air - _GAP, *sorted(lane for lane in lanes if 0 < lane < wall.top), wall.top - air + _GAP]
    bands = sorted(((a + _GAP, b - _GAP) for a, b in pairwise(edges)), key=lambda band: abs(sum(band) // 2 - _AT_HAND))
    step = high + max(air, _GAP)  # cables pass between two rows, however little air the units need
    rows = [top - high // 2 - k * step for low, top in bands for k in range((top - low - high) // step + 1)]
    return rows[:_MOST_ROWS] or [max(bands, key=lambda band: band[1] - band[0])[1] - high // 2]


def _in_a_row(room: _Room, wide: int, high: int, x: int | None, rows: Sequence[int]) -> tuple[int, int]:
    """The leftmost free spot of the first row, with air to the wall's edge if there is one; beyond everything in the last row if none is free."""
    places = room.beside(wide) if x is None else [x]
    spots = ((place, y, edge) for edge in (room.air, 0) for y in rows for place in places)
    return next(((x, y) for x, y, edge in spots if room.free(_around(x, y, wide, high), edge)), (places[-1], rows[-1]))


def _nearest(room: _Room, wide: int, high: int, spot: tuple[int, int], levels: Sequence[int], *, across: bool) -> tuple[int, int]:
    """The free spot nearest to the one preferred, at the first of the heights that has one; that one where none is free."""
    x, y = spot
    for level in levels:
        spots = [at for at in (x, *(room.beside(wide) if across else ())) if room.free(_around(at, level, wide, high))]
        if spots:
            return min(spots, key=lambda at: (abs(at - x), at)), level
    return x, y


def _levels(facts: Facts, wall: Rect, high: int, y: int) -> list[int]:
    """Other heights at which a thing crosses no lane, the nearest first. Not for a bank: it stands on the floor."""
    lanes = [lane for kind in CIRCUIT_KINDS if kind != "comms" and (lane := facts.lane(kind)) is not None]
    every = range(high // 2, wall.top - high // 2 + 1, _STEP)
    clear = [level for level in every if all(abs(lane - level) >= high // 2 for lane in lanes)]
    return sorted(clear, key=lambda level: (abs(level - y), level))


def _at_its_bank(facts: Facts, room: _Room, bank: Place, wide: int, high: int) -> tuple[int, int, int, int]:
    """Beside its bank in the battery lane, or above it, or wherever near there is room, upright too; else on the bank's own terminals, without a size."""
    x, rect, lane = bank.at[0], bank.rect, facts.lane("battery")
    level = bank.at[1] if lane is None else lane
    reach = _GAP + wide // 2
    for spot in ((rect.left - reach, level), (rect.right + reach, level), (x, rect.top + _GAP + high // 2)):
        if room.free(_around(*spot, wide, high)):
            return *spot, wide, high
    near = [(*spot, *size) for size in ((wide, high), (high, wide)) for spot in _round(rect, *size)]
    found = [spot for spot in near if room.free(_around(*spot))]
    return min(found, key=lambda spot: (abs(spot[0] - x) + abs(spot[1] - bank.at[1]), spot), default=(*bank.at, 0, 0))


def _round(rect: Rect, wide: int, high: int) -> list[tuple[int, int]]:
    """Where the centre of a bar may lie round its bank: left and right of it, and above."""
    half, rise = wide // 2, high // 2
    ups = range(rect.bottom + rise, rect.top + _NEAR, _STEP)
    sides = [x for k in range(0, _NEAR, _STEP) for x in (rect.left - _GAP - half - k, rect.right + _GAP + half + k)]
    above = rect.top + _GAP + rise
    return [
        *((x, y) for x in sides for y in ups),
        *((x, y) for x in range(rect.left, rect.right, _STEP) for y in range(above, above + _NEAR, _STEP)),
    ]


def _preferred(spot: Spot, wide: int, high: int, wall: Rect, banks: Sequence[str]) -> tuple[int, int]:
    """Where a bank, a board, an isolator or the earth bar would hang if nothing were in its way."""
    row = table("place_sizes").row("what", spot.what) or {}
    across, up = row.get("across"), row.get("up")
    y = min(round(up * 1000) if isinstance(up, float) else wall.top // 2, wall.top - high // 2)
    if spot.name in banks:
        return wall.right * (2 * banks.index(spot.name) + 1) // (2 * len(banks)), y
    share = across if isinstance(across, float) else 0.5
    return round(_GAP + wide / 2 + share * (wall.right - 2 * _GAP - wide)), y
