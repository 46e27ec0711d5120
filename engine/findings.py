"""What the engine noticed: data, told apart by level and code, never an exception."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from enum import StrEnum

from engine.frozen import dataclass
from engine.workings import Figure


class Level(StrEnum):
    """`stop`: do not energise. `caution`: read this before going on. `note`: good to know."""

    STOP = "stop"
    CAUTION = "caution"
    NOTE = "note"


class Standing(StrEnum):
    """What the findings add up to."""

    READY = "ready"
    CAUTIONS = "cautions"
    STOPPED = "stopped"


@dataclass(frozen=True)
class Finding:
    """One thing noticed: its level, a stable code, the key it is about, what, the cure, the rule.

    `value` is what was found and `limit` what it was held against, in SI and `unit`, where that is a comparison; `unanswered` tells
    that something essential was not answered, so that more may be noticed once it is. `where` names the things that it is noticed on, where
    the key it is about names another number of them.
    """

    level: Level
    code: str
    about: str
    text: str
    remedy: str
    source: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    unanswered: bool = False
    where: tuple[str, ...] | None = None


@dataclass(frozen=True)
class _Noticing:
    """Makes findings of one level. A figure given as `value` or `limit` brings its unit along."""

    level: Level

    def __call__(
        self,
        code: str,
        about: str,
        text: str,
        remedy: str,
        source: str,
        *,
        value: Figure | float | None = None,
        limit: Figure | float | None = None,
        unit: str = "",
        unanswered: bool = False,
        where: Iterable[str] | None = None,
    ) -> Finding:
        units = [held.unit for held in (value, limit) if isinstance(held, Figure)]
        found, held = (figure.value if isinstance(figure, Figure) else figure for figure in (value, limit))
        on = None if where is None else tuple(where)
        return Finding(self.level, code, about, text, remedy, source, found, held, unit or next(iter(units), ""), unanswered, on)


stop = _Noticing(Level.STOP)  # forbids energising
caution = _Noticing(Level.CAUTION)  # must be read and decided on
note = _Noticing(Level.NOTE)  # is good to know

_ANYONE = "?"


def together(names: Sequence[str], check: Callable[[str, str], Iterable[Finding]]) -> Iterator[Finding]:
    """The findings of a check on several things; those that differ only in whose they are come once, and name them all.

    `check(name, called)` looks at the thing of that name, and calls it so in its sentences.
    """
    alike: dict[Finding, list[tuple[str, int]]] = {}
    for name in names:
        for place, finding in enumerate(check(name, _ANYONE)):
            alike.setdefault(replace(finding, about=""), []).append((name, place))
    for (first, place), *others in alike.values():
        everyone = dict.fromkeys((first, *(name for name, _ in others)))
        finding = [*check(first, f"each of {', '.join(everyone)}" if len(everyone) > 1 else first)][place]
        yield replace(finding, text=finding.text[:1].upper() + finding.text[1:], where=tuple(everyone))


def standing(findings: Iterable[Finding]) -> Standing:
    """The standing that the worst finding gives."""
    levels = {f.level for f in findings}
    if Level.STOP in levels:
        return Standing.STOPPED
    return Standing.CAUTIONS if Level.CAUTION in levels else Standing.READY
