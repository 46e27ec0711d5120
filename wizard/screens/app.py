"""The app: one widget and the signals. `run` is the whole interview."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import ClassVar

from textual.app import App, ComposeResult
from textual.binding import BindingType
from textual.screen import Screen

from engine.files.problems import Unreadable
from engine.text import clean
from wizard.answers.session import Session
from wizard.drafts.folder import Draft, offers
from wizard.interview.state import begun, of_file
from wizard.output.driver import Driver
from wizard.output.ending import gone_within
from wizard.screens.keeping import taken_up
from wizard.screens.page import InterviewPage, offered


class Bare(Screen[None], inherit_bindings=False):
    """A screen without keys of its own: every key is the interview's."""

    def __init__(self, page: InterviewPage) -> None:
        super().__init__()
        self._page = page

    def compose(self) -> ComposeResult:
        """The page alone."""
        yield self._page


class Wizard(App[int], inherit_bindings=False):
    """The interview in a terminal."""

    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(self, session: Session, drafts: Sequence[Draft] = ()) -> None:
        # The terminal's own sixteen colours, as its owner wants them. Said here already: Textual looks at it once, for NO_COLOR.
        super().__init__(driver_class=Driver, ansi_color=True)
        self.theme = "ansi-dark"
        self.page = InterviewPage(offered(begun(session, of_file(session)), drafts), drafts)
        self.rescued: Path | None = None
        self.hung_up = False
        self.fault = ""

    def get_default_screen(self) -> Bare:
        """The one screen."""
        return Bare(self.page)

    def on_mount(self) -> None:
        """Type at once; keep all when the terminal goes away."""
        self.page.focus()
        for number in (signal.SIGTERM, signal.SIGHUP):
            asyncio.get_running_loop().add_signal_handler(number, self._hung_up)

    def _hung_up(self) -> None:
        self.hung_up = True
        gone_within(status=0)
        self._rescue()
        self.exit(0)

    def _rescue(self) -> None:
        """The draft has it all. Only where that failed is anything written beside somebody's file."""
        self.page.close_planner()
        if self.page.keeping.safe(self.page.state):
            return
        session = self.page.answers()
        if self.rescued is None and session.changed:
            self.rescued = session.rescue()

    def _handle_exception(self, error: Exception) -> None:
        """A fault of ours: nobody loses an answer by it, or has to read a traceback unless that was asked for."""
        with suppress(Exception):
            self._rescue()
        self.fault = type(error).__name__
        super()._handle_exception(error)

    def _fatal_error(self) -> None:
        """Leave. Textual would draw every value of every frame first: of a plan's figures that takes minutes and gigabytes."""
        if os.environ.get("PHASEWRIGHT_DEBUG"):
            self.panic(traceback.format_exc())
        else:
            self._close_messages_no_wait()


def run(path: Path | None, draft: Draft | None = None) -> int:
    """Interview somebody about the site in `path`, or a new one, or go on with a draft; the exit status."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()) or os.environ.get("TERM", "") in ("", "dumb"):
        _say("the interview needs a terminal; `phasewright plan FILE` works without one")
        return 2
    session = Session()
    try:
        if draft is None:
            session = Session.open(path) if path and path.exists() else Session(path=path)
    except Unreadable as wrong:
        for line in wrong.lines():
            _say(line)
        return 2
    app = Wizard(session, () if draft else offers(path))
    if draft:
        found = taken_up(draft)
        if isinstance(found, str):
            _say(found)
            return 2
        app.page.go_on(*found)
    status = app.run(mouse=False)
    app.page.close_planner()
    if app.fault:
        _say(
            f"a fault of this program, not of your answers: {app.fault}. Set PHASEWRIGHT_DEBUG=1 and run again to see where, and report it."
        )
    elif app.hung_up:
        _say("the terminal went away")
    if (app.fault or app.hung_up) and app.page.keeping.journal.lies:
        _say("your answers are kept; the next start offers them, and `phasewright drafts` lists them")
    if app.rescued:
        _say(f"the answers are saved in {clean(str(app.rescued))}")
    return 2 if app.fault else status or 0


def _say(text: str) -> None:
    with suppress(OSError):  # a terminal that went away hears nothing
        print(f"phasewright: {text}", file=sys.stderr)
