"""The commands on the order of work: what it would catch, a mistake tried, what explains a reading."""

import re

import pytest

from engine.sheets.text.layout import cells
from tests.conftest import ROOT
from wizard.cli import main

FERRY = str(ROOT / "sample_sites" / "ferry-house" / "site.toml")  # two units on one phase, a bank each
ALDER = str(ROOT / "sample_sites" / "alder-farm" / "site.toml")  # three units on three phases, one bank


def test_the_proof_names_every_test_and_what_no_test_sees(capsys):
    """Every mistake has one fate; what the proof cannot see is said before what it can."""
    assert main(["prove", FERRY]) == 0
    said = capsys.readouterr().out
    total, caught, harmless = (int(re.search(pattern, said.replace("\n", " "))[1]) for pattern in (r"(\d+) mistakes, each alone", r"(\d+) caught before any harm", r"(\d+) harmless by themselves"))
    assert total == caught + harmless
    assert "UNSEEN" not in said
    assert "TOO LATE" not in said.split("== IF AN ACT")[0]
    parts = [said.index(f"== {part} ") for part in ("PROOF", "WHAT NO TEST SEES IN TIME", "IF AN ACT IS LEFT OUT", "WHAT EACH TEST CATCHES", "WHAT DOES NO HARM BY ITSELF")]
    assert parts == sorted(parts)
    assert "another size or print" in said.replace("\n   ", " ")
    assert all(cells(line) <= 80 for line in said.splitlines()[1:])
    # By the trade: a reversed battery cable is seen at its open isolator, or by the pre-charge behind it, before it is closed.
    polarity = said.split(" unit-polarity: ")[1].split("\n\n")[0] + said.split(" pre-charge: ")[1].split("\n\n")[0]
    assert "plus and minus exchanged" in polarity


@pytest.mark.parametrize(("mistake", "says"), [
    # Each worked by hand: lines of two phases on each other's bars read open to their own; a mode that is wrong is read back on the bench;
    # without pre-charging the unit stands at nothing while its battery is at +46 V or more.
    ('swap "load L1-1 L at bar" "load L2-1 L at bar"', "load-continuity@L1-1 shows it"),
    ('set L1-1 "storage mode" separate', "read-back@L1-1 shows it"),
    ("omit pre-charge@L1-1", "voltage difference at closing"),
    ('open "earth load-board PE at load board"', "boards-earth@set shows it"),
    ('loose "earth load-board PE at earth bar" 2', "boards-earth@set shows it"),
    ('open "load common N at bar"', "load-run@set shows it"),
    ('reverse "B1 string 1 module 1"', "modules@B1 shows it"),
    ('value "supply source L1" 1.3', "incoming-voltage@set shows it"),
    ('join "L1-1 plus" "L1-1 case"', "seen, though no harm comes of it|harmless by themselves"),
])
def test_a_mistake_of_ones_own_is_tried(capsys, mistake, says):
    assert main(["prove", ALDER, "--try", mistake]) == 0
    assert re.search(says, re.sub(r"\s+", " ", capsys.readouterr().out))


@pytest.mark.parametrize(("mistake", "says"), [
    ("", "nothing to try"),
    ('swap "load L1-1', "quotation mark is missing"),
    ("explode L1-1", "none of: swap"),
    ('swap "load L1-1 L at bar"', "swap wants END and END"),
    ('swap "load L1-1 L at baar" "load L2-1 L at bar"', "near it: load L1-1 L at bar"),
    ('value "supply source L1" much', "no number"),
    ('value "supply source L1" -1', "at least 0"),
    ('reverse "load L1-1 L"', "no source"),
    ('stuck "battery L1-1 isolator" ajar', "made, or open"),
    ("omit charge-sum@B1", "makes and unmakes nothing"),
    ("omit pre-charge@L9-1", "no step"),
    ("set L1-1 colour red", "no setting"),
    ("set L1-1 phase L1", "no mistake"),
    ("set L9-1 phase L1", "no unit"),
])
def test_what_cannot_be_tried_is_told_in_one_line(capsys, mistake, says):
    assert main(["prove", ALDER, "--try", mistake]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert says in said.err
    assert said.err.count("\n") == 1


def test_the_names_that_a_mistake_is_told_with_are_listed(capsys):
    """All that the tries above name is there, and every word."""
    assert main(["prove", ALDER, "--elements"]) == 0
    said = capsys.readouterr().out.splitlines()
    for name in ("load L1-1 L at load board", "supply source L1", "battery L1-1 isolator", "pre-charge@L1-1", "L1-1 case"):
        assert f"  {name}" in said
    assert any(line.startswith("  swap END END") for line in said)


def test_a_site_without_units_has_nothing_to_prove(capsys, tmp_path):
    site = tmp_path / "empty.toml"
    site.write_text('[site]\nname = "Nowhere"\n', encoding="utf-8")
    for words in (["prove", str(site)], ["find", str(site), "--reading", "chain-resistance@L1-1=60ohm"]):
        assert main(words) in (1, 2)
        said = capsys.readouterr()
        assert said.out == ""
        assert "units" in said.err


def test_what_explains_a_reading_is_said(capsys):
    """Two terminators of 120 ohm side by side read 60: one too many, and at L3-1 it can only sit between."""
    assert main(["find", ALDER, "--reading", "chain-resistance@L3-1=60ohm"]) == 0
    said = capsys.readouterr().out
    assert "terminator at L2-1: one more in between" in said
    assert "licensed" in said
    assert main(["find", ALDER, "--reading", "chain-resistance@L3-1=60 apples"]) == 2
    assert "Traceback" not in capsys.readouterr().err
    assert main(["find", ALDER]) == 2
    assert "at least one" in capsys.readouterr().err
