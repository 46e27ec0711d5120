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
from engine.quantities import Refused
from engine.site import Answers
from engine.site.kinds import Named, Reads, ReadsWith, part_of, reading
from engine.site.unit import SETTINGS, Label
from engine.text import clean
from wizard.answers.amounts import Amount, amount, typed

Path = tuple[str | int, ...]
Shape = Literal["quantity", "choice", "yes-no", "whole", "text"]

_STEP = re.compile(r"\.?([A-Za-z0-9_-]+)|\[(\d+)\]")


@dataclass(frozen=True)
class Field:
    """One answer as it is asked: why, how to find out, what is wanted, and the choices where it is one of few.

    `many` says that several of the kind may stand in a row, parted by commas or blanks. `amount` is what is known of a quantity.
    """

    key: str
    shape: Shape
    why: str
    how: str
    wanted: str
    example: str
    choices: tuple[str, ...] = ()
    many: bool = False
    amount: Amount | None = None

    @property
    def unit(self) -> str:
        """The unit that a bare number takes, "" for none."""
        return self.amount.unit if self.amount else ""

    @property
    def plausible(self) -> tuple[float, float] | None:
        """The least and the most, in SI, at which a bare number is believed."""
        return self.amount.plausible if self.amount else None


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
def field(key: str, rules: str = "iec") -> Field:
    """How `key` is asked where the rules are "iec" or "nec"; KeyError where the file has no such key."""
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
        return _field(key, info, get_args(info.annotation)[1], rules)
    info = _info(model, str(last)) if model else None
    if info is None:
        raise KeyError(key)
    return _field(key, info, info.annotation, rules)


def _info(model: type[BaseModel], name: str) -> FieldInfo | None:
    return next((info for own, info in model.model_fields.items() if (info.alias or own) == name), None)


def _field(key: str, info: FieldInfo, hint: Any, rules: str) -> Field:
    hint, marks = _bare(hint)
    many = get_origin(hint) is list
    if many:
        hint, marks = _bare(get_args(hint)[0])
    mark = next((m for m in (*info.metadata, *marks) if isinstance(m, Reads | ReadsWith)), reading(info))
    extra = info.json_schema_extra
    how = str(extra.get("x-how", "")) if isinstance(extra, dict) else ""
    if named := next((m for m in marks if isinstance(m, Named)), None):
        return Field(key, "choice", info.description or "", how, f"{named.what} of the list", named.names()[0], named.names())
    examples = [str(e) for m in (*marks, info) if isinstance(m, FieldInfo) for e in m.examples or ()]
    asked = amount(key, mark, rules) if mark else None
    shape, wanted, example, choices = _shape(hint, asked, examples[0] if examples else "")
    if many:
        wanted = f"{wanted}; several with blanks or commas between"
    return Field(key, shape, info.description or "", how, wanted, example, choices, many, asked)


def _shape(hint: Any, asked: Amount | None, example: str) -> tuple[Shape, str, str, tuple[str, ...]]:
    if asked:
        return "quantity", _wanted(asked), asked.example, ()
    if get_origin(hint) is Literal:
        choices = tuple(str(choice) for choice in get_args(hint))
        return "choice", f"one of: {', '.join(choices)}", choices[0], choices
    if hint is bool:
        return "yes-no", "yes or no", "yes", ("yes", "no")
    if hint is int:
        return "whole", "a whole number", "3", ()
    return "text", f"text such as {example!r}" if example else "text", example, ()


def _wanted(asked: Amount) -> str:
    if asked.size:
        return f"a size in {asked.unit}, or such as '35 mm2', '2/0 AWG' or '250 kcmil'"
    if not asked.unit:
        return f"a plain number such as {asked.example}" + (f", or with {' or '.join(asked.others)}" if asked.others else "")
    return f"a number in {asked.unit}" + (f", or with another unit: {', '.join(asked.others)}" if asked.others else "")


def _bare(hint: Any) -> tuple[Any, tuple[Any, ...]]:
    """An annotation without its `| None` and its marks, and the marks."""
    if get_origin(hint) in (Union, types.UnionType):
        hint = next(arg for arg in get_args(hint) if arg is not type(None))
    if get_origin(hint) is Annotated:
        hint, *marks = get_args(hint)
        return hint, tuple(marks)
    return hint, ()


def value_of(asked: Field, text: str) -> object:
    """Typed text as it stands in the file: yes as true, "3" as 3, "50" as "50 A", "0,85" as 0.85, a row of values as a list.

    Raises `Refused` where it cannot be that, `wizard.answers.amounts.Implausible` where a bare number hardly ever is; what else is wrong with it
    the model says.
    """
    if not asked.many:
        return _one(asked, text.strip())
    values = [_one(asked, item) for item in _items(asked, text)]
    if not values:
        raise Refused(f"found {clean(text, 40)!r}; wanted {asked.wanted}")
    return values


def _items(asked: Field, text: str) -> Iterator[str]:
    if asked.shape != "quantity":
        yield from (item for item in re.split(r"[,;\s]+", text.strip()) if item)
        return
    # A comma is a decimal comma, unless its number has a point already, or it is not alone.
    text = re.sub(r"[.,]?\d[\d.,]*\d", lambda run: run[0].replace(",", ";") if "." in run[0] or run[0].count(",") > 1 else run[0], text)
    item = ""
    for part in re.split(r"[;\s]+|,(?!\d)|(?<=[^\W\d]),", text.strip()):
        if item and re.match(r"[-+.,\d]", part):
            yield item
            item = ""
        item = f"{item} {part}".strip()  # a unit behind a blank belongs to the number before it
    if item:
        yield item


def _one(asked: Field, text: str) -> object:
    if asked.amount:
        return typed(asked.amount, text)
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
