"""Driving the interview without a terminal: events in, the screen's text and the session out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache

from engine.cures.search import cures
from engine.planner import Replanner
from engine.sheets.text.layout import cells
from wizard.answers.session import Session
from wizard.interview.draw import Screen, show
from wizard.interview.events import Cure, Event, Key, Leave, NotSaved, Paste, Plan, Save, Saved, Size, Wanted
from wizard.interview.handle import handle, started
from wizard.interview.state import State, begun
from wizard.interview.taking import taken
from wizard.interview.walking import gone_to
from wizard.planning.messages import Cured
from wizard.planning.seen import Seen, seen
from wizard.screens.page import written


@cache
def _replanner() -> Replanner:
    return Replanner()


class Interview:
    """An interview: what it wants is done at once, unless `late`; then it waits in `wanted` until `arrive`."""

    def __init__(self, session: Session | None = None, size: tuple[int, int] = (80, 24), *, late: bool = False, told: str = "") -> None:
        self.keys = 0
        self.time = 0.0
        self.late = late
        self.left = False
        self.wanted: list[tuple[Wanted, State]] = []
        self.state, wanted = started(replace(begun(session or Session(), told), columns=size[0], lines=size[1]))
        self._want(wanted)

    @property
    def session(self) -> Session:
        return self.state.session

    @property
    def at(self) -> str:
        """The key of the question in focus."""
        return self.state.place.key

    def event(self, event: Event) -> None:
        self.state, wanted = handle(self.state, event)
        self._want(wanted)

    def press(self, *names: str) -> None:
        """Keys by their names, one character by itself, each long enough after the last that it was read."""
        for name in names:
            self.keys += 1
            self.time += 5.0
            char = " " if name == "space" else name if len(name) == 1 else ""
            self.event(Key(name, char, self.time))

    def ahead(self, *names: str) -> None:
        """The same, all at one moment."""
        for name in names:
            self.keys += 1
            self.event(Key(name, " " if name == "space" else name if len(name) == 1 else "", self.time))

    def type(self, text: str) -> None:
        self.press(*text)

    def answer(self, *texts: str) -> None:
        """Type answers, each with Enter; an empty one leaves the question open."""
        for text in texts:
            self.type(text)
            self.press("enter")

    def go(self, key: str) -> None:
        """To a question."""
        self.state = gone_to(taken(self.state), key)
        self.resize(self.state.columns, self.state.lines)
        assert self.at == key, (self.at, key)

    def fill(self, answers: Mapping[str, str]) -> None:
        """Answers by key, each typed at its question."""
        for key, text in answers.items():
            self.go(key)
            self.answer(text)

    def paste(self, text: str) -> None:
        self.event(Paste(text))

    def resize(self, columns: int, lines: int) -> None:
        self.event(Size(columns, lines))

    def arrive(self, *, which: int = 0) -> None:
        """One of the things that are wanted has been done."""
        wanted, then = self.wanted.pop(which)
        for told in done(wanted, then):
            self.event(told)

    def settle(self) -> None:
        """Until nothing is wanted."""
        while self.wanted:
            self.arrive()

    def show(self) -> Screen:
        """The screen, as it is drawn now."""
        self.state, screen = show(self.state)
        return screen

    def text(self) -> str:
        """What stands on the screen."""
        return "\n".join("".join(span.text for span in line).rstrip() for line in self.show().lines)

    def styled(self, style: str) -> list[str]:
        """All texts in a style."""
        return [span.text.strip() for line in self.show().lines for span in line if span.style == style and span.text.strip()]

    def fits(self) -> bool:
        """Whether every line is within the terminal."""
        screen = self.show()
        return len(screen.lines) <= self.state.lines and all(
            sum(cells(span.text) for span in line) <= self.state.columns for line in screen.lines
        )

    def _want(self, wanted: tuple[Wanted, ...]) -> None:
        for one in wanted:
            if isinstance(one, Leave):
                self.left = True
            else:
                self.wanted.append((one, self.state))
        if not self.late:
            self.settle()


def planned(session: Session) -> Seen:
    """What is seen of a plan of these answers."""
    return seen(_replanner().plan(session.answers, session.revision))


def done(wanted: Wanted, state: State) -> list[Seen | Cured | Saved | NotSaved]:
    """What comes of what was wanted in a state."""
    match wanted:
        case Plan():
            return [planned(state.session)]
        case Cure(code=code, about=about):
            found = cures(state.session.document, code, about, _replanner(), lambda: True)
            return [Cured(state.session.revision, code, about, found.cures, found.whole)]
        case Save():
            return [written(wanted, state)]
    return []
