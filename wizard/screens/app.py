"""The app: names its screen and its signals, nothing else. `run` is the whole interview."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import traceback
from contextlib import suppress
from pathlib import Path

from textual.app import App
from textual.scrollbar import ScrollBar

from engine.files.problems import Unreadable
from engine.text import clean
from wizard.output.driver import Driver
from wizard.screens.interview import InterviewScreen
from wizard.screens.widgets.scrollbar import PlainBar
from wizard.session import Session


class Wizard(App[int]):
    """The interview in a terminal."""

    ENABLE_COMMAND_PALETTE = False
    CSS = "ModalScreen.-short > Vertical { border: none; padding: 0; height: 100%; }"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (60, "-wide")]
    VERTICAL_BREAKPOINTS = [(0, "-short"), (20, "-tall")]

    def __init__(self, session: Session) -> None:
        # The terminal's own sixteen colours, as its owner wants them. Said here already: Textual looks at it once, for NO_COLOR.
        super().__init__(driver_class=Driver, ansi_color=True)
        self.theme = "ansi-dark"
        ScrollBar.renderer = PlainBar
        self._interview = InterviewScreen(session)
        self.rescued: Path | None = None
        self.fault = ""

    def on_mount(self) -> None:
        """Show the interview, and save it when the terminal goes away."""
        self.push_screen(self._interview)
        for number in (signal.SIGTERM, signal.SIGHUP):
            asyncio.get_running_loop().add_signal_handler(number, self._hung_up)

    def action_help_quit(self) -> None:
        """Ctrl+C asks before it leaves."""
        self._interview.action_leave()

    async def action_quit(self) -> None:
        """Ctrl+Q asks too: no key drops an answer."""
        self._interview.action_leave()

    def _hung_up(self) -> None:
        self.rescued = self.rescued or self._interview.rescue()
        self.exit(0)

    def _handle_exception(self, error: Exception) -> None:
        """A fault of ours: nobody loses an answer by it, or has to read a traceback unless that was asked for."""
        with suppress(Exception):
            self.rescued = self.rescued or self._interview.rescue()
        self.fault = type(error).__name__
        super()._handle_exception(error)

    def _fatal_error(self) -> None:
        """Leave. Textual would draw every value of every frame first: of a plan's figures that takes minutes and gigabytes."""
        if os.environ.get("PHASEWRIGHT_DEBUG"):
            self.panic(traceback.format_exc())
        else:
            self._close_messages_no_wait()


def run(path: Path | None) -> int:
    """Interview somebody about the site in `path`, or a new one; the exit status."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()) or os.environ.get("TERM", "") in ("", "dumb"):
        _say("the interview needs a terminal; `phasewright plan FILE` works without one")
        return 2
    try:
        session = Session.open(path) if path and path.exists() else Session(path=path)
    except Unreadable as wrong:
        for line in wrong.lines():
            _say(line)
        return 2
    app = Wizard(session)
    status = app.run(mouse=False)
    if app.fault:
        _say(
            f"a fault of this program, not of your answers: {app.fault}. Set PHASEWRIGHT_DEBUG=1 and run again to see where, and report it."
        )
    elif app.rescued:
        _say("the terminal went away")
    if app.rescued:
        _say(f"the answers are saved in {clean(str(app.rescued))}")
    return 2 if app.fault else status or 0


def _say(text: str) -> None:
    print(f"phasewright: {text}", file=sys.stderr)
