"""What lies within the parts of a plan, for those who go through all of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields, is_dataclass
from operator import attrgetter
from typing import Any

from engine.workings import Figure

_Look = Callable[[Any], Iterable[object]]
_LOOKS: dict[type, _Look | None] = {}  # found out once for each type, not anew for each of tens of thousands of things


def look(kind: type) -> _Look | None:
    """How to look into a thing of that type; None where there is nothing within. Keys of a mapping come before its values."""
    if kind not in _LOOKS:
        _LOOKS[kind] = _look(kind)
    return _LOOKS[kind]


def _look(kind: type) -> _Look | None:
    if issubclass(kind, Mapping):
        return lambda part: (*part, *part.values())
    if issubclass(kind, tuple | list):
        return iter
    if not is_dataclass(kind):
        return None
    names = [field.name for field in fields(kind)]
    one = attrgetter(*names) if names else None
    return (lambda _: ()) if one is None else one if len(names) > 1 else lambda part: (one(part),)


def figures(part: object) -> list[Figure]:
    """Every figure within, each once, those that went into others before them."""
    found: list[Figure] = []
    seen: set[int] = set()

    def take(some: Iterable[Figure]) -> None:
        for figure in some:
            if id(figure) not in seen:
                seen.add(id(figure))
                if figure.of:
                    take(figure.of)
                found.append(figure)

    def walk(inner: Iterable[object]) -> None:
        for value in inner:
            kind = type(value)
            if kind is Figure:
                take((value,))  # type: ignore[arg-type]
                continue
            into = _LOOKS[kind] if kind in _LOOKS else look(kind)
            if into is not None and id(value) not in seen:
                seen.add(id(value))
                walk(into(value))

    walk((part,))
    return found


def alike(one: object, other: object) -> bool:
    """Whether two parts of a plan are the same throughout.

    Looked through level by level, for what differs mostly differs at the top; what figures have in common is looked at once.
    """
    level, known = [(one, other)], set[tuple[int, int]]()
    while level:
        below: list[tuple[object, object]] = []
        for a, b in level:
            if a is b:
                continue
            into = look(type(a))
            if type(a) is not type(b) or (into is None and a != b):
                return False
            pair = (id(a), id(b))
            if into is None or pair in known:
                continue
            known.add(pair)
            mine, others = tuple(into(a)), tuple(into(b))
            if len(mine) != len(others):
                return False
            below += zip(mine, others, strict=True)
        level = below
    return True
