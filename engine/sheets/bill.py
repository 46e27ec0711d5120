"""The bill as data, for every form that it takes: what is bought by who supplies it and when it is needed, what is read on it when it
comes, what is cut and from what.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import get_args

from engine.facts import CIRCUIT_KINDS
from engine.frozen import dataclass
from engine.plan import BillRow, CutRow, ReelRow
from engine.planner import Planned
from engine.stages.bill.part import Cut, Joint
from engine.stages.procedure.part import Section
from engine.text import clean
from engine.workings import Figure

# The order in which somebody orders: what takes longest first.
SUPPLIERS = ("the units' maker", "the battery's maker", "solar supplier", "electrical wholesaler", "tools and test gear")
MARKING = "Mark both ends of every piece: circuit, pole, which of how many, where this end goes, and the other one."
BEYOND = {"incoming": "supply", "load": "consumers"}  # what lies behind the common circuit of a board
SECTIONS: tuple[str, ...] = get_args(Section)


@dataclass(frozen=True)
class Lot:
    """What one part of the order of work needs first, `step` the number of the first step in it that does."""

    needed: str
    step: int | None
    lines: tuple[BillRow, ...]


@dataclass(frozen=True)
class Group:
    """What one supplier sells, in the order in which it is needed."""

    supplier: str
    lots: tuple[Lot, ...]

    @property
    def lines(self) -> tuple[BillRow, ...]:
        """All of it."""
        return tuple(line for lot in self.lots for line in lot.lines)


@dataclass(frozen=True)
class GoodsIn:
    """One box to tick when goods come: how many of what, and what is read on it."""

    quantity: int
    item: str
    specification: str
    read: str
    supplier: str
    mark: str | None


@dataclass(frozen=True)
class Piece:
    """Alike pieces of the cut list: as it stands in the plan, how long each is, and what each of their ends is marked."""

    row: CutRow
    length: Figure | None
    marks: tuple[tuple[str, str], ...]


def groups(planned: Planned) -> tuple[Group, ...]:
    """What is bought, by supplier and within it by when it is needed; what is cut from what is bought stands in the cut list alone."""
    lines = [line for line in planned.plan.bill if not line.cut_from_reel]
    own = {supplier: [line for line in lines if line.supplier == supplier] for supplier in SUPPLIERS}
    return tuple(Group(supplier, _lots(planned, some)) for supplier, some in own.items() if some)


def places(planned: Planned, line: BillRow) -> tuple[str, ...]:
    """Where it goes; what goes to all units, or to all their circuits of a kind, is told in one."""
    tags, own = planned.parts.units.tags, frozenset(line.goes_to)
    whole = {f"{kind} of every unit": [ends.name for ends in planned.parts.circuits.of(kind, common=False)] for kind in CIRCUIT_KINDS}
    whole["every unit"] = [*tags]
    named = {place: told for told, some in whole.items() if len(tags) > 1 and some and own.issuperset(some) for place in some}
    return tuple(dict.fromkeys(named.get(place, place) for place in line.goes_to))


def read_on(planned: Planned) -> Mapping[str, str]:
    """What is read on each item when it comes."""
    return {line.item: line.read for line in planned.parts.bill.lines}


def goods_in(planned: Planned) -> tuple[GoodsIn, ...]:
    """What is read on everything that comes, in the order of the groups."""
    read = read_on(planned)
    return tuple(
        GoodsIn(line.quantity, line.item, line.specification, read[line.item], group.supplier, line.mark)
        for group in groups(planned)
        for line in group.lines
    )


def cut_list(planned: Planned) -> tuple[Piece, ...]:
    """Every piece of conductor, with what is marked on its two ends, one pair for each piece."""
    cut: dict[tuple[str, str, str, str], list[Cut]] = {}
    for one in planned.parts.bill.cuts:
        cut.setdefault((one.circuit, clean(str(one.start), 60), clean(str(one.end), 60), one.pole), []).append(one)
    pieces = []
    for row in planned.plan.cuts:
        own = [one for pole in row.poles for one in cut[row.circuit, row.from_, row.to, pole]]
        told = [_beyond(one) for one in own]
        pieces.append(
            Piece(
                replace(row, from_=clean(str(told[0].start), 60), to=clean(str(told[0].end), 60)),
                own[0].length,
                tuple(one.marks for one in told),
            )
        )
    return tuple(pieces)


def _beyond(cut: Cut) -> Cut:
    """A piece that begins and ends on one board leads to what lies behind that."""
    if cut.start != cut.end or cut.kind not in BEYOND:
        return cut
    far = Joint(cut.start.what, BEYOND[cut.kind])
    return replace(cut, start=far) if cut.kind == "incoming" else replace(cut, end=far)


def reel_list(planned: Planned) -> tuple[ReelRow, ...]:
    """What the pieces are cut from: reels, and lengths cut in the shop, each with the reason why."""
    return tuple(planned.plan.reels)


def _lots(planned: Planned, lines: Sequence[BillRow]) -> tuple[Lot, ...]:
    """By the sections of the order of work, in their order."""
    lots = [(section, tuple(line for line in lines if line.needed == section)) for section in SECTIONS]
    return tuple(Lot(section, _first(planned, some), some) for section, some in lots if some)


def _first(planned: Planned, lines: Sequence[BillRow]) -> int | None:
    names = {line.step for line in lines}
    places = [step.place for step in planned.parts.procedure.steps if step.id.partition("@")[0] in names]
    return min(places, default=None)
