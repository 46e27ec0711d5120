"""What nobody answered and the plan took, by what it is about, in the words of the questions."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING

from engine.frozen import dataclass
from engine.plan import Assumption
from engine.site.names import answer_of, title_of
from engine.site.spoken import spoken
from engine.stages.wall.part import Place
from engine.text import clean

if TYPE_CHECKING:
    from engine.planner import Planned

# What a group is about, by how its keys begin; the first that fits.
_GROUPS: Mapping[str, tuple[str, ...]] = {
    "Site, supply and set": ("site.", "earthing.", "output.", "incoming.", "set.", "plan.incoming."),
    "Solar": ("solar.", "unit.solar.", "plan.solar."),
    "Units and terminals": ("unit.", "plan.terminal_temperature"),
    "Battery": ("storage.", "plan.storage."),
    "Loads": ("loads", "plan.power_factor"),
    "Cables": ("routes", "drop.", "plan.bill."),
    "Wall": ("wall.",),
    "A day": ("plan.hours.",),
}
_PLACE = "wall.places["


@dataclass(frozen=True)
class Taken:
    """Values that were taken for one reason: what, the value, why."""

    what: str
    value: str
    why: str


@dataclass(frozen=True)
class Group:
    """What was taken about one thing."""

    about: str
    taken: tuple[Taken, ...]


def assumed(planned: Planned) -> tuple[Group, ...]:
    """Everything that nobody answered, by what it is about; nothing of the plan's list is left out."""
    by: dict[str, list[Assumption]] = {about: [] for about in _GROUPS}
    for one in planned.plan.assumed:
        by[next(about for about, keys in _GROUPS.items() if one.key.startswith(keys))].append(one)
    return tuple(Group(about, tuple(_lines(planned, some))) for about, some in by.items() if some)


def _lines(planned: Planned, some: list[Assumption]) -> Iterator[Taken]:
    """A line for what was taken alike in several rows, and one for several things on the wall."""
    hung = {place.key: place for place in planned.parts.wall.places if place.assumed}
    alike: dict[tuple[str, str, str], list[str]] = {}
    for one in (one for one in some if one.key not in hung):
        figure = planned.figures.get(one.key)
        value = planned.facts.told(figure) if figure else answer_of(one.key, one.value)
        alike.setdefault((title_of(one.key), value, spoken(clean(one.why, 300))), []).extend(re.findall(r"\[([^\]]*)\]", one.key))
    for (title, value, why), rows in alike.items():
        yield Taken(f"{title} ({', '.join(clean(row, 60) for row in rows)})" if rows else title, value, why)
    whys = {one.key: one.why for one in some if one.key in hung}
    yield from _places(planned.facts.metres, [hung[key] for key in whys], whys)


def _places(metres: Callable[[float], str], places: list[Place], whys: Mapping[str, str]) -> Iterator[Taken]:
    """Things of one size in one line: each keeps its place."""
    alike: dict[tuple[str, float, float, str], list[Place]] = {}
    for place in places:
        alike.setdefault((place.what, place.width, place.height, whys[place.key]), []).append(place)
    for (_, width, height, why), some in alike.items():
        spots = [f"x {metres(place.x)}, y {metres(place.y)}" for place in some]
        size = f"{metres(width)} by {metres(height)}"
        if len(some) == 1:
            yield Taken(f"Place of {some[0].name}", f"{spots[0]}; {size}", why)
        else:
            named = "; ".join(f"{place.name} {spot}" for place, spot in zip(some, spots, strict=True))
            yield Taken(f"Places of the {some[0].what}s", f"{named}; each {size}", why)
