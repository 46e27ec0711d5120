"""Frozen dataclasses at a sixth of the standard library's price: a command lives for a fraction of a second, and defines a hundred.

The standard library writes and compiles six methods for each. Here one is compiled, `__init__`, and the others are
shared. That nothing is assigned to a field later is held by mypy, which takes these for the standard library's; at run
time it would make every instance three times as dear. What `fields` and `replace` see is the standard library's own.
"""

from __future__ import annotations

import dataclasses
from operator import attrgetter
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass
else:

    def dataclass(*, frozen: bool, eq: bool = True, kw_only: bool = False) -> Any:
        """`dataclasses.dataclass`, for those that are frozen."""
        assert frozen
        return lambda cls: _finished(cls, eq=eq, kw_only=kw_only)


__all__ = ["dataclass"]

_MADE = object()  # stands for a default that is made anew for each instance


def _finished(cls: type, *, eq: bool, kw_only: bool) -> type:
    cls = dataclasses.dataclass(init=False, repr=False, eq=False, kw_only=kw_only)(cls)
    for method in (_initialiser(cls), *_shared(dataclasses.fields(cls), eq=eq)):
        if method.__name__ not in vars(cls):
            setattr(cls, method.__name__, method)
    return cls


def _initialiser(cls: type) -> Any:
    """`__init__` of a dataclass."""
    given, body, known = ["self"], ["pass"], {"made": _MADE}
    for field in dataclasses.fields(cls):
        name, default = field.name, f"default_{field.name}"
        if field.kw_only and "*" not in given:
            given.append("*")
        if field.default_factory is not dataclasses.MISSING:
            known[default] = field.default_factory
            given.append(f"{name}=made")
            body.append(f"self.{name} = {default}() if {name} is made else {name}")
            continue
        if field.default is not dataclasses.MISSING:
            known[default] = field.default
        given.append(f"{name}={default}" if default in known else name)
        body.append(f"self.{name} = {name}")
    if hasattr(cls, "__post_init__"):
        body.append("self.__post_init__()")
    exec(f"def __init__({', '.join(given)}):\n " + "\n ".join(body), known)  # of the names of fields alone
    return known["__init__"]


def _shared(fields: tuple[dataclasses.Field[Any], ...], *, eq: bool) -> list[Any]:
    """The methods that need no writing: they differ in the names of the fields alone."""
    names, compared = ([field.name for field in fields if shown(field)] for shown in (attrgetter("repr"), attrgetter("compare")))
    told = attrgetter(*compared) if compared else lambda _: ()

    def __repr__(self: Any) -> str:  # noqa: N807
        return f"{type(self).__qualname__}({', '.join(f'{name}={getattr(self, name)!r}' for name in names)})"

    def __eq__(self: Any, other: object) -> bool:  # noqa: N807
        return bool(told(self) == told(other)) if other.__class__ is self.__class__ else NotImplemented

    def __hash__(self: Any) -> int:  # noqa: N807
        return hash(told(self))

    return [__repr__, *((__eq__, __hash__) if eq else ())]
