"""How cables are drawn: every kind, and every bank, has its own dashes and width, so that grey tells them apart."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace

from engine.frozen import dataclass
from engine.sheets.drawings.ink import BLACK, WHITE, element, tag
from engine.sheets.drawings.placing import Spot
from engine.sheets.drawings.wall_scene import Net, Scene, Way

GREY = "#b0b0b0"
_HALO = 0.9  # millimetres of white on which a line crosses others
_WHITE = 0.25  # millimetres between two lines, at least
_THINNEST = 0.2  # of its width, that a line has at least
_NEAR = 0.05  # millimetres: the same point

Stretch = tuple[Spot, Spot]


@dataclass(frozen=True)
class Stroke:
    """Width and dashes in millimetres; `core` is the width of a white line within it, `round` makes dots of dashes without length."""

    width: float
    dashes: str = ""
    core: float = 0.0
    round: bool = False

    def thinner(self, share: float) -> Stroke:
        """The same with another width."""
        return replace(self, width=self.width * share, core=self.core * share)

    def drawn(self, stretches: Sequence[Stretch], colour: str = BLACK) -> Iterator[str]:
        """Straight stretches."""
        cap = "round" if self.round else "butt" if self.dashes else "square"
        yield from (_line(stretch, colour, self.width, self.dashes, cap=cap) for stretch in stretches)
        if self.core:
            yield from (_line(stretch, WHITE, self.core, "", cap="square") for stretch in stretches)


@dataclass(frozen=True)
class Pen:
    """What was drawn already: a line that crosses it later does so on white, so that nothing seems joined there."""

    share: float
    drawn: list[tuple[Stretch, float]] = field(default_factory=list)

    def net(self, name: str, stroke: Stroke, some: Sequence[Stretch], colour: str = BLACK) -> Iterator[str]:
        """All stretches of a net, with a dot wherever its cables part."""
        look = stroke.thinner(self.share)
        gaps = [gap for stretch in some for other, width in self.drawn for gap in _crossed(stretch, other, width)]
        inside = [_line(gap, WHITE, look.width + _HALO, "", cap="butt") for gap in gaps]
        inside += [*look.drawn(some, colour), *_dots(some, max(0.5, look.width * 0.9), colour)]
        self.drawn.extend((stretch, look.width) for stretch in some)
        yield element("g", {"data-net": name}, "".join(inside))


def _crossed(stretch: Stretch, other: Stretch, width: float) -> Iterator[Stretch]:
    """The bit of a stretch on which it crosses another at right angles."""
    (ax, ay), (bx, by) = stretch
    (cx, cy), (dx, dy) = other
    half = width / 2 + _HALO / 2
    if ay == by and cx == dx and ax < cx < bx and cy < ay < dy:
        yield (max(ax, cx - half), ay), (min(bx, cx + half), ay)
    elif ax == bx and cy == dy and cx < ax < dx and ay < cy < by:
        yield (ax, max(ay, cy - half)), (ax, min(by, cy + half))


_BANKS = (
    Stroke(1.0),
    Stroke(1.3, core=0.6),
    Stroke(1.0, "4 1.2"),
    Stroke(1.0, "1.6 1"),
    Stroke(1.0, "5 1 1 1"),
    Stroke(0.7),
    Stroke(0.7, "6 1.5"),
    Stroke(0.7, "2 1"),
    Stroke(0.7, "5 0.8 0.8 0.8"),
    Stroke(0.8, core=0.35),
    Stroke(1.0, "8 1 2 1"),
    Stroke(1.0, "0.8 0.8"),
)
_KINDS: Mapping[str, Stroke] = {
    "load": Stroke(0.45, "2.6 1"),
    "incoming": Stroke(0.45, "4 0.9 0.9 0.9"),
    "solar": Stroke(0.45, "1 0.8"),
    "earth": Stroke(0.5, "3 0.8 0.4 0.8"),
    "link": Stroke(0.7),
    "data": Stroke(0.7, "0 1.5", round=True),
}
_BOND = Stroke(0.9, "2 1")


def stroke(net: Net, banks: Sequence[str]) -> Stroke:
    """How a net is drawn on a wall with these banks."""
    if net.kind == "battery" and net.bank in banks:
        return _BANKS[banks.index(net.bank) % len(_BANKS)]
    return _BOND if net.bond else _KINDS.get(net.kind, _BANKS[0])


def share(scene: Scene, nets: Iterable[Net], banks: Sequence[str]) -> float:
    """The share of its width that every line of a drawing gets, so that white stays between those of its nets that lie closest."""
    widths = {net.name: stroke(net, banks).width for net in nets}
    least = 1.0
    for (one, other), apart in scene.close.items():
        if one in widths and other in widths:
            least = min(least, (apart - _WHITE) / (widths[one] / 2 + widths[other] / 2))
    return max(_THINNEST, least)


def stretches(ways: Sequence[Way]) -> list[Stretch]:
    """The straight stretches of a net, each once however many of its cables lie there: dashes laid over dashes would fill up."""
    spans: dict[tuple[int, float], list[tuple[float, float]]] = {}
    for way in ways:
        for (ax, ay), (bx, by) in zip(way.points, way.points[1:], strict=False):
            if abs(ax - bx) >= abs(ay - by):
                spans.setdefault((0, round(ay, 2)), []).append((min(ax, bx), max(ax, bx)))
            else:
                spans.setdefault((1, round(ax, 2)), []).append((min(ay, by), max(ay, by)))
    found = []
    for (axis, at), some in spans.items():
        for low, high in _joined(some):
            found.append(((low, at), (high, at)) if axis == 0 else ((at, low), (at, high)))
    return found


def _joined(spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Spans that overlap or touch, as one."""
    joined: list[tuple[float, float]] = []
    for low, high in sorted(spans):
        if joined and low <= joined[-1][1] + _NEAR:
            joined[-1] = joined[-1][0], max(high, joined[-1][1])
        elif high - low > _NEAR:
            joined.append((low, high))
    return joined


def joints(some: Sequence[Stretch]) -> Iterator[Spot]:
    """Where a stretch of a net ends on another one between its ends: there cables part, no line merely crosses."""
    for a, b in some:
        level = abs(a[1] - b[1]) < _NEAR
        for c, d in some:
            if (abs(c[1] - d[1]) < _NEAR) == level:
                continue
            for x, y in (c, d):
                along, across = ((a[0], b[0], x), (a[1], y)) if level else ((a[1], b[1], y), (a[0], x))
                if abs(across[0] - across[1]) < _NEAR and along[0] + _NEAR < along[2] < along[1] - _NEAR:
                    yield x, y


def _dots(some: Sequence[Stretch], size: float, colour: str = BLACK) -> Iterator[str]:
    """A dot on every joint."""
    for x, y in sorted(set(joints(some))):
        yield tag("circle", cx=f"{x:.2f}", cy=f"{y:.2f}", r=f"{size:g}", fill=colour)


def _line(stretch: Stretch, colour: str, width: float, dashes: str, *, cap: str) -> str:
    (x1, y1), (x2, y2) = stretch
    look: dict[str, object] = {"stroke": colour, "stroke_width": f"{width:g}", "stroke_linecap": cap}
    return tag(
        "line", x1=f"{x1:.2f}", y1=f"{y1:.2f}", x2=f"{x2:.2f}", y2=f"{y2:.2f}", **look, **({"stroke_dasharray": dashes} if dashes else {})
    )
