"""A night or a day that bank, sun and incoming side do not cover (S25)."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from engine.facts import Facts
from engine.findings import Finding, caution, stop
from engine.quantities import shown
from engine.stages.hours.sources import Sources
from engine.stages.hours.telling import Drawn, begins


def night_finding(found: Sources, drawn: Drawn, missing: float, depth: float) -> Iterator[Finding]:
    """A bank that does not last from sunset to sunrise by itself."""
    called = drawn.called(drawn.night)
    at = drawn.empty(drawn.night) if called is None else called
    if at is None:
        return
    held = found.efficiency.value * depth * found.energy.value
    more = ceil(100 * missing / held)
    lacks = f"{shown(missing, 'J')} are missing until {drawn.rise:02d}:00"
    if called is None:
        text, cure = f"is empty by {(at + 1) % 24:02d}:00; {lacks}.", "a generator in the evening"
    else:
        text, cure = f"is used up at {at:02d}:00: without the generator {lacks}.", "see that the generator starts by itself at night"
    yield caution(
        "empty-before-sunrise",
        f"plan.hours[{at}].state",
        f"{begins(found, drawn)} {text}",
        f"A bank larger by {more} %, less use at night, or {cure}.",
        "S25",
        value=held,
        limit=held + missing,
        unit="J",
    )


def day_finding(facts: Facts, found: Sources, drawn: Drawn, lacking: float) -> Iterator[Finding]:
    """A day that neither sun nor incoming side covers (`lacking`, J, mean of two weeks).

    Where nothing comes in, and the bank runs empty within the hours drawn or nothing ever charges it, the loads go dark: a stop.
    """
    course, name, about = found.course, found.bank.name, "solar.sun_hours" if facts.solar else "incoming.kind"
    sun, used = sum(course.sun) * 3600, sum(course.loads) * 3600 / course.efficiency
    untold = bool(facts.solar and facts.missing("solar.sun_hours"))
    island, empty = drawn.kind == "none" and not untold, drawn.empty(drawn.passed)
    when = f" From full at {drawn.down:02d}:00 it is empty by {(empty + 1) % 24:02d}:00." if island and empty is not None else ""
    if island and sun <= 0:
        text = f"Nothing comes in and no sun is counted; the loads take {shown(used, 'J')} a day from {name}.{when}"
        cure = f"Plan a generator, a utility supply or solar modules that bring {shown(used, 'J')} a day: nothing charges the bank."
        yield stop("day-not-covered", about, text, cure, "S25", value=0.0, limit=used, unit="J")
        return
    if lacking < 3600:
        return
    if untold:
        cure = "Answer the peak sun hours of the worst month: the day is reckoned without any sun."
    elif course.source > 0:
        cure = "A stronger supply or generator, a larger charge limit, or less use."
    elif sun > 0:
        cure = f"About {ceil(10 * used / sun) / 10:.1f} times as many modules, less use, or a generator."
    else:
        cure = "Answer breaker, transfer current and charge limits: nothing that comes in is counted."
    level = stop if island and empty is not None else caution
    yield level(
        "day-not-covered",
        about,
        f"In the worst month {shown(lacking, 'J')} a day cannot be given on {name} (mean of two weeks): the loads take {shown(used, 'J')} from it, the sun brings {shown(sun, 'J')}.{when}",
        cure,
        "S25",
        value=used - lacking,
        limit=used,
        unit="J",
    )


def sun_unanswered(facts: Facts) -> Iterator[Finding]:
    """Strings whose yield nobody can tell."""
    if facts.solar and facts.missing("solar.sun_hours"):
        text = "The peak sun hours of the worst month are not answered: the day is reckoned without any sun."
        yield caution(
            "sun-hours-unanswered",
            "solar.sun_hours",
            text,
            "Look them up in a solar atlas for the worst month and your tilt.",
            "S25",
            unanswered=True,
        )
