"""Reading a site file: everything wrong with it is told at once, nothing of it is trusted."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any, BinaryIO, TypeVar

from pydantic import ValidationError

from engine.files.digest import revision
from engine.files.emit import BYTE_ORDER
from engine.files.form import form
from engine.files.migrate import WrongSchema, migrate
from engine.files.problems import Problem, Unreadable, explain, line_numbers
from engine.files.sift import NothingReads, Sifted, sift
from engine.files.slips import long_number, slip_of, too_deep
from engine.frozen import dataclass
from engine.plan import Plan
from engine.site import Answers
from engine.tables.bounds import most
from engine.text import clean

_Made = TypeVar("_Made")

LARGEST = most("bytes of a file")  # a site of a thousand lines is 40 kB


@dataclass(frozen=True)
class SiteFile:
    """A file as read: its text to the last mark and line end, the document as typed, the answers checked."""

    name: str
    text: str
    document: dict[str, Any]
    answers: Answers

    @property
    def revision(self) -> str:
        """The revision of the answers."""
        return revision(self.answers)


def read(path: Path) -> SiteFile:
    """The site file at `path`; raises `Unreadable` with every problem found."""
    return parse(raw(path), str(path))


def read_from(file: BinaryIO, name: str) -> SiteFile:
    """The site file that an open file gives; raises `Unreadable`."""
    return parse(_some_of(file, name), name)


def raw(path: Path) -> bytes:
    """The bytes of the site file at `path`, of which no more is read than a site file may have; raises `Unreadable`."""
    name = str(path)
    try:
        if path.is_dir():
            raise _refuse(name, "this is a directory; wanted a site file in TOML")
        if path.exists() and not path.is_file():
            raise _refuse(name, "this is no ordinary file; wanted a site file in TOML")
        with path.open("rb") as file:
            return _some_of(file, name)
    except OSError as problem:
        raise _refuse(name, f"cannot be read: {problem.strerror or problem}") from None


def _some_of(file: BinaryIO, name: str) -> bytes:
    try:
        return file.read(LARGEST + 1)
    except OSError as problem:
        raise _refuse(name, f"cannot be read: {problem.strerror or problem}") from None


def parse(data: bytes, name: str) -> SiteFile:
    """The site file in these bytes; raises `Unreadable`."""
    text, plain, document = _document(data, name)
    return SiteFile(name, text, document, _within_depth(name, plain, lambda: check(document, plain, name)))


def what_reads(data: bytes, name: str) -> tuple[SiteFile, Sifted]:
    """A site file for somebody who may mend it: its text and document as they are, the answers of what reads, and what is wrong with the rest.

    Raises `Unreadable` where it is no TOML, or nothing can be made of it.
    """
    text, plain, document = _document(data, name)
    try:
        sifted = _within_depth(name, plain, lambda: sift(document, plain))
    except NothingReads:
        check(document, plain, name)
        raise
    return SiteFile(name, text, document, sifted.answers), sifted


def _within_depth(name: str, plain: str, work: Callable[[], _Made]) -> _Made:
    try:
        return work()
    except RecursionError:
        raise _refuse(name, "not valid TOML: nested too deeply") from None
    except WrongSchema:
        raise
    except ValueError:  # a number to TOML that is too long for one to Python
        raise Unreadable(name, [long_number(plain)]) from None


def _document(data: bytes, name: str) -> tuple[str, str, dict[str, Any]]:
    """The text in these bytes, the same without byte-order mark and with plain line ends, and its document in the present schema."""
    if len(data) > LARGEST:
        raise _refuse(name, f"the file is over {LARGEST >> 20} MiB and was not read; a site file is far smaller")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as problem:
        line = data[: problem.start].count(b"\n") + 1
        raise Unreadable(name, [Problem(line, "", "this is not UTF-8 text; wanted a site file in TOML")]) from None
    plain = text.removeprefix(BYTE_ORDER).replace("\r\n", "\n")
    if not plain.strip():
        raise _refuse(name, "the file is empty; wanted at least one answer")
    if slip := too_deep(plain):
        raise Unreadable(name, [slip])
    try:
        return text, plain, _within_depth(name, plain, lambda: migrate(_loaded(name, plain)))
    except WrongSchema as problem:
        raise Unreadable(name, [Problem(line_numbers(plain).get(("schema",)), "schema", clean(str(problem), 200))]) from None


def _loaded(name: str, plain: str) -> dict[str, Any]:
    try:
        return tomllib.loads(plain)
    except tomllib.TOMLDecodeError as problem:
        raise Unreadable(name, [slip_of(problem, plain)]) from None


def check(document: dict[str, Any], text: str, name: str) -> Answers:
    """The document's answers; raises `Unreadable` with every key that is unknown or does not read."""
    problems: list[Problem] = []
    try:
        answers = Answers.model_validate(document)
    except ValidationError as error:
        problems += explain(error, line_numbers(text))
    if isinstance(document.get("plan"), dict):
        try:
            form(Plan).model_validate(document["plan"])
        except ValidationError as error:
            moved = {path[1:]: line for path, line in line_numbers(text).items() if path[:1] == ("plan",)}
            problems += [Problem(p.line, f"plan.{p.key}", p.text) for p in explain(error, moved, form(Plan))]
    if problems:
        raise Unreadable(name, problems)
    return answers


def _refuse(name: str, text: str) -> Unreadable:
    return Unreadable(name, [Problem(None, "", text)])
