"""T12, T13, T15, T18, T21: units, banks, storage modes, and the findings that stop a plan. One failing and one passing case a rule."""

from __future__ import annotations

import pytest

from engine.findings import Level

UNIT = '[unit]\nmax_units = 12\nreal_power = "5 kW"\napparent_power = "5 kVA"\n'
THREE = '[output]\narrangement = "three-phase"\n'
COMMON = '[storage]\nconnection = "common-bank"\n'


def codes(planned, level=Level.STOP):
    return {finding.code for finding in planned.findings if finding.level is level}


def test_three_units_are_named_and_the_first_leads(planned):
    plan = planned(THREE + UNIT + "[set]\ncount = 3\n" + COMMON).plan
    assert [(u.tag, u.phase, u.role) for u in plan.units] == [("L1-1", "L1", "lead"), ("L2-1", "L2", "follower"), ("L3-1", "L3", "follower")]


@pytest.mark.parametrize(("setup", "code"), [
    ("count = 2\n", "phase-without-unit"),
    ("count = 13\n", "over-max-units"),
    ("count = 3\nper_phase = [2, 1, 1]\n", "count-contradicts-per-phase"),
    ("per_phase = [2, 1]\n", "per-phase-contradicts-arrangement"),
    ("count = 3\nlead = 'L2-2'\n", "lead-is-no-unit"),
])
def test_an_impossible_set_stops_with_its_remedy(planned, setup, code):
    found = planned(THREE + UNIT + "[set]\n" + setup + COMMON)
    [finding] = [f for f in found.findings if f.code == code]
    assert finding.level is Level.STOP
    assert finding.remedy
    assert finding.about.startswith("set.")
    assert found.plan.standing == "stopped"


@pytest.mark.parametrize(("connection", "mode", "names"), [
    ("common-bank", "common", ["B1", "B1", "B1", "B1"]),
    ("bank-per-phase", "separate", ["B1", "B1", "B2", "B3"]),
    ("bank-per-unit", "separate", ["B1", "B2", "B3", "B4"]),
])
def test_the_storage_mode_follows_the_connection(planned, connection, mode, names):
    found = planned(THREE + UNIT + f'[set]\nper_phase = [2, 1, 1]\n[storage]\nconnection = "{connection}"\n')
    assert [u.bank for u in found.plan.units] == names
    assert {u.storage_mode for u in found.plan.units} == {mode}
    assert "bank-not-traced" in codes(found, Level.CAUTION)


def test_one_unit_with_a_bank_of_its_own_is_common():
    """All units on one bank: with a single unit there is only one."""
    from tests.conftest import plan_text

    found = plan_text('[output]\narrangement = "single-phase"\n' + UNIT + '[set]\ncount = 1\n[storage]\nconnection = "bank-per-unit"\n')
    assert found.plan.units[0].storage_mode == "common"


WIRED = THREE + UNIT + "[set]\ncount = 3\n" + COMMON


@pytest.mark.parametrize(("wired", "code"), [
    ('L1-1 = "B1"\nL2-1 = "B1"\n', "unit-without-bank"),
    ('L1-1 = "B1"\nL2-1 = "B1"\nL3-1 = "B2"\n', "wiring-contradicts-connection"),
    ('L1-1 = "B1"\nL2-1 = "B1"\nL3-1 = "B1"\nL1-2 = "B1"\n', "wired-unknown-unit"),
])
def test_what_is_wired_wins_and_contradictions_stop(planned, wired, code):
    assert code in codes(planned(WIRED + "[storage.wired]\n" + wired))


def test_wiring_that_agrees_under_other_names_passes(planned):
    found = planned(WIRED.replace("common-bank", "bank-per-phase") + '[storage.wired]\nL1-1 = "B3"\nL2-1 = "B1"\nL3-1 = "B2"\n')
    assert not codes(found) & {"unit-without-bank", "wiring-contradicts-connection", "wired-unknown-unit"}
    assert [u.bank for u in found.plan.units] == ["B3", "B1", "B2"]
    assert "bank-not-traced" not in codes(found, Level.CAUTION)


def test_no_connection_and_nothing_wired_stops(planned):
    assert "connection-unanswered" in codes(planned(THREE + UNIT + "[set]\ncount = 3\n"))


MANAGED = WIRED + 'chemistry = "lfp"\nmanaged = true\n'


@pytest.mark.parametrize(("links", "code"), [
    ('[[storage.links]]\nbank = "B1"\nunit = "L1-1"\n[[storage.links]]\nbank = "B1"\nunit = "L2-1"\n', "bank-with-two-links"),
    ('[[storage.links]]\nbank = "B1"\nunit = "L1-2"\n', "link-to-other-bank"),
    ('[[storage.links]]\nbank = "B1"\nunit = "L1-1"\n[[storage.links]]\nbank = "B7"\nunit = "L1-1"\n', "link-of-unknown-bank"),
])
def test_a_managed_bank_has_exactly_one_link_to_a_unit_of_its_own(planned, links, code):
    assert code in codes(planned(MANAGED + links))


def test_a_managed_bank_with_its_link_passes_and_unmanaged_lithium_stops(planned):
    good = planned(MANAGED + '[[storage.links]]\nbank = "B1"\nunit = "L2-1"\n')
    assert not codes(good) & {"bank-without-link", "bank-with-two-links", "link-to-other-bank", "lithium-unmanaged"}
    assert "lithium-unmanaged" in codes(planned(WIRED + 'chemistry = "nmc"\n'))


def test_the_bond_is_never_assumed(planned):
    assert "island-bond-unanswered" in codes(planned(WIRED))
    assert "island-bond-unanswered" not in codes(planned(WIRED + '[earthing]\nisland_bond = "fixed link"\n'))


def test_one_phase_on_one_unit_hangs_two_hang(planned):
    [one] = [f for f in planned(THREE + UNIT + "[set]\nper_phase = [2, 1, 2]\n" + COMMON).findings if f.code == "phase-loss"]
    assert one.text.startswith("L2 hangs on one unit:")
    [two] = [f for f in planned(THREE + UNIT + "[set]\nper_phase = [2, 1, 1]\n" + COMMON).findings if f.code == "phase-loss"]
    assert two.text.startswith("L2, L3 hang on one unit each:")


def test_nobody_is_sent_to_a_utility_that_is_not_there(planned):
    asked = {kind: [f.text + f.remedy for f in planned(WIRED + f'[incoming]\nkind = "{kind}"\n').findings if f.code == "earthing-system-unanswered"] for kind in ("utility", "generator", "none")}
    assert ["utility" in text for [text] in asked.values()] == [True, False, False]


def test_losing_lead_or_phase_is_told(planned):
    assert {"lead-loss", "phase-loss"} <= codes(planned(WIRED), Level.CAUTION)
    carries = planned(WIRED.replace("count = 3\n", 'count = 3\nlead_loss = "carries on"\n'))
    assert "lead-loss" not in codes(carries, Level.CAUTION)


def test_a_unit_without_a_bank_is_one_finding_not_two(planned):
    """T13: the units that are wired are wired as meant; that one is not wired is told for itself."""
    told = codes(planned(THREE + UNIT + "[set]\ncount = 3\n" + COMMON + '[storage.wired]\nL1-1 = "B1"\nL2-1 = "B1"\n'))
    assert "unit-without-bank" in told
    assert "wiring-contradicts-connection" not in told


@pytest.mark.parametrize(("volts", "told"), [*((volts, None) for volts in (100, 110, 115, 120, 127, 220, 230, 240, 277)), (138, "voltage-unusual"), (332, "voltage-unusual"), (200, 115), (480, 277)])
def test_a_voltage_is_one_to_neutral_or_between_lines_or_unusual(planned, volts, told):
    """Common supplies: 200 V between lines is 115 V to neutral, 480 V is 277 V; 138 V and 332 V are near neither."""
    found = [finding for finding in planned(THREE + f'voltage = "{volts} V"\n' + UNIT + "[set]\ncount = 3\n" + COMMON).findings if finding.code.startswith("voltage-")]
    assert [finding.limit or finding.code for finding in found if finding.about == "output.voltage"] == ([told] if told else [])
