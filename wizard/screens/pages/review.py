"""The review: what the plan says and what stops it, section by section, and the save."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from engine.findings import Level
from wizard.interview import place_of
from wizard.review import finding_lines, sections
from wizard.screens.frame import counted
from wizard.screens.messages import GoTo
from wizard.screens.view import View
from wizard.screens.widgets.rows import Rows

FINDINGS = "Findings"


class Sections(Static, can_focus=True):
    """The names of the sections; left and right choose one."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "step(-1)", show=False, priority=True),
        Binding("right,space", "step(1)", show=False, priority=True),
    ]

    def __init__(self) -> None:
        super().__init__(markup=False)
        self.names: tuple[str, ...] = (FINDINGS,)
        self.chosen = FINDINGS

    def draw(self) -> None:
        """Write the names, the chosen one between marks; where they do not fit, the chosen one alone."""
        told = " ".join(f"[{name}]" if name == self.chosen else f" {name} " for name in self.names)
        if len(told) > self.size.width:
            told = f"< [{self.chosen}] >  {self.names.index(self.chosen) + 1}/{len(self.names)}"
        self.update(Content(told))

    def action_step(self, step: int) -> None:
        """The next section."""
        self.chosen = self.names[(self.names.index(self.chosen) + step) % len(self.names)]
        self.draw()
        if isinstance(self.parent, Review):
            self.parent.lay_out()


class Reading(VerticalScroll):
    """A text that arrow keys scroll."""

    def steer(self, step: int) -> bool:
        """One line; False at the ends, where the focus goes on."""
        before = self.scroll_target_y
        self.scroll_relative(y=step, animate=False)
        return self.scroll_target_y != before


class Review(Vertical):
    """The last page."""

    # Wherever the focus is on this page: without these a page up would leave it.
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pageup", "turn(-1)", show=False),
        Binding("pagedown", "turn(1)", show=False),
    ]
    DEFAULT_CSS = """
    Review {
        height: 1fr;
        & > .intro { height: auto; }
        & > Sections { height: auto; &:focus { text-style: reverse; } }
        & > Rows { height: 1fr; margin: 0; }
        & > Reading { height: 1fr; display: none; & > Static { height: auto; } }
        &.-section > Rows { display: none; }
        &.-section > Reading { display: block; }
    }
    """

    def __init__(self, view: View) -> None:
        super().__init__()
        self._view = view
        self._about: list[str] = []
        self._drawn: object = None

    def compose(self) -> ComposeResult:
        """Standing, sections, what they say."""
        yield Static(classes="intro", markup=False)
        yield Sections()
        yield Rows(markup=False)
        with Reading():
            yield Static(markup=False)

    def on_mount(self) -> None:
        """Fill in what is known."""
        self.show(self._view)

    def on_resize(self) -> None:
        """Lines are broken to the width there is."""
        self.lay_out()

    def show(self, view: View) -> None:
        """Show the plan as it stands."""
        self._view = view
        for intro in self.query(".intro").results(Static):
            intro.update(Content(self._standing()))
            self.lay_out()

    def lay_out(self) -> None:
        """Write the chosen section."""
        bar, planned = self.query_one(Sections), self._view.planned
        width = max(20, self.size.width - 4)
        state = (bar.chosen, width, id(planned), self._view.current)
        if planned is None or state == self._drawn:
            return
        self._drawn = state
        told = sections(planned, width)
        bar.names = (FINDINGS, *told)
        bar.draw()
        self.set_class(bar.chosen != FINDINGS, "-section")
        if bar.chosen == FINDINGS:
            rows = self.query_one(Rows)
            found = list(finding_lines(planned, width))
            self._about = [about for about, _ in found]
            rows.clear_options()
            rows.add_options([Option(Content(text)) for _, text in found])
            rows.highlighted = 0 if found else None
        else:
            self.query_one("Reading > Static", Static).update(Content("\n".join(told[bar.chosen])))

    async def action_turn(self, step: int) -> None:
        """What the chosen section says, a screen up or down."""
        if self.query_one(Sections).chosen == FINDINGS:
            await self.query_one(Rows).run_action("page_down" if step > 0 else "page_up")
        else:
            text = self.query_one(Reading)
            text.scroll_page_down(animate=False) if step > 0 else text.scroll_page_up(animate=False)

    def focus_on(self, key: str | None) -> None:
        """The sections first."""
        del key
        self.screen.set_focus(self.query_one(Sections))

    def untold(self) -> Iterator[tuple[str, str]]:
        """Nothing is typed here."""
        return iter(())

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Go to the question that a finding is about."""
        event.stop()
        key = place_of(self._about[event.option_index], self._view.session.answers)
        if key:
            self.post_message(GoTo(key))

    def _standing(self) -> str:
        planned = self._view.planned
        if planned is None:
            return "The plan is not ready yet."
        if not self._view.current:
            return "The answers changed: the plan below is the one before."
        levels = [found.level for found in planned.findings]
        counts = ", ".join(counted(levels.count(level), level.value) for level in Level if level in levels)
        words = {"stopped": "STOPPED: do not energise", "cautions": "CAUTIONS: read them before going on", "ready": "READY"}
        told = f"{words[planned.plan.standing]}. {counts}. Revision {planned.plan.revision}."
        return f"{told}\nF2 saves answers and plan. Left and right: sections. Down, PageDown: the text."
