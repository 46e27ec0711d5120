"""A mistake in words, for whoever wants to try one: `swap "load L1-1 L at load board" "load L2-1 L at load board"`."""

from __future__ import annotations

import difflib
import shlex
from collections.abc import Callable, Mapping, Sequence

from engine.model.acts import Act, Verb
from engine.model.elements import Edit, Join, Kind, Loose, Move, Open, Reverse, Scale, Stuck, Swap
from engine.proof.course import Course
from engine.proof.mistake import Mistake
from engine.proof.mistakes import setting_harm
from engine.text import clean

# Each word with what it wants, and what it does.
WORDS: Mapping[str, tuple[tuple[str, ...], str]] = {
    "swap": (("END", "END"), "two ends of conductors exchanged"),
    "move": (("END", "TERMINAL"), "an end landed at another terminal"),
    "open": (("END or ELEMENT",), "an end left off, or an element that does not conduct"),
    "loose": (("END or ELEMENT", "OHMS"), "a bad joint of so many ohms"),
    "join": (("TERMINAL", "TERMINAL"), "two terminals joined that should not be"),
    "short": (("TERMINAL", "TERMINAL"), "the same"),
    "reverse": (("ELEMENT",), "a source the wrong way round"),
    "value": (("ELEMENT", "FACTOR"), "an element of so many times its value"),
    "stuck": (("THING", "made|open"), "what stays made, or open, whatever is done"),
    "set": (("UNIT", "SETTING", "VALUE"), "a unit set to another value"),
    "omit": (("STEP",), "all that a step does, left out"),
}


class NotUnderstood(ValueError):
    """What was asked for cannot be tried; the message says why."""


def tried(course: Course, told: str) -> Mistake:
    """The mistake that is told. Raises NotUnderstood."""
    if not told.strip():
        raise NotUnderstood(f"nothing to try: wanted one of {', '.join(WORDS)} and what it is done to")
    try:
        word, *given = shlex.split(told)
    except ValueError:
        raise NotUnderstood(f"{clean(told, 120)}: a quotation mark is missing") from None
    if word not in WORDS:
        raise NotUnderstood(f"{clean(word, 40)!r} is none of: {', '.join(WORDS)}")
    wants = WORDS[word][0]
    if len(given) != len(wants):
        raise NotUnderstood(f"{word} wants {' and '.join(wants)}, each in quotation marks where it has spaces")
    if word == "omit":
        return _omitted(course, told, given[0])
    if word == "set":
        return _set(course, told, *given)
    edit = _EDITS[word](course, given)
    # That a thing cannot be opened is looked for when it is locked.
    flaws = frozenset({(given[0], "locked open")}) if isinstance(edit, Stuck) and edit.made else frozenset[tuple[str, str]]()
    return Mistake(told, "tried", word, "", _since(course, given), (edit,), flaws)


def _since(course: Course, given: Sequence[str]) -> int:
    """A conductor is wrong from when it is landed; all else is from the first."""
    things = {thing for name in given if name in course.wired.ends for thing in course.wired.elements[course.wired.ends[name][0]].when}
    lands = [n for thing in things for verb in (Verb.LAND, Verb.PLUG) if (n := course.event_of(verb, thing)) is not None]
    return min(lands, default=0)


def _one(name: str, of: str, known: Sequence[str]) -> str:
    if name in known:
        return name
    near = difflib.get_close_matches(name, known, n=3, cutoff=0.5)
    hint = f"; near it: {', '.join(near)}" if near else ""
    raise NotUnderstood(f"there is no {of} {clean(name, 80)!r} at this site{hint} (--elements lists all)")


def _end(course: Course, name: str) -> str:
    return _one(name, "end", [*course.wired.ends])


def _node(course: Course, name: str) -> str:
    return _one(name, "terminal", [*course.wired.around])


def _element(course: Course, name: str) -> str:
    return _one(name, "element", [*course.wired.elements])


def _either(course: Course, name: str) -> str:
    return _one(name, "end or element", [*course.wired.ends, *course.wired.elements])


def _source(course: Course, name: str) -> str:
    return _one(name, "source", [e.name for e in course.wired.elements.values() if e.kind in (Kind.DIRECT, Kind.ALTERNATING)])


def _number(told: str) -> float:
    try:
        value = float(told.replace(",", "."))
    except ValueError:
        raise NotUnderstood(f"{clean(told, 40)!r} is no number") from None
    if not 0 <= value < 1e9:
        raise NotUnderstood(f"{clean(told, 40)} is no number that can be tried: at least 0")
    return value


def _stuck(course: Course, given: Sequence[str]) -> Edit:
    if given[1] not in ("made", "open"):
        raise NotUnderstood(f"a thing is stuck made, or open, not {clean(given[1], 40)!r}")
    return Stuck(_one(given[0], "thing", course.wired.things), given[1] == "made")


_EDITS: Mapping[str, Callable[[Course, Sequence[str]], Edit]] = {
    "swap": lambda course, given: Swap(_end(course, given[0]), _end(course, given[1])),
    "move": lambda course, given: Move(_end(course, given[0]), _node(course, given[1])),
    "open": lambda course, given: Open(_either(course, given[0])),
    "loose": lambda course, given: Loose(_either(course, given[0]), _number(given[1])),
    "join": lambda course, given: Join(_node(course, given[0]), _node(course, given[1])),
    "short": lambda course, given: Join(_node(course, given[0]), _node(course, given[1])),
    "reverse": lambda course, given: Reverse(_source(course, given[0])),
    "value": lambda course, given: Scale(_element(course, given[0]), _number(given[1])),
    "stuck": _stuck,
}


def _omitted(course: Course, told: str, step: str) -> Mistake:
    _one(step, "step", [one.id for one, _ in course.steps])
    acts = [event.number for event in course.events if event.step.id == step and isinstance(event.item, Act)]
    if not acts:
        raise NotUnderstood(f"{step} makes and unmakes nothing: it only reads, and what it would find is told by prove")
    return Mistake(told, "tried", "omit", step, min(acts), omits=frozenset(acts))


def _set(course: Course, told: str, unit: str, setting: str, value: str) -> Mistake:
    parts = course.planned.parts
    _one(unit, "unit", parts.units.tags)
    known = [one.setting for one in parts.settings.of.get(unit, ())]
    name = _one(setting.replace(" ", "_"), "setting", known)
    if any(one.setting == name and one.value == value for one in parts.settings.of[unit]):
        raise NotUnderstood(f"{unit} is to be set so: that is no mistake")
    since = course.event_of(Verb.ENTER, f"{unit} settings")
    edits, harm, harms = setting_harm(course, unit, name)
    return Mistake(told, "tried", "set", "", since or 0, edits, settings={unit: {name: value}}, harm=harm, harms=harms)
