"""The one widget: it puts every event into the interview's queue, does what is wanted, and shows the lines that changed."""

from __future__ import annotations

import asyncio
import gc
from collections.abc import Sequence
from dataclasses import replace

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Offset, Region
from textual.message import Message
from textual.strip import Strip
from textual.timer import Timer
from textual.widget import Widget

from engine.sheets.text.layout import cells
from wizard.answers.session import Session
from wizard.drafts.folder import Draft as Found
from wizard.drafts.folder import drop, offers
from wizard.interview.drafting import offer
from wizard.interview.draw import Screen, show
from wizard.interview.events import Cure, Draft, Event, Key, Leave, NotSaved, Paste, Plan, Save, Saved, Size, Wanted
from wizard.interview.handle import started
from wizard.interview.state import State
from wizard.interview.taking import taken
from wizard.planning.messages import Cured, Failed
from wizard.planning.planner import Planner
from wizard.planning.seen import Seen
from wizard.screens.keeping import Keeping, taken_up

LATE = 0.5  # seconds after which what is being typed is on the disk; it must be within one
PAUSE = 0.2  # seconds between an answer and the plan that follows it: the next answer may be on its way

_STYLES = {"": Style(), "bold": Style(bold=True), "reverse": Style(reverse=True), "underline": Style(underline=True)}
_CARET = Style(reverse=True)
_KEYS = {"ctrl+h": "backspace", "ctrl+m": "enter", "ctrl+i": "tab", "ctrl+j": "enter", "insert": ""}


class Arrived(Message, bubble=False):
    """Something that comes from a thread: it waits its turn behind the keys that came before it."""

    def __init__(self, event: Event) -> None:
        super().__init__()
        self.event = event


class InterviewPage(Widget, can_focus=True):
    """The interview on the screen."""

    DEFAULT_CSS = "InterviewPage { width: 1fr; height: 1fr; }"

    def __init__(self, state: State, drafts: Sequence[Found] = ()) -> None:
        super().__init__()
        self.state = state
        self.keeping = Keeping(state)
        self._drafts = drafts
        self._screen = Screen(())
        self._behind = False  # whether the screen is behind the state
        self._pause: Timer | None = None
        self._late: Timer | None = None
        self._planner = Planner(self._arrived)
        self._saving: set[asyncio.Task[None]] = set()

    # In

    def on_mount(self) -> None:
        """Draw at once; all else waits until somebody can type."""
        self.state, wanted = started(self.state)
        self._show()
        self.call_after_refresh(self._begin, wanted)

    def _begin(self, wanted: tuple[Wanted, ...]) -> None:
        # What was imported stays: no search for garbage has to look at it.
        gc.freeze()
        gc.enable()
        self._planner.start()
        self._do(wanted)

    def on_resize(self, event: events.Resize) -> None:
        """The terminal has another size."""
        self._handle(Size(event.size.width, event.size.height))
        self.refresh()

    async def _on_key(self, event: events.Key) -> None:
        """Every key is the interview's."""
        event.stop()
        event.prevent_default()
        char = event.character if event.character and event.is_printable else ""
        if name := _KEYS.get(event.key, event.key):
            self._handle(Key(name, char, event.time))

    async def _on_paste(self, event: events.Paste) -> None:
        """So is the clipboard."""
        event.stop()
        event.prevent_default()
        self._handle(Paste(event.text))

    def _arrived(self, told: Seen | Failed | Cured) -> None:
        self.post_message(Arrived(told))

    def on_arrived(self, event: Arrived) -> None:
        """A plan, a cure, a file that was written."""
        self._handle(event.event)

    def _handle(self, event: Event) -> None:
        # Kept before it is shown: what is on the screen is on the disk.
        self.state, wanted = self.keeping.handled(self.state, event)
        self._do(wanted)
        self._show_soon()
        # From the first change on that is not kept yet: somebody who never pauses has it kept too.
        if self.keeping.waits and self._late is None:
            self._late = self.set_timer(LATE, self._keep)

    def _keep(self) -> None:
        self._late = None
        self.state = self.keeping.kept(self.state)
        self._show_soon()

    def _show_soon(self) -> None:
        """Show the state behind the keys that are here already: a thousand that are pasted at once are one screen."""
        if not self._behind:
            self._behind = True
            self.call_later(self._show)

    def answers(self) -> Session:
        """The answers with what is being typed among them, where it can be one."""
        return taken(self.state).session

    # Out

    def _do(self, wanted: tuple[Wanted, ...]) -> None:
        for one in wanted:
            match one:
                case Plan(at_once=at_once):
                    if self._pause:
                        self._pause.stop()
                    self._pause = None if at_once else self.set_timer(PAUSE, self._plan)
                    if at_once:
                        self._plan()
                case Cure(code=code, about=about):
                    session = self.state.session
                    self._planner.cures(session.document, session.revision, code, about)
                case Save():
                    # Kept, or nobody holds it and it may vanish unfinished.
                    task = asyncio.create_task(self._save(one, self.state))
                    self._saving.add(task)
                    task.add_done_callback(self._saving.discard)
                case Draft(what=what, at=at):
                    self._draft(what, at)
                case Leave():
                    self.close_planner()
                    self.keeping.journal.end()
                    self.app.exit(0)

    def _draft(self, what: str, at: int) -> None:
        """Go on with a draft that was offered, or drop it; the others are offered again."""
        told = ""
        if what == "resume":
            found = taken_up(self._drafts[at])
            if isinstance(found, tuple):
                self.go_on(*found)
                return
            told = found
        if what == "drop":
            try:
                drop(self._drafts[at])
                told = "Dropped."
            except OSError as problem:
                told = f"! NOT DROPPED: {problem.strerror or problem}"
        self._drafts = offers(self.state.session.path)
        self.state = offered(replace(self.state, told=told), self._drafts)
        self._show()

    def go_on(self, state: State, keeping: Keeping) -> None:
        """In place of the interview that was begun."""
        self.keeping = keeping
        self.state, wanted = started(replace(state, columns=self.state.columns, lines=self.state.lines))
        if self.is_mounted:
            self._show()
            self._do(wanted)

    def _plan(self) -> None:
        session = self.state.session
        self._planner.plan(session.document, session.revision)

    def close_planner(self) -> None:
        """Nothing is planned any more."""
        self._planner.close()

    async def _save(self, save: Save, state: State) -> None:
        # The disk may be slow, and keys go on meanwhile.
        self.post_message(Arrived(await asyncio.to_thread(written, save, state)))

    # The screen

    def _show(self) -> None:
        self._behind = False
        before = self._screen
        self.state, self._screen = show(self.state)
        width = self.size.width
        for y, line in enumerate(self._screen.lines):
            if y >= len(before.lines) or before.lines[y] != line or self._screen.caret != before.caret and y in _at(before, self._screen):
                self.refresh(Region(0, y, width, 1))
        if self._screen.caret:
            self.app.cursor_position = Offset(*self._screen.caret)

    def render_line(self, y: int) -> Strip:
        """One line of the screen."""
        lines, caret = self._screen.lines, self._screen.caret
        line = lines[y] if y < len(lines) else ()
        strip = Strip([Segment(span.text, _STYLES[span.style]) for span in line], sum(cells(span.text) for span in line))
        strip = strip.adjust_cell_length(self.size.width)
        if caret and caret[1] == y:
            x = caret[0]
            strip = Strip.join([strip.crop(0, x), _toggled(strip.crop(x, x + 1)), strip.crop(x + 1, self.size.width)])
        return strip


def _at(*screens: Screen) -> set[int]:
    return {screen.caret[1] for screen in screens if screen.caret}


def _toggled(strip: Strip) -> Strip:
    """The place of the caret: reversed, or plain where all around it is."""
    return Strip(
        [Segment(s.text, Style() if s.style and s.style.reverse else (s.style or Style()) + _CARET) for s in strip], strip.cell_length
    )


def offered(state: State, drafts: Sequence[Found]) -> State:
    """With the drafts offered, if there are any, before anything else."""
    box = offer([draft.line() for draft in drafts], of_a_file=state.session.path is not None) if drafts else None
    return replace(state, box=box)


def written(save: Save, state: State) -> Saved | NotSaved:
    """Write the answers, with the plan of just these where there is one."""
    session = state.session
    try:
        if not save.over and (why := session.in_the_way(save.path)):
            return NotSaved(save.path, why, in_the_way=True)
        plan = state.seen.plan if state.seen and state.current else None
        saved = session.save(save.path, plan)
    except OSError as problem:
        return NotSaved(save.path, problem.strerror or str(problem))
    except Exception as fault:  # noqa: BLE001 - a fault of ours must not look like a file that was written
        return NotSaved(save.path, f"a fault of this program ({type(fault).__name__})")
    return Saved(saved, save.path, plan is not None)
