"""What the engine noticed: data, told apart by level and code, never an exception."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum


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
    """One thing noticed: its level, a stable code, the key it is about, what, the cure, the rule."""

    level: Level
    code: str
    about: str
    text: str
    remedy: str
    source: str


def stop(code: str, about: str, text: str, remedy: str, source: str) -> Finding:
    """A finding that forbids energising."""
    return Finding(Level.STOP, code, about, text, remedy, source)


def caution(code: str, about: str, text: str, remedy: str, source: str) -> Finding:
    """A finding that must be read and decided on."""
    return Finding(Level.CAUTION, code, about, text, remedy, source)


def note(code: str, about: str, text: str, remedy: str, source: str) -> Finding:
    """A finding that is good to know."""
    return Finding(Level.NOTE, code, about, text, remedy, source)


def together(found: Iterable[tuple[str, Finding]]) -> Iterator[Finding]:
    """Findings that differ only in the name they speak of, each with that name: one of them, that names them all."""
    groups: dict[Finding, list[tuple[str, Finding]]] = {}
    for name, finding in found:
        groups.setdefault(replace(finding, about="", text=_named(finding.text, name, "")), []).append((name, finding))
    for (name, first), *others in groups.values():
        names = ", ".join(dict.fromkeys((name, *(other for other, _ in others))))
        yield replace(first, text=_named(first.text, name, f"each of {names}")) if others else first


def _named(text: str, name: str, other: str) -> str:
    """The text with another name in place of `name`, where that stands as a word of its own."""
    told = re.sub(rf"(?<![\w-]){re.escape(name)}(?![\w-])", other, text)
    return told[:1].upper() + told[1:]


def standing(findings: Iterable[Finding]) -> Standing:
    """The standing that the worst finding gives."""
    levels = {f.level for f in findings}
    if Level.STOP in levels:
        return Standing.STOPPED
    return Standing.CAUTIONS if Level.CAUTION in levels else Standing.READY
