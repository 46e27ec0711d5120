"""Where everything hangs: as answered, or set out with clearances where nobody said."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from engine.facts import Assumed, Facts
from engine.findings import Finding, caution, stop
from engine.keys import labelled
from engine.quantities import Metre, shown
from engine.site.wall import PlaceOnWall
from engine.solvers.separation import Rect
from engine.tables import table

_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Place:
    """One thing on the wall: its centre from the bottom left corner, its size; `assumed` where nobody gave its place.

    `key` is its entry in the answers, or the one it would have.
    """

    name: str
    what: str
    x: Metre
    y: Metre
    width: Metre
    height: Metre
    assumed: bool
    key: str

    @property
    def called(self) -> str:
        """What it is called in a sentence."""
        return f"the obstacle of {self.key}" if self.what == "obstacle" else self.name

    @property
    def at(self) -> tuple[int, int]:
        """Its centre in whole millimetres."""
        return round(self.x * 1000), round(self.y * 1000)

    @property
    def rect(self) -> Rect:
        """Its outline in whole millimetres."""
        x, y = self.at
        wide, high = round(self.width * 500), round(self.height * 500)
        return Rect(x - wide, y - high, x + wide, y + high)


@dataclass(frozen=True)
class Hung:
    """What hangs where it was said to; `begun` are the places of which only a part was said."""

    places: tuple[Place, ...]
    begun: dict[str, PlaceOnWall]
    assumed: tuple[Assumed, ...]
    findings: tuple[Finding, ...]


def what_of(name: str) -> str:
    """The kind of thing that a circuit's end is, in the file's words: "L1-1" is a unit, "bar B1" a bar."""
    if name[:1] == "L" and "-" in name:
        return "unit"
    if name[:1] == "B" and name[1:].isdigit():
        return "bank"
    return "bar" if name.startswith("bar ") else name.replace(" ", "-")


def size_of(facts: Facts, what: str) -> tuple[Metre, Metre]:
    """Width and height taken for a thing of this kind; nothing where it is unknown to us."""
    if what == "unit":
        return facts.answers.unit.width or 0.0, facts.answers.unit.height or 0.0
    row = table("place_sizes").row("what", what) or {}
    width, height = row.get("width"), row.get("height")
    return (width, height) if isinstance(width, float) and isinstance(height, float) else (0.0, 0.0)


def hung(facts: Facts, wanted: Iterable[str]) -> Hung:
    """Read the answered places; what is no part of the site still stands in the way."""
    names, taken = set(wanted), set[str]()
    done: list[Place] = []
    begun: dict[str, PlaceOnWall] = {}
    assumed: list[Assumed] = []
    findings: list[Finding] = []
    keys = labelled("wall.places", (place.tag for place in facts.answers.wall.places))
    for key, given in zip(keys, facts.answers.wall.places, strict=True):
        name, problem = _named(given, names, taken)
        if problem:
            findings.append(caution("place-unclear", key, *problem, "S19"))
        what = given.what if name and given.what else "obstacle"
        taken.add(name or key)
        if given.x is not None and given.y is not None:
            width, height = (v if v is not None else s for v, s in zip((given.width, given.height), size_of(facts, what), strict=True))
            done.append(Place(name or f"obstacle {key}", what, given.x, given.y, width, height, assumed=False, key=key))
            if what not in ("unit", "obstacle") and None in (given.width, given.height):
                assumed.append(Assumed(key, f"{shown(width, 'm')} by {shown(height, 'm')}", "no size answered", _PRACTICE))
        elif name:
            begun[name] = given
    return Hung(tuple(done), begun, tuple(assumed), tuple(findings))


def _named(given: PlaceOnWall, names: set[str], taken: set[str]) -> tuple[str | None, tuple[str, str] | None]:
    """The site's name for an answered place, or None where it only stands in the way; and what is odd about it with the cure."""
    if given.what == "obstacle":
        if given.x is None or given.y is None:
            return None, ("An obstacle has no place: cables may be planned through it.", "Answer its x and y.")
        return None, None
    name = given.tag if given.what in ("unit", "bank") else (given.what or "").replace("-", " ")
    if not name:
        return None, ("A place on the wall does not say what hangs there, or which unit or bank.", "Answer what and tag.")
    if name not in names:
        return None, (
            f"{name} has a place on the wall but this site has no circuit to it; it is taken as an obstacle.",
            "Correct its tag, or take the place away.",
        )
    if name in taken:
        return None, (f"{name} has two places on the wall: the second one is taken as an obstacle.", "Take one of them away.")
    return name, None


def told(place: Place) -> Assumed:
    """A place nobody answered, as it is listed among what was assumed."""
    spot = f"x {shown(place.x, 'm')}, y {shown(place.y, 'm')}, {shown(place.width, 'm')} by {shown(place.height, 'm')}"
    why = "a bar hangs at its bank" if place.what == "bar" else "no place answered: set out in rows with clearances"
    return Assumed(place.key, spot, why, _PRACTICE)


@dataclass(frozen=True)
class Fit:
    """Whether everything can hang where it is planned; `astray` are the places where it cannot."""

    findings: tuple[Finding, ...]
    astray: frozenset[str]


def fitting(facts: Facts, everything: Sequence[Place]) -> Fit:
    """Things off the wall, over each other, without room, or with too little air."""
    wall = Rect(0, 0, round((facts.answers.wall.width or 0.0) * 1000), round((facts.answers.wall.height or 0.0) * 1000))
    air = round((facts.answers.unit.clearance or 0.0) * 1000)
    pairs = [(one, other) for k, one in enumerate(everything) for other in everything[k + 1 :] if not _belong(one, other)]
    over = [(one, other) for one, other in pairs if one.rect.gap(other.rect) < 0]
    off = [place for place in everything if place.what != "obstacle" and _edge(place, wall) < 0]
    # A place that was set out for want of an answer is wrong only where there is no room; a bar goes where its bank is.
    roomless = [p for p in everything if p.assumed and p.what != "bar" and (p in off or any(p in pair for pair in over))]
    off = [place for place in off if not place.assumed]
    over = [pair for pair in over if not any(place.assumed for place in pair)]
    blocked = [pair for pair in over if "unit" in (pair[0].what, pair[1].what)]
    astray = frozenset(place.name for place in (*roomless, *off, *(unit for pair in blocked for unit in pair if unit.what == "unit")))
    return Fit(
        (
            *_no_room(facts, roomless),
            *_off_the_wall(facts, off, wall),
            *_overlapping(over, blocked),
            *(f for place in everything if place.name not in astray for f in _near_the_edge(place, wall, air)),
            *(f for pair in pairs if not astray & {place.name for place in pair} for f in _too_near(*pair, air)),
        ),
        astray,
    )


def _belong(one: Place, other: Place) -> bool:
    """Obstacles may lie over each other, and a bar may sit on its bank's own terminals."""
    return one.what == other.what == "obstacle" or f"bar {one.name}" == other.name or f"bar {other.name}" == one.name


def _edge(place: Place, wall: Rect) -> int:
    """How far a place keeps from the wall's edge; negative beyond it."""
    rect = place.rect
    return min(rect.left - wall.left, rect.bottom - wall.bottom, wall.right - rect.right, wall.top - rect.top)


def _size(facts: Facts) -> str:
    """The wall's size in words, and whether anyone measured it."""
    width, height = facts.figure("wall.width"), facts.figure("wall.height")
    guessed = any(figure and figure.how == "assumed" for figure in (width, height))
    return f"the wall of {width} by {height}{', a size that nobody answered' if guessed else ''}"


def listed(names: Sequence[str], most: int = 6) -> str:
    """The first of several names, and how many more there are."""
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")


def _no_room(facts: Facts, places: Sequence[Place]) -> Iterator[Finding]:
    if places:
        text = f"There is no room on {_size(facts)}, for {listed([place.called for place in places])}."
        remedy = "Measure the wall and answer its width and height; where they are right, hang the units on a larger wall, or on two and plan each by itself."
        yield stop("no-room-on-the-wall", "wall.width", text, remedy, "S19; the unit's clearance")


def _off_the_wall(facts: Facts, places: Sequence[Place], wall: Rect) -> Iterator[Finding]:
    if places:
        how_far = [f"{place.name} {shown(-_edge(place, wall) / 1000, 'm')}" for place in places]
        text = f"Beyond {_size(facts)}: {listed(how_far)}."
        yield stop("off-the-wall", places[0].key, text, "Correct where it hangs, or the width and height of the wall.", "S19")


def _overlapping(over: Sequence[tuple[Place, Place]], blocked: Sequence[tuple[Place, Place]]) -> Iterator[Finding]:
    """Nothing else fits where a unit hangs; other things may be one above the other in depth."""
    for raised, some in ((stop, blocked), (caution, [pair for pair in over if pair not in blocked])):
        if some:
            text = f"Over each other: {listed([f'{one.called} and {other.called}' for one, other in some])}."
            about = next(place for place in some[0] if place.what != "obstacle").key
            yield raised("places-overlap", about, text, "Move one of them.", "S19")


def _near_the_edge(place: Place, wall: Rect, air: int) -> Iterator[Finding]:
    edge = _edge(place, wall)
    if place.what == "unit" and edge < air:
        text = f"{place.name} is {shown(edge / 1000, 'm')} from the wall's edge, floor or ceiling; it needs {shown(air / 1000, 'm')} of free space."
        cure = "Move it inwards; where the side is open, a wider wall says so."
        yield caution("clearance-too-small", place.key, text, cure, "the unit's clearance")


def _too_near(one: Place, other: Place, air: int) -> Iterator[Finding]:
    gap, about = one.rect.gap(other.rect), (one if one.what != "obstacle" else other).key
    if 0 <= gap < air and "unit" in (one.what, other.what):
        text = f"{one.called} and {other.called} are {shown(gap / 1000, 'm')} apart; a unit needs {shown(air / 1000, 'm')} of free space."
        cure = "Move them apart: a unit that cannot cool gives less or switches off."
        yield caution("clearance-too-small", about, text, cure, "the unit's clearance")
