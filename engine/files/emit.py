"""Writing the file's text: the same document gives the same bytes on any machine.

tomli-w writes the values; the tables are laid out here, in the order of the models, arrays of tables
throughout. No raw control or direction character is ever written: it is escaped, or stands in no value.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import tomli_w
from pydantic import BaseModel

from engine.files.lines import lines
from engine.plan import Plan, plain
from engine.site import Answers
from engine.site.kinds import part_of

Document = Mapping[str, Any]

BYTE_ORDER = "\N{ZERO WIDTH NO-BREAK SPACE}"


def emit(document: Document) -> str:
    """A whole document in canonical layout."""
    return _safe("\n".join(_table("", _ordered(document))).strip("\n") + "\n")


def plan_document(plan: Plan) -> dict[str, Any]:
    """The plan as plain data, what does not apply left out."""
    told: dict[str, Any] = plain(plan)
    return told


def with_plan(text: str, document: Document, plan: Plan) -> str:
    """The file's text with its plan replaced; what a person typed stays as it was: comments, line ends, a byte-order mark.

    Where that cannot be done safely (a plan written in an unusual form) the whole is laid out anew.
    """
    planned = emit({"plan": plan_document(plan)})
    mark, end = _mark(text), _line_end(text)
    answers, record = (_safe(part).strip("\r\n") for part in _split(text.removeprefix(mark)))
    kept = {key: value for key, value in document.items() if key != "plan"}
    try:
        # The plan is ours; what must be proved is that taking the old one out has left the rest whole.
        whole = tomllib.loads(f"{answers}\n{record}") == kept
    except tomllib.TOMLDecodeError:
        whole = False
    if not whole:
        return mark + emit(kept | {"plan": plan_document(plan)}).replace("\n", end)
    return mark + (end * 2).join(part for part in (answers, planned.rstrip("\n").replace("\n", end), record) if part) + end


def emit_like(text: str, document: Document) -> str:
    """A whole document in canonical layout, with the line ends and the byte-order mark that its text had."""
    return _mark(text) + emit(document).replace("\n", _line_end(text))


def _mark(text: str) -> str:
    return BYTE_ORDER if text.startswith(BYTE_ORDER) else ""


def _line_end(text: str) -> str:
    """That of most lines."""
    return "\r\n" if text.count("\r\n") * 2 > text.count("\n") else "\n"


def _split(text: str) -> tuple[str, str]:
    """A text without its plan: what stands before it, and what after it."""
    before: list[str] = []
    after: list[str] = []
    inside = seen = False
    for line in lines(text):
        if line.header:
            inside = line.header[0] == "plan"
            seen = seen or inside
        if not inside:
            (after if seen else before).append(line.text)
    return "\n".join(before), "\n".join(after)


def _ordered(document: Document, model: type[BaseModel] | None = Answers) -> dict[str, Any]:
    """The document in the order of the models, all the way down, so that the order of typing does not matter."""
    fields = {field.alias or name: field for name, field in model.model_fields.items()} if model else {}
    known = list(fields)
    ranks = {key: (known.index(key), "") if key in fields else (len(known), key) for key in document}
    ordered: dict[str, Any] = {}
    for key in sorted(document, key=lambda k: ranks[k]):
        value, inner = document[key], part_of(fields[key].annotation) if key in fields else None
        if key == "plan":  # it is ours, and in order
            ordered[key] = value
        elif isinstance(value, Mapping):
            ordered[key] = _ordered(value, inner)
        elif isinstance(value, list):
            ordered[key] = [_ordered(item, inner) if isinstance(item, Mapping) else item for item in value]
        else:
            ordered[key] = value
    return ordered


def _table(path: str, table: Document) -> Iterator[str]:
    """The lines of one table: plain values first, then the tables within."""
    plain = {k: v for k, v in table.items() if not _is_table(v)}
    if plain:
        yield tomli_w.dumps(plain, multiline_strings=False).rstrip("\n")
    for key, value in table.items():
        if not _is_table(value):
            continue
        name = f"{path}.{_key(key)}" if path else _key(key)
        if isinstance(value, Mapping):
            if any(not _is_table(inner) for inner in value.values()) or not value:
                yield f"\n[{name}]"
            yield from _table(name, value)
        else:
            for item in value:
                yield f"\n[[{name}]]"
                yield from _table(name, item)


def _is_table(value: object) -> bool:
    return isinstance(value, Mapping) or (
        isinstance(value, Sequence) and not isinstance(value, str) and bool(value) and all(isinstance(i, Mapping) for i in value)
    )


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else tomli_w.dumps({key: 0}).rsplit(" = ", 1)[0]


def _safe(text: str) -> str:
    """Every control and direction character as an escape, but what ends a line."""
    return re.sub(r"[^\n\t\r -~]", lambda found: _escape(found[0]) if _hidden(found[0]) else found[0], text)


def _hidden(char: str) -> bool:
    return unicodedata.category(char) in ("Cc", "Cf", "Cs", "Co", "Zl", "Zp")


def _escape(char: str) -> str:
    return f"\\u{ord(char):04x}" if ord(char) <= 0xFFFF else f"\\U{ord(char):08x}"
