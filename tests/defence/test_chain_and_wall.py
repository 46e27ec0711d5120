"""T22, T23 and T24 decide links, terminators, what data keeps clear of, and when it is plugged.

Hand figures rest on: EN 50174-2 (class a 300 mm, b 100 mm; factor 0.6 for 7 to 9, 0.8 for 10 to 12 circuits of 20 A), 200 mm and 300 mm as
common practice, a bus of 25 m at 1 Mbit/s (makers' planning tables).
"""

from __future__ import annotations

import pytest

from engine.findings import Level
from tests.defence.sites import codes, found, routes, site, split

SHARES = (("unit", 0.5, 0.6), ("bank", 0.6, 0.6), ("load-board", 0.4, 0.5), ("incoming-board", 0.2, 0.4), ("earth-bar", 0.4, 0.1))


def at(what: str, x: float, y: float, tag: str | None = None) -> dict[str, object]:
    """One place on the wall, of a usual size."""
    width, height = next((w, h) for name, w, h in SHARES if name == what)
    return {"what": what, "x": f"{x} m", "y": f"{y} m", "width": f"{width} m", "height": f"{height} m"} | ({"tag": tag} if tag else {})


def wall(lead: str = "L1-1", **of: dict[str, object]) -> dict[str, object]:
    """Three units in a row above their bank, every place measured, every length taken from the wall."""
    places = [*(at("unit", x, 1.5, f"L{k}-1") for k, x in enumerate((0.8, 1.8, 2.8), 1)), at("bank", 1.8, 0.3, "B1"), at("load-board", 3.7, 1.5), at("incoming-board", 0.2, 1.5), at("earth-bar", 3.7, 0.6)]
    kinds = [{key: value for key, value in entry.items() if key != "length"} for entry in routes(**of)]
    return {"wall": {"width": "4 m", "height": "2.4 m", "places": places}, "set.lead": lead, "unit.bus.screened": False, "routes": [*kinds, {"carries": "comms"} | of.get("comms", {})]}


def bought(plan, item: str) -> list:
    return [line for line in plan.plan.bill if line.item == item]


@pytest.mark.parametrize(("per_phase", "links"), [((1, 1, 1), 2), ((2, 2, 1), 4), ((2,), 1)])
def test_n_units_take_one_link_less_and_two_terminators(per_phase, links) -> None:
    """T22: n - 1 links and one spare, a terminator at each open end and as many spare, all ordered ahead."""
    plan = site(split(*per_phase))
    chain = plan.parts.chain
    assert len(chain.links) == links
    assert [end.unit for end in chain.terminators] == [chain.order[0], chain.order[-1]]
    cables, ends = bought(plan, "comms link"), bought(plan, "terminator")
    assert sum(line.quantity for line in cables) == links + 1
    assert sum(line.quantity for line in ends) == 4
    assert all(line.order_ahead for line in (*cables, *ends))


@pytest.mark.parametrize("lead", ["L1-1", "L2-1", "L3-1"])
def test_the_lead_is_at_one_end_of_the_chain(lead) -> None:
    """T22: the chain begins at the lead, every unit stands in it once, and the lead carries the first terminator."""
    chain = site({"set.lead": lead}).parts.chain
    assert chain.order[0] == chain.terminators[0].unit == lead
    assert sorted(chain.order) == ["L1-1", "L2-1", "L3-1"]


def test_a_single_unit_has_no_chain() -> None:
    """T22: no link, no terminator."""
    plan = site(split(1))
    assert (plan.parts.chain.links, plan.parts.chain.terminators) == ((), ())
    assert not bought(plan, "comms link")
    assert not bought(plan, "terminator")


@pytest.mark.parametrize(("end", "ends"), [("first", ["Meter", "L3-1"]), ("last", ["L1-1", "Meter"])])
def test_what_hangs_at_an_end_carries_the_terminator(end, ends) -> None:
    """T22: the unit there has none; the node's cable is told, for it is in no length."""
    plan = site({"bus_nodes": [{"name": "Meter", "end": end}]})
    assert [terminator.unit for terminator in plan.parts.chain.terminators] == ends
    assert found(plan, "bus-node-cable").level is Level.NOTE
    assert "bus-node-end-unanswered" not in codes(plan)
    assert "bus-node-cable" not in codes(site())


def test_a_node_of_unknown_end_is_told() -> None:
    """T22: a terminator inside the bus breaks it."""
    assert "bus-node-end-unanswered" in codes(site({"bus_nodes": [{"name": "Meter"}]}), Level.CAUTION)


@pytest.mark.parametrize(("ports", "stops"), [(["plug"], True), (["plug", "socket"], False)])
def test_a_unit_in_the_chain_needs_two_ports(ports, stops) -> None:
    """T22: two neighbours, or a neighbour and a terminator."""
    assert ("one-port" in codes(site({"unit.bus.ports": ports}), Level.STOP)) is stops


def test_the_bus_is_short_enough_for_its_rate() -> None:
    """T22: ten links bought in 3 m are 30 m: too long at 1 Mbit/s (25 m), a caution; not at 800 kbit/s (50 m), nor with eight links."""
    def told(units: int, rate: str) -> bool:
        bus = {"ports": ["plug", "socket"], "link_lengths": ["3 m"], "kind": "CAN", "bit_rate": rate}
        return "bus-too-long-for-rate" in codes(site(split(units) | {"unit.bus": bus, "storage.bank.parallel": 14}), Level.CAUTION)

    assert told(11, "1 Mbit/s")
    assert not told(11, "800 kbit/s")
    assert not told(9, "1 Mbit/s")


@pytest.mark.parametrize(("units", "proven"), [(4, True), (5, False)])
def test_an_order_that_was_not_searched_to_the_end_says_so(monkeypatch, units, proven) -> None:
    """T22: more units than are searched exactly (sixteen; here four, for time) may have a shorter order."""
    monkeypatch.setattr("engine.solvers.order.EXACT", 4)
    plan = site(split(units) | {"storage.bank.parallel": 12, "unit.bus.link_lengths": ["10 m"]})
    assert ("chain-order-unproven" not in codes(plan)) is proven
    assert ("a shorter order may exist (not proven" in plan.parts.chain.proof, "least of all 6 orders" in plan.parts.chain.proof) == (not proven, proven)


# --- separation ---


@pytest.mark.parametrize(("screened", "grouped", "kept"), [
    # 21.7 A are two circuits of 20 A. An unknown cable (class a, 300 mm): four together 8 circuits, 0.6: 180 mm, practice keeps 200 mm; five
    # 10 circuits, 0.8: 240 mm. An unscreened one (class b, 100 mm) 80 mm: 200 mm again.
    (None, 4, 0.2),
    (None, 5, 0.24),
    (False, 5, 0.2),
])
def test_data_keeps_the_larger_of_standard_and_practice(screened, grouped, kept) -> None:
    """T23: from other power the larger of EN 50174-2 and 200 mm, from battery cables 300 mm."""
    changes = wall(load={"grouped": grouped})
    plan = site(changes | {"unit.bus.screened": screened})
    distances = {kind: figure.value for kind, figure in plan.parts.chain.kept.items()}
    assert distances["load"] == pytest.approx(kept)
    assert distances["battery"] == pytest.approx(0.3)


@pytest.mark.parametrize(("kind", "near", "clear", "apart", "wanted"), [("load", "1.91 m", "1.9 m", 0.19, 0.2), ("battery", "0.59 m", "0.6 m", 0.29, 0.3)])
def test_a_data_lane_keeps_its_distance_from_a_power_lane(kind, near, clear, apart, wanted) -> None:
    """T23: load lane at 2.1 m, battery lane at 0.3 m: a data lane 190 mm or 290 mm off is too near, 200 and 300 mm are not; nor with a divider."""
    told = found(site(wall(comms={"lane": near})), "comms-lane-near-power")
    assert kind in told.text
    assert (told.value, told.limit) == (pytest.approx(apart), pytest.approx(wanted))
    assert "comms-lane-near-power" not in codes(site(wall(comms={"lane": clear})))
    assert "comms-lane-near-power" not in codes(site(wall(comms={"lane": near, "containment": "solid"})))


@pytest.mark.parametrize(("lead", "crosses"), [("L2-1", True), ("L1-1", False)])
def test_data_crosses_power_at_right_angles_and_is_told(lead, crosses) -> None:
    """T23: with the middle unit leading, one link passes it, and the cables that rise and drop there; from an end nothing is crossed."""
    plan = site(wall(lead))
    assert ("comms-crosses-power" in codes(plan, Level.NOTE)) is crosses
    assert (plan.parts.chain.crossings > 0) is crosses


@pytest.mark.parametrize(("containment", "beside"), [("none", True), ("solid", False)])
def test_a_link_beside_battery_cables_is_told(containment, beside) -> None:
    """T23: two units one above the other on a strip of wall 0.58 m wide: from the upper one's battery cable in its middle nothing keeps 300 mm."""
    column = (("bank", 0.3, "B1"), ("unit", 1.3, "L1-2"), ("unit", 2.3, "L1-1"), ("load-board", 3.2, None), ("incoming-board", 3.9, None), ("earth-bar", 4.4, None))
    changes = wall(comms={"containment": containment}) | split(2)
    changes["wall"] = {"width": "0.58 m", "height": "5 m", "places": [at(what, 0.29, y, tag) for what, y, tag in column]}
    del changes["set.lead"]
    assert ("comms-beside-power" in codes(site(changes), Level.CAUTION)) is beside


# --- order of work ---


def test_data_is_plugged_after_the_last_battery_isolator_is_closed() -> None:
    """T24: no link, terminator or lead before the last unit is on its bank and read; a pull at every lug long before; taken out again first."""
    steps = site().parts.procedure.steps
    plugs = [step for step in steps if step.section == "chain"]
    assert [step.do.split(".")[0] for step in plugs if "link" in step.do] == ["All units off; every battery isolator closed, its reading right"]
    assert min(step.place for step in plugs) > max(step.place for step in steps if step.section == "battery")
    assert [step.hold for step in steps if step.do.startswith("Pull at every battery lug.") and step.place < plugs[0].place] == [True]
    assert not any("Plug the" in step.do or "plug the" in step.do for step in steps if step.place < plugs[0].place)
    assert "data comes out of a unit before its battery isolator is opened" in plugs[0].otherwise


@pytest.mark.parametrize("side", ["wall.width", "wall.height"])
def test_a_wall_without_a_size_is_told_once(side) -> None:
    """Less than half a millimetre: nothing can be laid on it, and no way between units is missed beside that."""
    told = codes(site({side: "0.4 mm", "unit.bus.link_lengths": ["1 m", "20 m"]}))
    assert "wall-without-size" in told
    assert not told & {"no-way-for-link", "comms-lane-near-power", "comms-beside-power"}


def test_every_way_leads_from_the_start_of_its_circuit_to_its_end() -> None:
    """From a bank to its bar, from the bar to a unit, from a unit to the load board, from the incoming board to a unit, from the earth bar to a case."""
    parts = site(wall()).parts
    centre = {place.name: (place.x, place.y) for place in parts.wall.places}
    laid = {ends.name: parts.wall.runs[ends.name].path for ends in parts.circuits.circuits}
    assert len(laid) == 17
    assert {ends.name: (centre[ends.start], centre[ends.end]) for ends in parts.circuits.circuits} == {name: (path[0], path[-1]) for name, path in laid.items()}


def test_of_two_power_lanes_too_near_the_nearer_one_is_told() -> None:
    """T23: 60 mm above the data lane the load lane, 90 mm below it the incoming lane."""
    told = found(site(wall(load={"lane": "1 m"}, incoming={"lane": "0.85 m"}, comms={"lane": "0.94 m"})), "comms-lane-near-power")
    assert "is 0.06 m from the load lane; 0.2 m is wanted" in told.text
    assert told.value == pytest.approx(0.06)


def test_an_incoming_circuit_is_counted_with_what_passes_through() -> None:
    """T23, EN 50174-2: 100 A passed through are 5 circuits of 20 A, five together 25: P = 2 of 300 mm for an unknown cable."""
    plan = site(wall(incoming={"grouped": 5}) | {"unit.transfer_current": "100 A", "unit.bus.screened": None})
    assert plan.parts.chain.kept["incoming"].value == pytest.approx(0.6)


def test_a_link_is_drawn_from_its_start_to_its_end() -> None:
    """T22: with the last unit leading, every link runs the other way."""
    parts = site(wall("L3-1")).parts
    centre = {place.name: (place.x, place.y) for place in parts.wall.places}
    drawn = [(link.path[0], link.path[-1]) for link in parts.chain.links]
    assert drawn == [(centre["L3-1"], centre["L2-1"]), (centre["L2-1"], centre["L1-1"])]


def test_a_link_beside_one_kind_of_cable_is_told_of_that_kind_alone() -> None:
    """T23: on that strip the lower unit's own battery cable is all that comes nearer than its distance."""
    column = (("bank", 0.3, "B1"), ("unit", 1.3, "L1-2"), ("unit", 2.3, "L1-1"), ("load-board", 3.2, None), ("incoming-board", 3.9, None), ("earth-bar", 4.4, None))
    changes = wall() | split(2)
    changes["wall"] = {"width": "0.58 m", "height": "5 m", "places": [at(what, 0.29, y, tag) for what, y, tag in column]}
    del changes["set.lead"]
    told = found(site(changes), "comms-beside-power")
    assert told.text.startswith("1 of 1 links run beside battery cables nearer than 0.3 m: at least 0.7 m in all, the nearest at 0.25 m;")


def test_an_order_says_whether_it_is_the_shortest() -> None:
    """S19: three units in a row, a metre apart, lead first: 2 orders of the other two, 1 + 1 m. Two units have one order."""
    assert site(wall()).parts.chain.proof == "least of all 2 orders that begin at the lead: 2.000 m of routes"
    assert [site(split(units)).parts.chain.proof for units in (1, 2)] == ["", ""]


@pytest.mark.parametrize(("lanes", "needed", "cure"), [
    # 1 m from centre to centre and 0.5 m inside the gear, in a straight line.
    ({}, 1.5, False),
    # Power lanes at the units' own height are gone round: no straight link with 0.5 m inside is 2 m or longer.
    ({"load": {"lane": "1.3 m"}, "battery": {"lane": "1.5 m"}, "incoming": {"lane": "1.7 m"}}, 2.0, True),
])
def test_a_divider_is_the_cure_of_a_link_only_where_it_goes_round_power(lanes, needed, cure) -> None:
    """T22, T23."""
    plan = site(wall(**lanes) | {"unit.bus.link_lengths": ["1 m"]})
    told = [finding for finding in plan.findings if finding.code == "link-too-long"]
    assert [finding.about for finding in told] == ["plan.chain.links[L1-1 > L2-1].length", "plan.chain.links[L2-1 > L3-1].length"]
    assert all((finding.value >= needed) if cure else (finding.value == pytest.approx(needed)) for finding in told)
    assert [("earthed metal divider" in finding.remedy) for finding in told] == [cure] * 2
