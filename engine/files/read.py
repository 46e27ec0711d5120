"""Reading a site file: everything wrong with it is told at once, nothing of it is trusted."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from engine.files.digest import revision
from engine.files.form import form
from engine.files.migrate import WrongSchema, migrate
from engine.files.problems import Problem, Unreadable, explain, line_numbers
from engine.frozen import dataclass
from engine.plan import Plan
from engine.site import Answers
from engine.text import clean

LARGEST = 1 << 20  # bytes: a site of a thousand lines is 40 kB


@dataclass(frozen=True)
class SiteFile:
    """A file as read: its text, the document as typed, the answers checked."""

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
        if path.stat().st_size > LARGEST:
            raise _refuse(name, f"the file is over {LARGEST >> 20} MiB and was not read; a site file is far smaller")
        raw = path.read_bytes()
    except OSError as problem:
        raise _refuse(name, f"cannot be read: {problem.strerror or problem}") from None
    return parse(raw, name)


def parse(raw: bytes, name: str) -> SiteFile:
    """The site file in these bytes; raises `Unreadable`."""
    if len(raw) > LARGEST:
        raise _refuse(name, f"the file is over {LARGEST >> 20} MiB and was not read; a site file is far smaller")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = raw[: problem.start].count(b"\n") + 1
        raise Unreadable(name, [Problem(line, "", "this is not UTF-8 text; wanted a site file in TOML")]) from None
    if not text.strip():
        raise _refuse(name, "the file is empty; wanted at least one answer")
    text = text.replace("\r\n", "\n")
    try:
        document = migrate(tomllib.loads(text))
        answers = check(document, text, name)
    except tomllib.TOMLDecodeError as problem:
        found = re.search(r"\(at line (\d+), column (\d+)\)", str(problem))
        at = int(found[1]) if found else len(text.splitlines())
        raise Unreadable(name, [Problem(at, "", clean(f"not valid TOML: {str(problem).split(' (at ')[0]}", 200))]) from None
    except WrongSchema as problem:
        raise Unreadable(name, [Problem(line_numbers(text).get(("schema",)), "schema", clean(str(problem), 200))]) from None
    except RecursionError:
        raise _refuse(name, "not valid TOML: nested too deeply") from None
    except ValueError as problem:
        raise _refuse(name, clean(f"not valid TOML: {problem}", 200)) from None
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
            problems += [Problem(p.line, f"plan.{p.key}", p.text) for p in explain(error, moved)]
    if problems:
        raise Unreadable(name, problems)
    return answers


def _refuse(name: str, text: str) -> Unreadable:
    return Unreadable(name, [Problem(None, "", text)])
