"""The answers that the planner may decide, and what they make of a document. Facts of site, datasheet or law are not among them."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Any

_STEP = re.compile(r"\.?([a-z_]+)|\[(\d+)\]")


def _wholes(text: str) -> list[int]:
    return [int(word) for word in text.split(",")]


# Keys without the positions in their arrays, and how their text becomes a value of the file. What an entry is of (`carries`, `what`, `tag`,
# `bank`) is said of new entries alone.
DECIDABLE: Mapping[str, Callable[[str], object]] = {
    "set.count": int,
    "set.per_phase": _wholes,
    "set.spare": int,
    "set.lead": str,
    "loads.phase": str,
    "storage.connection": str,
    "storage.bank.parallel": int,
    "storage.bank.feed": str,
    "storage.links.bank": str,
    "storage.links.unit": str,
    "solar.series": int,
    "solar.parallel": int,
    "solar.trackers": int,
    "routes.carries": str,
    "routes.method": str,
    "routes.insulation": str,
    "routes.metal": str,
    "routes.grouped": int,
    "routes.lane": str,
    "routes.containment": str,
    "wall.places.what": str,
    "wall.places.tag": str,
    "wall.places.x": str,
    "wall.places.y": str,
}


def changed(document: Mapping[str, Any], answers: Mapping[str, str]) -> dict[str, Any]:
    """The document with these answers; KeyError for one that is not the planner's to decide."""
    made = copy.deepcopy({key: value for key, value in document.items() if key not in ("plan", "record")})
    for key, text in answers.items():
        read = DECIDABLE[re.sub(r"\[\d+\]", "", key)]
        *way, last = [step[1] or int(step[2]) for step in _STEP.finditer(key)]
        place: Any = made
        for step, following in pairwise((*way, last)):
            if isinstance(step, int):
                if step == len(place):
                    place.append({})
                place = place[step]
            else:
                place = place.setdefault(step, [] if isinstance(following, int) else {})
        if text:
            place[last] = read(text)
        else:
            place.pop(last, None)
    return made
