"""The real program in a terminal of its own, by keyboard alone."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from .terminal import ROOT, Terminal, answer

SAMPLES = ROOT / "sample_sites"


def phasewright(*arguments: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "wizard", *arguments],
        cwd=cwd,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )


def begun(t: Terminal) -> None:
    """The first question is on the screen, and the plan of nothing."""
    t.wait("Phases of the supply", "STOPPED by")


def page(t: Terminal, *answers: str, onward: str = "f8") -> None:
    """Answer the questions of a page in their order, then turn it."""
    answer(t, answers)
    if onward:
        t.press(onward)


def saved(t: Terminal, name: str | None = None) -> None:
    """Save, under a name where one is asked for, with the plan; and leave."""
    t.press("f2")
    if name is not None:
        t.wait("Save under which name")
        t.press("ctrl+u", name, "enter")
    t.wait("Saved answers and plan")
    t.press("f10")
    assert t.wait_exit() == 0


def answers_of(path: Path) -> dict[str, Any]:
    return {key: value for key, value in tomllib.loads(path.read_text()).items() if key != "plan"}


def plan_of(path: Path) -> dict[str, Any]:
    told: dict[str, Any] = tomllib.loads(path.read_text())["plan"]
    return told


def holds_the_plan_of_its_answers(path: Path, draft: str) -> None:
    """Byte for byte what the command gives for the answers alone."""
    folder = path.parent
    (folder / "draft.toml").write_text(draft)
    done = phasewright("plan", "draft.toml", "-o", "out.toml", cwd=folder)
    assert done.returncode in (0, 1), done.stderr
    assert path.read_bytes() == (folder / "out.toml").read_bytes()


# From nothing to a saved plan

THREE_PHASE = """\
schema = 1

[earthing]
island_bond = "changeover relay"

[output]
arrangement = "three-phase"

[incoming]
breaker = "40 A"

[set]
count = 6

[unit]
real_power = "5 kW"
dc_max = "60 V"
transfer_current = "50 A"

[storage]
connection = "common-bank"
chemistry = "lfp"
managed = true

[storage.module]
voltage = "51.2 V"
capacity = "100 Ah"
charge_current = "100 A"
discharge_current = "100 A"
resistance = "12 mohm"

[storage.bank]
parallel = 8
"""


def test_from_nothing_to_a_saved_three_phase_plan(tmp_path: Path) -> None:
    """What nobody can assume is typed, nothing stops the plan, and the file is that of the command."""
    with Terminal(cwd=tmp_path) as t:
        begun(t)
        page(t, "t", "6", "", "40", "c")
        page(t, "5", "60", "50")
        page(t, "c", "l", "51.2", "100", "100", "100", "12", "8", onward="")
        t.wait("Nothing stops the plan")
        t.press("f4", "end", "enter")
        t.wait("[Findings]", "CAUTIONS")
        for section in ("Units", "Chain", "Wall", "Diagram", "Bill"):
            t.press("right")
            t.wait(f"[{section}]")
        saved(t, "farm.toml")
    holds_the_plan_of_its_answers(tmp_path / "farm.toml", THREE_PHASE)
    plan = plan_of(tmp_path / "farm.toml")
    assert [unit["tag"] for unit in plan["units"]] == ["L1-1", "L1-2", "L2-1", "L2-2", "L3-1", "L3-2"]
    assert len(plan["chain"]["links"]) == 5
    assert plan["bill"]


def test_from_nothing_to_two_units_on_one_phase(tmp_path: Path) -> None:
    """From a generator, which is asked for in its own words; a load is typed in its table, and seen there on the way back."""
    with Terminal("hut.toml", cwd=tmp_path) as t:
        begun(t)
        page(t, "s", "2", "g", "40", "u", "20")
        page(t, "3", "60", "40", "", "", "", "6")
        page(t, "c", "l", "51.2", "100", "50", "100", "12", "4")
        t.wait("Machine", "Each a day")
        t.press("was", "enter", "", "enter", "f7")
        t.wait("The bank")
        t.press("f8")
        t.wait("washing machine", "All:", "Nothing stops the plan")
        saved(t)
    told = answers_of(tmp_path / "hut.toml")
    assert told["output"] == {"arrangement": "single-phase"}
    assert told["set"] == {"count": 2}
    assert told["incoming"] == {"kind": "generator", "breaker": "40 A", "rating": "20 kVA"}
    assert [load["machine"] for load in told["loads"]] == ["washing machine"]
    plan = plan_of(tmp_path / "hut.toml")
    assert plan["standing"] != "stopped"
    assert [unit["tag"] for unit in plan["units"]] == ["L1-1", "L1-2"]


def test_from_nothing_to_a_split_phase_plan_under_american_rules(tmp_path: Path) -> None:
    """Two legs, sizes in AWG, lengths in feet."""
    with Terminal("creek.toml", cwd=tmp_path) as t:
        begun(t)
        page(t, "sp", "2", "", "50", "c", "10", "", "1 1", "sp", "n")
        t.wait("Copy from the unit's plate", " in] ")
        page(t, "6", "60", "50")
        page(t, "c", "l", "51.2", "100", "50", "100", "12", "6")
        t.wait("Machine", "Each a day")
        t.press("f4", "w", "a", "enter")
        t.wait("Width of the wall")
        page(t, "13", "8")
        t.wait("Nothing stops the plan")
        saved(t)
    told = answers_of(tmp_path / "creek.toml")
    assert told["site"] == {"rules": "nec"}
    assert told["output"] == {"arrangement": "split-phase"}
    assert told["wall"] == {"width": "13 ft", "height": "8 ft"}
    plan = plan_of(tmp_path / "creek.toml")
    assert [unit["phase"] for unit in plan["units"]] == ["L1", "L2"]
    sizes = [circuit["conductor"] for circuit in plan["circuits"]]
    assert sizes
    assert all(re.search("AWG|kcmil", size) for size in sizes)


# A site that is bad

BAD = (
    ('island_bond = "changeover relay"\n', ""),
    ('breaker = "40 A"\n', ""),
    ('lead = "L1-1"', 'lead = "L2-2"'),
    ('phase = "any"\npower = "1.5 kW"', 'phase = "L3"\npower = "1.5 kW"'),
    ('phase = "any"\npower = "2 kW"', 'phase = "L3"\npower = "3.6 kW"'),
    ('parallel = 6\nfeed = "bar"', 'parallel = 4\nfeed = "one end"'),
    ("\nseries = 8\n", "\nseries = 12\n"),
)
FACTS = {"Neutral-earth bond, island": "c", "Incoming breaker": "40"}


def test_a_bad_site_is_cured_by_following_its_findings_only(tmp_path: Path) -> None:
    """F6 goes to what stops the plan; F3 takes what was tried and cures it, and only what is a fact of the site is typed."""
    text = (SAMPLES / "alder-farm/site.toml").read_text()
    for good, bad in BAD:
        assert text.count(good) == 1
        text = text.replace(good, bad)
    path = tmp_path / "farm.toml"
    path.write_text(text)
    cured: list[str] = []
    with Terminal("farm.toml", cwd=tmp_path) as t:
        t.wait("STOPPED by 7")
        for _ in range(12):
            stops = int(found[1]) if (found := re.search(r"STOPPED by (\d+)", t.text())) else 0
            if not stops:
                break
            t.press("f6")
            name = next((name for name in FACTS if _asked(t, name)), None)
            if name:
                t.press(FACTS[name], "enter")
            else:
                t.wait(" a cure, tried:", "cures to choose from", every=False)
                t.press("f3")
                if "Tried: each cures it." in t.wait("Tried: each cures it.", "Taken:", every=False):
                    t.press("enter")
                cured.append(re.findall("Taken: (.*?)[.] F5", t.wait("Taken:"))[0])
            t.until(lambda before=stops: _fewer(t.text(), before), f"fewer than {stops} stops")
        t.wait("Nothing stops the plan")
        saved(t)
    assert len(cured) >= 3, cured
    assert plan_of(path)["standing"] == "cautions"
    told = answers_of(path)
    assert told["set"]["lead"] == "L1-1"
    assert told["solar"]["series"] < 12
    assert told["earthing"]["island_bond"] == "changeover relay"


def _fewer(text: str, stops: int) -> bool:
    """Whether the plan of these answers has come, and less stops it."""
    if "Planning" in text:
        return False
    found = re.search(r"STOPPED by (\d+)", text)
    return int(found[1]) < stops if found else "Nothing stops" in text


def _asked(t: Terminal, name: str) -> bool:
    t.settle(0.3)
    return any(line.startswith(f"  {name}") and t.screen.buffer[row][3].reverse for row, line in enumerate(t.screen.display))


# A file that is there

def test_a_commented_plan_is_changed_and_saved(tmp_path: Path) -> None:
    """Every comment stays, and the plan is that of the answers."""
    path = tmp_path / "harbour.toml"
    before = (SAMPLES / "ridge-lodge/plan.toml").read_text()
    before = before.replace("[unit]\n", "# The plate was read by lamplight.\n[unit]\n", 1).replace("\n[set]\n", "\n\n# As the owner wants it:\n[set] # all alike\n", 1)
    path.write_text(before)
    with Terminal("harbour.toml", cwd=tmp_path) as t:
        t.wait("Phases of the supply", "(F6)")
        t.press("f8")
        t.wait("Short-circuit current")
        t.press("tab", "tab", "tab", "tab", "tab", "70", "enter")
        t.wait("70 A")
        saved(t)
    after = path.read_text()
    comments = [line for line in before.splitlines() if "#" in line]
    assert len(comments) >= 3
    assert [line for line in after.splitlines() if "#" in line] == comments
    was, now = tomllib.loads(before), tomllib.loads(after)
    assert now["unit"] != was["unit"]
    assert {key: now[key] for key in now if key not in ("unit", "plan")} == {key: was[key] for key in was if key not in ("unit", "plan")}
    assert phasewright("plan", "harbour.toml", "-o", "again.toml", cwd=tmp_path).returncode in (0, 1)
    assert (tmp_path / "again.toml").read_text() == after


def test_a_file_with_a_bad_value_opens_at_it(tmp_path: Path) -> None:
    path = tmp_path / "saw.toml"
    path.write_text('[set]\ncount = 3\n\n[unit]\nreal_power = "5 kX" # from the plate\n')
    with Terminal("saw.toml", cwd=tmp_path) as t:
        t.wait("[5 kX", "not accepted", "Copy from the unit's plate")
        t.press("5", "enter")
        t.wait("[5 kW")
        saved(t)
    assert 'real_power = "5 kW" # from the plate' in path.read_text()


# Keys

def test_keys_typed_ahead_end_in_their_own_questions(tmp_path: Path) -> None:
    """A slow link delivers all in one piece: a list is opened, a text is refused, pages turn, a box asks for a name."""
    with Terminal(cwd=tmp_path) as t:
        begun(t)
        t.press(
            *("space", "t", "enter"),  # a list
            *("many", "enter"),  # refused: what follows was meant for the next question
            *("g", "enter", "63", "enter"),
            *("f4", "t", "h", "e", " ", "b", "enter"),  # a box: the page "The bank"
            *("c", "enter", "l", "enter", "51,2 V", "enter"),
            *("f4", "l", "enter"),
            *("was", "enter", "f7", "f8"),
            *("f2", "ctrl+u", "mill.toml", "enter"),
        )
        t.wait("Saved answers and plan", "Without 1 not accepted")
    assert answers_of(tmp_path / "mill.toml") == {
        "schema": 1,
        "output": {"arrangement": "three-phase"},
        "incoming": {"kind": "generator", "breaker": "63 A"},
        "storage": {"connection": "common-bank", "chemistry": "lfp", "managed": True, "module": {"voltage": "51.2 V"}},
        "loads": [{"name": "washing machine", "machine": "washing machine"}],
    }


def test_a_byte_that_is_no_utf8_is_shown_and_ends_nothing(tmp_path: Path) -> None:
    """0xB0 is a degree sign of a terminal that is set to Latin-1."""
    with Terminal("mill.toml", cwd=tmp_path) as t:
        begun(t)
        t.press("down", "4")
        t.bytes(b"\xb0")
        t.press("0")
        t.wait("4\N{REPLACEMENT CHARACTER}0")
        t.press("enter")
        t.wait("not accepted")
        t.press("delete", "2", "enter")
        t.wait("[2 ")
        saved(t)
    assert answers_of(tmp_path / "mill.toml")["set"] == {"count": 2}


# Terminals


@pytest.mark.parametrize("env", [{"NO_COLOR": "1"}, {"TERM": "linux"}, {"TERM": "vt100"}], ids=str)
def test_focus_is_seen_without_colour(tmp_path: Path, env: dict[str, str]) -> None:
    """The name of the question in focus is reversed, no other is; with NO_COLOR no colour is sent at all."""
    with Terminal(cwd=tmp_path, env=env) as t:
        begun(t)
        t.press("down", "down")
        t.until(lambda: _reversed(t, "What comes in") is not None, "the third question in focus")
        rows = [row for row, line in enumerate(t.screen.display[:-1]) if re.match("  [A-Z].*[]>]", line)]
        assert len(rows) > 5
        assert [row for row in rows if t.screen.buffer[row][3].reverse] == [_reversed(t, "What comes in")]
        if "NO_COLOR" in env:
            assert {(cell.fg, cell.bg) for row in range(24) for cell in t.screen.buffer[row].values()} == {("default", "default")}


def test_it_works_on_a_telephone_screen(tmp_path: Path) -> None:
    """Whatever is asked, its name and its box are seen; in a table too."""
    with Terminal("pocket.toml", cwd=tmp_path, size=(40, 12)) as t:
        begun(t)
        for name, text in (("Phases of the supply", "t"), ("Number of units", "6"), ("What comes in", ""), ("Incoming breaker", "40"), ("Neutral-earth bond", "c")):
            _in_box_below(t, name)
            t.press(text, "enter")
        t.press("f4", "l", "enter")
        t.wait("Loads: new load")
        for name, text in (("Machine", "kettle"), ("Name", ""), ("Power of one", "2.2"), ("How many", "2"), ("Phase", ""), ("Use in a day", "")):
            _in_box_below(t, name)
            t.press(text, "tab")
        saved(t)
    told = answers_of(tmp_path / "pocket.toml")
    assert told["incoming"]["breaker"] == "40 A"
    assert (told["loads"][0]["power"], told["loads"][0]["quantity"]) == ("2.2 kW", 2)


def _reversed(t: Terminal, name: str) -> int | None:
    """The line in which a name is told as the question in focus."""
    return next((row for row, line in enumerate(t.screen.display[1:-5], 1) if name in line and t.screen.buffer[row][3].reverse), None)


def _in_box_below(t: Terminal, name: str) -> None:
    t.until(lambda: _reversed(t, name) is not None, name)
    row = _reversed(t, name)
    assert row is not None
    assert re.match(r"  [<\[].*[>\]]", t.screen.display[row + 1]), t.text()


def test_a_file_that_cannot_be_read_is_told_in_a_line(tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text("[unit\nreal_power = 5\n")
    with Terminal("bad.toml", cwd=tmp_path) as t:
        assert t.wait_exit() == 2
        t.settle(0.1, 1)
        assert "bad.toml:1" in t.text().replace("\n", "")


@pytest.mark.parametrize("term", ["dumb", ""])
def test_without_a_terminal_it_says_so(tmp_path: Path, term: str) -> None:
    with Terminal(cwd=tmp_path, env={"TERM": term}) as t:
        assert t.wait_exit() == 2
        t.settle(0.1, 1)
        assert "needs a terminal" in t.text()
    done = phasewright(cwd=tmp_path)
    assert done.returncode == 2
    assert "needs a terminal" in done.stderr
