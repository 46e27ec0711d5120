"""Whatever is answered, left out or absurd: a plan comes out, never an exception, and never a ready one that is not."""

from __future__ import annotations

import cmath
import tomllib
from typing import get_args

import pytest
from hypothesis import HealthCheck, given, settings

from engine.files.emit import emit, with_plan
from engine.files.problems import Unreadable
from engine.files.read import parse
from engine.planner import STAGES, plan
from engine.site import Answers
from engine.site.keys import LoadQuantity, QuantityKey, RouteQuantity, RouteWord, TakenKey
from engine.site.kinds import part_of, reading
from engine.site.loads import Load
from engine.site.supply import ANGLES, LINES, Arrangement
from engine.site.wall import Route
from engine.tables import table
from tests.conftest import ROOT, SAMPLES
from tests.generated.sites import DOCUMENTS, absurd, damaged

SLOW = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


@SLOW
@given(damaged())
def test_any_subset_of_answers_plans(document):
    site = parse(emit(document).encode(), "s.toml")
    planned = plan(site.answers, site.revision)
    written = with_plan(site.text, site.document, planned.plan)
    again = parse(written.encode(), "s.toml")
    assert again.revision == site.revision
    assert with_plan(again.text, again.document, plan(again.answers, again.revision).plan) == written


@SLOW
@given(absurd())
def test_absurd_answers_are_refused_or_planned(document):
    try:
        site = parse(emit(document).encode(), "s.toml")
    except Unreadable:
        return  # refused where it was typed: tests of the files look at the messages
    planned = plan(site.answers, site.revision)
    assert planned.plan.standing in ("ready", "cautions", "stopped")
    assert all(f.text and f.remedy and f.source and f.about for f in planned.findings)


@pytest.mark.parametrize("name", SAMPLES)
def test_every_figure_has_unit_working_and_source(name):
    site = parse(emit(DOCUMENTS[name]).encode(), name)
    planned = plan(site.answers, site.revision)
    assert len(planned.figures) > 100
    for key, figure in planned.figures.items():
        assert figure.unit, key
        assert figure.how, key
        assert figure.source, key


@pytest.mark.parametrize("name", SAMPLES)
def test_every_assumption_is_listed(name):
    site = parse(emit(DOCUMENTS[name]).encode(), name)
    planned = plan(site.answers, site.revision)
    listed = {row.key for row in planned.plan.assumed}
    assumed = {key for key, figure in planned.figures.items() if figure.how == "assumed"}
    assert assumed <= listed


def test_an_empty_site_is_stopped_and_says_what_it_needs(planned):
    found = planned("schema = 1\n")
    assert found.plan.standing == "stopped"
    about = {f.about for f in found.findings if f.level == "stop"}
    assert {"output.arrangement", "earthing.island_bond"} <= about


def test_the_order_of_the_stages_holds():
    """Each stage reads only the facts and parts of stages above it."""
    from inspect import signature

    known = {"facts"}
    for stage in STAGES:
        assert set(signature(stage).parameters) <= known, stage.__name__
        known.add(stage.__name__)


FIGURES = {
    "phases": ("phase", ("power", "reactive_power", "apparent_power", "surge", "used", "neutral_current")),
    "banks": ("name", ("energy", "autonomy", "autonomy_full_load", "discharge_current", "charge_limit", "fault_current")),
    "circuits": ("name", ("current", "length", "drop", "conductor")),
    "units": ("tag", ("charge_limit", "incoming_limit")),
}


@pytest.mark.parametrize("table", FIGURES)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_figure_of_the_plan_can_be_asked_why(name, table):
    """What the file says is the figure that `why` explains."""
    site = parse(emit(DOCUMENTS[name]).encode(), name)
    planned = plan(site.answers, site.revision)
    label, names = FIGURES[table]
    asked = 0
    for row in getattr(planned.plan, table):
        for field in names:
            text = getattr(row, field)
            if text is None:
                continue
            figure = planned.figures[f"plan.{table}[{getattr(row, label)}].{field}"]
            assert field == "conductor" or str(figure) == text
            asked += 1
    assert asked


def test_every_room_is_a_stage_under_its_own_name():
    """A stage is a module or a package called as its function; `verdict` closes the list. A package's inside is held by a contract."""
    folder = ROOT / "engine" / "stages"
    modules = {path.stem for path in folder.glob("*.py")} - {"__init__", "verdict"}
    packages = {path.parent.name for path in folder.glob("*/__init__.py")}
    assert modules | packages == {stage.__name__ for stage in STAGES}
    assert all((folder / name / "part.py").exists() for name in packages)
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]["contracts"]
    held = {c["allowed_importers"][0] for c in contracts if c["type"] == "protected" and c["protected_modules"] == [f"{c['allowed_importers'][0]}.*"]}
    assert held == {f"engine.stages.{name}" for name in packages}


@pytest.mark.parametrize(("name", "old", "new", "limit"), [
    # S3, T8: a 35 A transfer relay stands behind the next smaller device, 32 A; by the NEC a 60 A device carries 80 % of it.
    ("alder-farm", 'transfer_current = "40 A"', 'transfer_current = "35 A"', "32 A"),
    ("copper-creek", 'breaker = "60 A"', 'breaker = "100 A"', "48 A"),
])
def test_a_unit_takes_no_more_than_its_own_device_carries(planned, sample_text, name, old, new, limit):
    text = sample_text(name)
    assert old in text
    found = planned(text.replace(old, new))
    assert {unit.incoming_limit for unit in found.plan.units} == {limit}


def test_the_power_factor_of_the_charger_is_listed(planned, sample_text):
    found = planned(sample_text("alder-farm"))
    assert "plan.incoming.charger_power_factor" in {row.key for row in found.plan.assumed}
    assert "plan.units[L1-1].charging_current" in found.figures


def test_the_keys_of_quantities_are_those_of_the_models() -> None:
    """A key that no model has fails in the type checker; here the list itself is held to the models, both ways."""

    def numbers(model, prefix=""):
        for name, field in model.model_fields.items():
            inner, many = part_of(field.annotation), "list[" in str(field.annotation)
            if inner is not None and not many and name != "labels":
                yield from numbers(inner, f"{prefix}{name}.")
            elif inner is None and not many and name != "schema_" and (reading(field) or "int" in str(field.annotation)):
                yield f"{prefix}{name}"

    assert set(numbers(Answers)) == set(get_args(QuantityKey))
    for model, fields in ((Load, LoadQuantity), (Route, RouteQuantity)):
        assert {name for name, field in model.model_fields.items() if reading(field)} == set(get_args(fields))
    assert set(get_args(RouteWord)) < set(Route.model_fields)
    assert list(dict.fromkeys(row["key"] for row in table("taken").rows)) == list(get_args(TakenKey))


def test_the_lines_of_an_arrangement_stand_evenly_round() -> None:
    """Every arrangement has its lines and angles, and equal currents of them cancel, but for a single one."""
    assert set(get_args(Arrangement)) == set(LINES) == set(ANGLES)
    for arrangement, lines in LINES.items():
        assert lines == ("L1", "L2", "L3")[: len(lines)]
        whole = abs(sum(cmath.exp(1j * angle) for angle in ANGLES[arrangement].values()))
        assert whole == pytest.approx(1 if len(lines) == 1 else 0, abs=1e-12)
