"""The entries of an array: one a line, the last line adds one."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets.option_list import Option

from engine.text import clean
from wizard.interview import entry_line
from wizard.pages import Table
from wizard.screens.messages import EntryDropped
from wizard.screens.view import View
from wizard.screens.widgets.rows import Rows


class Entries(Rows):
    """The entries of one array of the file."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("insert,plus", "add", show=False, priority=True),
        Binding("delete,backspace", "drop", show=False, priority=True),
    ]

    def __init__(self, table: Table, view: View) -> None:
        super().__init__(markup=False)
        self.table = table
        self.key = table.key
        self._shown: list[str] = []
        self.show(view)

    def show(self, view: View) -> None:
        """Show the entries as they stand."""
        lines = [clean(entry_line(self.table, entry), 200) for entry in view.session.entries(self.table.key)]
        marks = [
            "!" if any(key.startswith(f"{self.table.key}[{at}]") for key in (s.key or "" for s in view.notes.stops)) else " "
            for at in range(len(lines))
        ]
        lines = [f"{at}. {mark} {line}" for at, (mark, line) in enumerate(zip(marks, lines, strict=True), 1)]
        if lines != self._shown or not self.option_count:
            at = self.highlighted or 0
            self._shown = lines
            self.clear_options()
            self.add_options([Option(Content(text)) for text in (*lines, f"+ add a {self.table.one}")])
            self.highlighted = min(at, len(lines))

    @property
    def chosen(self) -> int | None:
        """The place of the chosen entry; None on the line that adds one."""
        return self.highlighted if self.highlighted is not None and self.highlighted < len(self._shown) else None

    async def action_add(self) -> None:
        """A new entry. By a call, not by a message: what is typed behind the key is meant for it."""
        await self.screen.run_action("add_entry")

    def action_drop(self) -> None:
        """Remove the entry."""
        if self.chosen is not None:
            self.post_message(EntryDropped(self.table.key, self.chosen))
