"""What each unit is told: known values only, the maker's words beside ours."""

import pytest

from engine.site.unit import SETTINGS
from tests.engine.paper_sites import NAMES, planned, sample


def told(plan, tag):
    return {setting.setting: setting for setting in plan.parts.settings.of[tag]}


def test_each_unit_gets_its_own_phase_and_role_and_the_storage_mode_of_the_wiring():
    plan = planned()
    assert {tag: (told(plan, tag)["phase"].value, told(plan, tag)["role"].value) for tag in plan.parts.units.tags} == {
        "L1-1": ("L1", "lead"),
        "L2-1": ("L2", "follower"),
        "L3-1": ("L3", "follower"),
    }
    assert {told(plan, tag)["storage_mode"].value for tag in plan.parts.units.tags} == {"common"}


def test_the_makers_words_stand_beside_ours():
    mode = told(planned(), "L2-1")["storage_mode"]
    assert (mode.label, mode.value_label) == ("Battery wiring", "shared")


def test_storage_mode_is_to_be_confirmed_until_the_cables_are_traced():
    assert not told(planned(), "L1-1")["storage_mode"].confirm
    untraced = planned(without=("storage.wired",))
    assert all(told(untraced, tag)["storage_mode"].confirm for tag in untraced.parts.units.tags)
    assert [row.confirm for row in untraced.plan.units[0].settings if row.setting == "storage_mode"] == [True]


def test_several_banks_are_told_apart():
    wired = {"storage.connection": "bank-per-unit", "storage.wired": {"L1-1": "B1", "L2-1": "B2", "L3-1": "B3"}}
    mode = told(planned(wired), "L3-1")["storage_mode"]
    assert (mode.value, mode.value_label) == ("separate", "own")


@pytest.mark.parametrize(
    ("left_out", "setting"),
    [
        (("storage.module.charge_current",), "charge_limit"),
        (("storage.module.float", "storage.chemistry"), "float"),
        (("storage.module.absorption", "storage.chemistry"), "absorption"),
        (("storage.chemistry",), "chemistry"),
        (("incoming.breaker",), "incoming_limit"),
    ],
)
def test_what_is_not_known_is_left_out_and_never_invented(left_out, setting):
    plan = planned(without=left_out)
    assert all(setting not in told(plan, tag) for tag in plan.parts.units.tags)
    assert setting in plan.parts.settings.decides


def test_without_a_lead_nobody_is_told_to_follow():
    plan = planned({"set.lead": "L3-9"})
    assert plan.parts.units.tags
    assert all("role" not in told(plan, tag) for tag in plan.parts.units.tags)


def test_a_unit_without_a_bank_is_given_no_storage_mode():
    plan = planned({"storage.wired": {"L1-1": "B1", "L2-1": "B1"}})
    assert "storage_mode" not in told(plan, "L3-1")
    assert told(plan, "L1-1")["storage_mode"].value == "common"


def test_settings_that_do_not_apply_are_not_asked_for():
    lithium = planned({"incoming.kind": "none"})
    assert not {"incoming_limit", "temperature_slope"} & set(lithium.parts.settings.decides)
    lead = planned({"storage.chemistry": "agm", "storage.managed": False})
    assert "temperature_slope" in lead.parts.settings.decides


def test_assumed_values_are_marked():
    frequency = told(planned(without=("output.frequency",)), "L1-1")["output_frequency"]
    assert (frequency.value, frequency.assumed) == ("50 Hz", True)
    assert told(planned(), "L1-1")["output_frequency"].assumed is None


def test_a_voltage_that_only_the_chemistry_tells_is_marked_as_assumed():
    low = told(planned(without=("storage.module.float",)), "L1-1")["float"]
    assert low.assumed
    assert "check it against the battery's sheet" in low.why
    assert told(planned(), "L1-1")["float"].assumed is None


def test_the_charge_limits_of_a_banks_units_stay_within_the_bank():
    """T14: a unit's limit is the bank's over its units, whole amperes, rounded down."""
    for name in NAMES:
        plan = sample(name)
        for bank in plan.parts.storage.banks:
            units = next(b.units for b in plan.parts.banks.banks if b.name == bank.name)
            limits = [told(plan, tag)["charge_limit"].value for tag in units]
            assert bank.charge_limit is not None
            assert sum(float(limit.removesuffix(" A")) for limit in limits) <= bank.charge_limit.value


def test_missing_words_for_the_storage_mode_are_told():
    codes = [finding.code for finding in planned(without=("unit.labels",)).findings]
    assert "storage-mode-words-missing" in codes
    assert "storage-mode-words-missing" not in [finding.code for finding in planned().findings]


def test_every_setting_has_someone_who_decides():
    """A lead-acid bank beside a supply asks for every setting there is."""
    lead = planned({"storage.chemistry": "flooded"})
    assert set(lead.parts.settings.decides) == set(SETTINGS)
    assert all(lead.parts.settings.decides.values())


def test_only_the_slope_is_told_with_the_voltages_it_makes():
    """Lead-acid cells are charged lower in a warm room; absorption and float are set as they are at 25 degC."""
    lead = {"storage.chemistry": "agm", "storage.module.cells": 24, "storage.module.voltage": "48 V", "storage.module.absorption": "57.6 V", "site.ambient_max": "35 degC"}
    whys = {name: setting.why for name, setting in told(planned(lead), "L1-1").items()}
    assert [name for name, why in whys.items() if "in the warmest" in why] == ["temperature_slope"]
    assert whys["absorption"] == "the same in every unit of B1"


@pytest.mark.parametrize(("coldest", "told"), [
    # 24 cells, -3 mV/K: 57.6 V at 25 degC, 20 K colder 59.04 V, 10 K warmer 56.88 V.
    ("5 degC", "so it is charged to 59.04 V in the coldest room, 56.88 V in the warmest"),
    (None, "so it is charged to 56.88 V in the warmest"),
])
def test_how_cold_the_room_gets_is_told_only_where_it_was_answered(coldest, told):
    lead = {"storage.chemistry": "agm", "storage.module.cells": 24, "storage.module.voltage": "48 V", "storage.module.absorption": "57.6 V", "site.ambient_max": "35 degC"}
    plan = planned(lead | {"site.ambient_min": coldest})
    [slope] = [setting for setting in plan.parts.settings.of["L1-1"] if setting.setting == "temperature_slope"]
    assert slope.why.endswith(f"; {told}")
