"""The real program in a terminal of its own, by keyboard alone."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from .terminal import ROOT, Terminal, answer

# The answers of the first page in its order: a letter chooses, a list is keys.
FIRST = (
    ["t", "down"], "3", "5 kW", "60 V", "40 A", "63 A", ["c", "down"], ["c", "down"], ["l", "down"], ["y", "down"],
    "51.2 V", "100 Ah", "50 A", "100 A", "12 mohm", "8",
)  # fmt: skip


def phasewright(*arguments: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "wizard", *arguments],
        cwd=cwd,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_from_an_empty_start_to_a_saved_plan(tmp_path: Path) -> None:
    """The first page, a save as a draft, the review, a save with the plan: the same bytes as the command gives."""
    with Terminal(cwd=tmp_path) as t:
        t.wait("A first plan", "STOPPED by")
        answer(t, FIRST)
        t.press("f2")
        t.wait("Save under which name")
        t.press("enter")
        t.wait("Saved as a draft")
        draft = (tmp_path / "site.toml").read_bytes()
        t.press("f4", "up", "up", "enter")  # the last Enter turned to the second page; above the first stands the last
        t.wait("Revision", "[Findings]")
        for section in ("Units", "Chain", "Bill"):
            t.press("right")
            t.wait(f"[{section}]")
        t.press("f2")
        t.wait("Saved answers and plan")
        t.press("f10")
        assert t.wait_exit() == 0
    saved = (tmp_path / "site.toml").read_bytes()
    (tmp_path / "draft.toml").write_bytes(draft)
    done = phasewright("plan", "draft.toml", "-o", "out.toml", cwd=tmp_path)
    assert done.returncode in (0, 1), done.stderr
    assert saved == (tmp_path / "out.toml").read_bytes()
    told = tomllib.loads(saved.decode())
    assert told["set"]["count"] == 3
    assert [unit["tag"] for unit in told["plan"]["units"]] == ["L1-1", "L2-1", "L3-1"]
    assert {unit["storage_mode"] for unit in told["plan"]["units"]} == {"common"}
    assert len(told["plan"]["chain"]["links"]) == 2
    assert told["plan"]["bill"]


def test_keys_typed_ahead_end_in_their_own_questions(tmp_path: Path) -> None:
    """A slow link delivers a whole page of typing in one piece."""
    with Terminal(cwd=tmp_path) as t:
        t.wait("A first plan", "STOPPED by")
        t.press(
            "right",
            "down",
            "3",
            "4",
            "backspace",
            "enter",
            "5 kW",
            "enter",
            "60 V",
            "enter",
            "4",
            "0",
            " A",
            "tab",
            "63 A",
            "enter",
            "u",
            "down",
            "b",
            "b",
            "enter",
        )
        t.press("up", "enter", "l", "down", "y", "down", "51,2 V", "enter", "100 Ah", "f8", "down", "Board 3", "f2")
        t.wait("Save under which name")
        t.press("enter")
        t.wait("Saved as a draft")
    told = tomllib.loads((tmp_path / "site.toml").read_text())
    assert told == {
        "schema": 1,
        "output": {"arrangement": "single-phase"},
        "set": {"count": 3},
        "unit": {"real_power": "5 kW", "dc_max": "60 V", "transfer_current": "40 A"},
        "incoming": {"breaker": "63 A"},
        "earthing": {"island_bond": "unit relay", "bond_at": "Board 3"},
        "storage": {"connection": "bank-per-phase", "chemistry": "lfp", "managed": True, "module": {"voltage": "51,2 V", "capacity": "100 Ah"}},
    }


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_terminal_that_goes_away_leaves_the_answers_in_the_file(tmp_path: Path, number: signal.Signals) -> None:
    """What is in the line being typed counts too."""
    with Terminal("mill.toml", cwd=tmp_path) as t:
        t.wait("A first plan", "STOPPED by")
        t.press("down", "3", "enter", "5 kW")
        t.wait("5 kW  ")
        t.settle()
        os.kill(t.pid, number)
        assert t.wait_exit() == 0
    assert tomllib.loads((tmp_path / "mill.toml").read_text()) == {"schema": 1, "set": {"count": 3}, "unit": {"real_power": "5 kW"}}


def test_a_rescue_never_overwrites_what_somebody_else_wrote(tmp_path: Path) -> None:
    (tmp_path / "mill.toml").write_text("[set]\ncount = 2\n")
    with Terminal("mill.toml", cwd=tmp_path) as t:
        t.wait("A first plan", "STOPPED by")
        t.press("down", "backspace", "3", "enter")
        t.settle()
        (tmp_path / "mill.toml").write_text('[site]\nname = "Mill"\n')
        os.kill(t.pid, signal.SIGTERM)
        assert t.wait_exit() == 0
    assert (tmp_path / "mill.toml").read_text() == '[site]\nname = "Mill"\n'
    assert "count = 3" in (tmp_path / "mill-rescued.toml").read_text()


def test_a_rescue_leaves_the_file_and_its_plan_alone(tmp_path: Path) -> None:
    """What is half typed when the line breaks stands beside the file, never in it."""
    whole = (ROOT / "sample_sites/ridge-lodge/plan.toml").read_text()
    (tmp_path / "lodge.toml").write_text(whole)
    for name in ("lodge-rescued.toml", "lodge-rescued2.toml"):
        with Terminal("lodge.toml", cwd=tmp_path) as t:
            t.wait("A first plan")
            t.press("down", "down", "backspace", "backspace", "backspace", "backspace", "1 kW")
            t.wait("1 kW  ")
            t.settle()
            os.kill(t.pid, signal.SIGHUP)
            assert t.wait_exit() == 0
        assert (tmp_path / "lodge.toml").read_text() == whole
        assert (tmp_path / name).exists()


def test_a_byte_that_is_no_utf8_is_shown_and_ends_nothing(tmp_path: Path) -> None:
    """0xB0 is a degree sign of a terminal that is set to Latin-1."""
    with Terminal("mill.toml", cwd=tmp_path) as t:
        t.wait("A first plan", "STOPPED by")
        t.press("down", "3", "enter", "4")
        t.bytes(b"\xb0")
        t.press("0")
        t.wait("4\N{REPLACEMENT CHARACTER}0")
        t.press("up", "backspace", "2", "enter", "f2")
        t.wait("Save")


@pytest.mark.parametrize("env", [{"NO_COLOR": "1"}, {"TERM": "linux"}, {"TERM": "vt100"}], ids=str)
def test_focus_is_seen_without_colour(tmp_path: Path, env: dict[str, str]) -> None:
    """The name of the question in focus is reversed, no other is; with NO_COLOR no colour is sent at all."""
    with Terminal(cwd=tmp_path, env=env) as t:
        t.wait("A first plan", "STOPPED by")
        t.press("down", "down")
        t.settle()
        rows = {
            row: t.screen.buffer[row] for row, line in enumerate(t.screen.display) if line.startswith("  ") and ("[" in line or "<" in line)
        }
        reversed_ = [row for row, cells in rows.items() if cells[3].reverse]
        assert len(reversed_) == 1
        assert "Power of one unit" in t.screen.display[reversed_[0]]
        if "NO_COLOR" in env:
            assert {(cell.fg, cell.bg) for row in range(24) for cell in t.screen.buffer[row].values()} == {("default", "default")}


def test_it_works_on_a_telephone_screen(tmp_path: Path) -> None:
    with Terminal(cwd=tmp_path, size=(40, 12)) as t:
        t.wait("A first plan", "STOPPED by")
        answer(t, FIRST)
        t.press("f2")
        t.wait("Save under which")
        t.press("enter")
        t.wait("Saved as a draft")
    assert tomllib.loads((tmp_path / "site.toml").read_text())["storage"]["module"]["capacity"] == "100 Ah"


def test_a_file_that_cannot_be_read_is_told_in_a_line(tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text("[unit]\nreal_power = 5\n")
    with Terminal("bad.toml", cwd=tmp_path) as t:
        assert t.wait_exit() == 2
        t.settle(0.1, 1)
        assert "bad.toml:2: unit.real_power" in t.text().replace("\n", "")


@pytest.mark.parametrize("term", ["dumb", ""])
def test_without_a_terminal_it_says_so(tmp_path: Path, term: str) -> None:
    with Terminal(cwd=tmp_path, env={"TERM": term}) as t:
        assert t.wait_exit() == 2
        t.settle(0.1, 1)
        assert "needs a terminal" in t.text()
    done = phasewright(cwd=tmp_path)
    assert done.returncode == 2
    assert "needs a terminal" in done.stderr
