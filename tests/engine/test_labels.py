"""Labels and cable markers: what the rule books ask for is there with its clause, every end is marked, every figure is the plan's or a blank."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from engine.planner import Planned
from engine.sheets.folder import A4, LETTER, Paper, folder
from engine.sheets.folder.blocks import Labels, Table
from engine.sheets.folder.filling import filled
from engine.sheets.folder.labels import labels, markers
from engine.sheets.folder.letters import Words, runs
from engine.sheets.folder.stuck import stuck
from engine.tables import table
from engine.tables.labels import wanted
from tests.engine.paper_sites import NAMES, planned, sample, set_of
from tests.engine.test_build_sheet import HOSTILE, LEAD, SITES, SUN

NEC = {"site.rules": "nec"}
ALL = {**SITES, "lead": LEAD, "the NEC, lead": NEC | LEAD, "the NEC with solar": NEC | SUN, "the NEC, minus earthed": NEC | {"storage.earthed": "minus"}}


def text_of(words: Words) -> str:
    return "".join("____" if run.blank else run.text for run in runs(words))


def told(site: Planned) -> dict[str, list[list[str]]]:
    """What stands on the labels, by their names."""
    return {one.label.name: [[text_of(line) for line in cell] for cell in one.cells] for one in stuck(site)}


def one(site: Planned, name: str) -> str:
    """All that stands on the first label of a name."""
    return " | ".join(told(site)[name][0])


# --- markers ---


def marked(site: Planned) -> list[tuple[str, str, str]]:
    """What each marker says: of which conductor, where this end is, where the other one."""
    return [(text_of(name), *text_of(way).split(" > ")) for name, way in markers(site)]


@pytest.mark.parametrize("site", [*(sample(name) for name in NAMES), *(planned(changes) for changes in ALL.values())], ids=[*NAMES, *ALL])
def test_every_end_of_every_conductor_has_its_marker(site: Planned) -> None:
    """One that stands on its own end and names the far one: each marker has its counterpart, and the bill buys as many."""
    found = Counter(marked(site))
    assert all(found[name, far, here] == count for (name, here, far), count in found.items())
    assert sum(found.values()) == sum(line.quantity for line in site.parts.bill.lines if line.item == "cable marker")
    ends = {(name, here) for name, here, _ in found}
    for cut in site.parts.bill.cuts:
        sign = {"plus": "+", "minus": "-"}.get(cut.pole, cut.pole)
        name = f"{cut.circuit} {sign}" + (f" ({cut.number} of {cut.beside})" if cut.beside > 1 else "")
        for joint, common in ((cut.start, "supply"), (cut.end, "consumers")):
            assert (name, str(joint)) in ends or (name, common) in ends, (name, str(joint))
    for link in site.parts.chain.links:
        assert {link.start, link.end} <= {here.split(" ")[0] for name, here in ends if name == "link"}


def test_both_ends_of_a_battery_lead_by_hand() -> None:
    """From the bar through holder and isolator to the unit: three pieces a pole, two ends each."""
    own = [(here, far) for name, here, far in marked(planned()) if name == "battery L2-1 +"]
    assert own == [
        ("bar B1", "fuse holder"), ("fuse holder", "bar B1"),
        ("fuse holder", "isolator"), ("isolator", "fuse holder"),
        ("isolator", "L2-1"), ("L2-1", "isolator"),
    ]
    assert ("incoming common PE", "supply", "incoming board") in marked(planned())
    assert ("load common PE", "load board", "consumers") in marked(planned())


def test_parallel_conductors_are_told_apart() -> None:
    names = {name for name, *_ in marked(sample("harbour-works")) if name.startswith("battery B1")}
    assert names == {f"battery B1 {sign} ({number} of 2)" for sign in "+-" for number in (1, 2)}


# --- labels ---


def test_every_row_of_the_table_is_stuck_somewhere_and_nothing_stays_in_braces() -> None:
    names = set()
    for changes in ALL.values():
        for of in stuck(site := planned(changes)):
            names.add((site.facts.rules, of.label.name))
            assert not [line for cell in of.cells for line in map(text_of, cell) if re.search(r"[{}|]", line)]
            assert all(map(text_of, (line for cell in of.cells for line in cell)))
    assert names == {(rules, label.name) for rules in ("iec", "nec") for label in wanted(rules)}


def test_what_people_wrote_is_never_taken_for_a_word_to_be_replaced() -> None:
    found = told(planned(HOSTILE))
    assert found["directory of the sources"][0][0] == "SOURCES OF <script>alert(1)</script> {fault} {0} & Co"
    assert "<b>{bank}" in found["neutral-earth bond"][0][1]


# Clause, words that it gives for the label, and where they were seen (in a search of public pages; the code itself was not at hand).
QUOTED = [
    ("NFPA 70 705.10", "CAUTION: MULTIPLE SOURCES OF POWER", "International Solar Energy Provisions 2021 as quoted by a law site; a label printer's guide"),
    ("NFPA 70 706.15(C)", "ENERGY STORAGE SYSTEM DISCONNECT", "two trade articles"),
    ("NFPA 70 690.13(B)", "PV SYSTEM DISCONNECT", "a city's plan review, quoting the clause"),
    ("NFPA 70 690.13(B)", "TERMINALS ON THE LINE AND LOAD SIDES MAY BE ENERGIZED IN THE OPEN POSITION", "the same"),
    ("NFPA 70 690.31(D)(2)", "PHOTOVOLTAIC POWER SOURCE", "the same"),
    ("NFPA 70 690.12(D)", "RAPID SHUTDOWN SWITCH FOR SOLAR PV SYSTEM", "a permit office's guide"),
]


@pytest.mark.parametrize(("clause", "words", "seen"), QUOTED)
def test_words_that_a_clause_gives_stand_as_it_gives_them(clause: str, words: str, seen: str) -> None:
    assert seen
    [label] = [label for label in wanted("nec") if clause in label.clause and words in " ".join(label.lines)]
    assert label.seen == "found"


def test_the_clauses_are_all_there() -> None:
    clauses = {rules: " ".join(label.clause for label in wanted(rules)) for rules in ("iec", "nec")}
    for clause in ("110.24", "690.13", "705.10", "706.15(C)", "710.10", "110.16", "408.4(A)", "110.22(A)", "690.7(D)"):
        assert clause in clauses["nec"]
    for clause in ("IEC 60364-5-51 514.1", "IEC 60364-5-51 514.5", "IEC 60364-7-712", "IEC 62485-2", "IEC 60364-4-46"):
        assert clause in clauses["iec"]
    assert "110.21(B)" in folder(planned(NEC), A4, ("labels",))
    seen = {str(row["seen"]) for row in table("labels").rows}
    assert seen == {"found", "memory", "None"}
    assert all("common practice" in str(row["clause"]) for row in table("labels").rows if row["seen"] is None)


def test_the_list_says_of_each_label_whether_its_clause_was_seen() -> None:
    [chapter] = labels(planned(NEC | SUN), A4)
    [listed] = [block for block in chapter.blocks if isinstance(block, Table)]
    rows = {text_of(row.cells[0]): [text_of(cell) for cell in row.cells] for row in listed.rows}
    assert rows["several sources"][1:5] == ["2", "lid of the board", "NFPA 70 705.10", "seen"]
    assert rows["bank"][3:5] == ["NFPA 70 480 and 706", "from memory"]
    assert rows["tag of a unit"][1:5] == ["3", "front of the unit", "common practice, no source", ""]


def test_what_defers_to_the_authority_stands_first_and_framed() -> None:
    [chapter] = labels(planned(), A4)
    assert chapter.blocks[0].framed
    assert text_of(chapter.blocks[0].words).startswith("The authority, the utility, the rule book and the makers come first:")


def test_figures_are_the_plans() -> None:
    site = sample("copper-creek")
    [bank] = site.plan.banks
    assert "bank B1: at most 56 V DC. A short gives up to 46.67 kA." in one(site, "bank")
    assert (bank.absorption, bank.fault_current) == ("56 V", "46.67 kA")
    assert "battery B1: nominal 51.2 V DC, at most 56 V DC, fault current up to 46.67 kA" in one(site, "battery disconnect")
    assert "10 kA | reckoned on ____ by ____" in one(site, "fault current of the service")
    solar = planned(SUN)
    assert f"solar L1-1: at most {solar.plan.solar.cold_voc} DC." in one(solar, "solar isolator")


def test_a_cold_lead_bank_charges_above_its_usual_voltage() -> None:
    site = planned(LEAD | {"site.ambient_min": "-10 degC"})
    [bank] = site.plan.banks
    assert float(bank.absorption_cold.split()[0]) > float(bank.absorption.split()[0])
    assert f"at most {bank.absorption_cold} DC" in one(site, "bank")


def test_what_is_not_known_is_a_blank_never_a_guess() -> None:
    """No letter from the utility: the fault current stays open. A module of which nothing is known stops the plan, and its labels are not made."""
    site = planned(NEC | {"incoming.prospective_fault": None})
    assert one(site, "fault current of the service") == "AVAILABLE FAULT CURRENT | ____ | reckoned on ____ by ____"
    unknown = planned({"storage.module.voltage": None, "storage.module.cells": None}, without=("storage.module.absorption",))
    assert "at most ____ DC. A short gives up to ____." in one(unknown, "bank")
    assert labels(unknown, A4) == ()


def test_labels_follow_what_a_site_has() -> None:
    names = set(told(planned()))
    assert {"lithium", "several sources", "residual-current device", "neutral-earth bond", "earth bar"} <= names
    assert not {"acid and gas", "solar isolator", "bond of a battery pole", "fault current of the service"} & names
    assert "acid and gas" in told(planned(LEAD))
    assert "lithium" not in told(planned(LEAD))
    # 110.24 marks service equipment: a generator's terminals are none.
    assert "fault current of the service" not in told(planned(NEC | {"incoming.kind": "generator", "incoming.rating": "30 kVA"}))
    alone = told(planned(set_of(1) | {"incoming.kind": "none"}))
    assert [cell[1] for cell in alone["several sources"]] == ["load board is fed by the unit (banks: B1)."]
    assert "neutral-earth bond" not in told(planned(SITES["no bond"]))


def test_the_shutdown_opens_loads_first_and_leaves_batteries_to_a_licensed_person() -> None:
    """T24: data cables come out before a battery isolator opens, and whoever runs to a label will not do that."""
    [lines] = told(planned(SUN))["emergency shutdown"]
    assert lines[1:6] == [
        "1. Loads: open AC isolator of load common at load board.",
        "2. Supply: open breaker of incoming common at incoming board.",
        "3. Every unit off at its own switch.",
        "4. Panels: open DC isolator of solar L1-1, solar L2-1, solar L3-1 at solar isolator.",
        "5. Batteries: only a licensed person, never alone; data cables out first, then the isolators of the units, those of the banks last.",
    ]
    assert "battery posts stay live" in lines[6]
    assert "cables of panels stay live in daylight" in lines[6]
    # Where no circuit is a bank's alone, the directory names those of the units on it.
    assert told(sample("ferry-house"))["directory of the sources"][0][3] == "bank B2: DC isolator of battery L1-2 at B2"


def test_every_device_and_every_unit_is_named() -> None:
    site = sample("ridge-lodge")
    found = told(site)
    rows = [name for name, row in site.parts.switchgear.rows.items() if row]
    assert [cell[0] for cell in found["name of a device"]] == rows
    assert [cell[0] for cell in found["tag of a unit"]] == list(site.parts.units.tags)
    assert found["name of a device"][rows.index("battery L1-1")] == ["battery L1-1", "fuse 160 A, DC isolator", "bar B1 to L1-1"]
    # T24: with its data cables in, a unit that loses its minus sends battery current through them.
    assert all("unit off, data cables out; open and lock" in cell[2] for cell in found["tag of a unit"])
    assert "CONFIRM" not in str(found)
    [incoming, load] = found["directory of a board"]
    assert incoming[1] == "incoming common: breaker 63 A"
    assert len(incoming) == 1 + 7
    assert len(load) == 1 + 7


def test_nothing_is_stuck_on_by_a_plan_that_is_stopped() -> None:
    assert labels(planned({"earthing.island_bond": None}), A4) == ()
    assert labels(planned({"set.count": None, "set.per_phase": None}, without=("unit",)), A4) == ()


@pytest.mark.parametrize(("name", "most"), [("copper-creek", 4), ("ferry-house", 3), ("alder-farm", 4), ("ridge-lodge", 6), ("harbour-works", 8)])
@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
def test_pages(name: str, most: int, paper: Paper) -> None:
    [chapter] = labels(sample(name), paper)
    pages = filled(chapter, paper)
    assert len(pages) <= most + (paper is LETTER)
    assert sum(len(block.cells) for page in pages for block in page if isinstance(block, Labels)) == len(list(markers(sample(name)))) + sum(
        len(of.cells) for of in stuck(sample(name))
    )
