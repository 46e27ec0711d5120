"""The sheets: eleven parts in true order of work, harmless names, nothing unknown passed over."""

import csv
import io
import re
import textwrap
from collections import Counter
from dataclasses import replace
from types import SimpleNamespace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from engine import VERSION
from engine.quantities import shown, told
from engine.sheets.bill import places
from engine.sheets.bill_csv import bill_csv, safe_cell
from engine.sheets.head import stamp
from engine.sheets.order import stretches, want
from engine.sheets.papers import papers
from engine.sheets.text.bill import bill_text
from engine.sheets.text.chain import chain_text
from engine.sheets.text.findings import findings_text
from engine.sheets.text.layout import WIDTH, cells, fit, grid, wrapped
from engine.sheets.text.plan import plan_text
from engine.sheets.text.steps import steps_text
from engine.sheets.text.unit import PAGE, unit_sheet
from engine.sheets.unit import Back, Box, Settings, Terminals, unit_parts
from engine.sheets.unit.terminals import landed
from engine.stages.procedure.part import Step
from tests.engine.paper_sites import NAMES, planned, sample, set_of

BEFORE = ["1 THIS UNIT", "2 FOUR BOXES", "3 LOCK-OFF", "4 SETTINGS", "5 DEAD TESTS BEFORE LANDING"]
HEADS = [*BEFORE, "6 TERMINALS", "7 DEAD TESTS AFTER LANDING", "8 BATTERY", "9 DATA PORTS", "10 LIVE READINGS", "11 SIGNATURES"]


def one_bill(plan):
    return bill_text([plan])


PAGES = (plan_text, chain_text, one_bill, steps_text)
# Control sequence, markup, tag, formula, emoji, right-to-left override.
HOSTILE = "=1+1\x1b[31m [/b] <script> \N{PILE OF POO} \u202egnp"


def every_unit():
    return [(name, tag) for name in NAMES for tag in sample(name).parts.units.tags]


@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_has_its_parts_in_order_on_pages_of_80_columns_and_62_lines(name):
    for tag in sample(name).parts.units.tags:
        sheet = unit_sheet(sample(name), tag)
        places = [sheet.index(f"== {head}") for head in HEADS]
        assert places == sorted(places)
        pages = re.findall(r"page (\d) of (\d)", sheet)
        assert pages == [(str(k), str(len(pages))) for k in range(1, len(pages) + 1)]
        assert len(pages) <= 3
        lines = sheet.splitlines()
        marks = [k for k, line in enumerate(lines) if re.search(r"page \d of \d", line)]
        assert max(after - before for before, after in zip(marks, [*marks[1:], len(lines)], strict=True)) <= PAGE
        assert max(map(cells, lines)) <= WIDTH
        assert sheet.isascii()


@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_goes_in_the_order_in_which_its_steps_are_done(name):
    """Read from the top nothing has to be looked for farther up."""
    plan = sample(name)
    for tag in plan.parts.units.tags:
        own = [step for part in unit_parts(plan, tag, "") for step in part.items if isinstance(step, Step)]
        assert own == [step for step in plan.parts.procedure.steps if step.who == tag]


@pytest.mark.parametrize("name", NAMES)
def test_behind_each_part_a_sheet_says_where_the_order_of_work_goes_on(name):
    """The step that is named is the next one that is not this unit's, and the one to come back with is the unit's own."""
    plan = sample(name)
    steps, tags = plan.parts.procedure.steps, plan.parts.units.tags
    seen = 0
    for tag in tags:
        items = [item for part in unit_parts(plan, tag, "") for item in part.items if isinstance(item, Step | Back)]
        for k, item in enumerate(items):
            if not isinstance(item, Back) or not isinstance(items[k - 1], Step):
                continue
            last = steps.index(items[k - 1])
            here = next((place for place in range(last + 1, len(steps)) if steps[place].who == tag), len(steps))
            between = steps[last + 1 : here]
            wanted = next((step for step in between if step.who not in tags), between[0])
            assert item.words.startswith(f"Back to step {wanted.place}")
            assert item.again == (f"Here again with step {steps[here].place}." if here < len(steps) else "")
            seen += 1
    assert seen > 5 * len(tags)


def test_every_page_says_whose_it_is():
    sheet = unit_sheet(sample("alder-farm"), "L2-1")
    heads = [line for line in sheet.splitlines() if "page" in line and " of " in line and "sheet" in line]
    assert len(heads) == 3
    assert all(line.startswith("L2-1") and line.endswith(stamp(sample("alder-farm").plan)) for line in heads)


@pytest.mark.parametrize("name", NAMES)
def test_every_paper_says_which_plan_it_is_of_and_what_made_it(name):
    plan = sample(name).plan
    told = f"revision {plan.revision}, plan {plan.digest}, phasewright {VERSION}"
    made = papers(sample(name))
    diagrams = {"harbour-works": 3}.get(name, 2)  # single-line sheets, and that of every conductor up to six units
    assert len(made) == len(plan.units) + 10 + diagrams
    for file, text in made.items():
        if file == "bill.csv":
            rows = list(csv.DictReader(io.StringIO(text)))
            assert {(row["revision"], row["plan"], row["made with"]) for row in rows} == {(plan.revision, plan.digest, f"phasewright {VERSION}")}
        elif not file.endswith(".svg"):
            assert told in text.splitlines()[0]
            assert max(map(cells, text.splitlines())) <= WIDTH
        assert file == "bill.csv" or told in text


def test_the_four_boxes_come_before_any_power():
    sheet = unit_sheet(planned(), "L2-1")
    boxes = sheet[sheet.index("2 FOUR BOXES") : sheet.index("3 LOCK-OFF")]
    assert [box in boxes for box in ("POLARITY", "STORAGE MODE: COMMON. Bank B1", "PHASE: L2", "INCOMING is not LOAD", "NEUTRAL")] == [True] * 5
    assert boxes.count("[ ]") == 4


def test_what_must_be_traced_says_confirm():
    def told(plan):
        return [item.words for part in unit_parts(plan, "L1-1", "")[:4] for item in part.items if isinstance(item, Box)], [row.value for part in unit_parts(plan, "L1-1", "") for item in part.items if isinstance(item, Settings) for row in item.rows]

    assert not [words for some in told(planned()) for words in some if "CONFIRM" in words]
    boxes, values = told(planned(without=("storage.wired",)))
    assert [words for words in boxes if "CONFIRM: trace both cables." in words]
    assert "common CONFIRM" in values


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
        assert "L3-9" in page


def test_local_codes_the_maker_and_a_licensed_person_come_first_on_every_paper():
    plan = planned()
    for page in (unit_sheet(plan, "L1-1"), *(make(plan) for make in PAGES)):
        assert "Local codes, the maker's instructions and a licensed person come first" in " ".join(page.split())


def test_every_step_has_its_number_a_box_what_to_want_room_to_write_and_what_if_not():
    plan = sample("alder-farm")
    sheet = " ".join(re.sub(r"\nL2-1 .*", "", unit_sheet(plan, "L2-1")).split())
    own = [step for step in plan.parts.procedure.steps if step.who == "L2-1"]
    assert len(own) > 15
    assert len(re.findall(r" \d+ \[ \] ", sheet)) == sheet.count("WANT:") == sheet.count("GOT:") == sheet.count("IF NOT:") == len(own)
    for step in own:
        assert f" {step.place} [ ] {'HOLD ' if step.hold else ''}{'(!) ' if step.hurt else ''}{step.do} WANT: {step.expect}. GOT:" in sheet
        assert f"IF NOT: {step.otherwise}" in sheet
        for name in step.got:
            assert f"{name}:____" in sheet


def test_insulation_tests_are_told_to_come_before_landing():
    """A tester's 500 V destroys what is landed: the sheet, read from the top, has them first."""
    sheet = " ".join(unit_sheet(planned(), "L2-1").split())
    words = ("5 DEAD TESTS BEFORE LANDING", "a landed unit would be destroyed. Insulation tester", "6 TERMINALS", "7 DEAD TESTS AFTER LANDING", "LOAD line to each bar")
    assert [sheet.index(word) for word in words] == sorted(sheet.index(word) for word in words)


def test_ports_tell_links_and_terminators():
    plan = planned()
    for end in plan.parts.chain.terminators:
        assert re.search(rf"Only when step \d+ or \d+ says so: TERMINATOR \({end.kind}\), port named {end.port}; an end of the chain\.", " ".join(unit_sheet(plan, end.unit).split()))
    middle = plan.parts.chain.order[1]
    sheet = unit_sheet(plan, middle)
    assert "TERMINATOR" not in sheet
    [links] = {step.place for step in plan.parts.procedure.steps if step.id == "links@chain"}
    assert len(re.findall(rf"\[ \] Step {links}: link to \S+, port named (?:plug|socket), cable", sheet)) == 2
    assert "Port plug" not in sheet  # reads like an order


@pytest.mark.parametrize(
    "left_out", [("storage",), ("unit.bus",), ("unit.real_power", "unit.apparent_power"), ("incoming",), ("unit.dc_stud", "unit.dc_torque", "unit.ac_torque"), ("output.voltage",)]
)
def test_missing_answers_still_give_whole_papers(left_out):
    plan = planned(without=left_out)
    sheet = unit_sheet(plan, "L1-1")
    assert all(f"== {head}" in sheet for head in (BEFORE if plan.plan.standing == "stopped" else HEADS))
    assert "None" not in sheet
    assert len(re.findall(r"page \d of \d", sheet)) <= 3
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


@pytest.mark.parametrize(("text", "cell"), [("=1", "'=1"), ("+1", "'+1"), ("-1", "'-1"), ("@x", "'@x"), ("\t=1", "'=1"), ("\uff1d1", "'\uff1d1"), ("\uff0b1", "'\uff0b1"), ("\uff0d1", "'\uff0d1"), ("\uff20x", "'\uff20x"), ("\uff5cx", "'\uff5cx"), ("\uff05x", "'\uff05x"), ("\ufe661", "'\ufe661"), ("\u207c1", "'\u207c1"), ("\u22121", "'\u22121"), ("\u3000\uff1d1", "'\uff1d1"), ("\u6c34", "\u6c34"), ("x;=1+1", "x;'=1+1"), ("x; =1+1", "x; '=1+1"), (";\uff1d1;-2;b", ";'\uff1d1;'-2;b"), ("x\u037e=1", "x;'=1"), ("a; b", "a; b"), ("35 mm2, red", "35 mm2, red"), ("", "")])
def test_cells(text, cell):
    assert safe_cell(text) == cell


@pytest.mark.parametrize("parting", [",", ";", "\t"])
def test_no_cell_is_a_formula_whatever_a_spreadsheet_parts_cells_at(parting):
    """Names that hide a formula behind what parts cells elsewhere; a reader that parts at a semicolon does so within quotes of ours too."""
    name = 'x";=1+1;\uff1d2\t=3,4;@SUM(A1)'
    plan = planned({"site.name": name, "earthing.bond_at": name})
    found = [cell for row in csv.reader(io.StringIO(bill_csv([plan])), delimiter=parting) for cell in row]
    assert any("1+1" in cell for cell in found)
    assert [cell for cell in found if cell.lstrip(' "').startswith(("=", "+", "-", "@", "\uff1d"))] == []
    raw = [cell for line in bill_csv([plan]).splitlines() for cell in line.split(parting)]
    assert [cell for cell in raw if cell.lstrip(' "').startswith(("=", "+", "@", "\uff1d"))] == []


def test_csv_holds_several_sites():
    rows = list(csv.reader(io.StringIO(bill_csv([sample("alder-farm"), sample("ferry-house")]))))
    assert {row[0] for row in rows[1:]} == {"Alder Farm", "Ferry House"}


def test_wide_characters_count_as_two_columns():
    assert cells("\N{CJK UNIFIED IDEOGRAPH-4E2D}a") == 3
    assert cells(fit("\N{CJK UNIFIED IDEOGRAPH-4E2D}" * 9, 7)) == 7
    assert max(map(cells, wrapped("\N{CJK UNIFIED IDEOGRAPH-4E2D}" * 90))) <= WIDTH
    assert max(map(cells, grid(("a", "b"), [("x" * 90, "\N{CJK UNIFIED IDEOGRAPH-4E2D}" * 60)]))) <= WIDTH


# Wide, narrow, of no width of its own, with and without spaces.
WIDE = "\u6c34\u8eca\uac00\uff37\U0001f4a5"
MIXED = st.text(st.sampled_from([*WIDE, *"abz-.,0", "\u00e4", "\u0301", " ", " "]), max_size=200)


@given(MIXED, st.sampled_from(["", " * ", "      ", "  12  [ ] "]), st.sampled_from([None, "", "   ", "          "]), st.integers(16, 90))
def test_wrapped_lines_keep_to_their_columns_and_lose_nothing(text, first, rest, columns):
    lines = wrapped(text, first, rest, columns)
    assert max(map(cells, lines)) <= columns
    assert lines[0].startswith(first.rstrip())
    assert "".join("".join(lines).split()) == "".join((first + text).split())


@given(st.lists(st.text("ab\u00e4.\u0416", min_size=1, max_size=9), min_size=1, max_size=40), st.integers(16, 90))
def test_wide_text_or_not_lines_end_at_the_same_words(words, columns):
    """Letters of one column, as the standard library breaks them."""
    text = " ".join(words)
    assert wrapped(text, " * ", "   ", columns) == textwrap.wrap(text, columns, initial_indent=" * ", subsequent_indent="   ", break_on_hyphens=False)


@given(st.lists(st.tuples(MIXED, MIXED, MIXED), max_size=4), st.integers(40, 90))
@example([("", "", "0" * 9 + "\u6c34" * 10), ("", "000 ", "")], 40)  # a narrow column with room, beside a wide one that is one word
@example([("", "0 \u6c34", "0000000" + "\u6c34" * 11)], 40)  # the narrow column could give, and must not; the wide one is one word
def test_a_grid_keeps_to_its_columns(rows, columns):
    lines = grid(("one", "two", "three"), rows, columns=columns)
    assert max(map(cells, lines)) <= columns


def test_wide_names_keep_every_paper_to_80_columns():
    """Every answer of free text, as long as it may be, in characters of two columns."""
    name = WIDE * 40
    labels = {"role": {"name": name, "lead": name, "follower": name}, "storage_mode": {"name": name, "common": name}}
    texts = {"site.name": name, "site.reference": name, "unit.model": name, "earthing.bond_at": name, "unit.labels": labels}
    nodes = {"bus_nodes": [{"name": name, "end": "last"}, {"name": f"{name[:-1]}a"}], "loads": [{"name": name, "power": "1 kW"}, {"name": name[1:], "power": "90 kW"}]}
    for plan in (planned(texts | nodes), planned(texts | nodes, without=("storage.wired", "storage.module.charge_current"))):
        for file, text in papers(plan).items():
            if file.endswith(".txt"):
                assert [line for line in text.splitlines() if cells(line) > WIDTH] == [], file
        assert max(map(cells, findings_text(plan).splitlines())) <= WIDTH


@pytest.mark.parametrize("blank", [" ", "\u00a0\u3000"])
def test_a_name_of_nothing_is_no_name(blank):
    plan = planned({"site.name": blank, "site.reference": blank})
    for page in (unit_sheet(plan, "L1-1"), plan_text(plan)):
        assert "Site: not named" in page


def test_plan_page_tells_standing_first_and_lists_what_was_assumed():
    plan = planned(without=("output.frequency",))
    page = plan_text(plan)
    assert page.index("Standing:") < page.index("== UNITS") < page.index("== COMMS CHAIN") < page.index("== CIRCUITS") < page.index("== ASSUMED")
    assert "Frequency: 50 Hz (the standard frequency)" in page


def test_papers_are_a_sheet_per_unit_and_the_pages_of_the_set():
    made = papers(sample("alder-farm"))
    assert {f"{tag}.txt" for tag in ("L1-1", "L2-1", "L3-1")} | {"plan.txt", "order-of-work.txt", "chain.txt", "bill.txt", "bill.csv", "wall.txt", "wall-power.svg", "wall-data.svg", "wall-earth.svg", "single-line.txt", "single-line-1.svg", "three-pole.svg"} == set(made)
    assert all(made.values())


def test_findings_tell_place_cure_and_code():
    text = findings_text(planned({"set.lead": "L3-9"}))
    assert text.index("STOP: do not energise") < text.index("L3-9") < text.index("key: set.lead")
    assert "[lead-is-no-unit; T12" in " ".join(text.split())


def test_bills_of_several_sites_stand_one_under_the_other():
    text = bill_text([sample("alder-farm"), sample("ferry-house")])
    assert text.index("Site: Alder Farm") < text.index("Site: Ferry House")


def test_the_bill_tells_what_is_bought_and_what_is_cut_from_it():
    text = one_bill(sample("alder-farm"))
    heads = [text.index(f"== {head}") for head in ("BUY: THE UNITS' MAKER", "BUY: THE BATTERY'S MAKER", "BUY: SOLAR SUPPLIER", "BUY: ELECTRICAL WHOLESALER", "BUY: TOOLS AND TEST GEAR", "CUT LIST", "REELS")]
    assert heads == sorted(heads)
    assert "conductor cut" not in text
    rows = list(csv.DictReader(io.StringIO(bill_csv([sample("alder-farm")]))))
    assert {row["buy or cut"] for row in rows if row["item"] == "conductor cut"} == {"cut from reel"}
    assert {row["buy or cut"] for row in rows if row["item"] != "conductor cut"} == {"buy"}


@pytest.mark.parametrize("name", NAMES)
def test_the_bill_on_paper_names_every_place_and_all_of_each_specification(name):
    """Nobody on a ladder opens a spreadsheet."""
    bill = one_bill(sample(name))
    assert "CSV" not in bill and "..." not in bill
    rows = [line for line in bill[: bill.find("\n== CUT LIST")].splitlines() if line.startswith(" ") and not line.startswith(" ---")]
    words = Counter(word for line in rows for word in re.split(r"[\s,]+", line) if word)
    wanted = Counter(word for row in sample(name).plan.bill if not row.cut_from_reel for place in places(sample(name), row) for word in re.split(r"[\s,]+", place) if word)
    assert wanted and not wanted - words
    cuts = bill[bill.find("\n== CUT LIST") : bill.find("\n== REELS")]
    assert Counter(row.circuit.split()[-1] for row in sample(name).plan.cuts) - Counter(re.split(r"[\s,]+", cuts)) == Counter()


@pytest.mark.parametrize("name", NAMES)
def test_no_table_of_the_plan_breaks_a_word(name):
    plan, page = sample(name), plan_text(sample(name))
    circuits = page[page.index("== CIRCUITS") : page.index(" Cables.")].split()
    for row in plan.plan.circuits:
        for word in f"{row.name} {row.device.kind if row.device else ''} {row.governed_by or ''}".split():
            assert word in circuits


def test_a_grid_breaks_a_word_only_where_it_is_wider_than_there_is_room():
    rows = [("switch-disconnector", "a b c d e f g h i j k l m n o p", "word " * 12)]
    told = grid(("device", "letters", "words"), rows, columns=40)
    assert max(map(cells, told)) <= 40
    assert "switch-disconnector" in told[2]
    huge = grid(("a", "b"), [("x" * 60, "word word")], columns=40)
    assert max(map(cells, huge)) <= 40
    assert "word" in huge[2]


def test_what_is_locked_is_an_isolator_or_a_breaker_never_a_fuse():
    for name in NAMES:
        for tag in sample(name).parts.units.tags:
            sheet = " ".join(unit_sheet(sample(name), tag).split())
            locked = sheet[sheet.index("Open, lock and tag its isolators:") : sheet.index("Prove dead")]
            assert "fuse" not in locked
            assert "battery (DC isolator, " in locked


@pytest.mark.parametrize(
    ("value", "unit", "both", "short"),
    [
        (6 * 0.3048, "m", "1.83 m (6 ft)", "6 ft"),
        (4.0, "m", "4 m (13.1 ft)", "13.1 ft"),
        (0.3, "m", "0.3 m (0.984 ft)", "0.984 ft"),
        (120 * 4.4482216152605 * 0.0254, "N*m", "13.6 N m (120 lbf in)", "120 lbf in"),
        (82 * 0.45359237, "kg", "37.2 kg (82 lb)", "82 lb"),
        (0.0, "m", "0 m (0 ft)", "0 ft"),
        (0.012, "ohm", "12 mohm", "12 mohm"),
        (400.0, "A", "400 A", "400 A"),
    ],
)
def test_lengths_torques_and_weights_are_told_twice_under_the_nec(value, unit, both, short):
    """1 ft = 0.3048 m, 1 lb = 0.45359237 kg, 1 lbf = 4.4482216152605 N exactly (NIST SP 811). What has no customary unit is told once."""
    assert told(value, unit, "nec") == both
    assert told(value, unit, "nec", short=True) == short
    assert told(value, unit, "iec") == shown(value, unit)


def test_papers_of_a_nec_site_tell_feet_and_pounds_and_those_of_an_iec_site_do_not():
    american = papers(sample("copper-creek"))
    sheet = american["L2-1.txt"]
    assert "cable 1.83 m (6 ft)" in " ".join(sheet.split())
    assert "(82 lb)" in sheet
    assert "120 lbf in" in " ".join(sheet.split())
    assert "(120 lbf in)" in " ".join(sheet.split())
    assert "1 link (1.83 m (6 ft))" in american["plan.txt"]
    assert re.search(r", \d+\.\d+ m \(\d+ ft\)\",", american["bill.csv"])  # a length in whole feet
    assert "15.24 m (50 ft)" in " ".join(american["bill.txt"].split())
    assert " m (" not in "".join(row.length or "" for row in sample("copper-creek").plan.circuits)  # the plan stays SI
    for name, paper in papers(sample("alder-farm")).items():
        assert not re.search(r"\(\d[\d.]* (ft|in|lb|lbf in)\)", paper), name


def test_drop_has_two_digits_on_the_page_and_all_in_the_file():
    plan = sample("alder-farm")
    exact = next(row.drop for row in plan.plan.circuits if row.name == "battery L1-1")
    page = next(line for line in plan_text(plan).splitlines() if line.startswith(" battery L1-1"))
    assert f"{float(exact.split()[0]):.2g} %" in page
    assert exact not in page
    assert len(exact.split()[0].lstrip("0.")) > 2


def test_keys_are_explained():
    assert 'Behind "key" stands where they are answered in the file' in " ".join(findings_text(sample("alder-farm")).split())


def test_where_something_essential_is_missing_more_may_appear():
    told = "more may appear here once it is"
    missing = planned(without=("storage.connection", "storage.wired"))
    for page in (findings_text, plan_text):
        assert told in " ".join(page(missing).split())
        assert told not in " ".join(page(sample("alder-farm")).split())


def test_a_unit_alone_is_sent_to_a_board_not_to_a_bar():
    assert "its load line goes to the load board" in unit_sheet(planned(set_of(1)), "L1-1")


def test_findings_are_plain_sentences():
    """A thick conductor stays although its terminal is small; tags that are no units; one unit; a relay that is not lifted."""
    thick = findings_text(planned({"unit.dc_terminal_max": "16 mm2"}))
    assert "The plan does not take a thinner one for that." in " ".join(thick.split())
    assert "size stands" not in thick
    strangers = planned({"storage.wired": {"L1-1": "B1", "L2-1": "B1", "L3-1": "B1", "L2-9": "B1", "L3-9": "B1"}})
    told = next(finding.text for finding in strangers.findings if finding.code == "wired-unknown-unit")
    assert told == "No unit of this set is called L2-9 or L3-9, yet storage.wired gives them banks."
    told = next(finding.text for finding in planned({"set.count": 1}).findings if finding.code == "count-contradicts-per-phase")
    assert told.startswith("1 unit is answered")
    relay = planned({"earthing.island_bond": "unit relay"}, without=("earthing.bond_at",))
    told = next(finding.text for finding in relay.findings if finding.code == "bond-place-unanswered")
    assert "lifted" not in told


def conductors_of(plan, tag):
    """Conductor and end of every row of the terminals, by circuit and poles."""
    rows = [row for item in landed(plan, tag) if isinstance(item, Terminals) for row in item.rows]
    return {" ".join([row.name, *row.poles]): f"{row.conductor} {row.end}" for row in rows}


def test_a_conductor_that_its_terminal_does_not_take_says_so_where_it_is_landed():
    rows = conductors_of(sample("copper-creek"), "L1-1")
    assert {name for name, line in rows.items() if "*" in line} == {"BATTERY + -", "LOAD L N"}
    assert "250 kcmil red and black*" in rows["BATTERY + -"]
    assert "3 AWG black and white*" in rows["LOAD L N"]
    assert "* DOES NOT FIT the unit's terminal: adaptor (or two conductors: see the plan)." in " ".join(unit_sheet(sample("copper-creek"), "L1-1").split())
    for name in ("alder-farm", "harbour-works"):
        for tag in sample(name).parts.units.tags:
            assert "DOES NOT FIT" not in unit_sheet(sample(name), tag)


@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_marks_a_conductor_where_and_only_where_the_plan_has_the_finding(name):
    plan = sample(name)
    noticed = any(finding.code == "terminal-too-small" for finding in plan.findings)
    assert noticed == any("DOES NOT FIT" in unit_sheet(plan, tag) for tag in plan.parts.units.tags) == bool(plan.parts.conductors.too_large)


def test_several_conductors_in_one_terminal_are_marked_too():
    power = {"unit.real_power": "8 kW", "unit.apparent_power": "8 kVA", "unit.surge_power": "16 kVA", "unit.dc_terminal_max": "300 mm2"}
    plan = planned(power | {"routes": [{"carries": "battery", "length": "3 m", "grouped": 6, "method": "B2"}]})
    assert "2 x 300 mm2 red and white*" in conductors_of(plan, "L1-1")["BATTERY + -"]


@pytest.mark.parametrize("name", NAMES)
def test_every_earth_is_landed_first_and_the_step_says_which(name):
    plan = sample(name)
    for tag in plan.parts.units.tags:
        names = list(conductors_of(plan, tag))
        earths = [name for name in names if name.endswith("PE")]
        assert names[: len(earths)] == earths
        step = next(step for step in plan.parts.procedure.steps if step.section == "land" and step.who == tag)
        assert f"Land the earth of its case, {' and '.join(earths[1:])} (before: ohmmeter from the free end to the case), battery" in step.do


@pytest.mark.parametrize("name", NAMES)
def test_every_paper_tells_what_a_load_isolator_is_in_the_same_words(name):
    """A unit's, the set's, and the consumers' breakers: three things, three names."""
    text = " ".join("\n".join(text for file, text in papers(sample(name)).items() if file.endswith(".txt")).split())
    for other in ("load switch", "load breaker", "switch-disconnector", "switch to the loads"):
        assert other not in text.lower(), other
    assert "Isolator: what opens a circuit; where it has a breaker, that" in text
    assert f"Breaker of every {'branch' if sample(name).facts.rules == 'nec' else 'final'} circuit off." in text


@pytest.mark.parametrize("name", NAMES)
def test_dead_is_the_same_voltage_on_every_paper(name):
    """A capacitor that is still charged is not dead either: one figure, the lower one."""
    made = papers(sample(name))
    for file, text in made.items():
        if file.endswith(".txt"):
            assert "below 5 V" not in " ".join(text.split())
    tag = sample(name).parts.units.tags[0]
    part = made[f"{tag}.txt"][made[f"{tag}.txt"].index("== 3 ") : made[f"{tag}.txt"].index("== 5 ")]
    assert " ".join(part.split()).count("below 1 V") == 3  # before work, across the pre-charge resistor, behind the bench


def test_the_sheet_sends_to_the_order_of_work_not_to_the_plan():
    sheet = unit_sheet(sample("copper-creek"), "L1-1")
    assert "== 4 SETTINGS, alone on the bench ================================ steps 8-13 ==" in sheet
    assert " --> Back to step 14 (B1) of the order of work. Here again with step 24." in sheet
    assert " low battery " in sheet


def test_an_american_wall_is_in_feet_too():
    """Sides, lanes, ways, what to take, the whole bus; a European one is not."""
    made = papers(sample("copper-creek"))
    wall = " ".join(made["wall.txt"].split())
    for there in ("3.66 m (12 ft) by 2.44 m (8 ft)", "way 1.2 m (3.94 ft), take a cable of 1.83 m (6 ft)", "whole bus: 1.83 m (6 ft)", "above the floor: battery 0.3 m (0.984 ft)"):
        assert there in wall
    power, data = (re.sub(r"</text><text[^>]*>", " ", made[f"wall-{name}.svg"]) for name in ("power", "data"))
    assert "0.3 m (0.984 ft) battery lane" in power
    assert "1.83 m (6 ft)" in data
    assert "1.829 m" not in made["wall.txt"] + power + data
    assert " ft)" not in papers(sample("alder-farm"))["wall.txt"]
    assert "B1, 2 circuits of 2.3 m (7.55 ft) each" in " ".join(made["plan.txt"].split())


def test_a_stopped_order_of_work_ends_before_anything_is_landed():
    """Nobody can go on by the paper of a plan that is wrong; the same plan without its stop goes on to the end."""
    stopped, sound = planned({"storage.module.discharge_current": "1 A"}), sample("alder-farm")
    assert (stopped.plan.standing, sound.plan.standing) == ("stopped", "cautions")
    short, whole = steps_text(stopped), steps_text(sound)
    assert "== DEAD TESTS ==" in short
    assert "== THE PLAN IS STOPPED ==" in short
    assert "== LAND ==" not in short
    assert "== HAND OVER ==" not in short
    assert "THE PLAN IS STOPPED" not in whole
    assert whole.index("== LAND ==") < whole.index("== HAND OVER ==")


def test_where_no_conductor_will_do_nothing_is_cut_and_no_print_is_to_be_read():
    """Sixty circuits bunched together, which no table knows: a sheet that named a size, or a reel to cut from, would have one landed."""
    plan = planned({"routes": [{"carries": kind, "grouped": 60, "method": "B2"} for kind in ("battery", "load", "incoming")]})
    bill, sheet = one_bill(plan), unit_sheet(plan, "L1-1")
    assert plan.plan.standing == "stopped"
    assert "BUY: ELECTRICAL WHOLESALER" in bill
    assert "REELS" not in bill
    assert len(conductors_of(plan, "L1-1")) > 3
    assert all("NOT COMPUTED" in line for line in conductors_of(plan, "L1-1").values())
    assert "TERMINALS" not in sheet
    assert "Read the print" not in sheet


def test_a_site_without_supply_lands_nothing_on_incoming():
    """Two ports alike: what is told of the one that stays empty is what keeps the load line out of it."""
    sheet = unit_sheet(planned({"incoming": {"kind": "none"}}), "L1-1")
    assert "SIDES: nothing on INCOMING (this site has none). LOAD has line and NEUTRAL landed." in " ".join(sheet.split())
    assert "INCOMING L" not in sheet


def test_aluminium_ends_in_what_stands_between_it_and_copper():
    """A plain ferrule or lug on aluminium works loose and burns."""
    rows = conductors_of(planned({"routes": [{"carries": "load", "metal": "aluminium"}, {"carries": "battery", "metal": "aluminium"}]}), "L1-1")
    assert "AL/CU pin" in rows["LOAD L N"]
    assert "AL/CU lug M8" in rows["BATTERY + -"]
    assert "AL/CU" not in rows["INCOMING L N"]


def test_a_chain_that_the_wall_shuts_off_has_no_length():
    """An obstacle from floor to ceiling between two units: no whole bus is told, and the link is to be measured."""
    places = [{"what": "unit", "tag": f"L{k}-1", "x": x, "y": "1.5 m"} for k, x in ((1, "1 m"), (2, "3 m"))]
    between = {"what": "obstacle", "x": "2 m", "y": "1.2 m", "width": "0.2 m", "height": "2.4 m"}
    page = chain_text(planned({"wall": {"width": "4 m", "height": "2.4 m", "places": [*places, between]}}))
    assert "Whole bus" not in page
    assert "NO STOCK CABLE SERVES" in page
    assert "(way to be measured)" in re.sub(r"[\s|]+", " ", page)


def test_a_node_before_the_lead_is_drawn_before_it():
    """Drawn behind the last unit, its terminator would be plugged at the wrong end."""
    lines = chain_text(planned({"bus_nodes": [{"name": "Gate", "end": "first"}]})).splitlines()
    node, lead = (next(k for k, line in enumerate(lines) if f"[ {name} ]" in line) for name in ("Gate", "L1-1"))
    assert node < lead
    assert "<== TERMINATOR" in lines[node]
    assert "TERMINATOR" not in lines[lead]
    assert "its own lead to port" in "".join(lines[node:lead])


def test_where_nothing_was_noticed_the_page_says_so():
    """An empty page might have been cut off."""
    assert findings_text(SimpleNamespace(plan=SimpleNamespace(findings=[]), findings=())) == "No findings.\n"


def test_a_table_of_more_columns_than_there_is_room_keeps_four_of_each():
    """In none the words would be gone; the lines run over instead."""
    rows = grid(["head"] * 12, [["abcdefgh"] * 12], columns=40)
    assert rows[1].split() == ["----"] * 12
    assert "".join("".join(rows[2:]).split()) == "abcd" * 12 + "efgh" * 12


def test_a_unit_for_which_nothing_is_cut_gets_nothing_landed():
    """No plan is without an earth and a load for each of its units; were one so, its sheet would say it rather than show an empty table."""
    plan = planned()
    bill = replace(plan.parts.bill, cuts=tuple(cut for cut in plan.parts.bill.cuts if cut.tag != "L1-1"))
    bare = replace(plan, parts=replace(plan.parts, bill=bill))
    assert "Not computed: the planner decides what is landed where. Land nothing." in unit_sheet(bare, "L1-1")
    assert unit_sheet(bare, "L2-1") == unit_sheet(plan, "L2-1")


def test_a_unit_alone_has_its_banks_data_lead_too():
    """No link, and yet the bank speaks to it."""
    told = [line for line in unit_sheet(planned(set_of(1)), "L1-1").splitlines() if "data lead of bank B1" in line or "One unit: no link" in line]
    assert len(told) == 2


@pytest.mark.parametrize("name", NAMES)
def test_what_must_read_alike_and_what_it_must_read_stay_together_where_a_step_has_several_places(name):
    """A WANT is taken apart at its semicolons to tell once what is the same everywhere: torn in two, the own bar of a unit would read as one that must be open."""
    plan = sample(name)
    paper = " ".join(steps_text(plan).split())
    lines = [line for stretch in stretches(plan) for line in stretch.lines if not line.part and len(line.steps) > 1]
    assert lines
    for line in lines:
        for step in line.steps:
            for piece in step.expect.split("; "):
                assert piece in paper


def test_a_want_that_is_the_same_in_part_names_the_places_of_the_other_part():
    """One stretch of words for all, what is another at each place before it, each with its place."""
    line = next(line for stretch in stretches(sample("alder-farm")) for line in stretch.lines if line.first.id.startswith("loads-on@"))
    told = want(line)
    assert [told.count(f"{place}: ") for place in ("L1", "L2", "L3", "each")] == [1, 1, 1, 1]
    assert told.index("L1: ") < told.index("L2: ") < told.index("L3: ") < told.index("each: 219 V to 241 V")
