"""The interview: it owns the session, shows one page at a time, and has a plan made after every answer."""

from __future__ import annotations

import asyncio
import glob
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from engine.files.problems import Problem
from engine.text import clean
from wizard import interview
from wizard.hanging import STEP
from wizard.pages import PAGES, Page, Question, Table
from wizard.screens.dialogs import Choose, Tell
from wizard.screens.frame import KEYS, KEYS_HELP, cut, keys_line, status_line, title_line
from wizard.screens.messages import (
    EntryDropped,
    GoTo,
    Told,
)
from wizard.screens.pages.asking import Asking, Entry, Questions
from wizard.screens.pages.review import Review
from wizard.screens.pages.wall import WallPage
from wizard.screens.saving import Saving
from wizard.screens.view import Refusal
from wizard.screens.widgets.answer import Choice, Line
from wizard.screens.widgets.entries import Entries
from wizard.screens.widgets.rows import Rows
from wizard.screens.widgets.wall_view import WallView
from wizard.session import Session

if TYPE_CHECKING:
    from engine.planner import Planned


_AT_ONCE = 0.01  # seconds
_LATEST = 1.0  # seconds that a line may take over its keys: far more than it ever does


class Body(VerticalScroll, can_focus=False, inherit_bindings=False):
    """Holds the page. Up and down go from question to question, so it leaves these keys alone and follows the focus."""


class InterviewScreen(Saving):
    """The frame: title, page, help, what stops the plan, keys."""

    CSS_PATH = "interview.tcss"
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        # Keys that change where typing goes have priority: they are done before the next key is looked at. Otherwise what
        # somebody types ahead, or what a slow link delivers in one piece, would end in the wrong question.
        *(Binding(keys, action, word, show=False, priority=True) for keys, action, word, _ in KEYS),
        Binding("up", "steer(-1)", show=False, priority=True),
        Binding("down", "steer(1)", show=False, priority=True),
        Binding("tab", "app.focus_next", show=False, priority=True),
        Binding("shift+tab", "app.focus_previous", show=False, priority=True),
        Binding("enter", "enter", show=False, priority=True),
        Binding("escape", "up", show=False, priority=True),
        Binding("pageup", "back", show=False),
        Binding("pagedown", "next", show=False),
    ]

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._page: Page = PAGES[0]
        self._helped: str | None = None
        self._told = _of_file(session)
        self._body: Asking | Review | None = None
        self._turning = asyncio.Lock()
        self._follow = False  # whether the next plan leads to what it stops on

    # The frame

    def compose(self) -> ComposeResult:
        """From top to bottom."""
        yield Static(id="title", markup=False)
        yield Body()
        yield Static(id="help", markup=False)
        yield Static("Planning ...", id="status", markup=False)
        yield Static(id="keys", markup=False)

    async def on_mount(self) -> None:
        """Begin with the first page and a plan of what is there."""
        await self._open(self._page)
        self.plan_soon(0.05)

    def on_resize(self) -> None:
        """The lines of the frame are cut to the width."""
        self._frame()
        self._status()

    def _frame(self) -> None:
        pages = interview.pages(self.session.answers)
        at = pages.index(self._page) + 1 if self._page in pages else 0
        page = self._page.title
        if isinstance(self._body, Entry):
            page += f": {self._body.table.one} {self._body.place + 1}"
        self._line("#title", title_line(self.view, page, at, len(pages), self.size.width))
        self._line("#keys", keys_line(self.size.width))

    def _status(self) -> None:
        plan = status_line(self.view, self.fault)
        self._line("#status", cut(f"{self._told} | {plan}" if self._told else plan, self.size.width))

    def _line(self, selector: str, text: str) -> None:
        line = self.query_one(selector, Static)
        if str(line.content) != text:
            line.update(Content(text))

    # Pages

    async def _open(self, page: Page, key: str | None = None, entry: tuple[Table, int] | None = None) -> None:
        """Show a page, or one entry of its array, with the focus on a question."""
        await self._take_typed()
        # Keys turn pages in one task, plans arrive in another: one page at a time, and nothing is shown on one that comes or goes.
        async with self._turning:
            self._page, self._body = page, None
            body: Asking | Review
            if entry:
                body = Entry(*entry, self.view)
            elif page.name == "review":
                body = Review(self.view)
            else:
                body = (WallPage if page.name == "wall" else Questions)(page, self.view)
            holder = self.query_one(Body)
            with self.app.batch_update():
                await holder.remove_children()
                await holder.mount(body)
            self._body = body
            body.show(self.view)
        self.set_class(isinstance(body, Review), "-reading")
        self._frame()
        self._line("#help", "")
        body.focus_on(key)

    async def show_all(self) -> None:
        """Show the session as it stands, the page laid out anew where other questions apply."""
        if isinstance(self._body, Entry) and self._body.place >= len(self.session.entries(self._body.table.key)):
            await self._open(self._page, self._body.table.key)
        elif self._body is not None:
            self._body.show(self.view)
        self._frame()
        self._status()

    async def _turn(self, step: int) -> None:
        if isinstance(self._body, Entry):
            await self.action_up()
            return
        pages = interview.pages(self.session.answers)
        at = pages.index(self._page) if self._page in pages else 0
        if 0 <= at + step < len(pages):
            await self._open(pages[at + step])

    async def action_next(self) -> None:
        """The next page."""
        await self._turn(1)

    async def action_back(self) -> None:
        """The page before; from an entry, its list."""
        await self._turn(-1)

    async def action_up(self) -> None:
        """From an entry back to its list. Escape never drops anything."""
        if isinstance(self._body, Entry):
            table, place = self._body.table, self._body.place
            await self._open(self._page, table.key)
            for entries in self.query(Entries):
                entries.highlighted = place

    def action_steer(self, step: int) -> None:
        """Up or down: within a list or a drawing, else to the question before or after."""
        steer = getattr(self.focused, "steer", None)
        if steer is None or not steer(step):
            self.focus_next() if step > 0 else self.focus_previous()

    async def action_enter(self) -> None:
        """Take the answer and go on; open the list of choices, or the entry."""
        focused = self.focused
        if isinstance(focused, Choice):
            await self._choose(focused)
        elif isinstance(focused, Entries):
            await self._open_entry(focused.chosen)
        elif isinstance(focused, Rows):
            focused.action_select()
        elif self.focus_chain and focused is self.focus_chain[-1]:
            await self.action_next()
        else:
            self.focus_next()

    async def action_pages(self) -> None:
        """All pages, each with how far it is."""
        await self.settle()
        pages, focused = interview.pages(self.session.answers), self.focused

        async def go(chosen: str | None) -> None:
            if chosen is None:
                self.set_focus(focused)
            else:
                await self._open(next(page for page in pages if page.name == chosen))

        self.set_focus(None)  # what is typed ahead of the page is meant for none of the questions here
        title = "Go to a page: answered / asked, ! what stops"
        await self.app.push_screen(Choose(title, [(page.name, self._page_line(page)) for page in pages], self._page.name), go)

    def _page_line(self, page: Page) -> str:
        answered, asked = interview.progress(page, self.session, self.view.tags)
        stops = sum(stop.page is page or (stop.key in interview.ESSENTIAL and page is PAGES[0]) for stop in self.view.notes.stops)
        told = f"{answered}/{asked}" if asked else ""
        return f"{page.title:<25} {told:<5}" + (f" !{stops}" if stops else "")

    # Answers

    def take(self, answers: Mapping[str, str]) -> None:
        """Take answers from a question or the drawing of the wall, and show what they change."""
        if len(answers) == 1:
            for key, text in answers.items():
                self._take(key, text)
        else:
            result = self.session.set_all(answers)
            if isinstance(result, Session):
                self._became(result)
        self.call_later(self.show_all)

    def _take(self, key: str, text: str) -> None:
        result = interview.answer(self.session, key, text)
        refused = {name: refusal for name, refusal in self.view.refused.items() if name != key}
        if isinstance(result, Problem):
            self.view = replace(self.view, refused=refused | {key: Refusal(text, result.text)})
        else:
            self.view = replace(self.view, refused=refused)
            self._became(result)

    def _became(self, session: Session) -> None:
        if session is not self.session:
            self.view = replace(self.view, session=session)
            self.plan_soon()

    async def action_add_entry(self) -> None:
        """One more entry of the page's array, open for its first answer."""
        await self._open_entry(None)

    async def _open_entry(self, place: int | None) -> None:
        """Open an entry of the page's array; None adds one."""
        table = self._page.table
        if table is None:
            return
        if place is None:
            place = len(self.session.entries(table.key))
            added = self.session.add(table.key)
            if isinstance(added, Problem):
                self.say(f"! {added.text}")
                return
            self._became(added)
        await self._open(self._page, None, (table, place))

    @on(EntryDropped)
    async def _entry_dropped(self, event: EntryDropped) -> None:
        event.stop()
        dropped = self.session.remove(event.table, event.place)
        if isinstance(dropped, Session):
            # What was refused within the array no longer stands where its key says.
            kept = {key: refusal for key, refusal in self.view.refused.items() if not key.startswith(f"{event.table}[")}
            self.view = replace(self.view, refused=kept)
            self._became(dropped)
            await self.show_all()
            self.say("Removed. F5 takes it back.")

    async def action_undo(self) -> None:
        """Take the last change back."""
        before = self.session.undo()
        if before is self.session:
            self.say("Nothing to take back.")
            return
        self._became(before)
        await self.show_all()
        self.say("The last change was taken back.")

    # Help

    def on_descendant_focus(self) -> None:
        """Show the help of what has the focus now."""
        if self._key != self._helped:
            self._told = "" if self._helped else self._told  # what is told of the file stands until the first move
            self._helped = self._key
            self._status()
        self._line("#help", "\n".join(self._help_lines()))

    @property
    def _key(self) -> str | None:
        """The key of the question in focus. Asked of the focus itself: events of keys typed ahead may come in any order."""
        return getattr(self.focused, "key", None)

    def _help_lines(self) -> list[str]:
        question = self._question(self._key)
        if question is not None:
            return interview.explain(question, self.view.notes)
        if self._page.table is not None and self._page.table.key == self._key:
            found = [f"{f.level.upper()}: {f.text} {f.remedy}" for f in self.view.notes.findings.get(self._page.table.key, ())]
            return [*found, "Enter opens an entry, Insert or + adds one, Delete removes one (F5 takes it back)."]
        if self._key == WallView.key:
            return [f"Arrow keys move what is drawn with # by {STEP} m. Space: the next thing, Backspace: the one before. Tab leaves."]
        return []

    def _question(self, key: str | None) -> Question | None:
        asked = self._body.questions(self.view) if isinstance(self._body, Asking) else ()
        return next((question for question in asked if question.key == key), None)

    def action_help(self) -> None:
        """All there is to say about the question in focus."""
        question = self._question(self._key)
        lines = [*self._help_lines(), KEYS_HELP]
        self.app.push_screen(Tell(question.name if question else self._page.title, lines))

    async def _choose(self, choice: Choice) -> None:
        """All choices of a question, with their meanings."""
        question = self._question(choice.key)
        if question is None:
            return
        how, meanings = interview.asked(question), interview.meanings(choice.key)
        width = max(len(word) for word in how.choices)
        choices = [*((word, f"{word:<{width}}  {meanings.get(word, '')}".rstrip()) for word in how.choices), ("", "(no answer)")]

        async def take(chosen: str | None) -> None:
            if chosen is None:
                self.set_focus(choice)
            else:
                self._take(choice.key, chosen)
                await self.show_all()

        # The next question has the focus already: what is typed ahead of the answer is meant for it.
        self.focus_next()
        await self.app.push_screen(Choose(f"{question.name}\n{how.why}", choices, choice.chosen), take)

    # The plan

    async def planned(self, plan: Planned | None) -> None:
        """Show what a plan says; where there is none, say that."""
        if plan is None:
            self.view = replace(self.view, planned=None)
        else:
            self.view = replace(self.view, planned=plan, notes=interview.notes(plan.findings, plan.assumed, self.session.answers))
        await self.show_all()
        if self._question(self._key) is not None:
            self._line("#help", "\n".join(self._help_lines()))
        if self._follow:
            self._follow = False
            await self.action_next_stop()

    @on(Told)
    def _something_told(self, event: Told) -> None:
        event.stop()
        self.say(event.text)

    async def action_next_stop(self) -> None:
        """Go to the next answer that was not accepted or stops the plan, or else has a caution: round and round."""
        await self.settle()
        if not self.view.current and not self.fault:
            # What an older plan says is never followed: the way goes on when the plan of these answers has come.
            self._follow = True
            self.plan_soon(_AT_ONCE)
            return
        stops, keys = self.view.notes.stops, interview.to_mend(self.view.notes, self.view.refused, self.session.answers)
        if not keys or (stops and not any(stop.key for stop in stops) and not self.view.refused):
            await self._open(PAGES[-1])
            self.say(
                "No single answer would mend what stops the plan." if stops else "Nothing stops the plan, and no answer has a caution."
            )
            return
        at = (keys.index(self._key) + 1 if self._key in keys else 0) % len(keys)
        await self._go_to(keys[at])
        if not stops and not self.view.refused:
            self.say(f"Caution {at + 1} of {len(keys)}: read it, decide, go on with F6.")

    @on(GoTo)
    async def _go(self, event: GoTo) -> None:
        event.stop()
        await self._go_to(event.key)

    async def _go_to(self, key: str) -> None:
        if isinstance(self._body, Questions) and any(question.key == key for question in self._body.questions(self.view)):
            self._body.focus_on(key)
            return
        page = interview.page_of(key, self.session.answers)
        if page is None:
            self.say("No page asks for this.")
            return
        entry = interview.entry_of(page, key)
        await self._open(page, key, entry)

    # What is being typed, for saving

    @property
    def with_plan(self) -> bool:
        """A save from the review writes the plan, from every other page a draft; but a plan that the file held is made anew, never dropped."""
        return self._page.name == "review" or (self.session.origin is not None and "plan" in self.session.origin.document)

    def say(self, text: str) -> None:
        """Say something in the status line, before what stops the plan, until another question has the focus."""
        self._told = clean(text, 200)
        self._helped = self._key  # the event of a focus that was set before is still on its way
        self._status()

    async def settle(self) -> None:
        """Take what is being typed before anything is decided on."""
        await self._take_typed()
        await self.show_all()

    async def _take_typed(self) -> None:
        # Keys that are still on their way to a line belong to its answer.
        await asyncio.gather(*(_arrival(line) for line in self.query(Line)))
        self.take_untold()

    def take_untold(self) -> None:
        """Take what stands in the lines as answered."""
        for key, text in self._body.untold() if self._body else ():
            self._take(key, text)


def _of_file(session: Session) -> str:
    """What is to be said of the file at the start: that it is new, or that somebody's answers were saved beside it when the terminal went away."""
    if session.path is None:
        return ""
    beside = sorted(session.path.parent.glob(f"{glob.escape(session.path.stem)}-rescued*.toml"))
    if beside:
        return f"Answers saved when a terminal went away: {clean(beside[-1].name, 60)}."
    return f"{clean(session.path.name, 40)} is a new file." if session.origin is None else ""


async def _arrival(line: Line) -> None:
    """Until a line has done all the keys that were sent to it. One that is being taken off the screen does nothing any more."""
    arrived = asyncio.Event()
    if line.is_attached and line.call_later(arrived.set):
        with suppress(TimeoutError):
            await asyncio.wait_for(arrived.wait(), _LATEST)
