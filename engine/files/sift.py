"""What reads of a document that has wrong values in it, for whoever may mend them: everything else, and what is wrong."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from engine.files.emit import inline, is_table
from engine.files.form import form
from engine.files.problems import Problem, explain, line_numbers, line_of, path_of, sentence
from engine.files.statements import Path
from engine.frozen import dataclass
from engine.plan import Plan
from engine.site import Answers
from engine.tables.bounds import most
from engine.text import clean

_ROUNDS = 200  # far more than there are ways in which something is wrong with one value
_MOST = 1000  # wrong values that somebody might mend one by one
_TRIED = 50  # keys of a table of which each is tried for being the wrong one


class NothingReads(Exception):
    """What is wrong with the document cannot be taken out of it, or is far too much."""


@dataclass(frozen=True)
class Sifted:
    """The part of a document that reads, its answers, and what is wrong with the rest: key by position, and what was typed there."""

    document: dict[str, Any]
    answers: Answers
    wrong: tuple[Problem, ...] = ()


def sift(document: Mapping[str, Any], text: str = "") -> Sifted:
    """The document without what is refused and without unknown keys; an entry goes as a whole only from the end of too long an array.

    So what is left keeps its place. The text is for the lines of the problems. Raises `NothingReads`.
    """
    left: dict[str, Any] = dict(document)
    wrong: list[tuple[Path, Problem]] = []
    numbers = line_numbers(text) if text else {}
    if isinstance(left.get("plan"), dict) and (problem := _plan_problem(left["plan"])):
        wrong.append((("plan",), Problem(numbers.get(("plan",)), "plan", problem)))
        del left["plan"]
    for _ in range(_ROUNDS):
        try:
            answers = Answers.model_validate(left)
        except ValidationError as error:
            left = copy.deepcopy(left)
            culprits = _culprits(error, left)
            if len(wrong) + len(culprits) > _MOST:
                raise NothingReads from None
            for path, detail in culprits.items():
                value = _taken(left, path)
                found = value if isinstance(value, str) else inline(value)
                # The nearest known key is looked for long.
                many = len(wrong) >= most("problems told") and detail["type"] == "extra_forbidden"
                said = "unknown key" if many else sentence(detail, path_of(detail))
                wrong.append((path, Problem(line_of(path, numbers), key_of_path(path), said, found)))
        else:
            wrong.sort(key=lambda told: _position(told[0], document))
            return Sifted(left, answers, tuple(problem for _, problem in wrong))
    raise NothingReads


def key_of_path(path: Path) -> str:
    """A path as a key by position: `("loads", 2, "power")` as `loads[2].power`."""
    return "".join(f"[{step}]" if isinstance(step, int) else f".{clean(step, 60)}" for step in path).lstrip(".")


def missing(document: Mapping[str, Any], left: Mapping[str, Any]) -> list[Path]:
    """The paths of a document's keys and entries that what is left of it lacks."""
    return [path for key, value in document.items() for path in _missing((key,), value, left.get(key, _NONE))]


_NONE = object()


def _missing(path: Path, value: Any, left: Any) -> list[Path]:
    if left is _NONE:
        return [path]
    if isinstance(value, Mapping) and isinstance(left, Mapping):
        return [told for key, inner in value.items() for told in _missing((*path, key), inner, left.get(key, _NONE))]
    if is_table(value) and isinstance(left, list):
        return [
            told
            for place, inner in enumerate(value)
            for told in _missing((*path, place), inner, left[place] if place < len(left) else _NONE)
        ]
    return []


def _plan_problem(plan: Mapping[str, Any]) -> str:
    try:
        form(Plan).model_validate(plan)
    except ValidationError as error:
        problem = explain(error, {}, form(Plan))[0]
        return f"the plan in this file does not read ({problem.key}: {problem.text})"
    return ""


def _culprits(error: ValidationError, left: Mapping[str, Any]) -> dict[Path, ErrorDetails]:
    """What to take out, the last of an array first, so that each is still in its place when its turn comes."""
    told: dict[Path, ErrorDetails] = {}
    for detail in error.errors(include_url=False):
        for path in _blamed(detail, left):
            told.setdefault(path, detail)
    outermost = [path for path in told if not any(path[:length] in told for length in range(1, len(path)))]
    return {path: told[path] for path in sorted(outermost, key=_order, reverse=True)}


def _position(path: Path, place: Any) -> list[int]:
    """Where in a document a path leads, for sorting."""
    told = []
    for step in path:
        told.append(step if isinstance(step, int) else list(place).index(step))
        place = place[step]
    return told


def _order(path: Path) -> list[tuple[int, str]]:
    return [(step, "") if isinstance(step, int) else (0, step) for step in path]


def _blamed(detail: ErrorDetails, left: Mapping[str, Any]) -> list[Path]:
    """What must go for one error: the value; of an array or a table that is wrong as a whole, as little as is found to do."""
    path: Path = ()
    value: Any = left
    for step in path_of(detail):
        if (isinstance(value, Mapping) and step in value) or (isinstance(step, int) and is_table(value) and step < len(value)):
            value = value[step]
            path += (step,)
        else:
            break
    if not path:
        raise NothingReads
    if isinstance(value, list) and is_table(value):
        kept = detail["ctx"]["max_length"] if detail["type"] == "too_long" else _most_that_read(path, value)
        return [(*path, place) for place in range(kept, len(value))]
    if isinstance(value, Mapping) and detail["type"] == "value_error" and len(value) <= _TRIED:
        # The last first: where there are too many, it is one too many.
        cause = next(
            (key for key in reversed(value) if detail["msg"] not in _said(path, {k: v for k, v in value.items() if k != key})), None
        )
        return [path if cause is None else (*path, cause)]
    return [path]


def _most_that_read(path: Path, entries: list[Any]) -> int:
    """How many entries of an array, from the first, nothing is said against as a whole."""
    kept, over = 0, len(entries)
    while kept + 1 < over:
        tried = (kept + over) // 2
        if _said(path, entries[:tried]):
            over = tried
        else:
            kept = tried
    return kept


def _said(path: Path, value: object) -> list[str]:
    """What is said against a value of the document as a whole, were it the only one."""
    document: Any = value
    for step in reversed(path):
        document = {step: document} if isinstance(step, str) else [document]
    try:
        Answers.model_validate(document)
    except ValidationError as error:
        return [d["msg"] for d in error.errors(include_url=False) if d["type"] == "value_error" and len(path_of(d)) == len(path)]
    return []


def _taken(document: Any, path: Path) -> Any:
    """What stood at a path, taken out."""
    *way, last = path
    for step in way:
        document = document[step]
    return document.pop(last)
