"""What a page shows: the session, what the latest plan says of it, and what was typed but not accepted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import TYPE_CHECKING

from engine.frozen import dataclass
from wizard.interview import Notes, text_at
from wizard.session import Session

if TYPE_CHECKING:
    from engine.planner import Planned


@dataclass(frozen=True)
class Refusal:
    """A text that was not accepted, and why; it stays on the screen until it is mended."""

    text: str
    why: str


@dataclass(frozen=True)
class View:
    """One moment of the interview. `planned` is the latest plan, None before the first; `notes` are its notes."""

    session: Session
    planned: Planned | None = None
    notes: Notes = field(default_factory=Notes)
    refused: Mapping[str, Refusal] = field(default_factory=dict)

    @property
    def current(self) -> bool:
        """Whether the plan is the one of the answers as they stand."""
        return self.planned is not None and self.planned.plan.revision == self.session.revision

    @property
    def unsaved(self) -> bool:
        """Whether something would be lost by leaving now."""
        return self.session.changed or bool(self.refused)

    @property
    def tags(self) -> tuple[str, ...]:
        """The planned units."""
        return self.planned.parts.units.tags if self.planned else ()

    def text(self, key: str) -> str:
        """What stands in a question: the refused text before the accepted one."""
        return self.refused[key].text if key in self.refused else text_at(self.session, key)
