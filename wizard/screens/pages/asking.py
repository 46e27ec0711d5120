"""A page of questions, and the page of one entry of an array: the same form, filled from data."""

from __future__ import annotations

from collections.abc import Iterator

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from wizard.interview import entry_questions, questions
from wizard.pages import Page, Question, Table
from wizard.screens.view import View
from wizard.screens.widgets.entries import Entries
from wizard.screens.widgets.field import Field, ask


class Asking(Vertical):
    """An introduction, questions, and whatever a page adds below them."""

    DEFAULT_CSS = """
    Asking {
        height: auto;
        padding: 0 1 0 0;
        & > .intro { height: auto; margin: 0 0 1 0; }
        & > .heading { height: 1; margin: 1 0 0 0; text-style: bold; }
    }
    """

    def __init__(self, intro: str, view: View) -> None:
        super().__init__()
        self._intro = intro
        self._view = view

    def questions(self, view: View) -> tuple[Question, ...]:
        """The questions as the answers stand."""
        raise NotImplementedError

    def whole(self) -> tuple[Question, ...]:
        """Every question that may come to apply."""
        return self.questions(self._view)

    def below(self) -> Iterator[Widget]:
        """What stands under the questions."""
        return iter(())

    def compose(self) -> ComposeResult:
        """The page from top to bottom."""
        yield Static(Content(self._intro), classes="intro")
        applying = {question.key for question in self.questions(self._view)}
        for question in self.whole():
            field = ask(question, self._view)
            field.display = question.key in applying
            yield field
        yield from self.below()

    def show(self, view: View) -> None:
        """Show the answers and the plan as they stand; questions that do not apply are hidden.

        Fields are never laid out anew while somebody types in them: new ones (units that were planned) are added.
        """
        self._view = view
        if not self.is_attached:
            return
        applying = {question.key: question for question in self.questions(view)}
        fields = list(self.query(Field))
        for field in fields:
            field.display = field.question.key in applying
            field.show(view)
        known = {field.question.key for field in fields}
        if added := [ask(question, view) for key, question in applying.items() if key not in known]:
            self.mount(*added, after=fields[-1] if fields else self.query_one(".intro"))
        for entries in self.query(Entries):
            entries.show(view)

    def focus_on(self, key: str | None) -> None:
        """Put the focus on a question, or on the first one."""
        fields = [field for field in self.query(Field) if field.display]
        found: Widget | None = next((f.answer for f in fields if f.question.key == key), None)
        entries = next(iter(self.query(Entries)), None)
        if found is None and entries is not None and key == entries.table.key:
            found = entries
        # Not Widget.focus: that waits for its turn, and keys typed ahead would go elsewhere.
        self.screen.set_focus(found or (fields[0].answer if fields else entries))

    def untold(self) -> Iterator[tuple[str, str]]:
        """Key and text of what is typed and not told yet."""
        for field in self.query(Field):
            if (text := field.answer.untold()) is not None:
                yield field.question.key, text


class Questions(Asking):
    """One page of the interview."""

    def __init__(self, page: Page, view: View) -> None:
        self.page = page
        super().__init__(page.intro, view)

    def questions(self, view: View) -> tuple[Question, ...]:
        """Those of the page that apply."""
        return questions(self.page, view.session.answers, view.tags)

    def whole(self) -> tuple[Question, ...]:
        """The page's questions, and one for each planned unit where it asks for them."""
        return tuple(dict.fromkeys((*self.page.questions, *self.questions(self._view))))

    def below(self) -> Iterator[Widget]:
        """The array that the page lists."""
        if self.page.table:
            yield Static(Content(_HEADINGS[self.page.table.key]), classes="heading")
            yield Entries(self.page.table, self._view)


_HEADINGS = {
    "loads": "Loads",
    "bus_nodes": "Other devices on the bus",
    "storage.links": "Data cables from managed banks",
    "wall.places": "Places",
    "routes": "Routes",
}


class Entry(Asking):
    """One entry of an array."""

    def __init__(self, table: Table, place: int, view: View) -> None:
        self.table = table
        self.place = place
        super().__init__(f"{table.one.capitalize()} {place + 1}. F7 or Escape goes back to the list.", view)

    def questions(self, view: View) -> tuple[Question, ...]:
        """The questions of the entry; none once it is gone."""
        return entry_questions(self.table, self.place) if self.place < len(view.session.entries(self.table.key)) else ()
