"""The form of a plan in the file: models made of the plan's own rows, where a plan is read or described."""

from __future__ import annotations

from dataclasses import MISSING, fields
from functools import cache
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel, ConfigDict, Field, create_model

from engine.plan import Row
from engine.tables.bounds import most

_STRICT = ConfigDict(strict=True, frozen=True, extra="forbid")


@cache
def form(row: Any) -> type[BaseModel]:
    """The model that checks one kind of row and all within it."""
    hints: dict[str, Any] = get_type_hints(row)
    told: dict[str, Any] = {}
    for field in fields(row):
        default = field.default if field.default_factory is MISSING else field.default_factory()
        if isinstance(default, Row):
            kind: Any = type(default)
            default = form(kind)()
        told[field.name] = (
            _formed(hints[field.name]),
            Field(default=... if default is MISSING else default, alias=field.name.rstrip("_")),
        )
    return create_model(row.__name__, __config__=_STRICT, __doc__=row.__doc__, **told)


def _formed(hint: Any) -> Any:
    """An annotation with models in place of rows."""
    if _is_row(hint):
        return form(hint)
    if get_origin(hint) is list:
        return Annotated[list[_formed(get_args(hint)[0])], Field(max_length=most("rows of a plan"))]  # type: ignore[misc]
    if get_origin(hint) in (Union, UnionType):
        return Union[tuple(_formed(arg) for arg in get_args(hint))]  # noqa: UP007 - made of parts known only here
    return hint


def _is_row(hint: Any) -> bool:
    return isinstance(hint, type) and issubclass(hint, Row)
