"""S15 to S20 defended: names, routes, lengths, like circuits, ways over the wall, ports."""

from __future__ import annotations

import pytest

from tests.defence import sites
from tests.defence.twins import ONE, SUN, Changes, circuit, codes, hung, planned, route

FOUR: Changes = {"set.count": None, "set.per_phase": [2, 1, 1], "storage.wired": {}}


def names(site: Changes) -> list[str]:
    return [row.name for row in planned(site).plan.circuits]


def test_s15_circuits_are_named_by_kind_and_what_they_serve() -> None:
    """S15: one unit has nothing in common with others, several on one bank have a bar, several banks of one unit each have none."""
    assert sorted(names(ONE | SUN)) == sorted(["earth common", "earth load-board", *(f"{kind} L1-1" for kind in ("earth", "battery", "load", "solar", "incoming"))])
    units = ("L1-1", "L1-2", "L2-1", "L3-1")
    of_units = [f"{kind} {tag}" for kind in ("earth", "battery", "load", "incoming") for tag in units]
    assert sorted(names(FOUR)) == sorted(["earth common", "earth load-board", "battery B1", "load common", "incoming common", *of_units])
    assert circuit(FOUR, "battery L1-2").from_ == "bar B1"
    apart = {"storage.connection": "bank-per-unit", "storage.wired": {}}
    assert [name for name in names(apart) if name.startswith("battery")] == ["battery L1-1", "battery L2-1", "battery L3-1"]
    assert circuit(apart, "battery L2-1").from_ == "B2"


OWN, KIND = route("load", to="L1-1", length="9 m"), route("load", length="3 m", method="C", grouped=6)


@pytest.mark.parametrize("routes", [(OWN, KIND), (KIND, OWN)])
def test_s16_the_more_specific_entry_wins_key_by_key_in_whatever_order(routes: tuple[Changes, ...]) -> None:
    """S16: L1-1 has a length of its own and the method of its kind: at 40 degC six on a wall, 63 x 0.87 x 0.72 = 39.5 A for 10 mm2, so 16 mm2."""
    own, other = (circuit({"routes": list(routes)}, f"load {tag}") for tag in ("L1-1", "L2-1"))
    assert (own.length, other.length) == ("9 m", "3 m")
    # Method B2 as it is assumed: 69 x 0.87 x 0.57 = 34.2 A, so 25 mm2.
    assert own.conductor == other.conductor == "16 mm2"
    assert "routes-contradict" not in codes({"routes": list(routes)})


@pytest.mark.parametrize(("last", "size"), [("C", "16 mm2"), ("B2", "25 mm2")])
def test_s16_of_two_that_contradict_the_later_is_taken_and_told(last: str, size: str) -> None:
    """S16"""
    first = {"C": "B2", "B2": "C"}[last]
    site = {"routes": [route("load", length="3 m", method=first, grouped=6), route("load", method=last)]}
    assert circuit(site, "load L1-1").conductor == size
    assert "routes-contradict" in codes(site)


def test_s16_a_name_that_no_circuit_ends_at_stops_with_the_nearest() -> None:
    """S16: L1_1 may mean L1-1, L1-11 is another unit's number."""
    found = next(f for f in planned(ONE | {"routes": [route("incoming", to="L1_1", length="3 m")]}).findings if f.code == "route-to-nowhere")
    assert found.level == "stop"
    assert "Write L1-1 " in found.remedy


@pytest.mark.parametrize(("said", "length"), [({}, "2.7 m"), ({"extra": "0.56 m"}, "2.8 m"), ({"extra": "0.55 m"}, "2.7 m"), ({"length": "2.71 m", "extra": "1 m"}, "2.71 m")])
def test_s17_the_allowance_counts_once_and_measured_lengths_take_none(said: Changes, length: str) -> None:
    """S17: from the board's centre at 0.25 m, 1.5 m up to the lane at 2.25 m, along to 0.9 m and down to 1.5 m: 0.75 + 0.65 + 0.75 = 2.15 m;
    with 0.5 m 2.65 m, cut as 2.7 m; with 0.56 m 2.71 m, as 2.8 m."""
    assert circuit(hung() | {"routes": [route("incoming", **said)]}, "incoming L1-1").length == length


def test_s18_like_circuits_are_cut_to_the_longest_and_measured_ones_never() -> None:
    """S18: by themselves the outer units' leads are longer than the middle one's; one that was measured stays."""
    lengths = [circuit(hung(), f"battery L{n}-1").length for n in (1, 2, 3)]
    assert lengths == ["3.7 m"] * 3
    measured = hung() | {"routes": [route("battery", to="L2-1", length="2.2 m")]}
    assert [circuit(measured, f"battery L{n}-1").length for n in (1, 2, 3)] == ["3.7 m", "2.2 m", "3.7 m"]
    assert [circuit(hung(), f"load L{n}-1").length for n in (1, 2, 3)] == ["4.6 m", "3.6 m", "2.6 m"]  # of three phases


def test_s18_one_conductor_across_the_kind() -> None:
    """S18: 40 m to L2-1 asks for more than the fuse does, and all get it; so do the loads of the other phases."""
    far, near = route("battery", to="L2-1", length="40 m"), route("battery", length="2 m")
    alone = circuit({"routes": [near]}, "battery L1-1").conductor
    sizes = {circuit({"routes": [far, near]}, f"battery L{n}-1").conductor for n in (1, 2, 3)}
    assert len(sizes) == 1
    assert sizes != {alone}
    loads = {"routes": [route("load", to="L2-1", length="90 m"), route("load", length="2 m")]}
    assert (circuit(loads, "load L2-1").governed_by, circuit(loads, "load L1-1").governed_by) == ("drop", "like circuits")
    assert circuit(loads, "load L1-1").conductor == circuit(loads, "load L2-1").conductor != circuit({}, "load L1-1").conductor


@pytest.mark.parametrize(("together", "conductors"), [(10, {"2 x 185 mm2"}), (11, {None})])
def test_s18_what_one_circuit_asks_for_must_do_for_its_like_too(together: int, conductors: set[str | None]) -> None:
    """S18: 60 m to L2-1 ask for two conductors a pole. L1-1 lies in one trunking with others: ten with two each are the 20 circuits that the
    table of grouping factors ends with; eleven would be 22, so that no conductor is right for both, and L1-1 says why."""
    crowded = {"carries": "battery", "to": "L1-1", "method": "B2", "grouped": together, "length": "1 m"}
    plan = sites.site({"routes": sites.routes(crowded, {"carries": "battery", "to": "L2-1", "length": "60 m"})})
    named = [sites.size(plan, f"battery L{n}-1")[0] if sites.sized(plan, f"battery L{n}-1").conductor else None for n in (1, 2, 3)]
    assert set(named) == conductors
    told = [f.about for f in plan.findings if f.code == "no-conductor-will-do"]
    assert told == ([] if conductors != {None} else ["plan.circuits[battery L1-1].conductor"])


@pytest.mark.parametrize(("length", "told"), [("3.3 m", False), ("3.32 m", True)])
def test_s18_a_spread_above_ten_percent_of_the_mean_is_told(length: str, told: bool) -> None:
    """S18: 3, 3 and 3.3 m lie 0.3 / 3.1 = 9.7 % apart, 3, 3 and 3.32 m 0.32 / 3.107 = 10.3 %; of the largest it were 9.6 %."""
    site = {"routes": [route("battery", length="3 m"), route("battery", to="L1-1", length=length)]}
    assert ("like-circuits-unlike" in codes(site)) is told


def test_s18_measured_circuits_are_compared_though_nobody_knows_their_currents() -> None:
    """S18: a pole of 1 mohm beside one of 1.5 mohm is 0.5 / 1.25 = 40 % of their mean apart, whatever the units' power is."""
    ways = [entry for kind in ("battery", "load") for entry in (route(kind, to="L1-1", resistance="3 mohm"), route(kind, resistance="2 mohm"))]
    plan = planned(FOUR | {"unit.real_power": None, "unit.apparent_power": None, "routes": ways})
    groups = {group.name: group for group in plan.parts.sharing.groups}
    assert groups["load L1"].resistance_spread.value == pytest.approx(0.4)
    assert [lead.current for name in ("battery B1", "load L1") for lead in groups[name].leads] == [None] * 6
    told = [finding for finding in plan.findings if finding.code == "like-circuits-unlike"]
    assert len(told) == 2
    assert not any("They share" in finding.text for finding in told)


def test_s18_units_draw_power_and_only_ac_outputs_share_by_resistance() -> None:
    """S18: leads of 3 and 4 m. Load currents of 80 A in all share 4 / 7 to 3 / 7, 45.7 and 34.3 A; the battery currents stay within 0.1 %."""
    way = [route("battery", to="L1-1", length="3 m"), route("battery", length="4 m"), route("load", to="L1-1", length="3 m"), route("load", length="4 m")]
    groups = {group.name: group for group in planned(FOUR | {"routes": way}).parts.sharing.groups}
    assert [lead.current.value for lead in groups["load L1"].leads] == pytest.approx([80 * 4 / 7, 80 * 3 / 7])
    assert groups["battery B1"].current_spread.value < 0.001


def test_s19_a_cable_begins_at_the_centre_and_runs_in_its_lane() -> None:
    """S19: from (0.9, 1.5) up to 2.1 m, along to 3.8 m, down to 1.5 m: 0.6 + 2.9 + 0.6 + 0.5 = 4.6 m."""
    assert circuit(hung(), "load L1-1").length == "4.6 m"
    assert circuit(hung() | {"routes": [route("load", lane="1.8 m")]}, "load L1-1").length == "4 m"


def test_s19_the_chain_takes_the_order_of_the_least_length() -> None:
    """S19: L3-1 hangs between the other two: 1 m + 1 m in that order, 2 m + 1 m by their names."""
    assert planned(hung(L2_1={"x": "2.9 m"}, L3_1={"x": "1.9 m"})).plan.chain.order == ["L1-1", "L3-1", "L2-1"]
    assert planned(hung()).plan.chain.order == ["L1-1", "L2-1", "L3-1"]


def test_s19_a_route_goes_round_power_but_makes_no_great_detour() -> None:
    """S19: the battery lane runs from unit to unit, 1 m apart. Straight along the link were a breach of 0.8 m; a way of 1.5 x 1 m + 1 m
    = 2.5 m is allowed, and one of 2 m keeps clear (0.5 m more are inside the gear). One of 3.3 m would cross power less often."""
    chain = planned(hung() | {"routes": [route("battery", lane="1.5 m")]}).plan.chain
    assert [link.length for link in chain.links] == ["2.5 m", "2.5 m"]
    assert (chain.beside_power, chain.crossings) == ("0 m", 4)


def test_s19_the_comms_lane_is_a_preference() -> None:
    """S19: on the battery's lane it would breach, so the chain runs straight from unit to unit."""
    chain = planned(hung() | {"routes": [route("comms", lane="0.3 m")]}).plan.chain
    assert (chain.beside_power, chain.length) == ("0 m", "3 m")


def test_s20_ports_of_one_name_are_numbered_and_the_bill_names_the_cables_ends() -> None:
    """S20: a link between two sockets has a plug at each end."""
    plan = planned({"unit.bus.ports": ["socket", "socket"]}).plan
    assert [(link.from_port, link.to_port) for link in plan.chain.links] == [("socket 1", "socket 2")] * 2
    assert next(row.specification for row in plan.bill if row.item == "comms link") == "1.5 m, plug to plug"
    plain = planned({}).plan
    assert [(link.from_port, link.to_port) for link in plain.chain.links] == [("plug", "socket")] * 2
    assert next(row.specification for row in plain.bill if row.item == "comms link") == "1.5 m, plug to socket"


@pytest.mark.parametrize(("end", "at"), [("first", ["Gateway", "L3-1"]), ("last", ["L1-1", "Gateway"])])
def test_s20_a_bus_node_at_an_end_carries_its_terminator(end: str, at: list[str]) -> None:
    """S20"""
    plan = planned({"bus_nodes": [{"name": "Gateway", "end": end}]}).plan
    assert [terminator.unit for terminator in plan.chain.terminators] == at
    assert [terminator.unit for terminator in planned({}).plan.chain.terminators] == ["L1-1", "L3-1"]


def test_t23_one_unit_alone_has_no_chain_that_a_lane_could_be_wrong_for() -> None:
    """T23: data cables in the battery lane are told of where there is a link between units."""
    lane = {"routes": [route("comms", lane="0.3 m")]}
    assert "comms-lane-near-power" in codes(lane)
    assert "comms-lane-near-power" not in codes(ONE | lane)
