"""What a caution asks somebody to decide: each caution of the source, in plain words; and the order of what was noticed."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from engine.tables import table
from engine.tables.decisions import GRAVITIES, decisions
from tests.defence.test_findings import TWINS

CAUTIONS = {twin.code for twin in TWINS if twin.level == "caution"}  # a test there holds them to the source
SIGN = {"owner", "installer", "planner", "licensed person"}
MAKERS = {"battery's maker", "unit's maker", "fuse's maker", "cable's maker"}
EVERY = list({id(asked): asked for asked in decisions().values()}.values())


def test_each_caution_asks_for_one_decision_and_no_row_is_left_over() -> None:
    codes = Counter(code for row in table("decisions").rows for code in str(row["codes"]).split(", "))
    assert set(codes) == CAUTIONS
    assert set(codes.values()) == {1}


@pytest.mark.parametrize("asked", EVERY, ids=lambda asked: asked.codes[0])
def test_a_decision_is_in_plain_words(asked) -> None:
    words = f"{asked.title} {asked.decide} {asked.instead}"
    assert not re.search(r"[_\[\]={}]|\b[TS]\d+\b|\bplan\.\w|\d", words), words
    assert len(asked.title) <= 60
    assert not asked.title.endswith(".")
    assert asked.decide.endswith(".")
    assert asked.instead.endswith(".")
    assert 1 <= len(re.findall(r"[.]( |$)", asked.decide)) <= 2
    assert len(asked.instead) <= 110
    assert asked.who in SIGN
    assert set(asked.ask) <= (SIGN | MAKERS) - {asked.who}


def test_titles_are_told_apart_and_stand_by_gravity() -> None:
    assert len({asked.title for asked in EVERY}) == len(EVERY)
    places = [GRAVITIES.index(asked.gravity) for asked in EVERY]
    assert places == sorted(places)
