"""The folder in a browser: page by page, on both papers."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import html5lib
import pytest
from pypdf import PdfReader

from engine.files.read import read
from engine.planner import Planned, plan
from engine.sheets.folder import A4, LETTER, Paper, folder
from tests.papers.browser import CHROMIUM, printed, seen

SAMPLES = {"copper-creek": 2, "ferry-house": 2, "alder-farm": 3, "ridge-lodge": 6, "harbour-works": 12}
needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: nobody laid the pages out")


@cache
def planned(name: str) -> Planned:
    file = read(Path(__file__).parents[2] / "sample_sites" / name / "site.toml")
    return plan(file.answers, file.revision)


@cache
def folded(name: str, paper: Paper) -> str:
    return folder(planned(name), paper)


@needs_browser
@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
@pytest.mark.parametrize("name", SAMPLES)
def test_nothing_is_cut_small_pale_or_on_something_else(name: str, paper: Paper, tmp_path: Path) -> None:
    found = seen(folded(name, paper), tmp_path)
    assert found.texts > 500
    assert (found.outside, found.small, found.overlapping, found.pale, found.fetched) == ((), (), (), (), ())


@needs_browser
@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
@pytest.mark.parametrize("name", SAMPLES)
def test_as_many_sheets_come_out_of_a_printer_as_the_program_numbered(name: str, paper: Paper, tmp_path: Path) -> None:
    html = folded(name, paper)
    sheets = PdfReader(printed(html, tmp_path)).pages
    assert len(sheets) == html.count("<section") > 10
    sizes = {tuple(sorted((round(float(sheet.mediabox.width)), round(float(sheet.mediabox.height))))) for sheet in sheets}
    points = 72 / 25.4
    assert sizes == {(round(paper.wide * points), round(paper.high * points))}


@pytest.mark.parametrize("name", SAMPLES)
def test_it_is_valid_html_without_script_or_request(name: str) -> None:
    html = folded(name, A4)
    html5lib.HTMLParser(strict=True).parse(html)
    assert "<script" not in html
    assert "url(" not in html
    assert "@import" not in html
    assert " src=" not in html
    assert " href=" not in html


def stopped() -> str:
    """The folder of a plan that is stopped: nobody said what joins neutral to earth."""
    file = read(Path(__file__).parents[2] / "sample_sites" / "ridge-lodge" / "site.toml")
    answers = file.answers.model_copy(update={"earthing": file.answers.earthing.model_copy(update={"island_bond": None})})
    return folder(plan(answers, file.revision), A4)


def test_a_stopped_plan_says_so_on_every_page_over_whatever_is_drawn_there() -> None:
    html = stopped()
    pages = html.split("<section")[1:]
    assert len(pages) > 10
    assert all(page.count('class="watermark"') == 1 for page in pages)
    over = re.search(r"\.watermark \{[^}]*z-index: (\d)", html)
    under = re.search(r"header, main, footer \{[^}]*z-index: (\d)", html)
    assert over and under and int(over[1]) > int(under[1])
    assert 'watermark"' not in folded("ridge-lodge", A4)
    assert "Build order" not in html and "Back to step 29" not in html


@needs_browser
def test_nothing_of_a_stopped_plan_is_cut_either(tmp_path: Path) -> None:
    found = seen(stopped(), tmp_path)
    assert (found.outside, found.small, found.overlapping, found.pale, found.fetched) == ((), (), (), (), ())
