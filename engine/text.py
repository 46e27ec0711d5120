"""Text that came from a person, made harmless for every place it is shown or written."""

from __future__ import annotations

import unicodedata

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


def quoted(text: str, most: int = 60) -> str:
    """A text in quotation marks, harmless; one that is too long is cut within the marks: 'like th…'."""
    told = clean(repr(text), max(len(text) * 10 + 2, most))  # an escaped character takes ten at most
    return told if len(told) <= most else f"{told[: most - 2]}…{told[0]}"


def counted(count: int, one: str, many: str = "") -> str:
    """A count with its noun: "1 pole", "2 poles"; `many` where the plural is not made by an s."""
    return f"{count} {one if count == 1 else many or one + 's'}"
