"""A conductor named whole (S35): metal, insulation, temperature, stranding, voltage class; on the plan, the bill, the sheets."""

from __future__ import annotations

import pytest

from engine.findings import Level
from engine.sheets.text.bill import bill_text
from engine.sheets.text.plan import plan_text as plan_page
from engine.sheets.text.unit import unit_sheet
from engine.sheets.text.why import why_text
from tests.conftest import plan_text
from tests.engine.test_circuits import SITE, codes, nec, routed, sizing

PANELS = '[solar]\nisc = "11.5 A"\nvoc = "49.5 V"\nvmp = "41.5 V"\nimp = "10.9 A"\nseries = {series}\nparallel = 1\n'
COLD = SITE.replace("[site]", '[site]\nroof_min = "-10 degC"')
# Nothing stops it, so that its sheets go on to what is landed.
SOUND_UNIT = '[unit]\ndc_max = "60 V"'
SOUND = SITE.replace("[unit]", SOUND_UNIT)
TRUNKING = SITE.replace('method = "C"', 'method = "B2"')


def cable(text: str, name: str) -> str:
    return str(sizing(text, name).cable)


def lines(text: str, item: str) -> list[str]:
    return [line.specification for line in plan_text(text).parts.bill.lines if line.item == item]


def test_the_plan_names_every_conductor_whole() -> None:
    for text in (SITE, nec(), SITE + PANELS.format(series=8), SITE + routed("load", metal="aluminium")):
        for row in plan_text(text).plan.circuits:
            assert row.conductor
            assert all((row.metal, row.insulation, row.rated_temperature, row.stranding, row.voltage_class)), row.name
    battery = next(row for row in plan_text(TRUNKING).plan.circuits if row.name == "battery L1-1")
    told = (battery.metal, battery.insulation, battery.rated_temperature, battery.stranding, battery.voltage_class)
    assert told == ("copper", "PVC", "70 degC", "class 5", "450/750 V")


@pytest.mark.parametrize(
    ("text", "name", "told"),
    [
        (TRUNKING, "battery L1-1", "copper, PVC 70 degC, class 5, 450/750 V"),
        (TRUNKING, "load L1-1", "copper, PVC 70 degC, class 2, 450/750 V"),
        (TRUNKING, "earth L1-1", "copper, PVC 70 degC, class 2, 450/750 V"),
        (TRUNKING + routed("load", insulation="xlpe"), "load L1-1", "copper, XLPE 90 degC, class 2, 450/750 V"),
        (TRUNKING + routed("load", method="D1"), "load L1-1", "copper, PVC 70 degC, class 2, 0.6/1 kV"),
        # Clipped to the wall without a conduit: a sheath; a protective conductor needs none, but in the ground.
        (SITE, "load L1-1", "copper, PVC 70 degC, class 2, 0.6/1 kV"),
        (SITE + routed("earth", method="C"), "earth L1-1", "copper, PVC 70 degC, class 2, 450/750 V"),
        (SITE + routed("earth", method="D1"), "earth L1-1", "copper, PVC 70 degC, class 2, 0.6/1 kV"),
        (SITE + routed("battery", insulation="xlpe"), "battery B1", "copper, XLPE 90 degC, class 5, 0.6/1 kV"),
        (SITE + routed("load", metal="aluminium"), "load L1-1", "aluminium, PVC 70 degC, class 2, 0.6/1 kV"),
        (SITE + routed("battery", metal="aluminium"), "battery L1-1", "aluminium, PVC 70 degC, class 2, 0.6/1 kV"),
        (COLD + PANELS.format(series=8), "solar L1-1", "copper, cross-linked H1Z2Z2-K 90 degC, class 5, 1.5 kV DC"),
        (nec(), "battery L1-1", "copper, PVC THW 75 degC wet and dry, class I, 600 V"),
        (nec(), "load L1-1", "copper, PVC THWN 75 degC wet and dry, class B, 600 V"),
        # Six modules: 2 x 336 V = 672 V.
        (nec().replace("[storage.bank]", "[storage.bank]\nseries = 6"), "battery L1-1", "copper, PVC THW 75 degC wet and dry, class I, 1000 V"),
        (nec(SITE + routed("battery", insulation="xlpe")), "battery L1-1", "copper, XLPE RHW-2 90 degC wet and dry, class I, 600 V"),
        (nec(SITE + routed("battery", insulation="xlpe")).replace("[storage.bank]", "[storage.bank]\nseries = 6"), "battery L1-1", "copper, XLPE RHW-2 90 degC wet and dry, class I, 2000 V"),
        (nec(SITE + routed("load", insulation="xlpe")), "load L1-1", "copper, XLPE XHHW-2 90 degC wet and dry, class B, 600 V"),
        # Cold strings: 8 x 49.5 V x 1.14 = 451 V; 12 of them 677 V; 20 of them 1129 V.
        (nec(COLD + PANELS.format(series=8)), "solar L1-1", "copper, XLPE USE-2 or PV wire 90 degC wet and dry, class B, 600 V"),
        (nec(COLD + PANELS.format(series=12)), "solar L1-1", "copper, XLPE PV wire 90 degC wet and dry, class B, 1000 V"),
        (nec(COLD + PANELS.format(series=20)), "solar L1-1", "copper, XLPE PV wire 90 degC wet and dry, class B, 2000 V"),
    ],
)
def test_the_cable_of_a_circuit(text: str, name: str, told: str) -> None:
    assert cable(text, name) == told


# Twice 56 V a module: 672 V, 784 V, 1008 V. Load cables in one way with strings: 8 x 49.5 V x 1.14 = 451 V, 16 of them 903 V, 20 of them 1129 V.
IEC_CLASSES = {"battery": {6: "450/750 V", 7: "0.6/1 kV", 9: "1.8/3 kV"}, "load": {8: "450/750 V", 16: "0.6/1 kV", 20: "1.8/3 kV"}}


def in_conduit(text: str) -> str:
    return text.replace('method = "C"', 'method = "B2"')


def stressed(text: str, use: str, insulation: str, series: int) -> str:
    """A battery of so many modules, or load cables beside strings of so many panels, with this insulation."""
    if use == "battery":
        return text.replace("[storage.bank]", f"[storage.bank]\nseries = {series}") + routed("battery", insulation=insulation)
    return text.replace("[site]", '[site]\nroof_min = "-10 degC"') + PANELS.format(series=series) + routed("load", insulation=insulation, lane="1.95 m")


@pytest.mark.parametrize("insulation", ["pvc", "xlpe"])
@pytest.mark.parametrize(("use", "series"), [(use, series) for use, classes in IEC_CLASSES.items() for series in classes])
def test_every_class_of_cable_lies_where_it_may(use: str, series: int, insulation: str) -> None:
    """S35. IEC 60228: leads flexible, class 5, fixed wires class 2; IEC 60364-5-52 table 52.1: PVC 70 degC, XLPE 90 degC; a core of 450/750 V has no
    sheath (EN 50525) and is not clipped to a wall, those of IEC 60502-1 have one.
    """
    rated = {"pvc": "PVC 70 degC", "xlpe": "XLPE 90 degC"}[insulation]
    strands = {"battery": "class 5", "load": "class 2"}[use]
    text, least = stressed(SITE, use, insulation, series), IEC_CLASSES[use][series]
    assert cable(in_conduit(text), f"{use} L1-1") == f"copper, {rated}, {strands}, {least}"
    clipped = "0.6/1 kV" if least == "450/750 V" else least
    assert cable(text, f"{use} L1-1") == f"copper, {rated}, {strands}, {clipped}"
    assert "cable-voltage-unproven" not in {*codes(text), *codes(in_conduit(text))}


@pytest.mark.parametrize(("use", "series", "insulation", "told"), [
    ("battery", 5, "pvc", "PVC THW 75 degC wet and dry, class I, 600 V"),
    ("battery", 6, "pvc", "PVC THW 75 degC wet and dry, class I, 1000 V"),
    ("battery", 5, "xlpe", "XLPE RHW-2 90 degC wet and dry, class I, 600 V"),
    ("battery", 6, "xlpe", "XLPE RHW-2 90 degC wet and dry, class I, 2000 V"),
    ("load", 8, "pvc", "PVC THWN 75 degC wet and dry, class B, 600 V"),
    ("load", 12, "pvc", "PVC THWN 75 degC wet and dry, class B, 1000 V"),
    ("load", 8, "xlpe", "XLPE XHHW-2 90 degC wet and dry, class B, 600 V"),
    ("load", 12, "xlpe", "XLPE XHHW-2 90 degC wet and dry, class B, 1000 V"),
])
def test_every_wire_of_the_nec_lies_where_it_may(use: str, series: int, insulation: str, told: str) -> None:
    """NEC table 310.4(1): THW and THWN 75 degC, RHW-2 and XHHW-2 90 degC, wet and dry. 2 x 280 V and 2 x 336 V; strings of 451 V and 677 V."""
    text = nec(stressed(SITE, use, insulation, series))
    assert cable(text, f"{use} L1-1") == f"copper, {told}"
    assert "cable-voltage-unproven" not in codes(text)


def test_each_side_has_its_own_voltage() -> None:
    """sqrt 3 x 230 V are 398 V of the loads, sqrt 3 x 277 V 480 V of what comes in."""
    figures = plan_text(SITE.replace('breaker = "40 A"', 'breaker = "40 A"\nvoltage = "277 V"')).figures
    for name, volts in (("load common", 398.4), ("incoming common", 479.8), ("incoming L1-1", 479.8)):
        assert figures[f"plan.circuits[{name}].highest_voltage"].value == pytest.approx(volts, abs=0.1)


def series(modules: int) -> str:
    return TRUNKING.replace("[storage.bank]", f"[storage.bank]\nseries = {modules}")


@pytest.mark.parametrize(
    ("modules", "voltage_class", "proven"),
    [(6, "450/750 V", True), (7, "0.6/1 kV", True), (9, "1.8/3 kV", True), (27, "1.8/3 kV", False)],
)
def test_a_battery_cable_is_made_for_twice_the_banks_highest_voltage(modules: int, voltage_class: str, proven: bool) -> None:
    """56 V a module: 2 x 336 = 672 V, under 750 V; 2 x 392 = 784 V; 2 x 504 = 1008 V; 2 x 1512 V is above every class there is."""
    found = sizing(series(modules), "battery L1-1")
    assert found.cable.voltage_class == voltage_class
    assert ("cable-voltage-unproven" in codes(series(modules))) is not proven


def test_a_battery_cable_beside_ac_is_made_for_it() -> None:
    """0.6/1 kV in one lane with the loads; with its own lane 450/750 V; under the NEC 600 V covers 208 V."""
    lane = routed("battery", lane="2.1 m")  # where the load cables run unless it is said
    assert sizing(TRUNKING + lane, "battery L1-1").cable.voltage_class == "0.6/1 kV"
    assert sizing(TRUNKING, "battery L1-1").cable.voltage_class == "450/750 V"
    assert sizing(nec(TRUNKING + lane), "battery L1-1").cable.voltage_class == "600 V"
    note = plan_text(TRUNKING + lane).figures["plan.circuits[battery L1-1].voltage_class"].note
    assert "shares its way with load L1-1" in note


def test_everything_in_a_way_is_insulated_for_the_highest_voltage_there() -> None:
    """16 panels give 16 x 49.5 V x 1.14 = 903 V on the coldest morning: load cables of 450/750 V may not lie with them."""
    strings = (COLD + PANELS.format(series=16)).replace('method = "C"', 'method = "B2"')
    assert sizing(strings, "load L1-1").cable.voltage_class == "450/750 V"
    assert sizing(strings + routed("load", lane="1.95 m"), "load L1-1").cable.voltage_class == "0.6/1 kV"


def test_a_voltage_that_is_not_known_proves_no_class() -> None:
    unknown = SITE.replace('absorption = "56 V"\n', "").replace('chemistry = "lfp"\n', "").replace('voltage = "51.2 V"\n', "")
    told = codes(unknown)["cable-voltage-unproven"]
    assert told.level is Level.CAUTION
    assert "battery B1" in told.text
    assert "cable-voltage-unproven" not in codes(SITE)


def test_bill_sheet_page_and_why_name_the_cable() -> None:
    planned = plan_text(SITE)
    whole = "copper, PVC 70 degC, class 5, 0.6/1 kV"
    assert f"70 mm2 {whole}, red, 2 m" in lines(SITE, "conductor cut")
    assert f"70 mm2 {whole}" in " ".join(bill_text([planned]).split())
    assert f"BATTERY: {whole}." in " ".join(unit_sheet(plan_text(SOUND), "L1-1").split())
    assert f"{whole}: battery B1, battery L1-1" in " ".join(plan_page(planned).split())
    assert f"70 mm2 {whole}, governed by fuse." in why_text(planned.figures["plan.circuits[battery L1-1].conductor"])
    assert why_text(planned.figures["plan.circuits[battery L1-1].conductor"]).startswith("plan.circuits[battery L1-1].conductor = 70 mm2 copper")


@pytest.mark.parametrize("words", [{"insulation": "xlpe"}, {"metal": "aluminium"}])
def test_cuts_of_another_cable_never_share_a_reel(words: dict[str, str]) -> None:
    """Two conductors of one size and colour, one of them in another insulation or metal: a reel for each."""
    common = SITE + routed("earth", metal="copper") + routed("load", metal="aluminium") + routed("incoming", metal="aluminium")
    planned = plan_text(common + '[[routes]]\ncarries = "earth"\nto = "L1-1"\n' + "".join(f'{k} = "{v}"\n' for k, v in words.items()))
    held = [{(cut.size, cut.colour, str(cut.cable)) for cut in reel.cuts} for reel in planned.parts.bill.reels]
    assert held
    assert all(len(kinds) == 1 for kinds in held)
    on = {cut.circuit: reel for reel in planned.parts.bill.reels for cut in reel.cuts if cut.circuit.startswith("earth L")}
    assert on["earth L1-1"].conductor != on["earth L2-1"].conductor
    assert on["earth L2-1"] is on["earth L3-1"]


def test_aluminium_has_ends_of_its_own_and_cautions() -> None:
    """Lugs and pins marked AL/CU and joint compound; copper has none of it."""
    made = SITE + routed("load", metal="aluminium") + routed("earth", metal="aluminium")
    assert "16 mm2 aluminium, class 2, marked AL/CU" in lines(made, "bimetal pin")
    assert any(line.startswith("16 mm2 aluminium, class 2, marked AL/CU, ") for line in lines(made, "cable lug"))
    assert any(line.startswith("70 mm2 copper, class 5, M10") for line in lines(made, "cable lug"))
    assert "16 mm2" not in lines(made, "ferrule")
    assert len(lines(made, "joint compound")) == 1
    assert "AL/CU pin" in unit_sheet(plan_text(made.replace("[unit]", SOUND_UNIT)), "L1-1")
    told = codes(made)["aluminium-joints"]
    assert told.level is Level.CAUTION
    assert "torque" in told.remedy
    assert "earth common, earth load-board, earth L1-1" in told.text
    assert "aluminium-battery-leads" not in codes(made)
    assert codes(SITE + routed("battery", metal="aluminium"))["aluminium-battery-leads"].level is Level.CAUTION
    assert not lines(SITE, "bimetal pin") + lines(SITE, "joint compound")
    assert not {"aluminium-joints", "aluminium-battery-leads"} & set(codes(SITE))


def test_battery_leads_are_copper_unless_aluminium_is_answered_for_them() -> None:
    """S14."""
    others = "".join(routed(kind, metal="aluminium") for kind in ("load", "incoming", "earth"))
    assert sizing(SITE + others, "battery L1-1").cable.metal == "copper"


def test_an_earth_conductor_needs_no_class_for_what_lies_beside_it() -> None:
    """Twenty cold modules in the same tray stand at 1129 V: an earth conductor may be bare."""
    tray = COLD + PANELS.format(series=20) + routed("earth", lane="1 m") + routed("solar", lane="1 m")
    assert cable(tray, "earth L1-1") == "copper, PVC 70 degC, class 2, 450/750 V"
