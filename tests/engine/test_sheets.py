"""The sheets: nine parts, two pages, harmless names, nothing unknown passed over."""

import csv
import io
import re

import pytest

from engine.sheets.bill_csv import bill_csv, safe_cell
from engine.sheets.bill_text import bill_text
from engine.sheets.chain_text import chain_text
from engine.sheets.findings_text import findings_text
from engine.sheets.layout import WIDTH, cells, fit, grid, wrapped
from engine.sheets.papers import papers
from engine.sheets.plan_text import plan_text
from engine.sheets.steps_text import steps_text
from engine.sheets.unit_text import PAGE, unit_sheet
from tests.engine.paper_sites import NAMES, SOLAR, planned, sample

HEADS = ["1 THIS UNIT", "2 FOUR BOXES", "3 LOCK-OFF", "4 SETTINGS", "5 TERMINALS", "6 DEAD TESTS", "7 DATA PORTS", "8 LIVE READINGS", "9 SIGNATURES"]


def one_bill(plan):
    return bill_text([plan])


PAGES = (plan_text, chain_text, one_bill, steps_text)
# Control sequence, markup, tag, formula, emoji, right-to-left override.
HOSTILE = "=1+1\x1b[31m [/b] <script> \N{PILE OF POO} \u202egnp"


def every_unit():
    return [(name, tag) for name in NAMES for tag in sample(name).parts.units.tags]


@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_has_nine_parts_in_order_on_two_pages_of_80_columns(name):
    for tag in sample(name).parts.units.tags:
        sheet = unit_sheet(sample(name), tag)
        places = [sheet.index(f"== {head}") for head in HEADS]
        assert places == sorted(places)
        pages = re.findall(r"page (\d) of (\d)", sheet)
        assert len(pages) <= 2
        lines = sheet.splitlines()
        assert len(lines) <= 2 * PAGE
        assert max(map(cells, lines)) <= WIDTH
        assert sheet.isascii()


def test_the_fullest_site_still_fits_two_pages():
    """Two units on each phase, strings, a supply, every label copied."""
    labels = {name: {"name": f"Menu {number:02d} of maker"} for number, name in enumerate(("arrangement", "phase", "role", "charge_limit", "low", "float"))}
    tags = ("L1-1", "L1-2", "L2-1", "L2-2", "L3-1", "L3-2")
    plan = planned(SOLAR | {"set.count": 6, "set.per_phase": [2, 2, 2], "storage.wired": dict.fromkeys(tags, "B1"), "unit.labels": labels})
    assert len(re.findall(r"page \d of \d", unit_sheet(plan, "L2-2"))) == 2


def test_every_page_says_whose_it_is():
    sheet = unit_sheet(sample("alder-farm"), "L2-1")
    heads = [line for line in sheet.splitlines() if "page" in line and " of " in line]
    assert len(heads) == 2
    assert all(line.startswith("L2-1") and sample("alder-farm").plan.revision in line for line in heads)


def test_the_four_boxes_come_before_any_power():
    sheet = unit_sheet(planned(), "L2-1")
    boxes = sheet[sheet.index("2 FOUR BOXES") : sheet.index("3 LOCK-OFF")]
    assert [box in boxes for box in ("POLARITY", "STORAGE MODE: COMMON. Bank B1", "PHASE: L2", "INCOMING is not LOAD", "NEUTRAL")] == [True] * 5
    assert boxes.count("[ ]") == 4


def test_what_must_be_traced_says_confirm():
    assert "CONFIRM" not in unit_sheet(planned(), "L1-1")
    sheet = unit_sheet(planned(without=("storage.wired",)), "L1-1")
    assert sheet.count("CONFIRM") == 2  # in the box and in the setting


def test_assumed_values_are_marked():
    sheet = unit_sheet(planned(without=("output.frequency",)), "L1-1")
    assert re.search(r"output frequency .*50 Hz \(assumed\)", sheet)


def test_settings_show_our_word_the_makers_word_the_value_and_a_place_to_read_back():
    assert re.search(r"storage mode +Battery wiring +common +shared +\[ \] ____", unit_sheet(planned(), "L3-1"))


def test_a_value_that_is_not_known_says_who_decides():
    sheet = unit_sheet(planned(without=("storage.module.charge_current",)), "L1-1")
    assert re.search(r"charge limit +NOT YET KNOWN: the battery's maker", sheet)


def test_a_stopped_plan_says_so_on_every_paper():
    plan = planned({"set.lead": "L3-9"})
    assert plan.plan.standing == "stopped"
    for page in (unit_sheet(plan, "L1-1"), *(make(plan) for make in PAGES)):
        assert "STOPPED - DO NOT ENERGISE" in page
        assert re.search(r"set\.lead: ", page)


def test_local_codes_the_maker_and_a_licensed_person_come_first_on_every_paper():
    plan = planned()
    for page in (unit_sheet(plan, "L1-1"), *(make(plan) for make in PAGES)):
        assert "Local codes, the maker's instructions and a licensed person come first" in " ".join(page.split())


def test_every_live_reading_has_its_if_not():
    sheet = unit_sheet(planned(SOLAR), "L2-1")
    for title in ("6 DEAD TESTS", "8 LIVE READINGS"):
        part = sheet[sheet.index(title) :].split("\n== ")[0]
        assert part.count("WANT:") == part.count("GOT:") == part.count("IF NOT:") > 3


def test_insulation_tests_are_told_to_come_before_landing():
    """A tester's 500 V destroys what is landed: the sheet, read from the top, must say so where landing stands."""
    plan = planned()
    sheet = unit_sheet(plan, "L2-1")
    tests = [step.place for step in plan.parts.steps.steps if step.who == "L2-1" and step.section == "dead tests"]
    assert f"land in this order == only after tests {tests[0]} to {tests[-1]} of part 6" in re.sub("=+", "==", sheet)
    assert sheet.index("BEFORE LANDING") < sheet.index("Insulation tester") < sheet.index("AFTER LANDING") < sheet.index("LOAD line to each bar")


def test_ports_tell_links_and_terminators():
    plan = planned()
    for end in plan.parts.chain.terminators:
        assert f"Port {end.port}: TERMINATOR ({end.kind})" in unit_sheet(plan, end.unit)
    middle = plan.parts.chain.order[1]
    sheet = unit_sheet(plan, middle)
    assert "TERMINATOR" not in sheet
    assert len(re.findall(r"Port \w+: link to", sheet)) == 2


@pytest.mark.parametrize(
    "left_out", [("storage",), ("unit.bus",), ("unit.real_power", "unit.apparent_power"), ("incoming",), ("unit.dc_stud", "unit.dc_torque", "unit.ac_torque"), ("output.voltage",)]
)
def test_missing_answers_still_give_whole_papers(left_out):
    plan = planned(without=left_out)
    sheet = unit_sheet(plan, "L1-1")
    assert all(f"== {head}" in sheet for head in HEADS)
    assert "None" not in sheet
    assert len(re.findall(r"page \d of \d", sheet)) <= 2
    for make in PAGES:
        page = make(plan)
        assert "None" not in page
        assert max(map(cells, page.splitlines())) <= WIDTH


def test_an_empty_draft_gives_pages_that_say_so():
    plan = planned(without=("site", "earthing", "output", "incoming", "set", "unit", "storage"))
    assert "does not know how many" in plan_text(plan)
    assert "No chain is planned yet" in chain_text(plan)
    assert "no units yet" in one_bill(plan)
    assert "No steps yet" in steps_text(plan)
    with pytest.raises(KeyError):
        unit_sheet(plan, "L1-1")


@pytest.mark.parametrize("name", NAMES)
def test_pages_keep_to_80_columns(name):
    for make in PAGES:
        assert max(map(cells, make(sample(name)).splitlines())) <= WIDTH


def test_hostile_names_come_out_harmless():
    plan = planned({"site.name": HOSTILE, "unit.model": HOSTILE, "earthing.bond_at": HOSTILE, "unit.labels": {"role": {"name": HOSTILE, "lead": HOSTILE}}, "bus_nodes": [{"name": HOSTILE}], "loads": [{"name": HOSTILE, "power": "1 kW"}]})
    for page in (unit_sheet(plan, "L1-1"), bill_csv([plan]), *(make(plan) for make in PAGES)):
        assert not set(page) & {"\x1b", "\u202e", "\x07", "\t"}
        assert all(cells(line) <= WIDTH for line in page.splitlines()) or page.startswith("site,")


def test_csv_cells_are_no_formulas():
    plan = planned({"site.name": "=cmd|' /C calc'!A1", "earthing.bond_at": "@SUM(A1)"})
    rows = list(csv.reader(io.StringIO(bill_csv([plan]))))
    assert len(rows) == len(plan.plan.bill) + 1
    assert all(not cell.startswith(("=", "+", "-", "@", "\t", "\r")) for row in rows for cell in row)
    assert rows[1][0] == "'=cmd|' /C calc'!A1"
    assert any(row[-1] == "'@SUM(A1)" for row in rows)


@pytest.mark.parametrize(("text", "cell"), [("=1", "'=1"), ("+1", "'+1"), ("-1", "'-1"), ("@x", "'@x"), ("\t=1", "'=1"), ("35 mm2, red", "35 mm2, red"), ("", "")])
def test_cells(text, cell):
    assert safe_cell(text) == cell


def test_csv_holds_several_sites():
    rows = list(csv.reader(io.StringIO(bill_csv([sample("alder-farm"), sample("ferry-house")]))))
    assert {row[0] for row in rows[1:]} == {"Alder Farm", "Ferry House"}


def test_wide_characters_count_as_two_columns():
    assert cells("\N{CJK UNIFIED IDEOGRAPH-4E2D}a") == 3
    assert cells(fit("\N{CJK UNIFIED IDEOGRAPH-4E2D}" * 9, 7)) == 7
    assert max(map(cells, wrapped("\N{CJK UNIFIED IDEOGRAPH-4E2D}" * 90))) <= WIDTH
    assert max(map(cells, grid(("a", "b"), [("x" * 90, "\N{CJK UNIFIED IDEOGRAPH-4E2D}" * 60)]))) <= WIDTH


def test_plan_page_tells_standing_first_and_lists_what_was_assumed():
    plan = planned(without=("output.frequency",))
    page = plan_text(plan)
    assert page.index("Standing:") < page.index("== UNITS") < page.index("== COMMS CHAIN") < page.index("== CIRCUITS") < page.index("== ASSUMED")
    assert "output.frequency = 50 Hz" in page


def test_papers_are_a_sheet_per_unit_and_the_pages_of_the_set():
    made = papers(sample("alder-farm"))
    assert {f"{tag}.txt" for tag in ("L1-1", "L2-1", "L3-1")} | {"plan.txt", "order-of-work.txt", "chain.txt", "bill.txt", "bill.csv", "wall.txt", "wall.svg"} == set(made)
    assert all(made.values())


def test_findings_tell_place_cure_and_code():
    text = findings_text(planned({"set.lead": "L3-9"}))
    assert text.index("STOP: do not energise") < text.index("set.lead:")
    assert "[lead-is-no-unit; T12" in " ".join(text.split())


def test_bills_of_several_sites_stand_one_under_the_other():
    text = bill_text([sample("alder-farm"), sample("ferry-house")])
    assert text.index("Site: Alder Farm") < text.index("Site: Ferry House")
