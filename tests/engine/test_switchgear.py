"""What sits in every circuit, in order from its start, pole by pole, and what the bill and the papers make of it."""

import pytest

from engine.stages.switchgear import GearKind
from tests.engine.paper_sites import SOLAR, planned, sample, set_of


def row(plan, name):
    """Kind, place, poles and number of everything in a circuit."""
    return [(gear.kind, gear.place, gear.poles, gear.count) for gear in plan.parts.switchgear.rows[name]]


def test_a_battery_circuit_has_its_fuse_where_it_begins_and_its_isolator_behind_it():
    """T4: the fuse guards the cable from the bank on; both poles where none is earthed."""
    plan = planned()
    both = ("plus", "minus")
    assert row(plan, "battery B1") == [(GearKind.FUSE, "B1", both, 1), (GearKind.ISOLATOR, "B1", both, 1)]
    assert row(plan, "battery L2-1") == [(GearKind.FUSE, "bar B1", both, 1), (GearKind.ISOLATOR, "bar B1", both, 1)]


@pytest.mark.parametrize("earthed, fused", [("minus", "plus"), ("plus", "minus")])
def test_an_earthed_pole_is_isolated_and_never_fused(earthed, fused):
    """S30: a fuse that opens the earthed pole alone leaves the other live to earth."""
    fuse, isolator = planned({"storage.earthed": earthed}).parts.switchgear.rows["battery L1-1"]
    assert (fuse.poles, isolator.poles) == ((fused,), ("plus", "minus"))


def test_a_units_output_is_protected_at_the_board_and_what_comes_in_at_its_start():
    """At the load board the others feed a fault in a unit's own cable."""
    plan = planned()
    assert row(plan, "load L3-1") == [(GearKind.BREAKER, "load board", ("L3", "N"), 1)]
    assert row(plan, "incoming L3-1") == [(GearKind.BREAKER, "incoming board", ("L3", "N"), 1)]
    assert row(plan, "incoming common") == [(GearKind.THERE, "incoming board", ("L1", "L2", "L3", "N"), 1)]


def test_under_the_nec_a_breaker_leaves_the_neutral_and_an_isolator_of_the_set_takes_it_along():
    switchgear = sample("copper-creek").parts.switchgear
    (breaker,) = switchgear.rows["load L1-1"]
    assert breaker.poles == ("L1",)
    assert switchgear.rows["load common"][0].poles == ("L1", "L2", "N")


def test_one_residual_current_device_behind_the_common_output():
    """T6, T7: of one unit alone behind its own."""
    plan = planned()
    assert row(plan, "load common") == [
        (GearKind.ISOLATOR, "load board", ("L1", "L2", "L3", "N"), 1),
        (GearKind.RESIDUAL, "load board", ("L1", "L2", "L3", "N"), 1),
    ]
    assert [name for name, gears in plan.parts.switchgear.rows.items() if any(g.kind is GearKind.RESIDUAL for g in gears)] == ["load common"]
    alone = planned(set_of(1))
    assert [kind for kind, *_ in row(alone, "load L1-1")] == [GearKind.BREAKER, GearKind.RESIDUAL]


def test_each_string_has_its_fuse_and_each_solar_input_its_isolator():
    """S11: two inputs, three strings on each."""
    plan = planned(SOLAR | {"solar.trackers": 2, "solar.parallel": 3})
    both = ("plus", "minus")
    assert row(plan, "solar L1-1") == [(GearKind.FUSE, "solar isolator", both, 6), (GearKind.ISOLATOR, "solar isolator", both, 2)]


def test_nothing_sits_in_an_earth_and_everything_else_can_be_opened():
    """What can be opened is opened and locked before anyone touches it; the order of work counts the same padlocks."""
    for plan in (planned(SOLAR), sample("harbour-works"), planned(set_of(1))):
        parts = plan.parts
        for ends in parts.circuits.circuits:
            gear = parts.switchgear.opening(ends)
            assert (gear is None) == (ends.kind == "earth")
            assert gear is None or (gear.opens and set(gear.poles) <= {"plus", "minus", "L1", "L2", "L3", "N"})
        locks = sum(line.quantity for line in parts.bill.lines if line.item in ("padlock", "breaker lock"))
        step = next(step for step in parts.procedure.steps if step.do.startswith("Open every isolator"))
        assert step.expect == f"{locks} open, {locks} padlocks and tags"


def test_a_surge_device_stands_on_the_lines_of_its_own_board():
    """One line comes in, three go out: the two boards differ."""
    boards = planned({"incoming.arrangement": "single-phase"}).parts.switchgear.boards
    assert {board: gears[0].poles for board, gears in boards.items()} == {
        "incoming board": ("L1", "N", "PE"),
        "load board": ("L1", "L2", "L3", "N", "PE"),
    }


def test_the_bond_of_island_mode_joins_neutral_and_earth_at_its_place_or_is_none():
    bond = planned().parts.switchgear.bond
    assert (bond.kind, bond.place, bond.poles, bond.name) == (GearKind.BOND, "changeover board", ("N", "PE"), "changeover relay")
    assert planned({"earthing.island_bond": "none"}).parts.switchgear.bond is None
    assert planned({"earthing.island_bond": "unit relay"}, without=("earthing.bond_at",)).parts.switchgear.bond.place == "the units"


def test_what_is_bought_is_what_sits_in_the_circuits():
    """Fuses and holders pole by pole, breakers one by one, whatever the site."""
    for plan in (planned(SOLAR), sample("harbour-works"), sample("copper-creek")):
        gears = [gear for gears in plan.parts.switchgear.rows.values() for gear in gears]
        lines = plan.parts.bill.lines
        for item in ("fuse", "fuse holder"):
            kind = GearKind.FUSE
            bought = sum(line.quantity - line.spare for line in lines if line.item in (item, f"string {item}"))
            assert bought == sum(gear.count * len(gear.poles) for gear in gears if gear.kind is kind)
        for item, kind in (("breaker", GearKind.BREAKER), ("isolator", GearKind.ISOLATOR), ("residual-current device", GearKind.RESIDUAL)):
            assert sum(line.quantity for line in lines if line.item == item) == sum(gear.count for gear in gears if gear.kind is kind)


def test_what_stands_on_each_piece():
    """An isolator is at least of the rating of its device, and of its voltage where that is known; the set's output device rates the residual-current device."""
    parts = planned(SOLAR).parts
    fuse, isolator = parts.switchgear.rows["battery B1"]
    assert (isolator.name, isolator.rating.value, isolator.voltage) == ("DC isolator", fuse.rating.value, fuse.voltage)
    assert (str(parts.conductors.of["battery B1"].device.voltage), str(isolator.voltage)) == ("56 V", "60 V")
    assert [parts.switchgear.opening(ends).name for ends in parts.circuits.of("solar", common=False)] == ["DC isolator"] * 3
    switch, residual = parts.switchgear.rows["load common"]
    assert (switch.name, residual.name) == ("AC isolator", "residual-current device")
    assert residual.rating.value == switch.rating.value == 40
    assert {gear.count for gears in parts.switchgear.boards.values() for gear in gears} == {1}


def test_a_board_that_is_not_there_has_no_surge_device():
    assert [*planned({"incoming.kind": "none"}).parts.switchgear.boards] == ["load board"]


def test_a_bond_without_a_place_is_told_to_have_none():
    """Only a relay of the units is where the units are."""
    assert planned(without=("earthing.bond_at",)).parts.switchgear.bond.place == "place to be decided"
    unknown = planned(without=("earthing.bond_at", "earthing.island_bond")).parts.switchgear.bond
    assert (unknown.place, unknown.name) == ("place to be decided", "kind to be decided")


def test_a_unit_without_known_currents_has_its_residual_current_device_all_the_same():
    """Its rating is told as not computed: what nobody answered leaves nothing out."""
    rows = planned(without=("unit.transfer_current", "unit.apparent_power", "unit.real_power")).parts.switchgear.rows
    assert [(gear.kind, gear.rating) for gear in rows["load common"]] == [(GearKind.ISOLATOR, None), (GearKind.RESIDUAL, None)]


def bought(plan, *items):
    """What is bought of these items."""
    return {(line.item, line.specification, line.quantity, line.spare, line.order_ahead, line.goes_to) for line in plan.parts.bill.lines if line.item in items}


def test_an_isolator_carries_all_the_strings_of_its_input():
    """S11: each of three strings of 11.5 A has its fuse of 20 A; together 3 x 1.25 x 11.5 A = 43.1 A go through the isolator: one of 63 A."""
    for strings, rating in ((1, 16), (2, 32), (3, 63)):
        isolator = planned(SOLAR | {"solar.parallel": strings}).parts.switchgear.rows["solar L1-1"][-1]
        assert (isolator.kind, isolator.rating.value) == (GearKind.ISOLATOR, rating)


def test_every_piece_is_on_the_bill_with_what_it_must_stand():
    """One unit with an earthed minus, three strings on each of two inputs: 7 x 54.18 V on the coldest morning, 379.3 V, 440 V as devices are
    made. One spare set a size."""
    plan = planned(set_of(1) | SOLAR | {"solar.parallel": 3, "storage.earthed": "minus"})
    device = plan.parts.switchgear.rows["battery L1-1"][0]
    fuse = f"{device.name}, {device.rating}, 60 V or more, breaks {device.breaking} or more"
    string = "gPV fuse, 20 A, 440 V or more, breaks 10 kA or more"
    assert bought(plan, "fuse", "fuse holder", "string fuse", "string fuse holder") == {
        ("fuse", fuse, 2, 1, True, ("battery L1-1, plus pole", "spare")),
        ("fuse holder", f"for {fuse}", 1, 0, True, ("battery L1-1, plus pole",)),
        ("string fuse", string, 14, 2, True, ("solar L1-1, each string", "spare")),
        ("string fuse holder", f"for {string}", 12, 0, True, ("solar L1-1, each string",)),
    }
    assert bought(plan, "breaker lock", "isolator", "padlock") == {
        ("isolator", f"DC, 2 poles, not polarised, {device.rating} or more, 60 V or more, made to open under load (IEC 60947-3 DC-22 or as its maker says for batteries)", 1, 0, True, ("battery L1-1",)),
        ("isolator", "DC, 2 poles, not polarised, 63 A or more, 440 V or more, made to open under load (IEC 60947-3 DC-PV2)", 2, 0, True, ("solar L1-1",)),
        ("padlock", "with tag, one key each", 3, 0, False, ("battery L1-1", "solar L1-1")),
        ("breaker lock", "locking piece and padlock for a breaker", 2, 0, False, ("load L1-1", "incoming L1-1")),
    }
    assert {line[2:5] for line in bought(plan, "breaker")} <= {(1, 0, False), (2, 0, False)}
    assert bought(plan, "surge device", "source label", "neutral-earth bond link", "bond label", "pole bond label") == {
        ("surge device", "type 2, L1 and N, 230 V to neutral", 2, 0, False, ("incoming board", "load board")),
        ("source label", "names every source that feeds this board", 2, 0, False, ("incoming board", "load board")),
        ("neutral-earth bond link", "changeover relay, with its conductor of 10 mm2 copper or more, length to be measured", 1, 0, False, ("changeover board",)),
        ("bond label", "neutral meets earth here and nowhere else", 1, 0, False, ("changeover board",)),
        ("pole bond label", "battery minus meets earth here and nowhere else", 1, 0, False, ("B1",)),
    }
    assert {line[1].partition(", trips")[0] for line in bought(plan, "residual-current device")} == {"2 poles, rated 40 A or more"}
    assert {line[2:5] for line in bought(plan, "residual-current device")} == {(1, 0, False)}


def test_what_is_not_computed_is_bought_as_not_computed():
    plan = planned(set_of(1), without=("unit.real_power", "unit.apparent_power", "unit.surge_power", "storage.module"))
    assert {line[1] for line in bought(plan, "isolator")} == {
        "DC, 2 poles, not polarised, rating not computed, made to open under load (IEC 60947-3 DC-22 or as its maker says for batteries)",
        "AC, 2 poles, neutral last to open and first to close, rating not computed, made to open under load (IEC 60947-3 AC-22)",
    }
    assert {line[1].partition(", trips")[0] for line in bought(plan, "residual-current device")} == {"2 poles, rating not computed"}
    assert {line[1] for line in bought(plan, "fuse")} == {"DC fuse (family to be confirmed), rating not computed"}


@pytest.mark.parametrize(("rules", "transfer", "device", "isolator"), [("iec", "40 A", 40, 40), ("iec", "50 A", 50, 63), ("nec", "45 A", 45, 60), ("nec", "60 A", 60, 60), ("nec", "70 A", 70, 100)])
def test_an_isolator_is_of_a_rating_that_is_made(rules, transfer, device, isolator):
    """Makers' lists have no 50 A between 40 and 63 A, and the NEC's market no switch of 45 A: 30, 60, 100, 200 A."""
    plan = planned({"site.rules": rules, "unit.transfer_current": transfer, "incoming.breaker": "100 A", "unit.dc_terminal_max": None, "unit.ac_terminal_max": None})
    assert plan.parts.conductors.of["load common"].device.rating.value == device
    gear = plan.parts.switchgear.rows["load common"][0]
    assert (gear.kind, gear.rating.value, str(gear.rating)) == (GearKind.ISOLATOR, isolator, f"{isolator} A")


@pytest.mark.parametrize(("series", "highest", "stands"), [(1, "56 V", "60 V"), (2, "112 V", "125 V"), (8, "448 V", "460 V"), (14, "784 V", "1000 V"), (28, "1568 V", "1568 V")])
def test_a_dc_device_is_of_a_voltage_that_is_made(series, highest, stands):
    """The steps of IEC 60269-1 from 110 V to 750 V, usual ones below and above; beyond the last the voltage itself is asked for."""
    plan = planned({"storage.bank.series": series})
    assert str(plan.parts.conductors.of["battery L1-1"].device.voltage) == highest
    assert {str(gear.voltage) for gear in plan.parts.switchgear.rows["battery L1-1"]} == {stands}
