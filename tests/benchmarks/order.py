"""The order of work put to the test; run by itself:

    python -m tests.benchmarks.order SAMPLE [--what mutate|blind|pairs|economy] [--minutes M] [--count N] [--seed N] [--to FILE]

economy   for every step and reading, the mistakes that it alone stops; steps that stop none alone; lethal mistakes with one step only
mutate    each reading taken out, each band doubled, neighbouring steps exchanged, each act left out: what is then late or unseen
blind     seeded random edits of the wired site: harmful ones that nobody sees
pairs     two single mistakes at once, those whose islands meet; that the others are as two single ones is checked on random pairs
"""

from __future__ import annotations

import argparse
import multiprocessing
import re
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from engine.model.acts import RESIDUAL, Act, Reading, Verb
from engine.model.elements import Edit, Join, Open, Scale, Swap
from engine.model.scenario import SCENARIOS
from engine.proof.course import Course, limits, touched
from engine.proof.judge import Fate, Outcome, judge
from engine.proof.mistake import Mistake
from engine.proof.mistakes import omissions, singles
from tests.engine.paper_sites import sample

_JOBS = 2
_LOST = (Fate.LATE, Fate.UNSEEN, Fate.BETWEEN)


@dataclass(frozen=True)
class Seen:
    """What is kept of an outcome: it travels between processes."""

    place: int
    name: str
    kind: str
    fate: str
    stops: tuple[int, ...]  # events that see it in every scenario, before its first harm
    seen: int
    harm: str

    @property
    def lost(self) -> bool:
        return self.fate in (fate.name for fate in _LOST)


# What a process works on; set before processes are forked, so that they share it.
_of: dict[str, Any] = {}


def _kept(place: int, outcome: Outcome) -> Seen:
    first = outcome.harm
    stops = tuple(c.event.number for c in outcome.catches if c.always and (first is None or c.event.number < first[1]))
    m = outcome.mistake
    return Seen(place, m.name, f"{m.element}, {m.defect}", outcome.fate.name, stops, len(outcome.catches), first[0] if first else "")


def _whole(place: int) -> Seen:
    return _kept(place, judge(_of["course"], _of["mistakes"][place], whole=True))


def _quick(place: int) -> Seen:
    return _kept(place, judge(_of["course"], _of["mistakes"][place]))


def _each(work: Callable[[Any], Any], over: Iterable[Any], until: float) -> Iterator[Any]:
    """Each in two processes, until the time is up."""
    with multiprocessing.get_context("fork").Pool(_JOBS) as pool:
        for found in pool.imap_unordered(work, over, chunksize=4):
            yield found
            if time.monotonic() > until:
                return


def _like(text: str) -> str:
    """A name without numbers: of any unit, line, bank, string."""
    text = re.sub(r"\bL\d-\d+", "UNIT", text)
    text = re.sub(r"\bL[123]\b", "LINE", text)
    return re.sub(r"\bB\d+\b", "BANK", re.sub(r"(string|behind|module|surge device) \w+", r"\1", text))


def _groups(found: Iterable[tuple[str, str]], most: int = 60) -> Iterator[str]:
    """Of each kind how many, and one of them."""
    groups: dict[str, list[str]] = {}
    for kind, one in found:
        groups.setdefault(kind, []).append(one)
    for kind, some in sorted(groups.items(), key=lambda pair: -len(pair[1]))[:most]:
        yield f"  {len(some):>5} {kind}: {some[0]}"
    if len(groups) > most:
        yield f"  and {len(groups) - most} kinds more"


def _step(number: int) -> str:
    return _of["course"].events[number].step.id.partition("@")[0]


def _reading(number: int) -> str:
    item = _of["course"].events[number].item
    return f"{_step(number)}: {item.instrument.value} {_like(' / '.join(item.at[:2]))}"


# --- economy ---


def _everything(until: float) -> list[Seen]:
    return sorted(_each(_whole, range(len(_of["mistakes"])), until), key=lambda seen: seen.place)


def economy(until: float) -> Iterator[str]:
    """What each step, and each kind of reading, stops alone, of the mistakes that do harm."""
    found = _everything(until)
    yield f"{len(found)} of {len(_of['mistakes'])} mistakes: {dict(Counter(seen.fate for seen in found))}"
    harmful = [seen for seen in found if seen.harm]
    course = _of["course"]
    readings = Counter(_step(e.number) for e in course.events if isinstance(e.item, Reading))
    for title, of in (("step", _step), ("kind of reading", _reading)):
        stops, first, alone = Counter[str](), Counter[str](), dict[str, list[Seen]]()
        for seen in harmful:
            names = [of(number) for number in seen.stops]
            stops.update(set(names))
            first.update(names[:1])
            if len(set(names)) == 1:
                alone.setdefault(names[0], []).append(seen)
        names = list(dict.fromkeys(of(e.number) for e in course.events if isinstance(e.item, Reading)))
        yield f"{title}: stops, of those first, of those alone (harmful mistakes; kinds that it alone stops)"
        for name in names:
            kinds = Counter(seen.kind for seen in alone.get(name, ()))
            told = "; ".join(f"{kind} {count}" for kind, count in kinds.most_common(6))
            yield f"  {stops[name]:>4} {first[name]:>4} {len(alone.get(name, ())):>4}  {name}{f' ({readings[name]} readings)' if of is _step else ''}  {told}"
        yield f"  stop none alone: {'; '.join(name for name in names if name not in alone)}"
    lethal = [seen for seen in harmful if limits()[seen.harm]["lethal"] == "yes" and len({_step(n) for n in seen.stops}) < 2]
    yield f"lethal (first harm), stopped by fewer than two steps: {len(lethal)}"
    yield from _groups((f"{seen.kind} [{seen.harm}] only {_step(seen.stops[0]) if seen.stops else 'nothing'}", seen.name) for seen in lethal)
    yield "none of these steps reads anything: " + ", ".join(sorted({s.id.partition("@")[0] for s, d in course.steps if not any(isinstance(i, Reading) for i in d)}))


# --- mutations ---


def _doubled(reading: Reading) -> Reading | None:
    """The same with a band of twice the width, or a bound twice as far off."""
    low, high = reading.least, reading.most
    if low is None and high is None:
        return None
    if low is not None and high is not None:
        return replace(reading, least=low - (high - low) / 2, most=high + (high - low) / 2)
    return replace(reading, least=low / 2 if low is not None else None, most=high * 2 if high is not None else None)


def _passes_doubled(task: tuple[int, int]) -> tuple[int, int, bool]:
    """Whether a mistake passes a reading in some scenario with its band doubled."""
    place, number = task
    course: Course = _of["course"]
    event = course.events[number]
    wider = _doubled(event.item) if isinstance(event.item, Reading) else None
    values = [course.site(_of["mistakes"][place]).read(event, scenario) for scenario in SCENARIOS] if wider else []
    return place, number, bool(wider) and any(not isinstance(value, str) and wider.takes(value) for value in values)


def _key(mistakes: Sequence[Mistake]) -> list[tuple[str, int]]:
    """A name for each, also where a mistake can be made twice."""
    seen: Counter[str] = Counter()
    keys = []
    for mistake in mistakes:
        seen[mistake.name] += 1
        keys.append((mistake.name, seen[mistake.name]))
    return keys


def _exchanged(place: int) -> tuple[int, list[str], list[tuple[str, str]]]:
    """The order with a step behind the next one: right readings that fail then, and mistakes that were stopped and are not."""
    course: Course = _of["course"]
    steps = list(course.steps)
    steps[place : place + 2] = steps[place + 1], steps[place]
    other = Course(course.planned, steps)
    wrong = [
        e.step.id for e in other.events if isinstance(e.item, Reading) and e.step in (steps[place][0], steps[place + 1][0])
        and not all(other.right.passes(e, scenario) for scenario in SCENARIOS)
    ]
    begins = next((e.number for e in other.events if e.step in (steps[place][0], steps[place + 1][0])), len(other.events))
    was = dict(zip(_key(_of["mistakes"]), _of["found"], strict=True))
    mistakes = singles(other)
    lost = []
    for key, mistake in zip(_key(mistakes), mistakes, strict=True):
        before = was.get(key)
        if before is None or before.lost or (before.stops and before.stops[0] < begins):
            continue
        outcome = judge(other, mistake)
        if outcome.fate in _LOST:
            lost.append((f"{mistake.element}, {mistake.defect} {outcome.fate.name}", mistake.name))
    return place, list(dict.fromkeys(wrong)), lost


def mutate(until: float) -> Iterator[str]:
    """What every change of the order costs."""
    course: Course = _of["course"]
    found = _of["found"] = _everything(until)
    yield f"{len(found)} of {len(_of['mistakes'])} mistakes gone through: {dict(Counter(seen.fate for seen in found))}"
    only = [(seen.place, seen.stops[0]) for seen in found if seen.harm and len(seen.stops) == 1]
    readings = [e.number for e in course.events if isinstance(e.item, Reading)]
    yield f"each of {len(readings)} readings taken out: {len({number for _, number in only})} are missed, by {len(only)} mistakes"
    yield from _groups((f"without {_reading(number)}", _of["mistakes"][place].name) for place, number in only)
    wide = [(place, number) for place, number, passes in _each(_passes_doubled, only, until) if passes]
    yield f"each band doubled: {len({number for _, number in wide})} bands lose {len(wide)} mistakes"
    yield from _groups((f"doubled {_reading(number)}", _of["mistakes"][place].name) for place, number in wide)
    lost = list(_each(_quick_omission, range(len(_of["omissions"])), until))
    yield f"each of {len(_of['omissions'])} acts left out, {len(lost)} judged: {dict(Counter(seen.fate for seen in lost))}"
    yield from _groups((f"{seen.fate} [{seen.harm}] {_like(seen.name)}", f"in {_of['omissions'][seen.place].by}") for seen in lost if seen.lost)
    steps = [place for place in range(len(course.steps) - 1) if course.steps[place][1] and course.steps[place + 1][1]]
    done = list(_each(_exchanged, steps, until))
    bad = [(place, wrong, gone) for place, wrong, gone in done if wrong or gone]
    yield f"neighbouring steps exchanged, {len(done)} of {len(steps)} pairs: {len(bad)} matter"
    for place, wrong, gone in sorted(bad):
        kinds = "; ".join(f"{kind} {count}" for kind, count in Counter(kind for kind, _ in gone).most_common(5))
        told = f" a right site fails {', '.join(wrong)};" if wrong else ""
        yield f"  {course.steps[place][0].id} behind {course.steps[place + 1][0].id}:{told} {kinds}"


def _quick_omission(place: int) -> Seen:
    return _kept(place, judge(_of["course"], _of["omissions"][place]))


# --- blind edits ---


def blind_edits(course: Course, seed: int) -> Iterator[Mistake]:
    """Random edits, one after the other: opened, joined, two ends exchanged, ten times the value. Conductors are wrong from when they are landed."""
    dice, names = Random(seed), course.wired.names()
    while True:
        how = dice.choice(("open", "join", "swap", "value"))
        edit: Edit
        if how == "open":
            given = [dice.choice((*names["elements"], *names["ends"]))]
            edit = Open(given[0])
        elif how == "join":
            given = dice.sample(names["terminals"], 2)
            edit = Join(given[0], given[1])
        elif how == "swap":
            given = dice.sample(names["ends"], 2)
            edit = Swap(given[0], given[1])
        else:
            given = [dice.choice(names["elements"])]
            edit = Scale(given[0], 10.0)
        things = {thing for name in given if name in course.wired.ends for thing in course.wired.elements[course.wired.ends[name][0]].when}
        since = min((n for t in things for verb in (Verb.LAND, Verb.PLUG) if (n := course.event_of(verb, t)) is not None), default=0)
        yield Mistake(f"{how} {' | '.join(given)}", "blind", how, "", since, (edit,))


def blind(until: float) -> Iterator[str]:
    """Those that do harm and are not stopped before."""
    done = list(_each(_quick, range(len(_of["mistakes"])), until))
    yield f"{len(done)} blind edits: {dict(Counter(seen.fate for seen in done))}"
    lost = [seen for seen in done if seen.lost]
    yield from _groups(((f"{seen.fate} [{seen.harm}] {_like(seen.name)}", seen.name) for seen in sorted(lost, key=lambda seen: seen.place)), 120)


# --- pairs ---


@cache
def _islands(place: int) -> tuple[frozenset[str], ...]:
    """In each state of the order, all nodes that a mistake reaches."""
    course: Course = _of["course"]
    nodes = [node for node in touched(course, _of["mistakes"][place]) if node in course.wired.around]
    return tuple(frozenset().union(*(course.right.solved(e, scenario).reach(nodes) for scenario in _of["few"])) for e in _of["states"])


def together(one: Mistake, other: Mistake) -> Mistake:
    """Both at once, from when the later one is made."""
    settings = {tag: {**one.settings.get(tag, {}), **other.settings.get(tag, {})} for tag in (*one.settings, *other.settings)}
    harmful = min((m for m in (one, other) if m.harms is not None), key=lambda m: m.harms or 0, default=one)
    return Mistake(
        f"{one.name} + {other.name}", one.element, one.defect, one.by, max(one.since, other.since), (*one.edits, *other.edits),
        one.flaws | other.flaws, settings, one.omits | other.omits, harmful.harm, harmful.harms,
    )


def _electrical(mistake: Mistake) -> bool:
    """A flaw that is read by its name is read whatever else is wrong."""
    return bool(mistake.edits or mistake.settings or any(thing == RESIDUAL for thing, _ in mistake.flaws))


def _meet(one: int, other: int) -> bool:
    return any(not a.isdisjoint(b) for a, b in zip(_islands(one), _islands(other), strict=True))


def _pair(task: tuple[int, int]) -> tuple[bool, Seen | None]:
    """Whether two mistakes cannot act on each other, and what becomes of both: of those that cannot where `apart` is set, else of the others."""
    one, other = (_of["found"][place] for place in task)
    later = max(_of["mistakes"][place].since for place in task)
    # The first is stopped, and put right, before the other one is made.
    apart = any(seen.stops and seen.stops[0] < later for seen in (one, other)) or not _meet(*task)
    if apart != _of["apart"]:
        return apart, None
    a, b = (_of["mistakes"][place] for place in task)
    if apart and max(a.since, b.since) > min(seen.stops[0] if seen.stops else 10**9 for seen in (one, other)):
        return apart, None
    outcome = judge(_of["course"], together(a, b))
    return apart, replace(_kept(0, outcome), kind=f"{a.element}, {a.defect} + {b.element}, {b.defect}")


def pairs(until: float) -> Iterator[str]:
    """Two at once: those that are lost though each alone is not."""
    course: Course = _of["course"]
    alone = until - (until - time.monotonic()) * 0.7
    _of["found"] = sorted(_each(_quick, range(len(_of["mistakes"])), alone), key=lambda seen: seen.place)
    good = [s.place for s in _of["found"] if not s.lost and _electrical(_of["mistakes"][s.place])]
    seen_states: dict[Any, Any] = {}
    for event in course.events:
        seen_states.setdefault((event.made, event.lifted), event)
    _of["states"], _of["few"] = tuple(seen_states.values()), SCENARIOS
    every = [(a, b) for place, a in enumerate(good) for b in good[place + 1 :]]
    _of["dice"].shuffle(every)
    yield f"{len(_of['mistakes'])} mistakes, {len(good)} of them electrical and not lost alone: {len(every)} pairs"
    _of["apart"], checked = True, every[:6000]
    half = time.monotonic() + (until - time.monotonic()) * 0.3
    found = [seen for apart, seen in _each(_pair, checked, half) if apart and seen]
    wrong = [seen for seen in found if seen.lost]
    yield f"independent by argument and judged all the same: {len(found)} pairs, {len(wrong)} lost"
    yield from _groups((f"{seen.fate} {seen.kind}", seen.name) for seen in wrong)
    _of["apart"] = False
    done = list(_each(_pair, every, until))
    judged = [seen for apart, seen in done if seen]
    yield f"{len(done)} pairs: {len(done) - len(judged)} independent, {len(judged)} judged: {dict(Counter(seen.fate for seen in judged))}"
    yield from _groups((f"{seen.fate} [{seen.harm}] {seen.kind}", seen.name) for seen in judged if seen.lost)


def main() -> int:
    """Run one of them and print what it found."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("sample")
    parser.add_argument("--what", choices=("mutate", "blind", "pairs", "economy"), default="economy")
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--to", type=Path)
    given = parser.parse_args()
    begun = time.monotonic()
    course = _of["course"] = Course(sample(given.sample))
    edits = blind_edits(course, given.seed)
    _of["mistakes"] = [next(edits) for _ in range(given.count)] if given.what == "blind" else singles(course)
    _of["omissions"], _of["dice"] = list(omissions(course)), Random(given.seed)
    acts = sum(isinstance(e.item, Act) for e in course.events)
    lines = [f"{given.sample}, {given.what}: {len(course.steps)} steps, {acts} acts, {len(course.events) - acts} readings"]
    print(lines[0], flush=True)
    for line in {"mutate": mutate, "blind": blind, "pairs": pairs, "economy": economy}[given.what](begun + 60 * given.minutes):
        print(line, flush=True)
        lines.append(line)
    lines.append(f"in {time.monotonic() - begun:.0f} s, {_JOBS} at a time")
    print(lines[-1])
    if given.to:
        given.to.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
