"""The terminal of the journeys at the end of a slow line: so many bytes a second, so late, and a terminal that answers."""

from __future__ import annotations

import os
import time
from collections import deque
from collections.abc import Mapping, Sequence
from pathlib import Path

from tests.journeys.terminal import Terminal

QUESTION, ANSWER = b"\x1b[6n", b"\x1b[%d;%dR"  # where is the cursor? ECMA-48, DSR and CPR


class SlowLine(Terminal):
    """`rate`: bytes a second from the program, None for as many as it writes; `late`: seconds there and back."""

    def __init__(
        self,
        *arguments: str,
        cwd: Path,
        env: Mapping[str, str] | None = None,
        size: tuple[int, int] = (80, 24),
        rate: int | None = None,
        late: float = 0,
        command: Sequence[str] | None = None,
    ) -> None:
        if command:
            self.command = command
        self.rate, self.late = rate, late
        self.begun = self.last = time.monotonic()  # when it began, when something came last
        self._credit, self._counted = 0.0, self.begun
        self._typed: deque[tuple[float, bytes]] = deque()
        super().__init__(*arguments, cwd=cwd, env={"TERM": "xterm", **(env or {})}, size=size)

    def bytes(self, data: bytes) -> None:
        """Bytes that arrive late, for there and back at once: nobody can tell."""
        self._typed.append((time.monotonic() + self.late, data))

    def wait_seconds(self, seconds: float) -> None:
        """Go on reading for that long."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            self._read(0.01)

    def settle(self, quiet: float = 0.5, seconds: float = 60) -> str:
        """Until nothing came for a while; the screen then."""
        end, self.last = time.monotonic() + seconds, time.monotonic()
        while time.monotonic() < min(end, self.last + quiet + self.late):
            self._read(0.01)
        return self.text()

    def _arrived(self) -> bytes:
        new = os.read(self._fd, 65536 if self.rate is None else int(self._credit))
        self._credit -= len(new)
        self.last = time.monotonic()
        for _ in range((self.written[-3:] + new).count(QUESTION)):
            self.bytes(ANSWER % (self.screen.cursor.y + 1, self.screen.cursor.x + 1))
        return new

    def _read(self, seconds: float) -> bool:
        now = time.monotonic()
        while self._typed and self._typed[0][0] <= now:
            super().bytes(self._typed.popleft()[1])
        if self.rate:
            self._credit = min(self._credit + (now - self._counted) * self.rate, self.rate / 20)
            self._counted = now
            if self._credit < 8:
                time.sleep(8 / self.rate)
                return True
        return super()._read(min(seconds, 0.01))
