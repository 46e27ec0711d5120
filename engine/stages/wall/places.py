"""Where everything hangs: as answered, or set out with clearances where nobody said."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from engine.facts import Assumed, Facts
from engine.findings import Finding, caution
from engine.frozen import dataclass
from engine.keys import labelled
from engine.quantities import Metre
from engine.site.wall import PlaceOnWall
from engine.stages.circuits import Spot
from engine.stages.wall.part import Place
from engine.tables import table

_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Hung:
    """What hangs where it was said to; `begun` are the places of which only a part was said."""

    places: tuple[Place, ...]
    begun: dict[str, PlaceOnWall]
    assumed: tuple[Assumed, ...]
    findings: tuple[Finding, ...]


def size_of(facts: Facts, what: str) -> tuple[Metre, Metre]:
    """Width and height taken for a thing of this kind; nothing where it is unknown to us."""
    if what == "unit":
        return facts.unit_size
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
        if problem and names:  # where no set is planned, nothing has a circuit, and one finding says why
            findings.append(caution("place-unclear", key, *problem, "S19"))
        what = given.what if name and given.what else "obstacle"
        taken.add(name or key)
        if given.x is not None and given.y is not None:
            width, height = (v if v is not None else s for v, s in zip((given.width, given.height), size_of(facts, what), strict=True))
            done.append(Place(name or f"obstacle {key}", what, given.x, given.y, width, height, assumed=False, key=key))
            if what not in ("unit", "obstacle") and None in (given.width, given.height):
                assumed.append(Assumed(key, f"{facts.metres(width)} by {facts.metres(height)}", "no size answered", _PRACTICE))
        elif name:
            begun[name] = given
    return Hung(tuple(done), begun, tuple(assumed), tuple(findings))


def _named(given: PlaceOnWall, names: set[str], taken: set[str]) -> tuple[str | None, tuple[str, str] | None]:
    """The site's name for an answered place, or None where it only stands in the way; and what is odd about it with the cure."""
    if given.what == "obstacle":
        if given.x is None or given.y is None:
            return None, ("An obstacle has no place: cables may be planned through it.", "Answer its wall.places.x and wall.places.y.")
        return None, None
    name = given.tag if given.what in ("unit", "bank") else (given.what or "").replace("-", " ")
    if not name:
        return None, (
            "A place on the wall does not say what hangs there, or which unit or bank.",
            "Answer wall.places.what and wall.places.tag.",
        )
    if name not in names:
        return None, (
            f"{name} has a place on the wall but this site has no circuit to it; it is taken as an obstacle.",
            "Correct its tag, or take the place away.",
        )
    if name in taken:
        return None, (f"{name} has two places on the wall: the second one is taken as an obstacle.", "Take one of them away.")
    return name, None


def told(facts: Facts, place: Place) -> Assumed:
    """A place nobody answered, as it is listed among what was assumed."""
    spot = f"x {facts.metres(place.x)}, y {facts.metres(place.y)}, {facts.metres(place.width)} by {facts.metres(place.height)}"
    if not place.width:
        return Assumed(place.key, f"on its bank, {spot.rpartition(', ')[0]}", "no room for a bar beside its bank", _PRACTICE)
    why = "a bar hangs at its bank" if place.what == "bar" else "no place answered: set out in rows with clearances"
    return Assumed(place.key, spot, why, _PRACTICE)


def sides_taken(facts: Facts, spots: Iterable[Spot]) -> Iterator[Assumed]:
    """What is taken where nobody said at which side of a unit its cables come in (S19)."""
    unit, units = facts.answers.unit, sum(spot.what == "unit" for spot in spots)
    asked = (
        ("unit.terminals", "power", unit.terminals is None and units > 0),
        ("unit.port_side", "data", unit.port_side is None and units > 0 and (units > 1 or facts.answers.storage.managed)),
    )
    for key, what, is_open in asked:
        if is_open:
            why = f"nobody said where {what} cables come in: lengths are reckoned to the middle, drawings end a cable at the edge where it comes to the unit"
            yield Assumed(key, "middle", why, _PRACTICE)
