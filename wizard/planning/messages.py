"""What the interview and its planner's process say to each other. Light: it is imported before the first screen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from engine.frozen import dataclass

if TYPE_CHECKING:
    from engine.cures import Cure


@dataclass(frozen=True)
class ToPlan:
    """Plan these answers."""

    document: Mapping[str, Any]
    revision: str


@dataclass(frozen=True)
class ToCure:
    """Find what cures the finding of that code on that key, which the plan of these answers has."""

    document: Mapping[str, Any]
    revision: str
    code: str
    about: str


Job = ToPlan | ToCure


@dataclass(frozen=True)
class Ready:
    """The process has imported what it needs; from now on its time counts."""


@dataclass(frozen=True)
class Failed:
    """There is no plan of that revision: `text` names the fault of this program, or what ended the process."""

    revision: str
    text: str


@dataclass(frozen=True)
class Cured:
    """What cures a finding, the best first; `whole` is False where the search was cut short or broke, so that there may be more."""

    revision: str
    code: str
    about: str
    cures: tuple[Cure, ...] = ()
    whole: bool = True
