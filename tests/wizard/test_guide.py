"""The order of the interview and what it says of the answers, without a terminal."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from random import Random

import pytest

from engine.facts import Assumed
from engine.files.problems import Problem
from engine.findings import Finding, caution, note, stop
from engine.planner import plan
from engine.quantities import Refused
from engine.site import Answers
from engine.site.names import tables, title_of, titles
from engine.site.spoken import keys_in
from engine.tables import machines
from engine.tables import table as table_of
from tests.defence.test_findings import TWINS, noticed
from tests.generated import sites
from wizard.answers.fields import field, path_of
from wizard.answers.session import Session
from wizard.asking import guide
from wizard.asking.answering import MANAGED
from wizard.asking.pages import BUS_NODES, LOADS, MEANINGS, PAGES, PLACES, ROUTES, Question

ALL = [question for page in PAGES for question in page.questions]
TABLES = [page.table for page in PAGES if page.table]


def test_every_question_has_a_short_name_a_reason_and_a_form() -> None:
    """Names fit their column, every key exists in the model, and the model says why it is asked."""
    for question in [*ALL, *(q for table in TABLES for q in guide.entry_questions(table, 0, Answers()))]:
        how = guide.asked(question)
        assert how.why, question.key
        assert how.wanted, question.key
        if not question.key.startswith("unit.labels"):
            assert len(question.name) <= 26, question.name
    names = [question.name for question in ALL]
    assert len(set(names)) == len(names)


def test_every_answer_of_the_file_is_asked_somewhere() -> None:
    """No key of the model is left out, but remarks, the records and what the program writes itself."""

    def keys(model: type, prefix: str = "") -> list[str]:
        from engine.site.kinds import part_of

        found = []
        for name, info in model.model_fields.items():
            part = part_of(info.annotation)
            if name in ("note", "schema_", "plan", "record", "labels", "wired"):
                continue
            found += keys(part, f"{prefix}{name}.") if part else [f"{prefix}{name}"]
        return found

    asked = {question.key for question in ALL} | {MANAGED} | {f"{table.key}.{question.key}" for table in TABLES for question in table.questions}
    assert set(keys(Answers)) == {key for key in asked if not key.startswith("unit.labels")}


def test_meanings_belong_to_choices_that_exist() -> None:
    for key, meanings in MEANINGS.items():
        table, _, name = key.partition(".")
        whole = f"{table}[0].{name}" if table in ("loads", "routes", "bus_nodes") else key
        assert set(meanings) <= set(guide.asked(Question(whole)).choices)


# A first plan as it is typed.
FIRST = {
    "output.arrangement": "t",
    "set.count": "6",
    "incoming.breaker": "40",
    "earthing.island_bond": "c",
    "unit.real_power": "5",
    "unit.dc_max": "60",
    "unit.transfer_current": "50",
    "storage.connection": "c",
    "storage.chemistry": "l",
    "storage.module.voltage": "51.2",
    "storage.module.capacity": "100",
    "storage.module.charge_current": "100",
    "storage.module.discharge_current": "100",
    "storage.module.resistance": "12",
    "storage.bank.parallel": "8",
}


def typed(answers: Mapping[str, str], session: Session | None = None) -> Session:
    """The session with these answers typed into it."""
    session = session or Session()
    for key, text in answers.items():
        said = guide.answer(session, key, text)
        assert isinstance(said, Session), (key, text, said)
        session = said
    return session


def stopped(answers: Mapping[str, str]) -> set[str]:
    """What stops the plan of these answers."""
    session = typed(answers)
    return {finding.code for finding in plan(session.answers, session.revision).findings if finding.level.value == "stop"}


def test_needed_means_needed() -> None:
    """S31: what has a star is enough, and each of it is needed; all else stops nothing."""
    assert set(guide.ESSENTIAL) == set(FIRST)
    assert stopped(FIRST) == set()
    spare = {key for key in FIRST if not stopped({k: text for k, text in FIRST.items() if k != key})}
    assert spare == set()


@pytest.mark.parametrize(
    ("site", "most"),
    [
        ({}, 15),
        ({"output.arrangement": "split", "site.rules": "nec", "set.count": "2"}, 17),
        ({"output.arrangement": "single", "set.count": "2", "incoming.kind": "none", "earthing.island_bond": "fixed", "storage.connection": "bank-per-unit"}, 17),
        ({"output.arrangement": "single", "set.count": "1", "incoming.kind": "generator"}, 17),
    ],
)
def test_walking_the_needed_questions_leads_to_a_plan_without_a_stop(site: dict[str, str], most: int) -> None:
    """From nothing, page by page, each question once; in the first case three phases, as they are usually asked for."""
    session, given = typed({key: text for key, text in site.items() if key in ("site.rules", "incoming.kind")}), len(set(site) & {"site.rules", "incoming.kind"})
    seen: set[str] = set()
    for page in PAGES:
        if page not in guide.pages(session.answers):
            continue
        while found := [q for q in guide.questions(page, session.answers) if q.essential and q.key not in seen]:
            seen.add(found[0].key)
            session = typed({found[0].key: (FIRST | site)[found[0].key]}, session)
    assert len(seen) + given <= most
    assert [f.code for f in plan(session.answers, session.revision).findings if f.level.value == "stop"] == []


def test_needed_questions_come_first_on_every_page() -> None:
    """But for what comes in: whether the incoming breaker is needed hangs on it."""
    assert PAGES[-1].name == "review"
    for page in PAGES:
        marks = [question.essential for question in page.questions if question.key != "incoming.kind"]
        assert marks == sorted(marks, reverse=True), page.name


def test_pages_come_in_the_order_of_what_one_has_in_hand() -> None:
    assert [page.name for page in PAGES][:8] == ["site", "unit", "bank", "loads", "solar", "inputs", "wall", "routes"]
    assert {page.subject for page in PAGES} == {"site", "unit", "bank", "loads", "solar", "wall", "routes", "review"}
    keys = [question.key for question in ALL]
    assert len(set(keys)) == len(keys)


def test_a_table_fits_into_eighty_columns() -> None:
    for table in TABLES:
        assert sum(column.width for column in table.columns) + len(table.columns) - 1 <= 74, table.key
        assert {column.key for column in table.columns} <= {question.key for question in table.questions}, table.key
        assert all(len(column.head) <= column.width for column in table.columns), table.key


def test_pages_and_questions_apply_by_what_is_answered() -> None:
    bare, off_grid = Answers(), Answers.model_validate({"incoming": {"kind": "none"}})
    assert "inputs" not in [page.name for page in guide.pages(bare)]
    assert "inputs" in [page.name for page in guide.pages(Answers.model_validate({"solar": {"voc": "49 V"}}))]
    assert "incoming.breaker" in [q.key for q in guide.questions(PAGES[0], bare)]
    assert "incoming.breaker" not in [q.key for q in guide.questions(PAGES[0], off_grid)]
    assert "bus" not in [page.name for page in guide.pages(Answers.model_validate({"set": {"count": 1}}))]


def test_what_is_answered_is_always_asked() -> None:
    """Else nobody could see it or take it back."""
    answers = Answers.model_validate({"set": {"count": 1}, "incoming": {"kind": "none", "breaker": "40 A"}, "bus_nodes": [{"name": "Gateway"}]})
    assert "incoming.breaker" in [q.key for q in guide.questions(PAGES[0], answers)]
    assert "bus" in [page.name for page in guide.pages(answers)]


def test_a_site_of_one_phase_sees_no_word_of_others() -> None:
    """Loads are not asked for a phase, menus have no second one; what a file has all the same is asked."""
    one = Answers.model_validate({"output": {"arrangement": "single-phase"}})
    asked = [q for page in guide.pages(one) for q in guide.questions(page, one)] + list(guide.entry_questions(LOADS, 0, one))
    keys = {q.key for q in asked}
    assert keys.isdisjoint({"set.per_phase", "set.phase_loss", "loads[0].phase", "unit.labels.phase.L2", "unit.labels.arrangement.split-phase"})
    assert "unit.labels.phase.L1" in keys
    for question in asked:
        if question.key not in ("output.arrangement", "incoming.arrangement"):
            how = guide.asked(question)
            assert not re.search(r"split|L2|L3", f"{question.name} {how.why} {how.how} {how.wanted}"), question.key
    strange = Answers.model_validate({"output": {"arrangement": "single-phase"}, "loads": [{"phase": "L2"}]})
    assert "loads[0].phase" in {q.key for q in guide.entry_questions(LOADS, 0, strange)}


@pytest.mark.parametrize(
    ("arrangement", "phases"),
    [
        (None, ("all", "L1", "L2", "L3", "L1-L2", "L2-L3", "L1-L3", "any")),
        ("single-phase", ("L1", "any")),
        ("split-phase", ("all", "L1", "L2", "L1-L2", "any")),
        ("three-phase", ("all", "L1", "L2", "L3", "L1-L2", "L2-L3", "L1-L3", "any")),
    ],
)
def test_a_load_is_offered_the_phases_that_there_are(arrangement: str | None, phases: tuple[str, ...]) -> None:
    answers = Answers.model_validate({"output": {"arrangement": arrangement}} if arrangement else {})
    assert guide.choices(Question("loads[0].phase"), answers) == phases


def test_a_generator_site_is_not_asked_for_the_utility_s_letter() -> None:
    answers = Answers.model_validate({"incoming": {"kind": "generator"}})
    asked = {q.key: guide.asked(q) for page in guide.pages(answers) for q in guide.questions(page, answers)}
    assert [key for key, how in asked.items() if "utility" in f"{how.why} {how.how}"] == []
    assert "manual" in asked["incoming.prospective_fault"].how
    utility = {q.key: guide.asked(q) for page in PAGES for q in guide.questions(page, Answers())}
    assert "utility" in utility["incoming.prospective_fault"].how


def test_the_unit_that_is_taken_is_the_one_of_the_rules() -> None:
    answers = Answers.model_validate({"site": {"rules": "nec"}})
    wall = next(page for page in PAGES if page.name == "wall")
    assert [guide.asked(q).unit for q in guide.questions(wall, answers)] == ["ft", "ft"]
    assert [guide.asked(q).unit for q in guide.questions(wall, Answers())] == ["m", "m"]
    session = typed({"site.rules": "nec", "wall.width": "13"})
    assert session.get("wall.width") == "13 ft"


def test_each_planned_unit_is_asked_for_its_bank() -> None:
    wired = next(page for page in PAGES if page.name == "wired")
    answers = Answers.model_validate({"storage": {"wired": {"L9-1".replace("9", "3"): "B1"}}})
    assert [q.key for q in guide.questions(wired, answers, ("L1-1", "L2-1"))] == [
        "storage.wired.L1-1",
        "storage.wired.L2-1",
        "storage.wired.L3-1",
    ]


@pytest.mark.parametrize(
    ("about", "key", "page"),
    [
        ("unit.transfer_current", "unit.transfer_current", "unit"),
        ("storage.wired.L1-1", "storage.wired.L1-1", "wired"),
        ("storage.wired", "storage.wired", "wired"),
        ("storage.links[B1]", "storage.links", "wired"),
        ("loads[Pump].power", "loads[1].power", "loads"),
        ("loads", "loads", "loads"),
        ("routes[battery].lane", "routes", "routes"),
        ("storage.managed", "storage.chemistry", "bank"),
        ("set.lead", "set.lead", "set"),
        ("wall.places[L1-1]", "wall.places", "wall"),
        ("unit.labels.role.name", "unit.labels.role.name", "words"),
        ("plan.circuits[battery L1-1].conductor", None, None),
        ("solar", "solar", "solar"),
    ],
)
def test_a_finding_leads_to_the_page_that_asks(about: str, key: str | None, page: str | None) -> None:
    answers = Answers.model_validate({"loads": [{"name": "Saw"}, {"name": "Pump"}], "solar": {"voc": "49 V"}})
    found = guide.place_of(about, answers)
    assert found == key
    asks = guide.page_of(found, answers) if found else None
    assert (asks.name if asks else None) == page


def test_a_route_that_leads_nowhere_leads_to_its_entry() -> None:
    """The stops and the contradiction of a real plan: by position, on the page of the routes, with the words of the question."""
    routes = [
        {"carries": "load", "to": "L1_1", "length": "3 m"},
        {"method": "C"},
        {"carries": "load", "method": "C"},
        {"carries": "load", "method": "B1"},
    ]
    answers = Answers.model_validate({"output": {"arrangement": "single-phase"}, "set": {"count": 2}, "routes": routes})
    told = plan(answers, "0123abcd")
    of = {stop.key: (stop.page.name if stop.page else None, stop.name) for stop in guide.stops(told.findings, answers)}
    assert of["routes[0].to"] == ("routes", "Only the one to")
    assert of["routes[1].carries"] == ("routes", "Cables carry")
    notes = guide.notes(told.findings, told.assumed, answers)
    assert [found.code for found in notes.findings["routes[3].method"]] == ["routes-contradict"]
    assert notes.assumed["routes[2].insulation"].value == "pvc"


def test_stops_come_in_the_order_of_the_pages_with_the_words_of_the_questions() -> None:
    findings = [
        stop("x", "plan.circuits[load common]", "t", "r", "s"),
        stop("x", "storage.connection", "t", "r", "s"),
        caution("x", "set.lead", "t", "r", "s"),
        stop("x", "earthing.island_bond", "t", "r", "s"),
    ]
    told = guide.stops(findings, Answers())
    assert [(stop.key, stop.name) for stop in told] == [
        ("earthing.island_bond", "Neutral-earth bond, island"),
        ("storage.connection", "How banks meet units"),
        (None, "t"),
    ]


def test_what_stands_beside_a_question() -> None:
    """A stop is told before anything else, then an assumed value, then an example; an answer in order needs no words."""
    session = Session().set("unit.width", "0.4 m")
    assert isinstance(session, Session)
    by_key = {question.key: question for question in ALL}
    told = guide.notes(
        [stop("x", "earthing.island_bond", "No bond.", "Answer it.", "T21"), note("x", "unit.width", "t", "r", "s")],
        [Assumed("site.ambient_max", "40 degC", "a closed room", "s")],
        session.answers,
    )
    assert guide.remark(by_key["earthing.island_bond"], session, told) == "! stops the plan"
    assert guide.remark(by_key["site.ambient_max"], session, told) == "assumed 40 degC"
    assert guide.remark(by_key["unit.width"], session, told) == ""
    assert guide.remark(by_key["unit.height"], session, told) == "such as 0.5 m"
    lines = guide.explain(by_key["earthing.island_bond"], told)
    assert lines[0] == "STOP: No bond. Answer it."
    assert any(line.startswith("Find out: ") for line in lines)
    assert "Unless you answer, 40 degC is assumed: a closed room." in guide.explain(by_key["site.ambient_max"], told)


def test_a_machine_is_one_answer_of_its_own() -> None:
    """Picked by its name, whatever its letters; what it stands for is no answer, and an unknown one is refused with the nearest."""
    session = Session().set("loads[0].machine", "Washing Machine")
    assert isinstance(session, Session)
    assert session.document["loads"] == [{"machine": "washing machine"}]
    assert field("loads[0].machine").choices[0] == "kettle"
    refused = session.set("loads[0].machine", "wash")
    assert isinstance(refused, Problem)
    assert "the nearest known one is 'washing machine'" in refused.text


def test_a_load_without_a_name_is_found_by_its_machine() -> None:
    answers = Answers.model_validate({"loads": [{"machine": "kettle"}, {"machine": "kettle"}]})
    told = plan(answers, "0123abcd")
    assert {guide.place_of(f.about, answers) for f in told.findings if f.code == "load-power-usual"} == {"loads[0].power", "loads[1].power"}


def test_entries_are_told_in_a_line() -> None:
    assert guide.entry_line(LOADS, {"name": "Pump", "quantity": 2, "power": "2 kW", "note": "x"}) == "Pump, 2 kW, 2 x"
    assert guide.entry_line(LOADS, {"machine": "oven", "name": "Oven"}) == "Oven"
    assert "route" in guide.entry_line(ROUTES, {})
    assert guide.entry_of(next(p for p in PAGES if p.name == "loads"), "loads[2].name") == (LOADS, 2)
    assert guide.entry_of(PAGES[0], "loads[2].name") is None


def refused(session: Session, key: str, text: str) -> str:
    """Why an answer is not accepted."""
    said = guide.answer(session, key, text)
    assert isinstance(said, Problem)
    assert said.key == key
    return said.text


@pytest.mark.parametrize(
    ("text", "shown", "cells", "managed"),
    [
        ("lfp, managed", "lfp, managed", "lfp", True),
        ("LFP, not managed", "lfp, not managed", "lfp", False),
        ("l", "lfp, managed", "lfp", True),
        ("nmc, n", "nmc, not managed", "nmc", False),
        ("agm", "agm", "agm", False),
        ("gel, managed", "gel, managed", "gel", True),
    ],
)
def test_kind_of_cells_and_management_are_one_answer(text: str, shown: str, cells: str, managed: bool) -> None:
    """Both keys as one change, which one undo takes back."""
    session = typed({"storage.chemistry": text})
    assert (session.answers.storage.chemistry, session.answers.storage.managed) == (cells, managed)
    assert guide.text_at(session, "storage.chemistry") == shown
    assert len(session.past) == 1
    assert typed({"storage.chemistry": ""}, session).document == Session().document


def test_a_file_that_answers_one_of_the_two_shows_it() -> None:
    for key, text, shown in (("storage.chemistry", "lfp", "lfp"), ("storage.chemistry", "agm", "agm"), ("storage.managed", "yes", "managed")):
        session = Session().set(key, text)
        assert isinstance(session, Session)
        assert guide.text_at(session, "storage.chemistry") == shown
        assert guide.answer(session, "storage.chemistry", shown) is session  # looked at, not answered
    assert "wanted one of: lfp, managed" in refused(Session(), "storage.chemistry", "uranium")


def test_what_is_assumed_of_management_is_told_where_it_is_asked() -> None:
    session = typed(FIRST).set("storage.managed", "")
    assert isinstance(session, Session)
    told = plan(session.answers, session.revision)
    notes = guide.notes(told.findings, told.assumed, session.answers)
    assert notes.assumed["storage.chemistry"].value == "not managed"
    assert "lithium-unmanaged" in {found.code for found in notes.findings["storage.chemistry"]}


def test_a_load_s_power_is_real_or_apparent_by_its_unit() -> None:
    """One question, two keys: the one that is typed takes the other back, and a bare number is kW."""
    session = typed({"loads[0].name": "Heat pump", "loads[0].power": "4kva"})
    assert session.document["loads"] == [{"name": "Heat pump", "apparent_power": "4 kVA"}]
    assert guide.text_at(session, "loads[0].power") == "4 kVA"
    session = typed({"loads[0].power": "3"}, session)
    assert session.document["loads"] == [{"name": "Heat pump", "power": "3 kW"}]
    session = typed({"loads[0].power": "4 kVA"}, session)
    assert session.document["loads"] == [{"name": "Heat pump", "apparent_power": "4 kVA"}]
    assert typed({"loads[0].power": ""}, session).document["loads"] == [{"name": "Heat pump"}]
    assert "12 W" in refused(session, "loads[0].power", "12")
    assert "VA" in refused(session, "loads[0].power", "4 mva")


def test_a_machine_is_picked_by_what_is_typed_of_it() -> None:
    assert "well pump; " in refused(Session(), "loads[0].machine", "pump")
    assert typed({"loads[0].machine": "wash"}).document["loads"] == [{"machine": "washing machine", "name": "washing machine"}]
    named = typed({"loads[0].machine": "perpetuum mobile"})
    assert named.document["loads"] == [{"name": "perpetuum mobile"}]
    assert "no machine" in refused(named, "loads[0].machine", "perpetuum mobile")
    [alone] = machines.find("kettle")[:1]
    assert typed({"loads[0].machine": "KETTLE"}).document["loads"] == [{"machine": alone, "name": alone}]
    for name in machines.names():
        assert guide.text_at(typed({"loads[0].machine": name}), "loads[0].machine") == name


def test_a_load_called_as_a_machine_is_one() -> None:
    """And a machine without a name gets its own; what is answered of the two stays."""
    session = typed({"loads[0].name": "Oven", "loads[1].name": "Bread oven of the inn"})
    assert session.document["loads"] == [{"name": "Oven", "machine": "oven"}, {"name": "Bread oven of the inn"}]
    assert len(session.past) == 2
    session = typed({"loads[1].machine": "oven", "loads[2].machine": "freezer", "loads[3].machine": "freezer"}, session)
    assert [load.name for load in session.answers.loads] == ["Oven", "Bread oven of the inn", "freezer", "freezer"]
    session = typed({"loads[2].machine": "kettle", "loads[0].name": "freezer"}, session)
    assert [(load.name, load.machine) for load in session.answers.loads[::2]] == [("freezer", "oven"), ("kettle", "kettle")]
    told = plan(session.answers, session.revision)
    assert len({finding.about for finding in told.findings if finding.code == "load-power-usual"}) == 4


@pytest.mark.parametrize(
    ("key", "text", "found"),
    [
        ("output.arrangement", "t", ("three-phase",)),
        ("output.arrangement", "ph", ("single-phase", "split-phase", "three-phase")),
        ("earthing.system", "tn", ("TN-S", "TN-C-S")),
        ("earthing.island_bond", "RELAY", ("changeover relay", "unit relay")),
        ("storage.chemistry", "m", ("lfp, managed", "lfp, not managed", "nmc, managed", "nmc, not managed")),
        ("storage.chemistry", "not", ("lfp, not managed", "nmc, not managed")),
        ("earthing.island_bond", "x", ()),
        ("storage.managed", "", ("yes", "no")),
        ("site.name", "x", ()),
        ("loads[0].phase", "L1", ("L1", "L1-L2", "L1-L3")),
    ],
)
def test_the_choices_that_a_typed_text_may_mean(key: str, text: str, found: tuple[str, ...]) -> None:
    assert guide.matches(Question(key), text) == found


def test_a_machine_is_found_by_other_words_for_it() -> None:
    assert guide.matches(Question("loads[2].machine"), "wash")[0] == "washing machine"
    assert "washing machine" in guide.matches(Question("loads[2].machine"), "laundry")


def test_names_of_the_plan_are_known_in_small_letters() -> None:
    session = typed({"set.lead": "l1-1", "storage.wired.L1-1": "b1", "wall.places[0].tag": "l2-1", "routes[0].to": "b1", "site.name": "b1"})
    assert (session.get("set.lead"), session.get("storage.wired.L1-1"), session.get("wall.places[0].tag")) == ("L1-1", "B1", "L2-1")
    assert (session.get("routes[0].to"), session.get("site.name")) == ("B1", "b1")


def test_several_questions_are_answered_as_one_change() -> None:
    session = guide.answer_all(Session(), {"wall.places[0].what": "unit", "wall.places[0].tag": "l1-1", "wall.places[0].x": ".6"})
    assert isinstance(session, Session)
    assert session.document["wall"]["places"] == [{"what": "unit", "tag": "L1-1", "x": "0.6 m"}]
    assert len(session.past) == 1
    assert isinstance(guide.answer_all(session, {"set.count": "3", "set.lead": "M1"}), Problem)


def test_a_share_that_a_file_holds_as_a_plain_number_is_shown_in_the_unit_of_the_box() -> None:
    document = {"schema": 1, "unit": {"efficiency": 0.93}}
    session = Session(document=document, answers=Answers.model_validate(document))
    assert guide.text_at(session, "unit.efficiency") == "93 %"
    assert guide.answer(session, "unit.efficiency", "93 %") is session


@pytest.mark.parametrize(
    ("column", "text", "meant"),
    [("x", '"', "0.5 m"), ("x", "+0.6", "1.1 m"), ("x", "+ 60cm", "1.1 m"), ("y", "-,8", "0.9 m"), ("what", '"', "unit"), ("x", "0.6", "0.6"), ("tag", "+1", "+1")],
)
def test_a_cell_may_speak_of_the_row_above(column: str, text: str, meant: str) -> None:
    session = typed({"wall.places[0].what": "unit", "wall.places[0].x": ".5", "wall.places[0].y": "1.7"})
    assert guide.relative(session, PLACES, 1, column, text) == meant


def test_a_cell_that_speaks_of_nothing_is_refused() -> None:
    session = typed({"wall.places[0].x": ".5"})
    for place, column, text in ((0, "x", '"'), (0, "x", "+1"), (1, "y", "+1"), (1, "x", "-0.6"), (1, "x", "+600")):
        with pytest.raises(Refused):
            guide.relative(session, PLACES, place, column, text)
    session = typed({"loads[0].power": "2"})
    assert guide.relative(session, LOADS, 1, "power", '"') == "2 kW"
    assert guide.relative(session, LOADS, 1, "power", "+1") == "+1"  # more than above is said of places alone


def test_under_the_nec_further_is_in_feet() -> None:
    session = typed({"site.rules": "nec", "wall.places[0].x": "2"})
    assert guide.relative(session, PLACES, 1, "x", "+2") == "4 ft"


def test_what_hangs_by_assumption_is_a_row_until_it_is_answered() -> None:
    """Of six units and a bank each is offered with its place; one that is answered is no longer."""
    session = typed(FIRST)
    told = plan(session.answers, session.revision)
    rows = guide.offered(PLACES, told.parts.wall.places, session.answers)
    assert [row["tag"] for row in rows if row["what"] == "unit"] == ["L1-1", "L1-2", "L2-1", "L2-2", "L3-1", "L3-2"]
    assert all(re.fullmatch(r"[\d.]+ m", row[name]) for row in rows for name in ("x", "y", "width", "height"))
    assert "tag" not in next(row for row in rows if row["what"] == "load-board")
    session = typed({"wall.places[0].what": "unit", "wall.places[0].tag": "L1-1", "wall.places[0].x": ".5"}, session)
    told = plan(session.answers, session.revision)
    left = guide.offered(PLACES, told.parts.wall.places, session.answers)
    assert [row.get("tag", row["what"]) for row in left] == [row.get("tag", row["what"]) for row in rows if row.get("tag") != "L1-1"]
    assert guide.offered(LOADS, told.parts.wall.places, session.answers) == ()


@pytest.mark.parametrize(
    ("loads", "total"),
    [
        ([], ""),
        ([{"name": "Saw", "power": "2 kW", "quantity": 3, "energy": "1 kWh/day"}], "All: 6 kW, 3 kWh/day"),
        ([{"name": "Saw", "power": "2 kW"}, {"name": "Lamp"}], "All: 2 kW, 0 kWh/day; no power: 1, no energy: 2"),
        ([{"apparent_power": "4 kVA", "power_factor": 0.75, "energy": "8 kWh/day"}], "All: 3 kW, 8 kWh/day"),
        ([{"apparent_power": "4 kVA", "energy": "8 kWh/day"}], "All: 4 kW, 8 kWh/day (usual values in it)"),
    ],
)
def test_the_total_of_the_loads(loads: list[dict[str, object]], total: str) -> None:
    assert guide.totals(LOADS, Answers.model_validate({"loads": loads})) == total
    assert guide.totals(ROUTES, Answers.model_validate({"loads": loads})) == ""


def test_usual_values_of_machines_are_in_the_total_and_told() -> None:
    kettle = machines.machine("kettle")
    assert kettle is not None
    assert (kettle.stands_for["power"], kettle.stands_for["energy"]) == ("3 kW", "1 kWh/day")
    answers = Answers.model_validate({"loads": [{"machine": "kettle", "quantity": 2}, {"machine": "kettle", "power": "1 kW"}]})
    assert guide.totals(LOADS, answers) == "All: 7 kW, 3 kWh/day (usual values in it)"


def test_every_question_has_a_short_name_of_its_own_and_every_name_is_asked() -> None:
    """The name stands with the model; what has none of the interview's is asked as another question, or is a table."""
    asked = {q.key for q in ALL if not q.key.startswith("unit.labels")} | {f"{table.key}.{q.key}" for table in TABLES for q in table.questions}
    assert set(titles()) == asked | {table.key for table in TABLES} | {"storage.managed", "storage.wired"}
    assert {table.key for table in TABLES} == set(tables())
    for key, title in titles().items():
        assert len(title) <= 26, key
        assert re.fullmatch(r"[A-Z][^.?_\[\]]*", title), key
    assert [guide.name_of(f"unit.labels.role{rest}") for rest in ("", ".name", ".lead")] == ["The maker's words: role", "role", "role: lead"]


def test_what_a_stage_takes_has_a_name() -> None:
    taken = {str(row["key"]) for row in table_of("taken").rows}
    assert [key for key in taken if title_of(key) == key] == []
    assert title_of("plan.hours.sunrise") == "Sunrise"


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("Answer storage.fuse_factor, or wait.", ("storage.fuse_factor",)),
        ('answer containment = "solid" for it', ("routes[].containment",)),
        ('write it down: [[storage.links]] bank = "B1", unit = "L1-1".', ("storage.links[].bank", "storage.links[].unit")),
        ("loads[Old pump].power, and unit.dc_min; unit.dc_min", ("loads[].power", "unit.dc_min")),
        ("Shorten the leads.", ()),
    ],
)
def test_the_keys_that_a_sentence_speaks_of(text: str, keys: tuple[str, ...]) -> None:
    assert keys_in(text) == keys


def test_a_key_is_called_by_its_question() -> None:
    assert guide.name_of("storage.managed") == "Kind of cells"
    assert guide.name_of("loads[1].power") == "Power of one, running, load 2"
    assert guide.name_of("wall.places[0]") == "Place 1"
    assert guide.name_of("storage.wired.L1-1") == "Bank of L1-1"
    session = typed({"bus_nodes[0].name": "Gateway"})
    assert guide.row_text(session, "bus_nodes[0]") == guide.entry_line(BUS_NODES, {"name": "Gateway"}) == "Gateway"
    assert guide.row_text(session, "bus_nodes[1]") == guide.row_text(session, "wall.width") == ""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Write it under earthing.bond_at.", 'Write it under "Where the bond is".'),
        ("and answer managed = true.", 'and answer "Kind of cells" = managed.'),
        ('write it down: [[storage.links]] bank = "B2", unit = "L2-1".', 'write it down: "Data cables from banks": "From bank" = "B2", "To unit" = "L2-1".'),
        ("write it under storage.wired.", 'write it under "The bank as wired".'),
        ("storage.wired.L1-1 is B2", '"Bank of L1-1" is B2'),
        ("loads[Old pump].power is high", '"Power of one, running" (Old pump) is high'),
        ("the obstacle of wall.places[B2] and L2-1", 'the obstacle of "What hangs where" (B2) and L2-1'),
        ("answer lead_loss where", 'answer "If the lead is lost" where'),
        ("(phase = any), or", '("Phase" = any), or'),
        ("as T6 has it", "as T6 (fault current in island operation) has it"),
        ("Take the fuse's total I2t: k2 S2 of each, 2.5 mm2, e.g. this.", "Take the fuse's total I2t: k2 S2 of each, 2.5 mm2, e.g. this."),
    ],
)
def test_a_sentence_speaks_of_questions(text: str, said: str) -> None:
    assert guide.spoken(text) == said


@pytest.mark.parametrize("rules", ["iec", "nec"])
def test_help_speaks_of_questions(rules: str) -> None:
    """Every question says in plain words why it is asked, how to find out, and what may be written."""
    answers = Answers.model_validate({"site": {"rules": rules}, "solar": {"voc": "49 V"}})
    every = [q for page in guide.pages(answers) for q in guide.questions(page, answers, ("L1-1",))]
    every += [q for table in TABLES for q in guide.entry_questions(table, 0, answers)]
    told = plan(answers, "0123abcd")
    for question in every:
        if question.key.startswith("unit.labels"):
            continue
        lines = guide.explain(question, guide.notes(told.findings, told.assumed, answers))
        assert lines[0], question.key
        assert lines[-1].startswith(("Write ", "Choose ", "CAUTION: ", "NOTE: ", "STOP: ")), question.key
        unit = guide.asked(question).unit
        assert not unit or any(unit in line for line in lines), question.key
        said = " ".join(lines).replace("e.g.", "")
        assert not re.search(r"\b[a-z]+_\w+|\b[a-z]\w*\.[a-z]\w+|\[\[| = true", said), (question.key, said)


def every_finding() -> Iterator[Finding]:
    """Those of the sites that raise every finding there is, and of plausible sites with holes in them."""
    for twin in TWINS:
        yield from noticed(twin.site)
    for number in range(25):
        document, dice = sites.site(number), Random(number)
        gone = sites.removable(document)
        for few in (0, 3, 12):
            yield from plan(Answers.model_validate(sites.without(document, set(dice.sample(gone, min(few, len(gone)))))), "0123abcd").findings


def test_no_finding_speaks_of_keys_of_the_file() -> None:
    """T and S numbers stand only with their name, and what is told of a question has its words."""
    seen: dict[str, str] = {}
    for finding in every_finding():
        for text in (finding.text, finding.remedy):
            seen[text] = finding.code
    assert len(set(seen.values())) > 150
    for text, code in seen.items():
        said = guide.spoken(text)
        names = " ".join(re.findall(r"\b[a-z]+_\w+|\b[a-z]\w*\.[a-z]\w+(?!\.)|\[\[| = true| = false", said.replace("e.g.", "")))
        assert not names, (code, said)
        assert not re.search(r"\b[TS]\d{1,2}\b(?! [(\d]|: )", said.replace("k2 S2", "")), (code, said)


def test_keys_are_read_by_one_grammar() -> None:
    assert path_of("storage.wired.L1-1") == ("storage", "wired", "L1-1")
    assert path_of("wall.places[12].x") == ("wall", "places", 12, "x")
    with pytest.raises(ValueError):
        path_of("loads[a]")
