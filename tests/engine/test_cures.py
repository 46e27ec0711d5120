"""Every finding leads to its cure: what is offered works when it is planned afresh, no fact is ever offered, and what is not offered is asked."""

from __future__ import annotations

import ast
import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import engine
from engine.cures import UNANSWERABLE, Cure, asks, search
from engine.cures.asking import ASKS, OWN
from engine.cures.decidable import DECIDABLE, changed
from engine.cures.search import OFFERED, TRIES, cures
from engine.cures.ways import WAYS
from engine.findings import Level
from engine.planner import Planned, Replanner, plan
from engine.site import Answers
from tests.defence.test_findings import TWINS, _calls
from tests.defence.twins import GENERATOR, ONE, SUN, THREE, Changes, hung, load, route
from tests.engine import paper_sites
from tests.engine.paper_sites import set_of
from wizard.answers.fields import field, value_of

Document = dict[str, Any]

# All that the planner may decide, written once more by hand: what a datasheet, a plate, a measurement, a law or an owner says is not here.
MAY_DECIDE = {
    *("set.count", "set.per_phase", "set.spare", "set.lead", "loads.phase"),
    *("storage.connection", "storage.bank.parallel", "storage.bank.feed", "storage.links.bank", "storage.links.unit"),
    *("solar.series", "solar.parallel", "solar.trackers"),
    *("routes.carries", "routes.method", "routes.insulation", "routes.metal", "routes.grouped", "routes.lane", "routes.containment"),
    *("wall.places.what", "wall.places.tag", "wall.places.x", "wall.places.y"),
}
# What an entry of an array is of: said where it is new, never changed.
NAMES = {"carries", "what", "tag", "bank"}


def document(site: Changes) -> Document:
    """The small site with changes as a file would hold it."""
    made = paper_sites._copy(paper_sites._BASE)
    for key, value in site.items():
        *path, last = key.split(".")
        paper_sites._inner(made, path)[last] = value
    return _answered(made)


def _answered(value: Any) -> Any:
    if isinstance(value, list):
        return [_answered(item) for item in value]
    return {key: _answered(item) for key, item in value.items() if item is not None} if isinstance(value, dict) else value


def afresh(document: Document) -> Planned:
    return plan(Answers.model_validate(document), "0123abcd")


def sound(site: Document, code: str, about: str, cure: Cure) -> None:
    """A cure is what it says, by plans made afresh."""
    before, after = afresh(site), afresh(changed(site, cure.answers))
    was, now = ([(f.level, f.code, f.about) for f in planned.findings] for planned in (before, after))
    assert any(finding[1:] == (code, about) for finding in was)
    assert not any(finding[1:] == (code, about) for finding in now)
    assert sum(finding[1] == code for finding in now) < sum(finding[1] == code for finding in was), "it is gone here and has come elsewhere"
    assert not {f for f in now if f[0] == Level.STOP} - set(was), "a stop has come"
    bad = [[f for f in some if f[0] != Level.NOTE] for some in (was, now)]
    stops, cautions = (tuple(sum(f[0] == level for f in some) for some in (was, now)) for level in (Level.STOP, Level.CAUTION))
    assert stops[1] < stops[0] or (stops[1] == stops[0] and cautions[1] <= cautions[0])
    assert (cure.stops, cure.cautions) == tuple(sum(f[0] == level for f in now) for level in (Level.STOP, Level.CAUTION))
    assert {(f.code, f.about) for f in cure.gone} == {f[1:] for f in bad[0]} - {f[1:] for f in bad[1]}
    assert {(f.level, f.code, f.about) for f in cure.come} >= {f for f in bad[1] if f[1:] not in {g[1:] for g in bad[0]}}


@cache
def _offered(at: int) -> tuple[Document, str, str, tuple[Cure, ...]]:
    """Of one twin: its site, code and key of its finding, and what is offered."""
    twin = TWINS[at]
    site, replanner = document(twin.site), Replanner()
    finding = next(f for f in afresh(site).findings if (f.level, f.code) == (twin.level, twin.code))
    found = cures(site, finding.code, finding.about, replanner)
    return site, finding.code, finding.about, found.cures


CURABLE = [at for at, twin in enumerate(TWINS) if twin.code in WAYS]


@pytest.mark.parametrize("at", CURABLE, ids=lambda at: f"{TWINS[at].code} {TWINS[at].level}")
def test_what_is_offered_works_when_it_is_planned_afresh(at: int) -> None:
    site, code, about, offered = _offered(at)
    assert len(offered) <= OFFERED
    for cure in offered:
        sound(site, code, about, cure)


def test_each_code_with_a_way_has_a_site_that_it_cures() -> None:
    assert not WAYS.keys() - {TWINS[at].code for at in CURABLE if _offered(at)[3]} - {code for code, *_ in SITES}


# Lead-acid banks that nobody has wired yet: their connection is still to be decided.
UNTRACED: Changes = {
    "storage.wired": {},
    "storage.links": [],
    "storage.managed": False,
    "storage.chemistry": "agm",
    "storage.module.cells": 24,
    "storage.module.voltage": "48 V",
}
FREE_SET = THREE | UNTRACED | {"set.per_phase": None}
ROOMY = {"storage.bank.parallel": 14, "storage.bank.feed": "bar", "unit.ac_terminal_max": "35 mm2"}
LARGE = {"unit.real_power": "20 kW", "unit.apparent_power": "20 kVA", "unit.surge_power": "40 kVA"}
WIDE = hung(L1_1={"x": "0.6 m"}, L2_1={"x": "1.9 m"}, L3_1={"x": "3.3 m"})
# Units of 0.4 m with 0.2 m of air: between the boards, from 0.4 to 2.55 m, three have room side by side, but not between two that hang so.
NARROW = hung(L1_1={"y": "1.3 m"}, L3_1={"x": "2 m", "y": "1.3 m"}, L2_1={"x": None, "y": None}, B1={"x": "1.4 m"}, load_board={"x": "2.7 m"}, earth_bar={"x": "2.5 m"}) | {"wall.width": "2.9 m"}
# A pillar from floor to ceiling, and the third unit behind it.
PARTED = hung(
    {"what": "obstacle", "x": "3.1 m", "y": "1.2 m", "width": "0.1 m", "height": "2.4 m"},
    L3_1={"x": "3.6 m"},
    load_board={"x": "0.25 m"},
    earth_bar={"x": "0.3 m"},
    incoming_board={"x": "4 m", "y": "0.3 m"},
) | {"incoming.kind": "none"}
MANY_STRINGS = SUN | ONE | {"solar.parallel": 2, "unit.solar.short_circuit_max": "30 A"}
# Units side by side with the air that they need, under the ceiling: a link is then 0.6 m and what goes inside the gear.
ROW = {key: f"{x} m" for place, at in ((3, (2.1, 0.3)), (0, (0.8, 1.75)), (1, (1.4, 1.75)), (2, (2, 1.75))) for key, x in zip((f"wall.places[{place}].x", f"wall.places[{place}].y"), at, strict=True)}
NARROW_ROW = ROW | {"wall.places[3].x": "1.45 m"}

# Code, a site, and the answers that are offered first.
SITES: list[tuple[str, Changes, dict[str, str]]] = [
    # Fed at one end the busiest of six strings carries more than its part; 5 kW / (0.93 x 46 V) = 116.9 A, and six strings of 20 A from a bar give 120 A.
    ("bank-below-set", ONE | {"storage.bank.feed": "one end", "storage.module.discharge_current": "20 A"}, {"storage.bank.feed": "bar"}),
    # Six strings of 19 A give 114 A even from a bar, seven 133 A.
    ("bank-below-set", ONE | {"storage.bank.feed": "bar", "storage.module.discharge_current": "19 A"}, {"storage.bank.parallel": "7"}),
    # 6 kW on one unit of 5 kW, the other two idle: one load may go to another phase.
    ("phase-overloaded", THREE | {"loads": [load("3 kW"), load("3 kW"), load("1 kW")]}, {"loads[0].phase": "any"}),
    ("phase-overloaded", UNTRACED | ONE | {"storage.wired": {}, "set.per_phase": None, "loads": [load("2 kW", quantity=3)]}, {"set.count": "2"}),
    # 10 kVA of surge for motors of 5 x 1.5 and 5 x 1.4 kVA.
    ("start-above-surge", THREE | {"loads": [load("1.5 kW", start_multiple=5), load("1.4 kW", start_multiple=5)]}, {"loads[0].phase": "any"}),
    ("spare-not-met", FREE_SET | ROOMY | {"set.spare": 1, "loads": [load("1 kW", phase="any")]}, {"set.count": "6"}),
    ("over-max-units", FREE_SET | {"output.arrangement": "single-phase", "set.count": 4, "unit.max_units": 3}, {"set.count": "3"}),
    ("phase-without-unit", FREE_SET | {"set.count": 2}, {"set.count": "3"}),
    ("phase-without-unit", THREE | UNTRACED | {"set.count": 2, "set.per_phase": [2, 0, 0]}, {"set.per_phase": "2, 1, 1", "set.count": "4"}),
    ("phase-loss", FREE_SET | ROOMY, {"set.count": "6"}),
    # All on one phase: none of them can move alone to where the three are alike.
    ("generator-unbalanced", THREE | GENERATOR | {"loads": [load(), load(), load()]}, {f"loads[{k}].phase": "any" for k in range(3)}),
    # Charging draws 18.2 A (see the twins) and each load 4.35 A: 26.9 A of 25 A, 22.5 A with one of them elsewhere.
    ("incoming-below-load-and-charge", THREE | {"incoming.breaker": "25 A", "loads": [load(), load()]}, {"loads[0].phase": "any"}),
    ("charge-limit-below-unit", ONE | {"storage.bank.feed": "bar", "storage.bank.parallel": 1}, {"storage.bank.parallel": "2"}),
    # 16 of 24 hours are night: 33.3 kWh of 50 kWh, over 0.93 they are 35.8 kWh; a string holds 5.12 kWh x 0.8 = 4.1 kWh, so nine do.
    ("empty-before-sunrise", ONE | {"loads": [load("5 kW", energy="50 kWh/d")]}, {"storage.bank.parallel": "9"}),
    ("day-not-covered", SUN | ONE | {"solar.trackers": 1, "incoming.kind": "none", "loads": [load(energy="10 kWh/d")]}, {"solar.trackers": "2"}),
    # Two strings: 23 A shorted, 21.8 A at full power, 2 x 2 x 7 x 450 W = 12.6 kW.
    ("solar-short-circuit", SUN | ONE | {"solar.parallel": 2}, {"solar.parallel": "1"}),
    ("solar-current-lost", MANY_STRINGS, {"solar.parallel": "1"}),
    ("solar-power-lost", MANY_STRINGS | {"unit.solar.current_max": "30 A"}, {"solar.parallel": "1"}),
    ("no-conductor-will-do", UNTRACED | ONE | LARGE | {"storage.wired": {}, "storage.bank.parallel": 40, "storage.bank.feed": "bar", "routes": [route("battery", method="A2", grouped=9)]}, {"routes[0].method": "C"}),
    # Six units of 20 kW on one bank ask for a fuse of more than 2.8 kA; each with a sixth of the strings for less than 500 A.
    ("no-device-large-enough", set_of(6) | UNTRACED | LARGE | {"storage.bank.parallel": 60, "storage.bank.feed": "bar"}, {"storage.connection": "bank-per-unit", "storage.bank.parallel": "10"}),
    ("fuse-loaded", set_of(3) | UNTRACED | {"unit.real_power": "5.6 kW", "unit.apparent_power": "5.6 kVA", "storage.bank.parallel": 9}, {"storage.connection": "bank-per-unit", "storage.bank.parallel": "3"}),
    ("withstand-not-checked", set_of(6) | UNTRACED | {"storage.bank.parallel": 24, "storage.bank.feed": "bar"}, {"storage.connection": "bank-per-unit", "storage.bank.parallel": "4"}),
    ("fault-above-every-device", set_of(6) | UNTRACED | {"storage.bank.parallel": 24, "storage.module.resistance": "6 mohm", "storage.bank.feed": "bar"}, {"storage.connection": "bank-per-unit", "storage.bank.parallel": "4"}),
    ("no-usual-fuse-family", set_of(4) | UNTRACED | {"storage.bank.parallel": 16}, {"storage.connection": "bank-per-unit", "storage.bank.parallel": "4"}),
    ("no-room-on-the-wall", NARROW, NARROW_ROW),
    ("no-way-yet", NARROW, NARROW_ROW),
    ("no-way-for-circuit", PARTED, ROW),
    ("no-way-for-link", PARTED, ROW),
    ("link-too-long", WIDE | {"unit.bus.link_lengths": ["1.5 m"]}, ROW),
    ("bus-too-long", WIDE | {"unit.bus.link_lengths": ["1.5 m", "2 m", "3 m"], "unit.bus.length_max": "3.5 m"}, ROW),
    ("bus-too-long-for-rate", WIDE | {"unit.bus.link_lengths": ["1.5 m", "20 m"], "unit.bus.bit_rate": "1 Mbit/s"}, ROW),
]


@pytest.mark.parametrize(("code", "site", "first"), SITES, ids=[f"{code} {at}" for at, (code, *_) in enumerate(SITES)])
def test_the_cheapest_that_works_comes_first(code: str, site: Changes, first: dict[str, str]) -> None:
    made = document(site)
    finding = next(f for f in afresh(made).findings if f.code == code)
    found = cures(made, code, finding.about, Replanner())
    assert found.cures, "nothing is offered"
    for cure in found.cures:
        sound(made, code, finding.about, cure)
    assert found.cures[0].answers == first


def test_a_finding_that_is_not_there_has_no_cure() -> None:
    assert cures(document({}), "bank-below-set", "plan.banks[B1].discharge_current", Replanner()) == search.Found()
    assert cures(document({}), "licensed-practice", "site.rules", Replanner()) == search.Found()


def test_nothing_that_more_answers_do_is_offered_where_fewer_do() -> None:
    for at in CURABLE:
        offered = [cure.answers.items() for cure in _offered(at)[3]]
        assert not [(one, other) for k, one in enumerate(offered) for other in offered[k + 1 :] if one <= other]


# --- what may be decided ---


def test_what_may_be_decided_is_what_was_agreed() -> None:
    assert set(DECIDABLE) == MAY_DECIDE


@pytest.mark.parametrize("key", ["incoming.breaker", "unit.transfer_current", "unit.dc_max", "storage.module.discharge_current", "incoming.prospective_fault", "earthing.system", "drop.load", "wall.width", "routes[0].length", "routes[0].to", "storage.wired.L1-1", "storage.bank.series", "unit.max_units", "loads[0].power"])
def test_a_fact_cannot_even_be_tried(key: str) -> None:
    with pytest.raises(KeyError):
        changed(document({}), {key: "1"})


def test_a_fact_is_never_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    """Over everything that is tried on every site: keys that may be decided, and what an entry is of only where the entry is new."""
    tried: list[tuple[Document, dict[str, str]]] = []

    def watched(site: Document, given: dict[str, str]) -> Document:
        tried.append((site, given))
        return changed(site, given)

    monkeypatch.setattr(search, "changed", watched)
    for site, code in [*((twin.site, twin.code) for twin in TWINS if twin.code in WAYS), *((site, code) for code, site, _ in SITES)]:
        made = document(site)
        for finding in {(f.code, f.about): f for f in afresh(made).findings if f.code == code}.values():
            cures(made, code, finding.about, Replanner())
    assert sum(bool(given) for _, given in tried) > 200
    for site, given in tried:
        for key, text in given.items():
            assert re.sub(r"\[\d+\]", "", key) in MAY_DECIDE
            if key.rsplit(".", 1)[-1] in NAMES:
                table, place = re.fullmatch(r"(.*)\[(\d+)\]\.\w+", key).groups()
                there = site
                for step in table.split("."):
                    there = there.get(step, {})
                assert int(place) >= len(there), f"{key} = {text} renames what is there"


@pytest.mark.parametrize("at", CURABLE, ids=lambda at: f"{TWINS[at].code} {TWINS[at].level}")
def test_what_is_offered_is_as_one_types_it(at: int) -> None:
    """The interview reads each answer as the value with which it was tried."""
    site, _, _, offered = _offered(at)
    for cure in offered:
        made = changed(site, cure.answers)
        for key, text in cure.answers.items():
            value: Any = made
            for step in re.findall(r"[a-z_]+|\d+", key):
                value = value[int(step)] if isinstance(value, list) else value.get(step)
            assert value == (value_of(field(key), text) if text else None)


# --- the search itself ---


def test_the_search_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    made, plans = document(THREE | {"loads": [load("4 kW"), load("3 kW")]}), []
    whole = Replanner.plan
    monkeypatch.setattr(Replanner, "plan", lambda self, *given: plans.append(given) or whole(self, *given))
    monkeypatch.setattr(search, "TRIES", 3)
    monkeypatch.setitem(search.WAYS, "phase-overloaded", (lambda case: ({"set.spare": str(n)} for n in range(1, 100)),))
    assert cures(made, "phase-overloaded", "plan.phases[L1].used", Replanner()) == search.Found(whole=False)
    assert len(plans) == 1 + 3
    assert TRIES == 24


def test_the_search_ends_where_there_is_no_more_time() -> None:
    made, left = document(THREE | {"loads": [load("3 kW"), load("3 kW")]}), iter([True, False])
    found = cures(made, "phase-overloaded", "plan.phases[L1].used", Replanner(), lambda: next(left))
    assert not found.whole
    assert [cure.answers for cure in found.cures] == [{"loads[0].phase": "any"}]
    assert cures(made, "phase-overloaded", "plan.phases[L1].used", Replanner(), lambda: False) == search.Found(whole=False)


def test_a_search_leaves_the_planner_and_the_answers_as_they_were() -> None:
    made = document(SITES[0][1])
    kept, replanner = repr(made), Replanner()
    before = replanner.plan(Answers.model_validate(made), "0123abcd")
    cures(made, SITES[0][0], "plan.banks[B1].discharge_current", replanner)
    after = replanner.plan(Answers.model_validate(made), "0123abcd")
    assert repr(made) == kept
    assert (after.plan, after.findings) == (before.plan, before.findings) == (afresh(made).plan, afresh(made).findings)
    assert after.parts.circuits is before.parts.circuits, "what it remembers is still the plan of these answers"


# --- what is asked ---


def _codes() -> set[str]:
    files = sorted(Path(engine.__file__).parent.rglob("*.py"))
    return {code for file in files for _, codes in _calls(ast.parse(file.read_text(encoding="utf-8"))) for code in codes}


def test_every_finding_leads_somewhere() -> None:
    """A way to cure it, questions to look at, the one question that it is about, or the reason why none mends it."""
    codes = _codes()
    assert len(codes) > 150
    assert not codes - (ASKS.keys() | OWN | UNANSWERABLE.keys())
    assert not (ASKS.keys() | OWN | UNANSWERABLE.keys() | WAYS.keys()) - codes, "codes that the source no longer has"
    assert not (ASKS.keys() & OWN) | (ASKS.keys() & UNANSWERABLE.keys()) | (OWN & UNANSWERABLE.keys())
    assert all(UNANSWERABLE.values())


def test_what_is_asked_is_a_question() -> None:
    tables = {"loads", "routes", "wall.places", "storage.links", "storage.wired", "bus_nodes"}
    for key in {key for keys in ASKS.values() for key in keys} - tables:
        assert field(key).why, key
    assert asks("cold-voc-above-limit")[0] == "solar.series"
    assert asks("bank-not-traced") == asks("no such code") == ()


def test_a_finding_on_a_computed_figure_leads_to_a_question() -> None:
    for twin in TWINS:
        for finding in afresh(document(twin.site)).findings if twin.code in OWN else ():
            if finding.code == twin.code:
                assert not finding.about.startswith("plan."), f"{twin.code} is about no question"


@pytest.mark.parametrize("name", paper_sites.NAMES)
def test_every_finding_of_a_sample_is_looked_at(name: str) -> None:
    """What is offered there works; what a way takes for granted about a finding holds."""
    made = {key: value for key, value in tomllib.loads((paper_sites.SAMPLES / name / "site.toml").read_text(encoding="utf-8")).items() if key != "plan"}
    replanner = Replanner()
    for finding in afresh(made).findings:
        for cure in cures(made, finding.code, finding.about, replanner).cures:
            sound(made, finding.code, finding.about, cure)


# --- ways that no twin goes ---


def offered(site: Changes, code: str) -> list[dict[str, str]]:
    made = document(site)
    finding = next(f for f in afresh(made).findings if f.code == code)
    return [dict(cure.answers) for cure in cures(made, code, finding.about, Replanner()).cures]


def test_no_more_units_than_may_act_together() -> None:
    site = THREE | UNTRACED | {"set.count": None, "loads": [load("5.5 kW")]}
    assert offered(site, "phase-overloaded") == [{"set.per_phase": "2, 1, 1"}]
    assert offered(site | {"unit.max_units": 3}, "phase-overloaded") == []
    for count in (3, None):  # answered, or found by the planner
        assert offered(FREE_SET | {"set.count": count, "unit.max_units": 3, "loads": [load("5.5 kW")]}, "phase-overloaded") == []


def test_more_units_come_with_a_bank_that_feeds_them() -> None:
    """Four units of 5 kW at 46 V and 93 % draw 467.5 A; from a bar six strings of 60 A give 360 A, eight 480 A."""
    bank = {"storage.bank.feed": "bar", "storage.module.discharge_current": "60 A"}
    site = THREE | UNTRACED | bank | {"set.count": None, "loads": [load("5.5 kW")]}
    assert offered(site, "phase-overloaded") == [{"set.per_phase": "2, 1, 1", "storage.bank.parallel": "8"}]


def test_strings_are_counted_by_the_one_limit_that_is_known() -> None:
    """A string of seven: cold 379.2 V, hot 244.7 V (see the twins); one panel less is 325 V, one more 279.6 V."""
    assert offered(SUN | ONE | {"unit.solar.mppt_min": None, "unit.solar.voltage_max": "379 V"}, "cold-voc-above-limit") == [{"solar.series": "6"}]
    assert offered(SUN | ONE | {"unit.solar.voltage_max": None, "unit.solar.mppt_min": "245 V"}, "hot-vmp-below-window") == [{"solar.series": "8"}]
    assert offered(SUN | ONE | {"unit.solar.mppt_min": None, "unit.solar.voltage_max": "40 V"}, "cold-voc-above-limit") == [], "not one panel fits"


def test_too_few_units_for_the_phases_are_left_to_the_planner() -> None:
    assert offered(FREE_SET | {"set.count": None, "set.per_phase": [2], "loads": [load()]}, "per-phase-contradicts-arrangement") == [{"set.per_phase": ""}]


def test_what_was_answered_of_a_route_is_changed_where_it_stands() -> None:
    hot = ONE | {"site.ambient_max": "66 degC", "routes": [route("load", insulation="pvc"), route("battery", method="C"), route("incoming", to="L1-1", insulation="pvc")]}
    assert offered(hot, "ambient-above-insulation") == [
        {"routes[0].insulation": "xlpe", "routes[2].insulation": "xlpe", "routes[1].insulation": "xlpe", "routes[3].carries": "incoming", "routes[3].insulation": "xlpe"}
    ]
    for_one = ONE | {"routes": [route("load", method="B2"), route("load", to="L1-1", grouped=21)]}
    assert {"routes[0].method": "C"} in offered(for_one, "grouping-beyond-table")
    assert {"routes[1].grouped": "20"} in offered(for_one, "grouping-beyond-table")


def test_what_was_answered_for_one_data_cable_goes_where_all_have_an_answer() -> None:
    one, every = route("comms", to="L2-1", lane="1 m"), route("comms", lane="1 m")
    assert offered({"routes": [one]}, "route-of-all-data") == [{"routes[0].lane": "", "routes[1].carries": "comms", "routes[1].lane": "1 m"}]
    assert offered({"routes": [one, every]}, "route-of-all-data") == [{"routes[0].lane": ""}]
    assert offered({"routes": [route("comms", to="L2-1", containment="solid")]}, "route-of-all-data") == [{"routes[0].containment": "", "routes[1].carries": "comms", "routes[1].containment": "solid"}]


def test_of_a_board_and_a_unit_the_unit_is_moved() -> None:
    """The board's edge is at 1.15 m, the unit's at 1.3 m: it needs 5 cm more."""
    board = {"what": "load-board", "x": "1 m", "y": "1.5 m", "width": "0.3 m", "height": "0.5 m"}
    places = [board, *(place for place in hung(L1_1={"x": "1.5 m"}, L2_1={"x": "2.3 m"})["wall.places"] if place["what"] != "load-board")]
    site = hung() | {"wall.places": places}
    assert offered(site, "clearance-too-small")[0] == {"wall.places[1].x": "1.55 m", "wall.places[1].y": "1.5 m"}


def test_no_more_is_offered_than_a_person_reads(monkeypatch: pytest.MonkeyPatch) -> None:
    site = hung(B1={"x": "0.2 m"})
    assert len(offered(site, "off-the-wall")) == 2
    monkeypatch.setattr(search, "OFFERED", 1)
    assert len(offered(site, "off-the-wall")) == 1


def test_copper_elsewhere_is_no_cure() -> None:
    site = ONE | {"routes": [route("battery", length="900 m"), route("load", metal="aluminium")]}
    assert offered(site, "no-conductor-will-do") == []


def test_what_no_file_may_hold_is_not_offered() -> None:
    """A list that is full takes no entry more."""
    site = ONE | {"routes": [route("solar") for _ in range(500)]}
    assert offered(site, "terminal-too-small") == []
