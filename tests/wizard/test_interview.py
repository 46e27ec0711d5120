"""The order of the interview and what it says of the answers, without a terminal."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from engine.facts import Assumed
from engine.findings import caution, note, stop
from engine.planner import plan
from engine.site import Answers
from wizard import interview
from wizard.fields import field, path_of
from wizard.pages import LOADS, MEANINGS, PAGES, ROUTES
from wizard.session import Session

ALL = [question for page in PAGES for question in page.questions]
TABLES = [page.table for page in PAGES if page.table]


def test_every_question_has_a_short_name_a_reason_and_a_form() -> None:
    """Names fit their column, every key exists in the model, and the model says why it is asked."""
    for question in [*ALL, *(q for table in TABLES for q in interview.entry_questions(table, 0))]:
        how = interview.asked(question)
        assert how.why, question.key
        assert how.wanted, question.key
        if not question.key.startswith("unit.labels"):
            assert len(question.name) <= 26, question.name


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

    asked = {question.key for question in ALL} | {f"{table.key}.{question.key}" for table in TABLES for question in table.questions}
    assert set(keys(Answers)) == {key for key in asked if not key.startswith("unit.labels")}


def test_meanings_belong_to_choices_that_exist() -> None:
    for key, meanings in MEANINGS.items():
        table, _, name = key.partition(".")
        whole = f"{table}[0].{name}" if table in ("loads", "routes", "bus_nodes") else key
        assert set(meanings) <= set(field(whole).choices)


FIRST = {
    "output.arrangement": "three-phase",
    "set.count": "6",
    "unit.real_power": "5 kW",
    "unit.dc_max": "60 V",
    "unit.transfer_current": "50 A",
    "incoming.breaker": "40 A",
    "earthing.island_bond": "changeover relay",
    "storage.connection": "common-bank",
    "storage.chemistry": "lfp",
    "storage.managed": "yes",
    "storage.module.voltage": "51.2 V",
    "storage.module.capacity": "100 Ah",
    "storage.module.charge_current": "100 A",
    "storage.module.discharge_current": "100 A",
    "storage.module.resistance": "12 mohm",
    "storage.bank.parallel": "8",
}


def stopped(answers: Mapping[str, str]) -> set[str]:
    """What stops the plan of these answers."""
    session = Session()
    for key, text in answers.items():
        said = session.set(key, text)
        assert isinstance(said, Session), (key, text)
        session = said
    return {finding.code for finding in plan(session.answers, session.revision).findings if finding.level.value == "stop"}


def test_what_a_first_plan_needs_is_asked_first_and_is_enough() -> None:
    """S31: what stands on no plate and in no letter stops nothing; and each of what is asked first is needed."""
    assert set(interview.ESSENTIAL) == set(FIRST)
    assert stopped(FIRST) == set()
    spare = {key for key in FIRST if not stopped({k: text for k, text in FIRST.items() if k != key})}
    assert spare == set()


def test_essential_questions_come_first_on_every_page() -> None:
    assert PAGES[0].name == "first"
    assert PAGES[-1].name == "review"
    for page in PAGES[1:]:
        marks = [
            question.essential
            for question in page.questions
            if question.key not in ("earthing.bond_at", "earthing.system", "incoming.kind")
        ]
        assert marks == sorted(marks, reverse=True), page.name


def test_pages_and_questions_apply_by_what_is_answered() -> None:
    bare, off_grid = Answers(), Answers.model_validate({"incoming": {"kind": "none"}})
    assert "inputs" not in [page.name for page in interview.pages(bare)]
    assert "inputs" in [page.name for page in interview.pages(Answers.model_validate({"solar": {"voc": "49 V"}}))]
    assert "incoming.breaker" in [q.key for q in interview.questions(PAGES[0], bare)]
    assert "incoming.breaker" not in [q.key for q in interview.questions(PAGES[0], off_grid)]


def test_each_planned_unit_is_asked_for_its_bank() -> None:
    wired = next(page for page in PAGES if page.name == "wired")
    answers = Answers.model_validate({"storage": {"wired": {"L9-1".replace("9", "3"): "B1"}}})
    assert [q.key for q in interview.questions(wired, answers, ("L1-1", "L2-1"))] == [
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
        ("wall.places[L1-1]", "wall.places", "wall"),
        ("unit.labels.role.name", "unit.labels.role.name", "words"),
        ("plan.circuits[battery L1-1].conductor", None, None),
        ("solar", "solar", "solar"),
    ],
)
def test_a_finding_leads_to_the_page_that_asks(about: str, key: str | None, page: str | None) -> None:
    answers = Answers.model_validate({"loads": [{"name": "Saw"}, {"name": "Pump"}], "solar": {"voc": "49 V"}})
    found = interview.place_of(about, answers)
    assert found == key
    asks = interview.page_of(found, answers) if found else None
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
    of = {stop.key: (stop.page.name if stop.page else None, stop.name) for stop in interview.stops(told.findings, answers)}
    assert of["routes[0].to"] == ("routes", "Only the one to")
    assert of["routes[1].carries"] == ("routes", "Cables carry")
    notes = interview.notes(told.findings, told.assumed, answers)
    assert [found.code for found in notes.findings["routes[3].method"]] == ["routes-contradict"]
    assert notes.assumed["routes[2].insulation"].value == "pvc"


def test_stops_come_in_the_order_of_the_pages_with_the_words_of_the_questions() -> None:
    findings = [
        stop("x", "plan.circuits[load common]", "t", "r", "s"),
        stop("x", "storage.connection", "t", "r", "s"),
        caution("x", "set.lead", "t", "r", "s"),
        stop("x", "earthing.island_bond", "t", "r", "s"),
    ]
    told = interview.stops(findings, Answers())
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
    told = interview.notes(
        [stop("x", "earthing.island_bond", "No bond.", "Answer it.", "T21"), note("x", "unit.width", "t", "r", "s")],
        [Assumed("site.ambient_max", "40 degC", "a closed room", "s")],
        session.answers,
    )
    assert interview.remark(by_key["earthing.island_bond"], session, told) == "! stops the plan"
    assert interview.remark(by_key["site.ambient_max"], session, told) == "assumed 40 degC"
    assert interview.remark(by_key["unit.width"], session, told) == ""
    assert interview.remark(by_key["unit.height"], session, told) == "such as 0.5 m"
    lines = interview.explain(by_key["earthing.island_bond"], told)
    assert lines[0] == "STOP: No bond. Answer it."
    assert any(line.startswith("Find out: ") for line in lines)
    assert "Unless you answer, 40 degC is assumed: a closed room." in interview.explain(by_key["site.ambient_max"], told)


def test_picking_a_machine_answers_for_it() -> None:
    """One pick fills in power factor and starting current, one undo takes them back, a correction leaves the machine."""
    session = Session().set("loads[0].name", "Pump")
    assert isinstance(session, Session)
    picked = interview.answer(session, "loads[0].machine", "motor or pump, started direct")
    assert isinstance(picked, Session)
    load = picked.answers.loads[0]
    assert (load.power_factor, load.motor, load.start_multiple) == (0.8, True, 6.0)
    assert interview.text_at(picked, "loads[0].machine") == "motor or pump, started direct"
    assert picked.undo().document == session.document
    corrected = picked.set("loads[0].start_multiple", "5")
    assert isinstance(corrected, Session)
    assert interview.text_at(corrected, "loads[0].machine") == ""


def test_every_machine_is_accepted_by_the_model() -> None:
    for name, _ in interview.machines():
        assert isinstance(interview.answer(Session(), "loads[0].machine", name), Session), name


def test_entries_are_told_in_a_line() -> None:
    assert interview.entry_line(LOADS, {"name": "Pump", "quantity": 2, "power": "2 kW", "note": "x"}) == "2 x, Pump, 2 kW"
    assert "route" in interview.entry_line(ROUTES, {})
    assert interview.entry_of(next(p for p in PAGES if p.name == "loads"), "loads[2].name") == (LOADS, 2)
    assert interview.entry_of(PAGES[0], "loads[2].name") is None


def test_keys_are_read_by_one_grammar() -> None:
    assert path_of("storage.wired.L1-1") == ("storage", "wired", "L1-1")
    assert path_of("wall.places[12].x") == ("wall", "places", 12, "x")
    with pytest.raises(ValueError):
        path_of("loads[a]")
