"""The order of the interview and where it stands: which pages apply, what is still open, what stops the plan.

Data in, data out: everything here is tested without a terminal.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field, replace
from functools import cache

from engine.facts import Assumed
from engine.files.problems import Problem
from engine.findings import Finding, Level
from engine.frozen import dataclass
from engine.keys import labelled
from engine.site import Answers
from engine.tables import table
from wizard.fields import Field
from wizard.fields import field as field_of
from wizard.pages import LOADS, MEANINGS, PAGES, Page, Question, Table
from wizard.session import Session

ESSENTIAL: tuple[str, ...] = tuple(question.key for question in PAGES[0].questions)


def pages(answers: Answers) -> tuple[Page, ...]:
    """The pages that apply, in their order."""
    return tuple(page for page in PAGES if page.when(answers))


def questions(page: Page, answers: Answers, tags: Iterable[str] = ()) -> tuple[Question, ...]:
    """The page's questions that apply; `tags` are the planned units, each of which is asked for its bank."""
    wired = (
        [Question(f"storage.wired.{tag}", f"Bank of {tag}") for tag in (*tags, *(t for t in answers.storage.wired if t not in tags))]
        if page.name == "wired"
        else []
    )
    return (*(question for question in page.questions if question.when(answers)), *wired)


def entry_questions(table_: Table, place: int) -> tuple[Question, ...]:
    """The questions of one entry of an array, under their full keys."""
    asked_ = tuple(replace(question, key=f"{table_.key}[{place}].{question.key}") for question in table_.questions)
    machine = (Question(f"{LOADS.key}[{place}].machine", "Machine"),) if table_ is LOADS else ()
    return (*asked_[:1], *machine, *asked_[1:])


def entry_line(table_: Table, entry: Mapping[str, object]) -> str:
    """One entry as a line of its list."""
    told = [f"{entry[key]} x" if key == "quantity" else str(entry[key]) for key in table_.shows if key in entry]
    return ", ".join(told) or f"(nothing answered yet for this {table_.one})"


def meanings(key: str) -> Mapping[str, str]:
    """What the choices of a key mean."""
    return MEANINGS.get(re.sub(r"\[\d+\]", "", key), {})


def place_of(about: str, answers: Answers) -> str | None:
    """The key by position that a finding's key is about, or None where it is about no answer."""
    if about.startswith("plan."):
        return None
    for name, labels in (
        ("loads", labelled("loads", (load.name for load in answers.loads))),
        ("routes", labelled("routes", (" ".join(t for t in (r.carries, r.to) if t) for r in answers.routes))),
        ("wall.places", labelled("wall.places", (place.tag for place in answers.wall.places))),
        ("storage.links", labelled("storage.links", (link.bank for link in answers.storage.links))),
        ("bus_nodes", labelled("bus_nodes", (node.name for node in answers.bus_nodes))),
    ):
        for place, label in enumerate(labels):
            if about == label or about.startswith(f"{label}."):
                return f"{name}[{place}]{about[len(label) :]}"
    return re.sub(r"\[[^\]]*\].*", "", about)


def entry_of(page: Page, key: str) -> tuple[Table, int] | None:
    """The entry of the page's array that a key lies in, or None."""
    found = re.match(r"^(.*?)\[(\d+)\]", key)
    return (page.table, int(found[2])) if found and page.table and page.table.key == found[1] else None


def page_of(key: str, answers: Answers) -> Page | None:
    """The page that asks for a key (by position), the first plan's page last; None where none does."""
    bare = re.sub(r"\[\d+\].*", "", key)
    of = [page for page in (*pages(answers)[1:], PAGES[0]) if _asks(page, key, bare)]
    return of[0] if of else None


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
    relative = re.sub(r"^.*\[\d+\]\.?", "", key)
    asked = [*page.questions, *(page.table.questions if page.table else ())]
    return next((question.name for question in asked if question.key in (key, relative)), page.title)


def progress(page: Page, session: Session, tags: Sequence[str] = ()) -> tuple[int, int]:
    """How many of a page's questions are answered, and how many there are; entries of its array count as answered."""
    asked = questions(page, session.answers, tags)
    entries = len(session.entries(page.table.key)) if page.table else 0
    return sum(bool(session.get(question.key)) for question in asked) + entries, len(asked) + entries


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
    return Notes(stops(findings, answers), by_key, {key: taken for taken in assumed if (key := place_of(taken.key, answers)) is not None})


def to_mend(told: Notes, refused: Iterable[str], answers: Answers) -> tuple[str, ...]:
    """The keys of the answers to look at next: what was not accepted; where there is none, what stops the plan; then what has a caution."""
    first = [*refused] or [stop.key for stop in told.stops if stop.key]
    cautioned = (key for key, found in told.findings.items() if any(one.level is Level.CAUTION for one in found))
    return tuple(dict.fromkeys(first or (key for key in cautioned if page_of(key, answers))))


def asked(question: Question) -> Field:
    """How a question is asked."""
    return _machine() if question.key.endswith(".machine") else field_of(question.key)


def explain(question: Question, told: Notes) -> list[str]:
    """A question's help, what matters most first: what was noticed, how to find out, why it is asked, what may be written."""
    how = asked(question)
    noticed = [f"{found.level.upper()}: {found.text} {found.remedy}" for found in told.findings.get(question.key, ())]
    why, find_out = [how.why or question.name], [f"Find out: {how.how}"] if how.how else []
    lines = [*noticed[:1], *find_out, *why] if noticed else [*why, *find_out]
    if taken := told.assumed.get(question.key):
        lines.append(f"Unless you answer, {taken.value} is assumed: {taken.why}.")
    chosen = how.choices and not how.many
    lines.append(
        "Left, right or a first letter choose, Enter shows all, Delete takes the answer back." if chosen else f"Write {how.wanted}."
    )
    return lines + noticed[1:]


def remark(question: Question, session: Session, told: Notes) -> str:
    """What stands beside a question, in a few words."""
    levels = {found.level for found in told.findings.get(question.key, ())}
    if Level.STOP in levels:
        return "! stops the plan"
    if Level.CAUTION in levels:
        return "? caution, see F1"
    if text_at(session, question.key):
        return ""
    if taken := told.assumed.get(question.key):
        return f"assumed {taken.value}"
    how = asked(question)
    example = question.example or ("" if how.shape in ("choice", "yes-no") else how.example)
    return f"such as {example}" if example else ""


def text_at(session: Session, key: str) -> str:
    """An answer as typed; for the machine of a load, the machine that its answers describe."""
    if key.endswith(".machine"):
        return machine_of(session, int(re.sub(r"\D", "", key))) or ""
    return session.get(key)


def answer(session: Session, key: str, text: str) -> Session | Problem:
    """Answer a key; picking a machine answers everything that it stands for."""
    if not key.endswith(".machine"):
        return session.set(key, text)
    stem = key.removesuffix("machine")
    return session.set_all({f"{stem}{name}": told for name, told in dict(machines()).get(text, {}).items()})


@cache
def machines() -> tuple[tuple[str, Mapping[str, str]], ...]:
    """Machines to pick from, each with the answers it stands for, by name within a load."""
    return tuple(
        (str(row["machine"]), {key: str(cell) for key, cell in row.items() if key != "machine" and cell is not None})
        for row in table("machines").rows
    )


def machine_of(session: Session, place: int) -> str | None:
    """The machine whose answers a load has, where one fits whole."""
    fits = (name for name, told in machines() if all(session.get(f"{LOADS.key}[{place}].{key}") == text for key, text in told.items()))
    return next(fits, None)


@cache
def _machine() -> Field:
    why = "Pick what it is: power factor, starting current and harmonics are then filled in with usual values, which you can correct."
    return Field("machine", "choice", why, "", "one of the machines", "", tuple(name for name, _ in machines()))
