"""Which papers the folder has, in the order in which they are used; those of a plan that is stopped end before anything is landed."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from engine.sheets.folder.bill import bill
from engine.sheets.folder.blocks import Chapter
from engine.sheets.folder.build import build
from engine.sheets.folder.cover import cover
from engine.sheets.folder.drawn import diagram, wall
from engine.sheets.folder.filling import Paper
from engine.sheets.folder.labels import labels
from engine.sheets.folder.maintenance import maintenance
from engine.sheets.folder.order import order
from engine.sheets.folder.owner import owner
from engine.sheets.folder.record import record
from engine.sheets.folder.risk import risk
from engine.sheets.folder.unit import units

if TYPE_CHECKING:
    from engine.planner import Planned


# Each gives the chapters of its kind; none where this plan has nothing for it.
PARTS: tuple[Callable[[Planned, Paper], tuple[Chapter, ...]], ...] = (
    diagram,
    wall,
    risk,
    bill,
    build,
    labels,
    units,
    order,
    record,
    owner,
    maintenance,
)


def chapters(planned: Planned, paper: Paper) -> tuple[Chapter, ...]:
    """All chapters of this plan, the cover first; the cover tells where each begins."""
    others = tuple(chapter for part in PARTS for chapter in part(planned, paper))
    return (cover(planned, paper, others), *others)
