"""Moving things on the wall: the answers that a move gives. No terminal here."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, get_args

from engine.keys import labelled
from engine.quantities import shown
from engine.site import Answers
from engine.site.wall import PlaceOnWall

if TYPE_CHECKING:
    from engine.stages.wall.part import Place

STEP = 0.05  # m, one press of an arrow key


def entry_of(place: Place, answers: Answers) -> int:
    """Where a thing's entry stands under `wall.places`; one past the last where it has none yet."""
    keys = labelled("wall.places", (given.tag for given in answers.wall.places))
    for at, (key, given) in enumerate(zip(keys, answers.wall.places, strict=True)):
        if _name(given) == place.name or place.name == f"obstacle {key}":
            return at
    return len(answers.wall.places)


def movable(place: Place, answers: Answers) -> bool:
    """Whether the file has an entry for such a thing: a bar hangs where its bank is, and has none."""
    return place.what in _kinds() and (place.what != "obstacle" or entry_of(place, answers) < len(answers.wall.places))


def moved(place: Place, answers: Answers, right: int, up: int, wall: tuple[float, float]) -> Mapping[str, str]:
    """The answers by key after moving a thing by so many steps, kept on a wall of that width and height."""
    at = entry_of(place, answers)
    given = answers.wall.places[at] if at < len(answers.wall.places) else PlaceOnWall()
    # What was answered since the plan was made wins, so that a key held down moves on.
    x = min(max(0.0, (place.x if given.x is None else given.x) + right * STEP), wall[0])
    y = min(max(0.0, (place.y if given.y is None else given.y) + up * STEP), wall[1])
    key = f"wall.places[{at}]"
    told = (
        {}
        if at < len(answers.wall.places)
        else {f"{key}.what": place.what} | ({f"{key}.tag": place.name} if place.what in ("unit", "bank") else {})
    )
    return told | {f"{key}.x": shown(round(x, 3), "m"), f"{key}.y": shown(round(y, 3), "m")}


def _name(given: PlaceOnWall) -> str | None:
    return given.tag if given.what in ("unit", "bank") else (given.what or "").replace("-", " ") or None


def _kinds() -> tuple[str, ...]:
    hint = PlaceOnWall.model_fields["what"].annotation
    return tuple(str(word) for arg in get_args(hint) for word in get_args(arg))
