"""The interview as state and events: keys in, the screen's text and the answers out."""

from __future__ import annotations

import random
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from engine.tables.decisions import GRAVITIES, gravity
from wizard.answers.session import Session
from wizard.asking import guide
from wizard.asking.pages import PAGES
from wizard.interview import mending
from wizard.interview.events import Key, Save
from wizard.interview.handle import AHEAD
from wizard.interview.state import DRAWING, REVIEW, entry_at, order
from wizard.interview.typing import Typing, edited, typed
from wizard.planning.messages import Failed

from .driving import Interview, planned

SAMPLES = Path(__file__).parents[2] / "sample_sites"
SIZES = pytest.mark.parametrize("size", [(80, 24), (40, 12), (120, 40)], ids=str)

# A site whose first plan has no stop.
FIRST = {
    "output.arrangement": "three-phase",
    "set.count": "6",
    "unit.real_power": "5 kW",
    "unit.dc_max": "60 V",
    "unit.transfer_current": "50 A",
    "incoming.breaker": "40 A",
    "earthing.island_bond": "changeover relay",
    "storage.connection": "common-bank",
    "storage.chemistry": "lfp, managed",
    "storage.module.voltage": "51.2 V",
    "storage.module.capacity": "100 Ah",
    "storage.module.charge_current": "100 A",
    "storage.module.discharge_current": "100 A",
    "storage.module.resistance": "12 mohm",
    "storage.bank.parallel": "8",
}


def first() -> Session:
    session = Session()
    for key, text in FIRST.items():
        answered = guide.answer(session, key, text)
        assert isinstance(answered, Session), (key, text, answered)
        session = answered
    return session


def loads(*names: str) -> Session:
    session = Session()
    for at, name in enumerate(names):
        answered = session.set(f"loads[{at}].name", name)
        assert isinstance(answered, Session)
        session = answered
    return session


# A line while it is typed


@pytest.mark.parametrize(
    ("text", "caret", "key", "after", "then"),
    [
        ("50 A", 4, "left", "50 A", 3),
        ("50 A", 4, "right", "50 A", 4),
        ("50 A", 0, "left", "50 A", 0),
        ("50 A", 4, "home", "50 A", 0),
        ("50 A", 1, "end", "50 A", 4),
        ("50 A", 1, "backspace", "0 A", 0),
        ("50 A", 0, "backspace", "50 A", 0),
        ("50 A", 1, "delete", "5 A", 1),
        ("50 A", 4, "delete", "50 A", 4),
        ("50 A", 2, "ctrl+u", " A", 0),
        ("50 A", 2, "ctrl+k", "50", 2),
        ("one two ", 8, "ctrl+w", "one ", 4),
    ],
)
def test_keys_that_edit_a_line(text: str, caret: int, key: str, after: str, then: int) -> None:
    assert edited(Typing(text, caret), key) == Typing(after, then)


def test_other_keys_edit_nothing_and_no_answer_is_endless() -> None:
    assert edited(Typing("x", 1), "f5") is None
    assert len(typed(Typing("x" * 199, 199), "yyy").text) == 200
    assert "\x1b" not in typed(Typing(), "a\x1b[2Jb\u202e").text


# Answers


def test_enter_takes_an_answer_and_goes_on() -> None:
    at = Interview()
    at.go("set.count")
    here = order(at.state)
    at.answer("3")
    assert at.session.get("set.count") == "3"
    assert at.at == here[here.index("set.count") + 1]


def test_a_bare_number_takes_the_unit_and_the_echo_says_so() -> None:
    at = Interview()
    at.go("incoming.breaker")
    at.answer("50")
    assert at.session.get("incoming.breaker") == "50 A"
    assert "50 -> 50 A" in at.text()


def test_typing_replaces_an_answer_and_left_edits_it() -> None:
    at = Interview()
    at.fill({"incoming.breaker": "50 A"})
    at.go("incoming.breaker")
    at.answer("63")
    assert at.session.get("incoming.breaker") == "63 A"
    at.go("incoming.breaker")
    at.press("home", "delete", "delete", "4", "0", "enter")
    assert at.session.get("incoming.breaker") == "40 A"
    at.go("incoming.breaker")
    at.press("delete", "enter")
    assert at.session.get("incoming.breaker") == ""


def test_a_refusal_keeps_the_focus_the_text_and_says_why() -> None:
    at = Interview()
    at.go("incoming.breaker")
    at.answer("63 kV")
    assert at.at == "incoming.breaker"
    assert at.session.get("incoming.breaker") == ""
    text = at.text()
    assert "63 kV" in text
    assert "not accepted" in text
    assert "1 not accepted" in text
    at.press("backspace", "backspace", "A", "enter")  # it is edited, not begun anew
    assert (at.state.refused, at.session.get("incoming.breaker")) == ({}, "63 A")


def test_what_is_typed_before_a_refusal_can_be_read_ends_in_the_next_question() -> None:
    at = Interview()
    at.go("unit.real_power")
    at.ahead(*"many", "enter", *"60", "enter", *"40", "enter")
    assert at.state.refused["unit.real_power"].text == "many"
    assert at.session.get("unit.dc_max") == "60 V"
    assert at.session.get("unit.transfer_current") == "40 A"


def test_a_second_enter_stays_where_the_refusal_is_read() -> None:
    at = Interview()
    at.go("unit.real_power")
    at.ahead(*"many", "enter", "enter")
    assert at.at == "unit.real_power"
    # Only somebody who types on has not read it: the question that was passed over is passed over.
    at.ahead(*"40", "enter")
    assert at.session.get("unit.dc_max") == ""
    assert at.session.get("unit.transfer_current") == "40 A"


def test_nobody_types_ahead_over_an_answer() -> None:
    """Who mends a refusal at once must not overwrite the good answer that follows it."""
    at = Interview(first())
    at.go("storage.module.charge_current")
    at.ahead(*"100 V", "enter", *"80", "enter")
    assert at.session.get("storage.module.charge_current") == "80 A"
    assert at.session.get("storage.module.discharge_current") == "100 A"


def test_a_key_that_comes_later_stays_where_the_refusal_is() -> None:
    at = Interview()
    at.go("set.count")
    at.ahead(*"many", "enter")
    at.event(Key("4", "4", at.time + AHEAD + 0.1))
    assert at.at == "set.count"
    at.press("enter")
    assert at.session.get("set.count") == "4"


def test_backspace_at_once_mends_the_refusal() -> None:
    at = Interview()
    at.go("set.count")
    at.ahead(*"3x", "enter", "backspace", "enter")
    assert at.session.get("set.count") == "3"


def test_a_list_takes_what_is_typed_ahead_and_the_next_question_the_rest() -> None:
    at = Interview()
    at.go("output.arrangement")
    at.ahead("space", "s", "p", "enter")
    assert at.session.get("output.arrangement") == "split-phase"
    here = order(at.state)
    assert at.at == here[here.index("output.arrangement") + 1]


def test_letters_choose_and_space_changes_nothing() -> None:
    at = Interview()
    at.go("earthing.island_bond")
    at.press("f", "enter")
    assert at.session.get("earthing.island_bond") == "fixed link"
    at.go("earthing.island_bond")
    at.press("space")
    assert at.state.box is not None
    at.press("escape")
    assert at.session.get("earthing.island_bond") == "fixed link"
    at.press("right", "left", "enter")
    assert at.session.get("earthing.island_bond") == "fixed link"
    at.go("earthing.island_bond")
    at.press("delete", "enter")
    assert at.session.get("earthing.island_bond") == ""


def test_what_is_typed_is_taken_by_turning_the_page() -> None:
    at = Interview()
    at.go("set.count")
    at.type("3")
    at.press("f8")
    assert at.session.get("set.count") == "3"
    assert at.state.place.page is guide.pages(at.session.answers)[1]


def test_escape_drops_nothing() -> None:
    at = Interview()
    at.go("set.count")
    at.type("3")
    at.press("escape", "escape")
    at.press("enter")
    assert at.session.get("set.count") == "3"


def test_a_paste_is_one_line_and_says_what_was_left_out() -> None:
    at = Interview()
    at.go("site.name")
    at.paste("\nFell\x1b[2J Farm\nsecond\nthird\n")
    assert "2 more lines" in at.text()
    at.press("enter")
    assert "\x1b" not in at.session.get("site.name")
    assert at.session.get("site.name").startswith("Fell")


def test_two_thousand_lines_are_pasted_at_once() -> None:
    at = Interview()
    at.go("site.name")
    at.paste("word\n" * 2000)
    assert at.state.typing
    assert at.state.typing.text == "word"


@pytest.mark.parametrize("text", ["3-phase", "off-grid", "lead acid", "lithium", "unknown"])
@pytest.mark.parametrize("key", ["output.arrangement", "incoming.kind", "storage.chemistry", "earthing.island_bond"])
def test_a_choice_that_there_is_not_is_refused_and_never_another(key: str, text: str) -> None:
    at = Interview()
    at.go(key)
    at.answer(text)
    assert at.session.get(key) == ""
    assert at.state.refused[key].text == text


def test_a_pasted_answer_stays_where_it_was_pasted() -> None:
    at = Interview()
    at.go("unit.real_power")
    at.ahead(*"many", "enter")
    at.paste("6")
    at.ahead("enter")
    assert at.session.get("unit.real_power") == "6 kW"


def test_what_follows_a_refusal_in_a_new_row_stays_in_the_row() -> None:
    at = Interview(loads("Lights"))
    at.go("loads[1].power")
    at.ahead(*"many", "enter", *"3", "enter")
    assert at.state.refused["loads[1].power"].text == "many"
    assert at.session.answers.loads[1].quantity == 3


def test_a_plan_that_comes_leaves_what_is_typed_at_the_same_thing() -> None:
    at = Interview(first())
    at.fill({"wall.width": "6", "wall.height": "2.4"})
    at.late = True
    at.go("set.count")
    at.answer("3")
    at.go("wall.width")
    at.go(next(key for key in order(at.state) if key.endswith(".x") and _tag(at, key) == "L2-1"))
    at.type("2.3")
    at.settle()
    assert _tag(at, at.at) == "L2-1"
    assert at.state.typing
    assert at.state.typing.text == "2.3"
    at.press("enter")
    assert [(place.tag, place.x) for place in at.session.answers.wall.places] == [("L2-1", 2.3)]


def test_what_was_refused_of_a_thing_stays_with_it() -> None:
    at = Interview(first())
    at.go("wall.width")
    at.go(next(key for key in order(at.state) if key.endswith(".x") and _tag(at, key) == "L1-1"))
    at.answer("0.5 kg")
    at.go(next(key for key in order(at.state) if key.endswith(".x") and _tag(at, key) == "L2-1"))
    at.answer("1.7")
    assert [_tag(at, key) for key in at.state.refused] == ["L1-1"]


def test_nobody_is_led_who_goes_on_by_himself() -> None:
    at = Interview(first(), late=True)
    at.settle()
    at.fill({"set.count": "5"})
    at.go("site.name")
    at.press("f6")
    at.type("Fell")
    at.settle()
    assert at.at == "site.name"
    assert at.state.typing
    assert at.state.typing.text == "Fell"


def test_what_was_refused_in_rows_comes_back_with_them() -> None:
    at = Interview(loads("Lights", "Saw", "Pump"))
    at.go("loads[2].power")
    at.answer("loud")
    at.go("loads[1].name")
    at.press("f9", "r", "enter")
    assert set(at.state.refused) == {"loads[1].power"}
    at.press("f5")
    assert set(at.state.refused) == {"loads[2].power"}
    at.press("ctrl+y")
    assert set(at.state.refused) == {"loads[1].power"}
    at.press("f5")
    at.go("loads[2].name")
    at.press("f9", "r", "enter")
    assert at.state.refused == {}
    at.press("f5")
    assert at.state.refused["loads[2].power"].text == "loud"


def test_leaving_after_a_save_keeps_what_was_typed_meanwhile(tmp_path: Path) -> None:
    at = Interview(Session(path=tmp_path / "site.toml"), late=True)
    at.settle()
    at.fill({"set.count": "3"})
    at.press("f10", "enter")
    at.go("site.name")
    at.type("Fell")
    at.settle()
    assert not at.left


def test_a_refused_text_is_seen_though_its_question_does_not_apply_any_more() -> None:
    at = Interview()
    at.go("incoming.breaker")
    at.answer("9 kV")
    at.go("incoming.kind")
    at.answer("none")
    at.go("site.name")
    at.press("f6")
    assert at.at == "incoming.breaker"
    assert "9 kV" in at.text()


# Tables


def test_loads_are_typed_in_place_and_the_cursor_stays_in_its_column() -> None:
    at = Interview()
    at.go("loads[0].name")
    at.type("Pump")
    at.press("tab")
    assert at.at == "loads[0].power"
    at.answer("2.2")
    assert at.session.answers.loads[0].power == 2200.0
    at.go("loads[0].power")
    at.press("down")
    assert at.at == "loads[1].machine"  # a new row begins at its first cell
    at.answer("my own saw", "", "1")
    assert [(load.name, load.power) for load in at.session.answers.loads] == [("Pump", 2200.0), ("my own saw", None)]
    at.go("loads[0].power")
    at.press("down")
    assert at.at == "loads[1].power"
    at.answer("1")
    assert [load.power for load in at.session.answers.loads] == [2200.0, 1000.0]


def test_a_machine_is_found_by_what_is_typed_of_it_and_skips_what_it_says() -> None:
    at = Interview()
    at.go("loads[0].machine")
    at.type("wash")
    assert "Enter takes: washing machine." in at.text()
    at.press("enter")
    assert (at.session.answers.loads[0].machine, at.session.answers.loads[0].name) == ("washing machine", "washing machine")
    assert at.at == "loads[0].power"
    assert "(2.5 kW)" in at.text()
    assert "loads[0].power" in at.state.notes.assumed
    at.press("f5")
    assert at.session.answers.loads == []


def test_a_load_in_kva_is_never_read_as_kw() -> None:
    at = Interview(loads("Pump"))
    at.go("loads[0].power")
    at.answer("4kva")
    load = at.session.answers.loads[0]
    assert (load.power, load.apparent_power) == (None, 4000.0)
    assert "4 kVA" in at.text()


def test_a_row_is_copied_moved_removed_and_brought_back() -> None:
    at = Interview(loads("Lights", "Saw", "Pump"))
    at.go("loads[1].power")
    at.press("f9", "r", "enter")
    assert [load.name for load in at.session.answers.loads] == ["Lights", "Pump"]
    assert at.at == "loads[1].power"
    at.press("f5")
    assert [load.name for load in at.session.answers.loads] == ["Lights", "Saw", "Pump"]
    at.go("loads[2].power")
    at.press("f9", "u", "enter")
    assert [load.name for load in at.session.answers.loads] == ["Lights", "Pump", "Saw"]
    assert at.at == "loads[1].power"
    at.press("f9", "c", "enter")
    assert len(at.session.answers.loads) == 4
    assert at.at == "loads[2].machine"


def test_what_was_refused_in_a_row_goes_with_its_row() -> None:
    at = Interview(loads("Lights", "Saw", "Pump"))
    at.go("loads[2].power")
    at.answer("loud")
    at.go("loads[1].name")
    at.press("f9", "r", "enter")
    assert {key: refusal.text for key, refusal in at.state.refused.items()} == {"loads[1].power": "loud"}
    at.go("loads[0].name")
    at.press("f9", "c", "enter")
    assert set(at.state.refused) == {"loads[2].power"}


def test_an_empty_new_row_is_left_by_enter() -> None:
    at = Interview()
    at.go("loads[0].machine")
    at.press("enter")
    assert at.session.answers.loads == []
    assert not at.at.startswith("loads[")


def test_all_questions_of_a_row_are_opened_and_left() -> None:
    at = Interview(loads("Pump"))
    at.go("loads[0].name")
    at.press("f9", "a", "enter")
    assert at.state.place.entry == 0
    assert "loads[0].power_factor" in order(at.state)
    at.press("escape")
    assert at.state.place.entry is None
    assert at.at == "loads[0].machine"


# What the plan says


def test_nothing_of_an_older_plan_is_told_as_todays() -> None:
    at = Interview(first(), late=True)
    at.settle()
    assert "Planning" not in at.text()
    at.go("incoming.breaker")
    at.answer("50")
    assert "Planning" in at.text()
    at.settle()
    assert "Planning" not in at.text()


def test_a_late_plan_is_dropped() -> None:
    at = Interview(late=True)
    at.settle()
    old = planned(at.session)
    at.fill({"set.count": "3"})
    at.wanted.clear()
    at.event(old)
    assert not at.state.current
    assert "Planning" in at.text()


def test_a_broken_planner_is_told_and_the_answers_can_be_saved(tmp_path: Path) -> None:
    at = Interview(Session(path=tmp_path / "site.toml"), late=True)
    at.wanted.clear()
    at.fill({"set.count": "3"})
    at.wanted.clear()
    at.event(Failed(at.session.revision, "ZeroDivisionError: division by zero"))
    assert "NO PLAN" in at.text()
    assert "not of your answers" in at.text()
    at.press("f2")
    assert [type(wanted) for wanted, _ in at.wanted] == [Save]
    at.settle()
    assert tomllib.loads((tmp_path / "site.toml").read_text())["set"] == {"count": 3}


def test_one_key_leads_to_what_was_refused_then_stops_then_cautions() -> None:
    at = Interview(first())
    at.fill({"earthing.island_bond": ""})
    at.go("earthing.island_bond")
    at.press("delete", "enter")
    at.go("set.count")
    at.answer("many")
    at.go("site.name")
    at.press("f6")
    assert at.at == "set.count"
    at.press("f6")
    assert at.at == "earthing.island_bond"
    seen = set()
    for _ in range(60):
        assert at.state.looked
        seen.add(at.state.looked[0])
        at.press("f6")
        if at.state.told.startswith("That was the last one"):
            break
    assert at.at == "set.count"  # from the first again
    assert at.state.seen
    cautions = {(found.code, found.about) for found in at.state.seen.findings if found.level == "caution"}
    assert cautions
    assert cautions <= seen


def test_cautions_are_gone_through_from_the_gravest_on() -> None:
    """Not in the order of the pages: what can burn on the page of routes comes before what is merely not looked up on the first."""
    at = Interview(first())
    codes = []
    for _ in range(60):
        at.press("f6")
        if at.state.told.startswith("That was the last one"):
            break
        assert at.state.looked
        codes.append(at.state.looked[0][0])
    grave = [gravity(code) for code in codes]
    assert grave == sorted(grave)
    assert set(grave) == set(range(len(GRAVITIES)))
    assert codes.index("method-assumed") < codes.index("max-units-unanswered")


def test_the_way_to_the_next_stop_waits_for_the_plan_of_these_answers() -> None:
    at = Interview(first(), late=True)
    at.settle()
    at.go("earthing.island_bond")
    at.press("delete", "enter")
    at.go("site.name")
    at.press("f6")
    assert at.at == "site.name"
    at.settle()
    assert at.at == "earthing.island_bond"


def test_a_finding_of_the_review_leads_to_its_question() -> None:
    at = Interview()
    at.press("f4")
    at.press("end", "enter")
    assert at.at == REVIEW
    assert "STOPPED: do not energise" in at.text()
    at.press("enter")
    assert at.at != REVIEW
    assert at.state.looked


def test_every_section_of_the_review_is_read_to_its_end() -> None:
    at = Interview(Session.open(SAMPLES / "harbour-works" / "site.toml"))
    at.press("f4", "end", "enter")
    for _ in range(8):
        before = ""
        for _ in range(60):
            text = at.text()
            if text == before:
                break
            before = text
            at.press("pagedown")
        assert at.fits()
        at.press("right")


def test_undo_and_redo_say_what_came_back_and_go_there() -> None:
    at = Interview()
    at.fill({"set.count": "3"})
    at.go("site.name")
    at.press("f5")
    assert at.session.get("set.count") == ""
    assert at.at == "set.count"
    assert "Number of units" in at.text()
    at.press("ctrl+y")
    assert at.session.get("set.count") == "3"
    assert "3" in at.state.told
    at.press("f5", "f5")
    assert at.state.told == "Nothing to take back."


def test_undo_takes_back_what_was_refused_first() -> None:
    at = Interview()
    at.fill({"set.count": "3"})
    at.go("set.count")
    at.answer("x")
    at.press("f5")
    assert at.state.refused == {}
    assert at.session.get("set.count") == "3"


def test_undo_takes_back_the_refusal_that_came_last_wherever_the_caret_is() -> None:
    at = Interview()
    at.fill({"unit.real_power": "5"})
    at.go("unit.dc_max")
    at.answer("high")
    at.go("site.name")
    at.press("f5")
    assert (at.at, at.state.refused, at.session.get("unit.real_power")) == ("unit.dc_max", {}, "5 kW")
    at.go("unit.real_power")
    at.answer("junk")
    at.press("delete")
    assert (at.state.refused, at.session.get("unit.real_power")) == ({}, "5 kW")
    assert "5 kW" in at.text()


def test_what_is_new_is_gone_to_first_and_nothing_is_told_as_what_stops() -> None:
    at = Interview(first())
    at.press("f6", "f6")
    assert at.state.looked
    at.go("earthing.island_bond")
    at.press("delete", "enter")
    at.go("site.name")
    assert "STOPPED by 1 (F6). What joins neutral to earth" in at.text()
    at.press("f6")
    assert at.at == "earthing.island_bond"


def test_a_cure_of_another_place_is_not_offered_and_a_heavy_one_is_asked() -> None:
    at = Interview(first())
    at.go("storage.bank.parallel")
    at.answer("2")
    at.go("site.name")
    before = at.session
    at.press("f3")
    assert at.session is before
    for _ in range(40):
        at.press("f6")
        if any("storage.bank.parallel" in cure.answers for cure in mending.offered(at.state)):
            break
    at.press("f3")
    assert at.state.box
    assert "Strings in parallel = " in at.text()
    assert at.session is before
    at.press("enter")
    assert at.session is not before
    assert "Taken: " in at.text()


# The wall


def test_a_thing_is_moved_with_arrow_keys_and_only_that_thing() -> None:
    at = Interview(Session.open(SAMPLES / "alder-farm" / "site.toml"))
    at.state = at.state.at(at.state.place)
    at.press("f4")
    at.type("Wall")
    at.press("enter")
    while at.at != DRAWING:
        at.press("tab")
    before = {place.name: (place.x, place.y) for place in at.state.seen.wall.places} if at.state.seen else {}
    at.press("right")
    assert at.state.seen
    after = {place.name: (place.x, place.y) for place in at.state.seen.wall.places}
    moved = [name for name in before if before[name] != after.get(name)]
    assert moved == [at.state.moving]


def test_whoever_only_comes_along_moves_nothing_on_the_wall() -> None:
    at = Interview(Session.open(SAMPLES / "alder-farm" / "site.toml"))
    at.go("wall.width")
    before = at.session
    at.press(*["down"] * 30)
    assert at.at == DRAWING
    assert at.session is before
    at.press("space", "down")
    assert at.session is not before
    at.press("tab", "shift+tab")
    at.go("wall.height")
    assert at.state.moving is None


# Saving and leaving


def test_a_name_is_asked_for_and_the_plan_is_saved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    at = Interview(first())
    at.press("f2")
    assert "Save under which name?" in at.text()
    at.press("enter")
    assert "Saved answers and plan: site.toml" in at.text()
    told = tomllib.loads((tmp_path / "site.toml").read_text())
    assert told["plan"]["revision"] == at.session.revision
    assert not at.state.unsaved


def test_a_save_waits_for_the_plan_of_its_answers(tmp_path: Path) -> None:
    at = Interview(Session(path=tmp_path / "site.toml"), late=True)
    at.settle()
    at.fill({"set.count": "3"})
    at.press("f2")
    assert "waits for the plan" in at.text()
    assert not (tmp_path / "site.toml").exists()
    at.settle()
    assert tomllib.loads((tmp_path / "site.toml").read_text())["plan"]["revision"] == at.session.revision


def test_answers_that_come_while_it_is_saved_are_kept_and_are_not_saved(tmp_path: Path) -> None:
    at = Interview(Session(path=tmp_path / "site.toml"), late=True)
    at.settle()
    at.press("f2")
    at.fill({"set.count": "3"})
    at.settle()
    assert at.session.get("set.count") == "3"
    assert at.state.unsaved


def test_a_file_that_was_not_opened_here_is_overwritten_only_when_asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "site.toml").write_text("schema = 1\n# somebody's\n")
    at = Interview(first())
    at.press("f2", "enter")
    assert "NOT SAVED" in at.text()
    assert at.state.box is None  # keys typed meanwhile are meant for the page
    at.press("f2")
    assert "already" in at.text()
    at.press("escape")
    assert (tmp_path / "site.toml").read_text().endswith("somebody's\n")
    at.press("f2", "enter")
    assert "site-2.toml" in at.text()
    at.press("escape")
    at.press("f2", "enter")
    at.press("f2", "down", "enter")
    assert "plan" in tomllib.loads((tmp_path / "site.toml").read_text())


@pytest.mark.parametrize("name", ["~nosuchuser/x.toml", "x" * 300 + ".toml"])
def test_a_name_that_no_file_can_have_is_asked_for_again(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    at = Interview(first())
    at.press("f2", "ctrl+u")
    at.paste(name)
    at.press("enter")
    assert "No file can have the name" in at.text() or "NOT SAVED" in at.text()
    assert list(tmp_path.iterdir()) == []


def test_a_save_that_fails_says_so_and_loses_nothing(tmp_path: Path) -> None:
    at = Interview(Session(path=tmp_path / "gone" / "site.toml"))
    at.fill({"set.count": "3"})
    at.press("f2")
    assert "NOT SAVED" in at.text()
    assert at.session.get("set.count") == "3"
    assert at.state.unsaved


def test_leaving_asks_for_what_is_not_saved_and_for_what_was_refused(tmp_path: Path) -> None:
    at = Interview(Session(path=tmp_path / "site.toml"))
    at.press("f10")
    assert at.left
    at = Interview(Session(path=tmp_path / "site.toml"))
    at.go("set.count")
    at.answer("many")
    at.press("f10")
    assert not at.left
    assert "1 not accepted" in at.text()
    assert "many" in at.text()
    at.press("escape")
    at.go("set.count")
    at.answer("3")
    at.press("f10", "enter")
    assert at.left
    assert (tmp_path / "site.toml").exists()


def test_a_file_with_a_bad_value_opens_at_that_value(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_text('[set]\ncount = 3\n\n[[loads]]\nname = "Saw"\npower = "5 kX"\n')
    at = Interview(Session.open(path))
    assert at.at == "loads[0].power"
    assert "5 kX" in at.text()
    assert "1 not accepted" in at.text()
    at.answer("5")
    assert at.session.answers.loads[0].power == 5000.0
    assert at.state.refused == {}


# What is on the screen


@SIZES
def test_every_question_of_every_page_is_seen_with_its_label_and_fits(size: tuple[int, int]) -> None:
    at = Interview(Session.open(SAMPLES / "alder-farm" / "site.toml"), size)
    seen = set()
    for _ in range(len(guide.pages(at.session.answers))):
        for key in order(at.state):
            while at.at != key:
                at.press("tab")
            assert at.fits(), key
            question = at.state.question(key)
            if question:
                seen.add(key)
                lines = at.text().splitlines()
                label = question.name[: min(len(question.name), 20)]
                in_table = "[" in key and not at.state.narrow and at.state.place.entry is None
                assert in_table or any(label in line for line in lines), (key, at.text())
                assert sum(span.style == "reverse" for line in at.show().lines for span in line) >= 3, key  # beside the title and the keys
        at.press("f8")
    asked = {q.key for page in guide.pages(at.session.answers) for q in guide.questions(page, at.session.answers, at.state.tags)}
    assert asked <= seen


@SIZES
def test_every_page_and_box_keeps_the_keys_and_what_enter_does(size: tuple[int, int]) -> None:
    at = Interview(first(), size)
    for _ in guide.pages(at.session.answers):
        for opened in ("", "f1", "f4", "f10"):
            if opened:
                at.press(opened)
            rows = at.text().splitlines()
            assert len(rows) == size[1]
            assert "F1" in rows[-1]
            assert rows[-2].strip(), at.text()
            assert at.fits()
            at.press("escape")
        at.press("f8")


@pytest.mark.parametrize("size", [(1, 1), (5, 3), (20, 5), (39, 9), (300, 100)], ids=str)
def test_no_size_breaks_it(size: tuple[int, int]) -> None:
    at = Interview(first(), size)
    for _ in PAGES:
        assert at.fits()
        at.press("f8")


def test_names_that_look_like_markup_or_control_come_out_harmless() -> None:
    evil = "[/b][red]<script>\x1b[2J\u202e=1+1"
    session = Session().set_all({"site.name": evil, "loads[0].name": evil})
    assert isinstance(session, Session)
    at = Interview(session)
    for _ in guide.pages(at.session.answers):
        assert "\x1b" not in at.text()
        assert "\u202e" not in at.text()
        at.press("f8")
    assert at.session.get("site.name") == evil


def test_wide_letters_take_their_columns() -> None:
    at = Interview()
    at.go("site.name")
    at.type("山小屋" * 12)
    assert at.fits()
    at.press("enter")
    assert at.fits()


# Everything at once


@pytest.mark.parametrize("seed", range(200))
def test_answers_turns_and_sizes_while_plans_arrive_lose_no_key(seed: int) -> None:
    """Answers typed at random questions, pages turned, the terminal resized, plans that arrive at any time: every answer is there."""
    chance = random.Random(seed)
    at = Interview(late=True)
    wanted: dict[str, str] = {}
    texts = {"set.count": "23456", "unit.real_power": "34567", "incoming.breaker": "40,50,63", "storage.bank.parallel": "5678", "loads[0].name": "Saw,Mill"}
    for _ in range(12):
        match chance.randrange(6):
            case 0 | 1 | 2:
                key = chance.choice(list(texts))
                text = chance.choice(texts[key].split(",") if "," in texts[key] else list(texts[key]))
                at.go(key)
                at.ahead(*text)
                if at.wanted and chance.random() < 0.5:  # a plan comes while it is being typed
                    at.arrive(which=chance.randrange(len(at.wanted)))
                at.ahead("enter")
                wanted[key] = text
            case 3:
                at.press(chance.choice(["f7", "f8", "tab", "down", "up"]))
            case 4:
                at.resize(chance.choice([40, 80, 120]), chance.choice([12, 24, 40]))
            case 5:
                if at.wanted:
                    at.arrive(which=chance.randrange(len(at.wanted)))
        assert at.fits()
    at.settle()
    assert at.state.current
    for key, text in wanted.items():
        assert at.session.get(key).split(" ")[0] == text


# The wall and the routes as tables


def test_a_series_goes_on_in_the_rows_below_of_its_kind() -> None:
    at = Interview(first())
    at.go("wall.width")
    at.answer("6", "2.4")
    rows = [key for key in order(at.state) if key.endswith(".x")]
    assert at.state.seen
    assert len(rows) == len([place for place in at.state.seen.wall.places if place.what != "bar"]) + 1  # and a new one
    at.go(next(key for key in rows if _tag(at, key) == "L1-1"))
    at.answer("0.5+0.6")
    assert [(place.tag, place.x) for place in at.session.answers.wall.places] == [
        ("L1-1", 0.5), ("L1-2", 1.1), ("L2-1", 1.7), ("L2-2", 2.3), ("L3-1", 2.9), ("L3-2", 3.5),
    ]  # fmt: skip
    assert at.at.endswith(".y")
    at.answer("0.9+")
    assert {place.y for place in at.session.answers.wall.places} == {0.9}
    at.press("f5")
    assert {place.y for place in at.session.answers.wall.places} == {None}
    at.press("f5")
    assert at.session.answers.wall.places == []


def _tag(at: Interview, key: str) -> str:
    return str(entry_at(at.state, int(key.split("[")[1].split("]", maxsplit=1)[0])).get("tag"))


def test_a_place_keeps_its_line_when_it_is_answered_and_the_cursor_with_it() -> None:
    at = Interview(first())
    at.go("wall.width")
    rows = [key for key in order(at.state) if key.endswith(".x")]
    before = [_tag(at, key) for key in rows]
    at.go(next(key for key in rows if _tag(at, key) == "L2-1"))
    at.answer("1.7")
    assert [_tag(at, key) for key in order(at.state) if key.endswith(".x")] == before
    assert _tag(at, at.at) == "L2-1"
    at.press("left", "down")
    assert (_tag(at, at.at), at.at.split(".")[-1]) == ("L2-2", "x")
    at.answer("+0.6")
    assert [(place.tag, place.x) for place in at.session.answers.wall.places] == [("L2-1", 1.7), ("L2-2", 2.3)]


def test_what_has_nothing_above_it_is_refused() -> None:
    at = Interview(first())
    at.go("routes[0].carries")
    at.press("b", "tab")
    at.go("routes[0].lane")
    at.answer('"')
    assert at.state.refused["routes[0].lane"].text == '"'
    assert "row above" in at.text()


def test_a_route_is_said_once_for_all_kinds() -> None:
    at = Interview(first())
    at.go("routes[0].carries")
    at.press("b", "enter", "c", "enter")
    at.go("routes[0].method")
    at.press("f9", "s", "enter")
    routes = at.session.answers.routes
    assert {route.method for route in routes} == {"C"}
    assert {route.carries for route in routes} == {"battery", "load", "incoming", "earth", "comms"}
    at.press("f5")
    assert len(at.session.answers.routes) == 1


def test_one_number_stands_for_every_phase() -> None:
    at = Interview()
    at.fill({"output.arrangement": "three-phase", "set.per_phase": "2"})
    assert at.session.answers.set.per_phase == [2, 2, 2]
    assert "2 -> 2, 2, 2" in at.text()
    at.fill({"set.per_phase": "2 2 1"})
    assert at.session.answers.set.per_phase == [2, 2, 1]


KEYS = [
    *"abcdefghijklmnopqrstuvwxyz0123456789 .,-+\"'/%[]äÄ山", *["enter"] * 8, *["tab"] * 4, "shift+tab", *["up", "down", "left", "right"] * 2, "home", "end",
    "backspace", "delete", "escape", "space", "pageup", "pagedown", *[f"f{number}" for number in range(1, 11)], "f6", "f8", "f8", "f9", "f3",
    "ctrl+s", "ctrl+z", "ctrl+y", "ctrl+u", "ctrl+k", "ctrl+w", "ctrl+q", "ctrl+c", "ctrl+x", "unknown",
]  # fmt: skip


@pytest.mark.parametrize("seed", range(40))
def test_no_row_of_keys_breaks_it(seed: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Any keys, on any site, at any size, with plans that come late: it never fails, and every line is within the terminal."""
    monkeypatch.chdir(tmp_path)
    chance = random.Random(seed)
    session = chance.choice([Session(), first(), Session.open(SAMPLES / "alder-farm" / "site.toml"), loads("Lights", "Saw")])
    at = Interview(replace(session, path=None, origin=None), (chance.choice([80, 40, 100]), chance.choice([24, 12, 40])), late=True)
    for _ in range(150):
        at.ahead(*chance.choices(KEYS, k=chance.randrange(1, 6)))
        at.time += chance.choice([0, 5])
        if at.wanted and chance.random() < 0.15:
            at.arrive(which=chance.randrange(len(at.wanted)))
        assert at.fits()
        if chance.random() < 0.02:
            at.resize(chance.choice([80, 40, 100, 10]), chance.choice([24, 12, 40, 3]))
    at.state = replace(at.state, box=None)
    at.settle()
    assert at.state.current
