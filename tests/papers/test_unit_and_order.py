"""The sheet of each unit and the order of work in the folder: every step once, two pages a unit, numbers and marks alike."""

from __future__ import annotations

import re
from functools import cache

import pytest

from engine.planner import Planned, plan
from engine.sheets.folder.blocks import Block, Chapter, Para, Row, Table, Title
from engine.sheets.folder.filling import A4, LETTER, Paper, filled
from engine.sheets.folder.letters import Words, runs
from engine.sheets.folder.order import order
from engine.sheets.folder.unit import units
from engine.sheets.order import stretches
from engine.site import Answers
from engine.stages.procedure.part import Step
from tests.engine.paper_sites import NAMES, planned, sample, set_of
from tests.generated.sites import site

BOX = "\N{BALLOT BOX}"


@cache
def generated(number: int) -> Planned:
    """A plausible site."""
    return plan(Answers.model_validate(site(number)), "0123abcd")


def words(told: Words) -> str:
    """As a person reads them: a box, and a line to write on."""
    return "".join(BOX if run.box else f" {run.text}______" if run.blank else run.text for run in runs(told))


def texts(block: Block) -> list[str]:
    """Row by row."""
    if isinstance(block, Table):
        return [" | ".join(words(cell) for cell in row.cells) for row in (block.top, *block.rows)]
    assert isinstance(block, Para | Title)
    return [words(block.words)]


def told(chapter: Chapter) -> str:
    """All words of a chapter, gaps of any length alike."""
    found = "\n".join(text for block in chapter.blocks for text in texts(block))
    return re.sub(r"_{6,}", "______", re.sub(r"[^\S\n]+", " ", found))


def as_printed(text: str) -> str:
    """Words of a step: a gap is a line to write on, of whatever length."""
    return re.sub(r"_{6,}", "______", text)


def of_units(made: Planned) -> list[Step]:
    """The steps that stand on the units' sheets."""
    return [step for step in made.parts.procedure.steps if step.who in made.parts.units.tags]


@pytest.mark.parametrize("name", NAMES)
def test_every_step_stands_in_full_once_on_its_units_sheet_or_in_the_order(name: str) -> None:
    """A unit's readings are written on its sheet and nowhere else, those of the set in the order of work and nowhere else."""
    made = sample(name)
    sheets = {chapter.name: told(chapter) for chapter in units(made, A4)}
    [paper] = order(made, A4)
    text = told(paper)
    own = of_units(made)
    for step in own:
        do = as_printed(step.do)
        assert sheets[step.who].count(f"{do} WANT: {step.expect}. GOT:") == 1, step.id
        assert as_printed(step.otherwise) in sheets[step.who]
        assert do not in text, step.id
    others = [line for stretch in stretches(made) for line in stretch.lines if not line.part]
    assert {step.id for line in others for step in line.steps} == {step.id for step in made.parts.procedure.steps} - {step.id for step in own}
    for line in others:
        assert text.count(as_printed(line.first.do)) == sum(line.first.do in other.first.do for other in others), line.first.id
        assert as_printed(line.first.otherwise) in text
        assert not any(as_printed(line.first.do) in sheet for sheet in sheets.values())


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "letter"])
@pytest.mark.parametrize("name", NAMES)
def test_a_units_sheet_has_two_pages_at_most(name: str, paper: Paper) -> None:
    assert {chapter.name: len(filled(chapter, paper)) for chapter in units(sample(name), paper)} == dict.fromkeys(sample(name).parts.units.tags, 2)


@pytest.mark.parametrize("number", range(40))
def test_so_has_that_of_any_plausible_site(number: int) -> None:
    made = generated(number)
    for paper in (A4, LETTER):
        assert [chapter.name for chapter in units(made, paper) if len(filled(chapter, paper)) > 2] == []


def test_very_long_words_of_a_maker_are_all_there() -> None:
    """Where the sheet is set closer for them nothing is left out."""
    names = ("arrangement", "phase", "role", "charge_limit", "incoming_limit", "low", "float", "absorption", "chemistry", "output_voltage", "output_frequency")
    labels = {f"unit.labels.{name}": {"name": "W" * 60} for name in names}
    made = planned(labels | {"storage.module.discharge_current": "200 A"}, without=("unit.weight",))
    for chapter in units(made, LETTER):
        labels_of = [setting.label for setting in made.parts.settings.of[chapter.name] if setting.label]
        assert len(labels_of) >= len(names)
        assert all(label in told(chapter) for label in labels_of)


@pytest.mark.parametrize(("name", "most"), [("copper-creek", 8), ("ferry-house", 8), ("alder-farm", 8), ("ridge-lodge", 10), ("harbour-works", 16)])
@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "letter"])
def test_the_order_of_work_has_few_pages(name: str, most: int, paper: Paper) -> None:
    [chapter] = order(sample(name), paper)
    assert len(filled(chapter, paper)) <= most


def rows(chapter: Chapter) -> list[Row]:
    return [row for block in chapter.blocks if isinstance(block, Table) for row in block.rows]


@pytest.mark.parametrize("name", NAMES)
def test_numbers_and_marks_are_the_same_on_both(name: str) -> None:
    """What is ticked in the order has the number, HOLD and (!) that it has on the sheet, and one box for each unit that does it."""
    made = sample(name)
    [paper] = order(made, A4)
    ticked = {words(row.cells[0]).strip(): row for row in rows(paper) if words(row.cells[0]).strip().isdecimal()}
    sheets = {chapter.name: told(chapter) for chapter in units(made, A4)}
    steps = of_units(made)
    assert set(ticked) == {str(step.place) for step in steps}
    for step in steps:
        row = ticked[str(step.place)]
        mark = f"{'HOLD ' if step.hold else ''}{'(!) ' if step.hurt else ''}"
        assert words(row.cells[1]) == f"{mark}{step.title}"
        assert sum(words(cell) == BOX for cell in row.cells[2:]) == sum(other.place == step.place for other in steps)
        assert re.search(rf"^{step.place} {BOX} ?\|? ?{re.escape(mark)}{re.escape(as_printed(step.do)[:40])}", sheets[step.who], re.MULTILINE), step.id


@pytest.mark.parametrize("name", NAMES)
def test_the_order_names_the_part_of_the_sheet_in_which_a_step_stands(name: str) -> None:
    """Nobody has to guess where the work goes on."""
    made = sample(name)
    [paper] = order(made, A4)
    sheets = {chapter.name: told(chapter) for chapter in units(made, A4)}
    tag = made.parts.units.tags[0]
    for block in paper.blocks:
        if isinstance(block, Table) and words(block.head[1]).startswith("unit's sheet, part "):
            part = words(block.head[1]).removeprefix("unit's sheet, part ")
            places = {words(row.cells[0]) for row in block.rows if words(row.cells[0]).isdecimal()}
            here = re.split(rf"^{part} [A-Z]", sheets[tag], flags=re.MULTILINE)[1]
            assert any(re.search(rf"^{place} {BOX}", here, re.MULTILINE) for place in places), (part, places)
    if len(made.parts.units.tags) > 1:
        assert "Sheets of the units, part 9." in told(paper)


def test_the_turn_in_which_places_are_visited_is_told() -> None:
    [paper] = order(sample("ferry-house"), A4)
    steps = [step for step in sample("ferry-house").parts.procedure.steps if step.section == "battery"]
    fit, first, last = steps[0].place, steps[1].place, steps[3].place
    assert f"All steps named for one place, then the next: B1 {fit}; L1-1 {first}-{last}; B2 {fit}; L1-2 {first}-{last}." in told(paper)


def test_a_stopped_plan_ends_before_anything_is_landed() -> None:
    made = planned({"storage.module.discharge_current": "1 A"})
    assert made.plan.standing == "stopped"
    [paper] = order(made, A4)
    for chapter in (paper, *units(made, A4)):
        text = told(chapter)
        assert "the plan is stopped. nothing of it is landed or energised." in text.lower()
        for step in made.parts.procedure.steps:
            if step.section in ("land", "dead tests again", "battery", "chain", "power up", "voltages", "incoming", "residual current", "loads", "solar", "hand over"):
                assert as_printed(step.do) not in text
    assert "TERMINALS" not in told(units(made, A4)[0])


def test_a_plan_without_units_has_neither() -> None:
    made = planned(without=("set.count", "set.per_phase"))
    assert order(made, A4) == units(made, A4) == ()


def test_one_unit_alone_has_its_sheet_too() -> None:
    made = planned(set_of(1) | {"incoming.kind": "none"})
    [sheet] = units(made, A4)
    assert "One unit: no link." in told(sheet)
    assert "other units" not in told(sheet)
