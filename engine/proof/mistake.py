"""One mistake: what is other than planned, and from which event on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from engine.frozen import dataclass
from engine.model.elements import Edit


@dataclass(frozen=True, eq=False)
class Mistake:
    """`edits` of the wired site, `flaws` as thing and attribute, `settings` of units by tag; or `omits`, the numbers of acts that were left out.

    It is there from the event `since` on, made by the step `by`. `harm` is what a flaw does where no circuit shows it, from the event `harms` on.
    """

    name: str
    element: str
    defect: str
    by: str
    since: int
    edits: tuple[Edit, ...] = ()
    flaws: frozenset[tuple[str, str]] = frozenset()
    settings: Mapping[str, Mapping[str, object]] = field(default_factory=dict)
    omits: frozenset[int] = frozenset()
    harm: str | None = None
    harms: int | None = None
