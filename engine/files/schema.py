"""The form of the file as JSON Schema, made from the models."""

from __future__ import annotations

from typing import Any

from engine.files.form import form
from engine.plan import Plan
from engine.site import Answers


def schema() -> dict[str, Any]:
    """JSON Schema of a site file, its answers and its plan."""
    told = Answers.model_json_schema(mode="validation", by_alias=True)
    plan = form(Plan).model_json_schema(mode="validation", by_alias=True)
    told["$defs"] = told.get("$defs", {}) | plan.pop("$defs", {}) | {"Plan": plan}
    told["properties"]["plan"] = {"$ref": "#/$defs/Plan"}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **told}
