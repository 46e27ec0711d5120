"""What the model says of one answer: how it is asked, what may be written, how text becomes a value of the file.

Keys here point by position: `loads[0].power` is the first load's. Nothing here knows a terminal.
"""

from __future__ import annotations

import re
import types
from collections.abc import Iterator
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from engine.frozen import dataclass
from engine.quantities import Refused, number
from engine.site import Answers
from engine.site.kinds import Reads, ReadsWith, part_of, reading
from engine.site.unit import SETTINGS, Label
from engine.text import clean

Path = tuple[str | int, ...]
Shape = Literal["quantity", "choice", "yes-no", "whole", "text"]

_STEP = re.compile(r"\.?([A-Za-z0-9_-]+)|\[(\d+)\]")


@dataclass(frozen=True)
class Field:
    """One answer as it is asked: why, how to find out, what is wanted, and the choices where it is one of few.

    `many` says that several of the kind may stand in a row, parted by commas.
    """

    key: str
    shape: Shape
    why: str
    how: str
    wanted: str
    example: str
    choices: tuple[str, ...] = ()
    many: bool = False
    bare: bool = False


def path_of(key: str) -> Path:
    """`"loads[0].power"` as `("loads", 0, "power")`; ValueError where it is no key."""
    steps: list[str | int] = []
    at = 0
    while at < len(key):
        step = _STEP.match(key, at)
        if not step:
            raise ValueError(f"{key!r} is no key")
        steps.append(step[1] if step[1] is not None else int(step[2]))
        at = step.end()
    return tuple(steps)


@cache
def field(key: str) -> Field:
    """How `key` is asked; KeyError where the file has no such key."""
    *way, last = path_of(key)
    model: type[BaseModel] | None = Answers
    info: FieldInfo | None = None
    for step in way:
        if isinstance(step, str) and model is not None and model is not Label:
            info = _info(model, step)
            if info is None:
                raise KeyError(key)
            model = part_of(info.annotation) or (None if get_origin(info.annotation) is dict else model)
    if model is Label and last != "name":
        setting = str(way[-1])
        if last not in SETTINGS[setting]:
            raise KeyError(key)
        return Field(
            key,
            "text",
            f"What the maker calls {last!r} in this setting.",
            "The manual, or the unit's own menu.",
            "text, copied as it stands",
            "",
        )
    if model is None and info is not None:
        return _field(key, info, get_args(info.annotation)[1])
    info = _info(model, str(last)) if model else None
    if info is None:
        raise KeyError(key)
    return _field(key, info, info.annotation)


def _info(model: type[BaseModel], name: str) -> FieldInfo | None:
    return next((info for own, info in model.model_fields.items() if (info.alias or own) == name), None)


def _field(key: str, info: FieldInfo, hint: Any) -> Field:
    hint, marks = _bare(hint)
    many = get_origin(hint) is list
    if many:
        hint, marks = _bare(get_args(hint)[0])
    mark = next((m for m in (*info.metadata, *marks) if isinstance(m, Reads | ReadsWith)), reading(info))
    extra = info.json_schema_extra
    how = str(extra.get("x-how", "")) if isinstance(extra, dict) else ""
    examples = [str(e) for m in (*marks, info) if isinstance(m, FieldInfo) for e in m.examples or ()]
    shape, wanted, example, choices = _shape(hint, mark, examples[0] if examples else "")
    if many:
        wanted = f"{wanted}; several with commas between"
    return Field(key, shape, info.description or "", how, wanted, example, choices, many, isinstance(mark, Reads) and mark.kind.bare)


def _shape(hint: Any, mark: Reads | ReadsWith | None, example: str) -> tuple[Shape, str, str, tuple[str, ...]]:
    if isinstance(mark, Reads):
        return "quantity", mark.kind.wanted, mark.kind.example, ()
    if isinstance(mark, ReadsWith):
        return "quantity", f"a {mark.name} (for example {mark.example!r})", mark.example, ()
    if get_origin(hint) is Literal:
        choices = tuple(str(choice) for choice in get_args(hint))
        return "choice", f"one of: {', '.join(choices)}", choices[0], choices
    if hint is bool:
        return "yes-no", "yes or no", "yes", ("yes", "no")
    if hint is int:
        return "whole", "a whole number", "3", ()
    return "text", f"text such as {example!r}" if example else "text", example, ()


def _bare(hint: Any) -> tuple[Any, tuple[Any, ...]]:
    """An annotation without its `| None` and its marks, and the marks."""
    if get_origin(hint) in (Union, types.UnionType):
        hint = next(arg for arg in get_args(hint) if arg is not type(None))
    if get_origin(hint) is Annotated:
        hint, *marks = get_args(hint)
        return hint, tuple(marks)
    return hint, ()


def value_of(asked: Field, text: str) -> object:
    """Typed text as it stands in the file: yes as true, "3" as 3, "0,85" as 0.85, a row of values as a list.

    Raises `Refused` where it cannot be that; what else is wrong with it the model says.
    """
    if not asked.many:
        return _one(asked, text.strip())
    return [_one(asked, item) for item in _items(asked, text)]


def _items(asked: Field, text: str) -> Iterator[str]:
    # A comma between two digits is a decimal comma, unless whole numbers are wanted.
    between = r"[,;\s]\s*" if asked.shape in ("whole", "choice") else r";\s*|,\s+|(?<=[^\d\s])\s*,\s*"
    return (item for item in re.split(between, text.strip()) if item)


def _one(asked: Field, text: str) -> object:
    if asked.shape == "yes-no":
        told = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}.get(text.lower())
        if told is None:
            raise Refused(f"found {clean(text, 40)!r}; wanted {asked.wanted}")
        return told
    if asked.shape == "whole":
        if not re.fullmatch(r"[+-]?[0-9]{1,9}", text):
            raise Refused(f"found {clean(text, 40)!r}; wanted {asked.wanted}")
        return int(text)
    if asked.shape == "choice":
        return next((choice for choice in asked.choices if choice.lower() == text.lower()), text)
    if asked.bare and re.fullmatch(r"[+-]?[0-9.,eE+-]+", text):
        value, rest = number(text)
        if not rest:
            return int(value) if value.is_integer() and re.fullmatch(r"[+-]?\d+", text) else value
    return text


def text_of(value: object) -> str:
    """A value of the file as it would be typed."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(text_of(item) for item in value)
    return str(value)
