"""The mistakes: the table is whole, each changes the site, each hand-picked one is stopped where practice says; and the proof can fail."""

from __future__ import annotations

from functools import cache

import pytest

from engine.model.acts import RESIDUAL, Act, Instrument, Reading
from engine.model.elements import Swap
from engine.proof.course import Course
from engine.proof.judge import Fate, judge
from engine.proof.mistake import Mistake
from engine.proof.mistakes import omissions, singles
from engine.tables import table
from tests.engine.paper_sites import NAMES
from tests.proof.sites import course_of, random_course

# Beside the samples: a single unit with an earthed pole, relays in the units, no supply.
BESIDE = (55, 16, 18)


@cache
def course(which: str | int) -> Course:
    return course_of(which) if isinstance(which, str) else random_course(which)


@cache
def all_of(which: str | int) -> dict[str, list[Mistake]]:
    found: dict[str, list[Mistake]] = {}
    for mistake in singles(course(which)):
        found.setdefault(mistake.name, []).append(mistake)
    return found


def told() -> dict[tuple[str, str], str]:
    """Every cell of the table of mistakes, by element and defect."""
    return {(str(row["element"]), defect): str(cell) for row in table("mistakes").rows for defect, cell in row.items() if defect != "element"}


def test_every_cell_is_made_or_has_its_reason() -> None:
    made = {(m.element, m.defect) for which in (*NAMES, *BESIDE) for some in all_of(which).values() for m in some}
    reasons = {str(row["blank"]) for row in table("mistake_blanks").rows}
    cells = told()
    assert all(cells.values())
    assert {where for where, cell in cells.items() if not cell.startswith("-")} == made
    assert {cell[1:] for cell in cells.values() if cell.startswith("-")} == reasons


@pytest.mark.parametrize("which", ["alder-farm", "ferry-house", *BESIDE])
def test_every_mistake_changes_the_site(which: str | int) -> None:
    """It wires, sticks or sets something otherwise, or is a flaw that some reading names; none is there twice."""
    of = course(which)
    named = {e.item.at for e in of.events if isinstance(e.item, Reading)} | {(RESIDUAL, "trip")}
    named |= {(f"{at[1]} {at[0]}", "fitted") for at in named if at[1] in ("temperature sensor", "data lead")}  # a display tells what is plugged
    planned = {tag: {s.setting: s.value for s in settings} for tag, settings in of.planned.parts.settings.of.items()}
    for mistakes in all_of(which).values():
        for mistake in mistakes:
            assert 0 <= mistake.since < len(of.events)
            assert (mistake.harm is None) == (mistake.harms is None) or mistake.harms is None
            if mistake.edits:
                assert changed(of, mistake), mistake.name
            for tag, values in mistake.settings.items():
                assert all(planned[tag][name] != value for name, value in values.items()), mistake.name
            assert mistake.edits or mistake.settings or mistake.flaws, mistake.name
            for flaw in mistake.flaws:
                assert flaw in named, mistake.name
    keys = [(m.name, m.since) for mistakes in all_of(which).values() for m in mistakes]
    assert len(set(keys)) == len(keys)


def changed(of: Course, mistake: Mistake) -> bool:
    """Whether another element lies between other nodes, has another value, or is there when it should not be."""
    wrong = of.wired.edited(*mistake.edits)
    were = {e: (e.a, e.b, e.value, e.ohms, e.when) for e in of.wired.elements.values()}
    right = {e.name: were[e] for e in were}
    other = {e.name: (e.a, e.b, e.value, e.ohms, e.when) for e in wrong.elements.values()}
    return right != other or wrong.stuck != of.wired.stuck


def test_a_mistake_that_changes_nothing_is_told() -> None:
    """Two ends on one bar exchanged are as they were."""
    of = course("ferry-house")
    ends = "earth L1-1 PE at earth bar", "earth L1-2 PE at earth bar"
    assert not changed(of, Mistake("alike", "", "", "", 0, (Swap(*ends),)))


def test_every_act_can_be_left_out() -> None:
    of = course("ferry-house")
    acts = [e.number for e in of.events if isinstance(e.item, Act)]
    assert [number for m in omissions(of) for number in m.omits] == acts


# Site, mistake, the step that stops it first, and why that one: reckoned by hand, from what is joined when it is read.
STOPPED = [
    ("alder-farm", "battery L1-1 at L1-1: plus and minus exchanged", "pre-charge@L1-1", "the bar's side of the isolator reads right; behind the resistor the unit shows minus"),
    ("alder-farm", "battery L1-1 at bar B1: plus and minus exchanged", "pre-charge@L1-1", "the cable begins behind its isolator: reversed at either end it is the unit that shows minus"),
    ("alder-farm", "battery B1 at B1: plus and minus exchanged", "unit-polarity@L1-1", "the cable begins behind the isolator of the bank: closed, the bar is reversed, and the first isolator of a unit shows it"),
    ("alder-farm", "load L1-1 L and load L2-1 L at load board: exchanged with another unit's", "load-continuity@L1-1", "an output that ends on the bar of another phase"),
    ("alder-farm", "load common N at bar: end left off", "load-run@set", "a lost neutral is open from bar to terminal, before anything is live"),
    ("alder-farm", "load bar N to earth bar: a second one", "second-bond@set", "neutral and earth are joined with the one bond lifted"),
    ("alder-farm", "consumers N to earth bar: a second one", "trip-alone@set", "behind the residual-current device, which no dead test joins to the bar: what the tester sends comes back through its neutral"),
    ("alder-farm", "L1-1: its bond relay closes while it runs", "earth-current@set", "open in every dead test: only load current in the earths of the unit tells it"),
    ("alder-farm", "load L1-1 at L1-1: joined to the neutral in the unit", "second-bond@set", "case and neutral are one with its load isolator closed"),
    ("alder-farm", "bond: left off", "second-bond@set", "nothing is joined across it; with many units filters let the residual-current device trip all the same"),
    ("alder-farm", "residual-current device: does not trip", "trip-alone@set", "the first test of it"),
    ("alder-farm", "battery L1-1 fuse: another rating", "fit-fuses@B1", "read on the fuse as it is fitted"),
    ("alder-farm", "bench L1-1: plus and minus exchanged", "bench-polarity@L1-1", "before the lead meets the unit"),
    ("alder-farm", "B1 string 1 module 1: reversed in its string", "modules@B1", "each module on its own, before they are joined"),
    ("alder-farm", "supply L1 and L2: two lines exchanged ahead of it", "incoming-voltage@set", "rotation 132 at the open isolator"),
    ("alder-farm", "battery L1-1 isolator: does not open", "lock@set", "it cannot be locked open"),
    ("alder-farm", "terminator L1-1: left out", "chain-resistance@L3-1", "plugged first, it is read from the other end"),
    ("alder-farm", "solar L1-1 string 1: reversed", "string-polarity@L1-1", "every string red on plus, its isolator open"),
    ("alder-farm", "temperature sensor B1: left out", "bank-seen@B1", "a unit that shows no temperature"),
    ("alder-farm", "covers: left off", "covers@set", "looked at, nothing else"),
    ("alder-farm", "L1-1 phase: entered wrong", "read-back@L1-1", "what the unit says that it was told"),
    ("ferry-house", "battery L1-1 on B2: on another bank", "unit-polarity@L1-1", "right voltage, but its minus is joined to the other bank's"),
]


@pytest.mark.parametrize(("which", "name", "step", "why"), STOPPED, ids=[row[1] for row in STOPPED])
def test_a_mistake_is_stopped_where_practice_says(which: str, name: str, step: str, why: str) -> None:
    for mistake in all_of(which)[name]:
        outcome = judge(course(which), mistake)
        assert outcome.fate is Fate.CAUGHT, why
        assert outcome.first and outcome.first.always
        assert outcome.first.event.step.id == step, why


def test_a_setting_that_is_lost_at_the_last_switching_off_is_seen_in_the_set() -> None:
    """Read back on the bench it was still there."""
    last = max(all_of("alder-farm")["L1-1 phase: not kept when switched off"], key=lambda m: m.since)
    outcome = judge(course("alder-farm"), last)
    assert outcome.fate is Fate.CAUGHT
    assert outcome.first and outcome.first.event.step.id == "display@L1-1"


# --- the proof can fail ---


def without(of: Course, *names: str) -> Course:
    """The order of work without what these steps read; they still act."""
    gone = [(step, [item for item in doing if isinstance(item, Act) or step.id.partition("@")[0] not in names]) for step, doing in of.steps]
    return Course(of.planned, gone)


MISSED = [
    ("battery L1-1 at L1-1: plus and minus exchanged", ("pre-charge",), Fate.LATE),
    ("battery L1-1 fuse: another rating", ("fit-fuses",), Fate.UNSEEN),
    ("bond: left off", ("trip-alone", "second-bond"), Fate.UNSEEN),
    ("L1-1: its bond relay closes while it runs", ("earth-current", "transfer"), Fate.UNSEEN),
    ("bench L1-1: plus and minus exchanged", ("bench-polarity", "bench-pre-charge"), Fate.UNSEEN),
    ("covers: left off", ("covers",), Fate.UNSEEN),
]


@pytest.mark.parametrize(("name", "gone", "fate"), MISSED, ids=[row[0] for row in MISSED])
def test_without_its_step_a_mistake_is_missed(name: str, gone: tuple[str, ...], fate: Fate) -> None:
    of = without(course("alder-farm"), *gone)
    mistake = next(m for m in singles(of) if m.name == name)
    outcome = judge(of, mistake)
    assert outcome.fate in (Fate.LATE, Fate.UNSEEN)
    assert outcome.fate is fate
    assert outcome.harm


def test_an_alarm_stops_nothing() -> None:
    """No step reads an alarm, a spark or a sound."""
    assert {e.item.instrument for e in course("alder-farm").events if isinstance(e.item, Reading)} <= set(Instrument)
    assert not any("alarm" in " ".join(e.item.at) for which in NAMES for e in course(which).events if isinstance(e.item, Reading))


def test_nothing_is_unseen_on_a_small_site() -> None:
    """Every single mistake of two units on two banks is caught before its harm, or does none."""
    outcomes = [judge(course("ferry-house"), mistake) for mistakes in all_of("ferry-house").values() for mistake in mistakes]
    assert {outcome.fate for outcome in outcomes} == {Fate.CAUGHT, Fate.HARMLESS}
