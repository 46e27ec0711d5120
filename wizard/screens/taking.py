"""How an answer goes from a widget to the session: by a call, not by a message.

A message waits for its turn. By then the widget may have been given the session as it was before, and show that; the next
key would start from there. With keys typed ahead, or a link that delivers them in one piece, this gave wrong answers.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol, runtime_checkable

from textual.widget import Widget


@runtime_checkable
class Takes(Protocol):
    """A screen that owns a session."""

    def take(self, answers: Mapping[str, str]) -> None:
        """Take answers by key, as one change; an empty text takes an answer back."""


def tell(widget: Widget, answers: Mapping[str, str]) -> None:
    """Give answers to the screen that a widget stands on."""
    screen = widget.screen
    if isinstance(screen, Takes):
        screen.take(answers)
