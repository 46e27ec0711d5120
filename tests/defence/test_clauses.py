"""A clause stands in a sentence where what it says is so, and another where it is not: row by row, a site of each.

A reader acts on the clause: which figure was answered and which was taken, which rule fails, where to look.
"""

from __future__ import annotations

import pytest

from tests.defence import sites, test_chain_and_wall
from tests.defence.twins import FREE, GENERATOR, LEAD, ONE, SUN, Changes, hung, load, planned, route

GATEWAY: Changes = {"bus_nodes": [{"name": "Gateway", "end": "last"}]}
ONE_PORT: Changes = {"unit.bus.ports": ["plug"]}
FAST: Changes = {"unit.bus.bit_rate": "1 Mbit/s"}
NEC: Changes = {"site.rules": "nec"}

CLAUSES: list[tuple[str, Changes, str]] = [
    # --- units and banks ---
    ("lithium-unmanaged", ONE | {"storage.managed": False}, "This bank is answered to have none."),
    ("lithium-unmanaged", ONE | {"storage.managed": None}, "Whether this bank has one is not answered."),
    ("bond-place-unanswered", ONE | {"earthing.island_bond": "unit relay", "earthing.bond_at": None}, "Which unit's relay makes the bond"),
    ("bond-place-unanswered", ONE | {"earthing.island_bond": "fixed link", "earthing.bond_at": None}, "Where the bond is"),
    ("earthing-system-unanswered", ONE | {"earthing.system": None, "incoming.kind": "none"}, "How the installation is earthed"),
    ("earthing-system-unanswered", ONE | {"earthing.system": None}, "How the incoming supply is earthed"),
    # --- the chain. A stub: 0.3 m at 1 Mbit/s (ISO 11898-2) ---
    ("bus-node-cable", GATEWAY, "hangs on a stub as short as can be."),
    ("bus-node-cable", GATEWAY | FAST, "hangs on a stub, 0.3 m long at most."),
    ("one-port", ONE_PORT, "splitter as short as can be."),
    ("one-port", ONE_PORT | FAST, "splitter, 0.3 m long at most."),
    ("comms-crosses-power", test_chain_and_wall.wall("L2-1"), "crosses power cables once, at right angles."),
    ("comms-crosses-power", hung() | {"routes": [route("battery", lane="1.5 m")]}, "crosses power cables 4 times, at right angles."),
    ("comms-lane-near-power", hung() | {"routes": [route("comms", lane="0.3 m")]}, "The comms lane at 0.3 m lies on the battery lane; 0.3 m is wanted."),
    ("comms-lane-near-power", hung() | {"routes": [route("comms", lane="0.35 m")]}, "The comms lane at 0.35 m is 0.05 m from the battery lane; 0.3 m is wanted."),
    # --- how cables run ---
    ("route-without-kind", {"routes": [{}]}, "routes[#1] does not say what its cables carry. Answer"),
    ("route-without-kind", {"routes": [{"length": "3 m"}]}, "cables carry. What it says (length) is used nowhere. Answer"),
    ("route-to-nowhere", {"routes": [route("load", to="L1-2")]}, "and this site has none. Load circuits"),
    ("route-to-nowhere", {"routes": [route("load", to="L1-2", length="3 m")]}, "What it says (length) is used nowhere."),
    ("route-to-nowhere", {"routes": [route("load", to="l1-1", length="3 m")]}, "Write L1-1 if that is meant; load circuits"),
    ("routes-contradict", {"routes": [route("load", method="B2"), route("load", method="C")]}, "Different answers for every load circuit that has no entry of its own:"),
    ("routes-contradict", {"routes": [route("load", to="L1-1", method="B2"), route("load", to="L1-1", method="C")]}, "Different answers for the load circuit to L1-1:"),
    # --- currents and conductors ---
    ("current-unknown", ONE | {"unit.apparent_power": None, "unit.real_power": None}, "A unit's apparent power is not answered"),
    ("current-unknown", ONE | SUN | {"solar.isc": None}, "The modules' short-circuit current is not answered"),
    ("drop-above-limit", ONE | {"routes": [route("load", resistance="0.2 ohm")]}, "above the limit 1 % (a measured resistance does not change with the size)."),
    ("drop-above-limit", ONE | NEC | {"routes": [route("load", length="150 m")]}, "above the limit 1 % (these rules recommend and do not require)."),
    ("unit-fault-current-unanswered", ONE | {"unit.fault_current": None}, "The plan takes curve B, which trips on the least, and counts"),
    ("unit-fault-current-unanswered", ONE | NEC | {"unit.fault_current": None}, "The plan takes breakers and counts"),
    ("unit-fault-current-unanswered", ONE | {"unit.fault_current": None}, "residual-current device in its load circuit"),
    ("unit-fault-current-unanswered", {"unit.fault_current": None}, "residual-current device after the common bar, none per unit"),
    ("terminal-unanswered", ONE | {"unit.dc_terminal_max": None}, "The largest conductor of the unit's battery terminals is not answered: whether they take 120 mm2"),
    ("terminal-unanswered", ONE | {"unit.ac_terminal_max": None}, "The largest conductor of the unit's AC terminals is not answered: whether they take 10 mm2"),
]


@pytest.mark.parametrize(("code", "site", "clause"), CLAUSES, ids=lambda value: value if isinstance(value, str) else "")
def test_the_clause_is_that_of_the_site(code: str, site: Changes, clause: str) -> None:
    findings = (sites.site if "wall" in site else planned)(site).findings
    told = [f"{finding.text} {finding.remedy}" for finding in findings if finding.code == code]
    assert told
    assert all(clause in text for text in told)


@pytest.mark.parametrize(("ampere", "curve"), [("199 A", "B"), ("399 A", "B"), ("400 A", "C")])
def test_only_a_units_output_breaks_what_the_unit_gives(ampere: str, curve: str) -> None:
    """T6: a 40 A breaker of curve C trips at once from 400 A, of curve B from 200 A. The incoming side is fed by the supply: curve C, for motors start behind it."""
    of = planned(ONE | {"unit.fault_current": ampere}).parts.conductors.of
    assert (of["load L1-1"].device.name, of["incoming L1-1"].device.name) == (f"breaker curve {curve}", "breaker curve C")


def test_the_nec_knows_no_curves() -> None:
    of = planned(ONE | NEC).parts.conductors.of
    assert {of[name].device.name for name in ("load L1-1", "incoming L1-1")} == {"breaker"}


def test_each_side_of_a_terminal_is_held_against_its_own_answer() -> None:
    """S12: battery leads of 120 mm2 and AC conductors of 10 mm2."""
    def told(dc: str, ac: str) -> set[str]:
        found = planned(ONE | {"unit.dc_terminal_max": dc, "unit.ac_terminal_max": ac}).findings
        return {finding.about for finding in found if finding.code == "terminal-too-small"}

    assert told("120 mm2", "10 mm2") == set()
    assert told("95 mm2", "10 mm2") == {"plan.circuits[battery L1-1].conductor"}
    assert told("120 mm2", "6 mm2") == {"plan.circuits[load L1-1].conductor", "plan.circuits[incoming L1-1].conductor"}


def test_the_drop_of_a_bank_and_of_its_units_are_allowed_each_by_its_own_answer() -> None:
    """S1: 1 % of 51.2 V at 350.6 A, 3 % at 116.9 A."""
    plan = sites.site({"drop.bar": "1 %", "drop.battery": "3 %"})
    said = [criterion.text.partition(";")[0] for name in ("battery B1", "battery L1-1") for criterion in sites.sized(plan, name).decision if criterion.name == "drop"]
    assert said == ["drop: drop <= 1 % at 350.6 A", "drop: drop <= 3 % at 116.9 A"]
    far = sites.site({"drop.bar": "1 %", "drop.battery": "2 %"}, battery={"length": "300 m"})
    assert [finding.remedy.rpartition(" under ")[2] for finding in far.findings if finding.code == "no-conductor-will-do"] == ["drop.bar.", "drop.battery."]


@pytest.mark.parametrize(("name", "past"), [("load common", True), ("load L1-1", False), ("incoming common", False), ("incoming L1-1", False)])
def test_what_is_stood_past_the_units_devices_says_so(name: str, past: bool) -> None:
    """S4: behind the load bar the units' devices ahead open together; everywhere else the circuit's own does."""
    [stood] = [criterion.text for criterion in sites.sized(sites.site(), name).decision if criterion.name == "withstand"]
    assert "2 kA for 0.02 s" in stood
    assert ("past the units' devices" in stood) is past


@pytest.mark.parametrize("metal", ["copper", "aluminium"])
@pytest.mark.parametrize("method", ["B2", "F", "D1"])
def test_a_cable_outside_conduit_is_sheathed_and_says_by_which_rule(metal: str, method: str) -> None:
    """S35; IEC 60364-5-52 521.10.1 (from memory): conductors without a sheath lie in conduit or trunking. An earth needs none but in the ground. Aluminium has no class 5."""
    plan = planned(ONE | {"routes": [route(kind, metal=metal, method=method) for kind in ("battery", "load", "earth")]})
    for name, flexible, sheathed in (("battery L1-1", True, method != "B2"), ("load L1-1", False, method != "B2"), ("earth L1-1", False, method == "D1")):
        figure, cable = plan.figures[f"plan.circuits[{name}].voltage_class"], plan.parts.conductors.of[name].cable
        assert ("sheathed, for it lies in no conduit or trunking" in figure.note) is sheathed
        assert ("521.10.1" in figure.source) is sheathed
        assert (cable.metal, cable.stranding) == (metal, "class 5" if flexible and metal == "copper" else "class 2")
        assert cable.voltage_class == ("0.6/1 kV" if sheathed else "450/750 V")


@pytest.mark.parametrize(("ampere", "governs"), [("150 A", True), ("80 A", False)])
def test_charging_governs_where_it_is_more_than_what_is_drawn(ampere: str, governs: bool) -> None:
    """T2: 116.9 A are drawn."""
    plan = planned(ONE | {"unit.charge_current": ampere, "storage.bank.feed": "bar"})
    assert plan.figures["plan.circuits[battery L1-1].thermal_current"].note.startswith("charging governs") is governs


@pytest.mark.parametrize(("containment", "grouped", "kept"), [
    # Class a (unknown): 300, 225 and 150 mm; five circuits of 21.7 A are ten of 20 A, 0.8; practice keeps 200 mm.
    ("none", 5, 0.24),
    ("ladder", 5, 0.2),
    ("perforated", 5, 0.2),
    # Twenty are forty: P = 3; 900, 675 and 450 mm.
    ("none", 20, 0.9),
    ("ladder", 20, 0.675),
    ("perforated", 20, 0.45),
    # Behind a divider what is told is what would be kept without it.
    ("solid", 5, 0.24),
])
def test_containment_shortens_the_distance_that_data_keeps(containment: str, grouped: int, kept: float) -> None:
    """T23: EN 50174-2."""
    changes = test_chain_and_wall.wall(load={"grouped": grouped, "containment": containment})
    assert sites.site(changes | {"unit.bus.screened": None}).parts.chain.kept["load"].value == pytest.approx(kept)
