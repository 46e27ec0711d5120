"""An earthed battery pole (S30): the fuse in the other one, one bond, earths that stand and open what flows through them."""

from __future__ import annotations

import pytest

from engine.findings import Level
from engine.sheets.drawings.wall import wall_earth
from tests.conftest import plan_text
from tests.engine.test_circuits import SITE, codes, nec, routed

WARM = 1 + 0.00393 * 50  # copper at 70 degC over 20 degC


def earthed(pole: str = "minus", text: str = SITE) -> str:
    return text.replace("managed = true", f'managed = true\nearthed = "{pole}"')


NEAR = earthed() + routed("earth", length="1 m")  # every earth conductor and the bond 1 m long
ALONE = SITE.replace("[1, 1, 1]", "[1]").replace("count = 3", "count = 1").replace('"three-phase"', '"single-phase"')


def labels(text: str, *names: str) -> list[str]:
    of = plan_text(text).parts.conductors.of
    return [of[name].conductor.label for name in names]


def lines(text: str, item: str):
    return [line for line in plan_text(text).parts.bill.lines if line.item == item]


def test_without_an_earthed_pole_nothing_is_bonded_and_both_are_fused() -> None:
    for text in (SITE, earthed("none")):
        planned = plan_text(text)
        assert not any(ends.bond or ends.name.startswith("earth B") for ends in planned.parts.circuits.circuits)
        device = planned.parts.conductors.of["battery L1-1"].device
        assert (device.poles, device.pole) == (2, None)
        assert "battery-pole-earthed" not in {f.code for f in planned.findings}
        assert planned.parts.conductors.of["earth L1-1"].conductor.label == "10 mm2"
        assert not [line for line in planned.parts.bill.lines if "battery" in line.specification and line.item == "pole bond label"]


@pytest.mark.parametrize(("pole", "fused"), [("minus", "plus"), ("plus", "minus")])
def test_the_fuse_sits_in_the_other_pole_and_the_isolator_opens_both(pole: str, fused: str) -> None:
    planned = plan_text(earthed(pole))
    row = next(row for row in planned.plan.circuits if row.name == "battery L1-1")
    assert (row.device.poles, row.device.pole) == (1, fused)
    assert f"battery L1-1, {fused} pole" in [place for line in lines(earthed(pole), "fuse") for place in line.goes_to]
    assert sum(line.quantity for line in lines(earthed(pole), "fuse holder")) == 4  # the bank's own and one a unit
    direct = [line for line in lines(earthed(pole), "isolator") if line.specification.startswith("DC")]
    assert direct
    assert all("2 poles" in line.specification for line in direct)
    told = next(f for f in planned.findings if f.code == "battery-pole-earthed")
    assert told.level is Level.CAUTION
    assert f"The {pole} of B1 is earthed" in told.text
    assert "short circuit" in told.text
    assert "residual-current" in told.text


def test_one_bond_for_each_bank_from_its_bar_or_its_post() -> None:
    found = {c.name: (c.start, c.end) for c in plan_text(NEAR).parts.circuits.circuits if c.kind == "earth" and c.bank}
    assert found == {"earth B1": ("earth bar", "B1"), "earth bar B1": ("earth bar", "bar B1"), "bond B1": ("bar B1", "earth bar")}
    assert {c.kind for c in plan_text(NEAR).parts.circuits.circuits if c.bond} == {"earth"}
    single = plan_text(earthed(text=ALONE)).parts.circuits.bond("B1")
    assert (single.start, single.end) == ("B1", "earth bar")
    three = plan_text(earthed(text=SITE.replace('"common-bank"', '"bank-per-phase"')))
    assert [c.name for c in three.parts.circuits.circuits if c.bond] == ["bond B1", "bond B2", "bond B3"]


def test_bond_and_cases_stand_the_banks_own_fuse() -> None:
    """By hand: 46 V over 3 mohm of bank, 2 x 2 m of 240 mm2 (0.0801 mohm/m), and 1 m each of a case's conductor and of the bond.

    With 16 mm2 (1.15 mohm/m) 7.5 kA flow, below the 8060 A that open the 400 A fuse in 0.1 s: it lets 2840^2 x 5 = 40.3e6 A2s through,
    44 mm2 at k = 143. With 25 mm2 (0.727 mohm/m) 9.0 kA flow, and 8060^2 x 0.1 = 6.5e6 A2s ask for 17.8 mm2.
    """
    to_bar = 3e-3 + 2 * 2 * 0.0801e-3 * WARM
    fault = 46 / (to_bar + 2 * 0.727e-3 * WARM)
    assert 46 / (to_bar + 2 * 1.15e-3 * WARM) < 8060 < fault
    planned = plan_text(NEAR)
    assert planned.figures["plan.circuits[earth L1-1].earth_fault_ahead"].value == pytest.approx(fault, rel=1e-3)
    assert labels(NEAR, "earth L1-1", "earth B1", "earth bar B1", "bond B1") == ["25 mm2"] * 4
    assert planned.parts.conductors.of["bond B1"].governed_by == "fuse"
    # Behind its own 160 A fuse alone a unit's case would be served by 10 mm2, as where no pole is earthed.
    assert labels(SITE + routed("earth", length="1 m"), "earth L1-1") == ["10 mm2"]
    assert not {"earth-fault-does-not-clear", "earth-fault-not-checked"} & set(codes(NEAR))


def test_a_long_earth_conductor_is_as_thick_as_opens_the_fuse() -> None:
    """By hand: 46 V / 2840 A is 16.20 mohm; less 3.38 of bank and bar and 0.87 of a bond of 25 mm2, 60 m may have 0.199 mohm/m warm,
    0.166 mohm/m at 20 degC: 95 mm2 has 0.193, 120 mm2 0.153."""
    far = NEAR + '[[routes]]\ncarries = "earth"\nto = "L1-1"\nlength = "60 m"\n'
    assert labels(far, "earth L1-1", "earth L2-1") == ["120 mm2", "25 mm2"]
    assert "earth-fault-does-not-clear" not in codes(far)
    # 500 m of even 300 mm2 (0.0601 mohm/m) have 36 mohm: 46 V drive 1.1 kA through it all.
    farther = NEAR + '[[routes]]\ncarries = "earth"\nto = "L1-1"\nlength = "500 m"\n'
    told = codes(farther)["earth-fault-does-not-clear"]
    assert told.level is Level.STOP
    assert told.limit == 2840
    assert told.value < 1300
    assert "earth L1-1" in told.text


def test_an_earth_fault_that_cannot_be_reckoned_is_told() -> None:
    """Nor is one made up: cases and bond stand what the 400 A fuse lets through at once, 2.25 MA2s (IEC 60269-1): sqrt / 143 = 10.5 mm2."""
    unknown = NEAR.replace('resistance = "12 mohm"\n', "")
    assert codes(unknown)["earth-fault-not-checked"].level is Level.CAUTION
    assert labels(unknown, "earth L1-1", "bond B1") == ["16 mm2", "16 mm2"]
    assert "at an earth fault of" not in plan_text(unknown).figures["plan.circuits[earth L1-1].conductor"].note


def test_the_american_bond_goes_by_the_largest_conductor() -> None:
    """NEC 250.166(B), 250.168: no smaller than the bank's largest conductor, here 1/0 AWG; never required above 3/0 AWG, here for 2 x 250 kcmil."""
    alone = nec(earthed(text=ALONE) + routed("earth", length="1 m"))
    assert labels(alone, "battery L1-1", "bond B1") == ["1/0 AWG", "1/0 AWG"]
    assert "250.166" in plan_text(alone).figures["plan.circuits[bond B1].conductor"].source
    bar = plan_text(nec(NEAR)).parts.conductors.of
    assert (bar["battery B1"].conductor.label, bar["battery B1"].parallel) == ("250 kcmil", 2)
    asked = next(c for c in bar["bond B1"].decision if "250.166" in c.text)
    assert asked.asked == "3/0 AWG"


def test_an_american_earthed_pole_is_white() -> None:
    """NEC 200.6: a grounded conductor is white or gray."""
    for pole, colours in (("minus", {"red", "white"}), ("plus", {"white", "black"}), ("none", {"red", "black"})):
        cuts = plan_text(nec(earthed(pole))).parts.bill.cuts
        assert {cut.colour for cut in cuts if cut.circuit == "battery L1-1"} == colours


def test_the_bond_is_on_the_bill_and_on_the_drawing() -> None:
    planned = plan_text(NEAR)
    assert [line.goes_to for line in lines(NEAR, "pole bond label") if "battery minus" in line.specification] == [("bar B1",)]
    lugs = sum(line.quantity for line in lines(NEAR, "cable lug") if "bond B1" in line.goes_to)
    assert lugs >= 2
    assert [cut.colour for cut in planned.parts.bill.cuts if cut.circuit == "bond B1"] == ["green-and-yellow"]
    assert next(line for line in lines(NEAR, "busbar") if "earth bar" in line.goes_to).specification.startswith("PE, 8 conductors")
    assert any(line.specification == "plus, 480 A or more" for line in lines(NEAR, "busbar"))  # as without the bond
    assert len(planned.parts.wall.runs["bond B1"].path) > 1
    drawn = wall_earth(planned)
    assert 'data-net="bond B1"' in drawn
    assert ">bond B1<" in drawn


def test_the_bond_has_its_place_in_the_order_of_work() -> None:
    """Insulation first, then every landing, the bond behind the other earths; lifted, put back and measured again before any battery."""
    steps = plan_text(NEAR).parts.procedure.steps
    own = [step for step in steps if "bond B1" in step.do]
    assert [step.section for step in own] == ["dead tests", "land", "dead tests again"]
    insulation, landing, lifted = own
    assert "insulation tester on those cables and bar B1, never on the bank" in insulation.do
    assert all(step.hold and step.hurt for step in own)
    assert landing.place > max(step.place for step in steps if step.section == "land" and step.who.startswith("L"))
    assert "mohm" in landing.expect
    assert "Put the bond back" in lifted.do
    assert "above 1 Mohm" in lifted.expect
    assert "below 0.5 ohm when it is back" in lifted.expect
    assert lifted.place < min(step.place for step in steps if step.section == "battery")
    live = next(step for step in steps if "black probe on the earth bar" in step.do)
    assert live.section == "battery"
    assert not [step for step in plan_text(SITE).parts.procedure.steps if "bond B1" in step.do or "black probe on the earth bar" in step.do]


def test_at_a_live_post_no_ohmmeter_and_no_insulation_tester() -> None:
    """One unit: the bond lands on the bank's own post, which is never dead."""
    steps = [step for step in plan_text(earthed(text=ALONE)).parts.procedure.steps if "bond B1" in step.do]
    assert "insulation tester on those cables, never on the bank" in steps[0].do
    assert "live" in steps[1].do
    assert "Low-impedance voltmeter from each pole of B1" in steps[2].do


def test_the_bond_of_a_pole_is_proved_under_voltage_before_work_goes_on() -> None:
    [step] = [step for step in plan_text(NEAR).parts.procedure.steps if "black probe on the earth bar: " in step.do]
    assert (step.hold, step.hurt) == (True, True)
