"""The rows of a single-line diagram, one a unit, and the columns that everything of a row stands in: no label leaves its own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from engine.frozen import dataclass
from engine.planner import Planned
from engine.sheets.devices import UNKNOWN
from engine.sheets.drawings.named import Cables, Named, tag_of
from engine.sheets.drawings.paper import room
from engine.stages.circuits import Ends
from engine.stages.switchgear import Gear, GearKind
from engine.stages.units import UnitPlace

DEVICE, CABLE, PAIR = 8.4, 5.6, 4.2  # mm, of a symbol, of the strokes of a line with neutral and earth, and of a pair, before a label
BESIDE = 6.6  # of a symbol before a label where the line runs from top to bottom
PANELS = 6.2  # their symbol, where a fuse follows
_UNIT, _BESIDE_EARTH = 24.0, 7.2  # the least of a unit; what stands beside its earth symbol begins there
_LONG = 13  # letters of a bank's cable
_BARS = 12.0  # two of them
_COMMON = 32.0  # the least for what serves the whole set


@dataclass(frozen=True)
class Row:
    """One unit and its circuits, None where it has none."""

    unit: UnitPlace
    bank: str | None
    battery: Ends | None
    solar: Ends | None
    load: Ends | None
    incoming: Ends | None


def rows_of(planned: Planned) -> list[Row]:
    """Units of one bank stand together, so that its bar is one line."""
    parts = planned.parts
    own = {(ends.tag, ends.kind): ends for ends in parts.circuits.circuits if ends.tag}
    names = [bank.name for bank in parts.banks.banks]
    rows = [
        Row(
            unit,
            parts.banks.bank_of.get(unit.tag),
            own.get((unit.tag, "battery")),
            own.get((unit.tag, "solar")),
            own.get((unit.tag, "load")),
            own.get((unit.tag, "incoming")),
        )
        for unit in parts.units.units
    ]
    return sorted(rows, key=lambda row: names.index(row.bank) if row.bank in names else len(names))


@dataclass(frozen=True)
class Columns:
    """Where each column begins, mm from the left: the banks, their bars, fuses, isolators, cables of a unit; the unit; its AC cables and
    breakers; the bars of the incoming and the load board; what serves the whole set.
    """

    bank: float
    bar: float
    fuse: float
    isolator: float
    direct: float
    unit: float
    cable: float
    breaker: float
    incoming: float
    load: float
    common: float
    end: float

    @property
    def common_room(self) -> float:
        """The room for a label beside what serves the whole set."""
        return self.end - self.common - DEVICE - 1


def columns(planned: Planned, rows: Sequence[Row], wide: float) -> tuple[Columns, Named]:
    """Each as wide as its longest label of these rows, and the words that they are made for: shorter ones where the whole would be too wide."""
    named = Named(planned, UNKNOWN)
    takes = _takes(planned, named, rows)
    if sum(takes) > wide - 2 and sum(shorter := _takes(planned, Named(planned, "?"), rows)) < sum(takes):
        named, takes = Named(planned, "?"), shorter
    spare = max(0.0, wide - 2 - sum(takes))
    starts = [1.0]
    for take, share in zip(takes, _SHARES, strict=True):
        starts.append(starts[-1] + take + spare * share)
    return Columns(*starts), named


# Of what is left, by column: to those of labels, most of it to the last.
_SHARES = (0.1, 0.0, 0.1, 0.1, 0.1, 0.0, 0.1, 0.1, 0.0, 0.0, 0.4)


def _takes(planned: Planned, named: Named, rows: Sequence[Row]) -> list[float]:
    gear, cables = planned.parts.switchgear, named.cables
    direct = [ends for row in rows for ends in (row.battery, row.solar) if ends]
    alternating = [ends for row in rows for ends in (row.load, row.incoming) if ends]
    banks = [ends for ends in planned.parts.circuits.of("battery", common=True) if ends.bank in {row.bank for row in rows}]
    tags = {row.unit.tag for row in rows}
    earths = [ends for ends in planned.parts.circuits.circuits if ends.kind == "earth" and ends.tag in tags]
    fused = any(gear.fuse(row.solar) for row in rows if row.solar)
    beside_bank = [words for ends in banks for words in bank_cable(cables, ends)]
    beside_bank += [f"bond B{len(planned.parts.banks.banks)}", "from sheet 2"]

    def widest(pieces: Iterable[Gear]) -> float:
        return _longest(words for piece in pieces for words in (tag_of(piece), named.rated(piece)))

    return [
        BESIDE + max(widest(piece for ends in banks for piece in gear.of(ends)), _longest(beside_bank)),
        4.0 + (PANELS if fused else 0.0),
        DEVICE + widest(piece for ends in direct for piece in gear.of(ends, GearKind.FUSE)),
        DEVICE + widest(piece for ends in direct for piece in gear.of(ends) if piece.opens),
        PAIR + _longest(words for ends in direct for words in direct_cable(cables, ends)),
        max(_UNIT, _BESIDE_EARTH + _longest(map(cables.sized, earths))),
        CABLE + _longest(words for ends in alternating for words in alternating_cable(cables, ends)),
        DEVICE + widest(piece for ends in alternating for piece in gear.of(ends) if piece.opens),
        _BARS / 2,
        _BARS / 2,
        _COMMON,
    ]


def bank_cable(cables: Cables, ends: Ends) -> tuple[str, str]:
    """The label of a bank's cable, and that of the bar where it ends: letters that would make the column wide stand in the second."""
    size, letter = cables.size(ends), cables.letter(ends)
    return (f"{size} {letter}", ends.end) if len(size) + len(letter) < _LONG else (size, f"{letter} {ends.end}".lstrip())


def direct_cable(cables: Cables, ends: Ends) -> tuple[str, str]:
    """The label of a pair of plus and minus."""
    return cables.size(ends), cables.letter(ends)


def alternating_cable(cables: Cables, ends: Ends) -> tuple[str, str]:
    """The label of a unit's line and neutral, which are alike, and their protective conductor."""
    return cables.sized(ends), cables.earth(ends) if cables.letter(ends) else ""


def _longest(labels: Iterable[str]) -> float:
    return 0.6 + max((room(words) for words in labels), default=0.0)
