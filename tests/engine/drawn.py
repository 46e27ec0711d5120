"""What a drawing on paper is held to: where its labels are, and that none meets another or leaves the page."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import combinations
from xml.etree import ElementTree as ET

_WIDE = 0.62  # of the size, what a letter takes from left to right
_ABOVE, _BELOW = 0.93, 0.24  # of the size, what letters take above and below their base line: DejaVu Sans, the tallest of the usual typefaces
NINE_POINTS = 3.175  # mm


@dataclass(frozen=True)
class Box:
    """A label with the room that it takes, mm."""

    words: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        return self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom


def labels(svg: str) -> list[Box]:
    """Every text of a drawing, by its estimated box."""
    found = []
    for text in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text"):
        assert text.get("class") == "label", text.text
        size, x, y = float(text.get("font-size")), float(text.get("x")), float(text.get("y"))
        wide = len(text.text) * size * _WIDE
        left = x - {"start": 0, "middle": wide / 2, "end": wide}[text.get("text-anchor")]
        assert size >= NINE_POINTS, text.text
        found.append(Box(text.text, left, y - _ABOVE * size, left + wide, y + _BELOW * size))
    return found


def faults(svg: str, size: tuple[float, float]) -> list[str]:
    """Labels that meet, and labels beyond the page."""
    boxes = labels(svg)
    met = [f"{a.words!r} meets {b.words!r}" for a, b in combinations(boxes, 2) if a.meets(b)]
    return met + [f"{box.words!r} leaves the page" for box in boxes if box.left < 0 or box.top < 0 or box.right > size[0] or box.bottom > size[1]]


def counted(svgs: tuple[str, ...], name: str) -> Counter[str]:
    """How often each thing is drawn, by what its elements say that they stand for."""
    return Counter(value for svg in svgs for element in ET.fromstring(svg).iter() if (value := element.get(f"data-{name}")))
