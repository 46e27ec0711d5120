"""A piece of work that is done over and over: it runs again only where something that it read has changed."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from typing import Any, TypeVar

from engine.facts import Facts
from engine.frozen import dataclass
from engine.once import Memory, memory
from engine.reads import Reading, Watched, holds, watched
from engine.within import settled

T = TypeVar("T")


@dataclass(frozen=True)
class _Piece:
    """What a piece of work gave, and what it read to come to that: the things `given` to it, and of the facts. `within` is its own memory."""

    work: Callable[..., Any]
    given: Mapping[str, Any]
    seen: Mapping[Reading, object]
    gave: Any
    within: Memory


def again(name: Hashable, work: Callable[..., T], **given: Any) -> T:
    """What `work` gives of these; `name` tells it from all other pieces within the one that runs.

    Without a memory that is all. With one, `work` does not run where everything is as it was the last time; what it reads of the
    facts is seen as it reads. What it gives is, as far as it is the same, what it gave before.
    """
    kept = memory()
    if kept is None:
        return work(**given)
    facts = given.pop("facts", None)
    whole = facts.whole if isinstance(facts, Watched) else facts
    piece: _Piece | None = kept.pieces_before.get(name)
    if piece is None or piece.work != work:  # a method of another thing is other work
        piece = _run(work, given, whole, kept, None)
    else:
        given = {key: settled(value, piece.given.get(key), kept.standing) for key, value in given.items()}
        if any(value is not piece.given.get(key) for key, value in given.items()) or not holds(whole, piece.seen):
            piece = _run(work, given, whole, kept, piece)
    kept.pieces[name] = piece
    if isinstance(facts, Watched):
        facts.seen.update(piece.seen)  # what a piece reads is read by the one around it
    gave: T = piece.gave
    return gave


def _run(work: Callable[..., Any], given: Mapping[str, Any], facts: Facts | None, kept: Memory, before: _Piece | None) -> _Piece:
    within, seen = Memory(before.within if before else None, kept), dict[Reading, object]()
    with within.opened():
        gave = work(**given) if facts is None else work(facts=watched(facts, seen), **given)
    return _Piece(work, given, seen, settled(gave, before.gave if before else None, kept.standing), within)
