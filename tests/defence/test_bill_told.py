"""What the bill says of a thing whose size or length is known, known in part, or not known: nobody orders by a guess, or by a blank.

Links, data leads and their lengths follow the wall of `twins.hung`: units 1 m apart, 0.5 m more inside the gear.
"""

from __future__ import annotations

import functools
import sys

import pytest

from engine.planner import Planned
from engine.solvers.reels import packed
from engine.stages.bill.reels import reels
from tests.defence.twins import ONE, SUN, Changes, hung, planned
from tests.engine.test_reels_stage import cuts

# A wall in two: nothing leads from L1-1 to the others.
PARTED = hung({"what": "obstacle", "x": "1.4 m", "y": "1.2 m", "width": "0.1 m", "height": "2.4 m"})
POWERLESS: Changes = ONE | {"unit.real_power": None, "unit.apparent_power": None}


def bought(plan: Planned, item: str, to: str = "") -> list[str]:
    """What is specified on the lines of an item, of those that go to a place."""
    return [line.specification for line in plan.parts.bill.lines if line.item == item and any(to in place for place in line.goes_to)]


@pytest.mark.parametrize(("site", "told"), [
    (hung(), "1.5 m"),
    (hung() | {"unit.bus.link_lengths": None}, "1.5 m or longer"),
    (hung() | {"unit.bus.link_lengths": ["1 m"]}, "1.5 m or longer"),
    (PARTED, "length to be measured"),
])
def test_a_link_is_ordered_by_its_length_as_far_as_that_is_known(site: Changes, told: str) -> None:
    assert bought(planned(site), "comms link", "L1-1 > L2-1") == [f"{told}, plug to socket"]


@pytest.mark.parametrize(("site", "told", "to"), [
    # From the bank's centre at 1.9 m, 0.4 m to the lead at 0.9 m, 1.5 m.
    (hung(), "3.2 m or longer", "B1 > L1-1"),
    (PARTED, "length to be measured", "B1 > L1-1"),
    # A link to no unit of this set leads nowhere.
    (hung() | {"storage.links": [{"bank": "B1", "unit": "L3-9"}]}, "length to be measured", "B1"),
])
def test_a_data_lead_is_ordered_by_its_length_as_far_as_that_is_known(site: Changes, told: str, to: str) -> None:
    """T15."""
    [line] = [line for line in planned(site).parts.bill.lines if line.item == "data lead"]
    assert (line.specification, line.goes_to) == (f"the battery maker's, {told}", (to,))


@pytest.mark.parametrize(("isc", "told"), [("11.5 A", "10 mm2 copper, cross-linked H1Z2Z2-K 90 degC, class 5, 1.5 kV DC"), (None, "a size not computed")])
def test_a_pair_for_each_string_is_as_thick_as_that_of_them_all(isc: str | None, told: str) -> None:
    """S11: three strings on an input."""
    assert bought(planned(ONE | SUN | {"solar.parallel": 3, "solar.isc": isc}), "string pair") == [f"plus and minus of one string to where strings meet, {told}, length by the roof: measure"]


@pytest.mark.parametrize(("item", "to", "known", "unknown"), [
    ("isolator", "battery", "DC, 2 poles, not polarised, 160 A or more, 60 V or more", "DC, 2 poles, not polarised, rating not computed, 60 V or more"),
    ("residual-current device", "load", "2 poles, rated 40 A or more", "2 poles, rating not computed"),
    ("fuse holder", "battery", "for DC fuse NH gG (CONFIRM), 160 A", "for DC fuse NH gG (CONFIRM), rating not computed"),
    ("conductor cut", "battery", "120 mm2 copper, PVC 70 degC", "size not computed, copper, PVC 70 degC"),
    ("conductor cut", "earth common", "10 mm2 copper, PVC 70 degC", "size not computed, green-and-yellow"),
    ("busbar", "earth bar", "PE, 3 conductors, section of 10 mm2 or more", "PE, 3 conductors, section of the largest of them (not computed)"),
    ("gland", "L1-1", "for one battery conductor of 120 mm2", "for one battery conductor of a size not computed"),
])
def test_what_hangs_on_a_units_power_says_so_where_nobody_answered_it(item: str, to: str, known: str, unknown: str) -> None:
    """5 kW / (0.93 x 46 V) x 1.2247 = 143.1 A: a fuse of 160 A."""
    assert bought(planned(ONE), item, to)[0].startswith(known)
    assert bought(planned(POWERLESS), item, to)[0].startswith(unknown)


def test_an_incomplete_bill_names_up_to_four_places_and_no_more_than_there_are() -> None:
    texts = [next(finding.text for finding in planned(site).findings if finding.code == "bill-incomplete") for site in (POWERLESS, POWERLESS | {"incoming.kind": "none"})]
    assert texts == [
        "The bill lacks conductor sizes for battery L1-1, earth L1-1, earth common, earth load-board and more: those lines say so and cannot be ordered yet.",
        "The bill lacks conductor sizes for battery L1-1, earth L1-1, earth common, load L1-1: those lines say so and cannot be ordered yet.",
    ]


@pytest.mark.parametrize(("site", "place"), [
    (ONE, "battery L1-1"),
    (ONE | {"storage.earthed": "minus"}, "battery L1-1, plus pole"),
    (ONE | SUN | {"solar.parallel": 3}, "solar L1-1, each string"),
])
def test_a_fuse_goes_into_the_pole_or_the_string_that_it_is_of(site: Changes, place: str) -> None:
    """S11, S30."""
    assert place in [place for line in planned(site).parts.bill.lines if line.item in ("fuse", "string fuse") for place in line.goes_to]


def test_reels_that_were_not_searched_to_the_end_say_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """15, 37 and 48 m fit a reel of 100 m, 45 m one of 50 m: 150 m, no less than the 145 m there are. First fit puts 45 and 48 m on one, and takes 200 m."""
    some = cuts("16 mm2", "red", 15.0, 37.0, 45.0, 48.0)
    told = "145 m by the metre, 0 % over the cuts and up to a whole metre: on whole reels it would be"
    assert {reel.proof for reel in reels(some, 0.0).rows} == {f"{told} 150 m"}
    monkeypatch.setattr(sys.modules[reels.__module__], "packed", functools.partial(packed, nodes=0))
    assert {reel.proof for reel in reels(some, 0.0).rows} == {f"{told} 200 m, at the least 150 m"}
