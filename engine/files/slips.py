"""Slips of TOML itself, said in the words of somebody who types a site file, not of a parser."""

from __future__ import annotations

import re
import tomllib

from engine.files.problems import Problem
from engine.tables.bounds import most

# How what the parser says begins, and what the person who typed it is told.
_SAID = (
    ("Cannot overwrite a value", "this key, or this table, stands twice; keep one"),
    ("Duplicate inline table key", "a key stands twice between these braces; keep one"),
    ("Cannot declare", "this table stands twice; put its keys under one header, or use double brackets for one more entry"),
    ("Cannot redefine namespace", "this table stands twice; put its keys under one header"),
    ("Cannot mutate immutable namespace", "something is added to what was given whole, in brackets or braces; write it in one place"),
    ("Expected '=' after a key", 'a key needs = and its value behind it, such as width = "4 m"'),
    ("Invalid initial character for a key part", "a key is made of letters, digits, _ and -; anything else needs quotes around it"),
    ("Expected ']' at the end of a table", "the header lacks its closing bracket ]"),
    ("Expected ']]' at the end of an array", "the header lacks its closing brackets ]]"),
    ("Unclosed array", "a list is not closed: ] or a comma is missing"),
    ("Unclosed inline table", "a table in braces is not closed: } or a comma is missing"),
    ("Unterminated string", "a text is not closed: its quote is missing"),
    ("Expected", "a text is not closed: its quotes are missing"),
    ("Unescaped '\\'", "a \\ within double quotes begins an escape; write it twice, or use single quotes"),
    ("Invalid hex value", "an escape in this text lacks some of its digits"),
    ("Escaped character is not", "an escape in this text stands for no character"),
    ("Illegal character", "a control character, or the end of the line, stands where none may; is a quote missing?"),
    ("Found invalid character", "a control character, or the end of the line, stands where none may; is a quote missing?"),
    ("Invalid date or datetime", "there is no such date or time; wanted one such as 2026-01-31T10:00:00Z"),
    (
        "Invalid value",
        'this value does not read; text, and a number with a unit, need quotes, such as "4 m"; true and false are in small letters',
    ),
    ("Invalid statement", "this is no header, no key and no remark; a key begins with a letter, a remark with #"),
)
_BEHIND = "something stands behind the value; text, a unit and a decimal comma need quotes, a remark begins with #"
_AT = re.compile(r"\(at (?:line (\d+), column \d+|end of document)\)")
# What is in quotes, and remarks.
_QUOTED = re.compile(r""""(?:[^"\\]|\\.)*+"|'[^']*+'|#.*""")
_POINT = re.compile(r"[ \t]*+\.[ \t]*+")


def slip_of(problem: tomllib.TOMLDecodeError, text: str) -> Problem:
    """What is wrong, and in which line."""
    said = str(problem)
    at = _AT.search(said)
    if said.startswith("Expected newline or end of document"):
        told = _BEHIND
    else:
        told = next((ours for theirs, ours in _SAID if said.startswith(theirs)), "this does not read")
    return Problem(int(at[1]) if at and at[1] else text.rstrip().count("\n") + 1, "", f"not valid TOML: {told}")


def too_deep(text: str) -> Problem | None:
    """The first key of more names than any has: one of some thousand names takes the parser seconds, a longer one days."""
    deepest = most("names within a key")
    key = re.compile(rf"(?<![\w-])(?:[\w-]++\.){{{deepest}}}")
    for number, line in enumerate(text.split("\n"), 1):
        if line.count(".") >= deepest and key.search(_POINT.sub(".", _QUOTED.sub("s", line))):
            return Problem(number, "", f"not valid TOML: a key of more than {deepest} names with points between; none has so many")
    return None


def long_number(text: str) -> Problem:
    """The first number that is too long to be one."""
    digits = most("digits of a number")
    number = re.compile(rf"(?<![\w.])[+-]?(?:0[xob])?[0-9a-fA-F_]{{{digits}}}")
    line = next((at for at, line in enumerate(text.split("\n"), 1) if number.search(line)), None)
    return Problem(line, "", f"not valid TOML: a number of more than {digits} digits; no answer has so many")
