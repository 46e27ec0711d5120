"""S30 to S36 defended: an earthed pole, what was assumed, fuses for hours, names, revision, whole names of conductors, how many units."""

from __future__ import annotations

import pytest

from engine import MADE_WITH
from engine.files.digest import doubts
from engine.files.emit import plan_document
from engine.files.problems import Unreadable
from engine.files.read import parse
from engine.planner import Planned
from engine.sheets.papers import papers
from engine.sheets.text.unit import unit_sheet
from engine.tables.rules import rules
from tests.conftest import ROOT
from tests.defence.sites import split
from tests.defence.twins import ONE, WEAK, Changes, circuit, codes, hung, load, planned, route
from tests.engine import paper_sites
from tests.engine.paper_sites import set_of

EARTHED = {"storage.earthed": "minus"}


def told_as(plan: Planned, level: str) -> set[str]:
    """The codes of a plan's findings of one level."""
    return {finding.code for finding in plan.findings if finding.level.value == level}


@pytest.mark.parametrize(("earthed", "poles", "pole"), [("minus", 1, "plus"), ("plus", 1, "minus"), ("none", 2, None), (None, 2, None)])
def test_s30_the_fuse_stands_in_the_unearthed_pole_only_and_the_isolator_opens_both(earthed: str | None, poles: int, pole: str | None) -> None:
    """S30"""
    site = ONE | {"storage.earthed": earthed}
    device = circuit(site, "battery L1-1").device
    assert (device.poles, device.pole) == (poles, pole)
    isolator = next(row for row in planned(site).plan.bill if row.item == "isolator" and row.goes_to == ["battery L1-1"])
    assert "2 poles" in isolator.specification
    assert ("battery-pole-earthed" in codes(site)) is (poles == 1)


def test_s30_one_bond_a_bank_that_stands_the_largest_fuse() -> None:
    """S30: a 160 A fuse passes 0.671 MA2s where the fault is 2590 A or more, else 950^2 x 5 s = 4.51 MA2s: sqrt / 143 = 14.9 mm2, 16 mm2.

    10 mm2 for case and bond, 2.19 mohm/m: 6.4 m and 3 m are 20.6 mohm, bank and lead 2.6 mohm: 46 V / 23.2 mohm = 1.98 kA, too little.
    """
    site = ONE | WEAK | EARTHED
    grounds = {row.name: row for row in planned(site).plan.circuits if row.kind == "earth"}
    assert list(grounds) == ["earth common", "earth load-board", "earth L1-1", "earth B1", "bond B1"]
    assert (grounds["earth L1-1"].length, grounds["bond B1"].length) == ("6.4 m", "3 m")
    assert {grounds[name].conductor for name in ("earth L1-1", "earth B1", "bond B1")} == {"16 mm2"}
    assert not [row for row in planned(ONE | WEAK).plan.circuits if row.name.startswith("bond")]
    plan = planned(site).plan
    assert any("bond B1" in row.goes_to for row in plan.bill)
    assert any("bond B1" in step.do for step in plan.steps)


def test_s30_a_case_ahead_of_the_units_fuse_stands_the_banks() -> None:
    """S30: with a bar a fault in a unit's lead is opened by the bank's 400 A fuse alone. Slower than 8060 A: 2840^2 x 5 s = 40.3 MA2s,
    sqrt / 143 = 44.4 mm2; the unit's own 160 A fuse asks for 14.9 mm2 at most."""
    site = WEAK | EARTHED
    assert circuit(site, "battery B1").device.rating == "400 A"
    assert circuit(site, "battery L1-1").device.rating == "160 A"
    assert {circuit(site, name).conductor for name in ("earth L1-1", "earth bar B1", "bond B1")} == {"50 mm2"}
    assert circuit(WEAK, "earth L1-1").conductor == "16 mm2"  # as its lines


def test_s30_under_the_nec_the_bond_is_no_smaller_than_250_166() -> None:
    """S30: no smaller than the bank's largest conductor, up to 3/0 AWG (250.168)."""
    row = circuit(WEAK | EARTHED | {"site.rules": "nec"}, "bond B1")
    assert (row.conductor, row.governed_by) == ("3/0 AWG", "device")


def test_s31_an_assumed_wall_grows_and_an_answered_one_stops() -> None:
    """S31: ten units of 0.45 m with 0.2 m round each find no room on the 4 m by 2.4 m that are usual."""
    crowd = set_of(10) | {"routes": [route("comms", length="1 m")]}
    assumed = planned(crowd)
    assert assumed.parts.wall.width.value > 4
    assert "wall-assumed" in codes(crowd)
    assert not {"no-room-on-the-wall", "off-the-wall"} & codes(crowd)
    assert "no-room-on-the-wall" in codes(crowd | {"wall.width": "2 m", "wall.height": "2.4 m"})


def test_s31_a_managed_bank_is_planned_with_its_data_link() -> None:
    """S31: to the lead where that is on the bank, else to its first unit; as a caution, on the sheet, and listed as assumed."""
    split = {"storage.connection": "bank-per-unit", "storage.wired": {"L1-1": "B1", "L2-1": "B2", "L3-1": "B3"}, "set.lead": "L2-1"}
    one, three = planned({"storage.links": [], "set.lead": "L2-1"}), planned(split | {"storage.links": [{"bank": "B3", "unit": "L3-1"}]})
    assert [(link.bank, link.unit) for link in one.parts.banks.links] == [("B1", "L2-1")]
    assert [(link.bank, link.unit) for link in three.parts.banks.links] == [("B3", "L3-1"), ("B1", "L1-1"), ("B2", "L2-1")]
    assert ("storage.links[B1].unit", "L2-1") in {(taken.key, taken.value) for taken in one.assumed}
    assert "bank-without-link" not in told_as(one, "stop")
    assert "bank-without-link" in told_as(one, "caution")
    assert "data lead of bank B1" in unit_sheet(one, "L2-1")
    assert any(line.item == "data lead" and line.goes_to == ("B1 > L2-1",) for line in one.parts.bill.lines)


def test_s31_an_assumed_feed_gives_way_to_one_that_carries() -> None:
    """S31: the busiest of six strings of 6 mohm (12 stated, halved) with joints of 0.5 mohm carries 1 / 2.943 from one end, 1 / 4.836 diagonally
    (nodal solution, tests/published), 1 / 6 from a bar. Three units draw 350.6 A: a string must give 119.2, 72.5 or 58.4 A."""

    def fed(changes: Changes) -> tuple[str, str, set[str]]:
        plan = planned(changes)
        taken = {one.key: one.value for one in plan.assumed}
        return plan.parts.storage.banks[0].feed, taken.get("storage.bank.feed", "answered"), told_as(plan, "caution") & {"feed-assumed"}

    joint: Changes = {"storage.bank.joint_resistance": "0.5 mohm"}
    assert fed(joint | {"storage.module.discharge_current": "120 A"}) == ("one end", "one end", set())
    assert fed(joint | {"storage.module.discharge_current": "118 A"}) == ("diagonal", "diagonal", {"feed-assumed"})
    assert fed(joint | {"storage.module.discharge_current": "73 A"}) == ("diagonal", "diagonal", {"feed-assumed"})
    assert fed(joint | {"storage.module.discharge_current": "60 A"}) == ("bar", "bar", {"feed-assumed"})
    assert fed(joint | {"storage.module.discharge_current": "60 A", "storage.bank.feed": "one end"}) == ("one end", "answered", set())
    # Nothing does: the assumption stands, and the plan stops.
    assert fed(joint | {"storage.module.discharge_current": "20 A"}) == ("one end", "one end", set())
    assert "bank-below-set" in told_as(planned({"storage.module.discharge_current": "20 A"}), "stop")


def test_s31_an_assumed_method_gives_way_to_one_that_carries() -> None:
    """S31: 34 kW draw 973 A. In conduit four of 300 mm2 carry 891 A (S12); clipped to the wall they do, and the sheath says so too."""
    drawn: Changes = {"unit.real_power": "34 kW", "unit.apparent_power": "34 kVA"}
    plan = planned(ONE | drawn)
    [told] = [f for f in plan.findings if f.code == "method-assumed"]
    assert (told.level.value, told.about) == ("caution", "routes[battery].method")
    assert "As method B2 none would do, so they are planned as method C" in told.text
    assert ("routes[battery].method", "C") in {(taken.key, taken.value) for taken in plan.assumed}
    assert not told_as(plan, "stop") & {"no-conductor-will-do"}
    row = circuit(ONE | drawn, "battery L1-1")
    assert row.conductor is not None
    answered = circuit(ONE | drawn | {"routes": [route("battery", method="C")]}, "battery L1-1")
    assert (row.conductor, row.parallel, row.voltage_class, row.device) == (answered.conductor, answered.parallel, answered.voltage_class, answered.device)
    # Neither what is said of other circuits nor of another kind answers it; what is said of one stays as it is said.
    for said in ([route("load", method="B2")], [route("battery", method="F", to="L1-1")], [route("battery", method="F", insulation="xlpe", to="L1-1")]):
        three = split(1, 1, 1, bank="bank-per-unit") | drawn | {"routes": said}
        assert "method-assumed" in told_as(planned(three), "caution")
        assert {circuit(three, f"battery {tag}").conductor for tag in ("L2-1", "L3-1")} == {"240 mm2"}
        assert circuit(three, "battery L1-1").conductor is not None
    # What was answered is never exchanged.
    assert "no-conductor-will-do" in told_as(planned(ONE | drawn | {"routes": [route("battery", method="B2")]}), "stop")


@pytest.mark.parametrize(
    ("rules", "power", "method"),
    [("iec", 46, "C"), ("iec", 50, "F"), ("iec", 60, None), ("nec", 34, "F"), ("nec", 60, None)],
)
def test_s31_the_first_way_of_laying_that_does_is_taken(rules: str, power: int, method: str | None) -> None:
    """S31: on the wall, then in free air; where neither does the assumption stands and the plan stops. Under the NEC a raceway or free air, no third."""
    plan = planned(ONE | {"site.rules": rules, "unit.real_power": f"{power} kW", "unit.apparent_power": f"{power} kVA"})
    assert {taken.value for taken in plan.assumed if taken.key == "routes[battery].method"} == {method or "B2"}
    assert ("method-assumed" in told_as(plan, "caution")) == (method is not None)
    assert ("no-conductor-will-do" in told_as(plan, "stop")) == (method is None)


@pytest.mark.parametrize(
    ("unsaid", "ampere", "more", "level", "told"),
    [
        # 15 kW / (0.90 x 46 V) = 362.3 A, without losses 326.1 A; six strings of 58 A are 348 A, of 54 A 324 A.
        (["unit.efficiency"], 58, {}, "caution", "Nobody answered the efficiency of a unit: with the best that can be it would do."),
        (["unit.efficiency"], 54, {}, "stop", ""),
        # What losses do is known without the nominal voltage.
        (["unit.efficiency", "storage.module.voltage"], 58, {}, "caution", "Nobody answered the efficiency of a unit: with the best"),
        # 15 kW / (0.93 x 51.2 V) = 315.0 A: 318 A and 312 A.
        (["unit.dc_min", "storage.module.low"], 53, {}, "caution", "Nobody answered the lowest voltage: with the best that can be it would do."),
        (["unit.dc_min", "storage.module.low"], 52, {}, "stop", ""),
        # One of the two says enough: 350.6 A at 46 V, whatever the unit takes.
        (["unit.dc_min"], 53, {}, "stop", ""),
        # 15 kW / 51.2 V = 293.0 A: 294 A and 288 A; so do 30 kW at two modules in series.
        (["unit.dc_min", "storage.module.low", "unit.efficiency"], 49, {}, "caution", "Nobody answered the efficiency of a unit, the lowest voltage: with the best"),
        (["unit.dc_min", "storage.module.low", "unit.efficiency"], 48, {}, "stop", ""),
        (["unit.dc_min", "storage.module.low", "unit.efficiency"], 49, {"storage.bank.series": 2, "unit.dc_max": "120 V", "unit.real_power": "10 kW"}, "caution", "the lowest voltage"),
        (["unit.dc_min", "storage.module.low", "unit.efficiency"], 48, {"storage.bank.series": 2, "unit.dc_max": "120 V", "unit.real_power": "10 kW"}, "stop", ""),
    ],
)
def test_s31_a_bank_is_too_small_only_if_no_answer_could_mend_it(unsaid: list[str], ampere: int, more: Changes, level: str, told: str) -> None:
    """S31: judged without losses where they are assumed, at nominal voltage where the lowest is; from a bar where nobody said, for that gives the most."""
    plan = paper_sites.planned({"storage.module.discharge_current": f"{ampere} A", **more}, without=tuple(unsaid))
    [found] = [finding for finding in plan.findings if finding.code == "bank-below-set"]
    assert (found.level.value, plan.parts.storage.banks[0].feed) == (level, "bar" if level == "caution" else "one end")
    assert told in found.text
    # From a bar each string gives all it may, whatever the feed that was assumed.
    assert plan.parts.storage.banks[0].discharge_current is not None
    assert f"About {-(-plan.parts.storage.banks[0].discharge_current.value // ampere):.0f} strings in parallel would do (from a bar)" in found.remedy
    assert ("Nobody answered" in found.text) == ("S31" in found.source) == (level == "caution")


def test_s31_a_bank_that_gives_just_what_is_drawn_is_enough() -> None:
    """S31, S26: 4.6 kW / 46 V is 100 A a unit; six strings of 50 A from a bar."""
    site: Changes = {"unit.efficiency": 1.0, "unit.real_power": "4.6 kW", "storage.module.discharge_current": "50 A", "storage.bank.feed": "bar"}
    assert "bank-below-set" not in codes(site)
    assert "bank-below-set" in codes(site | {"storage.module.discharge_current": "49.9 A"})


@pytest.mark.parametrize("units", [(2, 1), (1, 2)])
def test_s31_of_two_banks_only_the_one_that_gives_too_little_is_fed_otherwise(units: tuple[int, int]) -> None:
    """S31: six strings of 50 A are 147.1 A from one end and 241.8 A diagonally; a unit draws 116.9 A."""
    site = split(*units, bank="bank-per-phase") | {"storage.bank.joint_resistance": "0.5 mohm", "storage.module.discharge_current": "50 A"}
    plan = planned(site)
    assert [bank.feed for bank in plan.parts.storage.banks] == [{1: "one end", 2: "diagonal"}[count] for count in units]
    assert [taken.value for taken in plan.assumed if taken.key == "storage.bank.feed"] == ["diagonal"]
    assert "feed-assumed" in told_as(plan, "caution")
    assert "bank-below-set" not in codes(site)


def test_s31_nothing_that_was_assumed_stops_a_plan() -> None:
    """S31: a link or a bus that is too long only where nobody said the units hang is a caution."""
    for site, code in (({"unit.bus.link_lengths": ["0.5 m"]}, "link-too-long"), ({"unit.bus.link_lengths": ["10 m"], "unit.bus.length_max": "19 m"}, "bus-too-long")):
        for where, level in (({}, "caution"), (hung(), "stop")):
            assert {str(f.level) for f in planned(site | where).findings if f.code == code} == {level}


@pytest.mark.parametrize(
    ("more", "told", "fuse"),
    [
        # 5.04 kW / (0.93 x 46 V) x 1.2247 = 144.3 A, above 0.9 x 160 A = 144 A; 5.02 kW draw 143.7 A.
        ({}, True, "160 A"),
        ({"unit.real_power": "5.02 kW", "unit.apparent_power": "5.02 kVA"}, False, "160 A"),
        # A bank of 120 Ah is empty in 54 min.
        ({"storage.module.capacity": "20 Ah"}, False, "160 A"),
        # The fuse maker's factor decides: 144.3 / 0.91 = 158.6 A, 144.3 / 0.9 = 160.3 A.
        ({"storage.fuse_factor": 0.91}, False, "160 A"),
        ({"storage.fuse_factor": 0.9}, False, "200 A"),
    ],
)
def test_s32_a_battery_fuse_above_nine_tenths_for_an_hour(more: Changes, told: bool, fuse: str) -> None:
    """S32"""
    site = ONE | {"unit.real_power": "5.04 kW", "unit.apparent_power": "5.04 kVA"} | more
    assert ("fuse-loaded" in codes(site)) is told
    assert circuit(site, "battery L1-1").device.rating == fuse


def test_s32_charging_is_an_hour_too() -> None:
    """S32: a bank empty within the hour by discharge charges its unit at 120 A, 147 A thermal."""
    site = ONE | {"storage.module.capacity": "20 Ah", "storage.bank.feed": "bar", "unit.charge_current": "120 A"}
    assert "fuse-loaded" in codes(site)
    assert "fuse-loaded" not in codes(site | {"unit.charge_current": "117 A"})  # 143.3 A


@pytest.mark.parametrize(("line", "key"), [('name = "{}"', "name"), ('reference = "{}"', "reference"), ('note = "{}"', "note")])
def test_s33_names_end_at_200_characters_and_notes_at_2000(line: str, key: str) -> None:
    """S33"""
    most = 2000 if key == "note" else 200
    parse(f"[site]\n{line.format('x' * most)}\n".encode(), "site.toml")
    with pytest.raises(Unreadable) as refused:
        parse(f"[site]\n\n{line.format('x' * (most + 1))}\n".encode(), "site.toml")
    [problem] = refused.value.problems
    assert (problem.line, problem.key) == (3, f"site.{key}")


@pytest.mark.parametrize("spelling", ['"0.23 kV"', '"230V"', '"230,0 V"', '"230000 mV"'])
def test_s34_the_revision_follows_the_values_not_their_spelling(spelling: str) -> None:
    """S34"""
    one, other, another = (parse(f"[output]\nvoltage = {text}\n".encode(), "site.toml").revision for text in ('"230 V"', spelling, '"231 V"'))
    assert one == other != another


def test_s34_papers_carry_revision_version_and_digest() -> None:
    """S34"""
    site = planned(ONE)
    assert site.plan.digest and len(site.plan.digest) == 8
    for name, text in papers(site).items():
        for mark in (site.plan.revision, MADE_WITH.rsplit(" ", 1)[-1], site.plan.digest):
            assert mark in text, name


def test_s34_an_equal_revision_with_another_plan_is_told() -> None:
    """S34: the small sites all bear one revision, whatever is changed of them."""
    one, other = planned(ONE).plan, planned(ONE | {"unit.transfer_current": "16 A"}).plan
    assert one.revision == other.revision
    assert one.digest != other.digest
    assert not [*doubts(plan_document(one), one)]
    assert [*doubts(plan_document(one), other)]


@pytest.mark.parametrize(
    ("site", "grade"),
    [
        # Twice 6 x 56 V is 672 V, twice 7 x 56 V 784 V.
        ({"storage.bank.series": 6, "unit.dc_max": "500 V"}, "450/750 V"),
        ({"storage.bank.series": 7, "unit.dc_max": "500 V"}, "0.6/1 kV"),
        # In the lane of the loads they lie with AC.
        (hung() | {"routes": [route("battery", lane="2.1 m")]}, "0.6/1 kV"),
        (hung(), "450/750 V"),
    ],
)
def test_s35_a_battery_cable_stands_twice_the_bank_and_1_kv_beside_ac(site: Changes, grade: str) -> None:
    """S35"""
    row = circuit(site, "battery L1-1")
    assert row.voltage_class == grade
    assert (row.metal, row.insulation, row.rated_temperature, row.stranding) == ("copper", "PVC", "70 degC", "class 5")
    assert circuit(site, "load L1-1").stranding == "class 2"


def test_s35_the_bill_names_a_conductor_whole() -> None:
    """S35: metal, insulation, temperature, stranding, voltage class and colour."""
    cuts = [row.specification.split(", ") for row in planned(ONE).plan.bill if row.item == "conductor cut"]
    for stuff, insulation, stranding, grade, colour, length in cuts:
        assert stuff.endswith(" copper")
        assert insulation == "PVC 70 degC"
        assert stranding in ("class 2", "class 5")
        assert grade == "450/750 V"
        assert colour
        assert length.endswith(" m")
    assert len(cuts) > 8


@pytest.mark.parametrize("site", [{"unit.max_units": 2}, {"set.count": 2, "set.per_phase": None}, {"unit.max_units": None, "set.count": 37, "set.per_phase": None}])
def test_s36_an_impossible_number_of_units_stops_before_any_is_planned(site: Changes) -> None:
    """S36"""
    plan = planned(site | {"loads": [load()]}).plan
    assert plan.standing == "stopped"
    assert not plan.units
    assert not [row for row in plan.circuits if row.kind != "earth"]
    assert len(planned({}).plan.units) == 3


def test_every_s_rule_is_named_by_a_defence() -> None:
    """A rule of the table that no docstring of a test here names has no defence."""
    import ast
    import re

    named: set[str] = set()
    for file in sorted((ROOT / "tests" / "defence").glob("test_s_*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_s"):
                named |= set(re.findall(r"\bS\d+\b", ast.get_docstring(node) or ""))
    wanted = {number for number in rules() if number.startswith("S")}
    assert len(wanted) == 36
    assert named == wanted
