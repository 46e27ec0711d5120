"""The wall drawn in plain characters: 80 columns, a drawing in ASCII, no colour needed."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from engine.quantities import Metre, shown
from engine.sheets.text.grid import OBSTACLE, Grid
from engine.sheets.text.top import head, stops
from engine.stages.chain.part import Chain
from engine.stages.wall.part import Place, Wall
from engine.text import clean

if TYPE_CHECKING:
    from engine.planner import Planned

# Of one bank alone; several have a figure or a capital each.
LETTERS: Mapping[str, str] = {"earth": "e", "incoming": "i", "solar": "s", "load": "l", "battery": "b"}
_SHORT = {"load-board": "LOAD", "incoming-board": "IN", "solar-isolator": "SOL", "earth-bar": "PE"}
_MOST_ROWS = 60
_COMMS, _LEAD, _CROSSING = "=", ":", "X"
_BANKS = "123456789ACDFGHJKMNOQRUVWYZ"  # none that means something else


def in_metres(length: Metre) -> str:
    """A length where no rule book says otherwise."""
    return shown(length, "m")


def ascii_only(text: str) -> str:
    """A person's text as characters that every printer has."""
    return clean(text).encode("ascii", "replace").decode()


def wall_text(planned: Planned) -> str:
    """The page of the wall: the drawing, its legend, and the chain link by link."""
    wall, chain, metres = planned.parts.wall, planned.parts.chain, planned.facts.metres
    top = (*head(planned, "WALL"), *stops(planned, 3), "")
    told = (*legend(wall, chain, metres=metres), "", *fixing_lines(wall, metres=metres), "", *chain_lines(chain, metres=metres))
    lines = (*top, *drawing(wall, chain, metres=metres), *told)
    return "\n".join(lines) + "\n"


def drawing(
    wall: Wall,
    chain: Chain,
    columns: int = 80,
    rows: int | None = None,
    marked: str | None = None,
    metres: Callable[[Metre], str] = in_metres,
) -> list[str]:
    """The wall to scale, a character about twice as high as wide; `rows` is how many lines there are at most.

    `marked` names a place whose outline is drawn in `#`: the one being moved. `metres` writes a length for the people of the site.
    """
    if not wall.outline.right or not wall.outline.top:
        return ["(the wall has no size: nothing to draw)"]
    high = max(6, round(wall.height.value / wall.width.value * (columns - 2) / 2))
    sheet = Grid(wall.width.value, wall.height.value, columns - 2, min(high, max(6, rows - 2) if rows else _MOST_ROWS))
    letters = _letters(wall)
    for run in wall.runs.values():
        sheet.run(run.path, letters.get((run.kind, run.bank)) or LETTERS[run.kind])
    for lead in chain.data:
        sheet.line(lead.path, _LEAD)
    for link in chain.links:
        sheet.line(link.path, _COMMS)
    for place in (place for place in wall.places if place.width):
        sheet.box(place, marked=place.name == marked)
    for crossing in chain.crossed:
        sheet.put(crossing.at[0] / 1000, crossing.at[1] / 1000, _CROSSING)
    ends = {terminator.unit for terminator in chain.terminators}
    for place in wall.places:
        if place.what != "obstacle" and place.width:
            number = f"({chain.order.index(place.name) + 1}{'T' if place.name in ends else ''})" if place.name in chain.order else ""
            sheet.label(place, _label(place), number)
    return sheet.framed(metres)


def _letters(wall: Wall) -> dict[tuple[str, str | None], str]:
    """By kind and bank how the cables of a bank are drawn, where there are several: no letter joins two of them."""
    banks = list(dict.fromkeys(run.bank for run in wall.runs.values() if run.bank))
    return {("battery", bank): _BANKS[k % len(_BANKS)] for k, bank in enumerate(banks)} if len(banks) > 1 else {}


def legend(wall: Wall, chain: Chain, columns: int = 80, metres: Callable[[Metre], str] = in_metres) -> list[str]:
    """What the characters mean, and at what height the lanes run."""
    used = {run.kind for run in wall.runs.values() if run.path}
    kinds = [kind for kind in reversed(list(LETTERS)) if kind in used]
    apart = _letters(wall)
    words = [f"{LETTERS[kind]} {kind}" for kind in kinds if kind != "battery" or not apart]
    words += [f"{letter} battery cables of {bank}" for (_, bank), letter in apart.items()]
    words += ["letters in turn: those cables share a way"]
    words += [f"{_COMMS} comms links, {comms_way(wall, chain, metres)}"] if any(link.path for link in chain.links) else []
    words += [f"{_LEAD} data leads of banks"] if any(lead.path for lead in chain.data) else []
    words += [f"{_CROSSING} comms crosses power (power cables crossed: {chain.crossings})"] if chain.crossings else []
    words += ["(1) place in the chain", "T terminator"] if chain.terminators else []
    words += [f"{OBSTACLE} obstacle"] if any(place.what == "obstacle" for place in wall.places) else []
    words += [f"{short} {what.replace('-', ' ')}" for what, short in _SHORT.items() if any(place.what == what for place in wall.places)]
    words += ["? place assumed"] if any(place.assumed for place in wall.places) else []
    lanes = [f"{kind} {metres(wall.lanes[kind])}" for kind in kinds if lanes_used(wall, kind)]
    told = ["; ".join(words), *([f"Lanes, height above the floor: {'; '.join(lanes)}"] if lanes else [])]
    return [line for part in told for line in textwrap.wrap(part, columns)]


def fixing_lines(wall: Wall, columns: int = 80, metres: Callable[[Metre], str] = in_metres) -> list[str]:
    """Where the centre of each thing is: a line for each height, from the top, with what hangs there from left to right."""
    heights: dict[str, list[Place]] = {}
    for place in sorted(wall.places, key=lambda place: (-place.y, place.x)):
        if place.what != "obstacle" and place.width:
            heights.setdefault(metres(place.y), []).append(place)
    lines = ["Centres, height above the floor: distance from the left edge"] if heights else []
    lines += [
        f" {height}: {', '.join(f'{ascii_only(place.name)} {metres(place.x)}' for place in places)}" for height, places in heights.items()
    ]
    lines += [f" {place.name} sits on its bank" for place in wall.places if place.what == "bar" and not place.width]
    return [part for line in lines for part in textwrap.wrap(line, columns, subsequent_indent="   ", break_on_hyphens=False)]


def lanes_used(wall: Wall, kind: str) -> bool:
    """Whether any circuit of a kind runs along its lane."""
    return runs_along(wall, kind, (run.path for run in wall.runs.values() if run.kind == kind))


def runs_along(wall: Wall, kind: str, paths: Iterable[Sequence[tuple[Metre, Metre]]]) -> bool:
    """Whether any of the paths lies in the lane of a kind: data links mostly go straight from port to port."""
    lane = wall.lanes.get(kind)
    return lane is not None and any(abs(a[1] - lane) < 1e-3 and a[1] == b[1] for path in paths for a, b in pairwise(path))


def comms_way(wall: Wall, chain: Chain, metres: Callable[[Metre], str] = in_metres) -> str:
    """How the links are drawn."""
    used = runs_along(wall, "comms", (link.path for link in chain.links))
    return f"partly in their lane ({metres(wall.lanes['comms'])} above the floor)" if used else "port to port, not in a lane"


def chain_lines(chain: Chain, columns: int = 80, metres: Callable[[Metre], str] = in_metres) -> list[str]:
    """The chain link by link: ports, length needed, length to take, terminators."""
    if not chain.order:
        return []
    lines = []
    ends = [
        f"terminator ({end.kind or 'kind unknown'}) at {ascii_only(end.unit)}{f', {end.port}' if end.port else ''}"
        for end in chain.terminators
    ]
    lines += [f"begin: {ends[0]}"] if ends else []
    for place, link in enumerate(chain.links, 1):
        way = f"way {metres(link.length.value)}" if link.length else "length unknown"
        take = f"take a cable of {metres(link.stock.value)}" if link.stock else "no stock length"
        lines.append(f"{place:>2}  {link.start} {link.start_port or '?'} > {link.end} {link.end_port or '?'}: {way}, {take}")
    lines += [f"end:   {ends[1]}"] if len(ends) > 1 else []
    lines += [f"{ascii_only(node.name)}: at the {node.end} end, into {node.unit} {node.port or '?'}" for node in chain.nodes]
    lines += [
        f"data lead of {lead.bank}: to {lead.unit}, {metres(lead.length.value) if lead.length else 'length unknown'}" for lead in chain.data
    ]
    lines += (
        ["; ".join(part for part in (f"whole bus: {metres(chain.length.value)} as bought", chain.proof) if part)] if chain.length else []
    )
    return [part for line in lines for part in textwrap.wrap(line, columns, subsequent_indent="    ")]


def _label(place: Place) -> str:
    name = place.name.replace("bar ", "bar") if place.what == "bar" else _SHORT.get(place.what, place.name)
    return name + ("?" if place.assumed else "")
