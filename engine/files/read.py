"""Reading a site file: everything wrong with it is told at once, nothing of it is trusted."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any, BinaryIO

from pydantic import ValidationError

from engine.files.digest import revision
from engine.files.emit import BYTE_ORDER
from engine.files.form import form
from engine.files.migrate import WrongSchema, migrate
from engine.files.problems import Problem, Unreadable, explain, line_numbers
from engine.files.slips import long_number, slip_of, too_deep
from engine.frozen import dataclass
from engine.plan import Plan
from engine.site import Answers
from engine.tables.bounds import most
from engine.text import clean

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
    name = str(path)
    try:
        if path.is_dir():
            raise _refuse(name, "this is a directory; wanted a site file in TOML")
        if path.exists() and not path.is_file():
            raise _refuse(name, "this is no ordinary file; wanted a site file in TOML")
        with path.open("rb") as file:
            return read_from(file, name)
    except OSError as problem:
        raise _refuse(name, f"cannot be read: {problem.strerror or problem}") from None


def read_from(file: BinaryIO, name: str) -> SiteFile:
    """The site file that an open file gives, of which no more is read than a site file may have; raises `Unreadable`."""
    try:
        raw = file.read(LARGEST + 1)
    except OSError as problem:
        raise _refuse(name, f"cannot be read: {problem.strerror or problem}") from None
    return parse(raw, name)


def parse(raw: bytes, name: str) -> SiteFile:
    """The site file in these bytes; raises `Unreadable`."""
    if len(raw) > LARGEST:
        raise _refuse(name, f"the file is over {LARGEST >> 20} MiB and was not read; a site file is far smaller")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as problem:
        line = raw[: problem.start].count(b"\n") + 1
        raise Unreadable(name, [Problem(line, "", "this is not UTF-8 text; wanted a site file in TOML")]) from None
    plain = text.removeprefix(BYTE_ORDER).replace("\r\n", "\n")
    if not plain.strip():
        raise _refuse(name, "the file is empty; wanted at least one answer")
    if slip := too_deep(plain):
        raise Unreadable(name, [slip])
    try:
        document = migrate(tomllib.loads(plain))
        answers = check(document, plain, name)
    except tomllib.TOMLDecodeError as problem:
        raise Unreadable(name, [slip_of(problem, plain)]) from None
    except WrongSchema as problem:
        raise Unreadable(name, [Problem(line_numbers(plain).get(("schema",)), "schema", clean(str(problem), 200))]) from None
    except RecursionError:
        raise _refuse(name, "not valid TOML: nested too deeply") from None
    except ValueError:  # a number to TOML that is too long for one to Python
        raise Unreadable(name, [long_number(plain)]) from None
    return SiteFile(name, text, document, answers)


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
