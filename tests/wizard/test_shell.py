"""The Textual shell: every key is the interview's, what changed is shown, and nothing is lost or left behind when it ends."""

from __future__ import annotations

import time
import tomllib
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from textual import events
from textual.pilot import Pilot

from tests.journeys.terminal import ROOT, Terminal
from wizard.answers.session import Session
from wizard.interview.boxes import Choose, Tell
from wizard.interview.draw import show
from wizard.screens.app import Wizard
from wizard.screens.page import InterviewPage

SIZE = (80, 24)


@pytest.fixture(autouse=True)
def _state(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Drafts of a test are no drafts of whoever runs it."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path_factory.mktemp("state")))


class Seat:
    """Somebody at the shell."""

    def __init__(self, app: Wizard, pilot: Pilot[int]) -> None:
        self.app, self.pilot = app, pilot

    @property
    def page(self) -> InterviewPage:
        return self.app.page

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)

    def text(self) -> str:
        """What the widget shows, line by line as Textual asks for it."""
        return "\n".join(self.page.render_line(y).text.rstrip() for y in range(self.page.size.height))

    async def until(self, done: Callable[[], bool], seconds: float = 30) -> None:
        end = time.monotonic() + seconds
        while not done():
            assert time.monotonic() < end, self.text()
            await self.pilot.pause(0.05)


@asynccontextmanager
async def seated(session: Session | None = None) -> AsyncIterator[Seat]:
    app = Wizard(session or Session())
    async with app.run_test(size=SIZE) as pilot:
        yield Seat(app, pilot)
    app.page.close_planner()


def alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


# Keys


async def test_a_key_reaches_the_state_and_its_line_the_screen() -> None:
    async with seated() as at:
        await at.press("down", "3")
        assert at.page.state.place.key == "set.count"
        assert at.page.state.typed == "3"
        assert "Number of units *            [3 " in at.text()
        await at.press("4", "backspace", "enter")
        assert at.page.state.session.answers.set.count == 3


KEYS: list[tuple[tuple[str, ...], Callable[[Seat], bool]]] = [
    (("tab",), lambda at: at.page.state.place.key == "set.count"),
    (("tab", "shift+tab"), lambda at: at.page.state.place.key == "output.arrangement"),
    (("enter",), lambda at: at.page.state.place.key == "set.count"),
    (("f1",), lambda at: isinstance(at.page.state.box, Tell)),
    (("space",), lambda at: isinstance(at.page.state.box, Choose)),
    (("f4",), lambda at: isinstance(at.page.state.box, Choose)),
    (("ctrl+p",), lambda at: isinstance(at.page.state.box, Choose)),  # Textual's own would open its palette
    (("f8",), lambda at: at.page.state.place.page.name == "unit"),
    (("pagedown",), lambda at: at.page.state.place.page.name == "unit"),
    (("t", "ctrl+q"), lambda at: "not saved" in at.text() and isinstance(at.page.state.box, Choose)),  # Textual's own would end the program
    (("t", "ctrl+c"), lambda at: isinstance(at.page.state.box, Choose)),
    (("t", "f10"), lambda at: isinstance(at.page.state.box, Choose)),
    (("t", "escape"), lambda at: "Escape drops nothing" in at.text() and at.page.state.typed == "t"),
    (("down", "7", "f5"), lambda at: "Now Number of units: no answer" in at.text()),
    (("down", "é", "日"), lambda at: at.page.state.typed == "é日"),
]


@pytest.mark.parametrize(("keys", "then"), KEYS, ids=["+".join(keys) for keys, _ in KEYS])
async def test_every_key_is_the_interviews(keys: tuple[str, ...], then: Callable[[Seat], bool]) -> None:
    async with seated() as at:
        await at.press(*keys)
        assert then(at), at.text()
        assert at.app.is_running
        assert at.app.screen_stack == [at.app.screen]


async def test_so_is_the_clipboard() -> None:
    async with seated() as at:
        await at.press("down")
        at.page.post_message(events.Paste("12\nsecond\n"))
        await at.until(lambda: at.page.state.typed == "12")
        assert "1 more line left out" in at.text()


# The screen


@pytest.fixture
def lines(monkeypatch: pytest.MonkeyPatch) -> set[int]:
    """The lines that Textual asked the widget for."""
    asked: set[int] = set()
    before = InterviewPage.render_line

    def render_line(self: InterviewPage, y: int) -> object:
        asked.add(y)
        return before(self, y)

    monkeypatch.setattr(InterviewPage, "render_line", render_line)
    return asked


async def test_only_lines_that_changed_are_painted_again(lines: set[int]) -> None:
    async with seated() as at:
        await at.until(lambda: at.page.state.current)
        await at.press("down", "1")
        row = next(y for y, line in enumerate(at.text().splitlines()) if "Number of units" in line)
        await at.pilot.pause(0.1)
        lines.clear()
        await at.press("2")
        await at.pilot.pause(0.1)
        assert lines == {row}
        lines.clear()
        await at.press("left")
        await at.pilot.pause(0.1)
        assert lines == {row}
        lines.clear()
        await at.press("f9")
        await at.pilot.pause(0.1)
        # The answer is taken: what was typed, the word on it, the figures, the title; the rest stands.
        assert row in lines
        assert len(lines) < 8, lines


async def test_what_is_shown_is_what_is_drawn() -> None:
    async with seated() as at:
        for keys in (["f8"], ["5", "enter"], ["f4"], ["escape"], ["f6"], ["x"]):
            await at.press(*keys)
            drawn = ["".join(span.text for span in line).rstrip() for line in show(at.page.state)[1].lines]
            assert at.text().splitlines() == "\n".join(drawn).splitlines()


async def test_the_cursor_stands_at_the_caret_and_is_seen() -> None:
    async with seated() as at:
        await at.press("down", "4", "2")
        caret = show(at.page.state)[1].caret
        assert caret
        assert (at.app.cursor_position.x, at.app.cursor_position.y) == caret
        line = at.page.render_line(caret[1])
        assert [segment.style and segment.style.reverse for segment in line.crop(caret[0], caret[0] + 1)] == [True]


@pytest.mark.parametrize("size", [(40, 12), (120, 40), (200, 60)], ids=str)
async def test_another_size_is_drawn_anew(size: tuple[int, int]) -> None:
    async with seated() as at:
        await at.press("down", "3")
        await at.pilot.resize_terminal(*size)
        await at.until(lambda: (at.page.state.columns, at.page.state.lines) == size)
        assert len([at.page.render_line(y) for y in range(size[1])]) == size[1]
        assert at.page.render_line(0).cell_length == size[0]
        assert "Number of units" in at.text()
        assert at.page.state.typed == "3"


# What comes from elsewhere


async def test_a_plan_arrives_and_is_shown() -> None:
    async with seated() as at:
        assert "Planning" in at.text()
        await at.until(lambda: at.page.state.current)
        assert "STOPPED by" in at.text()
        assert "How many phases the loads need is not answered" in at.text()
        await at.press("t", "enter")
        assert "Planning" in at.text()
        await at.until(lambda: at.page.state.current)
        assert "STOPPED by" in at.text()
        assert "How many phases the loads need is not answered" not in at.text()


async def test_a_save_is_made_beside_the_keys(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    async with seated(Session(path=path)) as at:
        await at.press("down", "3", "f2")
        await at.press("down", "u", "t")  # goes on while it is written
        await at.until(path.exists)
        await at.until(lambda: not at.page.state.session.changed or at.page.state.typed is not None)
        assert at.page.state.place.key == "incoming.kind"
    assert tomllib.loads(path.read_text())["set"] == {"count": 3}


# The end


async def test_leaving_ends_with_nothing_wrong_and_no_process() -> None:
    async with seated() as at:
        await at.until(lambda: at.page.state.current)
        child = at.page._planner._child
        assert child
        assert alive(child.pid)
        await at.press("f10")
        await at.until(lambda: not at.app.is_running)
    assert at.app.return_value == 0
    child._process.wait(2)
    assert not alive(child.pid)


FAULTY = """
import wizard.screens.keeping as keeping
from {module} import {event}
whole = keeping.handle
def handle(state, event):
    if isinstance(event, {event}) and state.session.changed:
        raise ZeroDivisionError("a fault of ours: " + "x" * 200)
    return whole(state, event)
keeping.handle = handle
"""


@pytest.mark.parametrize(("module", "event"), [("wizard.interview.events", "Key"), ("wizard.planning.seen", "Seen")])
def test_a_fault_of_ours_loses_no_answer_and_shows_no_traceback(tmp_path: Path, module: str, event: str) -> None:
    """In what a key does, and in what a plan does that arrives: one line says so, and the next start offers the answers."""
    (tmp_path / "sitecustomize.py").write_text(FAULTY.format(module=module, event=event))
    (tmp_path / "mill.toml").write_text("[set]\ncount = 2 # two\n")
    with Terminal("mill.toml", cwd=tmp_path, env={"PYTHONPATH": f"{tmp_path}:{ROOT}"}) as t:
        t.wait("Number of units", "STOPPED by")
        t.press("down", "3", "enter")
        if event == "Key":
            t.press("down")
        assert t.wait_exit() == 2
        t.settle(0.1, 1)
        told = t.text().replace("\n", "")
    assert "a fault of this program" in told
    assert "the next start offers them" in told
    assert "Traceback" not in told
    assert "xxx" not in told
    assert (tmp_path / "mill.toml").read_text() == "[set]\ncount = 2 # two\n"
    with Terminal("mill.toml", cwd=tmp_path) as t:
        t.wait("Go on with")
        t.press("enter")
        t.wait("[3 ", "Gone on with where you were.")
