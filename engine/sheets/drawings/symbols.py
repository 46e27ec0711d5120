"""Symbols of switchgear and machines, drawn by us after IEC 60617 (database of graphical symbols), from memory.

After the standard, as far as memory goes: make contact, with a cross (circuit-breaker) or a bar and a ring (switch-disconnector); fuse; surge
arrester; earth; battery of cells; converter as a square parted by a diagonal; generator G in a circle; strokes across a line for its
conductors, neutral with a dot, protective with a bar; joined with a dot. Common practice and no standard: panels as a box with a wedge, the
utility's network as a hatched square, the residual-current device as a contact with a ring round its conductors, the half circle where a line
crosses a bar, the two rings of a link, the arrow to consumers.

Each lies along a line from left to right, its middle at (0, 0), in millimetres of paper; `REACH` from its middle the line goes on.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from engine.frozen import dataclass
from engine.sheets.drawings.ink import BLACK, WHITE, line, tag

REACH = 2.8
THIN, THICK = 0.3, 1.3  # millimetres: a line, a bar
EARTH_DASHES = "1.6 0.5 0.4 0.5"  # of an earth conductor where every conductor is drawn
HOP = 1.5  # the radius of the half circle over a bar


@dataclass(frozen=True)
class Symbol:
    """How one is drawn, and the words for it in a legend."""

    drawn: Callable[[], str]
    words: str


def stroke(*points: tuple[float, float], width: float = THIN, **look: object) -> str:
    """A line of ordinary width."""
    return line(points, stroke_width=width, **look)


def box(x: float, y: float, width: float, height: float) -> str:
    """A white rectangle."""
    return tag("rect", x=f"{x:g}", y=f"{y:g}", width=f"{width:g}", height=f"{height:g}", fill=WHITE, stroke=BLACK, stroke_width=THIN)


def ring(x: float, y: float, radius: float, fill: str = WHITE) -> str:
    """A circle."""
    return tag("circle", cx=f"{x:g}", cy=f"{y:g}", r=f"{radius:g}", fill=fill, stroke=BLACK, stroke_width=THIN)


def wave(x: float, y: float, wide: float) -> str:
    """The sign of alternating current."""
    half = wide / 2
    path = f"M{x - half:g},{y:g} q{half / 2:g},{-half:g} {half:g},0 t{half:g},0"
    return tag("path", d=path, fill="none", stroke=BLACK, stroke_width=THIN)


def _contact() -> str:
    """An open make contact: nothing stands closed on a drawing."""
    gap = tag("rect", x="-1.6", y="-0.4", width="3.2", height="0.8", fill=WHITE)
    return gap + stroke((-REACH, 0), (-1.6, 0), (1.5, -1.8)) + stroke((1.6, 0), (REACH, 0))


def _breaker() -> str:
    return _contact() + stroke((0.9, -0.7), (2.3, 0.7)) + stroke((0.9, 0.7), (2.3, -0.7))


def _isolator() -> str:
    return _contact() + stroke((1.6, -1.1), (1.6, 1.1)) + ring(1.05, 0, 0.5)


def _fuse() -> str:
    return box(-2, -0.9, 4, 1.8) + stroke((-REACH, 0), (REACH, 0))


def _residual() -> str:
    linked = stroke((0, -0.9), (0, -2.2), (2.2, -2.2), (2.2, -1.3), stroke_dasharray="0.5 0.4")
    oval = tag("ellipse", cx="2.2", cy="0", rx="0.55", ry="1.3", fill="none", stroke=BLACK, stroke_width=THIN)
    return _contact() + oval + linked


def _surge() -> str:
    arrow = stroke((-REACH, 0), (0.7, 0)) + line(((1.4, 0), (0.2, -0.6), (0.2, 0.6)), fill=BLACK, stroke="none")
    return box(-2, -1, 4, 2) + arrow + stroke((2, 0), (REACH, 0))


def _earth() -> str:
    return stroke((-REACH, 0), (0, 0)) + "".join(stroke((x, -high), (x, high)) for x, high in ((0, 1.6), (0.7, 1.05), (1.4, 0.5)))


def _battery() -> str:
    """Two cells of it; the long plate is plus, on the side that the line leaves."""
    plates = "".join(stroke((x, -2), (x, 2)) + stroke((x - 0.9, -1), (x - 0.9, 1), width=0.8) for x in (0.1, 1.9))
    return plates + stroke((1.9, 0), (REACH, 0)) + stroke((0.1, 0), (1, 0), stroke_dasharray="0.3 0.3")


def _unit() -> str:
    direct = stroke((-2.2, -1.4), (-0.6, -1.4)) + stroke((-2.2, -0.8), (-0.6, -0.8))
    return box(-REACH, -2.8, 2 * REACH, 5.6) + stroke((-REACH, 2.8), (REACH, -2.8)) + direct + wave(1.3, 1.5, 1.9)


def _generator() -> str:
    letter = tag("path", d="M0.9,-1.1 A1.1,1.1 0 1 0 0.9,0.3 L0.9,-0.3 L0.2,-0.3", fill="none", stroke=BLACK, stroke_width=0.35)
    return ring(0, 0, REACH) + letter + wave(0, 1.7, 1.8)


def _utility() -> str:
    hatch = "".join(stroke((a, -2.4), (2.4, -a)) + stroke((-2.4, -a), (a, 2.4)) for a in (-1.2, 0, 1.2))
    return box(-2.4, -2.4, 4.8, 4.8) + hatch + stroke((-2.4, -2.4), (2.4, 2.4)) + stroke((2.4, 0), (REACH, 0))


def _panels() -> str:
    return box(-2.4, -1.7, 4.8, 3.4) + stroke((-2.4, -1.7), (-0.4, 0), (-2.4, 1.7)) + stroke((2.4, 0), (REACH, 0))


def _link() -> str:
    return (
        stroke((-REACH, 0), (-1.9, 0))
        + stroke((1.9, 0), (REACH, 0))
        + stroke((-1.4, 0), (1.4, 0), width=0.9)
        + ring(-1.4, 0, 0.5)
        + ring(1.4, 0, 0.5)
    )


def _consumers() -> str:
    return stroke((-REACH, 0), (1.4, 0)) + line(((2.8, 0), (1.2, -0.8), (1.2, 0.8)), fill=BLACK, stroke="none")


def _bar() -> str:
    return stroke((-REACH, 0), (REACH, 0), width=THICK)


def _joined() -> str:
    return stroke((-REACH, 0), (REACH, 0)) + ring(0, 0, 0.6, BLACK)


def hop() -> str:
    """Where a line crosses a bar from left to right and is not joined with it: half a circle on a white edge."""
    path = f"M{-HOP},0 A{HOP},{HOP} 0 0 1 {HOP},0"
    return "".join(tag("path", d=path, fill="none", stroke=colour, stroke_width=wide) for colour, wide in ((WHITE, 1.3), (BLACK, THIN)))


def _crossed() -> str:
    return stroke((0, -2.4), (0, 2.4), width=THICK) + hop() + stroke((-REACH, 0), (-HOP, 0)) + stroke((HOP, 0), (REACH, 0))


def conductor(pole: str) -> str:
    """A stroke across a line: a pole; neutral with a dot, protective earth with a bar."""
    slant = stroke((-0.45, 1.1), (0.45, -1.1))
    if pole == "N":
        return slant + ring(0.5, -1.2, 0.38, BLACK)
    return slant + (stroke((0, -1.1), (0.9, -1.1)) if pole == "PE" else "")


def _of_line(pole: str) -> Callable[[], str]:
    return lambda: stroke((-REACH, 0), (REACH, 0)) + conductor(pole)


def _crossing() -> str:
    return stroke((-REACH, 0), (REACH, 0)) + stroke((0, -2), (0, 2))


def _earth_line() -> str:
    return stroke((-REACH, 0), (REACH, 0), stroke_dasharray=EARTH_DASHES)


def _goes_on() -> str:
    return stroke((-REACH, 0), (0.4, 0), width=THICK) + line(((1.9, 0), (0, -1.2), (0, 1.2)), fill=BLACK, stroke="none")


SYMBOLS: Mapping[str, Symbol] = {
    "utility": Symbol(_utility, "utility"),
    "generator": Symbol(_generator, "generator"),
    "panels": Symbol(_panels, "panels"),
    "battery": Symbol(_battery, "bank"),
    "unit": Symbol(_unit, "unit"),
    "fuse": Symbol(_fuse, "fuse"),
    "isolator": Symbol(_isolator, "isolator"),
    "breaker": Symbol(_breaker, "breaker"),
    "residual": Symbol(_residual, "residual-current device"),
    "surge": Symbol(_surge, "surge device"),
    "relay": Symbol(_contact, "relay"),
    "link": Symbol(_link, "link"),
    "earth": Symbol(_earth, "earth"),
    "consumers": Symbol(_consumers, "loads"),
    "bar": Symbol(_bar, "bar"),
    "joined": Symbol(_joined, "joined"),
    "crossing": Symbol(_crossing, "crosses, not joined"),
    "hop": Symbol(_crossed, "crosses, not joined"),
    "goes on": Symbol(_goes_on, "goes on"),
    "pole": Symbol(_of_line(""), "line, pole"),
    "N": Symbol(_of_line("N"), "neutral"),
    "PE": Symbol(_of_line("PE"), "earth conductor"),
    "earth line": Symbol(_earth_line, "earth conductor"),
}
