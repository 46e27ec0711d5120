"""Text that came from a person, made harmless for every place it is shown or written."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence

# Marks that turn or hide text: they let a name lie about what stands beside it.
_TURNING = set("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff\u200b\u2060")


def clean(text: str, most: int = 120) -> str:
    """One line without control, direction or private characters, at most `most` characters."""
    if text.isascii() and text.isprintable():
        return _shortened(" ".join(text.split()), most)
    kept = []
    for char in unicodedata.normalize("NFC", text):
        if char in "\t\n\r":
            kept.append(" ")
        elif char in _TURNING or unicodedata.category(char) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"):
            kept.append("\N{REPLACEMENT CHARACTER}")
        else:
            kept.append(char)
    return _shortened(" ".join("".join(kept).split()), most)


def _shortened(line: str, most: int) -> str:
    return line if len(line) <= most else line[: most - 1] + "…"


def counted(count: int, one: str, many: str = "") -> str:
    """A count with its noun: "1 pole", "2 poles"; `many` where the plural is not made by an s."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def listed(names: Sequence[str], most: int = 6) -> str:
    """The first of several names, and how many more there are."""
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")
