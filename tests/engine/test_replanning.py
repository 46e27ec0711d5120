"""Planning again after an answer has changed: the plan is the one that planning anew gives, and what rests on nothing new is not reckoned."""

from __future__ import annotations

import copy
import gc
from concurrent.futures import ThreadPoolExecutor
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings

from engine import planner
from engine.files.emit import emit
from engine.files.problems import Unreadable
from engine.files.read import parse
from engine.planner import Replanner, plan
from engine.stages import conductors
from tests.benchmarks.replan import EDITS, changed
from tests.generated.sites import DOCUMENTS, courses
from tests.generated.sites import site as plausible


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


def read(document):
    return parse(emit(document).encode(), "s.toml")


def steps(document, dice, count):
    """Documents as somebody leaves them one after the other: an answer changed, taken out, or what was before put back."""
    past = [document]
    for _ in range(count):
        if dice.random() < 0.25 and len(past) > 1:
            past.append(past[dice.randrange(len(past) - 1)])
        elif dice.random() < 0.6:
            key, value = dice.choice(EDITS)
            at = key.split(".")
            if at[0] != "loads" or int(at[1]) < len(past[-1].get("loads", ())):
                past.append(changed(past[-1], key, value))
        else:
            past.append(spoilt(past[-1], dice))
    return past


def spoilt(document, dice):
    """Any one answer taken out, or made a little more."""
    other = copy.deepcopy(document)
    leaves = [(at, key) for at in tables(other) for key, value in at.items() if not isinstance(value, dict | list)]
    at, key = dice.choice(leaves)
    number, _, unit = str(at[key]).partition(" ")
    try:
        at[key] = f"{float(number) * dice.choice((0.8, 1.25)):.4g} {unit}".rstrip() if unit else type(at[key])(at[key] * 1.1)
    except (TypeError, ValueError):
        del at[key]
    return other


def tables(document):
    yield document
    for value in document.values():
        for inner in value if isinstance(value, list) else [value]:
            if isinstance(inner, dict):
                yield from tables(inner)


@pytest.mark.parametrize("number", range(24))
def test_hundreds_of_edits_of_plausible_sites_and_their_undoing(number):
    """A course of edits of one site by one planner: whatever it has kept, each plan is the one that planning anew gives."""
    dice, replanner, planned = Random(number), Replanner(), 0
    for document in steps(plausible(number, most_per_phase=2), dice, 16):
        try:
            site = read(document)
        except Unreadable:
            continue
        planned += 1
        assert told(replanner.plan(site.answers, site.revision)) == told(plan(site.answers, site.revision))
    assert planned > 8


def sized(monkeypatch, key, value, sample="harbour-works"):
    """The circuits that are sized again once that answer has changed."""
    names, done = [], conductors._sized
    monkeypatch.setattr(conductors, "_sized", lambda **given: (names.append(given["taken"].ends.name), done(**given))[1])
    replanner = Replanner()
    for document in (DOCUMENTS[sample], changed(DOCUMENTS[sample], key, value)):
        names.clear()
        site = read(document)
        replanner.plan(site.answers, site.revision)
    return names


@pytest.mark.parametrize(
    ("key", "value", "kinds", "most"),
    [
        ("loads.0.energy", "9 kWh/day", set(), 0),
        ("unit.efficiency", 0.91, {"battery"}, 15),
        ("storage.module.absorption", "55.9 V", {"battery"}, 15),
        ("incoming.breaker", "200 A", {"incoming"}, 1),
        ("drop.load", "1.2 %", {"load"}, 13),
        ("loads.0.power", "2.3 kW", {"load", "incoming"}, 26),
    ],
)
def test_only_circuits_that_the_answer_reaches_are_sized_again(monkeypatch, key, value, kinds, most):
    names = sized(monkeypatch, key, value)
    assert {name.split()[0] for name in names} == kinds
    assert len(names) <= most


def test_what_stands_is_the_same_thing():
    """Rows of the plan, figures and findings that an answer does not reach are those of the plan before."""
    replanner, plans = Replanner(), []
    for document in (DOCUMENTS["harbour-works"], changed(DOCUMENTS["harbour-works"], "storage.module.absorption", "55.9 V")):
        site = read(document)
        plans.append(replanner.plan(site.answers, site.revision))
    old, new = plans
    same = sum(a is b for a, b in zip(old.plan.steps, new.plan.steps, strict=True))
    assert same > 0.8 * len(new.plan.steps)
    assert sum(figure is old.figures.get(key) for key, figure in new.figures.items()) > 0.5 * len(new.figures)
    assert old.parts.wall is new.parts.wall
    assert old.plan != new.plan


def held(memory):
    """How much a memory holds."""
    return len(memory.made) + sum(1 + held(piece.within) for piece in memory.pieces.values())


def test_no_more_than_one_plan_is_remembered():
    """Whatever names and values went by, a planner holds what it would hold after the last of them alone."""
    document, replanner, fresh = DOCUMENTS["ferry-house"], Replanner(), Replanner()
    for n in range(12):
        site = read(changed(changed(document, "loads.0.name", f"Pump {n}"), "loads.0.power", f"{300 + n} W"))
        replanner.plan(site.answers, site.revision)
    fresh.plan(site.answers, site.revision)
    assert held(replanner._last) <= held(fresh._last)


def test_threads_share_a_planner():
    """Plans of different sites at a time, and none has anything of another."""
    sites = [read(plausible(number, most_per_phase=2)) for number in range(6)]
    wanted = [told(plan(site.answers, site.revision)) for site in sites]
    replanner = Replanner()
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda n: told(replanner.plan(sites[n % 6].answers, sites[n % 6].revision)), range(36)))
    assert found == wanted * 6


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
