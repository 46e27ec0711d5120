"""What happened, or is asked for, told upwards: the interview screen alone acts on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.message import Message

if TYPE_CHECKING:
    from engine.planner import Planned


@dataclass
class Told(Message):
    """Something to say in the status line."""

    text: str


@dataclass
class EntryDropped(Message):
    """An entry of an array is to be removed."""

    table: str
    place: int


@dataclass
class GoTo(Message):
    """A question is to be shown, on the page that asks it."""

    key: str


@dataclass
class PlanReady(Message):
    """A plan for the answers of one revision is ready."""

    planned: Planned


@dataclass
class PlanFailed(Message):
    """The planner broke: a fault of the program, not of the answers."""

    revision: str
    """The revision of the answers it broke on."""
    text: str
