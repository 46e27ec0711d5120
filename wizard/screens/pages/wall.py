"""The page of the wall: its size, the drawing in which things are moved, the list of places."""

from __future__ import annotations

from collections.abc import Iterator

from textual.widget import Widget

from wizard.screens.pages.asking import Questions
from wizard.screens.view import View
from wizard.screens.widgets.wall_view import WallView


class WallPage(Questions):
    """The wall."""

    def below(self) -> Iterator[Widget]:
        """The drawing above the list."""
        yield WallView(self._view)
        yield from super().below()

    def show(self, view: View) -> None:
        """Show the answers, and draw the wall anew."""
        super().show(view)
        for drawing in self.query(WallView):
            drawing.show(view)
