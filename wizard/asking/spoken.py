"""Sentences of the engine in the words of the interview: questions by their name, never the keys of the file."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from functools import cache

from engine.site.unit import SETTINGS
from engine.tables.rules import told
from wizard.asking.pages import PAGES, Table

# Keys that have no question of their own, each with the one that answers them.
ELSEWHERE: Mapping[str, str] = {"storage.managed": "storage.chemistry"}
_ANSWERS: Mapping[str, Mapping[str, str]] = {"storage.managed": {"true": "managed", "false": "not managed"}}
_YES: Mapping[str, str] = {"true": "yes", "false": "no"}


def asked_as(key: str) -> str:
    """The key of the question that answers a key."""
    return ELSEWHERE.get(key, key)


def name_of(key: str) -> str:
    """What a key by position is called: its question's name, for one in a table with its row."""
    key = asked_as(key)
    found = re.match(r"^(.*?)\[(\d+)\](?:\.(.*))?$", key)
    if not found:
        bank = key.removeprefix("storage.wired.")
        return _names().get(key, f"Bank of {bank}" if bank != key else key)
    table = _tables()[found[1]]
    row = f"{table.one} {int(found[2]) + 1}"
    return f"{_names().get(f'{table.key}.{found[3]}', found[3])}, {row}" if found[3] else row[:1].upper() + row[1:]


@cache
def _tables() -> Mapping[str, Table]:
    return {page.table.key: page.table for page in PAGES if page.table}


@cache
def _names() -> Mapping[str, str]:
    """Every question by its key without places; tables, and what has a question for each unit or word, by theirs."""
    names = {question.key: question.name.strip() for page in PAGES for question in page.questions}
    for table in _tables().values():
        names |= {table.key: table.title} | {f"{table.key}.{question.key}": question.name for question in table.questions}
    names |= {f"unit.labels.{setting}": f"The maker's words: {setting.replace('_', ' ')}" for setting in SETTINGS}
    return names | {"storage.wired": "The bank as wired"} | {key: names[at] for key, at in ELSEWHERE.items()}


@cache
def _alone() -> Mapping[str, str]:
    """Keys by their last word, where only one ends so."""
    keys = [key for key in _names() if "." in key and not key.startswith("unit.labels.")]
    ends = Counter(key.rpartition(".")[2] for key in keys)
    return {end: key for key in keys if ends[end := key.rpartition(".")[2]] == 1}


@cache
def _pattern() -> re.Pattern[str]:
    """A key, whole or by its last word alone; with the value that it should have, where that stands behind it."""
    value = r'"[^"]*"|[\w.-]*\w'
    whole = "|".join(
        r"(?:\[[^\]]*\])?\.".join(map(re.escape, key.split("."))) for key in sorted(_names(), key=len, reverse=True) if "." in key
    )
    tables = "|".join(map(re.escape, _tables()))
    ends = "|".join(sorted(_alone(), key=len, reverse=True))
    return re.compile(
        rf"\[\[(?P<array>{tables})\]\]"
        rf"|(?<![\w.])(?P<key>{whole}|(?:{tables})(?=\[))(?:\.(?P<unit>L\d-\d+)|\[(?P<row>[^\]]*)\])?(?![\w\[])(?:\s=\s(?P<value>{value}))?"
        rf'|(?<![\w."])(?P<end>(?:{ends})(?=\s=\s)|(?=\w+_)(?:{ends}))(?![\w.])(?:\s=\s(?P<set>{value}))?'
    )


def spoken(text: str) -> str:
    """A sentence of a finding with the questions' names for keys of the file, and rules by number and name."""
    return _pattern().sub(_said, told(text))


def _said(found: re.Match[str]) -> str:
    if array := found["array"]:
        return f'"{_names()[array]}":'
    row = found["row"] or next(iter(re.findall(r"\[([^\]]*)\]", found["key"] or "")), "")
    key = _alone()[found["end"]] if found["end"] else re.sub(r"\[[^\]]*\]", "", found["key"])
    name = f"Bank of {found['unit']}" if found["unit"] else _names()[key]
    value = found["value"] or found["set"]
    words = _ANSWERS.get(key, _YES)
    return f'"{name}"' + (f" ({row})" if row else "") + (f" = {words.get(value, value)}" if value else "")
