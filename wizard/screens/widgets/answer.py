"""Where a person answers: a line to type in, or a choice between a few."""

from __future__ import annotations

from string import ascii_letters, digits
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Input, Static

from engine.text import clean
from wizard.screens.messages import Told
from wizard.screens.taking import tell
from wizard.screens.widgets.keys import own_key

LONGEST = 200  # characters; a name that is longer says nothing on a sheet


class Line(Input):
    """One line of text. It tells what was typed when it is left, and never loses it."""

    def __init__(self, key: str, text: str) -> None:
        super().__init__(clean(text, LONGEST), compact=True, max_length=LONGEST, select_on_focus=False)
        self.cursor_blink = False
        self.key = key
        self._known = self.value

    def show(self, text: str) -> None:
        """Show an answer that changed elsewhere; what is being typed here stays."""
        text = clean(text, LONGEST)
        if text != self._known:
            self._known = text
            with self.prevent(Input.Changed):
                self.value = text

    def untold(self) -> str | None:
        """What is typed and was not told yet; it counts as told from here on."""
        if self.value == self._known:
            return None
        self._known = self.value
        return self.value

    async def on_key(self, event: events.Key) -> None:
        """Keys are done here, at once."""
        await own_key(self, event)

    def on_blur(self) -> None:
        """Leaving the line tells it."""
        if (text := self.untold()) is not None:
            tell(self, {self.key: text})

    def _on_paste(self, event: events.Paste) -> None:
        """A line is one line: say what else was on the clipboard, rather than drop it unseen."""
        event.prevent_default()
        event.stop()
        lines = [line for line in event.text.splitlines() if line.strip()]
        first = clean(lines[0], LONGEST) if lines else ""
        self.replace(first, *self.selection)
        if len(lines) > 1:
            self.post_message(Told(f"Pasted the first line; {len(lines) - 1} more lines were left out."))
        elif lines and first != lines[0].strip():
            self.post_message(Told("Pasted, with characters left out or cut that no answer may have."))


class Choice(Static, can_focus=True):
    """One of a few, chosen with left and right, a first letter, or from the whole list that Enter opens."""

    # All with priority: a letter and the Enter after it are done in their order.
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "step(-1)", show=False, priority=True),
        Binding("right", "step(1)", show=False, priority=True),
        # It shows what there is and changes nothing: a thumb on it must not move a neutral-earth bond.
        Binding("space", "screen.enter", show=False, priority=True),
        Binding("delete,backspace", "choose('')", show=False, priority=True),
        *(Binding(letter, f"begin('{letter.lower()}')", show=False, priority=True) for letter in ascii_letters + digits),
    ]

    def __init__(self, key: str, text: str, choices: tuple[str, ...]) -> None:
        super().__init__(markup=False)
        self.key = key
        self._choices = choices
        self._text = text

    def on_mount(self) -> None:
        """Draw the first state."""
        self._draw()

    def on_resize(self) -> None:
        """The word is cut to the width there is."""
        self._draw()

    def show(self, text: str) -> None:
        """Show an answer that changed elsewhere."""
        if text != self._text:
            self._text = text
            self._draw()

    @property
    def chosen(self) -> str | None:
        """What is chosen, or None."""
        return self._text or None

    def untold(self) -> str | None:
        """Nothing waits here: a choice is told as it is made."""
        return None

    def action_step(self, step: int) -> None:
        """The next choice, or the one before; beyond the ends stands no answer."""
        offered = ("", *self._choices)
        at = offered.index(self._text) if self._text in offered else 0
        self.action_choose(offered[(at + step) % len(offered)])

    def action_choose(self, text: str) -> None:
        """Take one of the choices, or none."""
        if text != self._text:
            self._text = text
            self._draw()
            tell(self, {self.key: text})

    def action_begin(self, letter: str) -> None:
        """The next choice that begins with a letter."""
        begins = [choice for choice in self._choices if choice.lower().startswith(letter)]
        if begins:
            at = begins.index(self._text) + 1 if self._text in begins else 0
            self.action_choose(begins[at % len(begins)])

    def _draw(self) -> None:
        room = max(1, (self.size.width or 22) - 4)
        word = self._text or "-"
        word = word if len(word) <= room else f"{word[: room - 1]}~"
        self.update(Content(f"< {word:<{room}} >"))
