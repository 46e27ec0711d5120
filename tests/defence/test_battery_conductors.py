"""T1, T2, T3 and T11 decide fuses and conductors of battery circuits.

Hand figures rest on: currents of a unit by power balance; gG ratings 100, 125, 160, 200, 250, 315, 400, 500 A (IEC 60269-1); method C, two
loaded, copper, 30 degC (IEC 60364-5-52 table B.52.2 PVC, B.52.3 XLPE); NEC table 310.16 and 240.6(A).
"""

from __future__ import annotations

import math

import pytest

from engine.findings import Level
from tests.defence.sites import NEC, codes, found, rating, routes, site, size, sized, split
from tests.defence.twins import hung, planned

UNIT = "battery L1-1"
ONE = split(1)


def powered(kilowatts: float, kilovolt_amperes: float | None = None) -> dict[str, str]:
    """A unit of that power, its surge twice as much."""
    return {"unit.real_power": f"{kilowatts} kW", "unit.apparent_power": f"{kilovolt_amperes or kilowatts} kVA", "unit.surge_power": f"{2 * kilowatts} kVA"}


@pytest.mark.parametrize(("changes", "without", "fuse"), [
    # 5.5 kW / (0.90 x 46 V) = 132.9 A, x 1.2247 = 162.7 A; at 0.93, and at 1, 157.5 and 146.4 A would take 160 A.
    (powered(5.5), ("unit.efficiency",), 200),
    (powered(5.5), (), 160),
    # 5.7 kW / (0.93 x 46 V) = 133.2 A, x 1.2247 = 163.2 A; a unit that stops at 48 V draws 127.7 A, 156.4 A.
    (powered(5.7), (), 200),
    (powered(5.7) | {"unit.dc_min": "48 V"}, (), 160),
    # The bank's low of 46 V, not the unit's 42 V: 128.0 x 1.2247 = 156.8 A at 5 kW would be the same fuse; 5.4 kW: 154.6 or 169.3 A.
    (powered(5.4), (), 160),
])
def test_the_battery_current_is_drawn_at_the_higher_lowest_voltage(changes, without, fuse) -> None:
    """T1: I = P / (efficiency U), U the larger of dc_min and the bank's low; an efficiency that nobody answered is 0.90."""
    assert rating(site(changes, without=without), UNIT) == fuse


@pytest.mark.parametrize(("surge", "time", "fuse"), [
    # T1 116.9 A, thermal 143.1 A. A surge of 10 kVA is 233.8 A: half of it asks for nothing more.
    ("10 kVA", "5 s", 160),
    # 15 kVA: 350.6 A, half 175.3 A; for longer than 10 s the whole of it.
    ("15 kVA", "5 s", 200),
    ("15 kVA", "10 s", 200),
    ("15 kVA", "11 s", 400),
])
def test_the_fuse_carries_the_surge_for_its_time(surge, time, fuse) -> None:
    """T1: the fuse also carries the surge; S7: half of it for up to 10 s."""
    assert rating(site({"unit.surge_power": surge, "unit.surge_time": time}), UNIT) == fuse


@pytest.mark.parametrize(("changes", "fuse", "conductor"), [
    # 116.9 A x sqrt(1 + 1/2) = 143.1 A: 160 A, and 1.6 x 160 / 1.45 = 176.6 A: 70 mm2 (50 mm2 168 A).
    ({}, 160, "70 mm2"),
    # Half of the pulses: x sqrt(1 + 0.25/2) = 124.0 A: 125 A, 137.9 A: 35 mm2 138 A, just.
    ({"unit.ripple": 0.5}, 125, "35 mm2"),
    # S/P = 1.4: x sqrt(1 + 1.96/2) = 164.5 A.
    ({"unit.apparent_power": "7 kVA"}, 200, "95 mm2"),
])
def test_a_units_own_cable_carries_the_pulses(changes, fuse, conductor) -> None:
    """T2: I sqrt(1 + (r S/P)^2 / 2) in a unit's own cable."""
    plan = site(changes)
    assert (rating(plan, UNIT), size(plan, UNIT)[0]) == (fuse, conductor)


@pytest.mark.parametrize(("per_phase", "current", "fuse"), [
    # 3 x 116.88 A, the pulses of three phases cancel: 350.6 A, 400 A; with pulses 429.4 A would ask for 500 A.
    ((1, 1, 1), 350.6, 400),
    # Split-phase adds: 2 x 143.1 = 286.3 A, 315 A; cancelled 233.8 A would take 250 A.
    ((1, 1), 286.3, 315),
    # Single-phase adds too.
    ((2,), 286.3, 315),
    # One unit too many on L1 leaves its own pulse: 116.88 x sqrt(4^2 + 1^2 / 2) = 474.8 A.
    ((2, 1, 1), 474.8, 500),
])
def test_pulses_cancel_on_a_balanced_bar_and_add_on_the_others(per_phase, current, fuse) -> None:
    """T2: what a bank's own conductors carry by arrangement."""
    plan = site(split(*per_phase))
    assert sized(plan, "battery B1").current.value == pytest.approx(current, abs=0.05)
    assert rating(plan, "battery B1") == fuse


def test_the_bar_of_a_balanced_set_takes_no_larger_conductor_for_pulses() -> None:
    """T2: 400 A: 1.6 x 400 / 1.45 = 441.4 A: 240 mm2 carries 461 A; 500 A for uncancelled pulses, 551.7 A, would need more than 300 mm2."""
    assert size(site(), "battery B1")[0] == "240 mm2"


@pytest.mark.parametrize(("terminal", "conductor", "decides"), [
    # 4 kW: 93.5 x 1.2247 = 114.5 A, a 125 A fuse, 137.9 A: 25 mm2 XLPE carries 138 A. In the 70 degC column 25 mm2 is 112 A: 35 mm2, 138 A.
    (None, "35 mm2", "termination"),
    ("90 degC", "25 mm2", "current"),
    ("75 degC", "35 mm2", "termination"),
    # At 60 degC sqrt((60 - 30) / (70 - 30)) = 0.866 of the column: 35 mm2 119.5 A, 50 mm2 145.5 A.
    ("60 degC", "50 mm2", "termination"),
])
def test_xlpe_gains_nothing_at_a_cool_terminal(terminal, conductor, decides) -> None:
    """T3: the conductor is rated at what its terminals stand, 70 degC (IEC) unless marked higher."""
    changes = powered(4) | ({"unit.terminal_temperature": terminal} if terminal else {})
    plan = site(changes, battery={"insulation": "xlpe"})
    assert rating(plan, UNIT) == 125
    assert size(plan, UNIT) == (conductor, decides)


@pytest.mark.parametrize(("circuit", "changes", "conductor"), [
    # 62.5 A transfer: device 60 A, Ib 48 A, 60 A with its 125 %. Column of 60 degC: 6 AWG 55 A, 4 AWG 70 A; of 75 degC: 6 AWG 65 A.
    ("incoming L1-1", {"unit.transfer_current": "62 A"}, "4 AWG"),
    ("incoming L1-1", {"unit.transfer_current": "62 A", "unit.terminal_temperature": "75 degC"}, "6 AWG"),
    # 1.25 x 116.9 = 146.1 A is above 100 A: 75 degC, 1/0 AWG 150 A. The 60 degC column would ask for 3/0 AWG (2/0 145 A).
    ("battery L1-1", {}, "1/0 AWG"),
    ("battery L1-1", {"unit.terminal_temperature": "60 degC"}, "3/0 AWG"),
    # 3.56 kW draw 83.2 A, 104 A with 125 %. 2 AWG has 115 A at 75 degC, but 95 A at 60 degC would not have done for 100 A: no less than that.
    ("battery L1-1", powered(3.56), "1 AWG"),
])
def test_the_nec_takes_the_column_of_its_terminals(circuit, changes, conductor) -> None:
    """T3: 60 degC up to 100 A, 75 degC above, unless marked (110.14(C)(1))."""
    assert size(site(NEC | changes), circuit)[0] == conductor


def test_doubled_conductors_count_in_their_own_group() -> None:
    """T11, S12: 5 units of 5.8 kW each on one phase: two conductors a pole that lie together carry 0.85 of the table.

    5 x 5.8 kW / (0.93 x 46 V) = 677.9 A, hardly any pulses at r = 0.01: a 800 A fuse, 882.8 A. Method C, two loaded, two circuits together 0.85:
    2 x 0.85 x 530 A (300 mm2) = 901 A; 2 x 0.85 x 461 A (240 mm2) = 783.7 A. Without the group 2 x 461 = 922 A would have done.
    """
    plan = site(split(5) | powered(5.8) | {"unit.ripple": 0.01, "storage.bank.parallel": 12})
    assert rating(plan, "battery B1") == 800
    assert size(plan, "battery B1")[0] == "2 x 300 mm2"
    assert {"conductors-in-parallel", "grouping-with-doubled"} <= codes(plan)


@pytest.mark.parametrize(("lengths", "apart"), [(("10 m", "11.2 m"), True), (("10 m", "11 m"), False)])
def test_ac_leads_in_parallel_share_by_their_resistance(lengths, apart) -> None:
    """T11: 10 and 11.2 m of one size lie 1.2 / 10.6 = 11.3 % of their mean apart, 10 and 11 m 9.5 %: above 10 % each is protected on its own."""
    own = [{"carries": "load", "to": f"L1-{n}", "length": length} for n, length in enumerate(lengths, 1)]
    plan = site(split(2) | {"routes": routes(*own)})
    assert ("like-circuits-unlike" in codes(plan, Level.CAUTION)) is apart
    if apart:
        assert found(plan, "like-circuits-unlike").value == pytest.approx(1.2 / 10.6, rel=1e-3)
        # By 1/R the short one takes 11.2 / 21.2 of the 80 A.
        [group] = [g for g in plan.parts.sharing.groups if g.name == "load L1"]
        assert group.leads[0].current.value == pytest.approx(80 * 11.2 / 21.2, rel=1e-3)


@pytest.mark.parametrize(("feed", "joint", "uneven"), [("one end", "0.2 mohm", True), ("bar", "0.2 mohm", False)])
def test_strings_share_by_their_leads(feed, joint, uneven) -> None:
    """T11: three strings of 6 mohm (12 mohm stated, halved) with joints of 1 mohm at one end, against a bar.

    Ladder from the far end, per ampere in string 3: u3 = 6 mV; joint 2 x 1 mohm carries 1 A: u2 = 8 mV, 1.3333 A; next joint 2.3333 A x
    2 mohm: u1 = 12.667 mV, 2.1111 A. Shares 0.475, 0.3, 0.225.
    """
    plan = site({"storage.bank": {"parallel": 3, "feed": feed, "joint_resistance": "1 mohm"}})
    share = plan.parts.storage.of("B1").largest_share.value
    assert ("strings-share-unevenly" in codes(plan, Level.CAUTION)) is uneven
    assert share == pytest.approx(2.1111 / (1 + 1.3333 + 2.1111) if uneven else 1 / 3, rel=1e-3)


def test_the_starved_unit_is_the_worst_one() -> None:
    """T1: the bank's low is 43 V, a unit stops below 42 V; one of three hangs on 8 m of lead and starves, the others do not.

    Measured 12 mohm out and back at 5 kW / 0.93 = 5376 W from about 43 V: 125 A and more x 12 mohm = 1.5 V, 41.4 V at the unit.
    """
    far = {"carries": "battery", "to": "L2-1", "resistance": "12 mohm"}
    near = [{"carries": "battery", "to": tag, "resistance": "1 mohm"} for tag in ("L1-1", "L3-1")]
    changes = {"storage.module.low": "43 V"}
    plan = site(changes | {"routes": routes(far, *near, {"carries": "battery", "to": "B1", "length": "0.3 m"})})
    told = found(plan, "unit-starved")
    assert "battery L2-1" in told.text
    current = 125.0
    for _ in range(40):
        current = 5000 / 0.93 / (43 - current * 12e-3)
    # The bar itself lies a little below the bank: a lower voltage still.
    assert 40 < told.value < 43 - current * 12e-3 + 1e-6
    assert "unit-starved" not in codes(site(changes | {"routes": routes(*near, near[0] | {"to": "L2-1"}, {"carries": "battery", "to": "B1", "length": "0.3 m"})}))


def test_the_warm_conductor_decides_the_drop() -> None:
    """S1, T4: 10 m out and back at 116.9 A within 2 % of 51.2 V = 1.024 V asks for at most 0.438 mohm/m.

    70 mm2 class 5 has 0.272 mohm/m at 20 degC, at 70 degC x 1.1965 = 0.3254: 0.761 V. 50 mm2: 0.386 cold, 0.4619 warm: 0.902 or 1.080 V. The
    pulses are left out (r = 0.01): the 125 A fuse asks for 137.9 A, 35 mm2. So cold 50 mm2 would do, warm it is 70 mm2.
    """
    plan = site({"unit.ripple": 0.01}, battery={"length": "10 m"})
    assert rating(plan, UNIT) == 125
    assert size(plan, UNIT) == ("70 mm2", "drop")
    assert sized(plan, UNIT).drop.value == pytest.approx(2 * 116.88 * 10 * 0.272e-3 * (1 + 0.00393 * 50) / 51.2, rel=1e-4)
    assert math.isclose(0.272 * (1 + 0.00393 * 50), 0.3254, rel_tol=1e-3)


def test_what_hangs_on_a_bar_has_no_source_before_the_way_to_it_is_known() -> None:
    """A bank beyond the wall's edge: its cable has no length, so nobody knows what is ahead of the units; in its place it has 12 mohm / 2 / 6 and its own two poles."""
    away, there = (planned(hung(B1={"x": x})) for x in ("5 m", "1.9 m"))
    assert "off-the-wall" in {finding.code for finding in away.findings}
    assert away.parts.conductors.of["battery B1"].conductor
    assert "plan.circuits[battery B1].resistance_to_bar" not in away.figures
    assert "plan.circuits[battery B1].resistance_to_bar" in there.figures
