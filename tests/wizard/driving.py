"""Driving the interview without a terminal: keys in, the screen's text and the session out."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from textual.pilot import Pilot

from wizard.screens.app import Wizard
from wizard.screens.interview import InterviewScreen
from wizard.session import Session

NAMES = {
    " ": "space",
    "-": "minus",
    "+": "plus",
    ".": "full_stop",
    ",": "comma",
    "[": "left_square_bracket",
    "]": "right_square_bracket",
    "/": "slash",
    "%": "percent_sign",
}


class Driver:
    """A running interview."""

    def __init__(self, app: Wizard, pilot: Pilot[int]) -> None:
        self.app, self.pilot = app, pilot

    @property
    def screen(self) -> InterviewScreen:
        """The interview, also while a dialog stands before it."""
        return next(screen for screen in self.app.screen_stack if isinstance(screen, InterviewScreen))

    @property
    def session(self) -> Session:
        return self.screen.view.session

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)
        await self.pilot.pause()

    async def type(self, text: str) -> None:
        await self.press(*(NAMES.get(char, char) for char in text))

    async def answer(self, *texts: str) -> None:
        """Type answers, each with Enter; an empty one leaves the question open."""
        for text in texts:
            await self.type(text)
            await self.press("enter")

    async def planned(self) -> None:
        """Until the plan of the answers as they stand has come."""
        for _ in range(600):
            await self.pilot.pause()
            if self.screen.view.current:
                return
            await asyncio.sleep(0.02)
        raise AssertionError(f"no plan came: {self.line('#status')}")

    def line(self, selector: str) -> str:
        return str(self.screen.query_one(selector).content)

    def text(self) -> str:
        """What stands on the screen."""
        strips = self.app.screen._compositor.render_strips()
        return "\n".join("".join(segment.text for segment in strip).rstrip() for strip in strips)


@asynccontextmanager
async def driving(session: Session | None = None, size: tuple[int, int] = (80, 24)) -> AsyncIterator[Driver]:
    app = Wizard(session or Session())
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        yield Driver(app, pilot)
