"""Sites gone through by the proof, and whether a right one passes every step."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from engine.files.emit import emit
from engine.files.read import parse
from engine.model.acts import Reading
from engine.model.scenario import SCENARIOS, Scenario
from engine.planner import Planned, plan
from engine.proof.course import Course, Event
from tests.engine.paper_sites import sample
from tests.generated.sites import Document, site


def of_document(document: Document) -> Planned:
    """The plan of a document."""
    file = parse(emit(document).encode(), "site.toml")
    return plan(file.answers, file.revision)


@cache
def course_of(which: str) -> Course:
    """The course of a sample, once for all tests."""
    return Course(sample(which))


def units(number: int) -> int:
    """How many units the plausible site of that number has."""
    told = site(number)["set"]
    return told["count"] if "count" in told else sum(told["per_phase"])


def random_course(number: int) -> Course:
    """The course of a plausible site."""
    return Course(of_document(site(number)))


def told_unlike(course: Course) -> bool:
    """Whether the plan itself says that circuits which should be alike are not: then units share as they do, and the step says so."""
    return any(finding.code == "like-circuits-unlike" for finding in course.planned.findings)


def failing(course: Course) -> Iterator[tuple[Event, Scenario, float | str]]:
    """Every reading of a right site that does not lie in its band."""
    unlike = told_unlike(course)
    for event in course.events:
        if not isinstance(event.item, Reading) or (unlike and event.step.id.startswith("shares@")):
            continue
        for scenario in SCENARIOS:
            if not course.right.passes(event, scenario):
                yield event, scenario, course.right.read(event, scenario)


def unnamed(course: Course) -> set[str]:
    """Every thing, point, element and end that the order of work names and the wired site does not have; but for what has no electrical part."""
    wired = course.wired
    known = {*wired.around, *wired.elements, *wired.ends, *wired.things, *wired.inverters}
    known |= {f"{end} free" for end in wired.ends}
    found: set[str] = set()
    for event in course.events:
        item = event.item
        if not isinstance(item, Reading):
            found.add(item.thing)
        elif item.instrument.name in ("LOOK", "DISPLAY", "INSULATION", "MILLIOHM", "MICROOHM"):
            found.add(item.at[0])
        else:
            found.update((*item.at, *(item.beside or ())))
    tags, banks = wired.inverters, [bank.name for bank in course.planned.parts.banks.banks]
    words = {"set", "cables", "covers", "data cables", *banks, *(f"{tag} settings" for tag in tags)}
    return found - known - words - {f"{lead} {bank}" for lead in ("temperature sensor", "data lead") for bank in banks}
