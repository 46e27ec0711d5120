"""The bill: counted by trade rule, nothing forgotten, nothing that is unknown made up."""

import math
import re
from collections import Counter

import pytest

from engine.stages.bill import bill
from engine.stages.bill.cuts import conductor_colours
from engine.stages.chain.part import Link, Port
from tests.engine.paper_sites import NAMES, SOLAR, planned, sample, set_of


def lines(plan, item):
    return [line for line in plan.parts.bill.lines if line.item == item]


def pieces(plan, item):
    return sum(line.quantity for line in lines(plan, item))


def spares(plan, item):
    return sum(line.spare for line in lines(plan, item))


@pytest.mark.parametrize(("units", "links"), [(1, 0), (2, 1), (3, 2), (5, 4), (12, 11)])
def test_links_are_one_less_than_units_and_one_spare(units, links):
    """T22: three units 2 links, five 4, twelve 11."""
    plan = planned(set_of(units))
    assert pieces(plan, "comms link") - spares(plan, "comms link") == links
    assert spares(plan, "comms link") == (1 if links else 0)
    assert len({place for line in lines(plan, "comms link") for place in line.goes_to if place != "spare"}) == links


def test_the_spare_link_is_the_longest():
    for name in NAMES:
        plan = sample(name)
        longest = max(plan.parts.chain.links, key=lambda link: (link.stock or link.length).value)
        spare = [line for line in lines(plan, "comms link") if line.spare]
        assert [f"{longest.start} > {longest.end}" in line.goes_to for line in spare] == [True]


@pytest.mark.parametrize(
    ("ports", "ends"),
    [
        ((Port("plug"), Port("socket")), "plug to socket"),
        ((Port("socket", 1), Port("socket", 2)), "plug to plug"),
        ((Port("plug", 1), Port("plug", 2)), "socket to socket"),
        ((None, Port("plug")), "ends by the maker's ports"),
    ],
)
def test_a_links_own_ends_fit_the_ports(ports, ends):
    """S20: a plug goes into a socket."""
    start, end = ports
    assert Link("L1-1", start, "L2-1", end, None, None, ()).cable == ends


def test_terminators_one_line_per_kind_in_pieces_with_as_many_spare():
    """S29. One of each kind on plug-and-socket units, two of one kind on units with two sockets."""
    mixed = {line.specification: (line.quantity, line.spare) for line in lines(planned(), "terminator")}
    assert mixed == {"120 ohm, plug": (2, 1), "120 ohm, socket": (2, 1)}
    alike = {line.specification: (line.quantity, line.spare) for line in lines(planned({"unit.bus.ports": ["socket", "socket"]}), "terminator")}
    assert alike == {"120 ohm, plug": (4, 2)}


def test_lugs_and_heat_shrink_two_per_cut_by_size_and_stud():
    plan = planned()
    # Three units and their bank lead, plus and minus each; the earth conductors: three and the common one.
    sizing = plan.parts.conductors.of
    battery = sum(2 * max(1, sizing[name].parallel) for name in ("battery B1", "battery L1-1", "battery L2-1", "battery L3-1"))
    earth = sum(max(1, sizing[name].parallel) for name in ("earth common", "earth L1-1", "earth L2-1", "earth L3-1"))
    assert pieces(plan, "cable lug") == pieces(plan, "heat-shrink") == 2 * (battery + earth)
    at_units = [line for line in lines(plan, "cable lug") if line.specification.endswith("M8")]
    assert sum(line.quantity for line in at_units) == sum(2 * sizing[f"battery {tag}"].parallel for tag in plan.parts.units.tags)


def test_ferrules_one_per_stranded_ac_end():
    plan = planned()
    conductors = sum(1 for line in lines(plan, "conductor cut") for place in line.goes_to if place.startswith(("load", "incoming"))) and sum(
        line.quantity for line in lines(plan, "conductor cut") if line.goes_to[0].startswith(("load", "incoming"))
    )
    assert pieces(plan, "ferrule") == 2 * conductors > 0


def test_fuses_have_a_spare_set_per_size_and_a_holder_each():
    for name in NAMES:
        plan = sample(name)
        fitted = [
            (sizing.device.name, str(sizing.device.rating), str(sizing.device.voltage), str(sizing.device.breaking), sizing.device.poles)
            for sizing in plan.parts.conductors.of.values()
            if sizing.device and sizing.device.kind == "fuse"
        ]
        assert fitted
        assert pieces(plan, "fuse holder") == sum(fuse[-1] for fuse in fitted)
        assert spares(plan, "fuse") == sum(fuse[-1] for fuse in set(fitted))
        assert pieces(plan, "fuse") == pieces(plan, "fuse holder") + spares(plan, "fuse")


def test_one_padlock_per_isolator_and_one_lock_per_breaker():
    for name in NAMES:
        plan = sample(name)
        assert pieces(plan, "padlock") == pieces(plan, "isolator") > 0
        there = [name for name, sizing in plan.parts.conductors.of.items() if sizing.device and sizing.device.name == "breaker that is there"]
        assert pieces(plan, "breaker lock") == pieces(plan, "breaker") + len(there)
        live = [ends for ends in plan.parts.circuits.circuits if ends.kind != "earth"]
        assert pieces(plan, "isolator") + pieces(plan, "breaker lock") == len(live)


def test_what_is_needed_once_is_there_once():
    plan = planned()
    for item in ("pre-charge kit", "bench lead", "residual-current device", "neutral-earth bond link", "bond label"):
        assert pieces(plan, item) == 1, item
    assert lines(plan, "residual-current device")[0].goes_to == ("load common",)
    assert lines(plan, "neutral-earth bond link")[0].goes_to == ("changeover board",)


def test_a_neutral_that_floats_has_no_bond_and_no_label():
    """Under IT nothing joins neutral to earth."""
    assert not {"neutral-earth bond link", "bond label"} & {line.item for line in planned({"earthing.system": "IT", "earthing.island_bond": "none"}).parts.bill.lines}


def test_boards_have_a_surge_device_and_a_source_label_each():
    plan = planned()
    assert pieces(plan, "surge device") == pieces(plan, "source label") == 2
    alone = planned({"incoming.kind": "none"})
    assert pieces(alone, "surge device") == pieces(alone, "source label") == 1


def test_sensor_per_bank_and_data_lead_per_managed_bank():
    wired = {"storage.connection": "bank-per-unit", "storage.wired": {"L1-1": "B1", "L2-1": "B2", "L3-1": "B3"}}
    plan = planned(wired)
    assert pieces(plan, "temperature sensor") == pieces(plan, "data lead") == 3
    lead = planned({"storage.chemistry": "agm", "storage.managed": False})
    assert (pieces(lead, "temperature sensor"), pieces(lead, "data lead")) == (1, 0)


def test_string_connectors_one_pair_per_string_end():
    """Two trackers of one string on three units: 6 strings, 12 ends."""
    assert pieces(planned(SOLAR), "string connector") == 12
    assert pieces(planned(SOLAR | {"solar.parallel": 2}), "string connector") == 24
    assert pieces(planned(), "string connector") == 0


@pytest.mark.parametrize(("parallel", "cuts", "pairs", "fuses"), [(1, 12, 0, 0), (2, 12, 12, 0), (3, 12, 18, 36)])
def test_strings_meet_in_one_pair_for_each_solar_input(parallel, cuts, pairs, fuses):
    """S11: three units, two inputs each: 6 pairs, 12 conductors, whatever the strings; from three in parallel each string is fused in
    both poles, 3 x 2 x 3 x 2, with one set to spare."""
    plan = planned(SOLAR | {"solar.parallel": parallel})
    assert sum(cut.kind == "solar" for cut in plan.parts.bill.cuts) == cuts
    assert pieces(plan, "string pair") == pairs
    assert sum(line.quantity - line.spare for line in plan.plan.bill if line.item == "fuse" and "gPV" in line.specification) == fuses
    assert sum(line.quantity for line in plan.plan.bill if line.item == "isolator" and "solar L1-1" in line.goes_to) == 6
    [opening] = [step for step in plan.plan.steps if step.do.startswith("Open every isolator")]
    locks = pieces(plan, "padlock") + pieces(plan, "breaker lock")
    assert opening.expect == f"{locks} open, {locks} padlocks and tags"


def test_bars_and_as_many_covers():
    plan = planned()
    # Battery bar 2, load board L1 L2 L3 N, incoming board the same, earth bar 1.
    assert pieces(plan, "busbar") == pieces(plan, "busbar cover") == 11


def test_what_is_not_stocked_is_ordered_ahead():
    plan = planned()
    ahead = {line.item for line in plan.parts.bill.lines if line.order_ahead}
    assert {"comms link", "terminator", "temperature sensor", "data lead", "fuse"} <= ahead
    assert not {"cable lug", "ferrule", "conductor cut", "reel", "padlock"} & ahead


def test_every_cut_lies_on_a_reel():
    for name in NAMES:
        plan = sample(name)
        # A circuit without size or length has no reel; that it stands on the bill all the same is tested elsewhere.
        wanted = Counter({line.specification: line.quantity for line in lines(plan, "conductor cut") if not re.search("not computed|to be measured", line.specification)})
        wound = Counter(f"{reel.conductor}, {plan.facts.told(cut.length)}" for reel in plan.parts.bill.reels for cut in reel.cuts)
        assert wanted == wound
        assert Counter(f"{reel.conductor}, {plan.facts.metres(reel.length)}" for reel in plan.parts.bill.reels) == Counter({line.specification: line.quantity for line in lines(plan, "reel")})


def test_cuts_name_size_colour_and_length():
    """S29, S35: size first, then the cable, colour, length."""
    plan = planned()
    sizing, run = plan.parts.conductors.of["battery L1-1"], plan.parts.wall.runs["battery L1-1"]
    whole = f"{sizing.conductor} copper, PVC 70 degC, class 5, 450/750 V, red, {run.length}"
    assert whole in [line.specification for line in lines(plan, "conductor cut")]


def test_colours_follow_the_rule_book():
    """IEC 60445:2021 for iec; NFPA 70 200.6 (white or gray neutral) and 250.119 (green) for nec, the rest custom: L1, L2, L3, N, PE, plus, minus."""
    def told(**output):
        return " ".join(conductor_colours(planned({"site.rules": output["rules"], "output.voltage": f"{output['volts']} V"}).facts).values())

    assert told(rules="iec", volts=230) == "brown black grey blue green-and-yellow red white"
    assert told(rules="nec", volts=120) == "black red blue white green red black"
    assert told(rules="nec", volts=277) == "brown orange yellow gray green red black"
    # 150 V to ground, the bound of NEC 250.20(B)(1) and 210.6(B): up to it the colours of 208Y/120, above it those of 480Y/277.
    edge = [conductor_colours(planned({"site.rules": "nec", "output.voltage": f"{volts} V"}).facts)["L1"] for volts in (150, 151)]
    assert edge == ["black", "brown"]


def test_sizes_that_are_missing_are_told_and_nothing_is_forgotten():
    plan = planned(without=("unit.apparent_power", "unit.real_power"))
    [told] = [f for f in plan.findings if f.code == "bill-incomplete"]
    assert "conductor sizes for battery B1, battery L1-1, battery L2-1, battery L3-1 and more:" in told.text
    assert not [f for f in planned().findings if f.code == "bill-incomplete"]
    assert any("size not computed" in line.specification for line in lines(plan, "conductor cut"))
    assert pieces(plan, "cable lug") > 0


def test_no_units_no_bill():
    parts = planned(without=("set.count", "set.per_phase", "output.arrangement")).parts
    given = {name: getattr(parts, name) for name in ("phases", "banks", "storage", "circuits", "conductors", "switchgear", "wall", "chain")}
    again, findings = bill(facts=planned().facts, units=type(parts.units)((), None), **given)
    assert (again.lines, again.reels, findings) == ((), (), [])


def test_quantity_includes_the_spare():
    for name in NAMES:
        assert all(line.quantity >= line.spare >= 0 and line.quantity > 0 for line in sample(name).parts.bill.lines)


def test_a_cut_longer_than_any_reel_is_told():
    """The longest reel of the table holds 1000 m."""
    plan = planned({"routes": [{"carries": "earth", "to": "L2-1", "length": "1100 m"}]})
    told = [finding for finding in plan.findings if finding.code == "cut-longer-than-reels"]
    assert len(told) == 1
    assert "1100 m" in told[0].text
    assert not [finding for finding in planned().findings if finding.code == "cut-longer-than-reels"]


def test_a_cut_that_a_reel_holds_is_not_bought_and_the_reel_names_its_cuts():
    for name in NAMES:
        plan = sample(name)
        reels = lines(plan, "reel")
        assert all(line.cut_from_reel is None and line.goes_to for line in reels)
        assert {line.cut_from_reel for line in lines(plan, "conductor cut")} == {True}
        circuits = {ends.name for ends in plan.parts.circuits.circuits}
        told = {place.partition(" for ")[2] for line in reels for place in line.goes_to}
        assert told == {place for line in lines(plan, "conductor cut") for place in line.goes_to} <= circuits
    row = next(row for row in sample("alder-farm").plan.bill if row.item == "reel" and row.specification.startswith("70 mm2 copper, XLPE 90 degC, class 5, 0.6/1 kV, red"))
    assert row.goes_to == ["3.2 m for battery L1-1", "3.2 m for battery L2-1", "3.2 m for battery L3-1"]


def test_a_cut_without_a_reel_is_still_to_be_bought():
    plan = planned({"routes": [{"carries": "earth", "to": "L2-1", "length": "1100 m"}]})
    assert [line.cut_from_reel for line in lines(plan, "conductor cut") if "1100 m" in line.specification] == [None]
    unsized = planned(without=("unit.apparent_power", "unit.real_power"))
    assert all(line.cut_from_reel is None for line in lines(unsized, "conductor cut") if "not computed" in line.specification)


def test_bars_carry_the_sum_of_the_devices_that_feed_them():
    """T9: three units of a phase feed the load board's bar; the battery bar is fed by its bank and by every unit that charges."""
    plan = planned(set_of(3) | {"unit.labels": {}})
    of = plan.parts.conductors.of
    told = {(line.specification, place) for line in lines(plan, "busbar") for place in line.goes_to}
    load = 3 * of["load L1-1"].device.rating.value
    assert {(f"{pole}, {load:g} A or more", "load board") for pole in ("L1", "N")} <= told
    battery = max(of["battery B1"].device.rating.value, 3 * of["battery L1-1"].device.rating.value)
    assert {(f"{pole}, {battery:g} A or more", "bar B1") for pole in ("plus", "minus")} <= told
    assert ("L1, 63 A or more", "incoming board") in told  # the breaker ahead
    assert plan.figures["plan.bill.busbar[load board L1]"].value == load


def test_bars_without_device_ratings_say_so():
    plan = planned(without=("unit.apparent_power", "unit.real_power"))
    assert "plus, amperes not computed" in {line.specification for line in lines(plan, "busbar")}


def test_the_residual_current_device_can_be_ordered():
    told = lines(planned(), "residual-current device")[0].specification
    assert re.fullmatch(r"4 poles, rated \d+ A or more, trips at 30 mA or as the licensed person decides, type by the units' manual", told)


def test_the_pre_charge_is_waited_for_and_its_resistor_stands_it():
    """56 V / 2.5 A is 22.4 ohm, so 33 ohm: 5 x 33 ohm x 30 mF is 4.95 s; with 60 mF a unit that does not charge is noticed after 9.9 s."""
    plan = planned()
    assert plan.figures["plan.bill.pre_charge.time"].value == pytest.approx(4.95)
    assert plan.figures["plan.bill.pre_charge.current"].value == pytest.approx(56 / 33)
    assert plan.figures["plan.bill.pre_charge.energy"].value == pytest.approx(56**2 / 33 * 5)
    [wait] = {step.do.partition("across the other. ")[2].partition(" Voltmeter")[0] for step in plan.parts.procedure.steps if step.id.startswith("pre-charge@")}
    assert wait == "Wait 5 s."
    large = planned({"unit.dc_capacitance": "60 mF"})
    assert large.figures["plan.bill.pre_charge.energy"].value == pytest.approx(56**2 / 33 * 9.9)
    assert "for 9.9 s: 95 W, 941 J" in lines(large, "pre-charge kit")[0].specification


def test_the_pre_charge_resistor_keeps_its_peak_small_and_is_told_with_what_it_stands():
    """56 V: 22.4 ohm keep it to 2.5 A, the next of series E6 (IEC 60063) is 33 ohm; 56^2 / 33 = 95 W, 475 J in 5 s."""
    plan = planned()
    told = lines(plan, "pre-charge kit")[0].specification
    assert told == "wire-wound resistor, 33 ohm, stands 56 V across it for 5 s: 95 W, 475 J (common practice); with clips and cover, and a fused clip lead"
    assert 56 / plan.figures["plan.bill.pre_charge.resistance"].value <= 2.5
    eight = planned({"storage.bank.series": 8})
    assert "220 ohm" in lines(eight, "pre-charge kit")[0].specification  # 448 V / 2.5 A = 179 ohm
    unknown = planned(without=("storage.module", "storage.chemistry"))
    assert "not computed" in lines(unknown, "pre-charge kit")[0].specification


def test_a_relay_inside_the_units_is_labelled_not_bought():
    relay = planned({"earthing.island_bond": "unit relay"})
    assert (pieces(relay, "neutral-earth bond link"), pieces(relay, "bond label")) == (0, 1)


def test_one_pole_is_one_pole_and_no_place_is_named_twice():
    for name in NAMES:
        for line in sample(name).parts.bill.lines:
            assert "1 poles" not in line.specification
            assert len(set(line.goes_to)) == len(line.goes_to) or line.item == "reel", line
    assert any(re.search(r", 1 pole$", line.specification) for line in lines(sample("copper-creek"), "breaker"))


@pytest.mark.parametrize("length", ["74 ft", "1 ft", "3 ft", "101 ft", "6 in", "12.3449 m", "0.3003 m"])
def test_a_measured_length_in_any_unit_makes_a_bill(length):
    """Lengths that are no round number of millimetres or digits stand on the bill like any other."""
    plan = planned({"routes": [{"carries": "load", "to": "L1-1", "length": length}]})
    held = [cut for reel in plan.parts.bill.reels for cut in reel.cuts if cut.circuit == "load L1-1"]
    assert len(held) == 3  # line, neutral and earth
    assert {str(cut.length) for cut in held} == {str(plan.parts.wall.runs["load L1-1"].length)}


@pytest.mark.parametrize("incoming", ["single-phase", "split-phase", "three-phase"])
@pytest.mark.parametrize("output", ["single-phase", "split-phase", "three-phase"])
def test_a_common_circuit_is_bought_with_as_many_lines_as_it_has_poles(incoming, output):
    """Lines and neutral of both common circuits, whatever comes in and whatever goes out."""
    units = {"single-phase": [3], "split-phase": [2, 1], "three-phase": [1, 1, 1]}[output]
    tags = [f"L{k}-{n}" for k, count in enumerate(units, 1) for n in range(1, count + 1)]
    plan = planned({"output.arrangement": output, "incoming.arrangement": incoming, "set.per_phase": units, "storage.wired": dict.fromkeys(tags, "B1")})
    for name in ("load common", "incoming common"):
        (ends,) = [ends for ends in plan.parts.circuits.circuits if ends.name == name]
        poles = [cut.pole for cut in plan.parts.bill.cuts if cut.circuit == name and cut.pole != "PE"]
        assert len(set(poles)) == ends.poles


def test_cables_are_cleated_as_close_as_their_kind_asks():
    """Common practice, no source: 0.3 m for battery leads, which push apart when they are shorted, 0.4 m for all others; one more than spaces."""
    plan = planned(SOLAR)
    spaces = {"battery": 0.3, "load": 0.4, "incoming": 0.4, "solar": 0.4, "earth": 0.4}
    cleats = lines(plan, "cleat")
    assert sorted(name for line in cleats for name in line.goes_to) == sorted(plan.parts.wall.runs)
    for line in cleats:
        [kind] = {name.split()[0] for name in line.goes_to}
        assert line.specification == f"for {kind} cable, every {spaces[kind]} m or closer"
        assert line.quantity == sum(math.ceil(plan.parts.wall.runs[name].length.value / spaces[kind]) + 1 for name in line.goes_to)


def test_what_joins_the_modules_and_the_lead_that_joins_a_neutral_are_ordered():
    """Six strings of one module want their maker's links; one module alone wants none. A breaker that opens the neutral wants the test lead."""
    def of(plan, item):
        return [(line.specification, line.quantity, line.goes_to) for line in plan.parts.bill.lines if line.item == item]

    assert of(planned(), "module links") == [("the battery maker's, for 6 strings of 1 module, with what protects each string", 1, ("B1",))]
    assert of(planned({"storage.bank.parallel": 1}), "module links") == []
    assert [quantity for _, quantity, _ in of(planned({"storage.bank.parallel": 1, "storage.bank.series": 2, "unit.dc_max": "120 V"}), "module links")] == [1]
    assert of(planned(), "fused test lead") == [("insulated, with its own fuse of 1 A or less, for 230 V to neutral and between lines, measuring category III", 1, ("site",))]
    assert of(sample("copper-creek"), "fused test lead") == []
    assert of(planned(set_of(1)), "fused test lead") == []


def test_every_ac_cable_has_a_gland_at_both_its_ends():
    """Line, neutral and earth of a unit, 3 to load and 3 to incoming board; three lines, neutral and earth of what all share: two glands each."""
    told = [(line.specification.partition(" of ")[0], line.quantity, line.spare, line.order_ahead) for line in lines(planned(), "gland")]
    assert told == [("for one battery conductor", 6, 0, False), ("for 3 conductors", 12, 0, False), *[("for 5 conductors", 2, 0, False)] * 2]


def test_what_is_not_computed_is_said_and_what_any_dealer_has_is_not_ordered_ahead():
    """A lock for each breaker, on the shelf; one kit without a spare, whether its resistor is computed or not; no rating where no current is known."""
    unknown = planned({"storage.chemistry": None}, without=("storage.module.absorption", "storage.module.float", "storage.module.low", "storage.module.cells"))
    assert [(line.quantity, line.spare, line.order_ahead) for line in lines(unknown, "pre-charge kit")] == [(1, 0, True)]
    assert "not computed" in lines(unknown, "pre-charge kit")[0].specification
    assert [(line.quantity, line.spare, line.order_ahead) for line in lines(planned(), "breaker lock")] == [(7, 0, False)]
    [residual] = lines(planned(without=("unit.apparent_power", "unit.real_power")), "residual-current device")
    assert residual.specification.startswith("4 poles, rating not computed, trips at")
