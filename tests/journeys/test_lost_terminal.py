"""A terminal that hangs up, stalls or is left: nothing waits for it, nothing goes on without it, and a screen that comes back is whole."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from .terminal import ROOT, Terminal

GONE = 2.0  # seconds
HARBOUR = ROOT / "sample_sites/harbour-works/site.toml"


def processes(pid: int) -> list[int]:
    """A process and all that it has started, as far as they live."""
    try:
        started = [int(child) for task in Path(f"/proc/{pid}/task").iterdir() for child in (task / "children").read_text().split()]
    except OSError:
        return []
    return [pid, *(one for child in started for one in processes(child))]


def lives(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def seconds_of_work(pid: int) -> float:
    told = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(told[11]) + int(told[12])) / os.sysconf("SC_CLK_TCK")


def opened(t: Terminal) -> None:
    t.wait("Number of units", "cautions")
    t.press("down", "4", "7")
    t.wait("47 ")
    t.settle(0.3)


def stalled(t: Terminal) -> None:
    """The line takes no more, and then there is more than Textual's own output keeps before it waits."""
    t.stall()
    for key in ["f8", "f7"] * 30:
        t.press(key)
        time.sleep(0.03)


def hung_up(t: Terminal) -> None:
    t.hang_up()


def told(number: signal.Signals) -> Callable[[Terminal], None]:
    return lambda t: os.kill(t.pid, number)


CASES: list[tuple[str, tuple[Callable[[Terminal], None], ...], tuple[signal.Signals, ...]]] = [
    ("SIGHUP", (told(signal.SIGHUP),), ()),
    ("SIGTERM", (told(signal.SIGTERM),), ()),
    ("hung up", (hung_up,), ()),
    ("hung up, told nobody", (hung_up,), (signal.SIGHUP,)),
    ("stalled, then SIGTERM", (stalled, told(signal.SIGTERM)), ()),
    ("stalled, then SIGHUP", (stalled, told(signal.SIGHUP)), ()),
    ("stalled, then hung up", (stalled, hung_up), ()),
    ("stalled, then hung up, told nobody", (stalled, hung_up), (signal.SIGHUP,)),
    ("stopped, then hung up", (told(signal.SIGTSTP), lambda t: t.settle(0.5), hung_up), ()),
]


@pytest.mark.parametrize(("steps", "ignoring"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_it_is_gone_soon_and_leaves_nobody(
    tmp_path: Path, steps: tuple[Callable[[Terminal], None], ...], ignoring: tuple[signal.Signals, ...]
) -> None:
    (tmp_path / "site.toml").write_bytes(HARBOUR.read_bytes())
    with Terminal("site.toml", cwd=tmp_path, ignoring=ignoring) as t:
        opened(t)
        own = processes(t.pid)
        assert len(own) > 1, "the planner is a process of its own"
        for step in steps[:-1]:
            step(t)
        began = time.monotonic()
        steps[-1](t)
        while any(map(lives, own)) and time.monotonic() < began + 10:  # not reading: a line that has stalled stays so
            time.sleep(0.01)
        took = time.monotonic() - began
        status = t.wait_exit()
        print(f"gone after {took:.2f} s, exit status {status}")
        assert took < GONE
        assert status == 0
    assert HARBOUR.read_bytes() == (tmp_path / "site.toml").read_bytes()
    assert "47" not in HARBOUR.read_text()
    assert any("47" in kept.read_text() for kept in tmp_path.rglob("*") if kept.is_file()), "what was typed is kept"


def test_a_line_that_has_stalled_costs_nothing_and_shows_the_latest_in_the_end(tmp_path: Path) -> None:
    (tmp_path / "site.toml").write_bytes(HARBOUR.read_bytes())
    with Terminal("site.toml", cwd=tmp_path) as t:
        opened(t)
        t.written = b""
        stalled(t)
        worked = seconds_of_work(t.pid)
        t.settle(2)
        assert t.written == b""
        assert seconds_of_work(t.pid) - worked <= 0.05
        t.stall(False)
        t.press("down", "down", "down")
        t.wait("Enter takes it and goes on")
        t.settle()
        assert len(t.written) < 4000, "what was overtaken is not sent"


@pytest.mark.parametrize("number", [signal.SIGHUP, signal.SIGTERM])
def test_a_terminal_that_is_there_is_given_back(tmp_path: Path, number: signal.Signals) -> None:
    with Terminal(cwd=tmp_path) as t:
        before = t.mode()
        t.wait("Number of units")
        assert t.mode() != before
        t.settle(0.3)
        t.written = b""
        os.kill(t.pid, number)
        assert t.wait_exit() == 0
        t.settle(0.1)
        assert t.mode() == before
        for given_back in (b"\x1b[?1049l", b"\x1b[?25h", b"\x1b[?2004l", b"\x1b[?7h"):
            assert given_back in t.written


@pytest.mark.parametrize("stop", [signal.SIGTSTP, signal.SIGSTOP])
def test_after_a_stop_the_whole_screen_comes_back(tmp_path: Path, stop: signal.Signals) -> None:
    """Stopped from outside, with and without a word before; meanwhile others wrote on the screen."""
    with Terminal(cwd=tmp_path) as t:
        before = t.mode()
        t.wait("Number of units", "STOPPED")
        t.settle()
        shown, ours = t.text(), t.mode()
        os.kill(t.pid, stop)
        t.settle(0.3)
        if stop == signal.SIGTSTP:
            assert t.mode() == before
        t.screen.reset()
        t.screen.draw("$ ls")
        os.kill(t.pid, signal.SIGCONT)
        t.settle()
        assert t.text() == shown
        assert t.mode() == ours
        t.press("down", "1", "2")
        t.wait("12  ")
        t.press("f10")
        t.wait("Save, then leave")


def test_a_screen_that_others_wrote_on_is_repainted_by_a_key(tmp_path: Path) -> None:
    with Terminal(cwd=tmp_path) as t:
        t.wait("Number of units", "STOPPED")
        t.settle()
        shown = t.text()
        t.screen.cursor_position(3, 1)
        t.screen.draw("Broadcast message from root")
        assert t.text() != shown
        t.press("\x0c")
        t.settle()
        assert t.text() == shown


def test_it_costs_nothing_to_leave_it_open(tmp_path: Path) -> None:
    """Three seconds here; a benchmark looks at a minute."""
    with Terminal(cwd=tmp_path) as t:
        t.wait("Number of units", "STOPPED")
        t.settle(1)
        t.written, worked = b"", seconds_of_work(t.pid)
        t.settle(3)
        assert t.written == b""
        assert seconds_of_work(t.pid) - worked <= 0.05
