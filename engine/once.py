"""What is made of the same things is made once: a memory for those who plan one site over and over.

Who makes a thing by `once` need not know whether there is a memory; where there is none, all is made. It is no part of the
program's state: it belongs to the planner that opened it, and is seen only by what that planner runs, in its own thread.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

T = TypeVar("T")

_OPEN: ContextVar[Memory | None] = ContextVar("memory", default=None)


class Memory:
    """What a piece of work made, by what tells what it was made of, and what the `pieces` of work within it left, by name.

    It starts from what the same piece left `before`; what was not made again by the end is forgotten, so that it never holds
    more than one plan. What things are told by are mostly identities: whoever keeps a thing sees to it that these live as long as it.
    """

    __slots__ = ("_before", "made", "pieces", "pieces_before", "standing")

    def __init__(self, before: Memory | None = None, around: Memory | None = None) -> None:
        self._before: Mapping[Hashable, Any] = before.made if before else {}
        self.made: dict[Hashable, Any] = {}
        self.pieces_before: Mapping[Hashable, Any] = before.pieces if before else {}
        self.pieces: dict[Hashable, Any] = {}
        # Of the whole plan that is made: what is known, by its identity, to be what was made before, if anything of the same was.
        self.standing: set[int] = around.standing if around else set()

    def given(self, told: Hashable) -> Any:
        """What was made of it already, None where nothing was."""
        found = self.made.get(told)
        if found is None and (found := self._before.get(told)) is not None:
            self.made[told] = found
        return found

    def keep(self, told: Hashable, thing: T) -> T:
        """For the next time."""
        self.made[told] = thing
        return thing

    @contextmanager
    def opened(self) -> Iterator[None]:
        """Whatever runs within makes things by this memory, and leaves them in it for the next time."""
        token = _OPEN.set(self)
        try:
            yield
        finally:
            _OPEN.reset(token)
            self._before, self.pieces_before, self.standing = {}, {}, set()


memory = _OPEN.get  # that of the piece of work that runs, None where it has none


def once(make: Callable[..., T], *of: Any) -> T:
    """What `make` gives of these things; where it gave something of the very same ones before, that."""
    kept = memory()
    if kept is None:
        return make(*of)
    told = (make, *map(id, of))
    made: tuple[T, object] = kept.given(told) or kept.keep(told, (make(*of), of))
    return made[0]
