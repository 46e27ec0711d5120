"""The wall as SVG, to scale, legible in grey: every kind of cable has its own dashes and width, every mark its word."""

from __future__ import annotations

import html
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence

from engine.frozen import dataclass
from engine.planner import Planned
from engine.quantities import Metre
from engine.sheets.head import STANDINGS, stamp
from engine.sheets.wall_text import chain_lines, comms_way, in_metres, lanes_used
from engine.solvers.separation import Point, pieces
from engine.stages.chain.part import Chain
from engine.stages.wall.part import Place, Wall
from engine.text import clean

_MARGIN = 320  # millimetres of paper round the wall
_LINE = 78  # millimetres from line to line of text


@dataclass(frozen=True)
class _Stroke:
    """How one kind of cable is drawn, in millimetres; `aside` parts kinds that share a way."""

    colour: str
    width: int
    dashes: str
    aside: int


_STROKES: Mapping[str, _Stroke] = {
    "earth": _Stroke("#2e7d32", 8, "6 22", -44),
    "incoming": _Stroke("#6d4c41", 9, "60 18 10 18", 22),
    "solar": _Stroke("#b26a00", 9, "14 14", 44),
    "load": _Stroke("#1f4e8c", 10, "46 20", -22),
    "battery": _Stroke("#b71c1c", 20, "", 0),
}
_COMMS = _Stroke("#000000", 13, "", 0)


def wall_svg(planned: Planned) -> str:
    """The drawing with its scale, its legend, and the chain link by link."""
    wall, chain = planned.parts.wall, planned.parts.chain
    name = clean(planned.facts.answers.site.name or "", 60)
    title = f"{name}: wall" if name else "wall"
    return svg(wall, chain, title, (stamp(planned.plan), STANDINGS[planned.plan.standing]), planned.facts.metres)


def svg(wall: Wall, chain: Chain, title: str, under: Sequence[str] = (), metres: Callable[[Metre], str] = in_metres) -> str:
    """The same from its parts; `under` are the lines below the title, `metres` writes a length for the people of the site."""
    width, height = wall.outline.right, wall.outline.top
    body = "".join(_drawn(wall, chain)) if width and height else _text(0, 0, "The wall has no size: nothing to draw.")
    notes = "".join(_notes(wall, chain, height, metres))
    lines = 3 + len(_kinds(wall)) + len(chain_lines(chain, 120, metres))
    deep, wide = height + 2 * _MARGIN + lines * _LINE, max(width, 2600) + 2 * _MARGIN
    head = _text(0, -_MARGIN + 100, title, size=84, weight="bold")
    head += "".join(_text(0, -_MARGIN + 100 + _LINE * place, line) for place, line in enumerate(under, 1))
    paper = _tag("rect", x=-_MARGIN, y=-_MARGIN, width=wide, height=deep, fill="#ffffff")
    inside = "".join((_element("title", {}, _escaped(title)), paper, head, body, notes))
    box = f"{-_MARGIN} {-_MARGIN} {wide} {deep}"
    look = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": box,
        "width": f"{wide / 5:.0f}",
        "height": f"{deep / 5:.0f}",
        "font_family": "sans-serif",
    }
    return _element("svg", look, inside) + "\n"


def _escaped(text: str, most: int = 400) -> str:
    """The only way by which text comes into the drawing."""
    return html.escape(clean(text, most))


def _element(name: str, attributes: Mapping[str, object], inside: str = "") -> str:
    """One element; `inside` is markup of ours, or text that was escaped."""
    told = "".join(f' {key.replace("_", "-")}="{_escaped(str(value), 4000)}"' for key, value in attributes.items())
    return f"<{name}{told}>{inside}</{name}>"


def _tag(name: str, **attributes: object) -> str:
    """An element with nothing inside."""
    return _element(name, attributes)


def _text(x: float, y: float, text: str, *, size: int = 60, weight: str = "normal", anchor: str = "start", fill: str = "#000000") -> str:
    look = {"x": f"{x:.0f}", "y": f"{y:.0f}", "font_size": size, "font_weight": weight, "text_anchor": anchor, "fill": fill}
    return _element("text", look, _escaped(text))


def _drawn(wall: Wall, chain: Chain) -> Iterator[str]:
    """The wall from back to front: paper, scale, lanes, cables, what hangs, the chain."""
    width, top = wall.outline.right, wall.outline.top
    yield _tag("rect", x=0, y=0, width=width, height=top, fill="#fbfbfb", stroke="#000000", stroke_width=8)
    yield from _scale(width, top)
    for kind in _kinds(wall):
        yield from _cables(wall, kind, top)
    yield from (_box(place, top) for place in wall.places if place.what == "obstacle")
    yield from (_box(place, top) for place in wall.places if place.what != "obstacle")
    yield from _comms(chain, top)
    yield from (_label(place, chain, top) for place in wall.places)
    yield from _crossings(chain, top)
    yield from _terminators(wall, chain, top)


def _kinds(wall: Wall) -> list[str]:
    return [kind for kind in _STROKES if any(run.kind == kind and run.path for run in wall.runs.values())]


def _scale(width: int, top: int) -> Iterator[str]:
    """A hair line and a figure every half metre, on a very large wall at fewer places."""
    step = 500 * max(1, -(-max(width, top) // 20_000))
    for x in range(0, width + 1, step):
        yield _tag("line", x1=x, y1=0, x2=x, y2=top, stroke="#dddddd", stroke_width=3)
        yield _text(x, top + 75, f"{x / 1000:g}", size=50, anchor="middle")
    for y in range(0, top + 1, step):
        yield _tag("line", x1=0, y1=top - y, x2=width, y2=top - y, stroke="#dddddd", stroke_width=3)
        yield _text(-25, top - y + 18, f"{y / 1000:g}", size=50, anchor="end")
    yield _text(width + 30, top + 75, "m", size=50)


def _points(path: Sequence[tuple[Metre, Metre]]) -> list[Point]:
    return [(round(x * 1000), round(y * 1000)) for x, y in path]


def _cables(wall: Wall, kind: str, top: int) -> Iterator[str]:
    """A kind's ways, each stretch drawn once however many cables lie in it: dashes laid over dashes would fill up."""
    stroke = _STROKES[kind]
    spans: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for run in wall.runs.values():
        for a, b in pieces(_points(run.path)) if run.kind == kind else ():
            axis = int(a[0] == b[0])
            spans.setdefault((axis, a[1 - axis]), []).append((min(a[axis], b[axis]), max(a[axis], b[axis])))
    for (axis, line), some in sorted(spans.items()):
        for low, high in _joined(some):
            ends = ((low, line), (high, line)) if axis == 0 else ((line, low), (line, high))
            (x1, y1), (x2, y2) = ((x + stroke.aside, top - y + stroke.aside) for x, y in ends)
            yield _tag("line", x1=x1, y1=y1, x2=x2, y2=y2, **_look(stroke))


def _look(stroke: _Stroke) -> dict[str, object]:
    look: dict[str, object] = {"stroke": stroke.colour, "stroke_width": stroke.width}
    return look | ({"stroke_dasharray": stroke.dashes} if stroke.dashes else {})


def _joined(spans: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Stretches that overlap or touch, as one."""
    joined: list[tuple[int, int]] = []
    for low, high in sorted(spans):
        if joined and low <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(high, joined[-1][1])
        else:
            joined.append((low, high))
    return joined


def _box(place: Place, top: int) -> str:
    """The outline of what hangs; dashed where its place is assumed, grey where it is only in the way."""
    rect = place.rect
    fill = "#b0b0b0" if place.what == "obstacle" else "#ffffff"
    return _tag(
        "rect",
        x=rect.left,
        y=top - rect.top,
        width=rect.right - rect.left,
        height=rect.top - rect.bottom,
        fill=fill,
        fill_opacity=0.88,
        stroke="#000000",
        stroke_width=8,
        **({"stroke_dasharray": "30 16"} if place.assumed else {}),
    )


def _label(place: Place, chain: Chain, top: int) -> str:
    """The name of what hangs there, and a unit's place in the chain."""
    if place.what == "obstacle" or not place.width:
        return ""
    x, y = place.at
    rect = place.rect
    low = rect.top - rect.bottom < 200
    words = [place.name] if low else place.name.split(" ", 1)
    words[-1] += " ?" if place.assumed else ""
    size = max(30, min(84, round(1.5 * place.width * 1000 / max(3, *(len(word) for word in words)))))
    if place.name not in chain.order:
        lines = (
            _text(x, top - y + size * (k - len(words) / 2 + 0.85), word, size=size, weight="bold", anchor="middle")
            for k, word in enumerate(words)
        )
        return "".join(lines)
    number = chain.order.index(place.name) + 1
    circle = _tag("circle", cx=rect.left + 52, cy=top - rect.bottom - 52, r=40, fill="#ffffff", stroke="#000000", stroke_width=6)
    role = _text(rect.right - 12, top - rect.bottom - 24, "lead", size=50, anchor="end") if number == 1 else ""
    return (
        _text(x, top - rect.top + size + 10, words[0], size=size, weight="bold", anchor="middle")
        + circle
        + _text(rect.left + 52, top - rect.bottom - 34, str(number), size=52, anchor="middle")
        + role
    )


def _comms(chain: Chain, top: int) -> Iterator[str]:
    """The links: black on a white edge, so that they stand off whatever they pass; a dot at each port."""
    for path in [link.path for link in chain.links] + [lead.path for lead in chain.data]:
        if not path:
            continue
        drawn = " ".join(f"{x},{top - y}" for x, y in _points(path))
        for look in ({"stroke": "#ffffff", "stroke_width": 34}, _look(_COMMS)):
            yield _tag("polyline", points=drawn, fill="none", stroke_linejoin="round", **look)
        for x, y in (_points(path)[0], _points(path)[-1]):
            yield _tag("circle", cx=x, cy=top - y, r=18, fill="#000000")


def _crossings(chain: Chain, top: int) -> Iterator[str]:
    """A ring where power is crossed, with how many cables lie there."""
    for (x, y), count in sorted(Counter(crossing.at for crossing in chain.crossed).items()):
        yield _tag("circle", cx=x, cy=top - y, r=30, fill="#ffffff", fill_opacity=0.7, stroke="#000000", stroke_width=8)
        yield _text(x, top - y + 14, str(count), size=42, anchor="middle")


def _terminators(wall: Wall, chain: Chain, top: int) -> Iterator[str]:
    """A black T at the unit that carries a terminator."""
    for terminator in chain.terminators:
        place = wall.place(terminator.unit)
        if place:
            x, y = place.rect.right - 80, top - place.rect.bottom - 150
            yield _tag("rect", x=x, y=y, width=64, height=64, fill="#000000")
            yield _text(x + 32, y + 52, "T", size=56, weight="bold", anchor="middle", fill="#ffffff")


def _notes(wall: Wall, chain: Chain, height: int, metres: Callable[[Metre], str]) -> Iterator[str]:
    """The legend and the chain, below the wall."""
    y = height + 210
    for kind in reversed(_kinds(wall)):
        at = f", lane {metres(wall.lanes[kind])} above the floor" if lanes_used(wall, kind) else ""
        yield _tag("line", x1=0, y1=y - 20, x2=340, y2=y - 20, **_look(_STROKES[kind]))
        yield _text(380, y, f"{kind}{at}")
        y += _LINE
    if chain.links:
        yield _tag("line", x1=0, y1=y - 20, x2=340, y2=y - 20, **_look(_COMMS))
        yield _text(
            380,
            y,
            f"comms links, {comms_way(wall, chain, metres)}; circled number at a corner: place in the chain; ring: crosses that many power cables; T: terminator; dashed outline: assumed place",
        )
    y += 2 * _LINE
    for line in chain_lines(chain, 120, metres):
        yield _text(0, y, line)
        y += _LINE
