"""What lies within the parts of a plan, for those who go through all of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields, is_dataclass
from operator import attrgetter, is_
from typing import Any, TypeVar

from engine.once import once
from engine.workings import Figure

T = TypeVar("T")

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


def figures(held: Iterable[Iterable[Figure]]) -> list[Figure]:
    """These figures and all that went into them, each once: those that went into others before them."""
    found: list[Figure] = []
    seen: set[int] = set()

    def take(figure: Figure) -> None:
        seen.add(id(figure))
        for part in figure.of:
            if id(part) not in seen:
                take(part)
        found.append(figure)

    for some in held:
        for figure in some:
            if id(figure) not in seen:
                take(figure)
    return found


def held(part: object) -> list[Figure]:
    """The figures that a part holds, each once for every thing of a row that holds it."""
    found: list[Figure] = []
    for value in (look(type(part)) or iter)(part):  # type: ignore[call-overload]
        into = look(type(value))
        for thing in () if into is None else (value,) if is_dataclass(value) else into(value):
            if look(type(thing)):
                found += once(_held, thing)
    return found


def _held(thing: object) -> list[Figure]:
    found: list[Figure] = []
    seen: set[int] = set()

    def walk(inner: Iterable[object]) -> None:
        for value in inner:
            kind = type(value)
            into = _LOOKS[kind] if kind in _LOOKS else look(kind)
            if into is not None and id(value) not in seen:
                seen.add(id(value))
                if kind is Figure:
                    found.append(value)  # type: ignore[arg-type]
                else:
                    walk(into(value))

    walk((thing,))
    return found


_PLAIN = frozenset({str, int, float, bool, type(None)})


def settled(thing: T, before: object, standing: set[int]) -> T:
    """The thing, or the one that stood in its place before where both are the same; so too all that is within it.

    What has not changed is known by its identity from then on. Figures were made once as they were made. `standing` are the
    identities of all that was settled already, for as long as it lives; this is added to them.
    """
    return thing if thing is before else _settled(_Met(standing), thing, before)


class _Met:
    """What was found for the things that were met on the way, by their identity, and what stands."""

    __slots__ = ("found", "standing")

    def __init__(self, standing: set[int]) -> None:
        self.found: dict[int, Any] = {}
        self.standing = standing

    def forget(self, thing: object, found: object) -> None:
        """It met the wrong one."""
        self.found.pop(id(thing), None)
        self.standing.discard(id(found))


def _settled(met: _Met, thing: Any, before: Any) -> Any:
    kind = type(thing)
    if kind is Figure or kind is not type(before) or thing is before:
        return thing
    if kind in _PLAIN:
        return before if thing == before else thing
    own = id(thing)
    if own in met.standing:
        return thing
    found = met.found.get(own)
    if found is None:
        found = met.found[own] = (_PAIRS.get(kind) or _pairs(kind))(met, thing, before)
        met.standing.add(id(found))
    return found


def _leaf(_: _Met, thing: Any, before: Any) -> Any:
    return before if thing == before else thing


def _row(met: _Met, thing: Any, before: Any) -> Any:
    """Things in a row: pair by pair, from its beginning and, where it has become longer or shorter, then from its end."""
    ones: list[Any] = []
    many = len(thing)
    if many != len(before):
        for one, other in zip(thing, before):  # noqa: B905  the shorter decides
            found = _settled(met, one, other)
            if found is not other:
                met.forget(one, found)
                break
            ones.append(found)
        rest = min(many, len(before)) - len(ones)
        ones += thing[len(ones) : many - rest]
        before = [*thing[: len(ones)], *before[len(before) - rest :]]
    ones += [one if one is other else _settled(met, one, other) for one, other in zip(thing[len(ones) :], before[len(ones) :], strict=True)]
    if len(before) == many and type(before) is type(thing) and all(map(is_, ones, before)):
        return before
    return thing if all(map(is_, ones, thing)) else type(thing)(ones)


def _mapping(met: _Met, thing: Any, before: Any) -> Any:
    ones = {key: one if one is (other := before.get(key)) else _settled(met, one, other) for key, one in thing.items()}
    if list(ones) == list(before) and all(map(is_, ones.values(), before.values())):
        return before
    return ones


def _fields(met: _Met, thing: Any, before: Any) -> Any:
    kind: Any = type(thing)
    mine, others = vars(thing), vars(before)
    kinds, aside = [*map(type, mine.values())], _ASIDE[kind]
    if not aside and _PLAIN.issuperset(kinds):
        return before if mine == others and kinds == [*map(type, others.values())] else thing
    moved: dict[str, Any] = {}
    same = True
    for (name, one), of in zip(mine.items(), kinds, strict=True):
        other = others.get(name)
        if one is other or name in aside:
            continue
        if of is Figure or of is not type(other):
            same = False
        elif of in _PLAIN:
            same = same and one == other
        else:
            found = _settled(met, one, other)
            same = same and found is other
            if found is not one:
                moved[name] = found
    if same:
        return before
    if moved:
        made = object.__new__(kind)
        made.__dict__.update(mine | moved)
        return made
    return thing


_ASIDE: dict[type, frozenset[str]] = {}  # the fields that do not make a thing what it is
_PAIRS: dict[type, Callable[[_Met, Any, Any], Any]] = {}


def _pairs(kind: type) -> Callable[[_Met, Any, Any], Any]:
    """How two things of that type are gone through together."""
    if is_dataclass(kind):
        _ASIDE[kind] = frozenset(field.name for field in fields(kind) if not field.compare)
    _PAIRS[kind] = (
        _mapping if issubclass(kind, Mapping) else _row if issubclass(kind, tuple | list) else _fields if is_dataclass(kind) else _leaf
    )
    return _PAIRS[kind]
