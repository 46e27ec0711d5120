"""A changed file is an edit of its text: what was not changed is spelled as it was, and every remark is still there."""

from __future__ import annotations

import copy
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.files.edit import anew, edit, edited, holds, keeps, matched, same
from engine.files.emit import BYTE_ORDER, with_plan
from engine.files.read import parse
from engine.files.statements import NotTaken, remarks, statements
from engine.plan import Plan
from tests.conftest import ROOT, SAMPLES

MILL = """\
# The mill at Elder Brook

[site]
name   =  'Mill'   # as on the gate
reference = "7"

# copied from the plate
[unit]
real_power = "5 kW" # at 25 degC
bus.kind = "CAN"  # a dotted key
# about the ports
bus.ports = [ # in and out
    "plug",   # left
    # the right one
    "socket", # right
    # no third
]

# --- loads ---

# the pump in the well
[[loads]]
name = "Pump" # the old one
power = "1 kW"

# the saw
[[loads]]
name = "Saw"
power = "2 kW"
quantity = 0x2

[storage]
links = [ { bank = "B1", unit = 'L1-1' }, { bank = "B2", unit = "L2-1" } ] # both

[plan] # ours
revision = "00000000" # checked by Kari
# within the plan
made_with = "test"
standing = "ready"

# of the plan no more

# what was read
[[record]]
step = 1 # first
value = "53 V"

# the end"""


def read(text):
    return tomllib.loads(text.removeprefix(BYTE_ORDER).replace("\r\n", "\n"))


def answers(text):
    return {key: value for key, value in read(text).items() if key != "plan"}


def changed(text, change, refused=()):
    """The text edited, not laid out anew, and proven; the plan is as it was."""
    document = answers(text)
    change(document)
    made = edit(text, document, refused)
    assert answers(made) == document
    assert read(made).get("plan") == read(text).get("plan")
    assert keeps(made, text)
    assert edited(text, document, refused) == made
    return made


def test_what_nobody_changed_keeps_every_byte():
    assert changed(MILL, lambda document: None) == MILL


def test_a_value_is_respelled_where_it_stands_and_keeps_the_remark_behind_it():
    made = changed(MILL, lambda document: document["site"].update(name="New Mill"))
    assert made == MILL.replace("name   =  'Mill'   # as on the gate", 'name   =  "New Mill"   # as on the gate')


def test_an_added_answer_stands_where_the_canonical_layout_has_it():
    made = changed(MILL, lambda document: (document["site"].update(rules="iec"), document["unit"].update(surge_power="10 kW")))
    assert made == MILL.replace('reference = "7"\n', 'reference = "7"\nrules = "iec"\n').replace("25 degC\n", '25 degC\nsurge_power = "10 kW"\n')


def test_a_key_is_added_with_points_where_its_table_is_written_so():
    made = changed(MILL, lambda document: document["unit"]["bus"].update(bit_rate="500 kbit/s"))
    assert 'bus.bit_rate = "500 kbit/s"\n' in made
    assert "[unit.bus]" not in made


def test_an_added_table_stands_between_its_neighbours():
    made = changed(MILL, lambda document: document.update(earthing={"system": "TN-S"}, wall={"width": "4 m", "places": [{"what": "unit"}]}))
    assert made == MILL.replace('"7"\n', '"7"\n\n[earthing]\nsystem = "TN-S"\n').replace(
        "# both\n", '# both\n\n[wall]\nwidth = "4 m"\n\n[[wall.places]]\nwhat = "unit"\n'
    )


def test_an_answer_taken_back_leaves_the_remark_behind_it_with_what_it_was_said_of():
    made = changed(MILL, lambda document: document["unit"].pop("real_power"))
    assert made == MILL.replace('real_power = "5 kW" # at 25 degC', '# real_power = "5 kW" # at 25 degC')
    assert changed(MILL, lambda document: document["site"].pop("reference")) == MILL.replace('reference = "7"\n', "")


def test_a_table_taken_back_leaves_its_remarks():
    made = changed(MILL, lambda document: document.pop("site"))
    assert made.startswith("# The mill at Elder Brook\n\n# [site]\n# name   =  'Mill'   # as on the gate\n# reference = \"7\"\n\n# copied")


def test_entries_that_change_places_take_the_remarks_above_them_along():
    made = changed(MILL, lambda document: document["loads"].reverse())
    saw, pump = made.index("# the saw\n[[loads]]"), made.index("# the pump in the well\n[[loads]]")
    assert made.index("# --- loads ---") < saw < pump < made.index("[storage]")
    assert changed(made, lambda document: document["loads"].reverse()) == MILL


def test_an_entry_that_is_removed_leaves_its_remarks_in_its_place():
    made = changed(MILL, lambda document: document["loads"].pop(0))
    assert '# --- loads ---\n\n# the pump in the well\n# [[loads]]\n# name = "Pump" # the old one\n# power = "1 kW"\n\n# the saw\n[[loads]]\n' in made
    without = changed(MILL, lambda document: document["loads"].pop(1))
    assert "# the saw\n\n[storage]" in without


def test_an_entry_goes_in_between_and_one_renamed_stays_in_its_place():
    made = changed(MILL, lambda document: (document["loads"].insert(1, {"name": "Lamp"}), document["loads"][0].update(name="New pump")))
    assert made == MILL.replace('name = "Pump"', 'name = "New pump"').replace("\n# the saw\n", '\n[[loads]]\nname = "Lamp"\n\n# the saw\n')


def test_a_list_keeps_the_remarks_at_its_items():
    made = changed(MILL, lambda document: document["unit"]["bus"].update(ports=["plug", "socket", "plug"]))
    assert '[ # in and out\n    "plug", # left\n    # the right one\n    "socket", # right\n    "plug",\n    # no third\n]' in made
    made = changed(MILL, lambda document: document["unit"]["bus"].update(ports=["socket"]))
    assert '    # the right one\n    "socket", # right\n    # "plug", # left\n' in made
    made = changed(MILL, lambda document: document["unit"]["bus"].update(ports=["socket", "plug"]))
    assert '    # the right one\n    "socket", # right\n    "plug", # left\n' in made


def test_a_table_in_braces_keeps_the_spelling_of_what_was_not_changed():
    made = changed(MILL, lambda document: document["storage"]["links"][1].update(unit="L3-1"))
    assert made == MILL.replace('unit = "L2-1"', 'unit = "L3-1"')
    made = changed(MILL, lambda document: document["storage"]["links"].append({"bank": "B3"}))
    assert """links = [{ bank = "B1", unit = 'L1-1' }, { bank = "B2", unit = "L2-1" }, { bank = "B3" }] # both""" in made
    made = changed(MILL, lambda document: document["storage"]["links"][0].pop("unit"))
    assert """links = [ { bank = "B1" }, { bank = "B2", unit = "L2-1" } ] # both""" in made


def test_what_is_refused_becomes_a_remark_in_its_place_once():
    refused = [("unit", "bus", "kind"), ("storage", "links", 0, "unit"), ("loads", 1)]

    def change(document):
        del document["unit"]["bus"]["kind"], document["storage"]["links"][0]["unit"], document["loads"][1]

    made = changed(MILL, change, refused)
    assert '# not accepted: bus.kind = "CAN"  # a dotted key\n# about the ports' in made
    assert '# not accepted: links[0].unit = "L1-1"\nlinks = [' in made
    assert '# the saw\n# not accepted: [[loads]]\n# not accepted: name = "Saw"\n' in made
    # Typed into the file once more it is not told twice.
    made = changed(MILL, lambda document: document["loads"][0].pop("power"), [("loads", 0, "power")])
    again = made.replace('# not accepted: power = "1 kW"', 'power = "1 kW"\n# not accepted: power = "1 kW"')
    assert edited(again, answers(made), [("loads", 0, "power")]) == made


def test_line_ends_and_a_byte_order_mark_stay_as_they_are():
    text = BYTE_ORDER + MILL.replace("\n", "\r\n")
    made = changed(text, lambda document: (document["loads"].reverse(), document["loads"].append({"name": "Lamp"}), document["unit"]["bus"].update(ports=["socket"])))
    assert made.startswith(BYTE_ORDER)
    assert made.count("\n") == made.count("\r\n")


def test_numbers_keep_their_kind():
    assert not same({"a": [1]}, {"a": [1.0]})
    assert not same(1, True)
    assert same(float("nan"), float("nan"))
    assert changed("a = 1 # one\n", lambda document: document.update(a=1.0)) == "a = 1.0 # one\n"


def test_a_text_that_cannot_be_edited_is_laid_out_anew_below_its_remarks(monkeypatch):
    def not_taken(*_):
        raise NotTaken

    monkeypatch.setattr("engine.files.edit._sections", not_taken)
    document = answers(MILL)
    del document["loads"][1]["quantity"]
    made = edited(MILL, document, [("loads", 1, "quantity")])
    assert answers(made) == document
    assert read(made)["plan"]["standing"] == "ready"
    assert made.startswith("# The remarks of this file, from before it was laid out anew:\n# The mill at Elder Brook\n")
    assert "# not accepted: loads[1].quantity = 2\n" in made
    assert keeps(made, MILL)
    # Once more it is said once.
    assert anew(made, document) == made


def test_an_edit_that_goes_wrong_is_never_taken(monkeypatch):
    """Proven wrong: one that drops a remark, one that reads as something else."""
    document = answers(MILL)
    for broken in (MILL.replace("# first", ""), MILL.replace("step = 1", "step = 2"), MILL.replace("[site]", "[site")):
        monkeypatch.setattr("engine.files.edit.edit", lambda *_, made=broken: made)
        assert edited(MILL, document) == anew(MILL, document)


def test_a_new_plan_keeps_the_remarks_that_stood_in_the_old_one():
    plan = Plan(revision="11111111", made_with="test", standing="stopped")
    made = with_plan(MILL, answers(MILL), plan)
    assert keeps(made, MILL)
    assert read(made)["plan"]["revision"] == "11111111"
    assert answers(made) == answers(MILL)
    assert "\n# what was read\n[[record]]\n" in made
    assert made.index("standing = ") < made.index('# revision = "00000000" # checked by Kari') < made.index("# of the plan no more") < made.index("# what was read")
    assert with_plan(made, answers(made), plan) == made


def test_a_plan_without_a_header_is_replaced_and_its_remarks_stay():
    text = "# mine\nplan.revision = 'x' # said\nplan.made_with = 'y'\nplan.standing = 'ready'\n[site] # here\nname = '''\n[plan] # no remark\n'''\n"
    plan = Plan(revision="11111111", made_with="test", standing="stopped")
    made = with_plan(text, answers(text), plan)
    assert keeps(made, text)
    assert answers(made) == {"site": {"name": "[plan] # no remark\n"}}
    assert "laid out anew" not in made
    assert with_plan(made, answers(made), plan) == made


EVERYTHING = r'''
a = "b # c" # d
"e f".'g.h' = """one " two "" three \"""" # four """" five
''' + r"""
j = '''x ' y '' z''''
k = [ [1, # two
  2], {l = [3,], "m n" = 4}, # five
] # six
o = 1979-05-27 07:32:00 # seven
p = { q.r = "}", s = '#' }
[ t . "u" ] # eight
v = true
[[w]]
[[w.x]]
y = 1
[[w]]
[[w.x]]
y = 2
[w.z]
y = -0.0e+1
"""


def test_a_text_falls_into_statements_that_say_what_the_parser_says():
    told = list(statements(EVERYTHING))
    assert "".join(s.text for s in told) == EVERYTHING
    document = tomllib.loads(EVERYTHING)
    keys = [s for s in told if s.kind == "key"]
    assert len(keys) == 10
    for key in keys:
        place = document
        for step in key.path:
            place = place[step]
        assert same(tomllib.loads(f"x = {key.value}")["x"], place)
    assert [s.path for s in told if s.kind in ("table", "entry")] == [
        ("t", "u"), ("w", 0), ("w", 0, "x", 0), ("w", 1), ("w", 1, "x", 0), ("w", 1, "z"),
    ]
    assert remarks(EVERYTHING) == ["# d", '# four """" five', "# two", "# five", "# six", "# seven", "# eight"]


def test_what_is_no_toml_does_not_fall_into_statements():
    for text in ("a\n", "a = [\n", "a = 1 2 [", "= 1", '["a]\n', "a = '\n"):
        with pytest.raises(NotTaken):
            list(statements(text))


def test_entries_are_known_again():
    a, b, c = {"name": "a", "power": "1 kW"}, {"name": "b", "power": "2 kW"}, {"name": "c"}
    assert matched([a, b, c], [c, a, b]) == [2, 0, 1]
    assert matched([a, b], [a, a, b]) == [0, None, 1]
    assert matched([a, b, c], [a, c, {"name": "d"}]) == [0, 2, None]
    assert matched([a, b], [b | {"phase": "L1"}, a]) == [1, 0]
    assert matched([a, c], [a, {"name": "z"}]) == [0, 1]


TEXTS = [MILL, EVERYTHING, *((ROOT / "sample_sites" / name / "site.toml").read_text(encoding="utf-8") for name in SAMPLES)]
WORDS = st.text(st.sampled_from("ab#\"'[]={}, é"), max_size=8)


@st.composite
def commented(draw):
    """A text with remarks in random places: on lines of their own, and at the ends of lines; with either kind of line end."""
    text = draw(st.sampled_from(TEXTS))
    for _ in range(draw(st.integers(0, 12))):
        lines = text.split("\n")
        at = draw(st.integers(0, len(lines) - 1))
        remark = f"# {draw(WORDS)}"
        if draw(st.booleans()):
            lines.insert(at, draw(st.sampled_from(["", "  "])) + remark)
            if draw(st.booleans()):
                lines.insert(at, "")
        else:
            lines[at] += f" {remark}"
        text_with = "\n".join(lines)
        try:  # not within a text of several lines, nor within braces
            if tomllib.loads(text_with) == tomllib.loads(text):
                text = text_with
        except tomllib.TOMLDecodeError:
            pass
    if draw(st.booleans()):
        text = text.replace("\n", "\r\n")
    return draw(st.sampled_from(["", BYTE_ORDER])) + text


VALUES = st.one_of(st.integers(0, 3), st.booleans(), st.sampled_from(["", "x", "5 kW", 'a"b', "l\nm"]), st.floats(0, 2), st.lists(st.integers(0, 2), max_size=3))
ENTRY = st.dictionaries(st.sampled_from(["name", "power", "note", "a b", "what"]), VALUES, max_size=3)
NAMES = st.sampled_from(["name", "note", "wall", "unit", "bus", "places", "drop", "z z", "loads"])


def change(draw, document):
    """One change of a random table of a document."""
    table = document
    while True:
        tables = [v for k, v in table.items() if k != "plan" and isinstance(v, dict)]
        tables += [e for k, v in table.items() if k != "plan" and isinstance(v, list) for e in v if isinstance(e, dict)]
        if not tables or draw(st.booleans()):
            break
        table = draw(st.sampled_from(tables))
    keys = sorted(key for key in table if key != "plan")
    kind = draw(st.sampled_from(["add", "remove", "set", "entries", "table"]))
    if kind == "add" or not keys:
        table[draw(NAMES)] = draw(VALUES)
    elif kind == "table":
        table[draw(NAMES)] = draw(st.one_of(ENTRY, st.lists(ENTRY, min_size=1, max_size=2)))
    elif kind == "remove":
        del table[draw(st.sampled_from(keys))]
    elif kind == "set":
        key = draw(st.sampled_from(keys))
        if not isinstance(table[key], dict):
            table[key] = draw(VALUES)
    else:
        arrays = [v for k, v in table.items() if k != "plan" and isinstance(v, list) and v]
        if arrays:
            entries = draw(st.sampled_from(arrays))
            at = draw(st.integers(0, len(entries) - 1))
            how = draw(st.sampled_from(["remove", "copy", "move", "insert"]))
            if how == "remove":
                del entries[at]
            elif how == "copy":
                entries.insert(at + 1, copy.deepcopy(entries[at]))
            elif how == "move":
                entries.insert(draw(st.integers(0, len(entries) - 1)), entries.pop(at))
            else:
                entries.insert(at, draw(ENTRY) if isinstance(entries[at], dict) else 7)


@settings(max_examples=400, deadline=None)
@given(commented(), st.data())
def test_whatever_is_changed_every_remark_is_still_there_and_the_text_says_the_document(text, data):
    """By the edit itself: the layout anew is for what nobody writes."""
    document = answers(text)
    for _ in range(data.draw(st.integers(0, 5))):
        change(data.draw, document)
    made = edit(text, document)
    assert holds(made, document | {key: value for key, value in read(text).items() if key == "plan"}), made
    missing = list(remarks(made))
    for remark in sorted(remarks(text), key=len, reverse=True):
        missing.remove(min((other for other in missing if other.endswith(remark)), key=len))
    # A second save of the same changes nothing.
    assert edit(made, document) == made


@settings(max_examples=100, deadline=None)
@given(commented())
def test_a_new_plan_keeps_every_remark(text):
    plan = Plan(revision="11111111", made_with="test", standing="stopped")
    made = with_plan(text, answers(text), plan)
    assert keeps(made, text)
    assert answers(made) == answers(text)
    assert with_plan(made, answers(made), plan) == made


@pytest.mark.parametrize("name", SAMPLES)
def test_the_remarks_of_a_sample_with_its_plan_stay_in_their_places(name):
    text = (ROOT / "sample_sites" / name / "plan.toml").read_text(encoding="utf-8")
    site = parse(text.encode(), name)
    document = {key: value for key, value in site.document.items() if key != "plan"}
    document["site"] = document["site"] | {"name": "Elsewhere"}
    made = edited(text, document)
    assert made.splitlines()[0] == text.splitlines()[0]
    assert len([1 for old, new in zip(text.splitlines(), made.splitlines(), strict=True) if old != new]) == 1
