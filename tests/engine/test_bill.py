"""The bill: counted by trade rule, nothing forgotten, nothing that is unknown made up."""

import math
import re
from collections import Counter
from itertools import pairwise

import pytest

from engine.stages.bill import bill
from engine.stages.bill.cuts import conductor_colours
from engine.stages.chain.part import Link, Port
from tests.engine.paper_sites import NAMES, SOLAR, planned, sample, set_of


def lines(plan, item):
    return [line for line in plan.parts.bill.lines if line.item == item]


def pieces(plan, item):
    return sum(line.quantity for line in lines(plan, item))


def lengths(plan):
    """What conductors are cut from."""
    return [line for item in ("reel", "cable by the metre", "cable by the foot") for line in lines(plan, item)]


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


def lugs(plan):
    """How many lugs go on what, whatever the size."""
    found = Counter()
    for line in lines(plan, "cable lug"):
        found[re.search(r"M8|(?<=for ).*?(?=, stud)", line.specification)[0]] += line.quantity
    return dict(found)


def test_lugs_by_what_is_really_bolted():
    """Four battery circuits of two poles, three conductors a pole for the bank's and one for each unit's, in three pieces: from post or bar to
    fuse holder, to isolator, to bar or unit. Earths: from both boards to the earth bar, and from there to three cases. Two ends a piece."""
    plan = planned()
    many = plan.parts.conductors.of["battery B1"].parallel
    assert [plan.parts.conductors.of[f"battery {tag}"].parallel for tag in plan.parts.units.tags] == [1, 1, 1]
    bank, units = 2 * many, 2 * 3
    assert lugs(plan) == {
        "a bank's post": bank, "a battery bar": bank + units, "a fuse holder": 2 * (bank + units), "an isolator": 2 * (bank + units), "M8": units,
        "a board": 2, "an earth bar": 5, "a case": 3,
    }  # fmt: skip
    assert pieces(plan, "cable lug") == pieces(plan, "heat-shrink") == 2 * (3 * (bank + units) + 5)


def test_a_holder_on_its_bar_saves_the_piece_between_and_one_on_a_post_does_not():
    """Six pieces and twelve lugs less: those from the bar to the holders of three units, plus and minus."""
    cabled, bolted = planned(), planned({"storage.holder": "on the bar"})
    assert len(cabled.parts.bill.cuts) - len(bolted.parts.bill.cuts) == 6
    less = {what: number - lugs(bolted).get(what, 0) for what, number in lugs(cabled).items()}
    assert {what: number for what, number in less.items() if number} == {"a battery bar": 6, "a fuse holder": 6}
    assert [piece.start.what for piece in bolted.parts.bill.cuts if piece.circuit == "battery B1" and piece.pole == "plus"][:3].count("post") == 1
    told = {one.key: one.value for one in cabled.plan.assumed}
    assert (told["storage.holder"], told["plan.bill.piece"], told["plan.bill.allowance"]) == ("cabled", "0.3 m", "10 %")
    assert "storage.holder" not in {one.key for one in bolted.plan.assumed}


def test_a_pole_that_has_no_fuse_goes_to_the_isolator_at_once():
    """S30: an earthed minus has no holder: two pieces, plus three."""
    plan = planned({"storage.earthed": "minus"})
    of = {pole: [(str(cut.start), str(cut.end)) for cut in plan.parts.bill.cuts if (cut.circuit, cut.pole) == ("battery L1-1", pole)] for pole in ("plus", "minus")}
    assert of["plus"] == [("bar B1", "fuse holder"), ("fuse holder", "isolator"), ("isolator", "L1-1")]
    assert of["minus"] == [("bar B1", "isolator"), ("isolator", "L1-1")]
    grounds = {cut.circuit: (str(cut.start), str(cut.end)) for cut in plan.parts.bill.cuts if cut.kind == "earth"}
    assert grounds == {
        "earth common": ("incoming board", "earth bar"), "earth load-board": ("earth bar", "load board"), "earth L1-1": ("earth bar", "case of L1-1"), "earth L2-1": ("earth bar", "case of L2-1"),
        "earth L3-1": ("earth bar", "case of L3-1"), "earth B1": ("earth bar", "case of B1"), "earth bar B1": ("earth bar", "case of bar B1"), "bond B1": ("bar B1", "earth bar"),
    }  # fmt: skip


def test_the_long_piece_is_as_long_as_the_way_and_the_others_are_short():
    plan = planned()
    for name, ends in (("battery L2-1", ("isolator", "L2-1")), ("battery B1", ("isolator", "bar B1")), ("load L2-1", ("L2-1", "breaker")), ("incoming L2-1", ("breaker", "L2-1"))):
        own = [cut for cut in plan.parts.bill.cuts if cut.circuit == name and cut.pole != "PE"]
        assert {(str(cut.start), str(cut.end)) for cut in own if cut.length.value == plan.parts.wall.runs[name].length.value} == {ends}
        assert {cut.length.value for cut in own if (str(cut.start), str(cut.end)) != ends} <= {0.3}
    common = [(str(cut.start), str(cut.end)) for cut in plan.parts.bill.cuts if cut.circuit == "load common" and cut.pole == "N"]
    assert common == [("load board", "isolator"), ("isolator", "residual-current device")]


def test_both_ends_of_a_piece_are_marked():
    plan = planned()
    cut = next(cut for cut in plan.parts.bill.cuts if cut.circuit == "battery L1-1")
    assert cut.marks == ("battery L1-1 plus: bar B1 (to fuse holder)", "battery L1-1 plus: fuse holder (to bar B1)")
    many = plan.parts.conductors.of["battery B1"].parallel
    assert many > 1
    assert {cut.marks[0] for cut in plan.parts.bill.cuts if cut.circuit == "battery B1" and cut.start.what == "post" and cut.pole == "minus"} == {
        f"battery B1 minus ({k} of {many}): post of B1 (to fuse holder)" for k in range(1, many + 1)
    }
    [conductors, data] = lines(plan, "cable marker")
    assert conductors.quantity == 2 * len(plan.parts.bill.cuts)
    assert data.quantity == 2 * (2 + 1)  # two links, and the data lead of the bank


def test_ferrules_one_per_stranded_ac_end():
    plan = planned()
    conductors = sum(1 for line in lines(plan, "conductor cut") for place in line.goes_to if place.startswith(("load", "incoming"))) and sum(
        line.quantity for line in lines(plan, "conductor cut") if line.goes_to[0].startswith(("load", "incoming"))
    )
    assert pieces(plan, "ferrule") == 2 * conductors > 0
    # Building wire of the NEC's market goes into its terminals bare.
    american = planned({"site.rules": "nec"} | SOLAR)
    assert pieces(american, "ferrule") == 0
    assert "errule" not in "".join(step.do for step in american.parts.procedure.steps)
    # Behind a solar isolator three units take two conductors each on two inputs.
    assert pieces(planned(SOLAR), "ferrule") == 2 * conductors + 12


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


@pytest.mark.parametrize(("parallel", "cuts", "pairs", "fuses"), [(1, 12, 6, 0), (2, 12, 12, 0), (3, 48, 18, 36)])
def test_strings_meet_in_one_pair_for_each_solar_input(parallel, cuts, pairs, fuses):
    """S11: three units, two inputs each: 6 pairs, 12 conductors, whatever the strings; from three in parallel each string is fused in
    both poles, 3 x 2 x 3 x 2, with one set to spare, and a piece leads from each holder to the isolator. A pair comes down from each string."""
    plan = planned(SOLAR | {"solar.parallel": parallel})
    assert sum(cut.kind == "solar" for cut in plan.parts.bill.cuts) == cuts
    assert pieces(plan, "string pair") == pairs
    assert sum(line.quantity - line.spare for line in plan.plan.bill if line.item == "string fuse" and "gPV" in line.specification) == fuses
    assert sum(line.quantity for line in plan.plan.bill if line.item == "isolator" and "solar L1-1" in line.goes_to) == 6
    [opening] = [step for step in plan.plan.steps if step.do.startswith("Open every isolator")]
    locks = pieces(plan, "padlock") + pieces(plan, "breaker lock")
    assert opening.expect == f"{locks} open, {locks} padlocks and tags"


def test_bars_and_as_many_covers():
    plan = planned()
    # Battery bar 2, load board L1 L2 L3 N, incoming board the same: covered. Earths: one of each board, the earth bar.
    assert (pieces(plan, "busbar"), pieces(plan, "busbar cover")) == (10 + 3, 10)
    told = {place: line.specification for line in lines(plan, "busbar") for place in line.goes_to if line.specification.startswith("PE")}
    # On the boards three units, the common circuit, the conductor to the earth bar and the surge device; there three units and two boards.
    assert {place: text.partition(",")[2].partition(",")[0].strip() for place, text in told.items()} == {"load board": "6 conductors", "incoming board": "6 conductors", "earth bar": "5 conductors"}
    # Where strings meet on bars, a bank has its own.
    assert pieces(planned({"storage.bank.feed": "bar"}), "busbar cover") == 12
    alone = planned(set_of(1))
    assert (pieces(alone, "busbar"), pieces(alone, "busbar cover")) == (3, 0)


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
        assert Counter(f"{reel.conductor}, {plan.facts.metres(reel.length)}" for reel in plan.parts.bill.reels) == Counter({line.specification: line.quantity for line in lengths(plan)})


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
        reels = lengths(plan)
        assert all(line.cut_from_reel is None and line.goes_to for line in reels)
        assert {line.cut_from_reel for line in lines(plan, "conductor cut")} == {True}
        circuits = {ends.name for ends in plan.parts.circuits.circuits}
        told = {place.partition(" for ")[2] for line in reels for place in line.goes_to}
        assert {line.item for line in reels} <= {"reel", "cable by the foot" if plan.facts.rules == "nec" else "cable by the metre"}
        assert told == {place for line in lines(plan, "conductor cut") for place in line.goes_to} <= circuits
    row = next(row for row in sample("alder-farm").plan.bill if row.item != "conductor cut" and row.specification.startswith("70 mm2 copper, XLPE 90 degC, class 5, 0.6/1 kV, red"))
    # 3 x 3.2 m and six pieces of 0.3 m, a tenth over them: 12.54 m.
    assert (row.item, row.specification.rpartition(", ")[2]) == ("cable by the metre", "13 m")
    assert row.goes_to == [*(f"3.2 m for battery L{k}-1" for k in (1, 2, 3)), *(f"2 x 0.3 m for battery L{k}-1" for k in (1, 2, 3))]


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
    assert len(held) == 3  # line, neutral and earth: the breaker sits on its bar
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
    spaces = {"battery": 0.3, "load": 0.4, "incoming": 0.4, "solar": 0.4, "earth": 0.4}
    plan = planned(SOLAR | {"routes": [{"carries": kind, "method": "C"} for kind in spaces]})
    cleats = lines(plan, "cleat")
    # What begins and ends on one board is carried by the board.
    assert sorted(name for line in cleats for name in line.goes_to) == sorted(set(plan.parts.wall.runs) - {"load common", "incoming common"})
    for line in cleats:
        [kind] = {name.split()[0] for name in line.goes_to}
        assert line.specification == f"for {kind} cable, every {spaces[kind]} m or closer"
        assert line.quantity == sum(math.ceil(plan.parts.wall.runs[name].length.value / spaces[kind]) + 1 for name in line.goes_to)


def test_what_joins_the_modules_and_the_lead_that_joins_a_neutral_are_ordered():
    """Six strings of one module want their maker's links; one module alone wants none. A breaker that opens the neutral wants the test lead."""
    def of(plan, item):
        return [(line.specification, line.quantity, line.goes_to) for line in plan.parts.bill.lines if line.item == item]

    assert of(planned(), "string link") == [("the battery maker's, plus to plus and minus to minus of 6 strings", 10, ("B1",))]
    assert [of(planned(), item) for item in ("module link", "module lead")] == [[], []]
    [(protects, number, _)] = of(planned(), "battery string fuse")
    assert (protects.partition(", rated")[0], number) == ("what protects each string, in both poles", 12)
    assert [number for _, number, _ in of(planned({"storage.earthed": "minus"}), "battery string fuse")] == [6]
    bar = planned({"storage.bank.feed": "bar"})
    assert (of(bar, "string link"), [number for _, number, _ in of(bar, "module lead")]) == ([], [12])
    alone = planned({"storage.bank.parallel": 1})
    assert [of(alone, item) for item in ("module link", "string link", "module lead", "battery string fuse")] == [[]] * 4
    four = planned({"storage.bank.parallel": 2, "storage.bank.series": 4, "unit.dc_max": "240 V"})
    assert [(text, number) for text, number, _ in of(four, "module link")] == [("the battery maker's, from module to module in 2 strings of 4", 6)]
    [step] = [step for step in four.parts.procedure.steps if step.id == "modules@B1"]
    assert step.do.endswith("Then join the modules of each string with their links.")
    assert of(planned(), "fused test lead") == [("insulated, with its own fuse of 1 A or less, for 230 V to neutral and between lines, measuring category III", 1, ("site",))]
    assert of(sample("copper-creek"), "fused test lead") == []
    assert of(planned(set_of(1)), "fused test lead") == []


def test_every_ac_cable_has_a_gland_at_both_its_ends():
    """Line, neutral and earth of a unit, 3 to load and 3 to incoming board; three lines, neutral and earth of what all share: two glands each."""
    plan = planned()
    told = [(line.specification, line.quantity) for line in lines(plan, "gland") if "conductors" in line.specification]
    assert [(text.partition(" of ")[0], number) for text, number in told] == [("for 3 conductors", 12), *[("for 5 conductors", 2)] * 2]
    # Battery conductors: from bar or post into the enclosure of holder and isolator, out of it, and into the unit.
    units, many = 2 * 3, plan.parts.conductors.of["battery B1"].parallel
    assert sum(line.quantity for line in lines(plan, "gland") if "one battery conductor" in line.specification) == 3 * units + 2 * 2 * many


def test_what_is_not_computed_is_said_and_what_any_dealer_has_is_not_ordered_ahead():
    """A lock for each breaker, on the shelf; one kit without a spare, whether its resistor is computed or not; no rating where no current is known."""
    unknown = planned({"storage.chemistry": None}, without=("storage.module.absorption", "storage.module.float", "storage.module.low", "storage.module.cells"))
    assert [(line.quantity, line.spare, line.order_ahead) for line in lines(unknown, "pre-charge kit")] == [(1, 0, True)]
    assert "not computed" in lines(unknown, "pre-charge kit")[0].specification
    assert [(line.quantity, line.spare, line.order_ahead) for line in lines(planned(), "breaker lock")] == [(7, 0, False)]
    # 185 mm2 on M8, on a terminal for 95 mm2: the lugs of the units are marked, nothing else is.
    assert [(line.item, line.specification.rpartition(", ")[2]) for line in planned().parts.bill.lines if line.mark] == [("cable lug", "M8")]
    [residual] = lines(planned(without=("unit.apparent_power", "unit.real_power")), "residual-current device")
    assert residual.specification.startswith("4 poles, rating not computed, trips at")


@pytest.mark.parametrize(("rules", "method", "way", "stock"), [("iec", "A1", "conduit", 3), ("iec", "B2", "trunking", 2), ("iec", "D1", "duct", 3), ("iec", "F", "tray", 3), ("nec", "C", "conduit", 3.048), ("nec", "E", "tray", 3.048)])
def test_what_carries_the_cables_follows_their_method(rules, method, way, stock):
    """IEC 60364-5-52: A and B in conduit or trunking, D in a duct, E and F on a tray; by the NEC no single conductor lies open on a wall. One unit:
    each stretch of its load cable and a tenth over it."""
    plan = planned(set_of(1) | {"site.rules": rules, "routes": [{"carries": "load", "method": method}]})
    [line] = [line for item in ("conduit", "trunking", "duct", "tray", "cleat") for line in lines(plan, item) if line.goes_to == ("load L1-1",) and item == way]
    along = sum(abs(x - u) + abs(y - v) for (x, y), (u, v) in pairwise(plan.parts.wall.runs["load L1-1"].path))
    assert plan.figures[f"plan.bill.{way}[load {method}]"].value == pytest.approx(1.1 * along)
    assert line.quantity == math.ceil(1.1 * along / stock - 1e-9)
    assert line.specification.startswith(f"lengths of {plan.facts.metres(stock)}: for up to 3 load conductors of ")
    assert "estimated from its lanes" in line.specification
    assert bool([line for line in lines(plan, "cleat") if line.goes_to == ("load L1-1",)]) is (way == "tray")


def test_a_stretch_of_trunking_is_bought_once_however_many_cables_lie_in_it():
    """Three units side by side, 0.6 m apart: all their load cables lie in one lane, and the longest of them passes where the others lie."""
    plan = sample("alder-farm")
    [line] = [line for line in lines(plan, "trunking") if "load conductors" in line.specification]
    ways = [plan.parts.wall.runs[f"load L{k}-1"].path for k in (1, 2, 3)]
    # L1-1 at 0.8 m, the board at 3.1 m; up from 1.5 m to the lane at 2.1 m three times, along it 2.3 m, down to 1.6 m: 3 x 0.6 + 2.3 + 0.5.
    assert [way[0] for way in ways] == [(0.8, 1.5), (1.4, 1.5), (2.0, 1.5)]
    assert plan.figures["plan.bill.trunking[load B1].way"].value == pytest.approx(3 * 0.6 + 2.3 + 0.5)
    assert line.quantity == 3  # 4.6 m and a tenth: 5.06 m, of 2 m each


def test_a_way_that_is_not_known_is_to_be_measured():
    """A measured resistance alone gives no length; a measured length is taken for a way of its own."""
    parted = {"what": "obstacle", "x": "2 m", "y": "1.2 m", "width": "0.2 m", "height": "2.4 m"}
    shut = planned({"wall": {"width": "4 m", "height": "2.4 m", "places": [{"what": "unit", "tag": "L1-1", "x": "1 m", "y": "1.5 m"}, {"what": "load-board", "x": "3 m", "y": "1.5 m"}, parted]}})
    unknown = [line for line in lines(shut, "trunking") if line.specification.endswith("length to be measured")]
    assert unknown
    assert all(line.quantity == 1 for line in unknown)
    assert not [line for line in lines(planned(), "trunking") if line.specification.endswith("length to be measured")]


def test_lead_acid_has_a_vent_low_and_one_high():
    """T16: Q = 0.05 n I C / 1000, 28 cm2 for each m3/h, at the inlet and at the outlet; lithium gasses nothing."""
    lead = {"storage.chemistry": "flooded", "storage.managed": False, "storage.module": {"voltage": "48 V", "cells": 24, "capacity": "100 Ah", "charge_current": "20 A", "discharge_current": "100 A", "resistance": "12 mohm", "absorption": "57.6 V", "float": "54 V", "low": "44 V"}}
    plan = planned(lead, without=("storage.module", "storage.links"))
    [vent] = lines(plan, "vent")
    assert (vent.quantity, vent.goes_to) == (2, ("B1",))
    assert vent.specification.startswith(f"free opening of {plan.parts.storage.of('B1').opening} or more, one low and one high")
    assert "the vents of the battery room, one low and one high" in hang(plan)
    assert not lines(planned(), "vent")
    assert "vents" not in hang(planned())


def hang(plan):
    """The step in which everything is hung."""
    [step] = [step for step in plan.parts.procedure.steps if step.id == "hang@set"]
    return step.do


def test_what_shuts_down_from_outside_is_bought_where_a_rule_book_asks_for_it():
    """NFPA 70 (NEC) 706.15 for storage in a dwelling, 690.12 for panels on a building; IEC 60364 has no such rule for all sites."""
    nec = planned({"site.rules": "nec"} | SOLAR)
    assert [("706.15" in line.specification, line.quantity) for line in lines(nec, "emergency shutdown device")] == [(True, 1)]
    assert [("690.12" in line.specification, line.quantity) for line in lines(nec, "rapid shutdown device")] == [(True, 1)]
    shown = [step.do for step in nec.parts.procedure.steps if step.id == "show@set"]
    assert "emergency shutdown and rapid shutdown" in shown[0]
    assert not lines(planned({"site.rules": "nec"}), "rapid shutdown device")
    iec = planned(SOLAR)
    assert not [line for line in iec.parts.bill.lines if "shutdown" in line.item]
    assert not [step for step in iec.parts.procedure.steps if "shutdown" in step.do or "emergency stop" in step.do]


def test_a_neutral_that_never_meets_earth_has_something_that_watches():
    """IEC 60364-4-41 411.6.3."""
    floating = planned({"earthing.system": "IT", "earthing.island_bond": "none"})
    assert pieces(floating, "insulation monitoring device") == 1
    assert "insulation monitoring device" in hang(floating)
    assert pieces(planned(), "insulation monitoring device") == 0


def test_screened_data_cables_are_ordered_screened():
    node = {"bus_nodes": [{"name": "Meter", "end": "last"}]}
    for screened in (True, False):
        plan = planned({"unit.bus.screened": screened} | node)
        assert [line.specification.endswith(", screened") for item in ("comms link", "bus node lead") for line in lines(plan, item)] == [screened] * 2


def test_a_lug_that_is_not_made_or_does_not_fit_says_so_and_no_other_does():
    """185 mm2 has lugs with holes for M10 to M16, none for M8; a terminal for 95 mm2 does not take it."""
    plan = planned()
    assert str(plan.parts.conductors.of["battery L1-1"].conductor) == "185 mm2"
    marked = {line.specification: line.mark for line in lines(plan, "cable lug") if line.mark}
    [(told, mark)] = marked.items()
    assert told.endswith(", M8")
    assert mark.startswith("OFTEN NOT MADE (usual: M10 M12 M16")
    fits = planned({"unit.dc_stud": "M10"})
    [(told, mark)] = {line.specification: line.mark for line in lines(fits, "cable lug") if line.mark}.items()
    assert (told.endswith(", M10"), mark) == (True, "DOES NOT FIT the unit: its terminal takes at most 95 mm2; for an adaptor or a bar between")
    large = planned({"unit.ac_terminal_max": "2.5 mm2"})
    assert {line.mark for line in lines(large, "ferrule") if line.mark} == {"DOES NOT FIT the unit: its terminal takes at most 2.5 mm2; for an adaptor or a bar between"}
    # As many as end on a unit, line and neutral of two circuits each; the other ends fit.
    assert sum(line.quantity for line in lines(large, "ferrule") if line.mark) == 3 * 2 * 2
    assert [row.mark for row in large.plan.bill if row.mark] == [line.mark for line in large.parts.bill.lines if line.mark]


def test_each_place_with_switchgear_has_its_enclosure():
    """Two boards with what sits on them, a box for the bank's fuses and isolator, one beside the bar; a breaker that is there has its own."""
    told = {line.goes_to: line.specification.partition(";")[0] for line in lines(planned(), "enclosure")}
    assert told == {
        ("incoming board",): "board with its bars, for 1 surge device, 3 breakers",
        ("load board",): "board with its bars, for 1 surge device, 3 breakers, 1 isolator, 1 residual-current device",
        ("B1",): "for 2 fuse holders, 1 isolator, where they do not come in one",
        ("bar B1",): "for 6 fuse holders, 3 isolators, where they do not come in one",
    }


def test_what_opens_is_labelled_and_so_are_units_and_banks():
    plan = planned()
    locks = pieces(plan, "padlock") + pieces(plan, "breaker lock")
    assert (pieces(plan, "isolator label"), pieces(plan, "unit tag"), pieces(plan, "bank label")) == (locks, 3, 1)
    assert lines(plan, "bank label")[0].specification == "its name, 51.2 V, live whatever is open"
