"""The answers of one site while somebody works on them: immutable, every change gives a new session.

The session owns the document as it is typed. What it refuses comes back as a problem; what it accepts has been
checked by the same models that read the file. It knows no terminal.
"""

from __future__ import annotations

import copy
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import field, replace
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from typing import Any

from engine.files.digest import revision
from engine.files.edit import edited, same
from engine.files.emit import emit, is_table, with_plan
from engine.files.problems import Problem, Unreadable
from engine.files.read import SiteFile, parse, raw, what_reads
from engine.files.sift import NothingReads, key_of_path, missing, sift
from engine.files.write import fitting, write
from engine.frozen import dataclass
from engine.plan import Plan
from engine.quantities import Refused
from engine.site import SCHEMA, Answers
from wizard.answers.fields import Path as Way
from wizard.answers.fields import field as asked
from wizard.answers.fields import path_of, text_of, value_of

Document = dict[str, Any]

LONGEST = 2000  # characters of one answer; more is a slip of the clipboard
_KEPT = 200  # changes that can be taken back
_NAME = 200  # characters of a name
# What says which one an entry is: its copy is another one.
_OWN = ("tag", "unit", "bank")


def _new() -> Document:
    return {"schema": SCHEMA}


@dataclass(frozen=True)
class Session:
    """The document as typed, without any plan, its checked answers, the file they came from, and what they were before.

    `wrong` is what does not read of a file that was opened, key by position, and `unsifted` the document with it; an answer that is refused
    later changes nothing. `confirmed` is whether the disk confirmed the last save,
    `shared` that a file of several names was saved here, so that nobody is asked about it again.
    """

    document: Mapping[str, Any] = field(default_factory=_new)
    answers: Answers = field(default_factory=lambda: Answers.model_validate(_new()))
    wrong: tuple[Problem, ...] = ()
    unsifted: Mapping[str, Any] | None = None
    path: Path | None = None
    origin: SiteFile | None = None
    past: tuple[Mapping[str, Any], ...] = ()
    future: tuple[Mapping[str, Any], ...] = ()
    confirmed: bool = True
    shared: bool = False

    @classmethod
    def open(cls, path: Path) -> Session:
        """The session on an existing file, what does not read of it in `wrong`; raises `Unreadable` where it is no site file at all."""
        return cls.of(raw(path), path)

    @classmethod
    def of(cls, data: bytes, path: Path) -> Session:
        """The session on a file that held these bytes when it was opened; raises `Unreadable` as `open` does."""
        site, sifted = what_reads(data, str(path))
        # A plan is part of what is wrong only where it does not read itself.
        unread = site.document if any(problem.key == "plan" for problem in sifted.wrong) else _answers(site.document)
        return cls(_answers(sifted.document), sifted.answers, sifted.wrong, unread if sifted.wrong else None, path, site)

    @property
    def typed(self) -> Mapping[str, Any]:
        """The document, and what of it does not read."""
        return self.document if self.unsifted is None else self.unsifted

    @cached_property
    def revision(self) -> str:
        """The revision of the answers as they stand. Asked for with every key, and each session has but one."""
        return revision(self.answers)

    @property
    def changed(self) -> bool:
        """Whether a save would write other answers than are on the disk; what does not read it would not write as it is."""
        return bool(self.wrong) or self.document != (_answers(self.origin.document) if self.origin else _new())

    def get(self, key: str) -> str:
        """An answer as it would be typed; empty where there is none."""
        return text_of(_at(self.document, path_of(key)))

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
        typed = copy.deepcopy(dict(self.typed))
        try:
            place, last = _walk(typed, key)
            place[last] = value
        except (TypeError, IndexError):
            return Problem(None, key, "the file holds something else in this place; mend it there")
        return self._changed(typed, key)

    def set_all(self, answers: Mapping[str, str]) -> Session | Problem:
        """Several answers as one change, which one undo takes back."""
        session = self
        for key, text in answers.items():
            answered = session.set(key, text)
            if isinstance(answered, Problem):
                return answered
            session = answered
        return self if session.typed == self.typed else replace(session, past=(*self.past, self.typed)[-_KEPT:], future=())

    def clear(self, key: str) -> Session | Problem:
        """Take an answer back, and the tables that it leaves empty."""
        typed = copy.deepcopy(dict(self.typed))
        _prune(typed, path_of(key))
        return self._changed(typed, key)

    def entries(self, table: str) -> list[Mapping[str, Any]]:
        """The entries of an array such as `loads` or `wall.places`."""
        place = _at(self.document, path_of(table))
        return list(place) if isinstance(place, list) else []

    def add(self, table: str, place: int | None = None) -> Session | Problem:
        """One more entry of an array, with nothing answered, at that place; else it stands last."""
        typed, entries = self._entries(table)
        at = len(entries) if place is None else place
        if not 0 <= at <= len(entries):
            return _no_entry(table, at)
        entries.insert(at, {})
        return self._changed(typed, table)

    def copy(self, table: str, place: int) -> Session | Problem:
        """The entry at that place once more, right behind it: its name counted up, without what says which unit or bank it is."""
        typed, entries = self._entries(table)
        if not 0 <= place < len(self.entries(table)):
            return _no_entry(table, place)
        one = {key: copy.deepcopy(value) for key, value in self.entries(table)[place].items() if key not in _OWN}
        if name := one.get("name"):
            one["name"] = _counted_up(str(name), {str(entry.get("name")) for entry in entries})
        entries.insert(place + 1, one)
        return self._changed(typed, table)

    def move(self, table: str, place: int, step: int) -> Session | Problem:
        """The entry at that place so many places on (back where negative), no further than the ends."""
        typed, entries = self._entries(table)
        if not 0 <= place < len(entries):
            return _no_entry(table, place)
        entries.insert(min(max(place + step, 0), len(entries) - 1), entries.pop(place))
        return self._changed(typed, table)

    def remove(self, table: str, place: int) -> Session | Problem:
        """Without the entry at that place; the array goes with its last one."""
        typed, entries = self._entries(table)
        if not 0 <= place < len(entries):
            return _no_entry(table, place)
        del entries[place]
        if not entries:
            _prune(typed, path_of(table))
        return self._changed(typed, table)

    def undo(self) -> tuple[Session, tuple[str, ...]]:
        """As it was before the last change, and the keys that are others now: of an entry that came or went that of the entry (`loads[2]`)."""
        if not self.past:
            return self, ()
        before = self._with(self.past[-1])
        return replace(before, past=self.past[:-1], future=(*self.future, self.typed)), differences(self.typed, before.typed)

    def redo(self) -> tuple[Session, tuple[str, ...]]:
        """What was undone last done again, and the keys that are others now; only until something else is changed."""
        if not self.future:
            return self, ()
        after = self._with(self.future[-1])
        return replace(after, past=(*self.past, self.typed)[-_KEPT:], future=self.future[:-1]), differences(self.typed, after.typed)

    def text(self, plan: Plan | None = None) -> str:
        """What a save writes: with a plan, byte for byte what the command `plan` gives for these answers; without one, the old plan if there is one.

        What a person wrote in the file stays as it is, but for what was changed; what does not read becomes a remark in its place.
        """
        text = self._answered(with_plan=plan is not None)
        return text if plan is None else with_plan(text, self.document, plan)

    def in_the_way(self, path: Path) -> str | None:
        """What a save at `path` would overwrite unseen, as a sentence; None where nothing is lost."""
        if not path.exists():
            return None
        if self.path is None or self.origin is None or path.resolve() != self.path.resolve():
            return "There is a file of that name already."
        try:
            unchanged = raw(path) == self.origin.text.encode()
        except Unreadable:
            unchanged = False
        if not unchanged:
            return "Somebody else changed the file since it was read here."
        names = path.stat().st_nlink
        return None if names == 1 or self.shared else f"The file has {names} names (hard links): a save changes it under all of them."

    def save(self, path: Path, plan: Plan | None = None) -> Session:
        """Write the file, whole or not at all, and go on from there; raises OSError with the old file untouched.

        Where the file was replaced and the disk did not confirm it, that is no error: see `confirmed`.
        """
        text = fitting(self.text(plan))
        site = parse(text.encode(), str(path))
        confirmed = write(path, text)
        return replace(self._at_rest(), confirmed=confirmed, shared=path.stat().st_nlink > 1, answers=site.answers, path=path, origin=site)

    def on(self, saved: Session) -> Session:
        """These answers on the file that was written meanwhile from earlier ones of this session."""
        return replace(self._at_rest(), path=saved.path, origin=saved.origin, confirmed=saved.confirmed, shared=saved.shared)

    def rescue(self, path: Path | None = None) -> Path | None:
        """Save where nobody can be asked: beside what is there, never over it. Where; None where it failed.

        It goes to `path`, else to the session's own, else to `site.toml`; where a file is there, to NAME-rescued.toml beside it, then
        NAME-rescued2.toml. What was being typed counts, finished or not, so it must not stand where somebody meant something else.
        """
        own = path or self.path or Path("site.toml")
        number = 0
        free = own
        while True:
            try:
                free.touch(exist_ok=False)
            except FileExistsError:
                number += 1
                free = own.with_name(f"{own.stem}-rescued{number if number > 1 else ''}.toml")
                continue
            except OSError:
                return None
            break
        try:
            self.save(free)
        except OSError:
            with suppress(OSError):
                free.unlink()
            return None
        return free

    def standing(self, typed: Mapping[str, Any]) -> Session:
        """Other answers on the same file, with nothing to be taken back; raises `NothingReads` where they are none."""
        return replace(self._with(typed), past=(), future=())

    def _answered(self, *, with_plan: bool) -> str:
        if self.origin is None:
            return emit(self.document)
        if not self.changed:
            return self.origin.text
        refused = [path for path in missing(self.typed, self.document) if path != ("plan",) or not with_plan]
        text = edited(self.origin.text, _answers(self.typed))
        return edited(text, self.document, refused) if refused else text

    def _entries(self, table: str) -> tuple[Document, list[Any]]:
        typed = copy.deepcopy(dict(self.typed))
        holder, last = _walk(typed, table)
        if not isinstance(holder.get(last), list):
            holder[last] = []
        return typed, holder[last]

    def _changed(self, typed: Document, key: str) -> Session | Problem:
        if typed == self.typed:
            refused = next((problem for problem in self.wrong if problem.key == key), None)
            return Problem(None, key, refused.text) if refused else self
        try:
            session = self._with(typed)
        except NothingReads:
            return Problem(None, key, "this cannot be answered so")
        known = Counter((problem.text, problem.found) for problem in self.wrong)
        for problem in session.wrong:
            if not known[problem.text, problem.found]:
                return Problem(None, key, problem.text)
            known[problem.text, problem.found] -= 1
        return replace(session, past=(*self.past, self.typed)[-_KEPT:], future=())

    def _with(self, typed: Mapping[str, Any]) -> Session:
        sifted = sift(typed)
        unsifted = typed if sifted.wrong else None
        return replace(self, document=_answers(sifted.document), answers=sifted.answers, wrong=sifted.wrong, unsifted=unsifted)

    def _at_rest(self) -> Session:
        """Without what does not read: the file that was written has it as remarks."""
        return replace(self, unsifted=None, wrong=())


def rescues(path: Path) -> tuple[Path, ...]:
    """What was rescued beside the file at that path, the last one last."""
    form = re.compile(rf"{re.escape(path.stem)}-rescued([0-9]*)\.toml")
    try:
        beside = [(int(found[1] or 1), other) for other in path.parent.iterdir() if (found := form.fullmatch(other.name))]
    except OSError:
        return ()
    return tuple(other for _, other in sorted(beside))


def differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[str, ...]:
    """The keys by position of what two documents say differently; of entries that came, went or changed places that of the entry."""
    return tuple(key_of_path(way) for way in _differing((), before, after))


def _differing(way: Way, before: Any, after: Any) -> Iterator[Way]:
    if same(before, after):
        return
    if isinstance(before, Mapping | None) and isinstance(after, Mapping | None) and (before or after):
        old, new = before or {}, after or {}
        for key in dict.fromkeys((*new, *old)):
            yield from _differing((*way, key), old.get(key), new.get(key))
    elif is_table(before or after) and isinstance(before or [], list) and isinstance(after or [], list):
        yield from _differing_entries(way, before or [], after or [])
    else:
        yield way


def _differing_entries(way: Way, before: list[Any], after: list[Any]) -> Iterator[Way]:
    shorter = min(len(before), len(after))
    start = next((at for at in range(shorter) if not same(before[at], after[at])), shorter)
    end = next((at for at in range(shorter - start) if not same(before[-1 - at], after[-1 - at])), shorter - start)
    old, new = range(start, len(before) - end), range(start, len(after) - end)
    moved = len(old) == len(new) and not _leftover(before[start : old.stop], after[start : new.stop])
    for at in range(start, max(old.stop, new.stop)):
        if moved or at not in old or at not in new:
            yield (*way, at)
        else:
            yield from _differing((*way, at), before[at], after[at])


def _leftover(before: list[Any], after: list[Any]) -> list[Any]:
    """The entries after that are none of those before."""
    free = list(before)
    left = []
    for entry in after:
        at = next((at for at, other in enumerate(free) if same(other, entry)), None)
        if at is None:
            left.append(entry)
        else:
            del free[at]
    return left


def _counted_up(name: str, others: set[str]) -> str:
    """A name that none of the others is: "Pump" as "Pump 2", "Pump 2" as "Pump 3"."""
    base, number = name, 1
    if found := re.fullmatch(r"(.+) ([1-9][0-9]{0,3})", name):
        base, number = found[1], int(found[2])
    while True:
        number += 1
        told = f"{base[: _NAME - len(str(number)) - 1]} {number}"
        if told not in others:
            return told


def _no_entry(table: str, place: int) -> Problem:
    return Problem(None, f"{table}[{place}]", "there is no such entry")


def _answers(document: Mapping[str, Any]) -> Document:
    return {key: value for key, value in document.items() if key != "plan"}


def _at(document: Any, way: Way) -> Any:
    for step in way:
        try:
            document = document[step]
        except (KeyError, IndexError, TypeError):
            return None
    return document


def _walk(document: Document, key: str) -> tuple[Any, str | int]:
    """The table that holds `key`, made where it is missing (an entry only one past the last), and the last step."""
    way = path_of(key)
    place: Any = document
    for step, following in pairwise(way):
        wanted: type = list if isinstance(following, int) else dict
        if isinstance(place, list):
            if step == len(place):
                place.append({})
        elif not isinstance(place.get(step), wanted):
            place[step] = wanted()
        place = place[step]
    return place, way[-1]


def _prune(place: Any, way: Way) -> None:
    """Remove what `way` leads to, and every table that has nothing left; entries of arrays keep their place."""
    step, rest = way[0], way[1:]
    if isinstance(place, list):
        if isinstance(step, int) and step < len(place):
            _prune(place[step], rest)
    elif isinstance(place, dict) and step in place:
        if rest:
            _prune(place[step], rest)
        if not rest or place[step] == {}:
            del place[step]
