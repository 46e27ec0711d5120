"""A thread that brings a terminal to the screen that is wanted, at the terminal's own pace.

Nobody who writes waits: the wanted grid takes it, and what was not sent yet is overtaken. A pseudo-terminal and a network take tens of kilobytes
before they say that they are full, which is a minute of a slow link. So the terminal is asked now and then where its cursor is, and
while too much is unanswered nothing more is sent. A terminal that never answers is asked once, and sent as much as the line takes.
"""

from __future__ import annotations

import os
import select
import threading
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from time import monotonic

from wizard.output.grid import PLAIN, Grid, restyled, shown

QUESTION = "\x1b[6n"  # where is the cursor? The answer is CSI row ; column R
EVERY = 256  # bytes between two questions
AHEAD = 1024  # bytes that may be on their way unanswered; more than EVERY, so that there is always an answer to wait for
PATIENCE = 5.0  # seconds until an answer counts as lost

_LEFT = "\x1b[?1049l"
_ENTERED = "\x1b[?1049h"


class Writer:
    """The terminal behind a file descriptor that does not block. Every method returns at once, `drain` and `settle` aside."""

    def __init__(self, terminal: int, width: int, height: int) -> None:
        self._terminal = terminal
        self._lock = threading.Lock()
        self._wanted = Grid(width, height)
        self._sent: Grid | None = None
        self._modes: list[str] = []  # what goes to the terminal as it is, before the cells
        self._due = False  # is there something to send?
        self._painting = False  # only between entering and leaving the alternate screen
        self._anew: deque[tuple[int, int]] = deque()  # sizes of a terminal that shows nobody knows what
        self._left = b""  # of what is being sent
        self._count = 0  # bytes sent so far
        self._asked: deque[int] = deque()  # the counts at which a question was sent that has no answer yet
        self._answered = 0  # the count of the last answer
        self._last = -EVERY  # the count of the last question
        self._since = 0.0  # when the last question was sent, or the last answer came
        self._answers = False  # does this terminal answer?
        self._lost = False
        self._wake, self._waker = os.pipe()
        os.set_blocking(self._wake, False)
        os.set_blocking(self._waker, False)
        self._idle = threading.Event()
        self._idle.set()
        self._quiet = threading.Event()
        self._quiet.set()
        self.fault: Exception | None = None  # of ours: nothing goes out any more, and somebody else must write
        self.failed: Callable[[], object] = lambda: None  # called in the thread once there is one
        threading.Thread(target=self._live, name="output", daemon=True).start()

    # In

    def write(self, text: str) -> None:
        """What the screen shows from now on, as escape text."""
        with self._lock:
            if self._lost:
                return
            self._renew()
            passed = self._wanted.feed(text)
            if passed:
                self._modes.append(passed)
            if _ENTERED in passed:
                self._painting, self._sent = True, None
            if _LEFT in passed:
                self._painting = False
            self._due = True
            self._idle.clear()
        self._poke()

    def forget(self, width: int, height: int) -> None:
        """The terminal has this size, and shows nobody knows what. A signal's handler may say so, in the middle of anything."""
        self._anew.append((width, height))
        self._poke()

    def answered(self) -> None:
        """An answer came from the terminal."""
        with self._lock:
            self._answers = True
            self._since = monotonic()
            if self._asked:
                self._answered = self._asked.popleft()
            if not self._asked:
                self._quiet.set()
        self._poke()

    # The end

    def settle(self, seconds: float) -> None:
        """Paint no more, and wait for what the terminal still answers: later it would be typed into the shell."""
        with self._lock:
            self._painting = False
        if self._answers:
            self._quiet.wait(seconds)

    def drain(self, seconds: float) -> bool:
        """Wait until all is sent, yet no longer than that; whether it is."""
        return self._idle.wait(seconds)

    # The thread

    def _live(self) -> None:
        try:
            self._run()
        except Exception as fault:  # noqa: BLE001 - a screen that stands still would be worse than any of them
            self.fault = fault
        with self._lock:  # whoever waits has nothing to wait for any more
            self._lost = True
            self._idle.set()
            self._quiet.set()
        if self.fault:
            self.failed()

    def _run(self) -> None:
        terminal = select.poll()
        terminal.register(self._wake, select.POLLIN)
        terminal.register(self._terminal, 0)
        while not self._lost:
            sending = self._ready()
            wait = None if sending or self._idle.is_set() else max(0.0, self._since + PATIENCE - monotonic())
            terminal.modify(self._terminal, select.POLLOUT if sending else 0)  # that it is gone is told at any time
            for which, what in terminal.poll(None if wait is None else wait * 1000):
                if which == self._wake:
                    os.read(self._wake, 4096)
                elif what & select.POLLOUT:
                    self._send()
                else:
                    self._lost = True

    def _ready(self) -> bool:
        """Is there something that may be sent now?"""
        with self._lock:
            self._renew()
            if self._left:
                return True
            if not self._due:
                self._idle.set()
                return False
            if self._asked and monotonic() >= self._since + PATIENCE:
                self._asked.clear()
                self._answered = self._count
                self._quiet.set()
            if self._modes or not self._painting or not (self._answers and self._asked):
                return True
            return self._count - self._answered < AHEAD

    def _send(self) -> None:
        if not self._left:
            self._left = self._next()
        try:
            done = os.write(self._terminal, self._left)
        except BlockingIOError:
            done = 0
        except OSError:  # the terminal is gone; whoever reads from it says so
            self._lost = True
            return
        self._left = self._left[done:]

    def _next(self) -> bytes:
        with self._lock:
            written = "".join(self._modes)
            self._modes.clear()
            self._due = False
            if written and self._sent:
                written = restyled(self._sent.look, PLAIN) + written
                self._sent.look, self._sent.x, self._sent.y = PLAIN, None, None  # who knows what they moved
            if self._painting:
                cells, self._sent = shown(self._sent, self._wanted)
                written += cells
            data = written.encode("utf-8", "replace")
            self._count += len(data)
            if self._painting and self._count - self._last >= EVERY and (self._answers or self._last < 0):
                data += QUESTION.encode()
                self._count += len(QUESTION)
                self._asked.append(self._count)
                self._last = self._count
                self._since = monotonic()
                self._quiet.clear()
            return data

    def _renew(self) -> None:
        """After a change of size what is wanted is yet to come; without one it is sent once more."""
        while self._anew:
            width, height = self._anew.popleft()
            self._sent = None
            if (width, height) == (self._wanted.width, self._wanted.height):
                self._due = True
                self._idle.clear()
            else:
                self._wanted = self._wanted.resized(width, height)

    def _poke(self) -> None:
        with suppress(BlockingIOError):  # it has more than enough to wake up for
            os.write(self._waker, b".")
