"""A screen that has a plan made after a pause, in a thread of its own; what comes too late is dropped."""

from __future__ import annotations

from abc import abstractmethod
from functools import cache
from typing import TYPE_CHECKING

from textual import on, work
from textual.screen import Screen
from textual.timer import Timer
from textual.worker import get_current_worker

from engine.text import clean
from wizard.screens.messages import PlanFailed, PlanReady
from wizard.session import Session

if TYPE_CHECKING:
    from engine.planner import Planned, Replanner

PAUSE = 0.3  # seconds between an answer and the plan that follows it


@cache
def _replanner() -> Replanner:
    """The one that remembers the last plan. Imported here: the planner is not wanted before the first screen."""
    from engine.planner import Replanner  # noqa: PLC0415

    return Replanner()


def planned_for(session: Session) -> Planned:
    """The plan of a session's answers; what they leave as it was is not reckoned again."""
    return _replanner().plan(session.answers, session.revision)


class Planning(Screen[None]):
    """Plans; what is done with a plan its subclass says."""

    def __init__(self) -> None:
        super().__init__()
        self._pause: Timer | None = None
        self.fault = ""

    @property
    @abstractmethod
    def session(self) -> Session:
        """The answers as they stand."""

    @abstractmethod
    async def planned(self, plan: Planned | None) -> None:
        """A plan of the answers as they stand has come; None where the planner broke (see `fault`)."""

    def plan_soon(self, after: float = PAUSE) -> None:
        """Have a plan made after a pause; a pause that is running begins anew."""
        self.fault = ""
        if self._pause:
            self._pause.stop()
        self._pause = self.set_timer(after, self._plan_now)

    def _plan_now(self) -> None:
        self._plan(self.session)

    @work(thread=True, exclusive=True, group="plan", exit_on_error=False)
    def _plan(self, session: Session) -> None:
        worker = get_current_worker()
        message: PlanReady | PlanFailed
        try:
            message = PlanReady(planned_for(session))
        except Exception as fault:  # noqa: BLE001 - the interview goes on without a plan
            message = PlanFailed(session.revision, f"{type(fault).__name__}: {fault}")
        # A thread cannot be killed: one that was overtaken keeps its plan to itself.
        if not worker.is_cancelled:
            self.post_message(message)

    @on(PlanReady)
    async def _plan_ready(self, event: PlanReady) -> None:
        event.stop()
        if event.planned.plan.revision == self.session.revision:
            await self.planned(event.planned)

    @on(PlanFailed)
    async def _plan_failed(self, event: PlanFailed) -> None:
        event.stop()
        if event.revision == self.session.revision:
            self.fault = clean(f"NO PLAN: a fault of this program, not of your answers ({event.text})", 200)
            await self.planned(None)
