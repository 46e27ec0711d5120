"""How large the wall is: as answered, or assumed and grown until everything hangs on it with its clearances (S31)."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import ceil

from engine.facts import Facts
from engine.solvers.separation import Rect
from engine.stages.circuits import Spot
from engine.stages.wall.part import outline
from engine.stages.wall.places import Hung, size_of
from engine.stages.wall.setting_out import set_out
from engine.workings import Figure, altered

_STEP = 100  # millimetres by which an assumed wall grows


def sized(facts: Facts, hung: Hung, missing: Sequence[Spot], lanes: Iterable[int]) -> tuple[Figure, Figure]:
    """Width and height. What nobody answered reaches as far as what was answered to hang or run there.

    Where that leaves no room for the rest it grows on, the width before the height, to the least size at which as much finds
    room as ever will.
    """
    width, height = facts.figure("wall.width"), facts.figure("wall.height")
    if width and height:
        return width, height
    clearance = round(facts.clearance * 1000)
    beside = [(place.rect, clearance if place.what == "unit" else 0) for place in hung.places]
    wide = width or _reaching(facts.taken("wall.width"), (rect.right + air for rect, air in beside))
    high = height or _reaching(facts.taken("wall.height"), (*(rect.top + air for rect, air in beside), *lanes))
    least = outline(wide, high)

    def grown(steps: int) -> Rect:
        more = steps * _STEP
        return replace(least, top=least.top + more) if width else replace(least, right=least.right + more)

    def crowded(steps: int) -> int:
        return set_out(facts, grown(steps), hung, missing).crowded

    if not crowded(0):
        return wide, high
    sizes = (size_of(facts, spot.what)[1 if width else 0] for spot in missing)
    most = ceil(sum(size * 1000 + 2 * clearance for size in sizes) / _STEP)
    always = crowded(most)
    at_last = grown(bisect_left(range(most), True, key=lambda steps: crowded(steps) <= always))
    return (wide, _reaching(high, [at_last.top])) if width else (_reaching(wide, [at_last.right]), high)


def _reaching(figure: Figure, needed: Iterable[int]) -> Figure:
    """An assumed side, grown to the largest of what is needed, in millimetres."""
    reach = ceil(max(needed, default=0) / _STEP) * _STEP / 1000
    if reach <= figure.value:
        return figure
    return altered(figure, value=reach, note="grown until everything hangs on the wall with its clearances")
