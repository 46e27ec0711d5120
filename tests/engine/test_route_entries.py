"""Entries on how cables run: which one counts for a circuit, what they may name, and what is listed as assumed (S16)."""

from __future__ import annotations

from itertools import permutations

import pytest

from engine.findings import Level

from .paper_sites import SOLAR, planned

GENERAL = {"carries": "load", "method": "C", "length": "4 m", "insulation": "xlpe"}
OWN = {"carries": "load", "to": "L1-1", "length": "25 m"}


def routes(*entries, **more):
    return planned({"routes": list(entries), **more})


def found(plan, code):
    return [f for f in plan.findings if f.code == code]


def listed(plan):
    return {row.key for row in plan.plan.assumed}


@pytest.mark.parametrize("entries", list(permutations([GENERAL, OWN, {"carries": "load", "to": "load-board", "method": "B1"}])))
def test_the_more_specific_entry_wins_key_by_key_in_any_order(entries):
    """25 m of its own for one unit with the kind's method; the board's circuit has its own method and the kind's length."""
    plan = routes(*entries)
    facts, runs = plan.facts, plan.parts.wall.runs
    assert [runs[f"load {end}"].length.value for end in ("L1-1", "L2-1", "L3-1", "common")] == [25, 4, 4, 4]
    assert [facts.route("load", to, "method") for to in ("L1-1", "L2-1", "load-board")] == ["C", "C", "B1"]
    assert facts.route("load", "L1-1", "insulation") == "xlpe"
    assert not found(plan, "routes-contradict")


def test_an_answer_for_the_kind_keeps_its_key():
    """A figure goes by the key that its entry has in the file, so that `why` and the interview find it."""
    facts = routes(GENERAL, OWN).facts
    assert facts.route_figure("load", "L2-1", "length").key == "routes[load].length"
    assert facts.route_figure("load", "L1-1", "length").key == "routes[load L1-1].length"
    assert facts.route_figure("load", None, "extra").key == "routes[load].extra"


def test_two_entries_of_one_reach_that_contradict_are_a_caution_and_the_later_is_taken():
    """Both keys and both values are named, once for each thing they differ in; what they agree on is no finding."""
    plan = routes(GENERAL, {"carries": "load", "method": "B2", "length": "9 m", "insulation": "xlpe"})
    told = found(plan, "routes-contradict")
    assert [(f.level, f.about) for f in told] == [(Level.CAUTION, "routes[load #2].method"), (Level.CAUTION, "routes[load #2].length")]
    assert "routes[load].method = C, routes[load #2].method = B2" in told[0].text
    assert "routes[load].length = 4 m, routes[load #2].length = 9 m" in told[1].text
    assert plan.parts.wall.runs["load L2-1"].length.value == 9
    twice = routes(OWN, {**OWN, "length": "3 m", "note": "another remark"})
    assert [f.about for f in found(twice, "routes-contradict")] == ["routes[load L1-1 #2].length"]
    assert twice.parts.wall.runs["load L1-1"].length.value == 3


@pytest.mark.parametrize(
    ("carries", "to", "nearest"),
    [
        ("load", "L11", "L1-1"),
        ("load", "L2_1", "L2-1"),
        ("load", "l1-1", "L1-1"),
        ("load", "load board", "load-board"),
        ("battery", "b-1", "B1"),
        ("incoming", "the incoming board", "incoming-board"),
        ("earth", "earthbar", "earth-bar"),
        ("comms", "L2 1", "L2-1"),
        ("comms", "b1", "B1"),
        ("solar", "l3 1", "L3-1"),
    ],
)
def test_a_name_that_no_circuit_ends_at_stops_the_plan_and_names_the_nearest(carries, to, nearest):
    """A unit, bank or place that is not there, or misspelt; the chain begins at the lead, so no data cable ends there."""
    plan = routes({"carries": carries, "to": to, "length": "3 m"}, **SOLAR)
    (told,) = found(plan, "route-to-nowhere")
    assert (told.level, told.about) == (Level.STOP, f"routes[{carries} {to}].to")
    assert f"Write {nearest} if that is meant" in told.remedy
    assert "What it says (length) is used nowhere" in told.text


@pytest.mark.parametrize(("carries", "to"), [("load", "L9-1"), ("battery", "B2"), ("comms", "L1-1"), ("solar", "L4-1"), ("load", "kitchen")])
def test_a_name_that_is_like_none_gets_all_that_there_are_and_no_guess(carries, to):
    """Another number is another unit: L9-1 is no slip of L1-1; the chain begins at the lead, so no data cable ends there."""
    plan = routes({"carries": carries, "to": to, "length": "3 m"}, **SOLAR)
    (told,) = found(plan, "route-to-nowhere")
    assert "if that is meant" not in told.remedy
    assert told.remedy.startswith(f"{carries.capitalize()} circuits end at ")
    assert "L3-1" in told.remedy


@pytest.mark.parametrize(("carries", "to"), [("load", "L2-1"), ("load", "load-board"), ("battery", "B1"), ("earth", "earth-bar"), ("comms", "L3-1"), ("comms", "B1"), ("solar", "L3-1"), ("incoming", "incoming-board")])
def test_a_name_that_a_circuit_ends_at_is_no_finding(carries, to):
    """Units, the bank, the boards, the earth bar, and the bank's data cable."""
    assert not found(routes({"carries": carries, "to": to, "extra": "0.4 m"}, **SOLAR), "route-to-nowhere")


def test_a_wrong_name_changes_nothing_else():
    """Beside the stop the plan is the one without the entry, and what the entry said is listed as assumed where it was."""
    plan, without = routes({"carries": "load", "to": "L9-1", "method": "C", "length": "3 m"}), routes()
    assert plan.plan.circuits == without.plan.circuits
    assert plan.plan.assumed == without.plan.assumed
    assert [f for f in plan.findings if f.code != "route-to-nowhere"] == list(without.findings)
    kept = routes({"carries": "load", "to": "L9-1", "length": "3 m"}, {"carries": "load", "method": "E"})
    assert kept.facts.route("load", "L1-1", "method") == "E"


def test_what_this_site_has_none_of_cannot_be_named():
    """Without solar there is no nearest end; and while the banks are not known their ends are let be."""
    (told,) = found(routes({"carries": "solar", "to": "L1-1", "length": "3 m"}), "route-to-nowhere")
    assert told.remedy == "Take the entry away: nothing here carries solar."
    open_ = planned({"routes": [{"carries": "battery", "to": "L1-1", "length": "3 m"}]}, without=("storage.connection", "storage.wired"))
    assert found(open_, "connection-unanswered")
    assert not found(open_, "route-to-nowhere")
    no_units = planned({"routes": [OWN]}, without=("output.arrangement", "set"))
    assert not found(no_units, "route-to-nowhere")


def test_an_entry_that_does_not_say_what_it_carries_stops_the_plan():
    """With its key, and with what is lost by it."""
    plan = routes(GENERAL, {"method": "E", "lane": "0.4 m"}, {"to": "L1-1", "length": "2 m"})
    told = found(plan, "route-without-kind")
    assert [(f.level, f.about) for f in told] == [(Level.STOP, "routes[#2].carries"), (Level.STOP, "routes[L1-1].carries")]
    assert "(lane, method)" in told[0].text
    assert plan.parts.wall.runs["load L1-1"].length.value == 4


ENDS = ("L1-1", "L2-1", "L3-1", "load-board")


def test_what_each_circuit_has_answered_is_not_assumed():
    """The method of every load circuit is answered one by one: it is not assumed for the kind; its metal is."""
    plan = routes(*({"carries": "load", "to": to, "method": "C"} for to in ENDS))
    assert "routes[load].method" not in listed(plan)
    assert "routes[load].method" not in plan.figures
    assert {"routes[load].metal", "routes[load].insulation", "routes[incoming].method"} <= listed(plan)
    assert plan.plan.circuits == routes({"carries": "load", "method": "C"}).plan.circuits


@pytest.mark.parametrize("left", ENDS)
def test_what_one_circuit_lacks_is_assumed_for_it_and_listed(left):
    """One of the four without a method: B2 is taken for that one and told."""
    plan = routes(*({"carries": "load", "to": to, "method": "C", "lane": "2.2 m"} for to in ENDS if to != left))
    assert {"routes[load].method", "routes[load].lane"} <= listed(plan)
    assert plan.facts.route("load", left, "method") == "B2"


def test_what_is_not_there_is_not_assumed():
    """One unit without a data cable: nothing is taken for data cables; no incoming side: nothing for its cables."""
    alone = planned({"output.arrangement": "single-phase", "set.count": 1, "set.per_phase": [1], "incoming.kind": "none", "storage.links": [], "storage.managed": False, "storage.wired": {"L1-1": "B1"}})
    assert not [key for key in listed(alone) if key.startswith(("routes[comms]", "routes[incoming]"))]
    assert "routes[load].method" in listed(alone)


def test_lane_and_divider_of_data_cables_are_answered_for_all_of_them():
    """An entry for one link cannot move the lane: it is a caution, and the kind's lane is still listed."""
    one = [{"carries": "comms", "to": to, "lane": "0.7 m", "extra": "0.2 m"} for to in ("L2-1", "L3-1", "B1")]
    plan = routes(*one)
    assert [f.about for f in found(plan, "route-of-all-data")] == [f"routes[comms {to}].lane" for to in ("L2-1", "L3-1", "B1")]
    assert "routes[comms].lane" in listed(plan)
    assert "routes[comms].extra" not in listed(plan)
    assert plan.parts.wall.lanes["comms"] == 0.95


def test_a_lane_of_one_circuit_above_the_wall_is_told_by_its_own_key():
    """The kind's lane is on the wall, that of one unit's cable is not."""
    plan = routes({"carries": "load", "to": "L2-1", "lane": "3 m"}, **{"wall.width": "4 m", "wall.height": "2.4 m"})
    (told,) = found(plan, "lane-above-ceiling")
    assert told.about == "routes[load L2-1].lane"
