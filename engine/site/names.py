"""What the questions are called: the title of each field of the answers, by its key; what a row of a table is called."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache, lru_cache

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from engine.site import Answers
from engine.site.kinds import part_of
from engine.site.unit import SETTINGS
from engine.tables import table

# Keys that have no question of their own, each with the one that answers them.
ELSEWHERE: Mapping[str, str] = {"storage.managed": "storage.chemistry"}
_ANSWERS: Mapping[str, Mapping[str, str]] = {"storage.managed": {"yes": "managed", "no": "not managed"}}
_APART = ("plan", "record", "labels")  # of the answers: no questions, or one for each of our own words
_WIRED, _WORDS, _TAKEN = "storage.wired.", "unit.labels.", "plan."


def asked_as(key: str) -> str:
    """The key of the question that answers a key."""
    return ELSEWHERE.get(key, key)


@lru_cache(maxsize=4096)  # asked for with every screen
def title_of(key: str) -> str:
    """What is asked under a key, or taken by a stage under one of the plan, whatever its row; a key that has no name is told as it is."""
    if key.startswith(_WIRED):
        return f"Bank of {key.removeprefix(_WIRED)}"
    if key.startswith(_WORDS):
        setting, _, value = key.removeprefix(_WORDS).partition(".")
        ours = setting.replace("_", " ")
        return f"The maker's words: {ours}" if not value else ours if value == "name" else f"{ours}: {value}"
    return titles().get(_bare(key)) or (_taken().get(key, key) if key.startswith(_TAKEN) else key)


def answer_of(key: str, value: str) -> str:
    """A value in the words of the question that answers its key."""
    return _ANSWERS.get(key, {}).get(value, value)


def how_of(key: str) -> str:
    """How to find the answer to a question out on site; "" where nothing is said."""
    return _hows().get(_bare(key), "")


def one_of(key: str) -> str:
    """What one entry of a table is called."""
    return tables()[key]


def name_of(key: str) -> str:
    """What a key by position is called: its question's name, for one in a table with its row."""
    found = re.match(r"^(.*?)\[(\d+)\](?:\.(.*))?$", key)
    if not found:
        return title_of(key)
    row = f"{one_of(found[1])} {int(found[2]) + 1}"
    return f"{title_of(key)}, {row}" if found[3] else row[:1].upper() + row[1:]


def _bare(key: str) -> str:
    """The key of the question, without rows."""
    return re.sub(r"\[[^\]]*\]", "", asked_as(key))


@cache
def titles() -> Mapping[str, str]:
    """Every question and every table by its key without places."""
    return {key: field.title for key, field in _walk(Answers) if field.title}


@cache
def tables() -> Mapping[str, str]:
    """What one entry is called, by the key of its table."""
    return {key: one for key, field in _walk(Answers) if (one := _more(field, "x-one"))}


@cache
def _hows() -> Mapping[str, str]:
    return {key: how for key, field in _walk(Answers) if (how := _more(field, "x-how"))}


def _more(field: FieldInfo, what: str) -> str:
    extra = field.json_schema_extra
    return str(extra.get(what, "")) if isinstance(extra, dict) else ""


def _walk(model: type[BaseModel], prefix: str = "") -> Iterator[tuple[str, FieldInfo]]:
    """Every field by its key without places."""
    for name, field in model.model_fields.items():
        if name in _APART:
            continue
        key = f"{prefix}{name}"
        yield key, field
        if part := part_of(field.annotation):
            yield from _walk(part, f"{key}.")


@cache
def _taken() -> Mapping[str, str]:
    """What a stage takes by itself, by its key."""
    return {str(row["key"]): str(row["name"]) for row in table("taken").rows if row["name"]}


def words() -> Mapping[str, str]:
    """Where the maker's words for a setting are asked: not one question, but one for each word."""
    return {f"{_WORDS}{setting}": title_of(f"{_WORDS}{setting}") for setting in SETTINGS}
