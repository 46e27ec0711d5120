"""The diagrams: every piece and circuit once, no label on another, none off the page, the poles that each device opens."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache
from xml.etree import ElementTree as ET

import pytest

from engine.files.emit import emit
from engine.files.read import parse
from engine.planner import plan
from engine.sheets.devices import device_notes, letters
from engine.sheets.drawings.paper import A4, LETTER_PAPER, fitting
from engine.sheets.drawings.single_line import single_line
from engine.sheets.drawings.symbols import SYMBOLS
from engine.sheets.drawings.three_pole import three_pole
from engine.sheets.text.layout import cells
from engine.sheets.text.single_line import lines, single_line_text
from tests.engine.drawn import Box, counted, faults, labels
from tests.engine.paper_sites import NAMES, SOLAR, planned, sample, set_of
from tests.generated.sites import site

SIZES = {"A4": A4, "Letter": LETTER_PAPER}
SITES = 60
HOSTILE = '</text><script>alert(1)</script>" onload="x \N{PILE OF POO} \u202egnp ' + "W" * 120
SIX = {
    "set.count": 6,
    "set.per_phase": [2, 2, 2],
    "storage.connection": "bank-per-phase",
    "storage.wired": {f"L{phase}-{unit}": f"B{phase}" for phase in (1, 2, 3) for unit in (1, 2)},
    "storage.links": [],
}
# What asks most of the sheets: pieces of every kind, strings with fuses, an earthed pole, what is not known, more units than one sheet takes.
HARD = {
    "one unit": (set_of(1) | SOLAR | {"solar.parallel": 3, "storage.earthed": "minus"}, ()),
    "six units, three banks, fused strings, plus earthed": (SIX | SOLAR | {"solar.parallel": 3, "storage.earthed": "plus"}, ()),
    "nothing comes in": ({"incoming.kind": "none", "storage.earthed": "minus"}, ()),
    "nothing known": (set_of(2) | SOLAR, ("unit.real_power", "unit.apparent_power", "unit.surge_power", "storage.module", "unit.transfer_current", "earthing")),
    "a unit without a bank": ({"storage.wired": {"L1-1": "B1", "L2-1": "B1"}}, ()),
    "seven on a bank of phases one and six": ({"set.count": 7, "set.per_phase": [1, 5, 1], "storage.wired": {}}, ()),
    "twenty units": (set_of(20), ()),
    "thirty-six units": (set_of(36) | {"unit.max_units": 36} | SOLAR, ()),
    "names that would do harm": ({"site.name": HOSTILE, "earthing.bond_at": HOSTILE, "unit.model": HOSTILE}, ()),
}


@cache
def hard(name):
    changes, without = HARD[name]
    return planned(changes, without=without)


@cache
def generated(number):
    """A plausible site of one to four units a phase."""
    file = parse(emit(site(number, 1 + number % 4)).encode(), "site")
    return plan(file.answers, file.revision)


def tags(plan):
    return Counter(gear.tag for _, gear in plan.parts.switchgear.pieces)


def held(plan, size):
    """Everything that holds of the single-line diagram of a plan."""
    svgs = single_line(plan, size)
    assert [fault for svg in svgs for fault in faults(svg, size)] == []
    assert counted(svgs, "gear") == tags(plan)
    assert counted(svgs, "circuit") == Counter(ends.name for ends in plan.parts.circuits.circuits)
    assert counted(svgs, "unit") == Counter(plan.parts.units.tags)
    assert counted(svgs, "bank") == Counter(bank.name for bank in plan.parts.banks.banks)
    return svgs


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", NAMES)
def test_a_sample_is_drawn_whole_and_without_overlap(name, size):
    assert held(sample(name), SIZES[size])


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", HARD)
def test_a_hard_site_is_drawn_whole_and_without_overlap(name, size):
    assert held(hard(name), SIZES[size])


def test_plausible_sites_are_drawn_whole_and_without_overlap():
    seen = Counter()
    for number in range(SITES):
        made = generated(number)
        for size in SIZES.values():
            held(made, size)
            for svg in three_pole(made, size):
                assert faults(svg, size) == []
                assert counted((svg,), "gear") == tags(made)
        seen[made.facts.rules] += 1
    assert min(seen["iec"], seen["nec"]) >= SITES // 4


def test_six_units_stand_on_one_sheet_and_twelve_on_one_a_phase():
    assert [len(single_line(sample(name))) for name in NAMES] == [1, 1, 1, 3, 1]
    titles = [ET.fromstring(svg)[0].text for svg in single_line(sample("harbour-works"))]
    assert titles == [f"single-line diagram, sheet {number} of 3" for number in (1, 2, 3)]


def test_bars_say_on_which_sheet_they_go_on():
    words = [[box.words for box in labels(svg)] for svg in single_line(hard("twenty units"))]
    assert len(words) > 2
    assert "bar B1: more on sheet 2" in words[0]
    assert "from sheet 1" in words[1]
    assert not any(label.startswith("bar B1: more") for label in words[-1])


def test_a_rating_stands_beside_its_tag():
    words = [box.words for box in labels(single_line(sample("alder-farm"))[0])]
    for tag, rating in (("L1-1.F1", "160 A 100 kA"), ("L1-1.Q1", "160 A"), ("L2-1.Q2", "B 40 A 6 kA"), ("B1.F1", "400 A 100 kA"), ("F5", "40 A")):
        assert words[words.index(tag) + 1] == rating


def test_what_is_not_known_says_so():
    for size in SIZES.values():
        words = [box.words for svg in single_line(hard("nothing known"), size) for box in labels(svg)]
        assert "?" not in words or any(label.startswith("?: not computed.") for label in words)
        assert words[words.index("L1-1.F1") + 1] in ("not computed", "?")


def test_a_pole_that_a_device_does_not_open_goes_through():
    """Copper Creek's breakers are of one pole: by the National Electrical Code no neutral is opened there."""
    for name in ("copper-creek", "alder-farm", "ridge-lodge", "ferry-house"):
        made = sample(name)
        drawn = {words for svg in three_pole(made) for words in counted((svg,), "pole")}
        pieces = [gear for circuit, gear in made.parts.switchgear.pieces if circuit]
        assert drawn == {f"{gear.tag} {pole}" for gear in pieces for pole in gear.poles}
    assert "L1-1.Q4 N" not in {words for svg in three_pole(sample("copper-creek")) for words in counted((svg,), "pole")}


def test_every_conductor_is_a_line():
    made = sample("alder-farm")
    drawn = counted(three_pole(made), "circuit")
    lines_of = {"load common": "L1 L2 L3 N PE", "incoming common": "L1 L2 L3 N PE", "load L2-1": "L2 N PE", "incoming L3-1": "L3 N PE", "battery B1": "plus minus", "battery L1-1": "plus minus", "solar L1-1": "plus minus"}
    assert {f"{name} {pole}" for name, poles in lines_of.items() for pole in poles.split()} <= set(drawn)
    assert set(drawn.values()) == {1}
    assert {f"earth {tag}" for tag in made.parts.units.tags} | {"earth common"} <= set(drawn)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", [name for name in HARD if "twenty" not in name and "thirty" not in name and "seven" not in name])
def test_every_conductor_of_a_hard_site_has_room(name, size):
    svgs = three_pole(hard(name), SIZES[size])
    assert len(svgs) == 1
    assert faults(svgs[0], SIZES[size]) == []
    assert counted(svgs, "gear") == tags(hard(name))


def test_more_than_six_units_have_no_sheet_of_every_conductor():
    assert three_pole(hard("seven on a bank of phases one and six")) == ()
    assert three_pole(sample("harbour-works")) == ()


def test_no_units_are_told():
    empty = planned(without=("set", "unit", "output"))
    assert empty.parts.units.units == ()
    assert three_pole(empty) == ()
    assert "The plan has no units: nothing to draw." in [box.words for box in labels(single_line(empty)[0])]
    assert lines(empty.plan) == ["The plan has no units: nothing to draw."]


def test_names_come_out_harmless():
    made = hard("names that would do harm")
    for svg in (*single_line(made), *three_pole(made)):
        assert "<script" not in svg
        assert "\u202e" not in svg
        assert not any(name.startswith("on") for element in ET.fromstring(svg).iter() for name in element.attrib)


def test_nothing_rests_on_colour():
    for svg in (*single_line(sample("ridge-lodge")), *three_pole(sample("ridge-lodge"))):
        assert set(re.findall(r"#[0-9a-f]{3,6}", svg)) <= {"#000000", "#ffffff"}


def test_the_legend_tells_every_symbol_that_is_drawn():
    words = [box.words for box in labels(single_line(sample("ridge-lodge"))[0])]
    for name in ("generator", "battery", "unit", "fuse", "isolator", "breaker", "residual", "surge", "relay", "earth", "bar", "hop", "N", "PE"):
        assert SYMBOLS[name].words in words
    assert SYMBOLS["panels"].words not in words


def test_boxes_that_meet_are_seen():
    """The judge of all the others."""
    a, b = Box("a", 0, 0, 10, 4), Box("b", 9, 3, 20, 7)
    assert a.meets(b)
    assert not a.meets(Box("c", 10, 0, 20, 4))
    svg = single_line(sample("alder-farm"))[0]
    moved = svg.replace('y="3.3"', 'y="6.3"', 1)
    assert faults(svg, A4) == []
    assert faults(moved, A4) != []
    assert faults(svg, (200.0, 170.0)) != []


def test_no_line_ends_within_a_figure():
    assert fitting("class 2, 0.6/1 kV; 160 A 10 kA", 1.0) == ["class", "2,", "0.6/1 kV;", "160 A", "10 kA"]
    for name in NAMES:
        for svg in (*single_line(sample(name)), *three_pole(sample(name))):
            assert not [box.words for box in labels(svg) if re.match(r"(?:k?V|k?A|mm2|AWG)\b", box.words)]


# --- text ---


@pytest.mark.parametrize("columns", [40, 80])
@pytest.mark.parametrize("name", HARD)
def test_text_holds_every_piece_within_its_columns(name, columns):
    made = hard(name)
    drawn = lines(made.plan, columns)
    assert all(cells(line) <= columns and line.isascii() for line in drawn)
    text = " ".join(drawn)
    for tag in tags(made):
        assert re.search(rf"\b{re.escape(tag)}\b", text), tag


def test_text_tells_the_way_from_bank_to_unit():
    text = single_line_text(sample("alder-farm"))
    assert " B1 -- [F B1.F1 400 A, 100 kA, + -] -- [/ B1.Q1 400 A, + -] -- 300 mm2 (b)\n    --> bar B1\n" in text
    assert " load board -- 10 mm2 (a) PE 10 mm2 -- [/ Q2 40 A, L1 L2 L3 N]\n    -- [D F5 40 A, L1 L2 L3 N] --> loads\n" in text
    assert text.startswith("== SINGLE-LINE DIAGRAM == revision ")
    assert all(cells(line) <= 80 for line in text.splitlines())


def test_text_tells_the_bond_of_an_earthed_pole():
    assert " bar B1 -- bond B1: " in single_line_text(hard("nothing comes in"))


# --- what is noted ---


def test_cables_have_letters_in_the_order_of_the_circuits():
    assert [*letters(sample("alder-farm").plan).values()] == ["(a)", "(b)", "(c)"]
    assert next(iter(letters(sample("alder-farm").plan))) == "copper, PVC 70 degC, class 2, 450/750 V"


def test_devices_that_are_alike_are_noted_together():
    notes = [*device_notes(sample("alder-farm").plan)]
    assert "F1: DC fuse NH gG (CONFIRM), 60 V or more" in notes
    assert "F6, F7: type 2, 230 V to neutral" in notes
    assert any("voltage not computed" in note for note in device_notes(hard("nothing known").plan))
