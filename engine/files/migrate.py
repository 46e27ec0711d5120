"""Older forms of the file carried to the present one, by pure `dict -> dict` steps."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from engine.site import SCHEMA
from engine.text import clean, quoted

Document = dict[str, Any]

# From schema n to n + 1. The first form needs none.
STEPS: Mapping[int, Callable[[Document], Document]] = {}


class WrongSchema(ValueError):
    """The file's schema is no number, or that of a later program than this one."""


def migrate(document: Document) -> Document:
    """The document in the present schema; `WrongSchema` where it is from a later one or no number."""
    schema = document.get("schema", SCHEMA)
    if isinstance(schema, bool) or not isinstance(schema, int) or schema < 1:
        found = quoted(schema) if isinstance(schema, str) else clean(str(schema), 60)
        raise WrongSchema(f"found schema = {found}; wanted {SCHEMA}")
    if schema > SCHEMA:
        raise WrongSchema(f"the file has schema {schema}, newer than this program, which reads up to {SCHEMA}: use a newer phasewright")
    for step in range(schema, SCHEMA):
        document = STEPS[step](document)
    return document
