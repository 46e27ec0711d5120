"""One moment of the interview."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from engine.frozen import dataclass
from engine.text import clean
from wizard.answers.session import Session, rescues
from wizard.asking import guide
from wizard.asking.guide import Notes
from wizard.asking.pages import PAGES, Page, Question, Table
from wizard.interview.boxes import Box
from wizard.interview.events import Save
from wizard.interview.typing import Typing
from wizard.planning.seen import Seen

if TYPE_CHECKING:
    from engine.cures import Cure

DRAWING, REVIEW = "wall.drawing", "review"  # what has the focus where no question has it


@dataclass(frozen=True)
class Refusal:
    """A text that was not accepted, and why; it stays on the screen until it is mended."""

    text: str
    why: str


@dataclass(frozen=True)
class Place:
    """Where somebody is: on a page, or at one entry of its table with all its questions; and the key that has the focus."""

    page: Page
    key: str
    entry: int | None = None


@dataclass(frozen=True)
class Ahead:
    """Where typing goes on that came before a refusal could be read: until then it was meant for what follows."""

    place: Place
    until: float


@dataclass(frozen=True)
class State:
    """Everything that the screen shows and the next key depends on.

    `seen` is the latest plan, of these answers or older ones; `typing` what is being typed at the place, None while it is untouched;
    `echo` the key whose text was taken as something else than was typed, and that text; `looked` the finding that was gone to last, by code
    and key, and the question that it led to, `walked` all that were; `slip` the key of what was refused last, where nothing was
    accepted since; `trail` what was refused when so many changes had been made; `cures` what cures were tried for findings of the plan seen, `trying` the finding whose cures are; `follow` that the
    next plan leads on; `saving` what is written once the plan has come; `leaving` that the interview ends once it is written; `warned`
    the file that a save would have overwritten; `top` the first line of the page that is on the screen.
    """

    session: Session
    place: Place
    seen: Seen | None = None
    notes: Notes = field(default_factory=Notes)
    refused: Mapping[str, Refusal] = field(default_factory=dict)
    typing: Typing | None = None
    echo: tuple[str, str] | None = None
    ahead: Ahead | None = None
    box: Box | None = None
    told: str = ""
    fault: str = ""
    looked: tuple[tuple[str, str], str] | None = None
    walked: tuple[tuple[str, str], ...] = ()
    slip: str = ""
    trail: Mapping[int, Mapping[str, Refusal]] = field(default_factory=dict)
    cures: Mapping[tuple[str, str], tuple[Cure, ...]] = field(default_factory=dict)
    trying: tuple[str, str] | None = None
    follow: bool = False
    saving: Save | None = None
    leaving: bool = False
    warned: tuple[Path, str] | None = None
    columns: int = 80
    lines: int = 24
    top: int = 0
    moving: str | None = None
    section: int = 0
    reading: int = 0

    @property
    def current(self) -> bool:
        """Whether the plan seen is the one of the answers as they stand."""
        return self.seen is not None and self.seen.revision == self.session.revision

    @property
    def unsaved(self) -> bool:
        """Whether something would be lost by leaving now."""
        return self.session.changed or bool(self.refused) or self.typed is not None

    @property
    def narrow(self) -> bool:
        """Whether an answer has to stand under its name."""
        return self.columns < 60

    @property
    def short(self) -> bool:
        """Whether what is not asked has to give way."""
        return self.lines < 20

    @property
    def typed(self) -> str | None:
        """What is typed and not yet taken; None where that is what stands there already."""
        if self.typing is None or (self.typing.text == self.text(self.place.key) and self.place.key not in self.refused):
            return None
        return self.typing.text

    @property
    def tags(self) -> tuple[str, ...]:
        """The planned units."""
        return self.seen.tags if self.seen else ()

    @property
    def table(self) -> Table | None:
        """The table of the page, where the page lists one."""
        return self.place.page.table

    def text(self, key: str) -> str:
        """What stands in a question: the refused text before the accepted one."""
        return self.refused[key].text if key in self.refused else guide.text_at(self.session, key)

    def question(self, key: str) -> Question | None:
        """The question of a key on this page; None where the key is none. Asked for with every key, so it looks at one row of a table alone."""
        row = row_of(self) if key == self.place.key else None
        every = cells_of(row[0], row[1], self) if row else questions(self)
        return next((question for question in every if question.key == key), None)

    def at(self, place: Place) -> State:
        """With the focus elsewhere; what is being typed must have been taken before."""
        same = place.page is self.place.page and place.entry == self.place.entry
        return replace(self, place=place, typing=None, top=self.top if same else 0, moving=self.moving if place.key == DRAWING else None)


def begun(session: Session, told: str = "") -> State:
    """The first moment: at the first question, or at the first value of the file that was not accepted."""
    refused = {problem.key: Refusal(problem.found, problem.text) for problem in session.wrong if problem.key}
    pages = guide.pages(session.answers)
    state = State(session, Place(pages[0], ""), refused=refused, told=told)
    state = state.at(first(state, pages[0]))
    for key in refused:
        if (place := place_of(state, key)) is not None:
            return state.at(place)
    return state


def of_file(session: Session) -> str:
    """What is to be said of the file at the start: that it is new, or that answers were rescued beside it."""
    if session.path is None:
        return ""
    if beside := rescues(session.path):
        return f"Answers saved when a terminal went away: {clean(beside[-1].name, 60)}."
    return f"{clean(session.path.name, 40)} is a new file." if session.origin is None else ""


def questions(state: State) -> tuple[Question, ...]:
    """All questions of the page, or of the entry, that apply as the answers stand; those of a table's cells among them."""
    page, entry, answers = state.place.page, state.place.entry, state.session.answers
    if page.table and entry is not None:
        return guide.entry_questions(page.table, entry, answers)
    asked = guide.questions(page, answers, state.tags)
    # A text that was not accepted can be seen and mended, even where its question does not apply any more.
    known = {question.key for question in asked}
    asked = (*asked, *(question for question in page.questions if question.key in state.refused and question.key not in known))
    if page.table is None:
        return asked
    cells = [question for at in rows(state) for question in cells_of(page.table, at, state)]
    return (*asked, *cells)


def rows(state: State) -> tuple[int, ...]:
    """The rows of the page's table from top to bottom: its entries by their places, then numbers for what hangs by assumption, last a new one."""
    if state.table is None:
        return ()
    entries, given = state.session.entries(state.table.key), offered(state)
    return (*guide.arranged(state.table, [*entries, *given]), len(entries) + len(given))


def offered(state: State) -> tuple[Mapping[str, str], ...]:
    """Rows that the plan takes and nobody answered, as their answers by key within the entry."""
    if state.table is None or state.seen is None:
        return ()
    return guide.offered(state.table, state.seen.wall.places, state.session.answers)


def entry_at(state: State, at: int) -> Mapping[str, object]:
    """What is known of a row; nothing of a new one."""
    known = [*(state.session.entries(state.table.key) if state.table else ()), *offered(state)]
    return known[at] if at < len(known) else {}


def cells_of(table: Table, at: int, state: State) -> tuple[Question, ...]:
    """The questions of a row that are typed in place, in the order of its columns."""
    asked = {question.key: question for question in guide.entry_questions(table, at, state.session.answers)}
    entry = entry_at(state, at)
    keys = (f"{table.key}[{at}].{column.key}" for column in table.columns if guide.typed_in_place(table, entry, column.key))
    return tuple(asked[key] for key in keys if key in asked)


def order(state: State) -> tuple[str, ...]:
    """What can have the focus on this page, from top to bottom."""
    if state.place.page.name == "review":
        return (REVIEW,)
    keys = tuple(question.key for question in questions(state))
    return (*keys, DRAWING) if state.place.page.name == "wall" and state.place.entry is None else keys


def row_of(state: State) -> tuple[Table, int, str] | None:
    """The table, the row and the column that have the focus; None outside of a table, or where an entry is open."""
    if state.table is None or state.place.entry is not None:
        return None
    found = re.fullmatch(rf"{re.escape(state.table.key)}\[(\d+)\]\.(.+)", state.place.key)
    return (state.table, int(found[1]), found[2]) if found else None


def first(state: State, page: Page, entry: int | None = None) -> Place:
    """The first question of a page, or of an entry."""
    keys = order(replace(state, place=Place(page, "", entry)))
    return Place(page, keys[0] if keys else "", entry)


def place_of(state: State, key: str) -> Place | None:
    """Where a key (by position) is asked: in a cell, where its table has the column, else among all questions of its entry; None where nowhere."""
    page = guide.page_of(key, state.session.answers)
    if page is None:
        return None
    found = guide.entry_of(page, key)
    there = [k for k in order(replace(state, place=Place(page, ""))) if k == key or k.startswith((f"{key}.", f"{key}["))]
    if key in there or (there and found is None):
        return Place(page, key if key in there else there[0])
    if found is None:
        return first(state, page)
    table, at = found
    if at >= len(state.session.entries(table.key)):
        return first(state, page)
    inside = order(replace(state, place=Place(page, "", at)))
    if key in inside:
        return Place(page, key, at)
    return Place(page, there[0]) if there else first(state, page)


def standing(state: State) -> State:
    """With the focus on something that is there: where what had it is gone, on what stands in its place."""
    place = state.place
    pages = guide.pages(state.session.answers)
    if place.page not in pages:
        place = first(state, pages[0])
    elif place.entry is not None and place.page.table and place.entry >= len(state.session.entries(place.page.table.key)):
        place = first(state, place.page)
    keys = order(replace(state, place=place))
    if place.key not in keys:
        place = replace(place, key=_nearest(place.key, keys))
    return state if place == state.place else state.at(place)


def _nearest(key: str, keys: tuple[str, ...]) -> str:
    """The cell of the row above that has gone with its row; else the first."""
    found = re.fullmatch(r"(.*)\[(\d+)\]\.(.*)", key)
    if found:
        for at in range(int(found[2]), -1, -1):
            if (near := f"{found[1]}[{at}].{found[3]}") in keys:
                return near
    return keys[0] if keys else ""


def page_at(state: State, step: int) -> Page | None:
    """The page so many further on; None beyond the first and the last."""
    pages = guide.pages(state.session.answers)
    at = pages.index(state.place.page) + step if state.place.page in pages else 0
    return pages[at] if 0 <= at < len(pages) else None


def page_named(name: str) -> Page:
    """The page of that name."""
    return next(page for page in PAGES if page.name == name)
