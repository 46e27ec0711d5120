"""The session: answers as typed, every change a new one, what it writes."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.files.emit import emit
from engine.files.problems import Problem, Unreadable
from engine.files.read import parse
from engine.plan import Plan
from wizard.session import Session


def answered(*pairs: tuple[str, str]) -> Session:
    session = Session()
    for key, text in pairs:
        after = session.set(key, text)
        assert isinstance(after, Session), after
        session = after
    return session


@pytest.mark.parametrize(
    ("key", "text", "stored"),
    [
        ("unit.real_power", " 5 kW ", "5 kW"),
        ("wall.width", "4,2 m", "4,2 m"),
        ("unit.efficiency", "0,93", 0.93),
        ("unit.efficiency", "93 %", "93 %"),
        ("set.count", "3", 3),
        ("set.per_phase", "1,1 2", [1, 1, 2]),
        ("storage.managed", "Yes", True),
        ("output.arrangement", "Three-Phase", "three-phase"),
        ("unit.bus.ports", "plug,socket", ["plug", "socket"]),
        ("unit.bus.link_lengths", "0,5 m,1.5 m, 3 m", ["0,5 m", "1.5 m", "3 m"]),
        ("storage.wired.L1-1", "B1", "B1"),
        ("unit.labels.storage_mode.common", "shared", "shared"),
        ("unit.dc_terminal_max", "2/0 AWG", "2/0 AWG"),
    ],
)
def test_an_answer_is_stored_as_the_file_wants_it(key: str, text: str, stored: object) -> None:
    """Words stay words, plain numbers become numbers, yes becomes true, rows become lists."""
    session = answered((key, text))
    place: object = session.document
    for step in key.split("."):
        place = place[step]  # type: ignore[index]
    assert place == stored
    # What is shown again and accepted again changes nothing.
    assert session.set(key, session.get(key)) is session


@pytest.mark.parametrize(
    ("key", "text", "told"),
    [
        ("unit.real_power", "5", "W, kW, MW"),
        ("unit.real_power", "5 kVA", "kVA"),
        ("unit.real_power", "5 kW * 2", "unit"),
        ("wall.width", "-1 m", "out of range"),
        ("wall.width", "nan m", "number"),
        ("set.count", "3.5", "whole number"),
        ("set.count", "0", "greater than or equal to 1"),
        ("storage.managed", "perhaps", "yes or no"),
        ("output.arrangement", "two-phase", "three-phase"),
        ("set.lead", "M1", "L1-1"),
        ("storage.wired.L1-1", "one", "B1"),
        ("site.name", "x" * 3000, "2000 characters"),
    ],
)
def test_what_cannot_be_is_refused_with_what_is_wanted(key: str, text: str, told: str) -> None:
    """A problem names the key and says what would do; the session before it still stands."""
    session = answered(("site.name", "Mill"))
    problem = session.set(key, text)
    assert isinstance(problem, Problem)
    assert problem.key == key
    assert told in problem.text
    assert session.get("site.name") == "Mill"


def test_a_key_that_the_file_does_not_have_is_a_mistake_of_ours() -> None:
    with pytest.raises(KeyError):
        Session().set("unit.colour", "red")


def test_clearing_takes_the_answer_and_its_empty_tables() -> None:
    session = answered(("unit.bus.kind", "CAN"), ("unit.real_power", "5 kW"))
    cleared = session.set("unit.bus.kind", "  ")
    assert isinstance(cleared, Session)
    assert cleared.document == {"schema": 1, "unit": {"real_power": "5 kW"}}
    assert cleared.answers.unit.bus.kind is None


def test_entries_are_added_answered_and_removed_by_place() -> None:
    session = Session()
    for name in ("Pump", "Saw"):
        session = session.add("loads")  # type: ignore[assignment]
        session = session.set(f"loads[{len(session.entries('loads')) - 1}].name", name)  # type: ignore[assignment]
    assert [load.name for load in session.answers.loads] == ["Pump", "Saw"]
    fewer = session.remove("loads", 0)
    assert isinstance(fewer, Session)
    assert fewer.entries("loads") == [{"name": "Saw"}]
    none = fewer.remove("loads", 0)
    assert isinstance(none, Session)
    assert "loads" not in none.document
    assert none.undo().undo().document == session.document


def test_clearing_an_entry_leaves_the_others_in_their_places() -> None:
    session = answered(("loads[0].name", "Pump"), ("loads[1].name", "Saw"))
    cleared = session.clear("loads[0].name")
    assert isinstance(cleared, Session)
    assert cleared.get("loads[1].name") == "Saw"


def test_several_answers_are_one_change() -> None:
    session = answered(("site.name", "Mill"))
    moved = session.set_all({"wall.places[0].what": "unit", "wall.places[0].tag": "L1-1", "wall.places[0].x": "0.6 m"})
    assert isinstance(moved, Session)
    assert moved.answers.wall.places[0].x == 0.6
    assert moved.undo().document == session.document


def test_undo_goes_back_to_the_start_and_no_further() -> None:
    session = answered(("site.name", "A"), ("site.name", "B"))
    assert session.undo().get("site.name") == "A"
    assert session.undo().undo().document == {"schema": 1}
    assert session.undo().undo().undo().document == {"schema": 1}


def test_a_draft_reads_back_as_the_same_answers(tmp_path: Path) -> None:
    session = answered(("site.name", "Mühle \x1b[2J\u202e"), ("loads[0].motor", "yes"), ("storage.wired.L1-1", "B1"))
    saved = session.save(tmp_path / "site.toml")
    assert not saved.changed
    text = (tmp_path / "site.toml").read_text(encoding="utf-8")
    assert "\x1b" not in text
    assert "\u202e" not in text
    again = Session.open(tmp_path / "site.toml")
    assert again.document == session.document
    assert again.revision == session.revision


def test_a_file_opened_and_saved_unchanged_keeps_every_byte(tmp_path: Path) -> None:
    text = '# my own words\n[site]\nname   =  "Mill"   # as on the gate\n'
    path = tmp_path / "site.toml"
    path.write_text(text)
    session = Session.open(path)
    assert session.text() == text
    plan = Plan(revision=session.revision, made_with="test", standing="stopped")
    assert session.text(plan).startswith(text)
    changed = session.set("site.reference", "7")
    assert isinstance(changed, Session)
    assert changed.loses_comments
    assert not session.loses_comments
    assert tomllib.loads(changed.text())["site"] == {"name": "Mill", "reference": "7"}


def test_a_changed_answer_drops_the_stale_plan_from_a_draft(tmp_path: Path) -> None:
    session = answered(("site.name", "Mill"))
    path = tmp_path / "site.toml"
    session.save(path, Plan(revision=session.revision, made_with="test", standing="stopped"))
    opened = Session.open(path)
    assert "[plan]" in opened.text()
    changed = opened.set("site.name", "Mill 2")
    assert isinstance(changed, Session)
    assert "[plan]" not in changed.text()


def test_records_survive(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_text('[site]\nname = "Mill"\n\n[[record]]\nstep = 1\nvalue = "53 V"\n')
    changed = Session.open(path).set("site.name", "Mill 2")
    assert isinstance(changed, Session)
    changed.save(path)
    assert tomllib.loads(path.read_text())["record"] == [{"step": 1, "value": "53 V"}]


def test_a_save_says_what_it_would_overwrite(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    session = answered(("site.name", "Mill"))
    assert session.in_the_way(path) is None
    path.write_text('[site]\nname = "Another"\n')
    assert session.in_the_way(path) is not None
    opened = Session.open(path)
    assert opened.in_the_way(path) is None
    path.write_text('[site]\nname = "Changed by somebody"\n')
    assert "changed" in (opened.in_the_way(path) or "")


def test_a_save_that_fails_leaves_the_old_file(tmp_path: Path) -> None:
    session = answered(("site.name", "Mill"))
    with pytest.raises(OSError):
        session.save(tmp_path / "no such folder" / "site.toml")


def test_a_broken_file_is_told_not_opened(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_text("[site\n")
    with pytest.raises(Unreadable):
        Session.open(path)


KEYS = {
    "site.name": st.text(min_size=1, max_size=30),
    "unit.real_power": st.sampled_from(["5 kW", "4,6 kW", "5000 W", "x", "5 kVA"]),
    "set.per_phase": st.sampled_from(["1,1,1", "2 2 2", "", "a"]),
    "loads[0].power_factor": st.sampled_from(["0.8", "0,85", "1", "2"]),
    "storage.wired.L1-1": st.sampled_from(["B1", "B2", "", "nothing"]),
    "unit.bus.ports": st.sampled_from(["plug, socket", "socket", "hole"]),
}


@given(st.lists(st.sampled_from(sorted(KEYS)).flatmap(lambda key: st.tuples(st.just(key), KEYS[key])), max_size=8))
def test_whatever_is_typed_the_session_stays_a_file_that_reads(pairs: list[tuple[str, str]]) -> None:
    """After any answers, refused or not, what would be written reads back as the same document."""
    session = Session()
    for key, text in pairs:
        after = session.set(key, text)
        if isinstance(after, Session):
            session = after
    site = parse(session.text().encode(), "site.toml")
    assert site.document == session.document
    assert emit(site.document) == session.text()
    assert site.answers == session.answers


def test_session_and_interview_do_without_textual_and_pint() -> None:
    """The commands may import both and stay quick."""
    code = (
        "import sys, wizard.session, wizard.interview, wizard.fields; print([m for m in ('textual', 'rich', 'pint') if m in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=Path(__file__).parents[2])
    assert told.stdout.strip() == "[]"
