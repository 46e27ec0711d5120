"""When the file's number must rise: never for a key that is added beside the others, always for one that goes or becomes a must."""

from __future__ import annotations

from typing import Any

import pytest

from engine.files.form import form
from engine.files.migrate import STEPS, migrate
from engine.files.read import parse
from engine.plan import Plan
from engine.site import SCHEMA, Answers

# Keys of schema 1 as the first plans had them, those that a plan must have in capitals, by table of the plan.
FIRST = {
    "": "REVISION MADE_WITH STANDING assumed banks bill chain circuits findings hours loads phases proof reels solar steps unbalance units",
    "assumed": "KEY VALUE WHY source",
    "banks": "NAME absorption autonomy autonomy_full_load charge_limit charge_rate discharge_current discharge_rate energy fault_current fault_current_clearing float largest_share low opening temperature_slope units usable_energy ventilation",
    "bill": "ITEM SPECIFICATION QUANTITY goes_to order_ahead spare",
    "chain": "beside_power closest_to_power crossings length links order proof terminators",
    "chain.links": "FROM TO from_port length stock to_port",
    "chain.terminators": "UNIT kind port",
    "circuits": "FROM KIND NAME TO conductor current device drop earth governed_by length neutral parallel",
    "circuits.device": "KIND breaking poles rating voltage",
    "findings": "ABOUT CODE LEVEL REMEDY SOURCE TEXT",
    "hours": "HOUR LOAD SOLAR GENERATOR STATE",
    "loads": "NAME ON",
    "phases": "PHASE apparent_power left left_one_out neutral_current power reactive_power surge surge_limit units used",
    "reels": "CUTS LENGTH OFFCUT SPECIFICATION proof",
    "solar": "cold_voc current hot_vmp power series_best series_from series_to short_circuit",
    "steps": "PLACE WHO DO EXPECT OTHERWISE hold",
    "units": "PHASE ROLE TAG bank chain_place charge_limit incoming_limit settings storage_mode",
    "units.settings": "SETTING VALUE WHY assumed confirm label value_label",
}


def tables() -> dict[str, dict[str, Any]]:
    """The form of every table of a plan, by its path."""
    whole = form(Plan).model_json_schema()
    found: dict[str, dict[str, Any]] = {}

    def walk(path: str, node: dict[str, Any]) -> None:
        found[path] = node
        for key, inner in node["properties"].items():
            parts = [inner, inner.get("items", {}), *inner.get("anyOf", ())]
            for ref in {part["$ref"] for part in parts if "$ref" in part}:
                walk(f"{path}.{key}".strip("."), whole["$defs"][ref.rsplit("/", 1)[-1]])

    walk("", whole)
    return found


@pytest.mark.parametrize("path", FIRST)
def test_plans_of_the_first_form_are_read_as_they_are(path: str) -> None:
    """No key of theirs is gone and no other is a must; otherwise SCHEMA rises, with a step in files/migrate."""
    node, keys = tables()[path], FIRST[path].split()
    assert {key.lower() for key in keys} <= set(node["properties"])
    assert set(node.get("required", ())) <= {key.lower() for key in keys if key.isupper()}


def test_no_answer_is_a_must() -> None:
    assert "required" not in Answers.model_json_schema()


def test_every_number_before_this_one_has_its_step() -> None:
    assert set(STEPS) == set(range(1, SCHEMA))
    bare = 'schema = 1\n[plan]\nrevision = "00000000"\nmade_with = "the first"\nstanding = "ready"\n[[plan.circuits]]\nname = "load L1-1"\nkind = "load"\nfrom = "L1-1"\nto = "load board"\n'
    assert parse(bare.encode(), "old.toml").document["schema"] == SCHEMA


def test_an_older_file_is_carried_step_by_step(monkeypatch: pytest.MonkeyPatch) -> None:
    """From the number it has, in the order of the numbers: none left out, none twice."""
    steps = {n: lambda document, n=n: document | {"schema": n + 1, "went": [*document.get("went", []), n]} for n in (1, 2, 3)}
    monkeypatch.setattr("engine.files.migrate.STEPS", steps)
    monkeypatch.setattr("engine.files.migrate.SCHEMA", 4)
    assert migrate({"schema": 2, "site": {}}) == {"schema": 4, "site": {}, "went": [2, 3]}
    assert migrate({"schema": 4}) == {"schema": 4}
