"""A drawing of the wall as somebody sees it, read from its SVG alone: labels with their room, outlines, lines by net."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from xml.etree import ElementTree as ET

SVG = "{http://www.w3.org/2000/svg}"
NINE_POINTS = 9 / 72 * 25.4
_EM = 0.62  # of a letter in a bold DejaVu, on average
Box = tuple[float, float, float, float]  # left, top, right, bottom


@dataclass(frozen=True)
class Label:
    text: str
    box: Box
    size: float


@dataclass(frozen=True)
class Line:
    net: str
    box: Box


@dataclass(frozen=True)
class Drawing:
    size: tuple[float, float]
    labels: tuple[Label, ...]
    outlines: dict[str, Box]
    lines: tuple[Line, ...]


def seen(svg: str) -> Drawing:
    root = ET.fromstring(svg)
    wide, high = (float(part) for part in root.attrib["viewBox"].split()[2:])
    labels = tuple(_label(element) for element in root.iter(f"{SVG}text"))
    outlines = {rect.attrib["data-name"]: _rect(rect) for rect in root.iter(f"{SVG}rect") if "data-name" in rect.attrib}
    lines = tuple(
        Line(group.attrib["data-net"], _span(line))
        for group in root.iter(f"{SVG}g")
        if "data-net" in group.attrib
        for line in group.iter(f"{SVG}line")
        if line.attrib["stroke"] != "#ffffff"
    )
    return Drawing((wide, high), labels, outlines, lines)


def _label(element: ET.Element) -> Label:
    assert element.attrib["class"] == "label", element.text
    size, text = float(element.attrib["font-size"]), element.text or ""
    x, y, wide = float(element.attrib["x"]), float(element.attrib["y"]), _EM * size * len(text)
    left = x - wide * {"start": 0, "middle": 0.5, "end": 1}[element.attrib["text-anchor"]]
    box = left, y - 0.75 * size, left + wide, y + 0.1 * size
    if turned := element.attrib.get("transform"):
        found = re.fullmatch(r"rotate\(-90 (\S+) (\S+)\)", turned)
        assert found and abs(float(found[1]) - x) < 0.02 and abs(float(found[2]) - y) < 0.02
        # A quarter turn against the clock about its own point: right becomes up.
        box = x + (box[1] - y), y - (box[2] - x), x + (box[3] - y), y - (box[0] - x)
    return Label(text, box, size)


def _rect(rect: ET.Element) -> Box:
    x, y, wide, high = (float(rect.attrib[key]) for key in ("x", "y", "width", "height"))
    return x, y, x + wide, y + high


def _span(line: ET.Element) -> Box:
    x1, y1, x2, y2 = (float(line.attrib[key]) for key in ("x1", "y1", "x2", "y2"))
    return min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)


def meet(a: Box, b: Box, by: float = 0.0) -> bool:
    """Whether they share more than so much room both ways."""
    return min(a[2], b[2]) - max(a[0], b[0]) > by and min(a[3], b[3]) - max(a[1], b[1]) > by


def touches(line: Box, box: Box, near: float = 0.15) -> bool:
    """Whether a line reaches an outline."""
    return line[0] <= box[2] + near and box[0] <= line[2] + near and line[1] <= box[3] + near and box[1] <= line[3] + near


def faults(drawing: Drawing, banks: dict[str, str], units: frozenset[str]) -> Iterator[str]:
    """What is wrong with a drawing; `banks` tells by place (unit, bar, bank) on which bank it is."""
    wide, high = drawing.size
    for label in drawing.labels:
        if label.size < NINE_POINTS:
            yield f"small: {label.text}"
        if label.box[0] < 0 or label.box[1] < 0 or label.box[2] > wide or label.box[3] > high:
            yield f"off the page: {label.text}"
    for one, other in combinations(drawing.labels, 2):
        if meet(one.box, other.box, 0.05):
            yield f"labels overlap: {one.text} | {other.text}"
    for line in drawing.lines:
        for name, box in drawing.outlines.items():
            inner = box[0] + 0.3, box[1] + 0.3, box[2] - 0.3, box[3] - 0.3
            if name in units and line.box[0] < inner[2] and line.box[2] > inner[0] and line.box[1] < inner[3] and line.box[3] > inner[1]:
                yield f"a cable inside {name}: {line.net}"
            found = re.fullmatch(r"battery (\S+)(?: common)?", line.net)
            if found and banks.get(name, found[1]) != found[1] and _ends_at(line.box, box):
                yield f"a cable of {found[1]} ends at {name}"
    told_close = any(label.text.startswith("Too close to draw apart") for label in drawing.labels)
    for one, other in combinations(drawing.lines, 2):
        nets = {re.sub(" common$", "", line.net) for line in (one, other)}
        near = 0.03 if told_close else 0.4
        if len(nets) == 2 and all(net.startswith("battery ") for net in nets) and _along(one.box, other.box, near):
            yield f"one line for {' and '.join(sorted(nets))}"


def _ends_at(line: Box, box: Box) -> bool:
    """Whether an end of a line lies on an outline, and the line comes to it from outside."""
    upright = line[0] == line[2]
    ends = ((line[0], line[1]), (line[2], line[3]))
    for x, y in ends:
        on_side = box[1] < y < box[3] and min(abs(x - box[0]), abs(x - box[2])) < 0.05 and not upright
        on_level = box[0] < x < box[2] and min(abs(y - box[1]), abs(y - box[3])) < 0.05 and upright
        if on_side or on_level:
            return True
    return False


def _along(a: Box, b: Box, near: float) -> bool:
    """Whether two lines lie on each other for a way."""
    for axis in (0, 1):
        if a[1 - axis] == a[3 - axis] and b[1 - axis] == b[3 - axis]:
            return abs(a[1 - axis] - b[1 - axis]) < near and min(a[2 + axis], b[2 + axis]) - max(a[axis], b[axis]) > 0.5
    return False
