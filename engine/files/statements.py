"""A TOML text taken apart into statements: what each says, and where. Put together again they are the text, byte for byte.

The parser of the standard library tells values alone. What is taken apart here has passed it: nothing is checked again, and a text that does
not fall into statements raises `NotTaken`.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from typing import Literal

from engine.frozen import dataclass

Path = tuple[str | int, ...]

_NAME = r"""(?:[A-Za-z0-9_-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')"""
_NAMES = rf"{_NAME}(?:[ \t]*+\.[ \t]*+{_NAME})*+"
_END = r"[ \t]*+(?:#[^\r\n]*+)?(?:\r?\n|\Z)"
_BETWEEN = re.compile(_END)
_HEADER = re.compile(rf"[ \t]*+(\[\[?+)[ \t]*+({_NAMES})[ \t]*+\]\]?+{_END}")
_KEY = re.compile(rf"[ \t]*+({_NAMES})[ \t]*+=[ \t]*+")
_NAMED = re.compile(_NAMES)
_TOKEN = re.compile(
    r'''
    (?P<text> """(?:[^"\\]|\\.|"(?!""))*+"{3,5}+ | \'\'\'(?:[^']|'(?!''))*+'{3,5}+ | "(?:[^"\\\n]|\\.)*+" | '[^'\n]*+' )
    | (?P<remark> \#[^\r\n]*+ ) | (?P<open> [\[{] ) | (?P<close> [\]}] ) | (?P<comma> , ) | (?P<line> \r?\n ) | (?P<space> [ \t]++ )
    | (?P<bare> [^\s"'#\[\]{},]++ )
    ''',
    re.DOTALL | re.VERBOSE,
)


class NotTaken(ValueError):
    """The text does not fall into statements."""


@dataclass(frozen=True)
class Statement:
    """Whole lines: a `table`'s header, an `entry`'s (in double brackets), a `key` with its value, or what stands `between`: a remark, an empty line.

    The path is absolute, entries of arrays by place; the value of a key is `text[start:end]`.
    """

    text: str
    kind: Literal["table", "entry", "key", "between"] = "between"
    path: Path = ()
    start: int = 0
    end: int = 0

    @property
    def value(self) -> str:
        """The value of a key as it is spelled."""
        return self.text[self.start : self.end]

    @property
    def empty(self) -> bool:
        """Whether it is an empty line."""
        return not self.text.strip()


@dataclass(frozen=True)
class Item:
    """One item of a list or of a table in braces: the names of its key, what is spelled, the remarks on the lines above and behind it."""

    names: tuple[str, ...]
    start: int
    value: Value
    above: tuple[str, ...]
    behind: str


@dataclass(frozen=True)
class Value:
    """A value as it is spelled, `text[start:end]`, with the items in it, the remark behind its bracket and those after its last item."""

    start: int
    end: int
    items: tuple[Item, ...] = ()
    opening: str = ""
    below: tuple[str, ...] = ()


def statements(text: str) -> Iterator[Statement]:
    """The statements of a text; raises `NotTaken`."""
    entries: dict[Path, int] = {}
    table: Path = ()
    at = 0
    while at < len(text):
        if found := _BETWEEN.match(text, at):
            yield Statement(found[0])
        elif found := _HEADER.match(text, at):
            *outer, last = _names(found[2])
            entry = found[1] == "[["
            table = (*_placed(outer, entries), last)
            if entry:
                entries[table] = entries.get(table, -1) + 1
            if table in entries:
                table += (entries[table],)
            yield Statement(found[0], "entry" if entry else "table", table)
        elif key := _KEY.match(text, at):
            end, found = _line_of_value(text, key.end())
            yield Statement(text[at : found.end()], "key", table + _names(key[1]), key.end() - at, end - at)
        else:
            raise NotTaken
        at = found.end()


def remarks(text: str) -> list[str]:
    """Every remark of a text, wherever it stands, with its `#` and without spaces behind."""
    return [found[0].rstrip() for found in _TOKEN.finditer(text) if found.lastgroup == "remark"]


def value_of(text: str) -> Value:
    """The parts of a value as it is spelled; raises `NotTaken`."""
    return _value(text, 0)


def _placed(names: Sequence[str], entries: dict[Path, int]) -> Path:
    path: Path = ()
    for name in names:
        path += (name,)
        if path in entries:
            path += (entries[path],)
    return path


def _names(dotted: str) -> tuple[str, ...]:
    if '"' not in dotted and "'" not in dotted:
        return tuple(name.strip() for name in dotted.split("."))
    names = []
    inner: object = tomllib.loads(f"{dotted} = 0")
    while isinstance(inner, dict):
        [(name, inner)] = inner.items()
        names.append(name)
    return tuple(names)


def _line_of_value(text: str, at: int) -> tuple[int, re.Match[str]]:
    """Where a value ends, and the end of its last line."""
    depth = 0
    end = at
    while at < len(text):
        token = _TOKEN.match(text, at)
        if not token:
            raise NotTaken
        if not depth and token.lastgroup in ("remark", "line"):
            break
        depth += {"open": 1, "close": -1}.get(token.lastgroup or "", 0)
        at = token.end()
        if token.lastgroup not in ("space", "line", "remark"):
            end = at
    if depth or not (line := _BETWEEN.match(text, end)):
        raise NotTaken
    return end, line


def _value(text: str, at: int) -> Value:
    token = _TOKEN.match(text, at)
    if not token or token.lastgroup not in ("open", "text", "bare"):
        raise NotTaken
    if token.lastgroup == "text":
        return Value(at, token.end())
    if token.lastgroup == "bare":
        end = token.end()
        # A date and its time may be parted by a space.
        while (space := _TOKEN.match(text, end)) and space.lastgroup == "space":
            if not (more := _TOKEN.match(text, space.end())) or more.lastgroup != "bare":
                break
            end = more.end()
        return Value(at, end)
    return _listed(text, at, named=token[0] == "{")


def _listed(text: str, at: int, *, named: bool) -> Value:
    items: list[Item] = []
    start, at = at, at + 1
    above: list[str] = []
    opening = ""
    lines = 0
    same_line = False  # whether an item ends on the line that is looked at
    while token := _TOKEN.match(text, at):
        if token.lastgroup == "close":
            return Value(start, token.end(), tuple(items), opening, tuple(above))
        if token.lastgroup == "remark":
            if same_line:
                last = items[-1]
                items[-1] = Item(last.names, last.start, last.value, last.above, token[0].rstrip())
            elif lines or items:
                above.append(token[0].rstrip())
            else:
                opening = token[0].rstrip()
        elif token.lastgroup == "line":
            same_line = False
            lines += 1
        elif token.lastgroup not in ("comma", "space"):
            names: tuple[str, ...] = ()
            begin = at
            if named:
                if not (key := _KEY.match(text, at)):
                    raise NotTaken
                names, at = _names(key[1]), key.end()
            value = _value(text, at)
            items.append(Item(names, begin, value, tuple(above), ""))
            above, same_line, at = [], True, value.end
            continue
        at = token.end()
    raise NotTaken
