"""What is offered: answers with which a finding is gone, as the engine found when it tried them."""

from __future__ import annotations

from collections.abc import Mapping

from engine.findings import Finding
from engine.frozen import dataclass


@dataclass(frozen=True)
class Cure:
    """Answers by key (by position) as they would be typed; an empty one is taken back.

    `gone` are the stops and cautions that are no more with them, `come` the cautions that come instead; so many stops and cautions
    are left in all.
    """

    answers: Mapping[str, str]
    gone: tuple[Finding, ...]
    come: tuple[Finding, ...]
    stops: int
    cautions: int


@dataclass(frozen=True)
class Found:
    """The cures of a finding, the cheapest first; `whole` is False where there was no time to try all that might be one."""

    cures: tuple[Cure, ...] = ()
    whole: bool = True
