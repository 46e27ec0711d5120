"""How the program ends when the terminal does not let it."""

from __future__ import annotations

import os
import threading

GRACE = 1.5  # seconds from a hang-up to the end, whatever still waits for a terminal, a disk or a plan then
HUNG_UP = 129  # the exit status: 128 and the number of SIGHUP, as a shell tells it


def gone_within(seconds: float = GRACE, status: int = HUNG_UP) -> None:
    """The process ends no later than that. Every answer that was accepted is kept already."""
    timer = threading.Timer(seconds, os._exit, (status,))
    timer.daemon = True
    timer.start()
