"""S21 to S29 defended: what the set carries, how long its bank lasts, what stops, and what stands in the file and on the bill."""

from __future__ import annotations

import tomllib

import pytest

from engine.files.emit import with_plan
from engine.files.read import parse
from tests.conftest import plan_text
from tests.defence.test_findings import TWINS
from tests.defence.twins import LEAD, ONE, Changes, circuit, codes, load, planned
from tests.engine.paper_sites import set_of
from wizard.cli import main


@pytest.mark.parametrize(("power", "factor", "used"), [("4.5 kW", 0.9, "90 %"), ("3 kW", 0.6, "83.33 %")])
def test_s21_a_phase_is_used_by_the_larger_of_both_shares(power: str, factor: float, used: str) -> None:
    """S21: of 5 kW and 6 kVA; 4.5 kW are 90 % and 5 kVA 83.3 %; 3 kW are 60 % and 5 kVA 83.3 %."""
    site = ONE | {"unit.apparent_power": "6 kVA", "loads": [load(power, power_factor=factor)]}
    assert planned(site).plan.phases[0].used == used


@pytest.mark.parametrize(
    ("loads", "stops"),
    [
        # A unit gives 10 kVA for a moment. An unanswered motor draws six times its running current.
        ([load("1.66 kW", motor=True)], False),
        ([load("1.67 kW", motor=True)], True),
        ([load("4.9 kW")], False),
        # What demand leaves of the running power does not lessen the start.
        ([load("1.67 kW", motor=True, demand=0.5)], True),
        # Every motor starts at once, and starts add by magnitude: 5.1 + 5.1 kVA, as phasors 53 degrees apart 9.1 kVA.
        ([load("0.85 kW", motor=True), load("0.51 kW", motor=True, power_factor=0.6)], True),
        ([load("0.83 kW", motor=True), load("0.498 kW", motor=True, power_factor=0.6)], False),
        # Both of two machines alike.
        ([load("0.85 kW", motor=True, quantity=2)], True),
    ],
)
def test_s21_starts(loads: list[Changes], stops: bool) -> None:
    """S21"""
    assert ("start-above-surge" in codes(ONE | {"loads": loads})) is stops


def test_s21_surge_is_read_as_va_and_compared_in_amperes() -> None:
    """S21: 10 kVA / 230 V = 43.48 A a unit; 1 kW at power factor 0.5 starts with 6 x 2 kVA / 230 V = 52.2 A."""
    row = planned(ONE | {"loads": [load("1 kW", motor=True, power_factor=0.5)]}).plan.phases[0]
    assert (row.surge, row.surge_limit) == ("52.17 A", "43.48 A")


@pytest.mark.parametrize(("spare", "power", "told"), [(1, "5 kW", False), (1, "5.1 kW", True), (2, "5 kW", True), (0, "9 kW", False)])
def test_s22_the_phase_still_carries_its_loads_with_the_spare_units_out(spare: int, power: str, told: bool) -> None:
    """S22: two units of 5 kW on the phase."""
    site = set_of(2) | {"set.spare": spare, "loads": [load(power)]}
    assert ("spare-not-met" in codes(site)) is told
    assert "phase-overloaded" not in codes(site)


def test_s22_the_spare_is_of_any_one_phase() -> None:
    """S22: four units, but L2 has one of its own only."""
    site = {"set.count": None, "set.per_phase": [2, 1, 2], "storage.wired": {}, "set.spare": 1}
    assert "spare-not-met" in codes(site | {"loads": [load(phase="L2")]})
    assert "spare-not-met" not in codes(site | {"loads": [load(phase="L1")]})


def sums(site: Changes) -> list[tuple[str | None, str | None]]:
    return [(row.power, row.reactive_power) for row in planned(site).plan.phases]


def test_s23_power_is_that_of_one_machine_and_on_all_a_third_each() -> None:
    """S23"""
    assert sums({"loads": [load("600 W", "all", quantity=2)]}) == [("400 W", "0 var")] * 3
    assert sums({"loads": [load("1 kW", "L2", quantity=3)]}) == [("0 W", "0 var"), ("3 kW", "0 var"), ("0 W", "0 var")]


def test_s23_a_load_between_two_phases() -> None:
    """S23: 1 kW between two of three phases draws 1 kW / (sqrt 3 U), 30 degrees off each: 500 W and 577.4 x sin 30 = 288.7 var,
    ahead on L1 and behind on L2; in split-phase half on each and nothing else."""
    assert sums({"loads": [load("1 kW", "L1-L2")]}) == [("500 W", "-288.7 var"), ("500 W", "288.7 var"), ("0 W", "0 var")]
    split = {"output.arrangement": "split-phase", "set.count": 2, "set.per_phase": [1, 1], "storage.wired": {}}
    assert sums(split | {"loads": [load("1 kW", "L1-L2")]}) == [("500 W", "0 var")] * 2
    assert planned({"loads": [load("1 kW", "L1-L2")]}).plan.loads[0].on == [1, 1, 0]


def test_s23_the_best_division_is_proven_within_1_va() -> None:
    """S23: 3, 2, 2 and 1 kW on two phases: 3 + 1 against 2 + 2, 4 kW of 5 kW each; no other is as even."""
    split = {"output.arrangement": "split-phase", "set.count": 2, "set.per_phase": [1, 1], "storage.wired": {}}
    plan = planned(split | {"loads": [load(power, "any") for power in ("3 kW", "2 kW", "2 kW", "1 kW")]}).plan
    assert [row.used for row in plan.phases] == ["80 %", "80 %"]
    assert "proven" in str(plan.proof)
    assert "1 VA" in str(plan.proof)


def test_s24_the_banks_limit_is_the_banks_and_the_units_are_whole_amperes_down() -> None:
    """S24: six modules of 41.8 A from a bar: 250.8 A as it is, and 250.8 / 3 = 83.6 A, set 83 A."""
    site = {"storage.bank.feed": "bar", "storage.module.charge_current": "41.8 A", "unit.charge_current": "200 A"}
    plan = planned(site).plan
    assert plan.banks[0].charge_limit == "250.8 A"
    assert {unit.charge_limit for unit in plan.units} == {"83 A"}


def test_s24_voltages_are_of_one_module() -> None:
    """S24: two in series."""
    bank = planned(ONE | {"storage.bank.series": 2, "unit.dc_max": "120 V"}).plan.banks[0]
    assert (bank.absorption, bank.float, bank.low) == ("112 V", "108 V", "92 V")


def test_s24_the_solar_charging_current_is_of_one_unit() -> None:
    """S24: 60 A on each of three units is under each one's 66 A, although 180 A come together."""
    site = {"solar.isc": "11 A", "unit.solar.charge_current": "60 A"}
    assert "solar-charges-above-limit" not in codes(site)
    assert "solar-charges-above-limit" in codes(site | {"unit.solar.charge_current": "67 A"})


@pytest.mark.parametrize(("joint", "share"), [(None, "51.61 %"), ("0 mohm", "50 %"), ("1 mohm", "57.14 %")])
def test_s24_a_joint_that_nobody_answered_counts_0_2_mohm(joint: str | None, share: str) -> None:
    """S24: two strings of 12 mohm, halved 6 mohm, at one end: (r + 2 j) / (2 r + 2 j) = 6.4 / 12.4; 8 / 14 with 1 mohm."""
    site = ONE | {"storage.bank.parallel": 2, "storage.bank.joint_resistance": joint}
    assert planned(site).plan.banks[0].largest_share == share


def test_s25_autonomy_is_over_the_mean_of_the_day_and_over_the_rated_load() -> None:
    """S25: 6 x 100 Ah x 51.2 V x 0.8 x 0.93 = 22.856 kWh; 2 kWh / 24 h = 83.3 W make 274.3 h, one unit's 5 kW 4.571 h, three 91.42 min."""
    one = planned(ONE | {"loads": [load()]}).plan.banks[0]
    assert (one.usable_energy, one.autonomy, one.autonomy_full_load) == ("22.86 kWh", "274.3 h", "4.571 h")
    assert planned({"loads": [load()]}).plan.banks[0].autonomy_full_load == "91.42 min"


LEVELS = {
    "stop": ("start-above-surge", "cold-voc-above-limit", "phase-without-unit"),
    # T8, T10, T11, T14, T16, T18, T19 and the hot voltage.
    "caution": (
        "breaker-above-transfer",
        "neutral-harmonics",
        "neutral-above-line",
        "like-circuits-unlike",
        "strings-share-unevenly",
        "charge-limit-below-unit",
        "ventilate",
        "lead-loss",
        "phase-loss",
        "incoming-below-load-and-charge",
        "hot-vmp-below-window",
        "hot-vmp-above-window",
    ),
}


@pytest.mark.parametrize(("level", "code"), [(level, code) for level, some in LEVELS.items() for code in some])
def test_s26_what_stops_and_what_is_a_caution(level: str, code: str) -> None:
    """S26: every site that raises it raises it at that level, and its plan stands accordingly."""
    sites = [twin.site for twin in TWINS if twin.code == code]
    assert sites
    for site in sites:
        found = planned(site)
        assert {str(finding.level) for finding in found.findings if finding.code == code} == {level}
        assert level != "stop" or found.plan.standing == "stopped"


def test_s27_the_neutral_current_is_the_sets_and_stands_in_every_row() -> None:
    """S27: 1 kW and 2 kW on two phases: 4.348 and 8.696 A 120 degrees apart: sqrt(a2 + b2 - a b) = 7.531 A."""
    rows = planned({"loads": [load("1 kW", "L1"), load("2 kW", "L2")]}).plan.phases
    assert [row.neutral_current for row in rows] == ["7.531 A"] * 3


SITE = """[output]
arrangement = "single-phase"
voltage = "230 V"
{0}
[[loads]]
name = "Pump"
power = "1 kW"
{0}
[[wall.places]]
what = "unit"
tag = "L1-1"
{0}
"""


def test_s27_a_note_may_stand_in_any_table_and_changes_no_revision() -> None:
    """S27"""
    bare, noted = (parse(SITE.format(line).encode(), "site.toml").revision for line in ("", 'note = "seen on Monday"'))
    assert bare == noted
    assert bare != parse(SITE.format("").replace("1 kW", "2 kW").encode(), "site.toml").revision


def test_s27_without_an_out_the_plan_is_printed(tmp_path, capsys) -> None:
    """S27"""
    file = tmp_path / "site.toml"
    text = SITE.format("")
    file.write_text(text, encoding="utf-8")
    main(["plan", str(file)])
    printed = tomllib.loads(capsys.readouterr().out)
    assert printed["plan"]["revision"] == parse(text.encode(), "site.toml").revision
    assert file.read_text(encoding="utf-8") == text


ODD = '[[loads]]\nname = "Pu\\u202Emp\\u0007"\npower = "1 kW"\n[[loads]]\nname = "Pump"\npower = "2 kW"\nphase = "L1"\n[output]\narrangement = "single-phase"\n[set]\ncount = 1\n'


def test_s28_no_raw_control_or_direction_character_is_written_and_answers_keep_what_was_typed() -> None:
    """S28"""
    site = parse(ODD.encode(), "site.toml")
    plan = plan_text(ODD).plan
    written = with_plan(site.text, site.document, plan)
    assert not {"\u202e", "\x07"} & set(written)
    assert tomllib.loads(written)["loads"][0]["name"] == "Pu\u202emp\x07"
    names = [row.name for row in plan.loads]
    assert not {"\u202e", "\x07"} & set("".join(names))
    # They pair by their place, not by a name that was cleaned.
    assert len(names) == 2
    assert names[1] == "Pump"


def test_s28_a_raw_character_of_the_file_is_escaped_where_it_is_written_again() -> None:
    """S28: TOML forbids raw control characters, not those that turn the direction of writing."""
    text = ODD.replace("\\u202E", "\u202e")
    site = parse(text.encode(), "site.toml")
    written = with_plan(site.text, site.document, plan_text(text).plan)
    assert "\u202e" not in written
    assert tomllib.loads(written)["loads"][0]["name"] == "Pu\u202emp\x07"


def test_s29_quantities_include_the_spares_and_terminators_come_in_pieces() -> None:
    """S29: two links and a spare one; of one kind two terminators and as many spare, of two kinds one and one."""
    bills = {ports: planned({"unit.bus.ports": list(ports)}).plan.bill for ports in (("socket", "socket"), ("plug", "socket"))}
    link = next(row for row in bills["plug", "socket"] if row.item == "comms link")
    assert (link.quantity, link.spare) == (3, 1)
    told = {ports: [(row.quantity, row.spare) for row in bill if row.item == "terminator"] for ports, bill in bills.items()}
    assert told == {("socket", "socket"): [(4, 2)], ("plug", "socket"): [(2, 1), (2, 1)]}


def test_s29_each_cut_has_a_line_with_size_colour_and_length_beside_the_reel() -> None:
    """S29"""
    bill = planned(ONE).plan.bill
    length, size = circuit(ONE, "battery L1-1").length, circuit(ONE, "battery L1-1").conductor
    cuts = [row for row in bill if row.item == "conductor cut" and row.goes_to == ["battery L1-1"]]
    # Plus and minus: the way of the circuit, and two pieces of 0.3 m, from post to fuse holder and on to the isolator.
    assert sorted((row.quantity, row.specification.rpartition(", ")[2]) for row in cuts) == sorted([(1, length), (2, "0.3 m")] * 2)
    assert all(row.specification.startswith(str(size)) for row in cuts)
    assert len({row.specification.split(", ")[-2] for row in cuts}) == 2  # two colours
    reels = [row for row in bill if row.item in ("reel", "cable by the metre")]
    assert any(f"{length} for battery L1-1" in row.goes_to for row in reels)


def test_s26_lead_acid_alone_is_ventilated() -> None:
    """S26, T16: lithium does not gas."""
    assert "ventilate" in codes(ONE | LEAD)
    assert "ventilate" not in codes(ONE)
