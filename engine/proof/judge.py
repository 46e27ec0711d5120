"""The proof: every mistake gone through the order of work, caught strictly before its harm, or told as unseen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import StrEnum

from engine.frozen import dataclass
from engine.model.acts import Reading
from engine.model.scenario import SCENARIOS, Scenario
from engine.proof.course import Course, Event, touched
from engine.proof.harm import harms, in_service
from engine.proof.mistake import Mistake


class Fate(StrEnum):
    """What becomes of a mistake; between tests: no single reading sees it whatever the gear is like inside, but for each inside one does."""

    CAUGHT = "caught"
    BETWEEN = "caught by one reading or another"
    LATE = "caught after its harm"
    UNSEEN = "unseen"
    HARMLESS = "harmless"


@dataclass(frozen=True)
class Catch:
    """A reading that does not pass: its event, what it shows, and whether it does so in every scenario."""

    event: Event
    shows: float | str
    always: bool


@dataclass(frozen=True)
class Outcome:
    """One mistake: all catches in order, the harms of it by name with the first event of each, and what becomes of it."""

    mistake: Mistake
    catches: tuple[Catch, ...]
    harms: tuple[tuple[str, int], ...]
    fate: Fate

    @property
    def first(self) -> Catch | None:
        """The catch that stops it: the first that sees it in every scenario, or else the first at all."""
        return next((catch for catch in self.catches if catch.always), next(iter(self.catches), None))

    @property
    def harm(self) -> tuple[str, int] | None:
        """Its first harm."""
        return min(self.harms, key=lambda one: one[1], default=None)


def judge(course: Course, mistake: Mistake, *, whole: bool = False, scenarios: Sequence[Scenario] = SCENARIOS) -> Outcome:
    """Go through the order of work with one mistake until a reading stops it, or, for the `whole` of what would see it, to the end."""
    if not whole:
        stopped = _stopped(course, mistake, scenarios)
        if stopped is not None:
            return stopped
    site, reached = course.site(mistake), touched(course, mistake)
    catches: list[Catch] = []
    seen_in: dict[int, set[int]] = {}
    harmed: dict[str, dict[int, int]] = {}
    for event in course.events[mistake.since :]:
        if isinstance(event.item, Reading):
            if not course.depends(event, reached):
                continue
            failing = [place for place, scenario in enumerate(scenarios) if not site.passes(event, scenario)]
            if failing:
                catches.append(Catch(event, site.read(event, scenarios[failing[0]]), len(failing) == len(scenarios)))
                for place in failing:
                    seen_in.setdefault(place, {event.number}).add(event.number)
        elif course.harmful(event, mistake, reached):
            for place, scenario in enumerate(scenarios):
                for harm in harms(site, event, scenario):
                    harmed.setdefault(harm, {}).setdefault(place, event.number)
    last = course.events[-1]
    for place, scenario in enumerate(scenarios):
        for harm in in_service(site, last, scenario):
            harmed.setdefault(harm, {}).setdefault(place, last.number + 1)
    return Outcome(mistake, tuple(catches), tuple((harm, min(at.values())) for harm, at in harmed.items()), _fate(catches, seen_in, harmed))


def _stopped(course: Course, mistake: Mistake, scenarios: Sequence[Scenario]) -> Outcome | None:
    """The outcome where one reading stops it, whatever the gear is like inside, or where nothing comes of it; None where it is not so plain."""
    site, reached = course.site(mistake), touched(course, mistake)
    for event in course.events[mistake.since :]:
        if isinstance(event.item, Reading):
            if course.depends(event, reached) and not any(site.passes(event, scenario) for scenario in scenarios):
                return Outcome(mistake, (Catch(event, site.read(event, scenarios[0]), always=True),), (), Fate.CAUGHT)
        elif course.harmful(event, mistake, reached) and any(True for scenario in scenarios for _ in harms(site, event, scenario)):
            return None
    if any(True for scenario in scenarios for _ in in_service(site, course.events[-1], scenario)):
        return None
    return Outcome(mistake, (), (), Fate.HARMLESS)


def _fate(catches: Sequence[Catch], seen_in: dict[int, set[int]], harmed: dict[str, dict[int, int]]) -> Fate:
    """Strictly before its first harm in any scenario; or, scenario by scenario, before its harm there."""
    if not harmed:
        return Fate.HARMLESS
    first = min(number for at in harmed.values() for number in at.values())
    if any(catch.always and catch.event.number < first for catch in catches):
        return Fate.CAUGHT
    places = {place for at in harmed.values() for place in at}
    earliest = {place: min(at[place] for at in harmed.values() if place in at) for place in places}
    if all(any(number < earliest[place] for number in seen_in.get(place, ())) for place in places):
        return Fate.BETWEEN
    return Fate.LATE if catches else Fate.UNSEEN


def prove(course: Course, mistakes: Iterable[Mistake]) -> list[Outcome]:
    """Every mistake judged."""
    return [judge(course, mistake) for mistake in mistakes]
