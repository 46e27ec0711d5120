"""A site without a mistake passes every step, whatever its gear is like inside; and the order of work names what is there."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engine.model.acts import Instrument, Reading
from engine.proof.course import Course
from tests.engine.paper_sites import NAMES, sample
from tests.proof.sites import course_of, failing, random_course, told_unlike, units, unnamed

# Small ones of every kind of supply, earthing, bond, bank and arrangement; `python -m tests.benchmarks.right` goes through more, of all sizes.
NUMBERS = tuple(number for number in range(72) if units(number) <= 4)


@pytest.fixture(params=[*NAMES, *NUMBERS])
def course(request) -> Course:
    return course_of(request.param) if request.param in NAMES else random_course(request.param)


def test_a_right_site_passes_every_step(course: Course) -> None:
    assert [(event.step.id, event.item, value) for event, _, value in failing(course)] == []
    assert unnamed(course) == set()


def test_the_random_sites_are_of_every_kind() -> None:
    """What nobody drew was not tested."""
    answers = [random_course(number).planned.facts.answers for number in NUMBERS]
    assert {a.earthing.island_bond for a in answers} == {"changeover relay", "unit relay", "fixed link", "none"}
    assert {a.earthing.system for a in answers} == {"TN-S", "TN-C-S", "TT", "IT"}
    assert {a.incoming.kind for a in answers} == {"utility", "generator", "none"}
    assert {a.output.arrangement for a in answers} == {"single-phase", "split-phase", "three-phase"}
    assert {a.storage.earthed for a in answers} == {None, "plus", "minus"}
    assert {units(number) for number in NUMBERS} == {1, 2, 3, 4}


def test_unequal_cables_share_unequally_only_where_the_plan_says_so() -> None:
    """The one step that a right site may fail, and only behind a caution: 2 m beside 12 m do not share alike."""
    course = random_course(15)
    assert told_unlike(course)
    shares = [event for event in course.events if event.step.id.startswith("shares@")]
    assert not all(course.right.passes(event, scenario) for event in shares if isinstance(event.item, Reading) for scenario in _few())
    assert not told_unlike(course_of("ferry-house"))


def _few() -> tuple:
    from engine.model.scenario import SCENARIOS

    return SCENARIOS[:2]


@pytest.mark.parametrize("instrument", [Instrument.DC, Instrument.AC, Instrument.OHM, Instrument.CLAMP, Instrument.LEAKAGE, Instrument.ROTATION])
def test_a_wrong_band_is_found(instrument: Instrument) -> None:
    """With every band of an instrument moved beyond what it reads, every such step fails: none passes by itself."""
    planned = sample("alder-farm" if instrument is Instrument.ROTATION else "ferry-house")
    right = Course(planned)
    moved = replace_all(right, instrument)
    wrong = {event.number for event, _, _ in failing(moved)}
    assert wrong == {e.number for e in right.events if isinstance(e.item, Reading) and e.item.instrument is instrument}
    assert wrong


def replace_all(course: Course, instrument: Instrument) -> Course:
    """The same course with bands that no right site reads."""

    def worse(item):
        if not isinstance(item, Reading) or item.instrument is not instrument:
            return item
        return replace(item, want="another") if item.want and item.least is None else replace(item, least=1e12, most=2e12)

    return Course(course.planned, [(step, [worse(item) for item in doing]) for step, doing in course.steps])
