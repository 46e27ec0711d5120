"""The revision of a site: eight hex digits that change when an answer does."""

from __future__ import annotations

import hashlib
import json
from typing import Any


def answers_of(document: dict[str, Any]) -> dict[str, Any]:
    """The answers alone: no plan, no record, no remark."""
    return {key: _without_notes(value) for key, value in document.items() if key not in ("plan", "record", "note")}


def _without_notes(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _without_notes(inner) for key, inner in value.items() if key != "note"}
    if isinstance(value, list):
        return [_without_notes(inner) for inner in value]
    return value


def revision(document: dict[str, Any]) -> str:
    """First 8 hex digits of SHA-256 over the answers as canonical JSON (sorted keys, compact, UTF-8)."""
    text = json.dumps(answers_of(document), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False, default=str)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:8]
