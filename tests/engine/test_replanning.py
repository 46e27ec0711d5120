"""Planning again after an answer has changed: the plan is the one that planning anew gives, and what rests on nothing new is not reckoned."""

from __future__ import annotations

import copy
import gc

import pytest
from hypothesis import HealthCheck, given, settings

from engine import planner
from engine.files.emit import emit
from engine.files.problems import Unreadable
from engine.files.read import parse
from engine.planner import Replanner, plan
from tests.generated.sites import DOCUMENTS, courses


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


@pytest.mark.parametrize("collecting", [True, False])
def test_planning_leaves_the_collector_as_it_was(collecting):
    """Whoever switched it off meant it."""
    was = gc.isenabled()
    (gc.enable if collecting else gc.disable)()
    try:
        plan(parse(b"schema = 1\n", "s.toml").answers, "0123abcd")
        assert gc.isenabled() is collecting
    finally:
        (gc.enable if was else gc.disable)()
