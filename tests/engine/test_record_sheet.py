"""The record: the heads of the standards with the steps that hold their readings, settings as left, signatures; and the schedule of maintenance."""

from __future__ import annotations

import re

import pytest

from engine.planner import Planned
from engine.sheets.cover import decisions
from engine.sheets.folder import A4, LETTER
from engine.sheets.folder.blocks import Chapter, Signed, Together
from engine.sheets.folder.chapters import chapters
from engine.sheets.folder.circumstances import circumstances
from engine.sheets.folder.maintenance import limit_of, maintenance
from engine.sheets.folder.record import PAPERS, places, record
from engine.tables import table
from engine.tables.handover import heads, held, tasks
from tests.engine.chapter_words import pages, rows_of, site, tables, text
from tests.engine.paper_sites import NAMES, planned, sample

WORDS = {"solar", "parallel", "incoming", "utility", "generator", "several", "turning", "lead", "flooded", "sealed", "lithium", "managed", "data", "tt"}


def chapter(planned: Planned) -> Chapter:
    (made,) = record(planned, A4)
    return made


def kept(planned: Planned) -> Chapter:
    (made,) = maintenance(planned, A4)
    return made


def signing(made: Chapter) -> Signed:
    return next(inner for block in made.blocks if isinstance(block, Together) for inner in block.blocks if isinstance(inner, Signed))


def clauses(planned: Planned) -> set[str]:
    return {head.clause for head in heads(planned.facts.rules, circumstances(planned))}


# --- the heads ---


def test_iec_has_every_inspection_and_test_of_its_verification() -> None:
    """IEC 60364-6:2016, 6.4.2.3 a to p and 6.4.3.2 to 6.4.3.11 (from memory)."""
    found = clauses(sample("harbour-works"))
    assert {f"6.4.2.3 {letter}" for letter in "abcdefghijklmnop"} <= found
    assert {f"6.4.3.{number}" for number in range(2, 12)} <= found
    assert not any("62446" in clause for clause in found)


def test_solar_brings_the_documents_and_tests_of_its_own_standard() -> None:
    """IEC 62446-1:2016, 4.2 to 4.9 and 6.1 to 6.7 (from memory)."""
    found = clauses(site("solar"))
    assert {f"62446-1 4.{number}" for number in range(3, 10)} | {f"62446-1 4.2.{number}" for number in (1, 2, 3)} <= found
    assert {f"62446-1 6.{number}" for number in (1, 2, 4, 5, 6, 7)} <= found
    assert "62446-1 6.3" not in found
    assert "IEC 62446-1" in text(chapter(site("solar")))


def test_the_code_has_its_own_words_and_its_inspector() -> None:
    made = chapter(sample("copper-creek"))
    found = clauses(sample("copper-creek"))
    assert {"110.3(B)", "110.14(D)", "706.7(A)", "706.7(B)", "706.15", "110.24"} <= found
    assert not any(clause.startswith(("6.4", "60364", "62446")) for clause in found)
    signed = signing(made)
    assert "inspector" in signed.who
    assert "authority having jurisdiction" in text(made)
    assert "inspector" not in signing(chapter(sample("alder-farm"))).who


@pytest.mark.parametrize("name", [*NAMES, "solar", "island", "acid", "one unit"])
def test_every_head_has_its_page_in_the_folder(name: str) -> None:
    plan = sample(name) if name in NAMES else site(name)
    there = {made.name for made in chapters(plan, A4)}
    for head in heads(plan.facts.rules, circumstances(plan)):
        papers = set(plan.parts.units.tags) if head.page == "units" else {head.page}
        assert head.page in PAPERS
        assert head.page == "attached" or papers <= there, head


def test_no_head_names_a_step_that_no_plan_has() -> None:
    plans = [*map(sample, NAMES), site("solar")]
    known = {step.id.partition("@")[0] for plan in plans for step in plan.parts.procedure.steps}
    named = {step for row in table("handover_heads").rows for step in str(row["steps"] or "").split()}
    named |= {str(row["step"]) for row in table("record_limits").rows}
    assert len(named) > 40
    assert named <= known


@pytest.mark.parametrize("name", NAMES)
def test_what_is_tested_has_its_steps(name: str) -> None:
    """A head that names steps finds one; only insulating floors, on which no plan relies, has none."""
    plan = sample(name)
    tests = [head for head in heads(plan.facts.rules, circumstances(plan)) if head.of == "test"]
    assert [head.clause for head in tests if not places(plan, head.steps)] == (["6.4.3.5"] if plan.facts.rules == "iec" else [])


def test_numbers_of_steps_are_those_of_the_order_of_work() -> None:
    plan = sample("ridge-lodge")
    numbers = {step.id: step.place for step in plan.parts.procedure.steps}
    assert places(plan, ["trip-alone"]) == str(numbers["trip-alone@set"])
    assert places(plan, ["load-run", "load-continuity", "incoming-continuity", "read-gear"]) == f"{numbers['read-gear@set']}, {numbers['load-continuity@L1-1']} to {numbers['load-run@set']}"
    assert places(plan, ["switch-on", "display"]) == "56, 57"
    assert places(plan, ["no such step"]) == ""


def test_a_clause_from_memory_is_marked_and_one_that_was_seen_is_not() -> None:
    found = {row[1] for row in rows_of(chapter(sample("copper-creek"))) if len(row) == 6}
    assert "110.3(B)*" in found
    assert "110.14(D)" in found
    assert "from memory" in text(chapter(sample("copper-creek")))


@pytest.mark.parametrize("named", ["handover_heads", "record_limits", "maintenance"])
def test_circumstances_of_the_tables_are_words_that_a_site_can_have(named: str) -> None:
    used = {word for row in table(named).rows for word in str(row["when"] or "").split()}
    assert used <= WORDS
    seen = set().union(*(circumstances(plan) for plan in (*map(sample, NAMES), site("acid"), site("solar"), site("sealed"))))
    assert used - {"parallel"} <= seen <= WORDS


# --- the pages ---


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("name", NAMES)
def test_four_pages_are_enough_also_for_twelve_units(name: str, paper: object) -> None:
    assert pages(chapter(sample(name)), paper) <= 4
    (schedule,) = maintenance(sample(name), paper)
    assert pages(schedule, paper) <= 2


def test_a_stopped_plan_is_not_handed_over() -> None:
    for name in ("stopped", "nothing known"):
        assert record(site(name), A4) == maintenance(site(name), A4) == ()


@pytest.mark.parametrize("name", NAMES)
def test_no_reading_is_copied_and_the_limits_are_sentences_of_the_plan(name: str) -> None:
    plan = sample(name)
    limits = next(t for t in tables(chapter(plan)) if t.head[2:3] == ("limit",))
    expects = {step.expect for step in plan.parts.procedure.steps}
    told = [row.cells[2] for row in limits.rows if not str(row.cells[0]).startswith("voltage drop")]
    assert len(told) == len(held(plan.facts.rules, circumstances(plan)))
    assert set(told) <= expects


def test_the_largest_drop_of_each_kind_stands_beside_what_is_allowed() -> None:
    plan = sample("ridge-lodge")
    rows = {row[0]: row[2] for row in rows_of(chapter(plan)) if row[0].startswith("voltage drop, ")}
    load = {c.name: c.drop for c in plan.plan.circuits if c.kind == "load" and c.drop}
    most = max(load, key=lambda name: float(str(load[name]).split()[0]))
    assert rows["voltage drop, load"] == f"{most} {load[most]}, at most 1 %"
    assert set(rows) == {"voltage drop, bar", "voltage drop, battery", "voltage drop, load", "voltage drop, incoming"}


def test_every_setting_of_every_unit_has_what_is_planned_and_room_for_what_is_left() -> None:
    plan = sample("harbour-works")
    made = [t for t in tables(chapter(plan)) if t.head[:2] == ("setting", "planned")]
    assert [tag for t in made for tag in t.head[2:]] == list(plan.parts.units.tags)
    for shown in made:
        rows = {"".join(run.text for run in row.cells[0]): row for row in shown.rows}
        assert {name.replace("_", " ").replace("low", "low battery") for name in plan.parts.settings.decides} <= set(rows)
        assert {"serial number", "firmware"} <= set(rows)
        assert rows["storage mode"].cells[1] == "separate CONFIRM"
        for tag, cell in zip(shown.head[2:], rows["phase"].cells[2:], strict=True):
            assert cell == str(tag).partition("-")[0]
        assert rows["charge limit"].cells[1:] == ("80 A", *("",) * 6)


def test_limits_that_differ_stand_with_each_unit() -> None:
    plan = planned({"storage.wired": {"L1-1": "B1", "L2-1": "B1", "L3-1": "B2"}, "storage.links": [{"bank": "B1", "unit": "L1-1"}, {"bank": "B2", "unit": "L3-1"}], "storage.module.charge_current": "20 A"}, without=("storage.connection",))
    shown = next(t for t in tables(chapter(plan)) if t.head[:2] == ("setting", "planned"))
    charge = next(row for row in shown.rows if "".join(run.text for run in row.cells[0]) == "charge limit")
    assert charge.cells[1:] == ("each its own", *(unit.charge_limit for unit in plan.plan.units))
    assert len({unit.charge_limit for unit in plan.plan.units}) == 2


def test_a_value_that_the_plan_lacks_is_not_left_blank() -> None:
    """A single-phase supply passes the units of L1 alone: nobody can say what the others may take."""
    plan = planned({"incoming.arrangement": "single-phase"})
    shown = next(t for t in tables(chapter(plan)) if t.head[:2] == ("setting", "planned"))
    limit = next(row for row in shown.rows if "".join(run.text for run in row.cells[0]) == "incoming limit")
    assert limit.cells[1:] == ("each its own", plan.plan.units[0].incoming_limit, "NOT KNOWN", "NOT KNOWN")


@pytest.mark.parametrize("name", NAMES)
def test_every_instrument_of_the_steps_has_a_line_for_its_calibration(name: str) -> None:
    plan = sample(name)
    shown = next(t for t in tables(chapter(plan)) if t.head[0] == "instrument")
    assert [cell for k in (0, 3) for row in shown.rows if (cell := row.cells[k])] == list(plan.parts.procedure.instruments)
    tools = next(step for step in plan.parts.procedure.steps if step.id == "tools@set")
    assert all(instrument in tools.do for instrument in plan.parts.procedure.instruments)
    assert ("rotation meter" in plan.parts.procedure.instruments) is ("turning" in circumstances(plan))


def test_decisions_are_taken_on_the_cover_and_changes_are_planned_again() -> None:
    plan = sample("ridge-lodge")
    made = text(chapter(plan))
    assert f"[ ]All {len(decisions(plan))} decisions on the cover are taken and signed." in made
    assert "planned again before power" in made
    assert all(who in made.splitlines() for who in ("designer", "installer", "tester", "licensed person", "owner"))


def test_a_name_that_would_mislead_is_made_harmless() -> None:
    plan = planned({"site.name": "Mill\u202e<b>House", "unit.model": "Ex\x1bample"})
    made = text(chapter(plan))
    assert "\u202e" not in made
    assert "\x1b" not in made
    assert "Mill\ufffd<b>House" in made


# --- maintenance ---


def test_battery_is_looked_after_by_its_kind() -> None:
    flooded, sealed, lithium = (text(kept(site(name))) for name in ("acid", "sealed", "lithium"))
    assert "distilled water" in flooded
    assert "density" in flooded
    assert "swollen, cracked, wet" in sealed
    assert "density" not in sealed
    assert "events kept" in lithium
    assert "air of the bank" in flooded
    assert "air of the bank" not in lithium
    assert f"two of {site('acid').plan.banks[0].opening} each" in flooded


def test_what_is_not_there_is_not_looked_after() -> None:
    island = text(kept(site("dark island")))
    assert "transfer" not in island
    assert "strings" not in island
    assert "strings" in text(kept(site("solar")))
    assert "starter battery" in text(kept(sample("ridge-lodge")))
    assert "earth electrode" in text(kept(sample("ferry-house")))
    assert "data chain" not in text(kept(site("one unit")))
    assert "data chain" in text(kept(site("lithium")))


def test_every_interval_has_a_source_or_is_told_as_practice() -> None:
    for name in NAMES:
        plan = sample(name)
        found = tasks(plan.facts.rules, circumstances(plan))
        sources = list(dict.fromkeys(task.source for task in found if task.source))
        made = text(kept(plan))
        assert len(found) > 15
        assert all(f"[{number}] {source}" in made for number, source in enumerate(sources, 1))
        assert "all others common practice, no source." in made
        marks = [int(mark) for row in rows_of(kept(plan)) if len(row) == 4 for mark in re.findall(r"\[(\d)\]", row[1])]
        assert sorted(set(marks)) == list(range(1, len(sources) + 1))


def test_the_code_and_the_standard_differ_in_the_test_button() -> None:
    assert [task.often for task in tasks("iec", frozenset()) if "test button" in task.how] == ["every six months"]
    assert [task.often for task in tasks("nec", frozenset()) if "test button" in task.how] == ["monthly"]


def test_limits_are_those_of_the_order_of_work() -> None:
    plan = site("solar")
    assert limit_of(plan, "insulation") == "1 Mohm or more at 500 V DC"
    assert limit_of(plan, "trip") == "within 300 ms (time-delayed, type S: 130 to 500 ms) at its rated residual current"
    assert limit_of(plan, "joint").startswith("not above the mean of like joints")
    assert limit_of(plan, "as left") == "as left"
    assert any(limit_of(plan, "array") in step.expect for step in plan.parts.procedure.steps)


def test_the_log_fills_the_page_that_it_begins_on() -> None:
    for paper in (A4, LETTER):
        for name in NAMES:
            (made,) = maintenance(sample(name), paper)
            assert len(tables(made)[-1].rows) >= 3
