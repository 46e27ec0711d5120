"""The real program, killed, hung up or taken over in a terminal: what its screen had acknowledged is there at the next start."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from .terminal import ROOT, Terminal


def drafts(folder: Path) -> list[dict]:
    done = subprocess.run(
        [sys.executable, "-m", "wizard", "drafts", "--json"],
        cwd=folder,
        env={"PATH": os.environ["PATH"], "HOME": str(folder), "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


def kill(t: Terminal) -> None:
    os.kill(t.pid, signal.SIGKILL)
    t.wait_exit()


def files(folder: Path) -> list[str]:
    """What lies beside the site's file, but for the state folder of this home."""
    return sorted(path.name for path in folder.iterdir() if path.name != ".local")


def test_a_killed_interview_goes_on_where_it_was(tmp_path: Path) -> None:
    with Terminal(cwd=tmp_path) as t:
        t.wait("Number of units", "STOPPED by")
        t.press("down", "6", "enter", "down", "12x", "enter")
        t.wait("! not accepted")
        time.sleep(1.1)  # a refusal keeps the focus against what is typed before it can be read
        t.press("tab", "tab", "3 4")
        t.wait("[3 4 ")
        time.sleep(1.0)
        kill(t)
    assert files(tmp_path) == []
    [draft] = drafts(tmp_path)
    assert (draft["site"], draft["typing"], draft["open"]) == (None, "3 4", False)
    with Terminal(cwd=tmp_path) as t:
        t.wait("Not saved yet, and kept:", "> Go on with a new site", "'3 4' being typed", "Begin anew", "Drop a new site")
        t.press("enter")
        t.wait("Gone on with where you were.", "[6 ", "[12x ", "! not accepted", "[3 4 ", "not saved")
        t.press("backspace", "backspace", ", 3", "enter")
        t.wait("[3, 3 ")
        kill(t)
    with Terminal("drafts", "resume", "1", cwd=tmp_path) as t:
        t.wait("[3, 3 ", "[12x ")
        kill(t)
    with Terminal("drafts", "drop", "1", cwd=tmp_path) as t:
        t.wait("dropped: a new site")
        assert t.wait_exit() == 0
    assert drafts(tmp_path) == []


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_terminal_that_goes_away_leaves_the_file_alone_and_keeps_all(tmp_path: Path, number: signal.Signals) -> None:
    """Half of a `12 kW` is never an answer: it comes back as what was being typed."""
    whole = (ROOT / "sample_sites/ridge-lodge/plan.toml").read_bytes()
    (tmp_path / "lodge.toml").write_bytes(whole)
    with Terminal("lodge.toml", cwd=tmp_path) as t:
        t.wait("Number of units", "F1 Help")
        t.press("down", "6", "enter", "down", "63", "enter", "up", "1")
        t.wait("[1 ")
        t.settle(0.2)
        began = time.monotonic()
        os.kill(t.pid, number)
        assert t.wait_exit() == 0
        assert time.monotonic() - began < 2
        assert "your answers are kept" in t.text()
    assert (tmp_path / "lodge.toml").read_bytes() == whole
    assert files(tmp_path) == ["lodge.toml"]
    [draft] = drafts(tmp_path)
    assert (draft["site"], draft["typing"], draft["changed"]) == (str(tmp_path / "lodge.toml"), "1", False)
    with Terminal("lodge.toml", cwd=tmp_path) as t:
        t.wait("> Go on with lodge.toml", "Open the file as it is; the draft stays")
        t.press("enter")
        t.wait("[6 ", "[1 ", "Gone on with where you were.")


def test_an_interview_that_changed_nothing_leaves_no_draft(tmp_path: Path) -> None:
    (tmp_path / "mill.toml").write_text("[set]\ncount = 2\n")
    with Terminal("mill.toml", cwd=tmp_path) as t:
        t.wait("Number of units", "F1 Help")
        t.press("down", "tab", "f8", "f8")
        t.settle(0.8)
        os.kill(t.pid, signal.SIGHUP)
        assert t.wait_exit() == 0
        assert "kept" not in t.text()
    assert drafts(tmp_path) == []
    assert files(tmp_path) == ["mill.toml"]


def test_the_session_that_took_the_draft_up_last_has_it(tmp_path: Path) -> None:
    with Terminal(cwd=tmp_path) as stalled:
        stalled.wait("Number of units", "STOPPED by")
        stalled.press("down", "6", "enter")
        stalled.wait("[6 ", "not saved")
        stalled.settle(0.7)  # and then nothing comes through the link for a while
        with Terminal(cwd=tmp_path) as second:
            second.wait("open in another window")
            second.press("enter")
            second.wait("[6 ", "Gone on with where you were.")
            stalled.press("up", "9", "enter")
            stalled.wait("ONLY SHOWN", "another window")
            stalled.press("f8")
            stalled.wait("2/", "ONLY SHOWN")
            stalled.press("f2")
            stalled.settle(0.5)
            second.press("up", "4", "enter")
            second.wait("[4 ")
            stalled.press("f10")
            assert stalled.wait_exit() == 0
            kill(second)
    assert files(tmp_path) == []
    with Terminal("drafts", "resume", "1", cwd=tmp_path) as t:
        t.wait("[4 ")


def test_a_draft_ends_with_its_save_and_with_leaving_without_one(tmp_path: Path) -> None:
    with Terminal("mill.toml", cwd=tmp_path) as t:
        t.wait("Number of units", "STOPPED by")
        t.press("down", "6", "enter")
        t.wait("[6 ")
        assert len(drafts(tmp_path)) == 1
        t.press("f2")
        t.wait("Saved answers and plan")
        assert drafts(tmp_path) == []
        t.press("up", "4", "enter")
        t.wait("[4 ")
        assert [draft["site"] for draft in drafts(tmp_path)] == [str(tmp_path / "mill.toml")]
        t.press("f10")
        t.wait("not saved", "Leave without saving")
        t.press("l", "enter")
        assert t.wait_exit() == 0
    assert drafts(tmp_path) == []
    assert "count = 6" in (tmp_path / "mill.toml").read_text()


def test_of_a_file_that_was_changed_meanwhile_both_are_offered(tmp_path: Path) -> None:
    site = tmp_path / "mill.toml"
    site.write_text("[set]\ncount = 2\n")
    with Terminal("mill.toml", cwd=tmp_path) as t:
        t.wait("Number of units", "F1 Help")
        t.press("down", "6", "enter")
        t.wait("[6 ")
        kill(t)
    site.write_text("# by somebody else\n[set]\ncount = 3\n")
    with Terminal("mill.toml", cwd=tmp_path) as t:
        t.wait("Go on with mill.toml, the file was changed since", "Open the file as it is")
        t.press("down", "enter")
        t.wait("[3 ")
        t.press("f10")
        assert t.wait_exit() == 0
    with Terminal("mill.toml", cwd=tmp_path) as t:
        t.wait("Go on with mill.toml")
        t.press("enter")
        t.wait("[6 ", "Gone on with. The file was changed since")
        t.press("f2")
        t.wait("NOT SAVED", "Somebody else changed the file")
        kill(t)
    assert site.read_text() == "# by somebody else\n[set]\ncount = 3\n"


def test_a_draft_is_dropped_only_when_asked_twice(tmp_path: Path) -> None:
    with Terminal(cwd=tmp_path) as t:
        t.wait("Number of units", "STOPPED by")
        t.press("down", "6", "enter")
        t.wait("[6 ")
        kill(t)
    with Terminal(cwd=tmp_path) as t:
        t.wait("Drop a new site")
        t.press("d", "enter")
        t.wait("nothing brings them back")
        t.press("enter")  # Keep it
        t.wait("> Go on with a new site")
        assert len(drafts(tmp_path)) == 1
        t.press("d", "enter")
        t.wait("nothing brings them back")
        t.press("d", "enter")
        t.wait("Dropped.")
        assert drafts(tmp_path) == []


def test_where_no_draft_can_be_kept_it_is_told_and_a_hang_up_saves_beside_the_file(tmp_path: Path) -> None:
    (tmp_path / "full").write_text("a file where the folder would be")
    (tmp_path / "mill.toml").write_text("[set]\ncount = 2\n")
    with Terminal("mill.toml", cwd=tmp_path, env={"XDG_STATE_HOME": str(tmp_path / "full")}) as t:
        t.wait("Number of units", "F1 Help")
        t.press("down", "6", "enter")
        t.wait("KEPT IN MEMORY ONLY (not a directory)", "F2 saves", "[6 ")
        os.kill(t.pid, signal.SIGHUP)
        assert t.wait_exit() == 0
    assert (tmp_path / "mill.toml").read_text() == "[set]\ncount = 2\n"
    assert "count = 6" in (tmp_path / "mill-rescued.toml").read_text()
