"""The answers of one site while somebody works on them: immutable, every change gives a new session.

The session owns the document as it is typed. What it refuses comes back as a problem; what it accepts has been
checked by the same models that read the file. It knows no terminal.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping
from dataclasses import field, replace
from itertools import pairwise
from pathlib import Path
from typing import Any

from engine.files.digest import revision
from engine.files.emit import emit, emit_like, with_plan
from engine.files.problems import Problem, Unreadable
from engine.files.read import SiteFile, check, parse, read
from engine.files.write import fitting, write
from engine.frozen import dataclass
from engine.plan import Plan
from engine.quantities import Refused
from engine.site import SCHEMA, Answers
from wizard.fields import field as asked
from wizard.fields import path_of, text_of, value_of

Document = dict[str, Any]

LONGEST = 2000  # characters of one answer; more is a slip of the clipboard
_KEPT = 200  # changes that can be taken back


@dataclass(frozen=True)
class Session:
    """The document as typed (without any plan), its checked answers, the file they came from, and what they were before."""

    document: Mapping[str, Any] = field(default_factory=lambda: {"schema": SCHEMA})
    answers: Answers = field(default_factory=lambda: Answers.model_validate({"schema": SCHEMA}))
    path: Path | None = None
    origin: SiteFile | None = None
    past: tuple[Mapping[str, Any], ...] = ()

    @classmethod
    def open(cls, path: Path) -> Session:
        """The session on an existing file; raises `engine.files.problems.Unreadable`."""
        return _based_on(cls(), read(path), path)

    @property
    def revision(self) -> str:
        """The revision of the answers as they stand."""
        return revision(self.answers)

    @property
    def changed(self) -> bool:
        """Whether anything differs from the file as read or last saved."""
        return bool(self.document != (_answers(self.origin.document) if self.origin else {"schema": SCHEMA}))

    def get(self, key: str) -> str:
        """An answer as it would be typed; empty where there is none."""
        place: Any = self.document
        for step in path_of(key):
            try:
                place = place[step]
            except (KeyError, IndexError, TypeError):
                return ""
        return text_of(place)

    def set(self, key: str, text: str) -> Session | Problem:
        """Answer `key`; an empty text takes the answer back. KeyError for a key the file does not have."""
        if not text.strip():
            return self.clear(key)
        if len(text) > LONGEST:
            return Problem(None, key, f"over {LONGEST} characters; wanted {asked(key).wanted}")
        try:
            value = value_of(asked(key), text)
        except Refused as refused:
            return Problem(None, key, str(refused))
        document = copy.deepcopy(dict(self.document))
        place, last = _walk(document, key)
        place[last] = value
        return self._changed(document, key)

    def set_all(self, answers: Mapping[str, str]) -> Session | Problem:
        """Several answers as one change, which one undo takes back."""
        session = self
        for key, text in answers.items():
            answered = session.set(key, text)
            if isinstance(answered, Problem):
                return answered
            session = answered
        return replace(session, past=(*self.past, self.document)[-_KEPT:]) if session is not self else self

    def clear(self, key: str) -> Session | Problem:
        """Take an answer back, and the tables that it leaves empty."""
        document = copy.deepcopy(dict(self.document))
        _prune(document, path_of(key))
        return self._changed(document, key)

    def entries(self, table: str) -> list[Mapping[str, Any]]:
        """The entries of an array such as `loads` or `wall.places`."""
        place: Any = self.document
        for step in path_of(table):
            place = place.get(step, {})
        return list(place) if isinstance(place, list) else []

    def add(self, table: str) -> Session | Problem:
        """One more entry of an array, with nothing answered; it stands last."""
        document = copy.deepcopy(dict(self.document))
        place, last = _walk(document, table)
        place.setdefault(last, []).append({})
        return self._changed(document, table)

    def remove(self, table: str, place: int) -> Session | Problem:
        """Without the entry at that place; the array goes with its last one."""
        document = copy.deepcopy(dict(self.document))
        holder, last = _walk(document, table)
        del holder[last][place]
        if not holder[last]:
            _prune(document, path_of(table))
        return self._changed(document, table)

    def undo(self) -> Session:
        """As it was before the last change; the same where there was none."""
        if not self.past:
            return self
        document = self.past[-1]
        return replace(self, document=document, answers=Answers.model_validate(document), past=self.past[:-1])

    def text(self, plan: Plan | None = None) -> str:
        """What a save writes: with a plan, byte for byte what the command `plan` gives for these answers; without one, a draft.

        A file whose answers are as they were read keeps every byte that a person wrote in it.
        """
        kept = (
            emit(self.document) if self.origin is None else emit_like(self.origin.text, self.document) if self.changed else self.origin.text
        )
        return kept if plan is None else with_plan(kept, self.document, plan)

    @property
    def loses_comments(self) -> bool:
        """Whether a save would drop comments that somebody wrote in the file."""
        return bool(self.changed and self.origin and re.search(r"^\s*#|^[^\"'#]*\s#", self.origin.text, re.MULTILINE))

    def in_the_way(self, path: Path) -> str | None:
        """What a save at `path` would overwrite unseen, as a sentence; None where nothing is lost."""
        if not path.exists():
            return None
        if self.path is None or self.origin is None or path.resolve() != self.path.resolve():
            return "There is a file of that name already."
        try:
            same = read(path).text == self.origin.text
        except Unreadable:
            same = False
        return None if same else "Somebody else changed the file since it was read here."

    def save(self, path: Path, plan: Plan | None = None) -> Session:
        """Write the file, whole or not at all, and go on from there; raises OSError with the old file untouched."""
        text = fitting(self.text(plan))
        site = parse(text.encode(), str(path))
        write(path, text)
        return _based_on(self, site, path)

    def _changed(self, document: Document, key: str) -> Session | Problem:
        if document == self.document:
            return self
        try:
            answers = check(document, "", key)
        except Unreadable as unreadable:
            return Problem(None, key, unreadable.problems[0].text)
        return replace(self, document=document, answers=answers, past=(*self.past, self.document)[-_KEPT:])


def _based_on(session: Session, site: SiteFile, path: Path) -> Session:
    return replace(session, document=_answers(site.document), answers=site.answers, path=path, origin=site)


def _answers(document: Mapping[str, Any]) -> Document:
    return {key: value for key, value in document.items() if key != "plan"}


def _walk(document: Document, key: str) -> tuple[Any, str | int]:
    """The table that holds `key`, made where it is missing (an entry only one past the last), and the last step."""
    way = path_of(key)
    place: Any = document
    for step, following in pairwise(way):
        if isinstance(place, list) and step == len(place):
            place.append({})
        elif isinstance(place, dict) and step not in place:
            place[step] = [] if isinstance(following, int) else {}
        place = place[step]
    return place, way[-1]


def _prune(place: Any, way: tuple[str | int, ...]) -> None:
    """Remove what `way` leads to, and every table that has nothing left; entries of arrays keep their place."""
    step, rest = way[0], way[1:]
    if isinstance(place, list):
        if isinstance(step, int) and step < len(place):
            _prune(place[step], rest)
    elif step in place:
        if rest:
            _prune(place[step], rest)
        if not rest or place[step] == {}:
            del place[step]
