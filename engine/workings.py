"""Figures that explain themselves, at no cost to the formulas.

A formula is a plain function of floats whose annotations name their units. `work` calls one and
keeps what went in, so that `why` can print the tree down to the answers.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from functools import cache
from typing import Any, get_args, get_origin, get_type_hints

from engine.frozen import dataclass
from engine.once import memory
from engine.quantities import Unit, shown

_DIMENSIONLESS = {"1", "ratio"}


@dataclass(frozen=True)
class Figure:
    """A value with its unit, how it came about and the figures that went in.

    `how` is an equation or one of "answered", "assumed", "table", "searched"; `note` is a sentence
    on the choice where an equation does not tell it all; `label` is what people call the value where it is
    one of a series that has names ("3 AWG", "1000 A").
    """

    key: str
    value: float
    unit: str
    how: str
    source: str
    of: tuple[Figure, ...] = ()
    note: str = ""
    label: str = ""

    def __str__(self) -> str:
        return self.label or shown(self.value, self.unit)

    def tree(self) -> Iterator[tuple[int, Figure]]:
        """Depth and figure, this one first, each branch once."""
        seen: set[str] = set()

        def walk(figure: Figure, depth: int) -> Iterator[tuple[int, Figure]]:
            yield depth, figure
            if figure.key in seen:
                return
            seen.add(figure.key)
            for part in figure.of:
                yield from walk(part, depth + 1)

        return walk(self, 0)


def _made(key: str, value: float, unit: str, how: str, source: str, of: tuple[Figure, ...] = (), note: str = "", label: str = "") -> Figure:
    """A figure; one that was made of the same before is that one."""
    kept = memory()
    if kept is None:
        return Figure(key, value, unit, how, source, of, note, label)
    told = (key, value, unit, how, source, note, label, *map(id, of))
    found: Figure = kept.given(told) or kept.keep(told, Figure(key, value, unit, how, source, of, note, label))
    return found


def answered(key: str, value: float, unit: str) -> Figure:
    """A figure that a person typed."""
    return _made(key, value, unit, "answered", "the site's answers")


def assumed(key: str, value: float, unit: str, why: str, source: str) -> Figure:
    """A figure that nobody answered and the engine took."""
    return _made(key, value, unit, "assumed", source, (), why)


def tabled(key: str, value: float, unit: str, source: str, note: str = "") -> Figure:
    """A figure read from a published table."""
    return _made(key, value, unit, "table", source, (), note)


def chosen(key: str, value: float, unit: str, note: str, source: str, of: Sequence[Figure] = (), label: str = "") -> Figure:
    """A figure that a search or a choice between limits gave; `note` says how it was chosen."""
    return _made(key, value, unit, "chosen", source, tuple(of), note, label)


def altered(figure: Figure, **other: Any) -> Figure:
    """The same figure under another key, or with other words to it."""
    return _made(**(vars(figure) | other))


@dataclass(frozen=True)
class Signature:
    """A formula's units and its own words: unit per parameter, unit of the result, equation, source."""

    units: dict[str, str]
    many: frozenset[str]
    result: str
    equation: str
    source: str


def _unit(hint: Any) -> tuple[str | None, bool]:
    """The unit an annotation names, and whether it is a sequence of such values."""
    many = get_origin(hint) is not None and isinstance(get_origin(hint), type) and issubclass(get_origin(hint), Sequence)
    inner = get_args(hint)[0] if many else hint
    for part in getattr(inner, "__metadata__", ()):
        if isinstance(part, Unit):
            return part.name, many
    return None, many


@cache
def signature(formula: Callable[..., float]) -> Signature:
    """What a formula's annotations and docstring say of it."""
    hints = _hints(formula)
    result, _ = _unit(hints.pop("return"))
    if result is None:
        raise TypeError(f"{formula.__name__} does not name the unit of its result")
    units, many = {}, set()
    for name, hint in hints.items():
        unit, several = _unit(hint)
        if unit is not None:
            units[name] = unit
            if several:
                many.add(name)
    text = inspect.getdoc(formula) or ""
    return Signature(units, frozenset(many), result, _part(text, "Equation"), _part(text, "Source"))


_BUILT_IN = {"float": float, "int": int, "str": str, "bool": bool, "None": None}


def _hints(formula: Callable[..., float]) -> dict[str, Any]:
    """The annotations of a formula. Most are a name of its module: the standard library compiles each, which is dear for hundreds."""
    known = {name: formula.__globals__.get(text, _BUILT_IN.get(text)) for name, text in formula.__annotations__.items()}
    return get_type_hints(formula, include_extras=True) if None in known.values() else known


def _part(text: str, name: str) -> str:
    found = re.search(rf"^{name}:\s*(.+?)(?=\n\s*\n|\n[A-Z][a-z]+:|\Z)", text, re.DOTALL | re.MULTILINE)
    return " ".join(found[1].split()) if found else ""


def _fitting(formula: Callable[..., float], name: str, told: Signature, figure: Figure) -> Figure:
    """The figure, if its unit is the one that the formula's annotation names."""
    wanted = told.units.get(name)
    if figure.unit != wanted and not {figure.unit, wanted} <= _DIMENSIONLESS:
        raise TypeError(f"{formula.__name__}({name}) wants {wanted}, not {figure.unit} of {figure.key}")
    return figure


def work(key: str, formula: Callable[..., float], *, note: str = "", **given: Figure | Sequence[Figure] | int | str) -> Figure:
    """Call `formula` with the values of the figures given, and keep its working.

    Plain ints and strings pass through (counts, choices). Raises TypeError where a figure's unit is
    not the one the formula's annotation names: that is a mistake in our code, never the user's.
    """
    kept = memory()
    if kept is None:
        return _worked(key, formula, note, given)
    told = (key, formula, note, *given, *[_told(item) for item in given.values()])
    found: Figure = kept.given(told) or kept.keep(told, _worked(key, formula, note, given))
    return found


def _told(item: Figure | Sequence[Figure] | int | str) -> Hashable:
    """What tells one input of a working from another."""
    if isinstance(item, Figure):
        return id(item)
    return (type(item), item) if isinstance(item, int | str) else tuple(map(id, item))


def _worked(key: str, formula: Callable[..., float], note: str, given: Mapping[str, Figure | Sequence[Figure] | int | str]) -> Figure:
    told = signature(formula)
    values: dict[str, object] = {}
    of: list[Figure] = []
    for name, item in given.items():
        if isinstance(item, int | str):
            values[name] = item
        elif isinstance(item, Figure):
            values[name] = item.value
            of.append(_fitting(formula, name, told, item))
        else:
            values[name] = tuple([figure.value for figure in item])
            of += [_fitting(formula, name, told, figure) for figure in item]
    return Figure(key, formula(**values), told.result, told.equation, told.source, tuple(of), note)
