"""The load board has an earth conductor of its own, and the neutral-earth link a conductor: sizes by hand, and that both are bought, landed, read."""

from __future__ import annotations

import pytest

from engine.findings import Level
from engine.model.acts import Act, Verb
from engine.stages.procedure import course
from engine.tables.conductors import smallest_of
from engine.tables.earth import system_jumper
from engine.tables.sizes import read_size
from tests.defence.sites import NEC, codes, found, routes, site, size, sized, split
from tests.generated.sites import site as random_site
from tests.model.test_wired import of_document

NAME = "earth load-board"
NOTHING = {"incoming.kind": "none", "incoming.breaker": None, "incoming.prospective_fault": None}
# 16 A lines, whose own sizes are small.
SMALL = {"unit.transfer_current": "16 A", "incoming.breaker": "16 A", "incoming.prospective_fault": "1 kA", "unit.real_power": "2 kW", "unit.apparent_power": "2 kVA", "unit.surge_power": "2 kVA"}
LINK = "plan.earthing.link"


def boards(plan) -> dict[str, str]:
    return {board: ends.name for board, ends in plan.parts.circuits.boards().items()}


@pytest.mark.parametrize(("changes", "earths"), [
    ({}, {"load board": NAME, "incoming board": "earth common"}),
    (split(1), {"load board": NAME, "incoming board": "earth common"}),
    ({"incoming.kind": "generator", "incoming.rating": "30 kVA"}, {"load board": NAME, "incoming board": "earth common"}),
    (NOTHING, {"load board": "earth common"}),
])
def test_every_board_is_joined_to_the_earth_bar_once(changes, earths) -> None:
    plan = site(changes)
    assert boards(plan) == earths
    of_set = [ends for ends in plan.parts.circuits.circuits if ends.kind == "earth" and ends.common]
    assert [ends.name for ends in of_set] == (["earth common", NAME] if len(earths) == 2 else ["earth common"])
    assert {ends.name for ends in of_set} == set(plan.parts.conductors.of) & {"earth common", NAME}


@pytest.mark.parametrize("number", range(12))
def test_no_plan_leaves_a_board_without_earth(number) -> None:
    """Random sites: where there are units, the load board has its conductor, and the incoming board where something comes in."""
    plan = of_document(random_site(number))
    if plan.parts.units.units:
        ends = {place for circuit in plan.parts.circuits.circuits for place in (circuit.start, circuit.end)}
        assert set(boards(plan)) == {"load board", "incoming board"} & ends
        assert "load board" in boards(plan)


def test_a_route_says_how_it_runs_and_nothing_else() -> None:
    """S16: 7 m were measured of it alone."""
    plan = site({"routes": routes({"carries": "earth", "to": "load-board", "length": "7 m"})})
    assert {name: plan.parts.wall.runs[name].length.value for name in (NAME, "earth common", "earth L1-1")} == {NAME: 7.0, "earth common": 3.0, "earth L1-1": 3.0}
    lost = site(NOTHING | {"routes": routes({"carries": "earth", "to": "load-board", "length": "7 m"})})
    assert found(lost, "route-to-nowhere").level is Level.STOP


@pytest.mark.parametrize(("changes", "asked", "conductor", "decides"), [
    # Lines of 6 mm2 (40 A, just 41 A by method C): as large. 2 kA for 0.02 s is 80 kA2s, sqrt / 143: 1.98 mm2. By itself 4 mm2.
    ({}, {"6 mm2", "2.5 mm2", "4 mm2"}, "6 mm2", "device"),
    # Two units a phase: two devices of 40 A, 80 A, 25 mm2 (101 A): 16 mm2; the incoming lines of 6 mm2: 6 mm2.
    (split(2, 2, 2), {"16 mm2", "6 mm2", "2.5 mm2", "4 mm2"}, "16 mm2", "device"),
    # Four on one phase: 160 A, 50 mm2 (168 A among two loaded): half of it, 25 mm2.
    (split(4), {"25 mm2", "6 mm2", "2.5 mm2", "4 mm2"}, "25 mm2", "device"),
    # Lines of 1.5 mm2; 1 kA for 0.02 s, 20 kA2s: 0.99 mm2; outside a conduit at least 4 mm2 (543.1.3).
    (SMALL, {"1.5 mm2", "4 mm2"}, "4 mm2", "smallest size"),
    # NEC: 60 A of load common and 40 A of what comes in: both 10 AWG (250.122); lines of 4 AWG feed what the link joins: 8 AWG (250.102(C)(1)).
    (NEC, {"10 AWG", "8 AWG"}, "8 AWG", "device"),
    # The same without a link of its own: 250.122 alone.
    (NEC | {"earthing.island_bond": "unit relay"}, {"10 AWG"}, "10 AWG", "device"),
    # Four on one phase: 4 x 60 A, 250 A: 4 AWG; 250 kcmil: 2 AWG.
    (NEC | split(4), {"4 AWG", "10 AWG", "2 AWG"}, "2 AWG", "device"),
    # In aluminium, 350 kcmil of aluminium: 1/0 AWG; 250 A: 2 AWG; 40 A: 8 AWG, and none is made below 4 AWG (S14); copper of 8 AWG: 6 AWG.
    (NEC | split(4) | {"routes": routes(load={"metal": "aluminium"}, earth={"metal": "aluminium"})}, {"2 AWG", "4 AWG", "1/0 AWG"}, "1/0 AWG", "device"),
])
def test_the_load_boards_earth_is_the_largest_of_what_the_rules_ask(changes, asked, conductor, decides) -> None:
    """IEC 60364-5-54 table 54.2 and 543.1.2; NFPA 70 (NEC) tables 250.122 and 250.102(C)(1)."""
    plan = site(changes)
    assert size(plan, NAME) == (conductor, decides)
    assert {criterion.asked for criterion in sized(plan, NAME).decision} == asked
    assert all(criterion.passed for criterion in sized(plan, NAME).decision)


def test_it_stands_what_reaches_the_board() -> None:
    """S4: 7.07 kA for 0.02 s are 1 MA2s. Copper in PVC laid apart, k 143 from 30 degC, stands it with 1000 / 143 = 6.99 mm2, whatever the lines
    are made of; aluminium, k 95, with 10.5 mm2.
    """
    strong = {"incoming.prospective_fault": "7.07 kA"}
    asked = {c.name: c.text for c in sized(site(strong | {"routes": routes(load={"insulation": "xlpe"}, incoming={"insulation": "xlpe"})}), NAME).decision}
    assert "6.992 mm2" in asked["withstand"]
    light = {c.name: c.text for c in sized(site(strong | {"routes": routes(earth={"metal": "aluminium"})}), NAME).decision}
    assert "10.52 mm2" in light["withstand"]


def test_a_load_board_that_feeds_too_much_for_one_conductor_is_told() -> None:
    """T5: 4 x 300 mm2 would need 600 mm2: no single conductor is made."""
    plan = site(split(24) | {"unit.transfer_current": "63 A", "incoming.breaker": "63 A"})
    lines = sized(plan, "load common")
    assert (lines.parallel, str(lines.conductor)) == (4, "300 mm2")
    assert "earth-not-sized" in codes(plan)
    assert NAME in {where for finding in plan.findings if finding.code == "earth-not-sized" for where in (finding.about.partition("[")[2].partition("]")[0],)}
    assert plan.parts.conductors.link is None


@pytest.mark.parametrize(("changes", "conductor"), [
    # As the earth of the load board, 6, 16, 25 mm2; where that is 4 mm2, a main bonding conductor: 6 mm2.
    ({}, "6 mm2 copper"),
    (split(2, 2, 2), "16 mm2 copper"),
    (split(4), "25 mm2 copper"),
    (SMALL, "6 mm2 copper"),
    (SMALL | {"routes": routes(earth={"metal": "aluminium"})}, "16 mm2 aluminium"),
    ({"earthing.island_bond": "fixed link", "earthing.system": "TN-C-S"}, "6 mm2 copper"),
    # Nothing comes in: earth common is the load board's, and no smaller than the units' 6 mm2.
    (NOTHING, "6 mm2 copper"),
    (NEC, "8 AWG copper"),
    (NEC | split(4), "2 AWG copper"),
])
def test_the_links_conductor_is_no_smaller_than_the_load_boards_earth(changes, conductor) -> None:
    """T21; IEC 60364-5-54 544.1.1; NFPA 70 (NEC) 250.28(D)."""
    plan = site(changes)
    link = plan.parts.conductors.link
    assert str(link) == str(plan.figures[LINK]) == conductor
    board = plan.parts.circuits.boards()["load board"]
    assert link.value >= sized(plan, board.name).conductor.area
    [row] = [row for row in plan.plan.switchgear if row.kind == "neutral-earth bond"]
    assert row.conductor == conductor
    [line] = [line for line in plan.plan.bill if line.item == "neutral-earth bond link"]
    assert line.specification == f"{row.name}, with its conductor of {conductor} or more, length to be measured"
    [step] = [step for step in plan.parts.procedure.steps if step.id == "land-set@set"]
    assert step.expect.endswith(f"; the link with {conductor} or more")
    assert "no smaller than the earth conductor of the load board" in link.note


@pytest.mark.parametrize("bond", ["unit relay", "none"])
def test_no_link_no_conductor(bond) -> None:
    plan = site({"earthing.island_bond": bond, "earthing.system": "IT"})
    assert plan.parts.conductors.link is None
    assert LINK not in plan.figures
    assert "neutral-earth bond link" not in [line.item for line in plan.plan.bill]
    assert all(row.conductor is None for row in plan.plan.switchgear)
    assert "the link" not in next(step.expect for step in plan.parts.procedure.steps if step.id == "land-set@set")


def test_a_link_of_unknown_size_says_so() -> None:
    plan = site(without=("unit.real_power", "unit.apparent_power", "unit.surge_power"))
    assert plan.parts.conductors.link is None
    [line] = [line for line in plan.plan.bill if line.item == "neutral-earth bond link"]
    assert "a size not computed" in line.specification
    assert "the link's conductor: not computed" in next(step.expect for step in plan.parts.procedure.steps if step.id == "land-set@set")


def test_it_is_cut_and_gets_its_lugs() -> None:
    plan = site()
    [cut] = [cut for cut in plan.parts.bill.cuts if cut.circuit == NAME]
    assert (cut.pole, str(cut.size), cut.colour, cut.length.value) == ("PE", "6 mm2", "green-and-yellow", 3.0)
    assert sum(line.quantity for line in plan.plan.bill if line.item == "cable lug" and NAME in line.goes_to) >= 2


@pytest.mark.parametrize(("changes", "read"), [({}, ["load board", "incoming board"]), (split(1), ["load board", "incoming board"]), (NOTHING, ["load board"])])
def test_the_boards_are_read_before_a_unit_hides_a_missing_conductor(changes, read) -> None:
    plan = site(changes)
    steps = {step.id: step for step in plan.parts.procedure.steps}
    doings = {step.id: doing for step, doing in course(plan.facts, plan.parts)}
    step, doing = steps["boards-earth@set"], doings["boards-earth@set"]
    assert steps["land-set@set"].place < step.place < steps["land@L1-1"].place
    assert step.hold
    assert [item.at for item in doing] == [(f"{board} PE", "earth bar") for board in read]
    assert {item.most for item in doing} == {0.5}
    assert step.expect == ("below 0.5 ohm each" if len(read) == 2 else "below 0.5 ohm")
    assert step.got == (tuple(read) if len(read) == 2 else ())
    landed = [item.thing for item in doings["land-set@set"] if isinstance(item, Act) and item.verb is Verb.LAND]
    assert set(boards(plan).values()) <= set(landed)


@pytest.mark.parametrize(("lines", "of", "jumper", "asked"), [
    # Worked in public: 250 kcmil 2 AWG, three of them 2/0 AWG (thebuildingcodeforum.com, thread 26483); four of 500 kcmil 250 kcmil
    # (forums.mikeholt.com, thread 27781); 500 kcmil 1/0 AWG.
    (250, "copper", "copper", "2 AWG"),
    (750, "copper", "copper", "2/0 AWG"),
    (2000, "copper", "copper", "250 kcmil"),
    (500, "copper", "copper", "1/0 AWG"),
    # The ends of the steps, and what lies beyond; 12.5 % of 1200 kcmil are 150 kcmil, 3/0 AWG is 167.8; of 1101 no less than the last step.
    (350, "copper", "copper", "2 AWG"),
    (351, "copper", "copper", "1/0 AWG"),
    (600, "copper", "copper", "1/0 AWG"),
    (1100, "copper", "copper", "2/0 AWG"),
    (1102, "copper", "copper", "3/0 AWG"),
    (1750, "aluminium", "aluminium", "4/0 AWG"),
    # 2000 kcmil of aluminium: 250 kcmil of it; copper that carries as much is 1257 kcmil: 157 kcmil.
    (2000, "aluminium", "aluminium", "250 kcmil"),
    (2000, "aluminium", "copper", "3/0 AWG"),
    # 2000 kcmil of copper carry as 3182 of aluminium: 398 kcmil.
    (2000, "copper", "aluminium", "400 kcmil"),
])
def test_the_system_jumper_of_the_nec(lines, of, jumper, asked) -> None:
    size_ = smallest_of(system_jumper(lines * read_size("250 kcmil").area / 250, of, jumper).value, "nec", jumper)
    assert size_ is not None
    assert size_.label == asked
