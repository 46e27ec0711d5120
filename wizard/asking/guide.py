"""The order of the interview and where it stands: which pages apply, what is still open, what stops the plan.

Data in, data out: everything here is tested without a terminal.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import field, replace
from functools import lru_cache
from typing import Any

from engine.facts import Assumed
from engine.findings import Finding, Level
from engine.frozen import dataclass
from engine.keys import labelled
from engine.site import Answers
from engine.site.names import answer_of, asked_as, name_of, title_of
from engine.site.spoken import spoken
from wizard.answers.fields import path_of
from wizard.answers.session import Session
from wizard.asking.answering import answer, answer_all, asked, choices, circumstances, machine_meant, matches, text_at
from wizard.asking.pages import MEANINGS, PAGES, Circumstances, Page, Question, Table
from wizard.asking.rows import arranged, entry_line, offered, relative, series, totals, typed_in_place

__all__ = [
    "ESSENTIAL",
    "Notes",
    "Stop",
    "answer",
    "answer_all",
    "arranged",
    "asked",
    "choices",
    "entry_line",
    "entry_of",
    "entry_questions",
    "explain",
    "machine_meant",
    "matches",
    "meanings",
    "name_of",
    "notes",
    "offered",
    "order_of",
    "page_of",
    "pages",
    "place_of",
    "progress",
    "questions",
    "relative",
    "remark",
    "row_text",
    "series",
    "spoken",
    "stops",
    "text_at",
    "totals",
    "typed_in_place",
]

# The answers without which no plan is made.
ESSENTIAL: tuple[str, ...] = tuple(question.key for page in PAGES for question in page.questions if question.essential)


def pages(answers: Answers) -> tuple[Page, ...]:
    """The pages that apply, in their order; one with an answer always does, so that it can be seen and taken back."""
    return tuple(page for page in PAGES if page.when(answers) or _any_answered(page, answers))


def _any_answered(page: Page, answers: Answers) -> bool:
    keys = [question.key for question in page.questions] + ([page.table.key] if page.table else [])
    return any(_answered(key, answers) for key in keys)


def _answered(key: str, answers: Answers) -> bool:
    place: Any = answers
    for step in path_of(key):
        if isinstance(place, dict):
            place = place.get(step)
        elif isinstance(place, list):
            place = place[step] if isinstance(step, int) and step < len(place) else None
        else:
            place = getattr(place, str(step), None)
    return place not in (None, [], {})


def questions(page: Page, answers: Answers, tags: Iterable[str] = ()) -> tuple[Question, ...]:
    """The page's questions that apply, as they are put on this site; `tags` are the planned units, each of which is asked for its bank."""
    under = circumstances(answers)
    wired = (
        [Question(f"storage.wired.{tag}", example="B1") for tag in dict.fromkeys((*tags, *answers.storage.wired))]
        if page.name == "wired"
        else []
    )
    kept = [question for question in page.questions if question.when(answers) or _answered(question.key, answers)]
    return tuple(replace(question, under=under) for question in (*kept, *wired))


def entry_questions(table: Table, place: int, answers: Answers) -> tuple[Question, ...]:
    """The questions of one entry of an array that apply, under their full keys, as they are put on this site."""
    under = circumstances(answers)
    full = _full(table.key, place, under)
    return tuple(question for question in full if question.when(answers) or _answered(question.key, answers))


@lru_cache(maxsize=512)
def _full(key: str, place: int, under: Circumstances) -> tuple[Question, ...]:
    """Every question of a row: asked for with each key, by the row."""
    table = next(page.table for page in PAGES if page.table and page.table.key == key)
    return tuple(replace(question, key=f"{key}[{place}].{question.key}", under=under) for question in table.questions)


def row_text(session: Session, key: str) -> str:
    """An entry of an array, by its key by position, as a line; "" where the key is none or the entry is gone."""
    found = re.fullmatch(r"(.*)\[(\d+)\]", key)
    table = next((page.table for page in PAGES if found and page.table and page.table.key == found[1]), None)
    entries = session.entries(table.key) if table else []
    return entry_line(table, entries[int(found[2])]) if table and found and int(found[2]) < len(entries) else ""


def meanings(key: str) -> Mapping[str, str]:
    """What the choices of a key mean."""
    return MEANINGS.get(re.sub(r"\[\d+\]", "", key), {})


def place_of(about: str, answers: Answers) -> str | None:
    """The key by position of the question that a finding's key is about, or None where it is about no answer."""
    if about.startswith("plan."):
        return None
    for name, labels in (
        ("loads", labelled("loads", (load.called for load in answers.loads))),
        ("routes", labelled("routes", (" ".join(t for t in (r.carries, r.to) if t) for r in answers.routes))),
        ("wall.places", labelled("wall.places", (place.tag for place in answers.wall.places))),
        ("storage.links", labelled("storage.links", (link.bank for link in answers.storage.links))),
        ("bus_nodes", labelled("bus_nodes", (node.name for node in answers.bus_nodes))),
    ):
        for place, label in enumerate(labels):
            if about == label or about.startswith(f"{label}."):
                return asked_as(f"{name}[{place}]{about[len(label) :]}")
    return asked_as(re.sub(r"\[[^\]]*\].*", "", about))


def order_of(answers: Answers) -> Callable[[str], tuple[int, int]]:
    """Where a key is asked, as a number of its page and one within it; behind all where it is asked nowhere."""
    every = pages(answers)
    at = {question.key: (number, place) for number, page in enumerate(every) for place, question in enumerate(page.questions)}
    tables = {page.table.key: (number, len(page.questions)) for number, page in enumerate(every) if page.table}

    def place(key: str) -> tuple[int, int]:
        return at.get(key) or tables.get(re.sub(r"\[.*", "", key)) or (len(every), 0)

    return place


def entry_of(page: Page, key: str) -> tuple[Table, int] | None:
    """The entry of the page's array that a key lies in, or None."""
    found = re.match(r"^(.*?)\[(\d+)\]", key)
    return (page.table, int(found[2])) if found and page.table and page.table.key == found[1] else None


def page_of(key: str, answers: Answers) -> Page | None:
    """The page that asks for a key (by position); None where none does."""
    bare = re.sub(r"\[\d+\].*", "", key)
    return next((page for page in pages(answers) if _asks(page, key, bare)), None)


def _asks(page: Page, key: str, bare: str) -> bool:
    if page.table and page.table.key == bare:
        return True
    if page.name == "wired" and bare.startswith("storage.wired"):
        return True
    return any(question.key == key or question.key.startswith(f"{key}.") for question in page.questions)


@dataclass(frozen=True)
class Stop:
    """Something that stops the plan, and where it is answered: key by position and page, or neither.

    `name` is the question's; where no question would mend it, what is wrong.
    """

    finding: Finding
    key: str | None
    page: Page | None
    name: str


def stops(findings: Iterable[Finding], answers: Answers) -> tuple[Stop, ...]:
    """What stops the plan, in the order of the pages; what no page asks for stands last."""
    order = {page.name: at for at, page in enumerate(PAGES)}
    found = [_stop(finding, answers) for finding in findings if finding.level is Level.STOP]
    return tuple(sorted(found, key=lambda stop: order[stop.page.name] if stop.page else len(order)))


def _stop(finding: Finding, answers: Answers) -> Stop:
    key = place_of(finding.about, answers)
    page = page_of(key, answers) if key else None
    return Stop(finding, key if page else None, page, _name(key, page) if key and page else finding.text)


def _name(key: str, page: Page) -> str:
    within = re.sub(r"^.*\[\d+\]\.?", "", key)
    every = [*page.questions, *(page.table.questions if page.table else ())]
    return next((title_of(key) for question in every if question.key in (key, within)), page.title)


def progress(page: Page, session: Session, tags: Sequence[str] = ()) -> tuple[int, int]:
    """How many of a page's questions are answered, and how many there are; entries of its array count as answered."""
    every = questions(page, session.answers, tags)
    entries = len(session.entries(page.table.key)) if page.table else 0
    return sum(bool(text_at(session, question.key)) for question in every) + entries, len(every) + entries


@dataclass(frozen=True)
class Notes:
    """What a plan says of the answers, by key (by position): what stops it, what was noticed, what was assumed."""

    stops: tuple[Stop, ...] = ()
    findings: Mapping[str, tuple[Finding, ...]] = field(default_factory=dict)
    assumed: Mapping[str, Assumed] = field(default_factory=dict)


def notes(findings: Sequence[Finding], assumed: Iterable[Assumed], answers: Answers) -> Notes:
    """The notes of one plan."""
    by_key: dict[str, tuple[Finding, ...]] = {}
    for finding in findings:
        if (key := place_of(finding.about, answers)) is not None:
            by_key[key] = (*by_key.get(key, ()), finding)
    return Notes(stops(findings, answers), by_key, _taken(assumed, answers))


def _taken(assumed: Iterable[Assumed], answers: Answers) -> Mapping[str, Assumed]:
    """What was assumed, by the question that it would answer."""
    found: dict[str, Assumed] = {}
    for taken in assumed:
        if (key := place_of(taken.key, answers)) is not None:
            found[key] = replace(taken, value=answer_of(taken.key, taken.value))
    return found


def explain(question: Question, told: Notes) -> list[str]:
    """A question's help, what matters most first: what was noticed, how to find out, why it is asked, what may be written."""
    how = asked(question)
    noticed = [f"{found.level.upper()}: {spoken(f'{found.text} {found.remedy}')}" for found in told.findings.get(question.key, ())]
    why, find_out = [how.why or question.name], [f"Find out: {how.how}"] if how.how else []
    lines = [*noticed[:1], *find_out, *why] if noticed else [*why, *find_out]
    if taken := told.assumed.get(question.key):
        lines.append(f"Unless you answer, {taken.value} is assumed: {spoken(taken.why)}.")
    chosen = how.choices and not how.many
    lines.append(f"Choose {how.wanted}." if chosen else f"Write {how.wanted}.")
    return lines + noticed[1:]


def remark(question: Question, session: Session, told: Notes) -> str:
    """What stands beside a question, in a few words."""
    levels = {found.level for found in told.findings.get(question.key, ())}
    if Level.STOP in levels:
        return "! stops the plan"
    if Level.CAUTION in levels:
        return "? caution"
    if text_at(session, question.key):
        return ""
    if taken := told.assumed.get(question.key):
        return f"assumed {taken.value}"
    if question.key == "set.count" and (per_phase := session.answers.set.per_phase):
        return f"{sum(per_phase)} by phase"
    how = asked(question)
    example = "" if how.choices and not how.many else how.example
    return f"such as {example}" if example else ""
