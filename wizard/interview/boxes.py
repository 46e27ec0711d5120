"""Questions that stand before the page: choose one, type a file's name, read something. Escape leaves everything as it was."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from engine.frozen import dataclass
from wizard.interview.typing import Typing, edited, typed

LONGEST = 4096  # characters of a file's name: what no system has is refused, never cut

Purpose = Literal["answer", "page", "row", "cure", "name", "over", "leave", "draft", "read"]


@dataclass(frozen=True)
class Choose:
    """One of several: what each is called and how it is told; `at` is the one that Enter takes, `about` the key that it answers."""

    then: Purpose
    title: str
    names: tuple[str, ...]
    lines: tuple[str, ...]
    at: int = 0
    about: str = ""
    sought: str = ""


@dataclass(frozen=True)
class Name:
    """A line of text is wanted."""

    then: Purpose
    title: str
    typing: Typing


@dataclass(frozen=True)
class Tell:
    """Something to read, from the line `top` on."""

    title: str
    paragraphs: tuple[str, ...]
    top: int = 0
    then: Purpose = "read"


Box = Choose | Name | Tell


@dataclass(frozen=True)
class Taken:
    """What was chosen or typed."""

    then: Purpose
    text: str
    about: str = ""


def pressed(box: Box, key: str, char: str, page: int) -> Box | Taken | None:
    """The box after a key; None where it is closed. `page` is how many lines of it are seen at once."""
    if key in ("escape", "f10", "ctrl+q", "ctrl+c"):
        return None
    match box:
        case Choose():
            return _choosing(box, key, char, page)
        case Name():
            if key == "enter":
                return Taken(box.then, box.typing.text.strip()) if box.typing.text.strip() else box
            line = typed(box.typing, char, LONGEST) if char else edited(box.typing, key)
            return replace(box, typing=line) if line else box
        case Tell():
            if key in ("enter", "f1"):
                return None
            return replace(box, top=max(0, box.top + _step(key, page)))


def _choosing(box: Choose, key: str, char: str, page: int) -> Choose | Taken:
    if key == "enter":
        return Taken(box.then, box.names[box.at], box.about)
    if char:
        return _sought(box, box.sought + char) or _sought(box, char) or box
    if key == "backspace":
        return _sought(box, box.sought[:-1]) or replace(box, sought="")
    last = len(box.names) - 1
    if key in ("home", "end"):
        return replace(box, at=0 if key == "home" else last, sought="")
    step = _step(key, page)
    # One step goes round, a screen stops at the ends.
    at = (box.at + step) % (last + 1) if abs(step) == 1 else min(max(box.at + step, 0), last)
    return replace(box, at=at, sought="") if step else box


def _sought(box: Choose, sought: str) -> Choose | None:
    """At the first that begins with what is sought, or has a word that does."""
    if not sought:
        return None
    low = sought.lower()
    told = [f"{name} {line}".lower() for name, line in zip(box.names, box.lines, strict=True)]
    begins = [at for at, line in enumerate(told) if line.startswith(low) or box.lines[at].lower().startswith(low)]
    within = [at for at, line in enumerate(told) if f" {low}" in line]
    found = (begins + within)[:1]
    return replace(box, at=found[0], sought=sought) if found else None


def _step(key: str, page: int) -> int:
    return {"up": -1, "down": 1, "tab": 1, "shift+tab": -1, "pageup": -page, "pagedown": page}.get(key, 0)


def choosing(then: Purpose, title: str, choices: Sequence[tuple[str, str]], at: str = "", about: str = "") -> Choose:
    """A box of choices, at the one of that name."""
    names = tuple(name for name, _ in choices)
    return Choose(then, title, names, tuple(line for _, line in choices), names.index(at) if at in names else 0, about)
