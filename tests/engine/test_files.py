"""Reading, writing, and everything that can be wrong with a file."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.files.emit import emit, with_plan
from engine.files.problems import Unreadable
from engine.files.read import LARGEST, parse, read
from engine.files.write import write
from engine.planner import plan
from tests.conftest import ROOT, SAMPLES

WRONG = [
    (b"", None, "", "empty"),
    (b"   \n\n", None, "", "empty"),
    (b"a = ", 1, "", "not valid TOML"),
    (b"[[[[", 1, "", "not valid TOML"),
    (b"\xff\xfe\x00", 1, "", "not UTF-8"),
    (b"schema = 9\n", 1, "schema", "newer than this program"),
    (b"schema = '1'\n", 1, "schema", "wanted 1"),
    (b"[unit]\nreal_power = '5 kVA'\n", 2, "unit.real_power", "kVA"),
    (b"[unit]\nreal_power = '5 kW * 2'\n", 2, "unit.real_power", "not a unit"),
    (b"[unit]\nreal_powr = '5 kW'\n", 2, "unit.real_powr", "nearest known one is 'real_power'"),
    (b"[wall]\nwidth = 3\n", 2, "wall.width", "no unit"),
    (b"[wall]\nwidth = '-3 m'\n", 2, "wall.width", "out of range"),
    (b"[wall]\nwidth = 'nan m'\n", 2, "wall.width", "does not begin with a number"),
    (b"[wall]\nwidth = nan\n", 2, "wall.width", "wanted"),
    (b"[site]\nrules = 'din'\n", 2, "site.rules", "'iec' or 'nec'"),
    (b"[set]\ncount = '3'\n", 2, "set.count", "whole number"),
    (b"[set]\nlead = 'L4-1'\n", 2, "set.lead", "L1-1"),
    (b"[[loads]]\nname = 'a'\n[[loads]]\nname = 'b'\npowr = '1 kW'\n", 5, "loads[#2].powr", "'power'"),
    (b"loads = 3\n", 1, "loads", "list"),
    (b"unit = 'x'\n", 1, "unit", "a table"),
    (b"[incoming]\nbreaker = '61 A'\n", 2, "incoming.breaker", "nearest that exists"),
    (b"[unit]\ndc_terminal_max = '34 mm2'\n", 2, "unit.dc_terminal_max", "35 mm2"),
    (b"[unit.labels.storag]\nname = 'x'\n", 1, "unit.labels", "storage_mode"),
    (b"x = " + b"[" * 5000, None, "", "TOML"),
]


@pytest.mark.parametrize(("raw", "line", "key", "says"), WRONG, ids=[f"{w[2] or 'file'}-{w[3][:20]}" for w in WRONG])
def test_one_clear_message_with_line_and_key(raw, line, key, says):
    with pytest.raises(Unreadable) as wrong:
        parse(raw, "site.toml")
    [problem] = wrong.value.problems
    assert says in problem.text
    assert problem.key == key
    assert problem.line == line or raw.startswith(b"x = [")


def test_all_problems_are_told_at_once():
    with pytest.raises(Unreadable) as wrong:
        parse(b"[unit]\nreal_power = 5\nfoo = 1\n[wall]\nheight = 'x'\n", "s.toml")
    assert [p.key for p in wrong.value.problems] == ["unit.real_power", "unit.foo", "wall.height"]
    assert str(wrong.value).splitlines()[0].startswith("s.toml:2: unit.real_power: ")


def test_a_directory_a_missing_and_a_huge_file_are_refused(tmp_path):
    huge = tmp_path / "huge.toml"
    huge.write_bytes(b"x" * (LARGEST + 1))
    for path, says in ((tmp_path, "directory"), (tmp_path / "none.toml", "cannot be read"), (huge, "over 1 MiB"), (Path("/dev/null"), "no ordinary file")):
        with pytest.raises(Unreadable, match=says):
            read(path)


def test_a_comma_is_a_decimal_comma():
    assert parse(b"[wall]\nwidth = '4,2 m'\n", "s.toml").answers.wall.width == 4.2


@pytest.mark.parametrize("name", SAMPLES)
def test_comments_survive_planning_and_a_second_plan_changes_nothing(name):
    text = (ROOT / "sample_sites" / name / "site.toml").read_text(encoding="utf-8")
    site = parse(text.encode(), name)
    planned = plan(site.answers, site.revision).plan
    once = with_plan(site.text, site.document, planned)
    assert once.startswith(text.rstrip())
    again = parse(once.encode(), name)
    assert with_plan(again.text, again.document, planned) == once
    assert again.answers.model_copy(update={"plan": None}) == site.answers


def test_a_plan_in_an_unusual_form_is_still_replaced():
    site = parse(b"plan.revision = 'x'\nplan.made_with = 'y'\nplan.standing = 'ready'\n[site]\nname = '''\n[plan]\n'''\n", "s.toml")
    planned = plan(site.answers, site.revision).plan
    written = tomllib.loads(with_plan(site.text, site.document, planned))
    assert written["site"] == {"name": "[plan]\n"}
    assert written["plan"]["revision"] == site.revision


def test_records_after_the_plan_are_kept():
    site = parse(b"[site]\nname = 'x'\n[[record]]\nstep = 1\nvalue = '53 V'\n", "s.toml")
    planned = plan(site.answers, site.revision).plan
    once = with_plan(site.text, site.document, planned)
    again = parse(once.encode(), "s.toml")
    assert again.document["record"] == [{"step": 1, "value": "53 V"}]
    assert with_plan(again.text, again.document, planned) == once


def test_no_hidden_character_is_written_raw():
    nasty = "a\u202eb\x1b[31m\u2028c\x85"
    document = {"schema": 1, "site": {"name": nasty}}
    written = emit(document)
    assert tomllib.loads(written) == document
    assert not set(written) & set("\u202e\x1b\u2028\x85")


KEYS = st.sampled_from(["name", "reference", "note"])
TEXT = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=40)


@given(st.dictionaries(KEYS, TEXT), st.lists(st.dictionaries(st.sampled_from(["name", "note"]), TEXT), max_size=3))
def test_reading_what_was_written_gives_the_same_answers(place, loads):
    document = {"schema": 1, "site": place} | ({"loads": loads} if loads else {})
    written = emit(document)
    assert parse(written.encode(), "s.toml").document == document
    assert emit(dict(reversed(document.items()))) == written


def test_writing_is_whole_or_not_at_all(tmp_path, monkeypatch):
    path = tmp_path / "site.toml"
    write(path, "one\n")
    path.chmod(0o640)

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space"):
        write(path, "two\n")
    monkeypatch.undo()
    assert path.read_text() == "one\n"
    assert [p.name for p in tmp_path.iterdir()] == ["site.toml"]
    write(path, "three\n")
    assert (path.read_text(), path.stat().st_mode & 0o777) == ("three\n", 0o640)
