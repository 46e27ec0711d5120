"""Text that came from a person, made harmless for every place it is shown or written."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import lru_cache

# Controls, directions, private and unassigned characters: they let a name lie about what stands beside it.
_UNSAFE = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
# Letters, marks and signs that nobody sees. First what Unicode calls default-ignorable beyond those categories: a joiner,
# fillers, vowels, variation selectors, tags (DerivedCoreProperties.txt of the Unicode Character Database, 14.0); then signs
# that are drawn as nothing: the empty braille cell, the stand-in for an object, a filler, a note without head.
_UNSEEN = frozenset(
    map(
        chr,
        (
            *(0x034F, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x3164, 0xFFA0),
            *range(0x180B, 0x1810),
            *range(0xFE00, 0xFE10),
            *range(0xE0000, 0xE1000),
            *(0x2800, 0xFFFC, 0x16FE4, 0x1D159),
        ),
    )
)


@lru_cache(maxsize=4096)  # a plan says the same words over and over
def clean(text: str, most: int = 120) -> str:
    """One line without control, direction, private or unseen characters, at most `most` characters."""
    if text.isascii() and text.isprintable():
        return _shortened(" ".join(text.split()), most)
    kept = []
    for char in unicodedata.normalize("NFC", text):
        if char in "\t\n\r":
            kept.append(" ")
        elif char in _UNSEEN or unicodedata.category(char) in _UNSAFE:
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


def listed(names: Sequence[str], most: int = 6) -> str:
    """The first of several names, and how many more there are."""
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")
