"""A scroll bar of plain characters: seen without colour, on any terminal."""

from __future__ import annotations

from rich.color import Color
from rich.segment import Segment, Segments
from textual.scrollbar import ScrollBarRender

_DEFAULT = Color.default()


class PlainBar(ScrollBarRender):
    """`|` for the way, `#` for where the screen stands on it."""

    @classmethod
    def render_bar(
        cls,
        size: int = 25,
        virtual_size: float = 50,
        window_size: float = 20,
        position: float = 0,
        thickness: int = 1,
        vertical: bool = True,
        back_color: Color = _DEFAULT,
        bar_color: Color = _DEFAULT,
    ) -> Segments:
        """The bar as characters, one a cell."""
        del back_color, bar_color
        length = max(1, round(size * window_size / virtual_size)) if virtual_size else size
        travel = max(1e-9, virtual_size - window_size)
        start = round((size - length) * min(1.0, position / travel))
        cells = ["#" if start <= at < start + length else ("|" if vertical else "-") for at in range(size)]
        if vertical:
            return Segments([Segment(cell * thickness) for cell in cells], new_lines=True)
        return Segments([*(Segment(cell) for cell in cells), Segment.line()] * thickness)
