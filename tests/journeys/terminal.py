"""A program in a terminal of its own: keys go in, a screen comes out. What pyte cannot read is left out before it."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import sys
import termios
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import TracebackType

import pyte

ROOT = Path(__file__).parents[2]

KEYS: Mapping[str, str] = {
    "enter": "\r",
    "tab": "\t",
    "escape": "\x1b",
    "backspace": "\x7f",
    "space": " ",
    "up": "\x1b[A",
    "down": "\x1b[B",
    "right": "\x1b[C",
    "left": "\x1b[D",
    "delete": "\x1b[3~",
    "f1": "\x1bOP",
    "f2": "\x1bOQ",
    "f4": "\x1bOS",
    "f5": "\x1b[15~",
    "f6": "\x1b[17~",
    "f7": "\x1b[18~",
    "f8": "\x1b[19~",
    "f10": "\x1b[21~",
}

# Control sequences with private marks that pyte would print, operating system commands and device strings.
_FOREIGN = re.compile(rb"\x1b\[[<>=][0-9;]*[A-Za-z]|\x1b\[\??[0-9;]*\$[A-Za-z]|\x1b[\]P_^][^\x1b\x07]*(?:\x07|\x1b\\)")
_BEGUN = re.compile(rb"\x1b(?:\[[<>=?0-9;$]*|[\]P_^][^\x1b\x07]*\x1b?)?$")


class Terminal:
    """`phasewright` with some arguments, in a pty of so many columns and rows."""

    def __init__(self, *arguments: str, size: tuple[int, int] = (80, 24), cwd: Path, env: Mapping[str, str] | None = None) -> None:
        self.screen = pyte.Screen(*size)
        self._stream = pyte.ByteStream(self.screen)
        self._rest = b""
        self._status: int | None = None
        whole = {
            "PATH": os.environ["PATH"],
            "HOME": str(cwd),
            "TERM": "xterm-256color",
            "LANG": "C.UTF-8",
            "PYTHONPATH": str(ROOT),
            **(env or {}),
        }
        self.pid, self._fd = pty.fork()
        if self.pid == 0:  # the child
            os.chdir(cwd)
            os.execve(sys.executable, [sys.executable, "-m", "wizard", *arguments], whole)
        fcntl.ioctl(self._fd, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
        os.kill(self.pid, signal.SIGWINCH)

    def __enter__(self) -> Terminal:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        if self._status is None:
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)
        os.close(self._fd)

    def text(self) -> str:
        """The screen, blanks at line ends cut."""
        return "\n".join(line.rstrip() for line in self.screen.display)

    def send(self, text: str) -> None:
        """Characters, all at once."""
        self.bytes(text.encode())

    def bytes(self, data: bytes) -> None:
        """Bytes as they are, whatever they are."""
        os.write(self._fd, data)

    def press(self, *keys: str) -> None:
        """Keys by name or as characters, all at once, as a slow link delivers them."""
        self.send("".join(KEYS.get(key, key) for key in keys))

    def wait(self, *wanted: str, seconds: float = 20) -> str:
        """Until every text stands on the screen; the screen then."""
        return self._until(lambda: all(text in self.text() for text in wanted), seconds, f"waiting for {wanted}")

    def settle(self, quiet: float = 0.5, seconds: float = 20) -> str:
        """Until nothing was written for a while; the screen then."""
        end = time.monotonic() + seconds
        while time.monotonic() < end and self._read(quiet):
            pass
        return self.text()

    def wait_exit(self, seconds: float = 10) -> int:
        """Until the program has ended; its exit status."""
        self._until(self._ended, seconds, "waiting for the end")
        assert self._status is not None
        return os.waitstatus_to_exitcode(self._status)

    def _ended(self) -> bool:
        if self._status is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            self._status = status if pid else None
        return self._status is not None

    def _until(self, done: object, seconds: float, what: str) -> str:
        assert callable(done)
        end = time.monotonic() + seconds
        while not done():
            if time.monotonic() > end:
                raise AssertionError(f"{what}: not within {seconds} s\n{self.text()}")
            self._read(0.05)
        return self.text()

    def _read(self, seconds: float) -> bool:
        if not select.select([self._fd], [], [], seconds)[0]:
            return False
        try:
            data = self._rest + os.read(self._fd, 65536)
        except OSError:  # the program has closed its end
            return False
        begun = _BEGUN.search(data)
        data, self._rest = (data[: begun.start()], data[begun.start() :]) if begun else (data, b"")
        self._stream.feed(_FOREIGN.sub(b"", data))
        return bool(data)


def answer(terminal: Terminal, answers: Sequence[str | Sequence[str]]) -> None:
    """Answer the questions of a page in their order: a text is typed, a list is keys; Enter or the keys go on."""
    for given in answers:
        if isinstance(given, str):
            terminal.send(given)
            terminal.press("enter")
        else:
            terminal.press(*given)
