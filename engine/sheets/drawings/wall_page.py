"""The page round a drawing of the wall: head, outline, what hangs, scales with fixing points and lanes, the legend; all three pages to one scale."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.frozen import dataclass
from engine.quantities import Metre
from engine.sheets.drawings.ink import BLACK, WHITE, element, escaped, line, tag
from engine.sheets.drawings.placing import SMALL, Box, Placer, Spot, Words, label, room, spread
from engine.sheets.drawings.wall_marks import Stroke
from engine.sheets.drawings.wall_scene import Scene, Thing, scene
from engine.sheets.head import STANDINGS, stamp
from engine.sheets.text.wall import lanes_used, runs_along
from engine.stages.wall.part import Place
from engine.text import clean

if TYPE_CHECKING:
    from engine.planner import Planned

_TITLE = 4.4  # millimetres
_HEAD, _BARE = 12.0, 4.6  # of paper for title, plan and standing; for what has no room, where the page has a head of its own
_EDGE = 1.0  # between what is drawn and the edge of the paper
_TICKS = 6.0  # of paper above and below the wall for the places of what hangs
_ROW = 4.4  # from one row of the legend to the next
_SAMPLE = 13.0  # of a stroke in the legend
_LEGIBLE = 0.5  # of its width, that a stroke in the legend has at least: its dashes and its core are to be seen
_SIDE = 22.0  # the widest that a label beside the wall is in one line
_WORDS = {
    "unit": ("unit", "units"),
    "bank": ("bank", "banks"),
    "bar": ("bar", "bars"),
    "load-board": ("load board", "load boards"),
    "incoming-board": ("incoming board", "incoming boards"),
    "board": ("board", "boards"),
    "solar-isolator": ("solar isolator", "solar isolators"),
    "earth-bar": ("earth bar", "earth bars"),
}
_MATTERS = tuple(_WORDS)  # what is told first where not all has room


@dataclass(frozen=True)
class Entry:
    """One entry of the legend: its words, and the stroke or mark before them. `mark` draws round a centre."""

    words: str
    stroke: Stroke | None = None
    colour: str = BLACK
    mark: Callable[[float, float], str] | None = None

    @property
    def before(self) -> float:
        """The room of what stands before the words."""
        return _SAMPLE + 1.5 if self.stroke else 6.0 if self.mark else 0.0


@dataclass(frozen=True)
class Sheet:
    """One of the drawings: its name, the kinds of cable whose lanes it tells, its legend, what is drawn on the wall, and what share of their
    widths its lines have there.
    """

    name: str
    lanes: tuple[str, ...]
    legend: tuple[Entry, ...]
    drawn: Callable[[Scene, Placer], Iterator[str]]
    share: Callable[[Scene], float]


def drawings(planned: Planned, sheets: Sequence[Sheet], size: Spot, only: str = "", *, headed: bool = True) -> Iterator[tuple[str, str]]:
    """Names of the sheets, or of the `only` one that is wanted, and whole SVG documents, to one scale for all."""
    wall = planned.parts.wall
    wanted = [sheet for sheet in sheets if only in ("", sheet.name)]
    if not wall.outline.right or not wall.outline.top:
        nothing = label(5, 25, "The wall has no size: nothing to draw.")
        yield from ((sheet.name, _document(planned, sheet.name, size, nothing, headed=headed)) for sheet in wanted)
        return
    rows = max(len(_flowed(sheet.legend, size[0] - 2 * _EDGE)) for sheet in sheets)
    heights = _heights(planned)
    left = max((words.extent[0] for _, words in heights), default=0.0) + 4
    right = max((words.extent[0] for sheet in sheets for _, words in _lanes(planned, sheet.lanes)), default=0.0) + 4
    ticks = _TICKS * (1.7 if planned.facts.rules == "nec" else 1)
    top = _HEAD if headed else _BARE
    free = Box(_EDGE + left, top + ticks, size[0] - _EDGE - max(right, 6.0), size[1] - _EDGE - rows * _ROW - ticks - 1.5)
    shown = scene(wall, planned.parts.chain, planned.parts.circuits, _fitted(free, wall.outline.right, wall.outline.top))
    yield from (
        (sheet.name, _document(planned, sheet.name, size, *_page(planned, sheet, shown, size, heights, top), headed=headed))
        for sheet in wanted
    )


def _fitted(free: Box, wide: int, high: int) -> Box:
    """The largest outline of the wall's proportions within that room, in its middle."""
    scale = min(free.wide / wide, free.high / high)
    return Box.about(*free.middle, wide * scale, high * scale)


def _document(planned: Planned, name: str, size: Spot, *body: str, headed: bool) -> str:
    site = clean(planned.facts.answers.site.name or "", 40)
    title = f"{site}: wall, {name}" if site else f"wall, {name}"
    head = (
        label(_EDGE, 5.2, title, size=_TITLE, weight="bold"),
        label(_EDGE, 10, stamp(planned.plan)),
        label(size[0] - _EDGE, 10, STANDINGS[planned.plan.standing], anchor="end"),
    )
    inside = (
        element("title", {}, escaped(title)),
        tag("rect", x=0, y=0, width=f"{size[0]:g}", height=f"{size[1]:g}", fill=WHITE),
        *(head if headed else ()),
        *body,
    )
    look = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": f"0 0 {size[0]:g} {size[1]:g}",
        "width": f"{size[0]:g}mm",
        "height": f"{size[1]:g}mm",
        "font_family": "sans-serif",
    }
    return element("svg", look, "".join(inside)) + "\n"


def _page(
    planned: Planned,
    sheet: Sheet,
    shown: Scene,
    size: Spot,
    heights: Sequence[tuple[Metre, Words]],
    top: float,
) -> Iterator[str]:
    frame, legend, lanes = shown.frame, _flowed(sheet.legend, size[0] - 2 * _EDGE), _lanes(planned, sheet.lanes)
    rows_top = size[1] - _EDGE - len(legend) * _ROW
    placer = Placer(Box(_EDGE, top - 1, size[0] - _EDGE, rows_top))
    placer.outlines.extend(thing.box for thing in shown.things)
    yield tag("rect", **_rect(frame), fill=WHITE, stroke=BLACK, stroke_width=0.4)
    scale = frame.high / planned.parts.wall.height.value
    placer.strokes.extend(_edges(frame))
    yield from _beside(placer, heights, frame, scale, left=True)
    yield from _beside(placer, lanes, frame, scale, left=False)
    yield from _across(planned, placer, shown)
    yield from (_outline(thing) for thing in sorted(shown.things, key=lambda thing: thing.place.what != "obstacle"))
    yield from sheet.drawn(shown, placer)
    yield from _told(legend, rows_top, max(sheet.share(shown), _LEGIBLE))
    missing = {
        "Beyond the wall": shown.hidden,
        "Too close to draw apart": shown.crowded if "battery" in sheet.lanes else (),
        "No room for": tuple(placer.dropped),
    }
    for what, names in [(what, names) for what, names in missing.items() if names][:1]:
        told = f"{what}: {', '.join(names[:3])}{f' and {len(names) - 3} more' if len(names) > 3 else ''}"
        yield label(size[0] - _EDGE, min(top - 1.2, 5.2), told, anchor="end")


def _edges(box: Box) -> Iterator[Box]:
    """Its four sides, which are lines too."""
    half = 0.2
    for x in (box.left, box.right):
        yield Box(x - half, box.top, x + half, box.bottom)
    for y in (box.top, box.bottom):
        yield Box(box.left, y - half, box.right, y + half)


def _rect(box: Box) -> dict[str, object]:
    return {"x": f"{box.left:.2f}", "y": f"{box.top:.2f}", "width": f"{box.wide:.2f}", "height": f"{box.high:.2f}"}


def _outline(thing: Thing) -> str:
    """The outline of what hangs; dashed where its place is assumed, grey where it is only in the way, heavy where it is a bar."""
    place = thing.place
    fill = "#c8c8c8" if place.what == "obstacle" else WHITE
    width = 0.9 if place.what in ("bar", "earth-bar") else 0.2 if place.what == "obstacle" else 0.5
    dashes = {"stroke_dasharray": "2 1"} if place.assumed else {}
    return tag("rect", data_name=place.name, **_rect(thing.box), fill=fill, stroke=BLACK, stroke_width=width, **dashes)


# --- the scales at the sides ---


def _heights(planned: Planned) -> list[tuple[Metre, Words]]:
    """At what heights the centres of things are, and of which things; what matters most first."""
    found: dict[float, list[Place]] = {}
    for place in planned.parts.wall.places:
        if place.what != "obstacle" and place.width:
            found.setdefault(round(place.y, 3), []).append(place)
    order = sorted(found.items(), key=lambda item: min(_MATTERS.index(place.what) for place in item[1]))
    return [(height, _side(planned.facts.metres(height), _kinds(places))) for height, places in order]


def _kinds(places: Iterable[Place]) -> str:
    kinds = [place.what for place in places]
    if "load-board" in kinds and "incoming-board" in kinds:
        kinds = ["board" if kind in ("load-board", "incoming-board") else kind for kind in kinds]
    return ", ".join(_WORDS[what][kinds.count(what) > 1] for what in _MATTERS if what in kinds)


def _side(height: str, what: str) -> Words:
    """A height and what is there: in one line, or where that is too wide in as many as it takes."""
    if room(f"{height} {what}") <= _SIDE:
        return Words((f"{height} {what}",))
    lines = [""]
    for word in (*height.replace(" (", "\n(").split("\n"), *what.split()):
        wider = f"{lines[-1]} {word}".strip()
        lines = [*lines[:-1], wider] if room(wider) <= _SIDE else [*lines, word]
    return Words(tuple(line for line in lines if line))


def _lanes(planned: Planned, kinds: Sequence[str]) -> list[tuple[Metre, Words]]:
    """The lanes in which something of these kinds runs."""
    wall, chain = planned.parts.wall, planned.parts.chain
    comms = runs_along(wall, "comms", [link.path for link in chain.links])
    used = [kind for kind in kinds if (comms if kind == "comms" else lanes_used(wall, kind))]
    return [
        (wall.lanes[kind], _side(planned.facts.metres(wall.lanes[kind]), f"{'data' if kind == 'comms' else kind} lane")) for kind in used
    ]


def _beside(placer: Placer, told: Sequence[tuple[Metre, Words]], frame: Box, scale: float, *, left: bool) -> Iterator[str]:
    """Heights at a side of the wall, each with a line to where it is; what has no room is left out, what matters least first."""
    kept = list(told)
    low, high = placer.page.top, placer.page.bottom
    while kept:
        kept_by_height = sorted(kept, key=lambda item: -item[0])
        centres = spread(
            [frame.bottom - y * scale for y, _ in kept_by_height], [words.extent[1] + 0.6 for _, words in kept_by_height], low, high
        )
        if centres is not None:
            break
        placer.dropped.append(" ".join(kept.pop()[1].lines))
    else:
        return
    for (y, words), centre in zip(kept_by_height, centres, strict=True):
        at, half = frame.bottom - y * scale, words.extent[0] / 2
        edge, near, x = (
            (frame.left, frame.left - 3, frame.left - 3.4 - half) if left else (frame.right, frame.right + 3, frame.right + 3.4 + half)
        )
        yield line(((edge, round(at, 2)), (near, round(centre, 2))), stroke_width=0.2)
        yield from placer.written(words, x, centre)


def _across(planned: Planned, placer: Placer, shown: Scene) -> Iterator[str]:
    """From the left edge to the centre: of units above the wall, of all else below it. Under customary units two figures one over the other."""
    frame = shown.frame
    for above in (True, False):
        places = [thing.place for thing in shown.things if thing.place.what != "obstacle" and (thing.place.what == "unit") == above]
        told = {round(place.x, 3): _figures(planned.facts.metres(place.x)) for place in sorted(places, key=lambda place: place.x)}
        kept = [(x, Words(figures)) for x, figures in told.items()]
        while kept and not (
            centres := spread(
                [frame.left + x * frame.wide / planned.parts.wall.width.value for x, _ in kept],
                [words.extent[0] + 1.2 for _, words in kept],
                frame.left - 3,
                frame.right + 3,
            )
        ):
            placer.dropped.append(kept.pop()[1].lines[0])
        if not kept:
            continue
        assert centres
        edge, way = (frame.top, -1) if above else (frame.bottom, 1)
        for (x, words), centre in zip(kept, centres, strict=True):
            at = frame.left + x * frame.wide / planned.parts.wall.width.value
            yield line(((round(at, 2), edge), (round(centre, 2), edge + way * 1.6)), stroke_width=0.2)
            yield from placer.written(words, centre, edge + way * (1.9 + words.extent[1] / 2))


def _figures(told: str) -> tuple[str, ...]:
    """The metres of a length as it is told, and below them in brackets the feet where it has them."""
    found = re.fullmatch(r"(\S+) m(?: \((\S+) ft\))?", told)
    return (told,) if found is None else (found[1], f"({found[2]})") if found[2] else (found[1],)


# --- the legend ---


def _flowed(entries: Sequence[Entry], wide: float) -> list[list[Entry]]:
    """Entries in rows; words that are wider than a row go on in the next."""
    rows: list[list[Entry]] = [[]]
    used = 0.0
    for entry in (part for whole in entries for part in _broken(whole, wide)):
        needs = entry.before + room(entry.words) + 4
        if used and used + needs > wide + 4:
            rows.append([])
            used = 0.0
        rows[-1].append(entry)
        used += needs
    return [row for row in rows if row]


def _broken(entry: Entry, wide: float) -> Iterator[Entry]:
    kept: list[str] = []
    for word in entry.words.split():
        if kept and entry.before + room(" ".join([*kept, word])) > wide:
            yield replace(entry, words=" ".join(kept))
            entry, kept = Entry(""), []
        kept.append(word)
    yield replace(entry, words=" ".join(kept))


def _told(rows: Sequence[Sequence[Entry]], top: float, share: float) -> Iterator[str]:
    """The rows, with strokes about as thin as they are drawn."""
    for k, row in enumerate(rows):
        x, y = _EDGE, top + _ROW * (k + 0.5)
        for entry in row:
            if entry.stroke:
                yield from entry.stroke.thinner(share).drawn([((x, y), (x + _SAMPLE, y))], entry.colour)
            elif entry.mark:
                yield entry.mark(x + 2.5, y)
            x += entry.before
            yield label(x, y + 0.35 * SMALL, entry.words)
            x += room(entry.words) + 4
