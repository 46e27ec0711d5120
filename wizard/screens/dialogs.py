"""Questions that stand before the page: choose one, type a file's name, read something. Escape leaves everything as it was."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static
from textual.widgets.option_list import Option

from wizard.screens.widgets.rows import Rows

_CSS = """
    $self {
        align: center middle;
        & > Vertical { width: 76; max-width: 100%; height: auto; max-height: 100%; border: solid $foreground; background: $surface; padding: 0 1; }
        & .told { height: auto; margin: 0 0 1 0; }
        & .keys { height: 1; margin: 1 0 0 0; }
        & Rows { max-height: 12; }
    }
"""

# Like every key that changes where typing goes, these are done before the next key is looked at.
_ESCAPE = Binding("escape", "dismiss(None)", show=False, priority=True)


class Choose(ModalScreen[str | None]):
    """One of several, by arrow keys and Enter; None for Escape."""

    DEFAULT_CSS = _CSS.replace("$self", "Choose")
    BINDINGS: ClassVar[list[BindingType]] = [
        _ESCAPE,
        Binding("enter", "take", show=False, priority=True),
        Binding("up", "move(-1)", show=False, priority=True),
        Binding("down", "move(1)", show=False, priority=True),
    ]

    def __init__(self, told: str, choices: Sequence[tuple[str, str]], at: str | None = None) -> None:
        super().__init__()
        self._told = told
        self._choices = choices
        self._at = at

    def compose(self) -> ComposeResult:
        """What it is about, the choices, the keys."""
        with Vertical():
            yield Static(Content(self._told), classes="told")
            yield Rows(*(Option(Content(text)) for _, text in self._choices), markup=False)
            yield Static(Content("Enter takes it   Escape leaves all as it was"), classes="keys")

    def on_mount(self) -> None:
        """Begin at the choice that holds."""
        names = [name for name, _ in self._choices]
        rows = self.query_one(Rows)
        rows.highlighted = names.index(self._at) if self._at in names else 0
        self.set_focus(rows)

    def action_move(self, step: int) -> None:
        """Up or down, from the last to the first and back."""
        rows = self.query_one(Rows)
        rows.highlighted = ((rows.highlighted or 0) + step) % len(self._choices)

    def action_take(self) -> None:
        """Answer with the name of the chosen one."""
        at = self.query_one(Rows).highlighted
        if at is not None:
            self.dismiss(self._choices[at][0])


class AskText(ModalScreen[str | None]):
    """A line of text; None for Escape."""

    DEFAULT_CSS = _CSS.replace("$self", "AskText") + "AskText Input { border: none; height: 1; padding: 0; text-style: underline; }"
    BINDINGS: ClassVar[list[BindingType]] = [_ESCAPE]

    def __init__(self, told: str, text: str) -> None:
        super().__init__()
        self._told = told
        self._text = text

    def compose(self) -> ComposeResult:
        """What it is about, the line, the keys."""
        with Vertical():
            yield Static(Content(self._told), classes="told")
            line = Input(self._text, compact=True, max_length=1000, select_on_focus=False)
            line.cursor_blink = False
            yield line
            yield Static(Content("Enter takes it   Escape leaves all as it was"), classes="keys")

    def on_mount(self) -> None:
        """Type at once."""
        self.set_focus(self.query_one(Input))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Answer with the line, if there is one."""
        if event.value.strip():
            self.dismiss(event.value.strip())


class Tell(ModalScreen[None]):
    """Something to read."""

    DEFAULT_CSS = _CSS.replace("$self", "Tell") + "Tell VerticalScroll { height: auto; max-height: 18; }"
    BINDINGS: ClassVar[list[BindingType]] = [_ESCAPE, Binding("enter,f1", "dismiss(None)", show=False, priority=True)]

    def __init__(self, title: str, lines: Sequence[str]) -> None:
        super().__init__()
        self._title = title
        self._lines = lines

    def compose(self) -> ComposeResult:
        """The title, the text, the keys."""
        with Vertical():
            yield Static(Content(self._title), classes="told")
            with VerticalScroll():
                yield Static(Content("\n\n".join(self._lines)))
            yield Static(Content("Up and down scroll   Escape goes back"), classes="keys")

    def on_mount(self) -> None:
        """Arrow keys scroll."""
        self.set_focus(self.query_one(VerticalScroll))
