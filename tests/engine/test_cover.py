"""What stands before all else in a plan's papers: what stops it, what is decided, what is confirmed, what was assumed."""

from __future__ import annotations

import re
from functools import cache

import pytest

from engine.findings import Level
from engine.planner import Planned
from engine.sheets.cover import assumed, decisions, notes, placed, practice, stops, to_confirm
from engine.sheets.text.plan import plan_text
from engine.site.spoken import spoken
from engine.tables.decisions import GRAVITIES, gravity
from tests.conftest import plan_text as plan_of
from tests.defence.test_findings import TWINS
from tests.defence.twins import ONE, hung, load
from tests.defence.twins import planned as twin
from tests.engine.paper_sites import NAMES, planned, sample
from tests.engine.touched import VARIED

# What a person answers who has the plates at hand and no more.
FIRST = """
[output]
arrangement = "three-phase"
[set]
count = 6
[incoming]
breaker = "40 A"
[earthing]
island_bond = "changeover relay"
[unit]
real_power = "5 kW"
dc_max = "60 V"
transfer_current = "50 A"
[storage]
connection = "common-bank"
chemistry = "lfp"
managed = true
module = { voltage = "51.2 V", capacity = "100 Ah", charge_current = "100 A", discharge_current = "100 A", resistance = "12 mohm" }
bank = { parallel = 8 }
"""
SITES = ("first", *NAMES, *VARIED)
KEY = re.compile(r"\b[a-z]+_[a-z]\w*|\b(?:plan|unit|site|storage|routes|wall|loads|set|incoming|earthing|output|solar)\.[a-z]\w+|\[\[| = (?:true|false)\b")


@cache
def site(name: str) -> Planned:
    return plan_of(FIRST) if name == "first" else sample(name) if name in NAMES else planned(VARIED[name])


@pytest.mark.parametrize("name", SITES)
def test_findings_stand_from_the_gravest_on_and_those_of_one_code_together(name):
    found = site(name).findings
    order = [(list(Level).index(one.level), gravity(one.code) if one.level is Level.CAUTION else 0) for one in found]
    assert order == sorted(order)
    runs = [one.code for at, one in enumerate(found) if not at or found[at - 1].code != one.code or found[at - 1].level != one.level]
    assert len(runs) == len({(one.level, one.code) for one in found})


@pytest.mark.parametrize("name", SITES)
def test_each_caution_is_in_one_decision_and_nothing_is_lost(name):
    plan = site(name)
    every = decisions(plan)
    told = [one.text for decision in every for one in decision.findings]
    assert sorted(told) == sorted(spoken(one.text) for one in plan.findings if one.level is Level.CAUTION)
    assert len({one.title for one in every}) == len(every)
    assert [GRAVITIES.index(one.gravity) for one in every] == sorted(GRAVITIES.index(one.gravity) for one in every)
    assert [one.text for one in stops(plan)] == [spoken(one.text) for one in plan.findings if one.level is Level.STOP]


def test_a_first_plan_asks_for_fewer_decisions_than_it_has_cautions():
    plan = site("first")
    cautions = [one.code for one in plan.findings if one.level is Level.CAUTION]
    assert "places-assumed" not in cautions  # it comes with the wall that nobody measured
    assert len(cautions) <= 27
    assert len(decisions(plan)) <= 19
    manual = next(one for one in decisions(plan) if one.title == "The unit's manual has not been read to the end")
    assert len(manual.findings) == 7


def test_one_decision_names_the_places_of_all_its_cautions():
    plan = twin({"unit.dc_terminal_max": "16 mm2", "unit.ac_terminal_max": "4 mm2"})
    found = [one for one in plan.findings if one.code == "terminal-too-small"]
    assert len(found) > 1
    [decision] = [one for one in decisions(plan) if one.title == "A unit's terminal does not take the cable"]
    assert len(decision.findings) == len(found)
    assert {re.findall(r"\[(.*)\]", one.about)[0] for one in found} == set(decision.places)
    assert decision.signed_by == "planner (ask: unit's maker)"


@pytest.mark.parametrize(
    ("changes", "title", "places"),
    [
        ({"storage.wired": {}}, "The battery cables are not traced yet", ()),
        ({"loads": [{"machine": "kettle"}, {"name": "Saw", "machine": "kettle"}]}, "Machines are counted with a usual power", ("kettle", "Saw")),
        ({"loads": [load(power_factor=0.5), load("2 kW", "L2")]}, "The neutral carries more than the lines", ()),
        ({"loads": [load("5 kW", energy="80 kWh/d")]}, "The bank is empty before sunrise", ()),
        (hung() | {"wall.places": []}, "The wall is not measured", ("incoming board", "earth bar", "B1", "load board", "L1-1", "L2-1", "L3-1")),
        ({"routes": [{"carries": "load", "metal": "aluminium"}]}, "Joints in aluminium", ("load L1-1", "load L2-1", "load L3-1", "load common")),
    ],
)  # fmt: skip
def test_places_are_those_that_it_is_noticed_on(changes, title, places):
    [decision] = [one for one in decisions(twin(changes)) if one.title == title]
    assert set(decision.places) == set(places)


def test_places_of_a_kind_are_told_once():
    assert placed(("battery L1-1", "battery L1-2", "load common", "B1", "load board")) == "battery L1-1, L1-2; load common; B1, load board"
    assert placed(()) == ""


def test_a_wall_that_nobody_measured_comes_with_the_places_that_nobody_gave():
    whole, sides = twin({"wall.height": "2.4 m"}), twin(hung() | {"wall.places": []})
    [wall] = [one for one in whole.findings if one.code == "wall-assumed"]
    assert "a width of 4 m is assumed" in wall.text
    assert "7 assumed places" in wall.text
    assert "places-assumed" not in {one.code for one in whole.findings}
    assert "wall-assumed" not in {one.code for one in sides.findings}
    assert any(one.code == "places-assumed" for one in sides.findings)


@pytest.mark.parametrize("name", SITES)
def test_everything_assumed_is_told_once_with_its_value_in_the_words_of_the_questions(name):
    plan = site(name)
    groups = assumed(plan)
    assert len({group.about for group in groups}) == len(groups)
    lines = [one for group in groups for one in group.taken]
    assert len({(one.what, one.value, one.why) for one in lines}) == len(lines)
    text = " ".join(f"{one.what}: {one.value} ({one.why})" for one in lines)
    assert not KEY.search(text), text
    spots = {place.key: place for place in plan.parts.wall.places if place.assumed}
    for taken in plan.plan.assumed:
        if place := spots.get(taken.key):
            told = f"x {plan.facts.metres(place.x)}, y {plan.facts.metres(place.y)}"
            assert any(place.name in f"{one.what} {one.value}" and told in one.value for one in lines), taken
        else:
            figure = plan.figures.get(taken.key)
            value = plan.facts.told(figure) if figure else taken.value
            row = re.findall(r"\[([^\]]*)\]", taken.key)
            assert any(one.value == value and all(name in one.what for name in row) and spoken(taken.why) == one.why for one in lines), taken


def confirmed(changes=None, without=()):
    return {one.what: one for one in to_confirm(planned(changes, without=without))}


def test_what_is_not_traced_not_found_and_not_known_is_confirmed():
    """What the small site answers is not asked for again."""
    sound = confirmed()
    bare = confirmed({"storage.wired": {}}, without=("storage.links", "unit.dc_torque", "unit.dc_stud", "earthing.bond_at", "unit.bus.ports"))
    for what, when in (
        ("Which bank each unit's battery cables go to", "before power"),
        ("Which unit bank B1 speaks to", "before landing"),
        ("Battery stud torque", "before landing"),
        ("Battery stud", "before landing"),
        ("Ports on the unit", "before landing"),
        ("Where the bond is", "before landing"),
    ):
        assert what not in sound
        assert bare[what].when == when
        assert bare[what].how
    assert bare["Which bank each unit's battery cables go to"].planned == "B1: L1-1, L2-1, L3-1"
    assert bare["Which unit bank B1 speaks to"].planned == "L1-1"


def test_a_fuse_whose_maker_must_say_so_is_confirmed_before_ordering():
    plan = twin({})
    [fuses] = [one for one in to_confirm(plan) if one.what == "Battery fuses of B1"]
    rating = next(row.device.rating for row in plan.plan.circuits if row.name == "battery L1-1" and row.device)
    assert fuses.when == "before ordering"
    assert rating in fuses.planned
    assert "CONFIRM" not in fuses.planned
    assert not [one for one in to_confirm(twin({"storage.module.resistance": "100 mohm"})) if one.what.startswith("Battery fuses")]


def test_what_was_taken_instead_is_confirmed_before_ordering():
    laid = [one for one in to_confirm(twin(ONE | {"routes": [{"carries": "load", "grouped": 21}]})) if one.what == "How it is laid (load)"]
    fed = [one for one in to_confirm(twin(ONE | {"storage.module.discharge_current": "20 A"})) if one.what == "Leads leave the row"]
    assert [one.when for one in (*laid, *fed)] == ["before ordering", "before ordering"]
    assert laid[0].how == "Look how it lies, or how it will."


def test_words_of_the_menu_and_settings_that_nobody_knows_are_asked_for():
    words = next(one for one in to_confirm(planned()) if one.what.startswith("What the unit's menu calls"))
    assert "charge limit" in words.what
    assert "storage mode" not in words.what  # the small site has them
    unknown = [one.what for one in to_confirm(planned(without=("storage.module.charge_current",))) if one.what.startswith("Setting of")]
    assert unknown == ["Setting of each unit: charge limit"]


def test_a_plan_without_units_has_nothing_to_confirm():
    assert to_confirm(planned(without=("output.arrangement",))) == ()


@pytest.mark.parametrize("name", SITES)
def test_the_plan_page_has_a_box_and_a_line_to_sign_for_each_decision_and_no_keys(name):
    plan = site(name)
    page = plan_text(plan)
    every = decisions(plan)
    assert page.count("[ ] go on as planned") == len(every)
    flat = " ".join(page.split())
    for one in every:
        assert one.title in flat
        assert f"{one.signed_by}: ______________________ date: __________" in flat
    assert [what.what for what in to_confirm(plan) if what.what.rstrip(".") not in flat] == []
    assert [note.text for note in notes(plan) if " ".join(note.text.split()) not in flat] == []
    assert not KEY.search(page), KEY.search(page)


def test_who_checks_the_plan_is_said_once_and_names_the_rule_book():
    assert "IEC 60364" in practice(sample("alder-farm")).text
    assert "NFPA 70" in practice(sample("copper-creek")).text
    page = " ".join(plan_text(sample("alder-farm")).split())
    assert page.count("supervised by a licensed person") == page.count("a licensed person come first") == 1


def test_what_stops_the_plan_stands_before_what_is_decided():
    page = plan_text(planned({"set.lead": "L3-9"}))
    assert page.index("== STOPPED: do not energise") < page.index("L3-9") < page.index("== TO DECIDE AND SIGN") < page.index("== ASSUMED")


def test_no_decision_of_any_caution_speaks_of_keys():
    seen = set()
    for one in TWINS:
        if one.level != "caution":
            continue
        plan = twin(one.site)
        for decision in decisions(plan):
            for told in decision.findings:
                seen.add(decision.title)
                said = f"{told.text} {told.remedy} {' '.join(decision.places)}".replace("e.g.", "")
                assert not KEY.search(said), said
    assert len(seen) > 60
