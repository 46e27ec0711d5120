"""Writing the file's text: the same document gives the same bytes on any machine.

tomli-w writes the values; the tables are laid out here, in the order of the models, arrays of tables
throughout. No raw control or direction character is ever written: it is escaped, or stands in no value.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import tomli_w
from pydantic import BaseModel

from engine.files.statements import Path, remarks, statements
from engine.plan import Plan, plain
from engine.site import Answers
from engine.site.kinds import part_of

Document = Mapping[str, Any]

BYTE_ORDER = "\N{ZERO WIDTH NO-BREAK SPACE}"
_LONG = 10_000  # bits
_ANEW = "# The remarks of this file, from before it was laid out anew:"


def emit(document: Document) -> str:
    """A whole document in canonical layout."""
    return _safe("\n".join(_table("", ordered(document))).strip("\n") + "\n")


def plan_document(plan: Plan) -> dict[str, Any]:
    """The plan as plain data, what does not apply left out."""
    told: dict[str, Any] = plain(plan)
    return told


def with_plan(text: str, document: Document, plan: Plan) -> str:
    """The file's text with its plan replaced; what a person typed stays as it was: remarks, those in the old plan too, line ends, a byte-order mark.

    Where that cannot be done safely the whole is laid out anew, below its remarks.
    """
    kept = {key: value for key, value in document.items() if key != "plan"}
    planned = emit({"plan": plan_document(plan)})
    begin, end = mark(text), line_end(text)
    try:
        before, after = (_safe(part).strip("\r\n") for part in _split(text.removeprefix(begin), end))
        # The plan is ours; what must be proved is that taking the old one out has left the rest whole.
        whole = tomllib.loads(f"{before}\n{after}".replace("\r\n", "\n")) == kept
    except ValueError:
        whole = False
    if not whole:
        return laid_out_anew(text, kept | {"plan": plan_document(plan)}, remarks(text))
    return begin + (end * 2).join(part for part in (before, planned.rstrip("\n").replace("\n", end), after) if part) + end


def laid_out_anew(text: str, document: Document, kept: Iterable[str]) -> str:
    """A document in canonical layout, with the line ends and the byte-order mark of a text, below the remarks kept of it."""
    told = [remark for remark in kept if remark != _ANEW]
    above = "".join(f"{line}\n" for line in (_ANEW, *told, "")) if told else ""
    return mark(text) + (above + emit(document)).replace("\n", line_end(text))


def mark(text: str) -> str:
    """The byte-order mark of a text, if it has one."""
    return BYTE_ORDER if text.startswith(BYTE_ORDER) else ""


def line_end(text: str) -> str:
    """That of most lines."""
    return "\r\n" if text.count("\r\n") * 2 > text.count("\n") else "\n"


def _split(text: str, end: str) -> tuple[str, str]:
    """A text without its plan: what stands before it, and what after it, the remarks in it included."""
    before: list[str] = []
    after: list[str] = []
    inside = seen = False
    waiting: list[str] = []  # remarks and empty lines within the plan, of which the last may belong to what follows
    for statement in statements(text):
        told = statement.text if statement.text.endswith("\n") else statement.text + end
        if statement.kind == "between" and inside:
            waiting.append(told)
            continue
        ours = statement.path[:1] == ("plan",)
        if not ours:
            after += waiting
        elif statement.kind != "between":
            after += [line for line in waiting if line.strip()]
        waiting = []
        if statement.kind in ("table", "entry"):
            inside = ours
            seen = seen or inside
        if ours:
            after += [f"# {line.lstrip()}{end}" for line in told.splitlines() if remarks(statement.text)]
        else:
            (after if seen else before).append(told)
    return "".join(before), "".join(after + waiting)


def ordered(document: Document, model: type[BaseModel] | None = Answers) -> dict[str, Any]:
    """The document in the order of the models, all the way down, so that the order of typing does not matter."""
    fields = {field.alias or name: field for name, field in model.model_fields.items()} if model else {}
    known = list(fields)
    ranks = {key: (known.index(key), "") if key in fields else (len(known), key) for key in document}
    told: dict[str, Any] = {}
    for key in sorted(document, key=lambda k: ranks[k]):
        value, inner = document[key], part_of(fields[key].annotation) if key in fields else None
        if key == "plan":  # it is ours, and in order
            told[key] = value
        elif isinstance(value, Mapping):
            told[key] = ordered(value, inner)
        elif isinstance(value, list):
            told[key] = [ordered(item, inner) if isinstance(item, Mapping) else item for item in value]
        else:
            told[key] = value
    return told


def _table(path: str, table: Document) -> Iterator[str]:
    """The lines of one table: plain values first, then the tables within."""
    plain = {k: v for k, v in table.items() if not is_table(v)}
    if plain and all(map(_is_simple, plain.items())):
        yield "\n".join(f'{key} = "{value}"' if isinstance(value, str) else f"{key} = {_number(value)}" for key, value in plain.items())
    elif plain:
        yield tomli_w.dumps(plain, multiline_strings=False).rstrip("\n")
    for key, value in table.items():
        if not is_table(value):
            continue
        name = f"{path}.{key_of(key)}" if path else key_of(key)
        if isinstance(value, Mapping):
            if any(not is_table(inner) for inner in value.values()) or not value:
                yield f"\n[{name}]"
            yield from _table(name, value)
        else:
            for item in value:
                yield f"\n[[{name}]]"
                yield from _table(name, item)


_BARE = re.compile(r"[A-Za-z0-9_-]+")
_PLAIN = re.compile(r"[ !#-\[\]-~]*")


def _is_simple(entry: tuple[str, object]) -> bool:
    """Whether an entry is a bare key with a whole number, a yes or no, or a text without anything to escape: most of a plan, and the library is slow at it."""
    key, value = entry
    return bool(_BARE.fullmatch(key)) and (isinstance(value, int) or (type(value) is str and bool(_PLAIN.fullmatch(value))))


def _number(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def headers(document: Document, path: Path = ()) -> Iterator[Path]:
    """The paths of all tables and entries of a document, in the order of their headers."""
    for key, value in document.items():
        if isinstance(value, Mapping):
            yield (*path, key)
            yield from headers(value, (*path, key))
        elif is_table(value):
            for place, entry in enumerate(value):
                yield (*path, key, place)
                yield from headers(entry, (*path, key, place))


def spelled(value: object) -> str:
    """A value as the canonical layout spells it behind its key."""
    if isinstance(value, int) and value.bit_length() > _LONG:  # Python shows none of some thousand digits
        return hex(value)
    return _safe(tomli_w.dumps({"value": value}, multiline_strings=False).removeprefix("value = ").rstrip("\n"))


def inline(value: object) -> str:
    """A value on one line, tables in braces."""
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key_of(key)} = {inline(inner)}' for key, inner in value.items())} }}" if value else "{}"
    if isinstance(value, list):
        return f"[{', '.join(map(inline, value))}]"
    return spelled(value)


def is_table(value: object) -> bool:
    """Whether the canonical layout gives a value headers: a table, or an array of tables."""
    return isinstance(value, Mapping) or (
        isinstance(value, Sequence) and not isinstance(value, str) and bool(value) and all(isinstance(i, Mapping) for i in value)
    )


def key_of(key: str) -> str:
    """A key as TOML writes it."""
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else tomli_w.dumps({key: 0}).rsplit(" = ", 1)[0]


def _safe(text: str) -> str:
    """Every control and direction character as an escape, but what ends a line."""
    return re.sub(r"[^\n\t\r -~]", lambda found: _escape(found[0]) if _hidden(found[0]) else found[0], text)


def _hidden(char: str) -> bool:
    return unicodedata.category(char) in ("Cc", "Cf", "Cs", "Co", "Zl", "Zp")


def _escape(char: str) -> str:
    return f"\\u{ord(char):04x}" if ord(char) <= 0xFFFF else f"\\U{ord(char):08x}"
