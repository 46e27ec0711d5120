"""The wall as text. Arrow keys move one thing, Space goes to the next; every move is an answer, and a new plan follows."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Static

from engine.quantities import shown
from wizard.hanging import movable, moved
from wizard.screens.taking import tell
from wizard.screens.view import View

if TYPE_CHECKING:
    from engine.stages.wall.part import Place

_FRAME = 10  # lines of the screen that the drawing leaves to the frame, so that it is seen whole


class WallView(Static, can_focus=True):
    """The drawing of the wall, and the thing that arrow keys move."""

    DEFAULT_CSS = "WallView { height: auto; margin: 1 0 0 0; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "move(-1, 0)", show=False, priority=True),
        Binding("right", "move(1, 0)", show=False, priority=True),
        Binding("space", "next(1)", show=False, priority=True),
        Binding("backspace", "next(-1)", show=False, priority=True),
    ]
    key = "wall.drawing"

    def __init__(self, view: View) -> None:
        super().__init__(markup=False)
        self._view = view
        self._moving: str | None = None
        self._drawn: object = None

    def on_mount(self) -> None:
        """Draw what is known."""
        self.show(self._view)

    def on_resize(self) -> None:
        """The drawing fills the width."""
        self.show(self._view)

    def on_focus(self) -> None:
        """Say which keys move what."""
        self.show(self._view)

    def on_blur(self) -> None:
        """Nothing is being moved any more."""
        self.show(self._view)

    @property
    def _things(self) -> list[Place]:
        planned = self._view.planned
        return [place for place in planned.parts.wall.places if movable(place, self._view.session.answers)] if planned else []

    def _chosen(self) -> Place | None:
        things = self._things
        return next((place for place in things if place.name == self._moving), things[0] if things else None)

    def show(self, view: View) -> None:
        """Draw the wall of the latest plan."""
        self._view = view
        # Not has_focus: that is set only after the event of the focus has been here.
        focused, chosen = self.screen.focused is self, self._chosen()
        state = (id(view.planned), self.size.width, chosen, focused)
        if view.planned is None or state == self._drawn:
            return
        self._drawn = state
        from engine.sheets.wall_text import drawing, legend  # noqa: PLC0415 - the planner's modules are not wanted before the first screen

        head = "No unit is planned yet: nothing hangs here."
        if chosen:
            spot = f"{chosen.name}: x {shown(chosen.x, 'm')}, y {shown(chosen.y, 'm')}"
            head = f"Moving {spot}" if focused else "Tab here to move things with the arrow keys."
        wall, chain, columns = view.planned.parts.wall, view.planned.parts.chain, max(24, self.size.width)
        rows = max(8, self.screen.size.height - _FRAME)
        marked = chosen.name if chosen and focused else None
        lines = [*drawing(wall, chain, columns, rows, marked), *legend(wall, chain, columns)] if chosen else []
        self.update(Content("\n".join((head, *lines))))

    def steer(self, step: int) -> bool:
        """Up and down move it; they leave only where there is nothing to move."""
        self.action_move(0, -step)
        return self._chosen() is not None

    def action_next(self, step: int) -> None:
        """The next thing to be moved."""
        things, chosen = self._things, self._chosen()
        if chosen:
            self._moving = things[(things.index(chosen) + step) % len(things)].name
            self.show(self._view)

    def action_move(self, right: int, up: int) -> None:
        """Move it one step."""
        chosen, planned = self._chosen(), self._view.planned
        if chosen and planned:
            self._moving = chosen.name
            wall = planned.parts.wall
            tell(self, moved(chosen, self._view.session.answers, right, up, (wall.width.value, wall.height.value)))
