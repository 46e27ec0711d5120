"""What a finding or a figure tells is the figure of its own site: key, value, limit, and the word that decides what one does next.

Units of 5 kW and 5 kVA, 93 %, on 230 V; a day's energy of the loads is taken through their 93 %.
"""

from __future__ import annotations

import pytest

from engine.findings import Finding
from engine.stages.wall.part import Place
from tests.defence import sites
from tests.defence.twins import GENERATOR, LEAD, ONE, SUN, Changes, codes, hung, load, planned, route

PAIR: Changes = ONE | {"set.count": 2, "set.per_phase": [2], "storage.wired": {"L1-1": "B1", "L1-2": "B1"}}
ALONE: Changes = {"incoming.kind": "none", "loads": [load(energy="10 kWh/d")]}
SPLIT: Changes = {"output.arrangement": "split-phase", "set.count": 2, "set.per_phase": [1, 1], "storage.wired": {"L1-1": "B1", "L2-1": "B1"}}


def told(site: Changes, code: str) -> list[Finding]:
    return [finding for finding in planned(site).findings if finding.code == code]


def against(site: Changes, code: str) -> list[tuple[float | None, float | None]]:
    return [(finding.value, finding.limit) for finding in told(site, code)]


# --- phases ---


@pytest.mark.parametrize(
    ("site", "value", "limit"),
    [
        (PAIR | {"loads": [load("12 kW")]}, 12_000, 10_000),
        # 4.5 kW at 0.8 are 5.625 kVA: only the apparent power is too much.
        (ONE | {"loads": [load("4.5 kW", power_factor=0.8)]}, 5625, 5000),
    ],
)
def test_an_overloaded_phase_is_held_against_all_its_units(site: Changes, value: float, limit: float) -> None:
    assert against(site, "phase-overloaded") == [(pytest.approx(value), pytest.approx(limit))]


@pytest.mark.parametrize(
    ("site", "value", "limit"),
    [
        (PAIR | {"loads": [load("6 kW")]}, 6000, 5000),
        (PAIR | {"loads": [load("5.0005 kW")]}, 5000.5, 5000),
        (ONE | {"loads": [load("1 kW")]}, 1000, 0),
    ],
)
def test_a_phase_with_its_spare_out_is_held_against_what_is_left(site: Changes, value: float, limit: float) -> None:
    """S22"""
    assert against(site | {"set.spare": 1}, "spare-not-met") == [(pytest.approx(value), pytest.approx(limit))]
    assert "With 1 unit out" in told(site | {"set.spare": 1}, "spare-not-met")[0].text


def test_two_legs_need_two_units() -> None:
    [finding] = told({"output.arrangement": "split-phase", "set.count": 1, "set.per_phase": None}, "phase-without-unit")
    assert "so at least 2." in finding.text


def test_a_load_on_both_legs_is_shared_by_them() -> None:
    plan = planned(SPLIT | {"loads": [load("4 kW", phase="all")]})
    assert [row.real.value for row in plan.parts.phases.rows] == [2000, 2000]


@pytest.mark.parametrize(("first", "apart"), [("1.1 kW", []), ("1.2 kW", [(pytest.approx(5 / 31), 0.1)])])
def test_a_generator_stands_a_tenth_of_unbalance(first: str, apart: list[tuple[float, float]]) -> None:
    """1.1, 1 and 0.9 kW are 10 % apart from their mean, 1.2 kW are 1.2 / 1.0333 - 1 = 16.1 % above it."""
    assert against(GENERATOR | {"loads": [load(first), load("1 kW", "L2"), load("0.9 kW", "L3")]}, "generator-unbalanced") == apart


def test_a_set_without_units_has_no_lead() -> None:
    units = planned({"set.count": None, "set.per_phase": None}).parts.units
    assert (units.units, units.lead) == ((), None)


# --- limits ---


@pytest.mark.parametrize(("ampere", "raised"), [("0.9 A", "charge-limit-zero"), ("1 A", "charge-limit-below-unit"), ("78 A", "charge-limit-below-unit"), ("79 A", None)])
def test_a_charge_limit_of_whole_amperes(ampere: str, raised: str | None) -> None:
    """T14: one string, one unit of 80 A: one ampere charges a bank, and one ampere less than the unit's own is rounding."""
    found = codes(ONE | {"storage.module.charge_current": ampere, "storage.bank.parallel": 1})
    assert found & {"charge-limit-zero", "charge-limit-below-unit"} == ({raised} if raised else set())


@pytest.mark.parametrize(("site", "limit"), [({}, "20 A that the breaker"), (GENERATOR | {"incoming.rating": "10 kVA"}, "11.59 A that 80 % of the generator")])
def test_each_phase_is_told_by_what_it_draws_itself(site: Changes, limit: str) -> None:
    """T19: 4 kW and 1 kW are 17.39 A and 4.348 A; 10 kVA over three phases 14.49 A, 80 % of it 11.59 A."""
    loads = {"loads": [load("4 kW", "L1"), load("1 kW", "L2")], "incoming.breaker": "20 A"}
    [finding] = told(site | loads, "incoming-below-load-and-charge")
    assert f"more than the {limit} allows" in finding.text
    assert "L1 loads 17.39 A and" in finding.text
    assert "L2 loads 4.348 A and" in finding.text


def test_each_unit_is_set_to_what_it_may_take() -> None:
    """T8, T19: a unit alone passes its 40 A, which is less than the breaker's 63 A."""
    def setting(site: Changes) -> str | None:
        return next((row.value for row in planned(site).parts.settings.of["L1-1"] if row.setting == "incoming_limit"), None)

    assert setting(ONE) == "40 A"
    assert setting(ONE | {"incoming.kind": "none"}) is None


@pytest.mark.parametrize(("rules", "why"), [("iec", "carries its rating"), ("nec", "at most 80 % of its device")])
def test_what_a_device_carries_for_long_says_why(rules: str, why: str) -> None:
    assert why in planned(ONE | {"site.rules": rules}).figures["plan.incoming.device_share"].note


def test_nothing_charges_from_a_supply_that_is_not_there() -> None:
    assert planned(ONE | {"incoming.kind": "none", "incoming.voltage": "230 V"}).parts.limits.charging == {}
    # 80 A x 56 V / (0.93 x 0.95 x 230 V)
    assert planned(ONE).parts.limits.charging["L1-1"].value == pytest.approx(80 * 56 / (0.93 * 0.95 * 230))


# --- currents ---


def test_without_a_supply_the_units_of_the_busiest_phase_feed_a_fault() -> None:
    """Two units of 500 A on L1, one on each other phase."""
    plan = sites.site(sites.split(2, 1, 1) | {"incoming.kind": "none"})
    assert plan.figures["plan.circuits[load common].fault"].value == 1000
    supplied = sites.site(sites.split(2, 1, 1))
    assert supplied.figures["plan.circuits[load common].fault"].value == 2000


@pytest.mark.parametrize(("rules", "rating"), [("iec", "16 A"), ("nec", "20 A")])
def test_a_string_fuse_by_its_own_book(rules: str, rating: str) -> None:
    """S11: 1.4 x 11 A = 15.4 A; by the NEC 1.56 x 11 A = 17.2 A."""
    plan = planned(ONE | SUN | {"solar.parallel": 3, "solar.isc": "11 A", "site.rules": rules})
    assert str(plan.parts.conductors.of["solar L1-1"].device.rating) == rating


@pytest.mark.parametrize(("surge", "says"), [("50 kVA", "carries 1.431 kA"), ("150 kVA", "asks for a fuse of")])
def test_a_current_above_every_fuse_says_what_asks_for_it(surge: str, says: str) -> None:
    """T1, T2: 50 kW / (0.93 x 46 V) x 1.2247 = 1431 A; three times 1169 A for a moment is more still, and half of it is not."""
    [finding] = told(ONE | {"unit.real_power": "50 kW", "unit.apparent_power": "50 kVA", "unit.surge_power": surge}, "no-device-large-enough")
    assert says in finding.text


# --- the day ---


def test_a_day_without_cover_leads_to_the_question_that_cures_it() -> None:
    """S25: 10 kWh / 0.93 = 10.75 kWh; 14 panels of 450 W for half an hour at 75 % bring 2.3625 kWh, of which 4.55 times as much is wanted."""
    [dark] = told(ONE | ALONE, "day-not-covered")
    assert dark.about == "incoming.kind"
    [dim] = told(ONE | SUN | ALONE | {"solar.sun_hours": 0.5}, "day-not-covered")
    assert dim.about == "solar.sun_hours"
    assert "the loads take 10.75 kWh from it, the sun brings 2.362 kWh" in dim.text
    assert "About 4.6 times" in dim.remedy


def test_a_night_is_held_against_what_the_bank_gives() -> None:
    """S25: 16 hours of 2 kW from sunset to sunrise are 32 kWh; 30.72 kWh at 80 % and through 93 % are 22.86 kWh."""
    loads = {"loads": [load("2 kW", energy="48 kWh/d")]}
    assert against(ONE | loads, "empty-before-sunrise") == [(pytest.approx(30.72 * 0.8 * 0.93 * 3.6e6), pytest.approx(32 * 3.6e6))]


def test_what_charges_the_bank_again_is_told() -> None:
    assert planned(ONE | ALONE).parts.hours.text.endswith("and nothing charges it.")
    assert planned(ONE | {"loads": ALONE["loads"]}).parts.hours.text.endswith("and nothing charges it before the utility is back.")
    assert "charges it" not in planned(ONE | SUN | ALONE).parts.hours.text


def test_a_generator_runs_as_long_as_it_must() -> None:
    """S25: loads of 2 kW take 2.1505 kW from the bank; with the generator on 80 A x 56 V = 4.48 kW go into it: of 24 h it runs 24 x 2.1505 /
    6.6305 = 7.784 h. The full bank at the start, 24.6 kWh at most, saves 0.27 h a day over two weeks, an hour begun 0.07 h."""
    hours = planned(ONE | GENERATOR | {"loads": [load("2 kW", energy="48 kWh/d")]}).parts.hours
    assert 7.784 - 0.27 - 0.07 < hours.generator_hours.value / 3600 < 7.784
    assert f"{hours.generator_hours.value / 3600:.1f} h a day over two weeks" in hours.text


# --- loads ---


def test_a_power_that_nobody_answered_counts_as_a_question() -> None:
    [finding] = told({"loads": [{"name": "Pump"}]}, "load-power-unanswered")
    assert finding.unanswered


# --- banks ---


def test_strings_from_a_bar_share_evenly_though_nobody_knows_their_resistance() -> None:
    """T14: four strings of 50 A charge with 200 A; daisy-chained one of them may take it all."""
    for feed, ampere in (("bar", 200), ("one end", 50)):
        bank = planned(ONE | {"storage.module.resistance": None, "storage.bank.parallel": 4, "storage.bank.feed": feed}).parts.storage.of("B1")
        assert bank.charge_limit.value == pytest.approx(ampere)


@pytest.mark.parametrize(("strings", "asks"), [(1, False), (2, True)])
def test_the_resistance_is_asked_for_only_where_strings_share_by_it(strings: int, asks: bool) -> None:
    """T14: a single string carries everything, whatever its resistance."""
    [finding] = told(ONE | {"storage.module.resistance": None, "storage.module.discharge_current": "50 A", "storage.bank.parallel": strings}, "bank-below-set")
    assert finding.remedy.startswith("First answer the modules' resistance") is asks


def test_what_a_cold_lead_bank_holds_is_a_share_of_its_rating() -> None:
    """At 4.4 degC 1.3 times the capacity is wanted."""
    assert against(LEAD | {"loads": [load()], "site.ambient_min": "4.4 degC"}, "lead-in-the-cold") == [(pytest.approx(1 / 1.3), 1)]


def test_cells_that_were_answered_count() -> None:
    """51.2 V are 16 cells of lfp where nobody counted them; 15 of 3.65 V stand 54.75 V, and 56 V is too much."""
    assert told({"storage.module.cells": 15}, "absorption-above-cells")[0].limit == pytest.approx(15 * 3.65)
    assert not told({"storage.module.cells": None}, "absorption-above-cells")
    for unknown in ({"storage.chemistry": None}, {"storage.module.voltage": None}):
        assert not told({"storage.module.cells": None} | unknown, "absorption-above-cells")


def test_leads_without_resistance_are_no_group() -> None:
    """T11: nothing is shared by 1/R where R was measured as nothing."""
    plan = planned(PAIR | {"routes": [route("load", resistance="0 mohm")]})
    assert [group.name for group in plan.parts.sharing.groups] == ["battery B1", "incoming L1"]


def test_each_bank_is_solved_at_its_own_voltage() -> None:
    plan = sites.site(sites.split(2, 2, bank="bank-per-phase"))
    for bank in ("B1", "B2"):
        assert plan.figures[f"plan.sharing[battery {bank}].bar_voltage"].of[0].key == f"plan.banks[{bank}].low"


# --- the wall ---


@pytest.mark.parametrize(("lane", "raised"), [("2.4 m", False), ("2.401 m", True)])
def test_a_lane_may_run_right_under_the_ceiling(lane: str, raised: bool) -> None:
    assert ("lane-above-ceiling" in codes(hung() | {"routes": [route("load", lane=lane)]})) is raised


def test_like_circuits_are_told_by_what_they_hang_on() -> None:
    """S18: battery leads of one bank, load leads of one phase."""
    notes = told(hung(), "like-circuits-cut")
    assert [note.text for note in notes if "battery circuits" in note.text and ": B1, 3 circuits of" in note.text]


def test_an_obstacle_without_a_place_is_told() -> None:
    [finding] = told(hung({"what": "obstacle", "width": "0.2 m", "height": "0.2 m"}), "place-unclear")
    assert "obstacle has no place" in finding.text


def test_what_hangs_over_an_obstacle_is_called_by_name() -> None:
    [finding] = told(hung({"what": "obstacle", "x": "1.9 m", "y": "1.5 m", "width": "0.2 m", "height": "0.2 m"}), "places-overlap")
    assert "L2-1 and the obstacle of wall.places[" in finding.text
    assert Place("L1-1", "unit", 1.0, 1.0, 0.4, 0.5, assumed=False, key="wall.places[L1-1]").called == "L1-1"


def test_a_bar_that_nobody_placed_hangs_at_its_own_bank() -> None:
    """Three banks on the floor: each bar is nearer to its own than to any other."""
    places = {place.name: place for place in sites.site(sites.split(2, 2, 2, bank="bank-per-phase")).parts.wall.places}
    for bank in ("B1", "B2", "B3"):
        bar = places[f"bar {bank}"]
        assert min(("B1", "B2", "B3"), key=lambda name: abs(places[name].x - bar.x) + abs(places[name].y - bar.y)) == bank


def test_what_hangs_is_told_of_the_edge_unless_it_hangs_beyond_it() -> None:
    """0.5 m high at 2.1 m under a ceiling of 2.4 m: 0.05 m are left of the 0.2 m; at 2.3 m it is off the wall, and that is all there is to say."""
    assert against(hung(L2_1={"y": "2.1 m"}), "clearance-too-small") == [(pytest.approx(0.05), 0.2)]
    assert against(hung(L2_1={"y": "2.3 m"}), "off-the-wall") == [(pytest.approx(-0.15), 0.0)]
    assert not told(hung(L2_1={"y": "2.3 m"}), "clearance-too-small")


def test_a_unit_without_its_air_above_and_below_finds_no_room() -> None:
    """2 m high with 0.3 m of air at each end: 2.6 m under a ceiling of 2.4 m."""
    assert told(ONE | {"unit.width": "0.9 m", "unit.height": "2 m", "unit.clearance": "0.3 m", "wall.height": "2.4 m"}, "no-room-on-the-wall")


def test_leads_that_differ_are_told_with_what_each_of_them_carries() -> None:
    """S18: of 80 A a pole of 1.5 mohm takes 4 / 7, 45.71 A, and one of 2 mohm 3 / 7. Battery leads of 10 and 2 mohm carry 120.1 and 117.5 A: units draw power."""
    ways = [route("load", to="L1-1", resistance="3 mohm"), route("load", resistance="4 mohm"), route("battery", to="L1-1", resistance="10 mohm"), route("battery", to="L1-2", resistance="2 mohm"), route("battery", resistance="0.2 mohm")]
    battery, loads = told(PAIR | {"routes": ways}, "like-circuits-unlike")
    assert loads.text.endswith("They share by 1/R: load L1-1 45.71 A, load L1-2 34.29 A (28.57 % apart).")
    power = 5000 / 0.93
    assert "Units draw power, so their currents differ less: battery L1-2 " in battery.text
    drawn = {lead.circuit: lead for group in planned(PAIR | {"routes": ways}).parts.sharing.groups if group.name == "battery B1" for lead in group.leads}
    assert [lead.voltage.value * lead.current.value for lead in drawn.values()] == pytest.approx([power, power])


@pytest.mark.parametrize(("resistance", "code"), [
    # 5 kW / 0.93 = 5376 W from 46 V: over 4 x 5376 W x R <= 46^2 V2, 98.4 mohm, and a little less behind the bank's own cable.
    ("97 mohm", "unit-starved"),
    ("99 mohm", "leads-carry-no-power"),
])
def test_leads_carry_no_more_than_the_voltage_gives_over_them(resistance: str, code: str) -> None:
    """P = (U - R I) I."""
    ways = [route("battery", to="B1", resistance="0.01 mohm"), route("battery", resistance=resistance)]
    assert codes(PAIR | {"routes": ways}) & {"unit-starved", "leads-carry-no-power"} == {code}
