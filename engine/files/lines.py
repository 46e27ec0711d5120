"""A TOML text looked at line by line: which table each line is in, which key it gives. The parser tells neither."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator

from engine.frozen import dataclass

_WORD = r"[A-Za-z0-9_-]+"
_PLAIN = re.compile(rf"\s*(\[\[?)[ \t]*({_WORD}(?:[ \t]*\.[ \t]*{_WORD})*)[ \t]*\]\]?\s*(?:#.*)?")
_NAME = r"""(?:[A-Za-z0-9_-]++|"[^"]*+"|'[^']*+')"""
_KEY = re.compile(rf"\s*+({_NAME}(?:\s*+\.\s*+{_NAME})*+)\s*+=")
_LONGEST = 1000  # characters of a header with quotes in it


@dataclass(frozen=True)
class Line:
    """One line as it stands: the names in its header, or in its key; a header in double brackets begins an `entry`."""

    text: str
    header: tuple[str, ...] = ()
    entry: bool = False
    key: tuple[str, ...] = ()


def lines(text: str) -> Iterator[Line]:
    """The lines of a text, parted where TOML parts them: at line feeds alone."""
    inside: str | None = None
    for line in text.split("\n"):
        if inside:
            if inside in line:
                inside = None
            yield Line(line)
            continue
        if line.lstrip().startswith("["):
            yield _header(line)
        elif key := _KEY.match(line):
            rest = line[key.end() :]
            inside = next((quotes for quotes in ('"""', "'''") if rest.count(quotes) == 1), None)
            yield Line(line, key=_names(key[1]))
        else:
            yield Line(line)


def _header(line: str) -> Line:
    if plain := _PLAIN.fullmatch(line):
        return Line(line, _names(plain[2]), plain[1] == "[[")
    if len(line) > _LONGEST or not ('"' in line or "'" in line):
        return Line(line)
    try:
        inner: object = tomllib.loads(line.strip())
    except tomllib.TOMLDecodeError:
        return Line(line)
    names = []
    while isinstance(inner, dict) and inner:
        [(name, inner)] = inner.items()
        names.append(name)
    return Line(line, tuple(names), isinstance(inner, list))


def _names(dotted: str) -> tuple[str, ...]:
    return tuple(part.strip().strip("\"'") for part in dotted.split("."))
