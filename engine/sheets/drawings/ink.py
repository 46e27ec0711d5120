"""What every drawing is made of: elements of SVG whose texts are escaped, and what room a text takes."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence

from engine.text import clean

BLACK, WHITE = "#000000", "#ffffff"


def escaped(text: str, most: int = 400) -> str:
    """The only way by which text comes into a drawing."""
    return html.escape(clean(text, most))


def element(name: str, attributes: Mapping[str, object], inside: str = "") -> str:
    """One element; `inside` is markup of ours, or text that was escaped."""
    told = "".join(f' {key.replace("_", "-")}="{escaped(str(value), 4000)}"' for key, value in attributes.items())
    return f"<{name}{told}>{inside}</{name}>"


def tag(name: str, **attributes: object) -> str:
    """An element with nothing inside."""
    return element(name, attributes)


def line(points: Sequence[tuple[float, float]], **look: object) -> str:
    """A line through points, not filled."""
    told = " ".join(f"{x:g},{y:g}" for x, y in points)
    return tag("polyline", points=told, **({"fill": "none", "stroke": BLACK} | look))


def text(x: float, y: float, words: str, *, size: float, weight: str = "normal", anchor: str = "start", **more: object) -> str:
    """Words whose base line begins (or has its middle, its end) at a point."""
    look = {"x": f"{x:g}", "y": f"{y:g}", "font_size": f"{size:g}", "font_weight": weight, "text_anchor": anchor, "fill": BLACK}
    return element("text", look | more, escaped(words))
