"""The owner's page: what it carries, what is normal, whom to call, stop and start, what goes on where something is lost."""

from __future__ import annotations

import pytest

from engine.planner import Planned
from engine.sheets.folder import A4, LETTER
from engine.sheets.folder.blocks import Chapter
from engine.sheets.folder.losses import losses
from engine.sheets.folder.owner import owner
from tests.engine.chapter_words import pages, rows_of, site, text
from tests.engine.paper_sites import NAMES, planned, sample, set_of


def chapter(planned: Planned) -> Chapter:
    (made,) = owner(planned, A4)
    return made


def lost(planned: Planned) -> dict[str, str]:
    return {loss.what: loss.then for loss in losses(planned)}


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("name", [*NAMES, "solar", "acid", "island", "one unit"])
def test_two_pages_at_most(name: str, paper: object) -> None:
    assert pages(chapter(sample(name) if name in NAMES else site(name)), paper) <= 2


def test_none_for_a_stopped_plan() -> None:
    assert owner(site("stopped"), A4) == owner(site("nothing known"), A4) == ()


def test_what_it_carries_is_what_the_plan_says() -> None:
    plan = sample("ridge-lodge")
    rows = {row[0]: row for row in rows_of(chapter(plan))}
    for phase in plan.plan.phases:
        assert rows[phase.phase][1:5] == (str(phase.units), phase.apparent_power, phase.used, phase.left)
    assert rows["L2"][5] == "-70.96 VA: too little"
    for bank in plan.plan.banks:
        assert rows[bank.name][2:] == (bank.energy, bank.usable_energy, bank.autonomy, bank.autonomy_full_load)
    assert plan.plan.day
    assert plan.plan.day in text(chapter(plan))


def test_without_loads_it_says_so_instead_of_nought() -> None:
    rows = {row[0]: row for row in rows_of(chapter(site("lithium")))}
    assert rows["L1"][2:] == ("none told", "-", "5 kVA", "none")
    assert "How the day goes is not reckoned" in text(chapter(site("lithium")))


def test_stop_ends_before_the_battery_and_says_why() -> None:
    for name in NAMES:
        made = text(chapter(sample(name)))
        stop = next(line for line in made.splitlines() if line.startswith("Stop: "))
        assert "Battery isolators stay closed: data cables must be out before one is opened" in stop
        assert "open the battery" not in stop
        assert "1 Loads: open the load isolator (load common)." in stop


@pytest.mark.parametrize(
    ("name", "says"),
    [("lithium", "Let the utility charge"), ("island", "Units off until the sun is well up"), ("dark island", "Nothing here can charge it: the installer comes with a charger.")],
)
def test_after_a_dead_stop_it_is_charged_by_what_is_there(name: str, says: str) -> None:
    line = next(line for line in text(chapter(site(name))).splitlines() if line.startswith("After a dead stop"))
    assert says in line
    assert "Every load off" in line
    assert "Switch the bank on" in line


def test_a_generator_is_told_of_where_there_is_one() -> None:
    assert "The generator is started by ____" in text(chapter(sample("ridge-lodge")))
    assert "Start the generator" in text(chapter(sample("ridge-lodge")))
    assert "generator service | ____" in text(chapter(sample("ferry-house")))
    assert "Start the generator" not in text(chapter(sample("alder-farm")))


def test_a_lost_neutral_is_told_of_where_there_are_several_phases() -> None:
    assert "the neutral is lost" in text(chapter(sample("copper-creek")))
    assert "the neutral is lost" not in text(chapter(sample("ferry-house")))


# --- what goes on ---


def test_lead_and_phase_as_answered_or_assumed() -> None:
    assert lost(sample("ridge-lodge"))["the lead, L1-1"] == "Everything stops."
    assert lost(site("lithium"))["the lead, L1-1"] == "Everything stops (assumed: the manual says)."
    assert lost(planned({"set.lead_loss": "carries on"}))["the lead, L1-1"] == "The others carry on."
    assert lost(sample("ridge-lodge"))["all units of a phase"].startswith("That phase is dark, the others go on; three-phase motors")
    assert lost(site("lithium"))["the only unit of a phase"] == "Everything stops, the other phases too (assumed: the manual says)."
    mixed = planned({"set.per_phase": [2, 1, 1], "set.count": 4, "storage.wired": {"L1-1": "B1", "L1-2": "B1", "L2-1": "B1", "L3-1": "B1"}})
    assert "the only unit of L2 or L3" in lost(mixed)


def test_a_follower_lost_tells_what_each_phase_then_lacks() -> None:
    plan = sample("ridge-lodge")
    assert lost(plan)["one follower"] == "Where the set goes on without it (the manual says): L1 has 11.12 VA over; L2 -70.96 VA, too little; L3 -82.23 VA, too little."
    assert "one follower" not in lost(site("lithium"))


def test_a_bank_takes_its_units_along() -> None:
    ridge = lost(sample("ridge-lodge"))
    assert ridge["bank B1"] == "Its units stop: as for all units of a phase and for the lead."
    assert ridge["bank B2 or B3"] == "Its units stop: as for all units of a phase."
    ferry = lost(sample("ferry-house"))
    assert ferry["bank B1"] == "Its units stop: as for the lead."
    assert ferry["bank B2"] == "Its units stop: as for one follower."
    assert lost(sample("alder-farm"))["the bank"].startswith("Everything stops")


def test_several_followers_on_a_lost_bank_are_not_told_as_one() -> None:
    tags = [f"L1-{n}" for n in range(1, 5)]
    wired = dict.fromkeys(tags[:2], "B1") | dict.fromkeys(tags[2:], "B2")
    links = [{"bank": "B1", "unit": "L1-1"}, {"bank": "B2", "unit": "L1-3"}]
    plan = planned(set_of(4) | {"storage.wired": wired, "storage.links": links}, without=("storage.connection",))
    assert lost(plan)["bank B2"] == "Its units stop: as for one follower, and more than one at once is not reckoned."


def test_one_unit_has_no_lead_and_no_phase_to_lose() -> None:
    found = lost(site("one unit"))
    assert found["the unit"].startswith("Everything is off.")
    assert not any("lead" in what or "phase" in what or "follower" in what for what in found)


def test_what_charges_is_opened_where_a_banks_data_is_lost() -> None:
    do = {loss.what: loss.do for loss in losses(site("solar"))}
    assert do["a bank's data cable"] == "Open the incoming breaker and the solar isolators; call."
    assert {loss.what: loss.do for loss in losses(site("dark island"))}["a bank's data cable"] == "Call."


def test_never_is_never_without_a_reason() -> None:
    for name in NAMES:
        rows = rows_of(chapter(sample(name)))
        never = [row for row in rows if len(row) == 2]
        assert len(never) >= 7
        assert all(all(row) for row in never)
        told = {row[0] for row in never}
        assert {"add or exchange a unit, battery or large load", "open a battery isolator with data cables in"} <= told
    assert "smoke, spark, lay metal on the bank" in text(chapter(sample("ferry-house")))
    assert "part a solar connector by day" not in text(chapter(sample("ferry-house")))
