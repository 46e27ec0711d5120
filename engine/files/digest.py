"""The revision of a site: eight hex digits that change when an answer's value does, however it is spelled."""

from __future__ import annotations

import hashlib
import json
import unicodedata
from collections.abc import Mapping
from typing import Any

from engine.site import Answers

_SHOWN = 8  # hex digits
_EXACT = 12  # significant digits: where 95 degF and 35 degC still agree, though their last bits do not


def revision(answers: Answers) -> str:
    """First 8 hex digits of SHA-256 over the answers' values as canonical JSON (sorted keys, compact, UTF-8).

    Quantities are taken in SI at 12 significant digits, text in Unicode's form NFC: canonically equivalent text is the
    same text, and editors and file systems change the form unasked. A key that is present differs from one that is not,
    also where it says what would be assumed. Plan, record, every `note`, and tables that hold no answer stay outside.
    """
    told = answers.model_dump(by_alias=True, exclude_unset=True, exclude={"plan", "record"})
    return _digest(_canonical(told))


def _canonical(value: Any) -> Any:
    """A value with notes and empty tables gone; an entry of an array stays, for what comes after it has its place by it."""
    if isinstance(value, Mapping):
        kept = {_canonical(key): _canonical(inner) for key, inner in value.items() if key != "note"}
        return {key: inner for key, inner in kept.items() if inner != {}}
    if isinstance(value, list):
        return [_canonical(inner) for inner in value]
    if isinstance(value, float):
        return float(f"{value:.{_EXACT}g}") + 0.0  # no negative zero
    return unicodedata.normalize("NFC", value) if isinstance(value, str) else value


def _digest(value: Any) -> str:
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:_SHOWN]
