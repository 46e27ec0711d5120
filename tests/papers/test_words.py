"""What stands on the pages: every figure stands in the plan as well, for a paper reckons nothing; and every word is a word."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest
from spellchecker import SpellChecker

from engine.files.emit import emit, plan_document
from engine.quantities import KINDS
from engine.sheets.folder import A4
from tests.papers.test_folder import SAMPLES, folded, planned

TABLES = Path(__file__).parents[2] / "engine" / "tables"
# Sentences of these tables stand on papers as they are, each beside its source.
SOURCED = ("labels", "handover", "maintenance", "decisions", "verification", "rules")
_UNITS = sorted({word for kind in KINDS.values() for word in kind.spellings} | {"ft", "in", "pt", "%"}, key=len, reverse=True)
_FIGURE = re.compile(rf"(?<![\w.,])[+-]?\d+(?:[.,]\d+)?\s(?:{'|'.join(map(re.escape, _UNITS))})(?![\w/])")
# Behind a figure of the plan, what the people of a rule book measure in.
_CUSTOMARY = re.compile(r" \([\d.]+ (?:ft|lb)\)")


class _Texts(HTMLParser):
    """The text of an HTML file without its style; a bar where a cell, a line or a paragraph ends."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._silent += tag == "style"

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag == "style"
        if tag not in ("b", "span"):
            self.found.append(" | ")

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.found.append(data)


@cache
def text_of(name: str) -> str:
    reader = _Texts()
    reader.feed(folded(name, A4))
    return re.sub(r"\s+", " ", "".join(reader.found))


@cache
def sourced() -> str:
    return " ".join((TABLES / f"{name}.toml").read_text() for name in SOURCED)


@pytest.mark.parametrize("name", SAMPLES)
def test_every_figure_of_a_paper_stands_in_the_plan(name: str) -> None:
    plan = re.sub(r"\s+", " ", emit(plan_document(planned(name).plan)))
    answers = (Path(__file__).parents[2] / "sample_sites" / name / "site.toml").read_text()
    known = set(_FIGURE.findall(f"{plan} {answers} {sourced()}"))
    found = _FIGURE.findall(_CUSTOMARY.sub("", text_of(name)))
    assert len(found) > 100
    assert sorted(set(found) - known) == []


@pytest.mark.parametrize("name", SAMPLES)
def test_every_word_is_a_word(name: str) -> None:
    own = set((Path(__file__).parent / "words.txt").read_text().split())
    site = re.findall(r"[a-z]+", tomllib_names(name).lower())
    words = set(re.findall(r"(?<![\w.-])[a-z]{3,}(?![\w.]*[\w-])", text_of(name)))
    assert len(words) > 300
    assert sorted(SpellChecker().unknown(words) - own - set(site)) == []


def tomllib_names(name: str) -> str:
    """What the people of the site wrote themselves."""
    document = tomllib.loads((Path(__file__).parents[2] / "sample_sites" / name / "site.toml").read_text())
    return str(document)
