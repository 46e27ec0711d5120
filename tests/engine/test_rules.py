"""Every rule has its text, and no paper shows a number without it."""

import io
import json
import re
from contextlib import redirect_stdout
from pathlib import Path

import pytest

from engine.sheets.papers import papers
from engine.sheets.text.findings import findings_text
from engine.sheets.text.layout import WIDTH, cells
from engine.sheets.text.why import why_text
from engine.tables.rules import cited, rules, told
from engine.workings import chosen
from tests.engine.paper_sites import NAMES, SAMPLES, SOLAR, planned, sample, set_of
from wizard.cli import main
from wizard.review import finding_lines

ROOT = Path(__file__).parents[2]
# Read apart from the engine's own reading: whatever looks like a number of a rule, but for the factor k2 and its area S2.
NUMBER = re.compile(r"(?<!k2 )\b[TS]\d+\b")
HEAD = "== RULES CITED "

VARIED = {
    "solar": SOLAR,
    "another lead": {"set.lead": "L3-9"},
    "thin terminals": {"unit.dc_terminal_max": "16 mm2", "unit.ac_terminal_max": "2.5 mm2"},
    "lead-acid, three phases by twos": {
        "storage.chemistry": "flooded",
        "storage.managed": False,
        "set.count": 6,
        "set.per_phase": [2, 2, 2],
    },
    "no supply": {"incoming": {"kind": "none"}, "storage.connection": "bank-per-unit"},
    "one unit": set_of(1),
}


def flat(text: str) -> str:
    return " ".join(text.split())


def faults(page: str) -> list[str]:
    """What a page leaves untold: a number without its name, or one whose sentence is not on the page."""
    text = flat(page)
    block = text[text.index(HEAD) :] if HEAD in text else ""
    wrong = [number for number in set(NUMBER.findall(text)) if flat(rules()[number].text) not in block]
    for found in NUMBER.finditer(text[: len(text) - len(block)]):
        after, name = text[found.end() :], rules()[found[0]].name
        if not after.startswith((f" ({name})", f": {name})")):
            wrong.append(text[found.start() - 20 : found.end() + 20])
    return wrong


def test_every_rule_stands_in_the_table_once() -> None:
    assert list(rules()) == [f"T{n}" for n in range(1, 25)] + [f"S{n}" for n in range(1, 37)]
    assert len({each.name for each in rules().values()}) == len({each.text for each in rules().values()}) == 60


@pytest.mark.parametrize("number", list(rules()))
def test_a_rule_is_one_plain_sentence_with_its_basis_and_source(number: str) -> None:
    found = rules()[number]
    assert found.number == number
    assert len(found.name) <= 50 and found.name[0].islower() and not found.name.endswith(".")
    assert found.text[0].isupper() or found.text[0] == "n"
    assert found.text.endswith(".") and not re.search(r"[.!?] [A-Z]", found.text)
    assert not NUMBER.search(found.text + found.name + found.source), "no rule is told by the number of another"
    assert found.basis in ("standard", "practice", "computed")
    standard = re.search(r"\b(IEC|NFPA|ISO|EN|TIA)\b", found.source)
    assert standard or found.basis != "standard"
    assert found.source and (standard or "no source" in found.source or found.basis == "computed" or "own custom" in found.source)


def test_every_number_in_the_code_has_its_rule() -> None:
    """Comments and docstrings as well: whoever reads them finds the sentence in the table."""
    files = [path for folder in ("engine", "wizard") for path in (ROOT / folder).rglob("*") if path.suffix in (".py", ".toml")]
    numbers = {number for path in files for number in NUMBER.findall(path.read_text(encoding="utf-8"))}
    assert len(files) > 150 and len(numbers) > 40
    assert numbers <= set(rules())


def test_a_source_is_told_by_name() -> None:
    assert told("T6; IEC 60898-1") == "T6 (fault current in island operation); IEC 60898-1"
    assert told("T11, S18") == "T11 (paralleled conductors share alike), S18 (like circuits are made alike)"
    assert told("transfer current of the unit (T8)") == "transfer current of the unit (T8: transfer current)"
    assert told("k2 S2 >= I2t; T99, M8, L1-1, S1-2") == "k2 S2 >= I2t; T99, M8, L1-1, S1-2"
    assert [each.number for each in cited("S12; T6, S12 (T10)")] == ["S12", "T6", "T10"]
    assert "T99" not in rules()


def test_what_is_told_is_not_told_again() -> None:
    for source in ("T6, S12; IEC 60898-1", "the busiest phase (T9)", "T23: measured on the routes"):
        assert told(told(source)) == told(source) != source


@pytest.mark.parametrize("name", NAMES)
def test_papers_of_a_sample_tell_every_rule_they_cite(name: str) -> None:
    pages = papers(sample(name)) | {"check": findings_text(sample(name))}
    assert {page: wrong for page, text in pages.items() if (wrong := faults(text))} == {}
    assert HEAD in pages["plan.txt"] and HEAD in pages["check"]
    assert max(map(cells, pages["check"].splitlines())) <= WIDTH


@pytest.mark.parametrize("name", NAMES)
def test_why_tells_every_rule_it_cites(name: str) -> None:
    told_of = {key: why_text(figure) for key, figure in sample(name).figures.items()}
    assert {key: wrong for key, text in told_of.items() if (wrong := faults(text))} == {}
    assert sum(HEAD in text for text in told_of.values()) > 200


@pytest.mark.parametrize("changes", VARIED)
def test_findings_of_other_sites_tell_every_rule_they_cite(changes: str) -> None:
    assert faults(findings_text(planned(VARIED[changes]))) == []


def test_the_faults_are_seen() -> None:
    assert faults("cure [code; S18]")
    assert faults("cure [code; S18 (like circuits are made alike)]")
    assert faults(f"the busiest phase (T9)\n{HEAD}==\nT9 {rules()['T9'].text}")
    assert faults("no number") == []


def test_why_ends_with_the_rules_each_once() -> None:
    below = chosen("y", 1.0, "A", "the busiest phase (T9)", "T9, S18")
    text = why_text(chosen("x", 1.0, "A", "", "S18", [below, below]))
    assert "source: S18 (like circuits are made alike)" in text
    assert "the busiest phase (T9: several devices feed one conductor)" in text
    block = flat(text[text.index(HEAD) :])
    assert block.count(rules()["S18"].text) == block.count(rules()["T9"].text) == 1
    assert block.index(rules()["S18"].text) < block.index(rules()["T9"].text)
    assert "Basis: computed. Source: Kirchhoff's current law." in block
    assert HEAD not in why_text(chosen("x", 1.0, "A", "", "a table"))


def test_the_interview_shows_no_bare_number() -> None:
    lines = " ".join(flat(text) for name in NAMES for _, text in finding_lines(sample(name), 60))
    numbers = list(NUMBER.finditer(lines))
    assert len(numbers) > 20
    assert all(lines[found.end() :].startswith(f" ({rules()[found[0]].name})") for found in numbers)


def test_check_as_json_holds_the_rules() -> None:
    out = io.StringIO()
    with redirect_stdout(out):
        main(["check", "--json", str(SAMPLES / "alder-farm" / "site.toml")])
    found = json.loads(out.getvalue())
    numbers = {number for finding in found["findings"] for number in NUMBER.findall(finding["source"])}
    assert numbers == {each["number"] for each in found["rules"]}
    assert {each["number"]: each["text"] for each in found["rules"]}["T6"] == rules()["T6"].text
