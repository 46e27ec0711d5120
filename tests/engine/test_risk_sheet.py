"""Risk and emergency: what is done first, in which order all is opened, what can hurt, and a line for every padlock."""

from __future__ import annotations

import pytest

from engine.planner import Planned
from engine.sheets.folder import A4, LETTER
from engine.sheets.folder.blocks import Chapter
from engine.sheets.folder.isolation import isolators, opening
from engine.sheets.folder.risk import UNKNOWN, risk
from engine.tables.handover import gloves
from tests.engine.chapter_words import SUN, pages, rows_of, site, tables, text
from tests.engine.paper_sites import NAMES, planned, sample


def chapter(planned: Planned) -> Chapter:
    (made,) = risk(planned, A4)
    return made


def acts(planned: Planned) -> list[str]:
    return [act.what for act in opening(planned)]


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("name", NAMES)
def test_two_pages_are_enough_also_for_twelve_units(name: str, paper: object) -> None:
    assert pages(chapter(sample(name)), paper) == 2


@pytest.mark.parametrize("name", NAMES)
def test_every_isolator_has_a_line_in_the_register_as_many_as_the_order_of_work_has_padlocks(name: str) -> None:
    plan = sample(name)
    register = tables(chapter(plan))[-1]
    names = [cell for k in (0, 5) for row in register.rows if (cell := row.cells[k])]
    lock = next(step for step in plan.parts.procedure.steps if step.id == "lock@set")
    written = ["".join(run.text for run in cell) for cell in names]
    assert f"{len(isolators(plan))} open, " in lock.expect
    assert [n for n in written if not n.startswith("generator")] == [isolator.name for isolator in isolators(plan)]
    assert all(not any(row.cells[1:5]) and not any(row.cells[6:]) for row in register.rows)
    assert len(set(written)) == len(written)
    assert ("generator, start" in written) is (plan.facts.incoming_kind == "generator")


def test_inputs_of_one_unit_have_a_lock_each() -> None:
    names = [isolator.name for isolator in isolators(site("solar"))]
    assert {"solar L1-1, input 1", "solar L1-1, input 2", "solar L3-1, input 2"} <= set(names)


def test_loads_first_then_the_supply_then_units_then_solar_data_before_any_battery() -> None:
    found = acts(site("solar"))
    order = ["Loads", "Utility", "Units", "Solar", "Open the load breakers", "Data cables", "Battery", "Then open the battery isolator (battery B1)", "Capacitors"]
    assert [next(k for k, act in enumerate(found) if act.startswith(begins)) for begins in order] == list(range(len(order)))


@pytest.mark.parametrize("name", NAMES)
def test_data_is_out_before_any_battery_isolator_and_nobody_but_the_licensed_opens_one(name: str) -> None:
    found = opening(sample(name))
    data = next(k for k, act in enumerate(found) if act.what.startswith("Data cables"))
    batteries = [k for k, act in enumerate(found) if "battery isolator" in act.what and k != data]
    assert batteries
    assert all(k > data and found[k].who == "licensed" for k in batteries)
    assert found[data].who == "licensed"
    assert found[0].who == "anyone shown"


def test_where_nobody_knows_the_units_data_comes_out_all_the_same() -> None:
    assert any(act.startswith("Data cables") for act in acts(site("nothing known")))


def test_a_unit_alone_without_management_has_no_data_cable() -> None:
    changes = {"output.arrangement": "single-phase", "set.count": 1, "set.per_phase": [1], "storage.wired": {"L1-1": "B1"}, "storage.chemistry": "agm", "storage.managed": False}
    alone = planned(changes, without=("storage.links",))
    assert not any(act.startswith("Data") for act in acts(alone))
    assert acts(alone)[0] == "Loads: open the load breaker (load L1-1)."


def test_a_generator_is_stopped_and_its_start_locked() -> None:
    assert any("Stop the generator; its start off, and locked." in act for act in acts(sample("ridge-lodge")))
    assert not any("generator" in act for act in acts(sample("harbour-works")))


def test_no_supply_no_row_of_it() -> None:
    made = text(chapter(site("island")))
    assert "incoming" not in made
    assert "Utility" not in made
    assert "strings in daylight" in made


@pytest.mark.parametrize(("name", "lithium", "acid"), [("lithium", True, False), ("acid", False, True), ("sealed", False, True), ("nothing known", True, True)])
def test_first_aid_is_for_the_cells_that_are_there_or_for_both(name: str, lithium: bool, acid: bool) -> None:
    made = text(chapter(site(name)))
    assert ("Never open it, move it or charge it." in made) is lithium
    assert ("strew soda (sodium bicarbonate)" in made) is acid
    assert ("acid gloves" in made) is acid
    assert ("both hold" in made) is (lithium and acid)


def test_the_air_of_an_acid_bank_is_that_of_the_plan() -> None:
    plan = site("acid")
    (bank,) = plan.plan.banks
    assert bank.ventilation
    assert f"B1 {bank.ventilation}, two openings of {bank.opening} each" in text(chapter(plan))


def test_faults_at_each_place_are_those_of_the_plan() -> None:
    plan = sample("ridge-lodge")
    found = {row[0]: row for row in rows_of(chapter(plan)) if len(row) == 4}
    assert found["posts of B1, B2, B3, up to their fuses"][1:3] == ("up to 56 V DC", plan.plan.banks[0].fault_current)
    assert found["bars, battery terminals of the units"][3] == "the fuses"
    assert found["incoming board"][2:] == ("900 A", "the breaker there, 63 A")
    assert found["load board, supply in"][2] == "900 A, and what the units give"
    assert found["load board, units alone"][2] == f"{plan.plan.phases[0].fault_current} on each phase" == "120 A on each phase"


def test_strings_are_told_with_the_voltage_of_the_coldest_morning() -> None:
    plan = site("solar")
    found = {row[0]: row for row in rows_of(chapter(plan)) if len(row) == 4}
    assert found["solar strings, each input"][1:] == (f"up to {plan.plan.solar.cold_voc} DC", plan.plan.solar.short_circuit, "nothing, in daylight")


def test_what_is_not_known_counts_as_the_highest() -> None:
    found = {row[0]: row for row in rows_of(chapter(site("fault unknown"))) if len(row) == 4}
    assert found["incoming board"][2] == found["load board, supply in"][2] == found["load board, units alone"][2] == UNKNOWN
    bare = {row[0]: row for row in rows_of(chapter(site("nothing known"))) if len(row) == 4}
    assert bare["posts of every bank"][1:3] == (UNKNOWN, UNKNOWN)
    stopped = {row[0]: row for row in rows_of(chapter(site("stopped"))) if len(row) == 4}
    assert stopped["posts of B1, up to their fuses"][2] == UNKNOWN


@pytest.mark.parametrize(
    ("alternating", "direct", "kind"),
    [(400.0, 60.0, "00"), (500.0, 750.0, "00"), (501.0, 60.0, "0"), (230.0, 751.0, "0"), (230.0, None, "0"), (None, 60.0, "0")],
)
def test_gloves_by_the_highest_voltage(alternating: float | None, direct: float | None, kind: str) -> None:
    """Most voltages of use by IEC 60903: class 00 500 V alternating and 750 V direct, class 0 1000 V and 1500 V."""
    assert gloves(alternating, direct) == kind


def test_long_strings_ask_for_a_higher_class() -> None:
    high = planned(SUN | {"solar.series": 16, "unit.solar.voltage_max": "1000 V", "unit.solar.mppt_max": "900 V"})
    assert "gloves class 0 (" in text(chapter(high))
    assert "gloves class 00 (" in text(chapter(site("solar")))


def test_never_alone_is_said_once_and_whom_the_law_lets() -> None:
    for name in NAMES:
        made = text(chapter(sample(name)))
        assert made.count("Never alone.") == 1
        assert "said by the law of the place" in made


def test_what_only_the_place_knows_is_left_to_write() -> None:
    made = text(chapter(sample("copper-creek")))
    assert "Emergency number | ____" in made
    assert "Emergency shutdown | ____" in made
    assert "NFPA 70E" in made
    assert "NFPA" not in text(chapter(sample("alder-farm")))


def test_a_stopped_plan_has_the_page_too() -> None:
    made = text(chapter(site("stopped")))
    assert "Electric shock" in made
    assert "battery L1-1" in made
