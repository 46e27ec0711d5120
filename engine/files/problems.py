"""What is wrong with a file, said so that its owner can mend it: line, key, what was found, what is wanted."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from engine.files.statements import NotTaken, statements
from engine.frozen import dataclass
from engine.site import Answers
from engine.site.kinds import part_of
from engine.tables.bounds import most
from engine.text import clean, quoted


@dataclass(frozen=True)
class Problem:
    """One thing wrong: its line (where known), its key (empty for the file as a whole), what to say; what stands there, as it was typed."""

    line: int | None
    key: str
    text: str
    found: str = ""


class Unreadable(Exception):
    """A file that cannot be used; `problems` holds everything wrong with it."""

    def __init__(self, name: str, problems: Sequence[Problem]) -> None:
        super().__init__(name)
        self.name = clean(name)
        self.problems = tuple(problems)

    def __str__(self) -> str:
        return "\n".join(self.lines())

    def lines(self) -> Iterable[str]:
        """A line per problem: `site.toml:12: unit.real_power: …`."""
        for problem in self.problems:
            place = self.name if problem.line is None else f"{self.name}:{problem.line}"
            yield ": ".join(part for part in (place, problem.key, problem.text) if part)


_LONGEST = 60  # characters of a name that is looked for: what is longer is no slip of a known one

_WANTED = {
    "int_type": "a whole number without quotes",
    "int_from_float": "a whole number",
    "string_type": "text in quotes",
    "bool_type": "true or false, without quotes",
    "list_type": "a list in square brackets",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
    "datetime_type": "a date and time such as 2026-01-31T10:00:00Z",
}


def explain(error: ValidationError, numbers: dict[tuple[str | int, ...], int], model: type[BaseModel] = Answers) -> list[Problem]:
    """Errors of a model in our words, in the order of the file; where there are very many, the first of them and how many more."""
    placed = []
    for detail in error.errors(include_url=False):
        path = path_of(detail)
        placed.append((line_of(path, numbers), path, detail))
    placed.sort(key=lambda found: (found[0] is None, found[0] or 0))
    told: dict[tuple[str, str], Problem] = {}
    for done, (line, path, detail) in enumerate(placed):
        if len(told) == most("problems told"):
            return [*told.values(), Problem(None, "", f"and {len(placed) - done} more like these")]
        problem = Problem(line, clean(shown_path(path)), sentence(detail, path, model))
        told.setdefault((problem.key, problem.text), problem)
    return list(told.values())


def path_of(detail: ErrorDetails) -> tuple[str | int, ...]:
    """Where in the document an error is."""
    # "[key]" marks an error in the name of a key itself.
    return tuple(part for part in detail["loc"] if part != "[key]" and not (isinstance(part, str) and part.startswith("function-")))


def line_of(path: tuple[str | int, ...], numbers: dict[tuple[str | int, ...], int]) -> int | None:
    """The line of a key, or of the innermost table around it that stands there."""
    return next((numbers[path[:length]] for length in range(len(path), -1, -1) if path[:length] in numbers), None)


def shown_path(path: Sequence[str | int]) -> str:
    """`("loads", 1, "power")` as `loads[#2].power`."""
    text = ""
    for part in path[:_LONGEST]:
        text += f"[#{part + 1}]" if isinstance(part, int) else f".{part}"
    return text.lstrip(".")


def sentence(detail: ErrorDetails, path: tuple[str | int, ...], model: type[BaseModel] = Answers) -> str:
    """What is wrong and what is wanted, in our words."""
    kind, found = detail["type"], _found(detail["input"])
    if kind == "extra_forbidden":
        return f"unknown key{_nearest(path, model)}"
    if kind in _WANTED:
        return f"found {found}; wanted {_WANTED[kind]}"
    if kind == "missing":
        return "this key is missing"
    if kind == "literal_error":
        return f"found {found}; wanted {detail['ctx']['expected']}"
    if kind == "string_pattern_mismatch":
        return f"found {found}; wanted a form such as {_example(path)}"
    if kind == "string_too_long":
        return f"found {len(detail['input'])} characters, {found}; wanted at most {detail['ctx']['max_length']}"
    if kind == "too_long":
        return f"found a list of {detail['ctx']['actual_length']}; wanted at most {detail['ctx']['max_length']}"
    if kind == "string_too_short":
        return "found nothing between the quotes; wanted text, or no such key"
    message = detail["msg"].removeprefix("Value error, ").removeprefix("Assertion failed, ")
    return clean(message if kind == "value_error" else f"found {found}; {message[0].lower()}{message[1:]}", 600)


def _found(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, int) and value.bit_length() > 4 * most("digits of a number"):  # Python shows none of some thousand digits
        return f"a number of more than {most('digits of a number')} digits"
    return clean(str(value), 60)


def _keys(names: Sequence[str], model: type[BaseModel] | None) -> list[str]:
    """The keys of the part of a model that these names lead into; none where that is no part."""
    fields = {field.alias or name: field for name, field in model.model_fields.items()} if model else {}
    if not names:
        return list(fields)
    return _keys(names[1:], part_of(fields[names[0]].annotation) if names[0] in fields else None)


def _nearest(path: tuple[str | int, ...], model: type[BaseModel]) -> str:
    known = _keys([part for part in path[:-1] if isinstance(part, str)], model)
    import difflib  # noqa: PLC0415 - its import is dear, and seldom needed

    near = difflib.get_close_matches(str(path[-1])[:_LONGEST].lower(), known, n=1, cutoff=0.0)
    return f"; the nearest known one is {near[0]!r}" if near else ""


def _example(path: tuple[str | int, ...]) -> str:
    """An example of what a field with a pattern takes."""
    names = {"tag": "L1-1", "unit": "L1-1", "lead": "L1-1", "bank": "B1", "wired": 'L1-1 = "B1"', "dc_stud": "M8", "revision": "3f9a12cc"}
    told = (repr(example) for part in reversed(path) if (example := names.get(str(part))))
    return next(told, "those in the description of the file (phasewright schema)")


def line_numbers(text: str) -> dict[tuple[str | int, ...], int]:
    """The line in which each key and table of a TOML text stands."""
    found: dict[tuple[str | int, ...], int] = {}
    number = 1
    with suppress(NotTaken):
        for statement in statements(text):
            for length in range(1, len(statement.path) + 1):
                found.setdefault(statement.path[:length], number)
            number += statement.text.count("\n")
    return found
