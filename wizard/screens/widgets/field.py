"""One question: its name, where it is answered, what is to be said about it. `ask` makes one from its key alone."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from wizard.interview import asked, remark
from wizard.pages import Question
from wizard.screens.view import View
from wizard.screens.widgets.answer import Choice, Line


class Field(Widget):
    """A question on a page. What is wrong with an answer stands in words below it."""

    DEFAULT_CSS = """
    Field {
        height: auto;
        layout: vertical;
        & > .row { height: 1; }
        & .name { width: 31; height: 1; }
        & .edge { width: 1; height: 1; }
        & Line, & Choice { width: 22; height: 1; padding: 0; }
        & .remark { width: 1fr; height: 1; padding: 0 0 0 1; }
        & > .problem { height: auto; padding: 0 0 0 2; display: none; text-style: bold; }
        &.-refused > .problem { display: block; }
        &.-asked .name { text-style: reverse; }
    }
    """

    def __init__(self, question: Question, view: View) -> None:
        super().__init__()
        self.question = question
        self._view = view
        how = asked(question)
        text = view.text(question.key)
        single_choice = how.choices and not how.many
        self.answer: Line | Choice = Choice(question.key, text, how.choices) if single_choice else Line(question.key, text)

    def compose(self) -> ComposeResult:
        """Name, answer between its edges, remark; the problem below."""
        with Horizontal(classes="row"):
            yield Static(Content(f"  {self.question.name}{' *' if self.question.essential else ''}"), classes="name")
            # Brackets show how far a line goes, where no colour does.
            left, right = ("[", "]") if isinstance(self.answer, Line) else (" ", " ")
            yield Static(Content(left), classes="edge")
            yield self.answer
            yield Static(Content(right), classes="edge")
            yield Static(classes="remark", markup=False)
        yield Static(classes="problem", markup=False)

    def on_mount(self) -> None:
        """Fill in what is known."""
        self.show(self._view)

    def show(self, view: View) -> None:
        """Show the answers and the plan as they stand. One that is not laid out yet shows them once it is; one that is gone, never."""
        self._view = view
        said = {name: widget for name in ("remark", "problem") for widget in self.query(f".{name}").results(Static)}
        if not said:
            return
        refusal = view.refused.get(self.question.key)
        self.answer.show(view.text(self.question.key))
        told = "! not accepted" if refusal else remark(self.question, view.session, view.notes)
        _say(said["remark"], told)
        _say(said["problem"], f"! {refusal.why}" if refusal else "")
        self.set_class(refusal is not None, "-refused")

    def on_descendant_focus(self, _: events.DescendantFocus) -> None:
        """Show that this is the question."""
        self.add_class("-asked")

    def on_descendant_blur(self, _: events.DescendantBlur) -> None:
        """It is no longer."""
        self.remove_class("-asked")


def ask(question: Question, view: View) -> Field:
    """The field of a question."""
    return Field(question, view)


def _say(widget: Static, text: str) -> None:
    # A repaint costs bytes on a slow line: only what changed is sent.
    if str(widget.content) != text:
        widget.update(Content(text))
