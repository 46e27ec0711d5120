"""The diagnosis of wrong readings as text, 80 columns."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from textwrap import wrap

from engine.model.acts import Instrument
from engine.planner import Planned
from engine.proof.course import Course
from engine.proof.find import Cause, Diagnosis, Next, find
from engine.proof.mistake import Mistake
from engine.proof.observed import Misread, Observed, observed, points, reading_of, several, told
from engine.stages.procedure.part import HURT

_WIDTH = 80
_SHOWN = 12  # causes told; the rest are counted
_FEW = 3  # values told one by one; of more, the first and the last
_ON_VOLTAGE = (Instrument.DC, Instrument.AC, Instrument.ROTATION, Instrument.TRIP)
_LISTS = 4  # lists of what to repeat; more are told as one


def find_text(planned: Planned, readings: Sequence[str]) -> str:
    """What explains the readings of a site, what to measure next, what to repeat. Misread: a reading that cannot be understood."""
    course = Course(planned)
    if not course.events:
        raise Misread("this site has no units, and so no order of work")
    if not readings:
        raise Misread("nothing was read: wanted at least one NAME@PLACE=VALUE, such as chain-resistance@L1-1=120ohm")
    return "\n".join(_lines(find(course, [observed(course, given) for given in readings]))) + "\n"


def _lines(found: Diagnosis) -> Iterator[str]:
    yield "READ"
    for one in found.observed:
        yield from _told(one)
    if all(one.right for one in found.observed):
        yield ""
        yield from _wrapped(
            "All of it is as the order of work wants it: there is nothing to explain. It says nothing of what was not read."
        )
        yield from _wrapped(HURT)
        return
    yield ""
    yield from _causes(found)
    if found.following:
        yield ""
        yield from _following(found.following)
    elif len(found.causes) > 1:
        yield ""
        yield from _wrapped(
            "No reading of this order of work tells these apart as the site stands now: look at each place, likeliest first by your own judgement."
        )
    if any(found.again):
        yield ""
        yield from _again(found)
    yield ""
    yield from _wrapped(
        "Assumed: every reading of a step marked HOLD before the first wrong one was taken and was right; meters are within 5 %, or 1 V or"
        " 0.5 ohm; 1 kohm or more counts as open; all mistakes are equally likely. What no table of mistakes names cannot be found here:"
        " two faults that hide each other, a fault within a device, a lead on the wrong point."
    )
    yield from _wrapped(f"(!) Nothing is energised, closed or repaired on the word of this list. {HURT.removeprefix('(!) ')}")


def _told(one: Observed) -> Iterator[str]:
    verdict = "right" if one.right else "WRONG"
    if len(one.events) > 1:
        yield from _wrapped(f"{one.told}: {'all of its readings' if one.right else 'one or more of its readings'}", "  ")
        return
    reading = reading_of(one.events[0])
    wanted = f"; wanted {reading.band}" if reading.band and reading.band != "any" else ""
    yield from _wrapped(f"{one.told}: {verdict}{wanted} ({points(reading)})", "  ")


def _causes(found: Diagnosis) -> Iterator[str]:
    causes, sure = found.causes, [one for one in found.causes if one.doubted is None]
    if not causes:
        yield from _wrapped("NO CAUSE FOUND: no one or two of the mistakes that are modelled explain all of this.")
        if found.parts:
            yield "Each of these explains a part:"
            yield from _listed(enumerate(found.parts, 1), len(found.parts))
        yield from _wrapped("Read it again with another meter, its leads checked; then suspect what nobody modelled.")
        return
    if sure and len(sure[0].mistakes) == 1:
        yield "ONE MISTAKE EXPLAINS IT" + (f": one of these {len(sure)}" if len(sure) > 1 else "")
    elif sure:
        yield from _wrapped("NO ONE MISTAKE EXPLAINS IT: two together do")
    else:
        yield from _wrapped(
            "NO MISTAKE EXPLAINS IT if all earlier steps were right. If the step named was not done as written, one of these does"
        )
    yield from _listed(enumerate(causes, 1), len(causes))


def _listed(numbered: Iterable[tuple[int, Cause | Mistake]], count: int) -> Iterator[str]:
    for place, one in numbered:
        if place > _SHOWN:
            yield f"  and {count - _SHOWN} more"
            return
        mistakes = one.mistakes if isinstance(one, Cause) else (one,)
        text = "; and ".join(map(_named, mistakes))
        if isinstance(one, Cause) and one.doubted:
            text += f"; but {one.doubted.step.id} would have shown it"
        yield from _wrapped(text, f"{place:3}. ")


def _named(mistake: Mistake) -> str:
    if mistake.omits:
        return f"{mistake.name} (step {mistake.by})"
    return f"{mistake.name} ({f'made at {mistake.by}' if mistake.since else 'there from the beginning'})"


def _following(found: Next) -> Iterator[str]:
    event = found.event
    mark = "(!) " if event.step.hurt or reading_of(event).instrument in _ON_VOLTAGE else ""
    yield from _wrapped(f"{mark}MEASURE NEXT, as the site stands now, with nothing switched: as in {event.step.id}")
    yield from _wrapped(f"{reading_of(event).instrument.value}, {points(reading_of(event))}", "  ")
    for result in found.results:
        shows = dict.fromkeys("right" if one == "as wanted" else told(reading_of(event), one) for one in result.shows)
        ends = list(shows) if len(shows) < _FEW else [next(iter(shows)), "…", list(shows)[-1]]
        places = ", ".join(str(place + 1) for place in result.causes[:_SHOWN])
        more = f" and {len(result.causes) - _SHOWN} more" if len(result.causes) > _SHOWN else ""
        yield from _wrapped(f"{_range(ends)}: {places}{more}", "    ")


def _range(ends: Sequence[str]) -> str:
    return ", ".join(ends).replace(", …, ", " to ")


def _again(found: Diagnosis) -> Iterator[str]:
    yield "AFTER THE REPAIR REPEAT, in this order"
    by: dict[str, list[int]] = {}
    for place, events in enumerate(found.again[:_SHOWN], 1):
        by.setdefault(several([event.step.id for event in events]), []).append(place)
    if len(by) > _LISTS:
        every = sorted({event for events in found.again for event in events}, key=lambda event: event.number)
        yield from _wrapped(f"whichever it is: {several([event.step.id for event in every])}", "  ")
        return
    for steps, places in by.items():
        which = "" if len(by) == 1 else f"{', '.join(map(str, places))}: "
        yield from _wrapped(f"{which}{steps or 'nothing that was read so far'}", "  ")


def _wrapped(text: str, indent: str = "") -> list[str]:
    return wrap(
        text,
        _WIDTH,
        initial_indent=indent,
        subsequent_indent=" " * len(indent) + ("  " if indent.strip() == "" and indent else ""),
        break_on_hyphens=False,
    )


__all__ = ["Misread", "find_text"]
