"""A clause stands in a sentence where what it says is so, and another where it is not: row by row, a site of each.

A reader acts on the clause: which figure was answered and which was taken, which rule fails, where to look.
"""

from __future__ import annotations

import functools

import pytest

from engine.solvers.balance import balance
from tests.defence import sites, test_chain_and_wall
from tests.defence.twins import FREE, GENERATOR, ONE, SUN, Changes, hung, load, planned, route
from tests.engine import paper_sites

GATEWAY: Changes = {"bus_nodes": [{"name": "Gateway", "end": "last"}]}
ONE_PORT: Changes = {"unit.bus.ports": ["plug"]}
FAST: Changes = {"unit.bus.bit_rate": "1 Mbit/s"}
NEC: Changes = {"site.rules": "nec"}
LARGE: Changes = {"unit.real_power": "30 kW", "unit.apparent_power": "30 kVA", "unit.surge_power": "30 kVA", "storage.bank.parallel": 14}
OPEN: Changes = {"set.count": None, "set.per_phase": None}
DARK: Changes = ONE | {"incoming.kind": "none"}
PUMP = load("2 kW", phase="any", motor=True, start_multiple=6)
HEAVY: Changes = {"loads": [load("2 kW", energy="48 kWh/d")]}

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
    ("incoming-below-load-and-charge", ONE | GENERATOR | {"incoming.breaker": "16 A", "incoming.rating": "10 kVA"}, "more than the 16 A that the breaker allows"),
    ("incoming-below-load-and-charge", ONE | GENERATOR | {"incoming.breaker": "32 A", "incoming.rating": "4.6 kVA"}, "more than the 16 A that 80 % of the generator allows"),
    ("incoming-below-load-and-charge", ONE | NEC | {"incoming.breaker": "20 A"}, "more than the 16 A that 80 % of the breaker allows"),
    ("module-voltages-unanswered", ONE | {"storage.module.absorption": None}, "The charging voltage of a module is not answered"),
    ("module-voltages-unanswered", ONE | {"storage.module.float": None, "storage.module.low": None}, "The float and lowest voltages of a module are not answered"),
    ("module-voltages-unanswered", ONE | {f"storage.module.{name}": None for name in ("absorption", "float", "low")}, "The charging, float and lowest voltages of a module are not"),
    ("current-unknown", ONE | SUN | {"solar.isc": None}, "The modules' short-circuit current is not answered"),
    ("drop-above-limit", ONE | {"routes": [route("load", resistance="0.2 ohm")]}, "above the limit 1 % (a measured resistance does not change with the size)."),
    ("drop-above-limit", ONE | NEC | {"routes": [route("load", length="150 m")]}, "above the limit 1 % (these rules recommend and do not require)."),
    ("unit-fault-current-unanswered", ONE | {"unit.fault_current": None}, "The plan takes curve B, which trips on the least, and counts"),
    ("unit-fault-current-unanswered", ONE | NEC | {"unit.fault_current": None}, "The plan takes breakers and counts"),
    ("unit-fault-current-unanswered", ONE | {"unit.fault_current": None}, "residual-current device in its load circuit"),
    ("unit-fault-current-unanswered", {"unit.fault_current": None}, "residual-current device after the common bar, none per unit"),
    ("terminal-unanswered", ONE | {"unit.dc_terminal_max": None}, "The largest conductor of the unit's battery terminals is not answered: whether they take 120 mm2"),
    ("terminal-unanswered", ONE | {"unit.ac_terminal_max": None}, "The largest conductor of the unit's AC terminals is not answered: whether they take 10 mm2"),
    ("terminal-too-small", ONE | {"unit.dc_terminal_max": "95 mm2"}, "battery L1-1 needs 120 mm2; the unit's terminal takes at most 95 mm2."),
    ("terminal-too-small", ONE | {"unit.dc_terminal_max": "95 mm2"}, "use two conductors of 70 mm2 or more each, sized again with both in the group, or an adaptor or a short bar that takes 120 mm2"),
    # Half of 120 mm2 does not fit either.
    ("terminal-too-small", ONE | {"unit.dc_terminal_max": "35 mm2"}, "if it still does not fit: use an adaptor or a short bar that takes 120 mm2"),
    # 30 kW / (0.93 x 46 V) x 1.2247 = 859 A.
    ("terminal-too-small", ONE | LARGE | {"unit.dc_terminal_max": "300 mm2", "unit.ac_terminal_max": "300 mm2", "routes": FREE}, "battery L1-1 needs 2 x "),
    ("terminal-too-small", ONE | LARGE | {"unit.dc_terminal_max": "300 mm2", "unit.ac_terminal_max": "300 mm2", "routes": FREE}, "Use an adaptor or a short bar that takes 2 x "),
    # --- the set ---
    ("max-units-unanswered", {"unit.max_units": None}, "nobody can say whether 3 may."),
    ("max-units-unanswered", {"unit.max_units": None} | OPEN, "the search goes up to 36."),
    ("phase-without-unit", {"set.count": 2, "set.per_phase": None}, "so at least 3. No unit is planned. Plan 3 units, or"),
    ("phase-without-unit", ONE | {"set.count": None, "set.per_phase": [0]}, "so at least one. No unit is planned. Plan 1 unit, or"),
    ("unit-power-unanswered", {"unit.real_power": None}, "The continuous power of a unit is not answered:"),
    ("unit-power-unanswered", {"unit.real_power": "0 W"}, "The continuous power of a unit is answered as nothing:"),
    ("start-above-surge", ONE | {"loads": [load("2 kW", start_multiple=6)]}, "its 1 unit can give 43.48 A: 8.696 A too little. The largest is Lamps."),
    # Without any motor 12 kW are 52.17 A, more than a unit gives even for a moment.
    ("start-above-surge", ONE | {"loads": [load("12 kW")]}, "8.696 A too little. 3 units would carry it"),
    ("phase-overloaded", ONE | {"loads": [load("6 kW")]}, "120 % of what its 1 unit can give, 1 kVA too much. 2 units would carry it (2 on the phases)."),
    ("phase-overloaded", ONE | {"unit.max_units": 1, "loads": [load("6 kW")]}, "Take 1 kVA off L1, or choose units of a larger rating."),
    ("phase-loss", {}, "L1, L2, L3 hang on one unit each: losing it stops the whole supply"),
    ("phase-loss", {"set.count": 5, "set.per_phase": [2, 2, 1], "storage.wired": {}}, "L3 hangs on one unit: losing it stops the whole supply"),
    # --- the day: 48 kWh / 0.93 = 51.61 kWh, of 24.58 kWh in the bank; 1 kWh of it lasts for weeks ---
    ("day-not-covered", DARK | HEAVY, "the loads take 51.61 kWh a day from B1. From full at 16:00 it is empty by 04:00."),
    ("day-not-covered", DARK | {"loads": [load("0.2 kW", energy="1 kWh/d")]}, "the loads take 1.075 kWh a day from B1. Plan a generator"),
    ("empty-before-sunrise", DARK | HEAVY, "B1, full at 16:00, is empty by 04:00; 9.144 kWh are missing until 08:00."),
    ("empty-before-sunrise", ONE | HEAVY, "With the utility away, B1, full at 16:00, is empty by 04:00;"),
    ("empty-before-sunrise", ONE | GENERATOR | HEAVY, "B1, full at 16:00, is used up at 03:00: without the generator"),
    # --- storage and strings ---
    ("cells-contradict-voltage", ONE | {"storage.module.cells": 10}, "have 5.12 V each; a cell of lfp has 3.2 V."),
    ("cells-contradict-voltage", ONE | {"storage.module.cells": 10, "storage.chemistry": "nmc"}, "have 5.12 V each; a cell of nmc has 3.6 to 3.7 V."),
    ("strings-share-unevenly", ONE | {"storage.module.resistance": None, "storage.bank.feed": "one end"}, "The resistance of the modules is not known, so the worst is taken: one of 6 strings of B1 carries all"),
    ("strings-share-unevenly", ONE, "The busiest of 6 strings of B1 carries 25.18 % of the current"),
    ("solar-unanswered", ONE | SUN | {"solar.series": None}, "the strings cannot be checked. Count the modules of one string."),
    ("solar-unanswered", ONE | SUN | {"solar.voc": None}, "the strings cannot be checked. It stands on the back of the module."),
    ("coefficient-positive", ONE | SUN | {"solar.voc_coefficient": "0.27 %/K"}, "The change of the modules' open voltage with temperature"),
    ("coefficient-positive", ONE | SUN | {"solar.vmp_coefficient": "0.27 %/K"}, "The change of the modules' voltage at full power with temperature"),
    # 49.5 V x (1 + 0.0027 x 35) = 54.18 V a module.
    ("cold-voc-above-limit", ONE | SUN | {"solar.series": 9}, "At most 8 modules in series. 4 to 8 in series stay inside the window; 7 is best."),
    ("cold-voc-above-limit", ONE | SUN | {"solar.series": 1, "unit.solar.voltage_max": "50 V", "unit.solar.mppt_min": None, "unit.solar.mppt_max": None}, "No string of these modules fits this unit."),
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


@pytest.mark.parametrize(("site", "proof"), [
    (ONE, ""),
    (ONE | {"loads": [load()]}, "1 unit (1), the most used phase at 20.00%; proven: none of so many units goes below it by more than 1 VA"),
    (ONE | {"loads": [load("6 kW", phase="any")]}, "1 unit (1), the most used phase at 120.00%: no arrangement of them carries the loads"),
    (OPEN | {"loads": [load("12 kW", phase="any")]}, "5 units (3 + 1 + 1), the most used phase at 80.00%; proven: none of so many units goes below it by more than 1 VA; fewer units do not carry the loads"),
    # What is answered per phase is the only arrangement that was looked at.
    ({"loads": [load("2 kW", phase="any")]}, "3 units (1 + 1 + 1), the most used phase at 40.00%; proven: no division of the loads goes below it by more than 1 VA"),
    ({"loads": [load("6 kW", phase="any")]}, "3 units (1 + 1 + 1), the most used phase at 120.00%: so divided they do not carry the loads"),
    ({"loads": [PUMP]}, "3 units (1 + 1 + 1), the most used phase at 40.00%: so divided they do not start all motors at once"),
    # Where it is open, three units can stand in one way only.
    ({"loads": [PUMP], "set.per_phase": None}, "3 units (1 + 1 + 1), the most used phase at 40.00%: no arrangement starts all motors at once"),
    ({"loads": [load("6 kW", phase="any")], "set.per_phase": None}, "3 units (1 + 1 + 1), the most used phase at 120.00%: no arrangement of them carries the loads"),
    ({"loads": [load("6 kW", phase="any")], "set.count": 6, "set.per_phase": [2, 2, 2], "set.spare": 1}, "6 units (2 + 2 + 2), the most used phase at 60.00%: so divided they do not carry the loads with 1 unit out on a phase"),
])
def test_what_is_proven_of_an_arrangement(site: Changes, proof: str) -> None:
    """T12: nothing where there are no loads; that fewer do not carry them only where fewer were looked at."""
    assert planned(site).parts.phases.proof == proof


TEN = [load(f"{power} W", "any", name=f"Load {power}") for power in (1111, 1280, 1430, 1460, 1860, 1990, 2210, 2750, 2840, 3000)]


@pytest.mark.parametrize(("site", "ends"), [
    (OPEN, "(33 arrangements looked at); fewer units are not ruled out"),
    ({}, "no division of the loads found with which they carry the loads"),
    ({"set.per_phase": None}, "no arrangement found that carries the loads"),
    ({"unit.surge_power": "5 kVA", "unit.apparent_power": "12 kVA", "unit.real_power": "12 kW"}, "no division of the loads found with which they start all motors at once"),
])
def test_what_was_not_searched_to_the_end_is_not_said_to_be_proven(monkeypatch: pytest.MonkeyPatch, site: Changes, ends: str) -> None:
    """T12: ten loads, 19.9 kW in all, where effort ends at once: five units of 5 kW are found, four are not ruled out; three cannot carry them."""
    monkeypatch.setattr("engine.stages.phases.balance", functools.partial(balance, budget=0))
    proof = paper_sites.planned(site | {"loads": TEN}).parts.phases.proof
    assert proof.endswith(ends)
    assert "; proven" not in proof


@pytest.mark.parametrize(("site", "about"), [({}, "set.per_phase"), ({"set.per_phase": None}, "set.count")])
def test_too_many_units_are_told_of_the_answer_that_says_so(site: Changes, about: str) -> None:
    """S36."""
    assert [finding.about for finding in planned({"unit.max_units": 2} | site).findings if finding.code == "over-max-units"] == [about]


@pytest.mark.parametrize(("site", "begins"), [
    (ONE, "With the utility away, B1, full at 16:00, is empty by 04:00; it stands at 20% after 24 hours, and nothing charges it before the utility is back."),
    (DARK, "B1, full at 16:00, is empty by 04:00; it stands at 20% after 24 hours, and nothing charges it."),
    (ONE | GENERATOR, "B1, full at 16:00, is used up at 03:00, when the generator must start; it stands at 40% after 24 hours; the generator runs 5 h of them,"),
])
def test_the_line_on_the_day_says_what_is_away(site: Changes, begins: str) -> None:
    """S25: 2 kW / 0.93 = 2.151 kW from 24.58 kWh: 11.4 hours from 16:00."""
    assert planned(site | HEAVY).parts.hours.text.startswith(begins)


@pytest.mark.parametrize(("feed", "told"), [("bar", "all alike"), ("one end", "string 1 carries most; an even share would be 16.67%")])
def test_the_busiest_string_is_named_only_where_one_is_busier(feed: str, told: str) -> None:
    """T14: six like strings."""
    assert planned(ONE | {"storage.bank.feed": feed}).figures["plan.banks[B1].largest_share"].note == f"nodal solution of 6 strings fed {feed}: {told}"


@pytest.mark.parametrize(("bond", "at", "place"), [("unit relay", None, "the units"), ("fixed link", None, "place to be decided"), ("fixed link", "board", "board"), ("unit relay", "L1-1", "L1-1")])
def test_a_bond_is_labelled_where_it_is(bond: str, at: str | None, place: str) -> None:
    """T21."""
    lines = planned(ONE | {"earthing.island_bond": bond, "earthing.bond_at": at}).parts.bill.lines
    assert [line.goes_to for line in lines if line.item == "bond label"] == [(place,)]


def test_a_place_that_was_taken_says_by_what() -> None:
    """S31."""
    why = {one.key: one.why for one in planned({}).assumed if one.key.startswith("wall.places[")}
    assert why.pop("wall.places[bar B1]") == "a bar hangs at its bank"
    assert set(why.values()) == {"no place answered: set out in rows with clearances"}


def test_each_unit_is_told_why_it_leads_or_follows() -> None:
    """T13."""
    why = {tag: {setting.setting: setting.why for setting in rows} for tag, rows in planned({}).parts.settings.of.items()}
    assert why["L1-1"]["role"] == "its waveform is the one the others follow"
    assert why["L2-1"]["role"] == why["L3-1"]["role"] == "it follows L1-1"
    assert why["L2-1"]["storage_mode"] == "every unit is on B1"
    apart = planned({"storage.connection": "bank-per-unit", "storage.wired": {"L1-1": "B1", "L2-1": "B2", "L3-1": "B3"}, "storage.links": []})
    assert {setting.setting: setting.why for setting in apart.parts.settings.of["L2-1"]}["storage_mode"] == "B2 is one of 3 banks"


def test_an_hour_says_what_runs_in_it_and_where_it_began() -> None:
    """S25: full at 16:00, used up at 03:00, when the generator starts."""
    figures = planned(ONE | GENERATOR | HEAVY).figures
    assert figures["plan.hours[16].state_before"].note == "B1 is full at sunset, where the day begins"
    assert figures["plan.hours[17].state_before"].note == "B1 at the end of hour 16: see why there"
    assert figures["plan.hours[16].generator"].note.startswith("not needed in this hour")
    assert figures["plan.hours[4].generator"].note.startswith("from the state below which nothing is taken, until the bank is 90 % full")
    assert (len(figures["plan.hours[16].generator"].of), len(figures["plan.hours[4].generator"].of)) == (0, 3)


def test_a_way_along_the_wall_is_told_by_its_ends() -> None:
    """S19."""
    assert planned(hung()).figures["plan.circuits[load L1-1].path"].note == "along the wall from L1-1 to load board"


@pytest.mark.parametrize(("rules", "least"), [("iec", 1.4), ("nec", 1.56)])
def test_a_string_fuse_is_rated_over_the_short_circuit_by_its_book(rules: str, least: float) -> None:
    """S11: 1.4 Isc (IEC 60269-6 annex BB), 1.56 Isc (UL 2579)."""
    assert planned(ONE | SUN | {"solar.parallel": 3, "site.rules": rules}).figures["plan.circuits[solar L1-1].fuse_factor"].value == least


def test_a_conductor_larger_than_its_own_needs_says_for_whom() -> None:
    """S18: 40 m to L2-1 ask for more than the others; by itself nothing is like another."""
    far = {"routes": [route("battery", to="L2-1", length="40 m"), route("battery", length="2 m")]}
    notes = {name: planned(far).figures[f"plan.circuits[battery {name}].conductor"].note.splitlines()[-1] for name in ("L1-1", "L2-1")}
    assert notes["L1-1"].endswith(", would do here but not for battery L2-1.")
    assert "fails drop" in notes["L2-1"]


@pytest.mark.parametrize(("site", "criteria"), [
    # 50 mm2 168 A, 70 mm2 213 A (B.52.2, method C); 1.6 x 160 / 1.45 = 176.6 A.
    (sites.split(1) | {"routes": sites.routes()}, [
        "current: Iz >= Ib; at least 143.1 A asks for 50 mm2; 70 mm2 gives 213 A (C, pvc, 2 loaded: 213 A x 1 x 1). IEC 60364-4-43 433.1",
        "fuse: Iz >= I2 / 1.45, I2 = 1.6 In; at least 176.6 A asks for 70 mm2; 70 mm2 gives 213 A (C, pvc, 2 loaded: 213 A x 1 x 1). IEC",
        "drop: drop <= 2 % at 116.9 A; at most 2 % asks for 16 mm2; 70 mm2 gives 0.2972 %. IEC 60364-5-52 annex G; S1.",
    ]),
    # 1/0 AWG 150 A (310.16, 75 degC).
    (sites.split(1) | sites.NEC, [
        "device: the largest device this ampacity may have is at least In; at least 150 A asks for 1 AWG; 1/0 AWG gives 150 A (310.16, 75 degC, 2 counted: 150 A x 1 x 1). NFPA 70 (NEC) 240.4",
        "drop: drop <= 2 % at 116.9 A, told only; at most 2 % asks for 6 AWG; 1/0 AWG gives 0.3655 %. NFPA 70 (NEC) 210.19, 215.2 informational notes; S1.",
        "termination: the same in the 75 degC column that the terminals allow; at least 146.1 A asks for 1/0 AWG; 1/0 AWG gives 150 A. NFPA 70 (NEC) 110.14(C)",
    ]),
    # In free air at 40 degC 0.91 (B.52.14) for XLPE, two circuits together 0.88 (B.52.17), two conductors.
    (sites.split(1) | LARGE | {"site.ambient_max": "40 degC", "routes": FREE}, ["2 x 300 mm2 gives 1.254 kA (F, xlpe, 2 loaded: 783 A x 0.91 x 0.88 x 2)."]),
])
def test_a_criterion_is_told_with_how_its_figure_came_about(site: Changes, criteria: list[str]) -> None:
    """S13: what is wanted, by which size alone, what the size taken gives, by which table and factors."""
    said = [criterion.text for criterion in sites.sized(sites.site(site), "battery L1-1").decision]
    assert [wanted for wanted in criteria if not any(wanted in text for text in said)] == []


def test_an_earth_that_did_not_grow_says_nothing_of_growing() -> None:
    """S8: NEC table 250.122: 10 AWG for up to 60 A; 250.122(B) only where the lines were enlarged."""
    note = planned(ONE | NEC).figures["plan.circuits[load L1-1].earth"].note
    assert "asks for 10 AWG: device: for the 40 A device of load L1-1: 10 AWG. NFPA 70" in note


def test_a_far_fault_opens_a_fuse_slowly() -> None:
    """S4: a battery circuit stands what the fuse lets through at its gate, an AC one what flows until its breaker trips."""
    for name, came in (("battery L1-1", "I2t = 670.8 kA2s: the gate at which the far fault opens the fuse)"), ("load L1-1", "I2t = 80 kA2s: 2 kA for 0.02 s)")):
        assert any(came in criterion.text for criterion in sites.sized(sites.site(), name).decision if criterion.name == "withstand")


@pytest.mark.parametrize(("site", "name"), [
    ({"storage.module.resistance": "100 mohm"}, "DC fuse NH gG"),
    ({"storage.module.resistance": "12 mohm"}, "DC fuse NH gG (CONFIRM)"),
    # Eight in series stand at 448 V, above the 440 V of NH fuses.
    ({"storage.module.resistance": "100 mohm", "storage.bank.series": 8, "unit.dc_max": "500 V", "unit.dc_min": "300 V"}, "DC battery fuse (gBat/aBat)"),
])
def test_a_fuse_is_called_a_fuse_once(site: Changes, name: str) -> None:
    """T4."""
    assert planned(ONE | site).parts.conductors.of["battery L1-1"].device.name == name


def test_a_bar_without_room_hangs_on_the_terminals_of_its_bank() -> None:
    """S19: an obstacle as wide as the wall stands where the bank and all room near it for a bar would be: no way leads from the one to the other, but none is needed."""
    plan = planned({"wall.width": "4.2 m", "wall.height": "3.4 m", "wall.places": [{"what": "obstacle", "x": "2.1 m", "y": "0.8 m", "width": "4.2 m", "height": "1.5 m"}]})
    path = plan.figures["plan.circuits[battery B1].path"]
    assert (path.value, path.note) == (0, "within the B1")


def test_a_place_of_which_a_part_was_said_is_hung_by_that_part() -> None:
    """S19: a size without a spot holds, and such a thing is hung before those of which nothing was said."""
    answers = {"wall.width": "4 m", "wall.height": "2.4 m", "wall.places": [{"what": "load-board", "width": "0.6 m", "height": "0.7 m"}, {"what": "incoming-board", "x": "3.6 m"}]}
    hangs = {place.name: place for place in planned(ONE | answers).parts.wall.places}
    board = hangs["load board"]
    assert (board.width, board.height, board.assumed) == (0.6, 0.7, True)
    assert hangs["incoming board"].x == 3.6


def test_a_board_without_room_at_its_height_hangs_at_another_and_a_bank_never() -> None:
    """S19: an obstacle as wide as the wall from 1.1 m to 1.9 m leaves a board no room at 1.5 m; below it is 1.1 m, and the lanes above are not crossed."""
    obstacle = {"what": "obstacle", "x": "2 m", "y": "1.5 m", "width": "4 m", "height": "0.8 m"}
    hangs = {place.name: place for place in planned(ONE | {"wall.width": "4 m", "wall.height": "2.4 m", "wall.places": [obstacle]}).parts.wall.places}
    board, bank = hangs["load board"], hangs["B1"]
    assert board.y + board.height / 2 <= 1.1
    assert bank.y - bank.height / 2 == 0


def test_what_hangs_under_a_tag_that_no_unit_has_only_stands_in_the_way() -> None:
    """S19: it is called an obstacle, and needs the air of none."""
    plan = planned(hung(L3_1={"tag": "L3-2"}))
    stray = next(place for place in plan.parts.wall.places if place.key == "wall.places[L3-2]")
    assert (stray.what, stray.called) == ("obstacle", "the obstacle of wall.places[L3-2]")
    assert next(place for place in plan.parts.wall.places if place.name == "L1-1").called == "L1-1"
