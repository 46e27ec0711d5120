"""What tells one site's plans apart: the revision of the answers, and the digest of what was computed from them."""

from __future__ import annotations

import hashlib
import json
import unicodedata
from collections.abc import Iterator, Mapping
from typing import Any

from engine.plan import Plan, Row
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
    return _digest(canonical(_cleared(told)))


def plan_digest(plan: Mapping[str, Any]) -> str:
    """First 8 hex digits of SHA-256 over a plan, as it stands in a file, as canonical JSON; `digest` and `made_with` stay outside."""
    return digest_of({key: canonical(value) for key, value in plan.items() if key not in ("digest", "made_with")})


def digest_of(sections: Mapping[str, str]) -> str:
    """The same of a plan whose sections are canonical JSON already."""
    return _digest(f"{{{','.join(f'{canonical(key)}:{sections[key]}' for key in sorted(sections))}}}")


def doubts(stored: Mapping[str, Any], plan: Plan) -> Iterator[str]:
    """Why nobody should work by the plan that a file holds, beside the one that its answers give now; nothing where they are the same."""
    made = stored.get("made_with")
    if "digest" not in stored:
        yield f"it has no digest (it says: made with {made}), so nobody can tell whether it was altered, or its answers were"
        return
    content = plan_digest(stored)
    if content != stored["digest"]:
        yield "it was altered by hand: what it holds is not what its digest stands for"
    if stored.get("revision") != plan.revision:
        yield f"it is of revision {stored.get('revision')}, but the answers are {plan.revision}: they were changed since"
    elif content == stored["digest"] != plan.digest:
        yield f"the same answers give another plan now: it was made with {made} and is {content}, {plan.made_with} makes {plan.digest} of them"


def _cleared(value: Any) -> Any:
    """A value with notes and empty tables gone; an entry of an array stays, for what comes after it has its place by it."""
    if isinstance(value, Mapping):
        kept = {_cleared(key): _cleared(inner) for key, inner in value.items() if key != "note"}
        return {key: inner for key, inner in kept.items() if inner != {}}
    if isinstance(value, list):
        return [_cleared(inner) for inner in value]
    if isinstance(value, float):
        return float(f"{value:.{_EXACT}g}") + 0.0  # no negative zero
    return unicodedata.normalize("NFC", value) if isinstance(value, str) else value


_JSON = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False, default=Row.keyed)


def canonical(value: Any) -> str:
    """Plain data, or rows of a plan, as JSON that is always the same: keys sorted, nothing between."""
    return _JSON.encode(value)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:_SHOWN]
