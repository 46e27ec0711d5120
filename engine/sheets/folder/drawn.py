"""The drawings of the folder, each on a page that lies on its side, as large as the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.sheets.drawings.single_line import single_line
from engine.sheets.drawings.three_pole import three_pole
from engine.sheets.drawings.wall import wall_data, wall_earth, wall_power
from engine.sheets.folder.blocks import GAP, Chapter, Picture
from engine.sheets.folder.filling import Paper

if TYPE_CHECKING:
    from engine.planner import Planned


def diagram(planned: Planned, paper: Paper) -> tuple[Chapter, ...]:
    """The single-line diagram, and up to six units every conductor; none where there is nothing to draw."""
    if not planned.parts.units.units:
        return ()
    lines, poles = single_line(planned, _room(paper), headed=False), three_pole(planned, _room(paper), headed=False)
    drawings = tuple(_picture(svg, paper) for svg in (*lines, *poles))
    shown = (*("single line" for _ in lines), *("every conductor" for _ in poles))
    return (Chapter("diagram", "Diagram", drawings, "who builds and who inspects", wide=True, shown=shown),)


def wall(planned: Planned, paper: Paper) -> tuple[Chapter, ...]:
    """Power, data and earth on the wall, to one scale; none where there is nothing to hang."""
    if not planned.parts.units.units:
        return ()
    drawings = tuple(_picture(draw(planned, _room(paper), headed=False), paper) for draw in (wall_power, wall_data, wall_earth))
    return (Chapter("wall", "Wall", drawings, "who hangs units and pulls cables", wide=True, shown=("power", "data", "earth")),)


def _room(paper: Paper) -> tuple[float, float]:
    wide, high = paper.room(wide=True)
    return wide, high - GAP


def _picture(svg: str, paper: Paper) -> Picture:
    return Picture(svg, *_room(paper))
