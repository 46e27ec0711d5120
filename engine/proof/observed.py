"""What somebody read at a step, as it was typed, and whether what a site would show there agrees with it.

`NAME@PLACE=VALUE`, or `NAME@PLACE:2=VALUE` for the second reading of a step. A value is a number with its unit, `open` for an ohmmeter,
`30V/52V` where a reading is held against another, the words of a display, or `right` or `wrong` alone.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from difflib import get_close_matches

from engine.frozen import dataclass
from engine.model.acts import Instrument, Reading
from engine.proof.course import Course, Event
from engine.quantities import KINDS, Kind, Refused, read, shown
from engine.text import clean, counted, listed, quoted

Shown = float | str  # what an instrument shows, as `Site.read` tells it

# What two readings of one thing may differ by: 5 %, but no less than this in the unit; common practice, no source.
SHARE = 0.05
LEAST = {"V": 1.0, "ohm": 0.5, "A": 0.01, "ratio": 0.05}
OPEN = 1e3  # ohm from which on a resistance is no wire: what gear and data pins let through is known no better; common practice, no source

_ANY = 1e12
_KINDS = {
    "V": Kind("voltage", "V", KINDS["voltage"].spellings, "51.2 V", least=-_ANY),
    "ohm": Kind("resistance", "ohm", KINDS["resistance"].spellings, "120 ohm", most=_ANY),
    "A": Kind("current", "A", KINDS["current"].spellings, "0.2 A", least=-_ANY),
    "ratio": Kind("share of the mean", "ratio", {"%": "percent"}, "1.05", most=_ANY, bare=True),
}
_NUMBERED = (Instrument.DC, Instrument.AC, Instrument.OHM, Instrument.CLAMP, Instrument.CLAMP_DC, Instrument.LEAKAGE)
_RIGHT = ("right", "yes", "ok", "as wanted")
_WRONG = ("wrong", "no", "not seen", "another")


class Misread(ValueError):
    """A reading that cannot be understood; the message tells a person what would be."""


@dataclass(frozen=True, eq=False)
class Observed:
    """What was read: as `told`, at one event, or, where only a verdict is known, somewhere among all readings of a step.

    `value` is in the unit of its reading; `words` are those of a display; both are nothing where only `right` is known.
    """

    told: str
    events: tuple[Event, ...]
    right: bool
    value: float | None = None
    words: str = ""

    def agrees(self, shows: Callable[[Event], Sequence[Shown]]) -> bool:
        """Whether a site agrees that shows one of these at an event: each of several is one that it may show."""
        found = [any(self._is(reading_of(event), one, shows(event)) for one in shows(event)) for event in self.events]
        return all(found) if self.right else any(found)

    def _is(self, reading: Reading, one: Shown, every: Sequence[Shown]) -> bool:
        where = side(reading, one)
        if self.right or not where:
            return self.right and not where
        if self.value is None or isinstance(one, str):
            return not self.words or _same(self.words, str(one))
        if math.isnan(one):
            return True  # an ohmmeter on voltage shows anything
        if where != side(reading, self.value):
            return False
        # What lies between two values that it may show, it may show too.
        alike = [level(reading, other) for other in every if not isinstance(other, str) and side(reading, other) == where]
        value = level(reading, self.value)
        off = error(reading, value) if math.isfinite(value) else 0.0
        return min(alike) - off <= value <= max(alike) + off


def reading_of(event: Event) -> Reading:
    """The reading of an event that is one."""
    assert isinstance(event.item, Reading)
    return event.item


def side(reading: Reading, one: Shown) -> int:
    """On which side of its band something lies: in it 0, below -1, above or otherwise wrong 1."""
    if isinstance(one, str):
        return 0 if one == "as wanted" else 1
    if reading.takes(one):
        return 0
    return -1 if reading.least is not None and one < reading.least else 1


def level(reading: Reading, value: float) -> float:
    """A value as it is compared: from `OPEN` on a resistance is none."""
    return math.inf if reading.instrument is Instrument.OHM and value >= OPEN else value


def error(reading: Reading, value: float) -> float:
    """What a meter may be off by at a value."""
    return max(SHARE * abs(value), LEAST[_unit(reading)])


def _unit(reading: Reading) -> str:
    return "ratio" if reading.instrument is Instrument.CLAMP else reading.unit


def told(reading: Reading, one: Shown) -> str:
    """What is shown, in words."""
    if isinstance(one, str):
        return one
    if math.isnan(one):
        return "nothing that counts: a voltage lies there"
    if level(reading, one) == math.inf:
        return "open"
    unit = _unit(reading)
    return shown(round(one, 3 if unit != "V" else 1), unit, 3)


def points(reading: Reading) -> str:
    """Where a reading is taken."""
    if reading.beside:
        return f"{reading.at[0]} to {reading.at[1]} against {reading.beside[0]} to {reading.beside[1]}"
    if reading.instrument in _NUMBERED or reading.instrument in (Instrument.ROTATION, Instrument.TRIP):
        return " to ".join(reading.at) if len(reading.at) < 3 else ", ".join(reading.at)
    return ", ".join(part.replace("_", " ") for part in reading.at)


# --- what was typed ---


def observed(course: Course, given: str) -> Observed:
    """One reading as it was typed. Misread: no such step, or nothing that its instrument shows."""
    name, equals, value = given.rpartition("=")
    if not equals:
        raise Misread(f"{quoted(given)} is no reading: wanted NAME@PLACE=VALUE, such as chain-resistance@L1-1=120ohm")
    events = _events(course, name.strip())
    value = value.strip()
    word = " ".join(value.lower().split())
    told = clean(f"{name.strip()}={value}")
    if word in ("right", "wrong"):
        return Observed(told, events, word == "right")
    if len(events) > 1:
        raise Misread(_which(name.strip(), events))
    reading = reading_of(events[0])
    if reading.instrument in _NUMBERED:
        number = _number(reading, value, told)
        return Observed(told, events, reading.takes(number), number)
    return _worded(reading, events, word, told)


def _events(course: Course, name: str) -> tuple[Event, ...]:
    """The readings of a step, or the one that is named."""
    by_step: dict[str, list[Event]] = {step.id: [] for step, _ in course.steps}
    for event in course.events:
        if isinstance(event.item, Reading):
            by_step[event.step.id].append(event)
    step, _, number = name.rpartition(":") if name not in by_step and re.search(r":\d+$", name) else (name, "", "")
    # On paper a step has a number: 44@L3-1.
    by_number = {f"{one.place}@{one.at}": one.id for one, _ in course.steps}
    step = by_number.get(step, step)
    if step not in by_step:
        near = get_close_matches(step, by_step, n=3, cutoff=0.5)
        hint = f"; the nearest: {', '.join(near)}" if near else ""
        raise Misread(f"{quoted(step)} is no step of this order of work{hint}")
    found = by_step[step]
    if not found:
        raise Misread(f"nothing is read at {step} that is modelled: go by what the order of work says there if it is wrong")
    if not number:
        return tuple(found)
    if not 1 <= int(number) <= len(found):
        raise Misread(f"{step} takes {counted(len(found), 'reading')}; there is no {int(number)} of them")
    return (found[int(number) - 1],)


def _which(name: str, events: Sequence[Event]) -> str:
    lines = [f"  {name}:{n}  {points(reading_of(e))}: {reading_of(e).band or 'right or wrong'}" for n, e in enumerate(events, 1)]
    return "\n".join([f"{name} takes {len(events)} readings; name the one that you mean:", *lines])


def _number(reading: Reading, value: str, told: str) -> float:
    if value.lower() == "open":
        if reading.instrument is not Instrument.OHM:
            raise Misread(f"{quoted(told)}: only an ohmmeter shows open; wanted {_KINDS[_unit(reading)].wanted}")
        return math.inf
    kind = _KINDS[_unit(reading)]
    try:
        if not reading.beside:
            return read(kind, value)
        one, stroke, other = value.partition("/")
        if not stroke:
            raise Misread(
                f"{quoted(told)}: this is held against another reading; give both, as 30V/52V, or 1.5V/0V of a meter across the two"
            )
        return read(kind, one) - read(kind, other)
    except Refused as problem:
        raise Misread(f"{quoted(told)}: {problem}; or right or wrong") from None


def _worded(reading: Reading, events: tuple[Event, ...], word: str, told: str) -> Observed:
    if word in _RIGHT or (reading.want and _wanted(reading, word)):
        return Observed(told, events, right=True)
    if word in _WRONG:
        return Observed(told, events, right=False)
    if reading.instrument in (Instrument.DISPLAY, Instrument.ROTATION) and word:
        return Observed(told, events, right=False, words=word)
    raise Misread(f"{quoted(told)}: the paper of the step says what is right here; wanted right or wrong")


def _wanted(reading: Reading, word: str) -> bool:
    """Whether these are the words that a display should show: alone, behind its own name, or as in "3 of 3 units"."""
    beside = {*_tokens(reading.at[1]), "units", "of"}
    want, rest = _tokens(reading.want), [token for token in _tokens(word) if token not in beside]
    return bool(want) and rest in (want, want * 2)


def _same(words: str, shows: str) -> bool:
    """Whether a display that shows something else than wanted may show these words. One wrong setting stands for every other."""
    if ": " in shows:
        return True
    return _within(_tokens(shows.removeprefix("rotation ").partition(" of ")[0]), _tokens(words))


def _tokens(text: str) -> list[str]:
    found = re.findall(r"\d+(?:\.\d+)?|[^\W\d_]+", text.lower().replace(",", "."))
    return [str(float(part)) if part[0].isdigit() else part for part in found]


def _within(few: Sequence[str], many: Sequence[str]) -> bool:
    return bool(few) and any(list(many[at : at + len(few)]) == list(few) for at in range(len(many) - len(few) + 1))


def several(names: Sequence[str]) -> str:
    """Names of steps, those done at several places told once: `display@L1-1, L2-1`."""
    places: dict[str, list[str]] = {}
    for name in dict.fromkeys(names):
        step, _, place = name.partition("@")
        places.setdefault(step, []).append(place)
    return ", ".join(f"{step}@{listed(at, 4)}" for step, at in places.items())
