"""What comes from the terminal: bytes that are no UTF-8 are shown as such, and end nothing."""

from __future__ import annotations

import codecs
from functools import partial
from typing import Any

from textual.drivers import linux_driver


def _forgiving(encoding: str) -> Any:
    """A decoder that gives a replacement character for what it cannot read."""
    return partial(codecs.getincrementaldecoder(encoding), errors="replace")


class Driver(linux_driver.LinuxDriver):
    """Textual's own, whose reading ends the program at the first byte from a terminal that is set to another encoding."""

    def run_input_thread(self) -> None:
        """Read with a decoder that never refuses: the module takes it by this name, once, when its thread begins."""
        vars(linux_driver)["getincrementaldecoder"] = _forgiving
        super().run_input_thread()
