"""A line of text while it is typed: what stands there and where the caret is."""

from __future__ import annotations

from engine.frozen import dataclass
from engine.text import clean

LONGEST = 200  # characters; a name that is longer says nothing on a sheet


@dataclass(frozen=True)
class Typing:
    """What is typed at the moment; the caret stands before the character of that number."""

    text: str = ""
    caret: int = 0


def begun(text: str) -> Typing:
    """A text that stands there already, the caret behind it."""
    return Typing(text, len(text))


def typed(typing: Typing, text: str, most: int = LONGEST) -> Typing:
    """More characters at the caret; those that no answer may have are left out, and what is over the most is cut."""
    room = most - len(typing.text)
    more = "".join(char if char == " " else clean(char) for char in text)[: max(0, room)]
    at = typing.caret
    return Typing(typing.text[:at] + more + typing.text[at:], at + len(more))


def edited(typing: Typing, key: str) -> Typing | None:
    """The line after a key that edits it; None where the key does not."""
    text, at = typing.text, typing.caret
    match key:
        case "left":
            return Typing(text, max(0, at - 1))
        case "right":
            return Typing(text, min(len(text), at + 1))
        case "home" | "ctrl+a":
            return Typing(text, 0)
        case "end" | "ctrl+e":
            return Typing(text, len(text))
        case "backspace":
            return Typing(text[: max(0, at - 1)] + text[at:], max(0, at - 1))
        case "delete":
            return Typing(text[:at] + text[at + 1 :], at)
        case "ctrl+u":
            return Typing(text[at:], 0)
        case "ctrl+k":
            return Typing(text[:at], at)
        case "ctrl+w":
            kept = text[:at].rstrip().rpartition(" ")
            start = len(kept[0] + kept[1])
            return Typing(text[:start] + text[at:], start)
    return None
