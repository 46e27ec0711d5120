"""The session: answers as typed, every change a new one, what it writes."""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.files.edit import keeps
from engine.files.emit import emit
from engine.files.problems import Problem, Unreadable
from engine.files.read import parse
from engine.plan import Plan
from tests.conftest import ROOT, SAMPLES
from wizard.answers.session import Session, rescues
from wizard.cli import main


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
        ("wall.width", "4,2 m", "4.2 m"),
        ("unit.ripple", "0,93", 0.93),
        ("unit.efficiency", "93 %", "93 %"),
        ("set.count", "3", 3),
        ("set.per_phase", "1,1 2", [1, 1, 2]),
        ("storage.managed", "Yes", True),
        ("output.arrangement", "Three-Phase", "three-phase"),
        ("unit.bus.ports", "plug,socket", ["plug", "socket"]),
        ("unit.bus.link_lengths", "0,5 m,1.5 m, 3 m", ["0.5 m", "1.5 m", "3 m"]),
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
        ("unit.real_power", "five", "W, kW, MW"),
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
    assert none.undo()[0].undo()[0].document == session.document


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
    assert moved.undo()[0].document == session.document


def test_undo_goes_back_to_the_start_and_no_further() -> None:
    session = answered(("site.name", "A"), ("site.name", "B"))
    assert session.undo()[0].get("site.name") == "A"
    assert session.undo()[0].undo()[0].document == {"schema": 1}
    assert session.undo()[0].undo()[0].undo()[0].document == {"schema": 1}


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
    assert changed.text() == '# my own words\n[site]\nname   =  "Mill"   # as on the gate\nreference = "7"\n'
    assert tomllib.loads(changed.text())["site"] == {"name": "Mill", "reference": "7"}


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


def kept(result: Session | Problem) -> Session:
    assert isinstance(result, Session), result
    return result


def opened(tmp_path: Path, text: str) -> Session:
    path = tmp_path / "site.toml"
    path.write_text(text, encoding="utf-8", newline="")
    return Session.open(path)


def test_a_save_without_a_plan_keeps_the_old_one_and_the_commands_say_that_it_is_older(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (ROOT / "sample_sites" / "alder-farm" / "plan.toml").read_text(encoding="utf-8")
    session = kept(opened(tmp_path, text).set("site.altitude", "300 m"))
    assert session.text() == text.replace('altitude = "240 m"', 'altitude = "300 m"')
    saved = session.save(tmp_path / "site.toml")
    assert not saved.changed
    for command in (["check"], ["bill"], ["sheets", "--to", str(tmp_path / "papers")], ["why"]):
        main([command[0], str(tmp_path / "site.toml"), *command[1:], *(["site.altitude"] if command == ["why"] else [])])
        assert "they were changed since" in capsys.readouterr().err
    assert "[plan" not in answered(("site.name", "Mill")).text()


WRONG = """\
# by hand
[site]
name = "Mill"
colour = "red" # unknown

[unit]
real_power = "5 kX" # from the plate
surge_power = "10 kVA"

[[loads]]
name = "Pump"
power = 5

[strange]
what = 1

[set]
count = "3"
per_phase = [1, 'x', 1]
"""


def test_a_file_with_bad_values_opens_with_all_that_reads(tmp_path: Path) -> None:
    session = opened(tmp_path, WRONG)
    assert session.answers.site.name == "Mill"
    assert session.get("loads[0].name") == "Pump"
    assert session.get("unit.real_power") == ""
    assert [(problem.line, problem.key, problem.found) for problem in session.wrong] == [
        (4, "site.colour", "red"),
        (7, "unit.real_power", "5 kX"),
        (12, "loads[0].power", "5"),
        (14, "strange", "{ what = 1 }"),
        (18, "set.count", "3"),
        (19, "set.per_phase", '[1, "x", 1]'),
    ]
    assert "kX" in session.wrong[1].text
    assert "unknown key" in session.wrong[0].text
    assert session.changed


def test_what_does_not_read_stays_as_a_remark_in_its_place(tmp_path: Path) -> None:
    session = opened(tmp_path, WRONG)
    saved = session.save(tmp_path / "site.toml")
    assert (tmp_path / "site.toml").read_text() == """\
# by hand
[site]
name = "Mill"
# not accepted: colour = "red" # unknown

[unit]
# not accepted: real_power = "5 kX" # from the plate
surge_power = "10 kVA"

[[loads]]
name = "Pump"
# not accepted: power = 5

# not accepted: [strange]
# not accepted: what = 1

[set]
# not accepted: count = "3"
# not accepted: per_phase = [1, 'x', 1]
"""
    assert saved.wrong == ()
    assert not saved.changed
    assert main(["check", str(tmp_path / "site.toml")]) in (0, 1)


def test_a_wrong_value_is_gone_once_it_is_answered_and_comes_back_with_undo(tmp_path: Path) -> None:
    session = opened(tmp_path, WRONG)
    again = session.set("unit.real_power", "5 kX")
    assert isinstance(again, Problem)
    assert again.text == session.wrong[1].text
    other = session.set("unit.surge_power", "5 kX")
    assert isinstance(other, Problem)
    answered_ = kept(session.set("unit.real_power", "5 kW"))
    assert "unit.real_power" not in [problem.key for problem in answered_.wrong]
    assert 'real_power = "5 kW" # from the plate\n' in answered_.text()
    cleared = kept(session.clear("loads[0].power"))
    assert "power = 5" not in cleared.text()
    back, keys = answered_.undo()
    assert keys == ("unit.real_power",)
    assert [(p.key, p.found) for p in back.wrong] == [(p.key, p.found) for p in session.wrong]
    assert back.text() == session.text()


def test_the_place_of_what_is_wrong_moves_with_its_entry(tmp_path: Path) -> None:
    session = kept(opened(tmp_path, '[[loads]]\nname = "Pump"\npower = "x"\n[[loads]]\nname = "Saw"\n').move("loads", 0, 1))
    assert [problem.key for problem in session.wrong] == ["loads[1].power"]
    assert session.text() == '[[loads]]\nname = "Saw"\n[[loads]]\nname = "Pump"\n# not accepted: power = "x"\n'
    assert kept(session.remove("loads", 1)).wrong == ()
    assert kept(session.copy("loads", 1)).entries("loads")[2] == {"name": "Pump 2"}


def test_of_too_long_an_array_the_first_entries_read(tmp_path: Path) -> None:
    session = opened(tmp_path, "".join(f'[[loads]]\nname = "{n}"\n' for n in range(502)))
    assert len(session.answers.loads) == 500
    assert [problem.key for problem in session.wrong] == ["loads[501]", "loads[500]"][::-1]
    assert isinstance(session.add("loads"), Problem)
    assert len(Session.open(kept(session.clear("loads[0].name")).save(tmp_path / "b.toml").path or Path()).answers.loads) == 500


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("[unit.labels.storag]\nname = 'x'\n[unit.labels.role]\nname = 'y'\n", ["unit.labels.storag"]),
        ("[storage.wired]\none = 'B1'\nL1-1 = 'B2'\n", ["storage.wired.one"]),
        ("loads = [1, 2]\n", ["loads"]),
        ("unit = 'x'\n", ["unit"]),
        ("plan = 3\n", ["plan"]),
        ("[set]\ncount = 0x" + "f" * 5000 + "\n", ["set.count"]),
        ('["a b"]\nc = nan\n', ["a b"]),
        ("[plan]\nrevision = 'x'\n", ["plan"]),
        ("[[storage.links]]\nbank = 'B1'\nunit = 1\n", ["storage.links[0].unit"]),
        ("[storage]\nlinks = [{bank = 'B1', unit = 'x'}]\n", ["storage.links[0].unit"]),
    ],
)
def test_whatever_is_wrong_the_rest_opens_and_what_is_saved_reads(tmp_path: Path, text: str, keys: list[str]) -> None:
    session = opened(tmp_path, f"[site]\nname = 'Mill'\n{text}" if text.startswith("[") else f"{text}[site]\nname = 'Mill'\n")
    assert [problem.key for problem in session.wrong] == keys
    assert session.answers.site.name == "Mill"
    session.save(tmp_path / "site.toml")
    again = Session.open(tmp_path / "site.toml")
    assert again.wrong == ()
    assert again.document == session.document
    assert "# not accepted: " in again.text()


def test_a_plan_that_does_not_read_is_replaced_or_kept_as_a_remark(tmp_path: Path) -> None:
    session = opened(tmp_path, "[site]\nname = 'Mill'\n\n[plan]\nrevision = 'x'\n")
    assert "does not read" in session.wrong[0].text
    assert session.text() == "[site]\nname = 'Mill'\n\n# not accepted: [plan]\n# not accepted: revision = 'x'\n"
    plan = Plan(revision=session.revision, made_with="test", standing="stopped")
    assert tomllib.loads(session.text(plan))["plan"]["standing"] == "stopped"
    assert "not accepted" not in session.text(plan)


@pytest.mark.parametrize("text", ["[site\n", "schema = 99\n", "", "schema = 'x'\n"])
def test_what_is_no_site_file_does_not_open(tmp_path: Path, text: str) -> None:
    with pytest.raises(Unreadable):
        opened(tmp_path, text)


def test_undo_and_redo_say_what_came_back() -> None:
    session = answered(("unit.real_power", "5 kW"), ("loads[0].name", "Pump"), ("loads[1].name", "Saw"))
    session = kept(session.set("loads[1].name", "Band saw"))
    session = kept(session.remove("loads", 0))
    one, keys = session.undo()
    assert keys == ("loads[0]",)
    two, keys = one.undo()
    assert keys == ("loads[1].name",)
    assert two.get("loads[1].name") == "Saw"
    three, keys = two.undo()
    assert keys == ("loads[1]",)
    four, keys = three.undo()
    assert keys == ("loads[0]",)
    five, keys = four.undo()
    assert keys == ("unit.real_power",)
    assert five.undo() == (five, ())
    back, keys = five.redo()
    assert (back.document, keys) == (four.document, ("unit.real_power",))
    for _ in range(4):
        back, keys = back.redo()
    assert keys == ("loads[0]",)
    assert back.document == session.document
    assert back.redo() == (back, ())
    assert kept(two.set("site.name", "Mill")).redo()[1] == ()


def test_several_answers_and_a_move_are_told_by_their_places() -> None:
    session = answered(("loads[0].name", "Pump"), ("loads[1].name", "Saw"), ("loads[2].name", "Lamp"))
    both = kept(session.set_all({"loads[0].power": "1 kW", "site.name": "Mill"}))
    assert set(both.undo()[1]) == {"loads[0].power", "site.name"}
    assert both.set_all({"site.name": "Mill"}) is both
    moved = kept(session.move("loads", 0, 1))
    assert [entry["name"] for entry in moved.entries("loads")] == ["Saw", "Pump", "Lamp"]
    assert moved.undo()[1] == ("loads[0]", "loads[1]")
    assert kept(session.add("loads", 1)).undo()[1] == ("loads[1]",)


def test_entries_are_copied_moved_and_added_in_between() -> None:
    session = answered(("loads[0].name", "Pump"), ("loads[0].power", "1 kW"), ("loads[1].name", "Pump 2"))
    copied = kept(session.copy("loads", 0))
    assert copied.entries("loads") == [{"name": "Pump", "power": "1 kW"}, {"name": "Pump 3", "power": "1 kW"}, {"name": "Pump 2"}]
    assert copied.undo()[0].document == session.document
    assert kept(kept(copied.move("loads", 2, -9)).move("loads", 0, 1)).entries("loads")[1] == {"name": "Pump 2"}
    assert copied.move("loads", 0, -1) is copied
    assert kept(session.add("loads", 0)).entries("loads")[0] == {}
    links = answered(("storage.links[0].bank", "B1"), ("storage.links[0].unit", "L1-1"))
    assert kept(links.copy("storage.links", 0)).entries("storage.links") == [{"bank": "B1", "unit": "L1-1"}, {}]
    places = answered(("wall.places[0].what", "unit"), ("wall.places[0].tag", "L1-1"), ("wall.places[0].x", "1 m"))
    assert kept(places.copy("wall.places", 0)).entries("wall.places")[1] == {"what": "unit", "x": "1 m"}
    for result in (session.copy("loads", 2), session.move("loads", -1, 1), session.remove("loads", 5), session.add("loads", 3), session.remove("routes", 0)):
        assert isinstance(result, Problem)
    longest = answered(("loads[0].name", "x" * 200))
    assert len(kept(longest.copy("loads", 0)).get("loads[1].name")) == 200


def test_answers_given_while_a_save_was_written_are_kept_and_not_saved(tmp_path: Path) -> None:
    session = opened(tmp_path, WRONG)
    meanwhile = kept(session.set("site.reference", "7"))
    now = meanwhile.on(session.save(tmp_path / "site.toml"))
    assert now.changed
    assert now.wrong == ()
    assert now.get("site.reference") == "7"
    assert now.in_the_way(tmp_path / "site.toml") is None
    assert now.text().count("# not accepted: ") == 7
    assert not now.save(tmp_path / "site.toml").changed


def test_a_rescue_stands_beside_what_is_there(tmp_path: Path) -> None:
    session = kept(opened(tmp_path, "[site]\nname = 'Mill' # mine\n").set("site.reference", "7"))
    for name in ("site-rescued.toml", "site-rescued2.toml"):
        assert session.rescue() == tmp_path / name
    assert (tmp_path / "site.toml").read_text() == "[site]\nname = 'Mill' # mine\n"
    (tmp_path / "site-rescued10.toml").touch()
    (tmp_path / "site-rescuedx.toml").touch()
    assert [path.name for path in rescues(tmp_path / "site.toml")] == ["site-rescued.toml", "site-rescued2.toml", "site-rescued10.toml"]
    assert session.rescue(tmp_path / "other.toml") == tmp_path / "other.toml"
    (tmp_path / "link.toml").symlink_to(tmp_path / "nowhere.toml")
    assert session.rescue(tmp_path / "link.toml") == tmp_path / "link-rescued.toml"
    assert session.rescue(tmp_path / "no folder" / "a.toml") is None
    assert rescues(tmp_path / "no folder" / "a.toml") == ()


def test_a_rescue_that_fails_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session = answered(("site.name", "Mill"))

    def full(*_: object) -> bool:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("wizard.answers.session.write", full)
    assert session.rescue(tmp_path / "site.toml") is None
    assert list(tmp_path.iterdir()) == []


def test_what_the_disk_did_not_confirm_is_saved_all_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("engine.files.write.sync", lambda _: False)
    saved = answered(("site.name", "Mill")).save(tmp_path / "site.toml")
    assert not saved.confirmed
    assert not saved.changed
    assert "Mill" in (tmp_path / "site.toml").read_text()
    monkeypatch.undo()
    assert saved.save(tmp_path / "site.toml").confirmed


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


ACTS = st.one_of(
    st.tuples(st.just("set"), st.sampled_from(sorted(KEYS)), st.integers(0, 3)),
    st.tuples(st.sampled_from(["add", "copy", "remove", "move"]), st.sampled_from(["loads", "routes", "storage.links", "wall.places"]), st.integers(0, 4)),
    st.tuples(st.sampled_from(["undo", "redo"]), st.just(""), st.just(0)),
)


def acted(session: Session, act: str, key: str, number: int) -> Session | Problem:
    if act == "set":
        return session.set(key, ["", "5 kW", "1", "B1"][number])
    if act == "move":
        return session.move(key, number, 1 - number)
    if act in ("undo", "redo"):
        after, keys = session.undo() if act == "undo" else session.redo()
        assert bool(keys) == (after.typed != session.typed)
        return after
    return session.add(key, number) if act == "add" else session.copy(key, number) if act == "copy" else session.remove(key, number)


@settings(max_examples=80, deadline=None)
@given(st.sampled_from([*SAMPLES, ""]), st.sampled_from(["", "\nreal_power_ = 3 # wrong\n"]), st.lists(ACTS, max_size=8))
def test_whatever_is_done_to_a_commented_file_it_reads_and_keeps_its_remarks(tmp_path_factory: pytest.TempPathFactory, name: str, wrong: str, acts: list[tuple[str, str, int]]) -> None:
    path = tmp_path_factory.mktemp("site") / "site.toml"
    text = (ROOT / "sample_sites" / name / "site.toml").read_text(encoding="utf-8") if name else WRONG
    path.write_text(text.replace("[unit]\n", f"[unit] # the plate{wrong or chr(10)}").replace("[[loads]]\n", "# a load\n[[loads]] # one\n"), encoding="utf-8")
    start = session = Session.open(path)
    for act in acts:
        after = acted(session, *act)
        if isinstance(after, Session):
            session = after
    text = session.text()
    site = parse(text.encode(), "site.toml")
    assert site.document == session.document
    assert "laid out anew" not in text
    assert keeps(text, path.read_text(encoding="utf-8"))
    assert session.changed == (text != start.text() or bool(start.wrong))
    saved = session.save(path)
    assert not saved.changed
    assert saved.text() == text
    back = session
    while back.past:
        back = back.undo()[0]
    assert back.text() == start.text()


def test_session_and_interview_do_without_textual_and_pint() -> None:
    """The commands may import both and stay quick."""
    code = (
        "import sys, wizard.answers.session, wizard.asking.guide, wizard.answers.fields; print([m for m in ('textual', 'rich', 'pint') if m in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=Path(__file__).parents[2])
    assert told.stdout.strip() == "[]"


def test_a_file_of_several_names_is_told_first(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_text("[set]\ncount = 3\n")
    os.link(path, tmp_path / "other.toml")
    session = Session.open(path).set("set.count", "4")
    assert isinstance(session, Session)
    assert session.in_the_way(path) == "The file has 2 names (hard links): a save changes it under all of them."
    saved = session.save(path)
    assert (tmp_path / "other.toml").read_text() == path.read_text()
    assert saved.in_the_way(path) is None
