"""Diagnosis: causes worked by hand, mistakes that are there and must be found, and readings that nobody can understand."""

from __future__ import annotations

import math
from itertools import combinations
from random import Random

import pytest

from engine.model.acts import Instrument, Reading
from engine.model.scenario import SCENARIOS
from engine.proof.course import Course
from engine.proof.felt import Felt
from engine.proof.find import Diagnosis, find, hitting_sets
from engine.proof.found_text import find_text
from engine.proof.mistakes import omissions, singles
from engine.proof.observed import Misread, observed
from tests.engine.paper_sites import planned, sample


@pytest.fixture(scope="module")
def farm() -> Course:
    """Three units on one bank of six strings, one on each phase."""
    return Course(sample("alder-farm"))


def found(course: Course, *readings: str) -> Diagnosis:
    return find(course, [observed(course, given) for given in readings])


def names(of: Diagnosis) -> list[str]:
    """The causes that no earlier reading speaks against."""
    return [" and ".join(m.name for m in cause.mistakes) for cause in of.causes if cause.doubted is None]


# --- worked by hand ---


def test_one_terminator_reads_120_ohm_and_there_is_nothing_to_find(farm: Course) -> None:
    for given in ("chain-resistance@L1-1=120ohm", "chain-resistance@L3-1=109 ohm", "chain-resistance@L3-1=right"):
        assert found(farm, given).causes == ()
        assert "nothing to explain" in find_text(sample("alder-farm"), [given])


def test_60_ohm_is_one_terminator_too_many(farm: Course) -> None:
    """Two of 120 ohm side by side. At L3-1 it can only be another one between; at L1-1 only that of L1-1 left in: L3-1 read right before it."""
    assert names(found(farm, "chain-resistance@L3-1=60ohm")) == ["terminator at L2-1: one more in between"]
    assert names(found(farm, "chain-resistance@L1-1=60ohm")) == ["left out: unplug terminator L1-1"]


def test_an_open_chain_is_a_link_or_the_terminator_and_the_other_end_tells_which(farm: Course) -> None:
    """Either link out, or either of its wires; or the terminator at the far end, L1-1. There it reads 120 ohm in the first six cases.

    Entropy: seven alike, log2 7 = 2.807; after it 6/7 log2 6 + 1/7 log2 1 = 2.216.
    """
    diagnosis = found(farm, "chain-resistance@L3-1=open")
    links = ("link L1-1 to L2-1", "link L2-1 to L3-1")
    assert names(diagnosis) == [
        *(f"{link}{what}" for link in links for what in (": left out", " A: one wire broken", " B: one wire broken")),
        "terminator L1-1: left out",
    ]
    following = diagnosis.following
    assert following is not None
    reading = following.event.item
    assert isinstance(reading, Reading)
    assert (reading.instrument, reading.at) == (Instrument.OHM, ("L1-1 data A", "L1-1 data B"))
    assert {result.causes for result in following.results} == {(0, 1, 2, 3, 4, 5), (6,)}
    assert (following.before, following.after) == pytest.approx((math.log2(7), 6 / 7 * math.log2(6)))
    assert [event.step.id for event in diagnosis.again[0]] == ["links@chain", "chain-resistance@L3-1"]


def test_no_ohm_is_a_pair_joined_to_itself(farm: Course) -> None:
    assert names(found(farm, "chain-resistance@L3-1=0.2 ohm")) == [f"link {link}: its two wires joined" for link in ("L1-1 to L2-1", "L2-1 to L3-1")]


def test_a_bank_that_reads_minus_is_reversed_ahead_of_its_isolator(farm: Course) -> None:
    """Of six strings side by side one reversed still leaves plus: 5/6 - 1/6 of the voltage, 34 V of 51 V."""
    assert names(found(farm, "bank-polarity@B1:2=-51V")) == ["battery B1 ahead of its isolator: plus and minus exchanged"]
    # Strings are held against the first one in a step that nobody goes on from: a reversed one is found there.
    at_34 = found(farm, "bank-polarity@B1:2=34V")
    reversed_ = {"B1 string 1 module 1: reversed in its string", *(f"B1 string {number}: reversed" for number in range(1, 7))}
    assert names(at_34) == []
    assert {cause.mistakes[0].name for cause in at_34.causes} == reversed_
    assert {cause.doubted.step.id for cause in at_34.causes if cause.doubted} == {"strings-alike@B1"}


def test_a_unit_that_does_not_charge_has_no_way_to_its_battery(farm: Course) -> None:
    """Four ends, each off; both exchanged at an end, where the capacitors stay at a diode's drop; joined; one of them on another unit."""
    causes = names(found(farm, "pre-charge@L1-1=0V/52V"))
    ends = [f"battery L1-1 {pole} at {spot}: end left off" for pole in ("plus", "minus") for spot in ("bar B1", "L1-1")]
    assert set(ends) < set(causes)
    assert {f"battery L1-1 at {spot}: plus and minus {how}" for spot in ("bar B1", "L1-1") for how in ("exchanged", "joined")} < set(causes)
    assert {"left out: land battery L1-1", "left out: plug pre-charge L1-1"} < set(causes)
    assert all("L1-1" in name for name in causes)
    # The bank reads what it should before it, so nothing between bank and bar explains it.
    assert not any("battery B1" in name for name in causes)
    assert names(found(farm, "pre-charge@L1-1=30V/52V")) == []


def test_a_load_line_that_reaches_no_bar(farm: Course) -> None:
    causes = names(found(farm, "load-continuity@L1-1:1=open"))
    line = [f"load L1-1 L at {spot}: end left off" for spot in ("L1-1", "load board")]
    swapped = [f"load L1-1 at {spot}: line and neutral exchanged" for spot in ("L1-1", "load board")]
    other = [f"load L1-1 L and load {tag} L at load board: exchanged with another unit's" for tag in ("L2-1", "L3-1")]
    incoming = [f"L1-1 {what} on its incoming side: landed in another place" for what in ("line and neutral", "line")]
    other += [f"load L1-1 L on load bar {line}: landed in another place" for line in ("L2", "L3")]
    acts = ["left out: land load L1-1", "left out: close load L1-1 isolator"]
    assert sorted(causes) == sorted([*line, *swapped, *other, *incoming, "load L1-1 L contact: one pole does not close", *acts])
    assert "L1-1 neutral on its incoming side: landed in another place" not in causes


def test_a_reading_that_was_right_takes_causes_away(farm: Course) -> None:
    """With a good neutral it is not the pair that is off, nor the two exchanged."""
    causes = names(found(farm, "load-continuity@L1-1:1=open", "load-continuity@L1-1:7=0.1ohm"))
    assert "left out: land load L1-1" not in causes
    assert "load L1-1 at L1-1: line and neutral exchanged" not in causes
    assert "load L1-1 L at L1-1: end left off" in causes


def test_lines_of_two_units_exchanged_explain_two_readings_alone(farm: Course) -> None:
    assert names(found(farm, "load-continuity@L1-1:1=open", "load-continuity@L2-1:2=open")) == [
        "load L1-1 L and load L2-1 L at load board: exchanged with another unit's"
    ]


def test_two_faults_are_told_as_two_and_never_with_a_third_that_is_not_needed(farm: Course) -> None:
    """A line of one unit and a neutral of another: neither mistake of a pair moves both readings, and each moves one."""
    given = ("load-continuity@L2-1:2=open", "load-continuity@L3-1:7=open")
    events = [observed(farm, one).events[0] for one in given]
    diagnosis = found(farm, *given)
    assert names(diagnosis)
    for cause in diagnosis.causes:
        moved = [[any(not farm.site(m).passes(e, scenario) for scenario in SCENARIOS) for e in events] for m in cause.mistakes]
        assert sorted(moved) == [[False, True], [True, False]]
    assert "load L2-1 L at L2-1: end left off and load L3-1 N at L3-1: end left off" in names(diagnosis)


def test_a_rolled_phase_is_blamed_on_a_step_that_was_not_done_as_written() -> None:
    """230 V times root 3 between like phases is 398 V. The display would have shown it, so nothing explains it while that was right."""
    course = Course(planned({"set.count": 4, "set.per_phase": [2, 1, 1], "storage.wired": dict.fromkeys(("L1-1", "L2-1", "L3-1", "L1-2"), "B1")}))
    diagnosis = found(course, f"unit-voltage@L1-2:2={230 * math.sqrt(3):.0f}V")
    assert all(cause.doubted is not None for cause in diagnosis.causes)
    assert {(cause.mistakes[0].name.split(":")[0], cause.doubted.step.id) for cause in diagnosis.causes if cause.doubted} == {
        (f"{tag} phase", f"{step}@{tag}") for tag in ("L1-1", "L1-2") for step in ("read-back", "display")
    }
    assert diagnosis.following is not None
    assert diagnosis.following.event.item.at[1] == "phase"  # type: ignore[union-attr]
    assert diagnosis.following.after == pytest.approx(math.log2(3))  # three of the one unit, three of the other


def test_what_a_display_shows(farm: Course) -> None:
    for words in ("L2", "phase L2", "right", "yes"):
        assert observed(farm, f"display@L2-1:2={words}").right
    for words in ("L3", "phase L1", "wrong", "no"):
        assert not observed(farm, f"display@L2-1:2={words}").right
    for words, right in (("3", True), ("3 of 3 units", True), ("2 of 3", False), ("2", False), ("13", False)):
        assert observed(farm, f"switch-on@set={words}").right is right
    assert names(found(farm, "display@L2-1:2=L3")) == ["L2-1 phase: not kept when switched off"]


# --- what must hold ---


@pytest.mark.parametrize("seed", range(12))
def test_a_mistake_that_is_there_is_found(farm: Course, seed: int) -> None:
    """What the first reading shows that does not pass with a mistake, whatever the gear is like inside: the mistake is among its causes."""
    dice = Random(seed)
    table = singles(farm)
    scenario = dice.choice(SCENARIOS)
    while True:
        mistake = dice.choice(table)
        site = farm.site(mistake)
        event = next((e for e in farm.events[mistake.since :] if isinstance(e.item, Reading) and not site.passes(e, scenario)), None)
        if event is not None:
            break
    shows, reading = site.read(event, scenario), event.item
    assert isinstance(reading, Reading)
    place = [e for e in farm.events if e.step is event.step and isinstance(e.item, Reading)].index(event) + 1
    told = "wrong" if isinstance(shows, str) or math.isnan(shows) else "open" if math.isinf(shows) else f"{shows:.6f} {reading.unit}"
    diagnosis = found(farm, f"{event.step.id}:{place}={told}{'/0 V' if reading.beside else ''}")
    assert mistake.name in {m.name for cause in diagnosis.causes if cause.doubted is None for m in cause.mistakes}


@pytest.mark.parametrize(
    "place",
    ["load-continuity@L2-1:2", "second-bond@set:1", "unit-polarity@L2-1", "pre-charge@L1-1", "unit-voltage@L2-1:3", "test-load@set:9", "trip-alone@set:2"],
)
def test_a_reading_that_changes_was_felt(farm: Course, place: str) -> None:
    """All mistakes of the site gone through one reading: none may move it out of its band unfelt."""
    [event], felt, changed = observed(farm, f"{place}=wrong").events, Felt(farm), 0
    scenario = SCENARIOS[len(place) % len(SCENARIOS)]
    for mistake in (*singles(farm), *omissions(farm)):
        site = farm.site(mistake)
        if mistake.since > event.number or site.passes(event, scenario):
            continue
        shows = site.read(event, scenario)
        if isinstance(shows, float) and math.isnan(shows):
            continue  # voltage on an ohmmeter is left out
        changed += 1
        assert felt.by(event, mistake, (scenario,)), mistake.name
    assert changed


@pytest.mark.parametrize("seed", range(40))
def test_hitting_sets_are_those_of_going_through_all_sets(seed: int) -> None:
    dice = Random(seed)
    conflicts = [dice.sample(range(7), dice.randint(1, 4)) for _ in range(dice.randint(1, 4))]
    hits = [frozenset(few) for size in (0, 1, 2) for few in combinations(range(7), size) if all(set(few) & set(one) for one in conflicts)]
    assert set(hitting_sets(conflicts, 2)) == {one for one in hits if not any(other < one for other in hits)}


# --- what cannot be understood, and how it is told ---


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ("chain-resistance@L1-1", "is no reading"),
        ("chain-resistence@L1-1=120ohm", "the nearest: chain-resistance@L"),
        ("chain-resistance@L1-1=120", "has no unit"),
        ("chain-resistance@L1-1=120V", "not a unit of resistance"),
        ("chain-resistance@L1-1=-3ohm", "out of range"),
        ("chain-resistance@L1-1:2=60ohm", "takes 1 reading; there is no 2 of them"),
        ("leave@set=wrong", "nothing is read at"),
        ("load-continuity@L1-1=open", "takes 10 readings; name the one that you mean"),
        ("unit-polarity@L1-1=open", "only an ohmmeter shows open"),
        ("pre-charge@L1-1=30V", "give both, as 30V/52V"),
        ("fit-fuses@B1:1=big", "wanted right or wrong"),
        ("insulation@L1-1:1=2Mohm", "wanted right or wrong"),
    ],
)
def test_a_reading_that_cannot_be_understood(farm: Course, given: str, says: str) -> None:
    with pytest.raises(Misread, match=says):
        observed(farm, given)


def test_no_reading_at_all() -> None:
    with pytest.raises(Misread, match="nothing was read"):
        find_text(sample("alder-farm"), [])


@pytest.mark.parametrize(
    "readings",
    [
        ["chain-resistance@L3-1=open"],
        ["chain-resistance@L1-1=120ohm"],
        ["pre-charge@L1-1=30V/52V"],
        ["load-continuity@L2-1:2=open", "load-continuity@L3-1:7=open"],
        ["modules@B1=wrong"],
        ["trip-alone@set:2=no"],
    ],
)
def test_the_text_is_narrow_and_defers_to_a_licensed_person(readings: list[str]) -> None:
    text = find_text(sample("alder-farm"), readings)
    assert max(map(len, text.splitlines())) <= 80
    assert "a licensed person come first" in " ".join(text.split())
    if "=120ohm" not in readings[0]:
        assert "every reading of a step marked HOLD before the first wrong one" in " ".join(text.split())
