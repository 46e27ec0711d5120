"""What stands on the screens of three sites at every size: nothing is cut without a mark, and what is asked is always in sight."""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise

import pytest

from engine.findings import Level
from tests.journeys.terminal import ROOT
from wizard.answers.session import Session
from wizard.asking import guide
from wizard.interview.boxes import Tell
from wizard.interview.draw import body_lines, show
from wizard.interview.state import DRAWING, REVIEW, order

from .driving import Interview

SIZES = pytest.mark.parametrize("size", [(80, 24), (40, 12), (120, 40)], ids=str)
SITES = pytest.mark.parametrize("name", ["", "alder-farm", "harbour-works"])


@cache
def _opened(name: str) -> Session:
    return Session.open(ROOT / "sample_sites" / name / "site.toml") if name else Session()


def review(at: Interview) -> None:
    at.press("f4", "end", "enter")
    assert at.at == REVIEW


def told(at: Interview) -> str:
    """All that an open box tells, screen by screen."""
    lines: list[str] = []
    while isinstance(at.state.box, Tell):
        top, new = at.state.box.top, at.text().splitlines()[2 : body_lines(at.state) + 1]
        lines = [*lines[:top], *new]
        at.press("pagedown")
        if at.state.box.top == top:
            break
    return "\n".join(lines)


def flat(text: str) -> str:
    return " ".join(text.split())


@SITES
def test_on_a_telephone_the_name_and_the_box_of_what_is_asked_are_seen(name: str) -> None:
    """In tables too, and with a text that was not accepted: the name in one line, its box in the next, the caret in it."""
    at = Interview(_opened(name), (40, 12))
    for page in guide.pages(at.session.answers):
        assert at.state.place.page is page
        for key in order(at.state):
            while at.at != key:
                at.press("tab")
            question = at.state.question(key)
            if question is None:
                continue
            caret = show(at.state)[1].caret
            assert caret, key
            assert 2 <= caret[1] <= body_lines(at.state), (key, at.text())
            lines = at.text().splitlines()
            assert question.name.strip() in lines[caret[1] - 1], (key, at.text())
            assert re.match(r"  [\[<].*[\]>]", lines[caret[1]]), (key, at.text())
        at.press("f8")


def test_on_a_telephone_a_long_refusal_leaves_the_name_and_the_box_in_sight() -> None:
    at = Interview(size=(40, 12))
    at.go("storage.module.capacity")
    at.answer("as much as the last one that we had here")
    lines = at.text().splitlines()
    assert "Module capacity" in lines[1] or "Module capacity" in lines[2]
    assert any("not accepted" in line for line in lines)
    assert "F1: all" in at.text()
    at.press("f1")
    assert at.state.refused["storage.module.capacity"].why in flat(told(at))


@SITES
@SIZES
def test_what_the_next_key_does_is_never_cut(name: str, size: tuple[int, int]) -> None:
    """But for a cure, which may be of any length; F1 tells all of it."""
    at = Interview(_opened(name), size)
    for _ in guide.pages(at.session.answers):
        for keys in (*[("tab",)] * len(order(at.state)), ("f1",), ("escape", "f4"), ("escape",)):
            said = at.text().splitlines()[-2]
            assert " ..." not in said or (said.startswith("F3 ") and said.endswith("F1: all")), (at.at, said)
            at.press(*keys)
        at.press("f8")


@SITES
def test_no_cell_and_no_remark_is_cut_on_a_usual_screen(name: str) -> None:
    at = Interview(_opened(name))
    for page in guide.pages(at.session.answers):
        if page.name != "review":
            assert [line for line in at.text().splitlines()[1:-9] if re.search(r"\.\. *[#|]?$|~ ", line)] == []
        at.press("f8")


def test_on_a_telephone_what_stops_the_plan_is_said_whole() -> None:
    at = Interview(size=(40, 12))
    assert "! stops the plan" in at.text()
    assert "assumed utility" in at.text()


# The review


@SITES
@SIZES
def test_every_finding_is_read_whole_in_the_words_of_the_questions(name: str, size: tuple[int, int]) -> None:
    """Down goes to the next, F1 says all of the one that is read, however small the screen."""
    at = Interview(_opened(name), size)
    review(at)
    assert at.state.seen
    for finding in at.state.seen.findings:
        text = "\n".join(at.text().splitlines()[:-3])
        assert flat(guide.spoken(finding.text))[: size[0] - 30] in flat(text)
        assert not re.search(r"\.\.$|plan\.[a-z]|\w+\.\w+_\w+", text, re.MULTILINE), text
        at.press("f1")
        assert flat(guide.spoken(f"{finding.text} {finding.remedy}")) in flat(told(at))
        at.press("escape", "down")


@SIZES
def test_a_screenful_leaves_no_finding_out(size: tuple[int, int]) -> None:
    at = Interview(_opened("harbour-works"), size)
    review(at)
    assert at.state.seen
    read: list[int] = []
    while at.state.reading not in read:
        read.append(at.state.reading)
        at.press("pagedown")
    seen = at.state.seen.findings
    assert read[-1] == len(seen) - 1
    at.press("home", *["up"] * len(seen))
    for first, then in pairwise(read):
        # All between one screen and the next stood on the first of them.
        text = flat(at.text())
        for finding in seen[first:then]:
            assert flat(guide.spoken(finding.text))[:30] in text
        at.press("pagedown")


def test_the_review_offers_the_cure_of_the_finding_that_is_read() -> None:
    changed = _opened("alder-farm").set("solar.series", "12")
    assert isinstance(changed, Session)
    at = Interview(changed)
    review(at)
    assert at.state.seen
    wanted = next(place for place, one in enumerate(at.state.seen.findings) if one.code == "cold-voc-above-limit")
    at.press(*["down"] * wanted)
    assert "F3 takes a cure, tried: Panels in a string = " in at.text()
    at.press("f3")
    assert int(at.session.get("solar.series")) < 12


def test_the_review_says_what_was_not_accepted() -> None:
    at = Interview(_opened("alder-farm"))
    at.go("set.count")
    at.answer("many")
    review(at)
    assert "1 not accepted (F6): Number of units." in at.text()


def test_what_was_assumed_is_told_by_its_question() -> None:
    at = Interview(_opened("harbour-works"), (120, 40))
    review(at)
    at.press("left")
    assert "[Assumed]" in at.text()
    assert "Battery-side capacitors" in at.text()
    assert "How many alike (Ice plant)" in at.text()


# Tables and the wall


def test_the_letters_of_the_drawing_are_told_beside_it() -> None:
    at = Interview(_opened("harbour-works"))
    at.press("f4", "t", "h", "e", " ", "w", "enter")
    while at.at != DRAWING:
        at.press("tab")
    at.press("space")
    text = at.text()
    assert "Moving L1-1" in text
    assert "l load; i incoming; e earth; 1 battery cables of B1" in flat(text)
    at.press("f1")
    assert "? place assumed" in flat(at.text()) or "LOAD load board" in flat(at.text())


def test_the_number_of_units_is_told_where_it_follows_from_the_phases() -> None:
    at = Interview(_opened("harbour-works"))
    assert "12 by phase" in at.text()


@SIZES
def test_an_open_list_says_all_of_the_line_that_enter_takes(size: tuple[int, int]) -> None:
    at = Interview(_opened("alder-farm"), size)
    at.go("storage.chemistry")
    at.press("space")
    assert "lfp, managed lithium iron phosphate; its management can open the circuit" in flat(at.text())
    assert at.state.box
    at.press("home")
    assert "> (no answer)" in at.text()


def test_all_pages_and_their_stops_are_seen_on_a_telephone() -> None:
    changed = _opened("alder-farm").set_all({"incoming.breaker": "", "earthing.island_bond": ""})
    assert isinstance(changed, Session)
    at = Interview(changed, (40, 12))
    assert at.state.seen
    assert sum(one.level is Level.STOP for one in at.state.seen.findings) == 2
    at.press("f4")
    assert re.search(r"> The site +\d+/\d+ !2", at.text())
