"""Planning again after an answer has changed: the plan is the one that planning anew gives, and what rests on nothing new is not reckoned."""

from __future__ import annotations

import copy
import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from engine import planner
from engine.files.emit import emit
from engine.files.problems import Unreadable
from engine.files.read import parse
from engine.planner import Replanner, plan
from tests.conftest import ROOT, SAMPLES

DOCUMENTS = {name: tomllib.loads((ROOT / "sample_sites" / name / "site.toml").read_text(encoding="utf-8")) for name in SAMPLES}
OTHER = {"m": "1.1 m", "kW": "3.3 kW", "kVA": "4.4 kVA", "V": "49 V", "A": "55 A", "Ah": "120 Ah", "degC": "33 degC", "%": "44 %", "mohm": "9 mohm", "N m": "7 N m", "kWh/day": "3 kWh/day"}


def _leaves(node, path=()):
    if isinstance(node, dict):
        for key, value in node.items():
            yield from _leaves(value, (*path, key))
    elif isinstance(node, list) and node and isinstance(node[0], dict):
        for place, value in enumerate(node):
            yield from _leaves(value, (*path, place))
    else:
        yield path


def _changed(document, path, how):
    """The document with one answer left out, or given another value of its kind."""
    other = copy.deepcopy(document)
    node = other
    for step in path[:-1]:
        node = node[step]
    value = node[path[-1]]
    if how == "gone" or not isinstance(value, str | int | float | bool):
        del node[path[-1]]
    elif isinstance(value, bool):
        node[path[-1]] = not value
    elif isinstance(value, int | float):
        node[path[-1]] = value + 1 if isinstance(value, int) else value * 0.9
    else:
        node[path[-1]] = OTHER.get(value.partition(" ")[2], value)
    return other


@st.composite
def courses(draw):
    """A sample site and up to four changes of it, one after the other."""
    document = DOCUMENTS[draw(st.sampled_from(SAMPLES))]
    course = [document]
    for _ in range(draw(st.integers(1, 4))):
        path = draw(st.sampled_from([p for p in _leaves(course[-1]) if p != ("schema",)]))
        course.append(_changed(course[-1], path, draw(st.sampled_from(["gone", "other"]))))
    return course


def told(planned):
    """Everything that anyone sees of a plan."""
    return planned.plan, planned.findings, {key: (str(f), f.note, f.how) for key, f in planned.figures.items()}


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(courses())
def test_planning_again_gives_what_planning_anew_gives(course):
    replanner = Replanner()
    for document in course:
        try:
            site = parse(emit(document).encode(), "s.toml")
        except Unreadable:
            continue
        assert told(replanner.plan(site.answers, site.revision)) == told(plan(site.answers, site.revision))


@pytest.mark.parametrize(
    ("table", "key", "value", "runs", "rests"),
    [
        ("site", "name", "Elsewhere", set(), {"demand", "phases", "wall", "chain", "conductors", "bill"}),
        ("loads", "power", "1.7 kW", {"demand", "phases", "conductors"}, {"wall", "chain", "banks", "circuits"}),
        ("unit", "efficiency", 0.89, {"storage", "currents"}, {"wall", "chain", "phases", "circuits"}),
        ("wall", "width", "9 m", {"wall", "chain"}, {"phases", "storage", "limits"}),
    ],
)
def test_only_what_read_the_answer_runs_again(monkeypatch, table, key, value, runs, rests):
    """A stage that reads it runs; one that does not, and rests on parts that came out alike, does not."""
    ran = []

    def counted(stage):
        def run(**given):
            ran.append(stage.__name__)
            return stage(**given)

        run.__name__, run.__signature__ = stage.__name__, planner.signature(stage)
        return run

    monkeypatch.setattr(planner, "STAGES", tuple(map(counted, planner.STAGES)))
    document = copy.deepcopy(DOCUMENTS["harbour-works"])
    replanner = Replanner()
    site = parse(emit(document).encode(), "s.toml")
    replanner.plan(site.answers, site.revision)
    ran.clear()
    (document[table][0] if table == "loads" else document[table])[key] = value
    site = parse(emit(document).encode(), "s.toml")
    replanner.plan(site.answers, site.revision)
    assert runs <= set(ran)
    assert not rests & set(ran)
