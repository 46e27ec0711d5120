"""The proof as text: what each test catches, and what none sees."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby
from typing import TypeVar

from engine.model.acts import Instrument, Reading
from engine.model.scenario import SCENARIOS
from engine.planner import Planned
from engine.proof.course import NAMED, Course, limits
from engine.proof.harm import first_harm
from engine.proof.judge import Catch, Fate, Outcome, judge, prove
from engine.proof.mistake import Mistake
from engine.proof.mistakes import omissions, singles
from engine.proof.tried import WORDS, tried
from engine.quantities import shown
from engine.sheets.text.layout import heading, wrapped
from engine.sheets.text.top import head
from engine.tables import table
from engine.text import clean, counted

T = TypeVar("T")

_NOTHING = 1e-6  # V, A, ohm: what rounding leaves

_BUT = (
    "It proves the order of work against a model, not the work: each step done as it stands, each reading honestly written down, one mistake at a time. "
    "What no one modelled (motors, electronics inside a unit, what a maker joined) it cannot see."
)


def proof_text(planned: Planned) -> str:
    """Every single mistake of a site: where it is caught, by what reading, before what harm; and all that no test sees."""
    course = Course(planned)
    return "\n".join(_proof(course, prove(course, singles(course)), prove(course, omissions(course)))) + "\n"


def tried_text(planned: Planned, told: Sequence[str]) -> str:
    """What becomes of mistakes that somebody wants to try. Raises NotUnderstood."""
    course = Course(planned)
    lines = [line for one in told for line in _tried(course, tried(course, one))]
    return "\n".join([*head(planned, "TRIED"), "", *lines]) + "\n"


def elements_text(planned: Planned) -> str:
    """Every name that a mistake may be told with, and the words that it is told in."""
    course = Course(planned)
    lines = [f"  {word} {' '.join(wants)}: {does}" for word, (wants, does) in WORDS.items()]
    for kind, names in (*course.wired.names().items(), ("steps", tuple(dict.fromkeys(step.id for step, _ in course.steps)))):
        lines += ["", f"{kind}:", *(f"  {name}" for name in names)]
    return "\n".join(lines) + "\n"


def _proof(course: Course, outcomes: Sequence[Outcome], skipped: Sequence[Outcome]) -> Iterator[str]:
    yield from head(course.planned, "PROOF")
    yield ""
    yield from wrapped(
        f"{counted(len(outcomes), 'mistake')}, each alone, with the units' inside in {len(SCENARIOS)} ways that nobody answered: {_count(outcomes)}."
    )
    yield from wrapped(_BUT)
    yield ""
    yield heading("WHAT NO TEST SEES IN TIME")
    yield from _unseen(course, outcomes)
    yield ""
    yield heading("IF AN ACT IS LEFT OUT")
    yield from wrapped(f"{counted(len(skipped), 'act')}, each left out alone: {_count(skipped)}.")
    yield from _lost(course, skipped)
    yield ""
    yield heading("WHAT EACH TEST CATCHES")
    caught = [(catch, outcome) for outcome in outcomes if outcome.fate in (Fate.CAUGHT, Fate.BETWEEN) and (catch := outcome.first)]
    caught.sort(key=lambda one: one[0].event.step.place)
    for _, some in groupby(caught, key=lambda one: one[0].event.step.place):
        yield from _caught(course, list(some))
    yield ""
    yield heading("WHAT DOES NO HARM BY ITSELF")
    yield from _classes(outcome.mistake for outcome in outcomes if outcome.fate is Fate.HARMLESS)


_TOLD = {
    Fate.CAUGHT: "caught before any harm",
    Fate.BETWEEN: "caught before any harm by one reading or another, as the inside is",
    Fate.LATE: "CAUGHT TOO LATE",
    Fate.UNSEEN: "UNSEEN",
    Fate.HARMLESS: "harmless by themselves",
}


def _count(outcomes: Sequence[Outcome]) -> str:
    by_fate = Counter(outcome.fate for outcome in outcomes)
    return ", ".join(f"{by_fate[fate]} {_TOLD[fate]}" for fate in Fate if by_fate[fate]) or "none"


def _unseen(course: Course, outcomes: Sequence[Outcome]) -> Iterator[str]:
    lost = list(_lost(course, outcomes))
    yield from lost or wrapped("None of the mistakes gone through. Beside them, not gone through because no reading shows them:", " ")
    for row in table("mistake_blanks").rows:
        if str(row["reason"]).endswith("on paper as unseen"):
            elements = [str(r["element"]) for r in table("mistakes").rows if f"-{row['blank']}" in r.values()]
            yield from wrapped(f"{', '.join(elements)}: {str(row['reason']).removesuffix(': on paper as unseen')}", " - ", "   ")


def _lost(course: Course, outcomes: Sequence[Outcome]) -> Iterator[str]:
    """Those that no reading stops in time, alike ones told once."""
    lost = [outcome for outcome in outcomes if outcome.fate in (Fate.LATE, Fate.UNSEEN)]
    for alike in _grouped(
        lost,
        lambda outcome: (
            outcome.mistake.element,
            outcome.mistake.defect,
            outcome.mistake.by.partition("@")[0],
            outcome.harm and outcome.harm[0],
        ),
    ):
        outcome, harm = alike[0], alike[0].harm
        more = f" (and {len(alike) - 1} alike)" if len(alike) > 1 else ""
        does = f" Harm: {limits()[harm[0]]['words']}, {_at(course, harm[1])}." if harm else ""
        seen = f" Seen only then, or in some ways alone: {_reading(outcome.catches[0])}." if outcome.catches else ""
        yield from wrapped(f"{clean(outcome.mistake.name, 120)}{more}, at {outcome.mistake.by}.{does}{seen}", " - ", "   ")


def _grouped(some: Iterable[T], key: Callable[[T], object]) -> list[list[T]]:
    """Those of one key together, in the order in which each key first comes."""
    found: dict[object, list[T]] = {}
    for one in some:
        found.setdefault(key(one), []).append(one)
    return list(found.values())


def _at(course: Course, number: int) -> str:
    return f"at {course.events[number].step.id}" if number < len(course.events) else "in use"


def _reading(catch: Catch) -> str:
    """What an instrument shows where."""
    item = catch.event.item
    assert isinstance(item, Reading)
    shows = catch.shows
    if item.instrument in NAMED:
        thing, attribute = item.at
        told = f"{attribute.replace('_', ' ')} of {thing}" if thing != "set" else attribute
        other = (
            f" is {shows.partition(': ')[2] or shows}"
            if item.instrument is Instrument.DISPLAY and isinstance(shows, str)
            else " is another"
        )
        return f"{item.instrument.value}: {told}{other if item.instrument in (Instrument.LOOK, Instrument.DISPLAY) else ' fails'}"
    told = shows if isinstance(shows, str) else _value(shows, item.unit or "1")
    if item.beside and not isinstance(shows, str):
        told = f"{_value(abs(shows), item.unit)} {'below' if shows < 0 else 'above'} {item.beside[0]}"
    where = " to ".join(item.at[:2]) if len(item.at) == 2 else item.at[0]
    return f"{item.instrument.value}, {where}: {told}{f' instead of {item.band}' if item.band else ''}"


def _value(value: float, unit: str) -> str:
    if abs(value) < _NOTHING:
        value = 0.0
    if value != value:  # noqa: PLR0124 - not a number
        return "a voltage where an ohmmeter is"
    if value == float("inf"):
        return "open"
    return shown(value, unit, 3)


def _caught(course: Course, some: Sequence[tuple[Catch, Outcome]]) -> Iterator[str]:
    """One step, at all its places, with the kinds of mistakes that it catches first."""
    step = some[0][0].event.step
    yield ""
    yield f"{step.place:>4} {step.id.partition('@')[0]}: {counted(len(some), 'mistake')}"
    key = _class
    for _, alike in groupby(sorted(some, key=lambda one: key(one[1].mistake)), key=lambda one: key(one[1].mistake)):
        own = list(alike)
        catch, outcome = own[0]
        harm = first_harm(course, outcome.mistake)
        does = f" Else: {limits()[harm]['words']}." if harm else ""
        more = f" (and {len(own) - 1} alike)" if len(own) > 1 else ""
        yield from wrapped(f"{clean(outcome.mistake.name, 100)}{more}. {_reading(catch)}.{does}", "      ", "        ")


def _class(mistake: Mistake) -> tuple[str, str]:
    return mistake.element, mistake.defect


def _classes(mistakes: Iterable[Mistake]) -> Iterator[str]:
    """Mistakes by element and defect, the first of each kind named."""
    for _, alike in groupby(sorted(mistakes, key=_class), key=_class):
        own = list(alike)
        more = f" (and {len(own) - 1} alike)" if len(own) > 1 else ""
        yield from wrapped(f"{clean(own[0].name, 100)}{more}", " - ", "   ")


def _tried(course: Course, mistake: Mistake) -> Iterator[str]:
    """Where one is caught, or what it does."""
    outcome = judge(course, mistake, whole=True)
    told = "seen, though no harm comes of it" if outcome.catches and outcome.fate is Fate.HARMLESS else _TOLD[outcome.fate]
    yield from wrapped(f"{clean(mistake.name, 200)}: {told}.")
    for catch in [c for c in outcome.catches if c.always][:3] or outcome.catches[:3]:
        often = "" if catch.always else ", as the inside of the units is,"
        yield from wrapped(f"{catch.event.step.place} {catch.event.step.id}{often} shows it: {_reading(catch)}", "  ", "    ")
    for harm, number in sorted(outcome.harms, key=lambda one: one[1])[:4]:
        yield from wrapped(f"If nobody stops: {limits()[harm]['words']}, {_at(course, number)}", "  ", "    ")
