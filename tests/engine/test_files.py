"""Reading, writing, and everything that can be wrong with a file."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.files.emit import emit, with_plan
from engine.files.problems import Unreadable
from engine.files.read import LARGEST, parse, read
from engine.files.schema import schema
from engine.files.statements import statements
from engine.files.write import write
from engine.planner import plan
from engine.text import quoted
from tests.conftest import ROOT, SAMPLES

PLAN = b"[plan]\nrevision = 'x'\nmade_with = 'y'\nstanding = 'ready'\n"
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
    (b"[wall]\nwidth = [3]\n", 2, "wall.width", "found list; wanted a number with one of"),
    (b"[set]\ncount = 0x" + b"f" * 5000 + b"\n", 2, "set.count", "found a number of more than 400 digits; "),
    (b'["unit"]\nreal_powr = "5 kW"\n', 2, "unit.real_powr", "nearest known one is 'real_power'"),
    (b'[[loads]]\n[["loads"]]\npowr = "1 kW"\n', 3, "loads[#2].powr", "'power'"),
    (b"[site]\nname = true\n", 2, "site.name", "found true; wanted text in quotes"),
    (PLAN + b"standin = 'x'\n", 5, "plan.standin", "nearest known one is 'standing'"),
    (PLAN + b"[[plan.loads]]\nname = 'a'\non = [1]\none = [2]\n", 8, "plan.loads[#1].one", "nearest known one is 'on'"),
    (PLAN + b"[[plan.circuits]]\nname = 'a'\nkind = 'load'\nfrom = 'a'\nto = 'b'\ndevice = {kind = 'fuse', ratin = '63 A'}\n", 10, "plan.circuits[#1].device.ratin", "nearest known one is 'rating'"),
    (b"[site]\n[plan]\nrevision = 'x'\nmade_with = 'y'\n", 2, "plan.standing", "this key is missing"),
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


# Every key that takes free text, and the text before and after what is typed there.
FREE = [
    ("site.name", "[site]\nname = "),
    ("site.reference", "[site]\nreference = "),
    ("earthing.bond_at", "[earthing]\nbond_at = "),
    ("unit.model", "[unit]\nmodel = "),
    ("unit.labels.role.name", "[unit.labels.role]\nname = "),
    ("unit.labels.role.lead", "[unit.labels.role]\nlead = "),
    ("loads[#1].name", "[[loads]]\nname = "),
    ("routes[#1].to", "[[routes]]\nto = "),
    ("bus_nodes[#1].name", "[[bus_nodes]]\nname = "),
    ("record[#1].value", "[[record]]\nvalue = "),
    ("record[#1].instrument", "[[record]]\ninstrument = "),
    ("record[#1].person", "[[record]]\nperson = "),
]
REMARKS = [("site.note", "[site]\nnote = "), ("loads[#1].note", "[[loads]]\nnote = "), ("unit.labels.role.note", "[unit.labels.role]\nnote = ")]


@pytest.mark.parametrize(("key", "before", "most"), [(*free, 200) for free in FREE] + [(*remark, 2000) for remark in REMARKS])
def test_a_text_longer_than_any_sheet_is_refused_and_shortened(key, before, most):
    parse(f"{before}'{'ä' * most}'".encode(), "s.toml")
    with pytest.raises(Unreadable) as wrong:
        parse(f"{before}'{'ä' * (most + 1)}'".encode(), "s.toml")
    [problem] = wrong.value.problems
    assert (problem.line, problem.key) == (2, key)
    assert re.fullmatch(rf"found {most + 1} characters, 'ä+…'; wanted at most {most}", problem.text)
    assert len(problem.text) < 120


def test_no_text_of_the_answers_is_without_a_limit():
    """Each is bounded in length, has a form, is one of few, or is read as a quantity."""
    told = schema()
    texts = dict(_texts("", {key: value for key, value in told["properties"].items() if key != "plan"}, told["$defs"]))
    assert len(texts) > 100
    bounds = {"maxLength", "pattern", "enum", "const", "format", "x-kind"}
    assert [key for key, text in texts.items() if not bounds & set(text)] == []
    assert {key.replace("[]", "[#1]") for key, text in texts.items() if text.get("maxLength") == 200} == {key.replace("role", "*").replace("lead", "*") for key, _ in FREE}


def _texts(key, node, defs):
    """Every text in a JSON Schema, by its key."""
    if "$ref" in node:
        yield from _texts(key, defs[node["$ref"].split("/")[-1]], defs)
    elif node.get("type") == "string" or node.get("type") == ["string", "number"]:
        yield key, node
    elif "properties" in node or "additionalProperties" in node:
        yield from _texts(key, node.get("properties", {}), defs)
        if isinstance(node.get("additionalProperties"), dict):
            yield from _texts(f"{key}.*", node["additionalProperties"], defs)
        for form, inner in node.get("patternProperties", {}).items():
            assert form.startswith("^")
            assert form.endswith("$")
            yield from _texts(f"{key}.*", inner, defs)
    elif "anyOf" in node:
        for inner in node["anyOf"]:
            yield from _texts(key, inner, defs)
    elif "items" in node:
        yield from _texts(f"{key}[]", node["items"], defs)
    elif not node.keys() & {"type", "enum", "const"}:
        for name, inner in node.items():
            yield from _texts(f"{key}.{name}".lstrip("."), inner, defs)


LONG = "x" * 5000
QUOTED = [
    (f"[storage.wired]\n{LONG} = 'B1'", "wanted a form such as"),
    (f"[storage.wired]\nL1-1 = '{LONG}'", "wanted a form such as"),
    (f"[unit.labels.{LONG}]\nname = 'a'", "terminal|temperature_slope"),
    (f"[unit.labels.role]\n{LONG} = 'a'", "wanted one of: name, lead, follower"),
    (f"{LONG} = 1", "the nearest known one is"),
    (f"[wall]\nwidth = '{LONG}'", "wanted a number with one of"),
    (f"[wall]\nwidth = '4 {LONG}'", "wanted a number with one of"),
    (f"[wall]\nwidth = '{'4' * 5000}'", "wanted a number with one of"),
    (f"[unit]\ndc_terminal_max = '{LONG}'", "wanted one such as '35 mm2'"),
    (f"[unit]\ndc_terminal_max = ['{LONG}']", "found list; wanted conductor size"),
    (f"[output]\narrangement = '{LONG}'", "'split-phase' or 'three-phase'"),
    (f"schema = '{LONG}'", "; wanted 1"),
    ('[unit]\ndc_stud = "' + "\\u0001" * 5000 + '"', "wanted a form such as 'M8'"),
    ("[[loads]]\n" * 501, "found a list of 501; wanted at most 500"),
    ("[site]\nname = ''", "found nothing between the quotes"),
]


@pytest.mark.parametrize(("text", "says"), QUOTED, ids=range(len(QUOTED)))
def test_what_was_found_is_shortened_within_its_quotes_and_what_is_wanted_stays(text, says):
    with pytest.raises(Unreadable) as wrong:
        parse(text.encode(), "s.toml")
    [problem] = wrong.value.problems
    assert re.search(says, problem.text)
    assert len(problem.text) < 300
    assert len(problem.key) <= 120
    assert problem.text.count("'") % 2 == 0
    assert problem.line in (1, 2)


@given(st.text(max_size=200), st.integers(3, 80))
def test_a_quoted_text_keeps_its_marks_and_its_length(text, most):
    told = quoted(text, most)
    assert len(told) <= most
    assert told[0] == told[-1]
    assert told[0] in "'\""
    assert told.isprintable()


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


@pytest.mark.parametrize(
    ("header", "kind", "path"),
    [
        ('["plan"] # ours', "table", ("plan",)),
        ("[[ plan.'circuits' ]]", "entry", ("plan", "circuits", 0)),
        ('[unit."a.b"]', "table", ("unit", "a.b")),
        ('["\\u0061"]', "table", ("a",)),
        (f'["{"x" * 1000}"]', "table", ("x" * 1000,)),
    ],
)
def test_a_header_is_read_as_the_parser_reads_it(header, kind, path):
    """In quotes too: a plan under such a header would be taken for answers, and stay."""
    [found] = statements(header)
    assert (found.text, found.kind, found.path) == (header, kind, path)


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
