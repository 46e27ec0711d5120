"""Textual's driver of a terminal, with our writer behind it and a reader that nothing from a terminal ends.

Left out of what Textual asks of a terminal at the start: the mouse, reports of focus, the keyboard protocol of some terminals,
synchronised frames and sizes told in the stream. Nothing here uses them, and each costs bytes.
"""

from __future__ import annotations

import codecs
import os
import re
import select
import signal
import sys
from contextlib import suppress
from typing import Any

from textual import events
from textual._xterm_parser import XTermParser
from textual.app import App
from textual.drivers.linux_driver import LinuxDriver
from textual.message import Message

from wizard.output.ending import gone_within
from wizard.output.writer import Writer

STOCK = "PHASEWRIGHT_STOCK_OUTPUT"  # 1: Textual's own output, for a terminal that ours does not suit
REPAINT = "ctrl+l"  # what the screen shows is sent once more: somebody else may have written on it

_UNUSED = re.compile(r"\x1b\[\?1004[hl]|\x1b\[[<>]\d*u")
_SETTLE, _DRAIN = 0.6, 0.7  # seconds; with what Textual waits for itself, less than the grace of a hang-up
_TICK = 100  # milliseconds in which the parser wants to be asked whether an Escape was a key


class Driver(LinuxDriver):
    """The terminal. Whatever keeps our writer from being set up, Textual's takes its place."""

    def __init__(self, app: App[Any], *, debug: bool = False, mouse: bool = True, size: tuple[int, int] | None = None) -> None:
        super().__init__(app, debug=debug, mouse=mouse, size=size)
        self._writer = None if os.environ.get(STOCK) else _writer(*super()._get_terminal_size())
        if self._writer:
            self._writer.failed = self._failed
        # In the loop, between two things that it does, instead of in the middle of one.
        self._loop.add_signal_handler(signal.SIGTSTP, self._sigtstp_application)
        self._loop.add_signal_handler(signal.SIGCONT, self._sigcont_application)

    # Out

    def write(self, data: str) -> None:
        """What the screen shows from now on; never waits."""
        self._take_over()
        if self._writer is None:
            super().write(data)
        elif not _UNUSED.fullmatch(data):
            self._writer.write(data)

    def _failed(self) -> None:
        # The screen that was not sent may be the last for long: nobody waits for the next to find out.
        with suppress(RuntimeError):  # the loop has ended
            self._loop.call_soon_threadsafe(self._take_over)

    def _take_over(self) -> None:
        """Textual's own writes, and all anew, where ours has a fault."""
        if self._writer and self._writer.fault:
            self._writer = None
            self._app.call_later(self._repaint)

    def _repaint(self) -> None:
        for widget in self._app.screen.query("*"):
            widget.refresh()

    def _get_terminal_size(self) -> tuple[int, int]:
        # Asked at the start, after a resume and after each change of size: all of them leave a screen of which nothing is known.
        size = super()._get_terminal_size()
        if self._writer:
            self._writer.forget(*size)
        return size

    def _request_terminal_sync_mode_support(self) -> None:
        if self._writer is None:
            super()._request_terminal_sync_mode_support()

    def _query_in_band_window_resize(self) -> None:
        if self._writer is None:
            super()._query_in_band_window_resize()

    # Beginning and end

    def _sigcont_application(self, *_: object) -> None:
        """Go on: also after a stop that could not be prepared for, when the terminal is as the shell made it."""
        if self._key_thread and self._key_thread.is_alive():
            self.suspend_application_mode()
        super()._sigcont_application()

    def stop_application_mode(self) -> None:
        """Give the terminal back."""
        if self._writer:
            self._writer.settle(_SETTLE)
        super().stop_application_mode()

    def close(self) -> None:
        """Wait for what is to be sent, but not for a line that has stalled."""
        if self._writer:
            self._writer.drain(_DRAIN)
        super().close()

    # In

    def run_input_thread(self) -> None:
        """Read until told to stop, or until nobody is there any more. Bytes that are no UTF-8 are shown as such, and end nothing."""
        parser = XTermParser(self._debug)
        decode = codecs.getincrementaldecoder("utf-8")("replace").decode
        terminal = select.poll()
        terminal.register(self.fileno, select.POLLIN)
        while not self.exit_event.is_set():
            for _ in terminal.poll(_TICK):
                if not (data := self._read()):
                    self._hung_up()
                    return
                for message in parser.feed(decode(data)):
                    self.process_message(message)
            for message in parser.tick():
                self.process_message(message)

    def _read(self) -> bytes:
        try:
            return os.read(self.fileno, 4096)
        except OSError:
            return b""

    def process_message(self, message: Message) -> None:
        """What the writer asked for, and the key that repaints, stay here."""
        if self._writer and isinstance(message, events.CursorPosition):
            self._writer.answered()
        elif self._writer and isinstance(message, events.Key) and message.key == REPAINT:
            self._get_terminal_size()
        else:
            super().process_message(message)

    def _hung_up(self) -> None:
        """Whoever started us may have had the signal ignored, or it is on its way: it is told once more."""
        gone_within()
        os.kill(os.getpid(), signal.SIGHUP)


def _writer(width: int, height: int) -> Writer | None:
    """The writer on a descriptor of its own: one that does not block would else not block the shell's either."""
    try:
        name = os.ttyname(sys.__stdout__.fileno()) if sys.__stdout__ else ""
        return Writer(os.open(name, os.O_WRONLY | os.O_NONBLOCK | os.O_NOCTTY), width, height)
    except (OSError, ValueError):
        return None
