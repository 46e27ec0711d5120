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
from collections.abc import Callable, Mapping, Sequence
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
    "f3": "\x1bOR",
    "f4": "\x1bOS",
    "f5": "\x1b[15~",
    "f6": "\x1b[17~",
    "f7": "\x1b[18~",
    "f8": "\x1b[19~",
    "f9": "\x1b[20~",
    "f10": "\x1b[21~",
    "end": "\x1b[F",
    "ctrl+u": "\x15",
}

# Control sequences with private marks that pyte would print, operating system commands and device strings.
_FOREIGN = re.compile(rb"\x1b\[[<>=][0-9;]*[A-Za-z]|\x1b\[\??[0-9;]*\$[A-Za-z]|\x1b[\]P_^][^\x1b\x07]*(?:\x07|\x1b\\)")
_BEGUN = re.compile(rb"\x1b(?:\[[<>=?0-9;$]*|[\]P_^][^\x1b\x07]*\x1b?)?$")


class Terminal:
    """`phasewright` with some arguments, in a pty of so many columns and rows."""

    command: Sequence[str] = (sys.executable, "-m", "wizard")

    def __init__(
        self,
        *arguments: str,
        size: tuple[int, int] = (80, 24),
        cwd: Path,
        env: Mapping[str, str] | None = None,
        ignoring: Sequence[signal.Signals] = (),
    ) -> None:
        self.screen = pyte.Screen(*size)
        self._stream = pyte.ByteStream(self.screen)
        self._rest = b""
        self.written = b""  # all that the program wrote
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
            for number in ignoring:
                signal.signal(number, signal.SIG_IGN)
            os.execvpe(self.command[0], [*self.command, *arguments], whole)
        fcntl.ioctl(self._fd, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
        os.kill(self.pid, signal.SIGWINCH)

    def __enter__(self) -> Terminal:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        if self._status is None:
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)
        self.hang_up()

    def hang_up(self) -> None:
        """The terminal itself is gone, as when a connection is lost."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1

    def stall(self, on: bool = True) -> None:
        """The line takes nothing any more, or takes it again."""
        line = os.open(Path(f"/proc/{self.pid}/fd/0").readlink(), os.O_RDWR | os.O_NOCTTY)
        termios.tcflow(line, termios.TCOOFF if on else termios.TCOON)
        os.close(line)

    def resize(self, columns: int, rows: int) -> None:
        """Another size of the window."""
        self.screen.resize(rows, columns)
        fcntl.ioctl(self._fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def mode(self) -> list[object]:
        """How the line is set: what a program that leaves must have put back."""
        return termios.tcgetattr(self._fd)

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

    def wait(self, *wanted: str, seconds: float = 20, every: bool = True) -> str:
        """Until every text, or any of them, stands on the screen; the screen then."""
        return self.until(lambda: (all if every else any)(text in self.text() for text in wanted), f"waiting for {wanted}", seconds)

    def settle(self, quiet: float = 0.5, seconds: float = 20) -> str:
        """Until nothing was written for a while; the screen then."""
        end = time.monotonic() + seconds
        while time.monotonic() < end and self._read(quiet):
            pass
        return self.text()

    def wait_exit(self, seconds: float = 10) -> int:
        """Until the program has ended; its exit status."""
        self.until(self._ended, "waiting for the end", seconds)
        assert self._status is not None
        return os.waitstatus_to_exitcode(self._status)

    def _ended(self) -> bool:
        if self._status is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            self._status = status if pid else None
        return self._status is not None

    def until(self, done: Callable[[], bool], what: str, seconds: float = 20) -> str:
        """Until something is so; the screen then."""
        end = time.monotonic() + seconds
        while not done():
            if time.monotonic() > end:
                raise AssertionError(f"{what}: not within {seconds} s\n{self.text()}")
            self._read(0.05)
        return self.text()

    def _arrived(self) -> bytes:
        return os.read(self._fd, 65536)

    def _read(self, seconds: float) -> bool:
        if self._fd < 0:
            time.sleep(seconds)
            return False
        if not select.select([self._fd], [], [], seconds)[0]:
            return False
        try:
            new = self._arrived()
        except OSError:  # the program has closed its end
            return False
        self.written += new
        data = self._rest + new
        begun = _BEGUN.search(data)
        data, self._rest = (data[: begun.start()], data[begun.start() :]) if begun else (data, b"")
        self._stream.feed(_FOREIGN.sub(b"", data))
        return bool(new)


def answer(terminal: Terminal, answers: Sequence[str | Sequence[str]]) -> None:
    """Answer the questions of a page in their order: a text is typed, a list is keys; Enter or the keys go on."""
    for given in answers:
        if isinstance(given, str):
            terminal.send(given)
            terminal.press("enter")
        else:
            terminal.press(*given)
