"""Records, one a line: a checksum, a blank, JSON. What is torn or spoilt, and all behind it, is not read.

A checksum goes on from the one of the line before: a line that is missing, doubled or somebody else's ends the reading too.
"""

from __future__ import annotations

import datetime as dt
import json
import tomllib
import zlib
from collections.abc import Iterator
from typing import Any

Record = dict[str, Any]

_DATE = "a date of TOML"  # JSON has none


def text_of(value: Any) -> str:
    """A value of a document in one line of ASCII. Two values have the same text only where a file would say the same in the same order."""
    return json.dumps(value, default=_dated, separators=(",", ":"))


def line_of(text: str, after: int) -> tuple[bytes, int]:
    """The line of a record, and its checksum; `after` is the checksum of the line before, 0 for the first."""
    data = text.encode()
    checksum = zlib.crc32(data, after)
    return b"%08x %s\n" % (checksum, data), checksum


def records(data: bytes) -> Iterator[Record]:
    """The records, up to the first line that is not as it was written."""
    checksum = 0
    for line in data.splitlines(keepends=True):
        told, _, text = line[:-1].partition(b" ")
        checksum = zlib.crc32(text, checksum)
        if not line.endswith(b"\n") or told != b"%08x" % checksum:
            return
        try:
            record = json.loads(text, object_hook=_undated)
        except (ValueError, RecursionError):
            return
        if not isinstance(record, dict):
            return
        yield record


def _dated(value: Any) -> Record:
    if isinstance(value, dt.date | dt.time):
        return {_DATE: value.isoformat()}
    raise TypeError(type(value).__name__)


def _undated(table: Record) -> Any:
    return tomllib.loads(f"it = {table[_DATE]}")["it"] if table.keys() == {_DATE} else table
