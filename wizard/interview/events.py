"""What happens to an interview, and what it wants done."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from engine.frozen import dataclass
from wizard.answers.session import Session
from wizard.planning.messages import Cured, Failed
from wizard.planning.seen import Seen


@dataclass(frozen=True)
class Key:
    """A key by its name, the character that it gives (empty where it gives none), and when it came, in seconds of any clock that never goes back."""

    name: str
    char: str = ""
    time: float = 0.0


@dataclass(frozen=True)
class Paste:
    """A text from the clipboard."""

    text: str


@dataclass(frozen=True)
class Size:
    """The terminal has so many columns and lines."""

    columns: int
    lines: int


@dataclass(frozen=True)
class Saved:
    """A file was written; `session` is the one that was, on its file."""

    session: Session
    path: Path
    with_plan: bool


@dataclass(frozen=True)
class NotSaved:
    """Nothing was written. `in_the_way` says that something would have been overwritten unseen."""

    path: Path
    why: str
    in_the_way: bool = False


Event = Key | Paste | Size | Saved | NotSaved | Seen | Failed | Cured


@dataclass(frozen=True)
class Plan:
    """A plan of the answers as they stand is wanted; at once, or after the pause in which the next answer may come."""

    at_once: bool = False


@dataclass(frozen=True)
class Cure:
    """What would cure a finding is to be tried."""

    code: str
    about: str


@dataclass(frozen=True)
class Save:
    """The session is to be written; `over` whatever stands there."""

    path: Path
    over: bool = False


@dataclass(frozen=True)
class Leave:
    """The interview is over."""


@dataclass(frozen=True)
class Draft:
    """A draft that was offered, by its place among them, is to be gone on with or dropped, or they are to be offered again."""

    what: Literal["resume", "drop", "offer"]
    at: int = 0


Wanted = Plan | Cure | Save | Leave | Draft
