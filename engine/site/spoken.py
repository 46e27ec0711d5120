"""Sentences of the engine in the words of the interview: questions by their name, never the keys of the file."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from functools import cache

from engine.site.names import ELSEWHERE, answer_of, tables, title_of, titles, words
from engine.tables.rules import told

_YES: Mapping[str, str] = {"true": "yes", "false": "no"}


def spoken(text: str) -> str:
    """A sentence of a finding with the questions' names for keys of the file, and rules by number and name."""
    return _pattern().sub(_said, told(text))


def keys_in(text: str) -> tuple[str, ...]:
    """The keys of the file that a sentence speaks of, each once; in a table without the row."""
    found = (_key(hit) for hit in _pattern().finditer(text) if not hit["array"])
    return tuple(dict.fromkeys(re.sub(rf"^({'|'.join(map(re.escape, tables()))})(?=\.|$)", r"\1[]", key) for key in found))


def _key(found: re.Match[str]) -> str:
    return _alone()[found["end"]] if found["end"] else re.sub(r"\[[^\]]*\]", "", found["key"])


@cache
def _keys() -> tuple[str, ...]:
    """Every key, without places, that a sentence may speak of."""
    return tuple({**titles(), **words(), **ELSEWHERE})


@cache
def _alone() -> Mapping[str, str]:
    """Keys by their last word, where only one ends so."""
    keys = [key for key in _keys() if "." in key and key not in words()]
    ends = Counter(key.rpartition(".")[2] for key in keys)
    return {end: key for key in keys if ends[end := key.rpartition(".")[2]] == 1}


@cache
def _pattern() -> re.Pattern[str]:
    """A key, whole or by its last word alone; with the value that it should have, where that stands behind it."""
    value = r'"[^"]*"|[\w.-]*\w'
    whole = "|".join(
        r"(?:\[[^\]]*\])?\.".join(map(re.escape, key.split("."))) for key in sorted(_keys(), key=len, reverse=True) if "." in key
    )
    arrays = "|".join(map(re.escape, tables()))
    ends = "|".join(sorted(_alone(), key=len, reverse=True))
    return re.compile(
        rf"\[\[(?P<array>{arrays})\]\]"
        rf"|(?<![\w.])(?P<key>{whole}|(?:{arrays})(?=\[))(?:\.(?P<unit>L\d-\d+)|\[(?P<row>[^\]]*)\])?(?![\w\[])(?:\s=\s(?P<value>{value}))?"
        rf'|(?<![\w."])(?P<end>(?:{ends})(?=\s=\s)|(?=\w+_)(?:{ends}))(?![\w.])(?:\s=\s(?P<set>{value}))?'
    )


def _said(found: re.Match[str]) -> str:
    if array := found["array"]:
        return f'"{title_of(array)}":'
    row = found["row"] or next(iter(re.findall(r"\[([^\]]*)\]", found["key"] or "")), "")
    key = _key(found)
    name = title_of(f"{key}.{found['unit']}" if found["unit"] else key)
    value = found["value"] or found["set"]
    return f'"{name}"' + (f" ({row})" if row else "") + (f" = {answer_of(key, _YES.get(value, value))}" if value else "")
