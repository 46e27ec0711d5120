"""What is wrong at a site whose readings are wrong: the fewest mistakes that explain them all, and what to measure next.

Consistency-based diagnosis. A cause is a minimal set of mistakes that hits, for every wrong reading, those that explain it (Reiter 1987,
“A theory of diagnosis from first principles”, Artificial Intelligence 32); the next reading is the one after which the causes are expected
to be told apart best, by entropy (de Kleer and Williams 1987, “Diagnosing multiple faults”, Artificial Intelligence 32). All mistakes are
taken as equally likely, and so are all scenarios of what nobody answered. Mistakes of which one hides another are not looked for.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from engine.frozen import dataclass
from engine.model.acts import RESIDUAL, Instrument, Reading
from engine.model.elements import Stuck
from engine.model.scenario import SCENARIOS, Scenario
from engine.proof.course import Course, Event, Site
from engine.proof.felt import NAMED, Felt
from engine.proof.mistake import Mistake
from engine.proof.mistakes import omissions, singles
from engine.proof.observed import Observed, Shown, error, level, reading_of, side

_MOST = 2  # mistakes at once
_LEAST_GAIN = 0.02  # bit; below it a reading tells nothing apart
# Three that spread what nobody answered: a reading that is right in them all is wrong in another one for one mistake in some hundred.
_QUICK = SCENARIOS[0], SCENARIOS[1], SCENARIOS[6]
_SIFTED = (60, SCENARIOS[:1]), (5, _QUICK)  # so many readings that promise most in these are looked at further
_APART = 3  # values of a cause that are told apart; more are taken as anything between: they hang on what nobody knows
_BARE = (Instrument.INSULATION, Instrument.MILLIOHM)  # taken on conductors that are not landed


@dataclass(frozen=True, eq=False)
class Cause:
    """Mistakes that together explain every reading. `doubted`: an earlier reading that would have shown it, had it been taken as written."""

    mistakes: tuple[Mistake, ...]
    doubted: Event | None = None


@dataclass(frozen=True, eq=False)
class Result:
    """One thing that a reading may show, and the causes, by their place, that make it show that."""

    shows: tuple[Shown, ...]
    causes: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Next:
    """The reading to take next, as the site stands now, and what it may show; entropy in bit before, and as expected after."""

    event: Event
    results: tuple[Result, ...]
    before: float
    after: float


@dataclass(frozen=True, eq=False)
class Diagnosis:
    """What explains the readings: `causes`, fewest mistakes first; where there is none, `parts` explain some of them.

    `again` are the events to repeat after the repair of each cause.
    """

    observed: tuple[Observed, ...]
    causes: tuple[Cause, ...]
    parts: tuple[Mistake, ...]
    following: Next | None
    again: tuple[tuple[Event, ...], ...]


def find(course: Course, seen: Sequence[Observed]) -> Diagnosis:
    """The causes of what was read, which is one reading at least.

    Every reading of a step that holds, before the first wrong one, is taken as passed, unless it is among those given.
    """
    search = _Search(course, seen)
    causes, parts = search.causes()
    return Diagnosis(tuple(seen), causes, parts, search.following(causes), tuple(tuple(search.again(cause)) for cause in causes))


def hitting_sets(conflicts: Sequence[Iterable[int]], most: int) -> list[frozenset[int]]:
    """The minimal sets of at most so many that have a member in each of these, smallest first."""
    found = {frozenset[int]()}
    for conflict in map(frozenset, conflicts):
        hit = {one for one in found if one & conflict}
        grown = {one | {more} for one in found - hit if len(one) < most for more in conflict}
        found = hit | {one for one in grown if not any(other < one for other in hit)}
    return sorted((one for one in found if not any(other < one for other in found)), key=lambda one: (len(one), sorted(one)))


class _Search:
    def __init__(self, course: Course, seen: Sequence[Observed]) -> None:
        self.course = course
        self.wrong = [one for one in seen if not one.right]
        self.right = [one for one in seen if one.right]
        given = {event.number for one in seen for event in one.events}
        first = min((event.number for one in self.wrong for event in one.events), default=0)
        self.now = max((event for one in seen for event in one.events), key=lambda event: event.number)
        self.before = [e for e in course.events[:first] if isinstance(e.item, Reading) and e.step.hold and e.number not in given]
        self.given = {_key(event) for one in seen for event in one.events}
        self.felt = Felt(course)
        self._sites: dict[tuple[Mistake, ...], Site] = {}
        self._known: dict[tuple[tuple[Mistake, ...], Event, Scenario], Shown] = {}
        self._doubts: dict[Mistake, Event | None] = {}

    # --- which mistakes ---

    def causes(self) -> tuple[tuple[Cause, ...], tuple[Mistake, ...]]:
        """The causes; and, where there are none, the mistakes that explain a part."""
        if not self.wrong:
            return (), ()
        near = list(self._near())
        quick = [mistake for mistake in near if self._hints(mistake)]
        alone, whole, kept = self._explaining(quick)
        if not kept:
            alone, whole, kept = self._explaining(near)
        if kept:
            return tuple(Cause((m,)) for m in kept), ()
        earlier = {mistake: self._earlier(mistake) for mistake in alone}
        parts = [mistake for mistake in alone if earlier[mistake] is None]
        return (*map(Cause, self._together(parts)), *(Cause((m,), earlier[m]) for m in whole)), tuple(parts)

    def _explaining(self, mistakes: Iterable[Mistake]) -> tuple[list[Mistake], list[Mistake], list[Mistake]]:
        """Those that explain a part; of them those that explain all of it; and of these those that no reading before would have shown."""
        alone = [m for m in mistakes if any(self._agrees((m,), one) for one in self.wrong) and self._agree((m,), self.right)]
        whole = [m for m in alone if self._agree((m,), self.wrong)]
        return alone, whole, [m for m in whole if self._earlier(m) is None]

    def _hints(self, mistake: Mistake) -> bool:
        """Whether one of the wrong readings is wrong with a mistake in a few scenarios."""
        return any(
            side(reading_of(event), self._shown((mistake,), event, scenario))
            for one in self.wrong
            for event in one.events
            for scenario in _QUICK
        )

    def _near(self) -> Iterator[Mistake]:
        """Mistakes that can change any of the wrong readings: that are made by then, and meet what is read."""
        events = [event for one in self.wrong for event in one.events]
        table = singles(self.course)
        # An act that was left out is told once, where the table has what it leaves undone.
        undone = {(edit.thing, m.since) for m in table for edit in m.edits if isinstance(edit, Stuck) and not edit.made}
        acts = (m for m in omissions(self.course) if not any((thing, m.since) in undone for thing in self.felt.omitted(m)))
        for mistake in (*table, *acts):
            if any(self.felt.by(event, mistake) for event in events):
                yield mistake

    def _together(self, alone: Sequence[Mistake]) -> Iterator[tuple[Mistake, ...]]:
        conflicts = [[place for place, mistake in enumerate(alone) if self._agrees((mistake,), one)] for one in self.wrong]
        for places in hitting_sets(conflicts, _MOST):
            mistakes = tuple(alone[place] for place in sorted(places))
            if sum(bool(mistake.omits) for mistake in mistakes) < 2 and self._agree(mistakes, (*self.wrong, *self.right)):
                yield mistakes

    def _earlier(self, mistake: Mistake) -> Event | None:
        """The first reading before the first wrong one that does not pass with the mistake, whatever the gear is like inside."""
        if mistake not in self._doubts:
            self._doubts[mistake] = next((event for event in self.before if not self._passes(event, mistake)), None)
        return self._doubts[mistake]

    def _passes(self, event: Event, mistake: Mistake) -> bool:
        """Whether a reading passes with a mistake in some scenario."""
        site = self._site((mistake,))
        return any(not self.felt.by(event, mistake, (scenario,)) or site.passes(event, scenario) for scenario in SCENARIOS)

    def _agree(self, mistakes: tuple[Mistake, ...], seen: Iterable[Observed]) -> bool:
        return all(self._agrees(mistakes, one) for one in seen)

    def _agrees(self, mistakes: tuple[Mistake, ...], one: Observed) -> bool:
        return one.agrees(lambda event: self.shown(mistakes, event))

    # --- what they show ---

    def shown(self, mistakes: tuple[Mistake, ...], event: Event, scenarios: Sequence[Scenario] = SCENARIOS) -> list[Shown]:
        """What a reading shows with these mistakes, one for each scenario."""
        return [self._shown(mistakes, event, scenario) for scenario in scenarios]

    def _shown(self, mistakes: tuple[Mistake, ...], event: Event, scenario: Scenario) -> Shown:
        there = tuple(m for m in mistakes if self.felt.by(event, m, (scenario,)))
        key = there, event, scenario
        if key not in self._known:
            self._known[key] = self._site(there).read(event, scenario)
        return self._known[key]

    def _site(self, mistakes: tuple[Mistake, ...]) -> Site:
        if mistakes not in self._sites:
            self._sites[mistakes] = self.course.site(_joined(mistakes)) if mistakes else self.course.right
        return self._sites[mistakes]

    # --- what next ---

    def following(self, causes: Sequence[Cause]) -> Next | None:
        """The reading of the order that, taken as the site stands now, is expected to tell the causes apart best; None where none does."""
        if len(causes) < 2:
            return None
        near = [self._around(cause) for cause in causes]
        possible = [event for event in self._possible() if not (at := self._at(event)) or any(at & nodes for nodes in near)]
        for most, scenarios in _SIFTED:
            possible = [one.event for one in self._ordered(possible, causes, scenarios)[:most]]
        safe = [event for event in possible if not self._live(event, causes)]
        return next(iter(self._ordered(safe, causes, SCENARIOS)), None)

    def _ordered(self, events: Iterable[Event], causes: Sequence[Cause], scenarios: Sequence[Scenario]) -> list[Next]:
        """Readings that tell causes apart, best first: by what is left, then those at which nobody can be hurt."""
        tried = [found for event in events if (found := self._tried(event, causes, scenarios))]
        told = [found for found in tried if found.before - found.after > _LEAST_GAIN]
        return sorted(told, key=lambda one: (round(one.after, 6), one.event.step.hurt))

    def _live(self, event: Event, causes: Sequence[Cause]) -> bool:
        """Whether an ohmmeter might meet voltage there, with any of the causes."""
        if reading_of(event).instrument is not Instrument.OHM:
            return False
        sites = [self._site(tuple(m for m in cause.mistakes if m.since <= event.number)) for cause in causes]
        return any(math.isnan(float(site.read(event, scenario))) for site in sites for scenario in SCENARIOS)

    def _around(self, cause: Cause) -> frozenset[str]:
        """All nodes whose readings the cause can change, as the site stands now."""
        right = self.course.right
        ours = frozenset().union(*(self.felt.altered(mistake)[0] for mistake in cause.mistakes))
        known = [node for node in ours if node in self.course.wired.around]
        return ours.union(*(right.solved(self.now, scenario).reach(known) for scenario in SCENARIOS))

    def _at(self, event: Event) -> set[str]:
        """The nodes of a reading; none, where it is not one of a circuit."""
        return set() if reading_of(event).instrument in NAMED else set(self.course.nodes(event)) & self.course.wired.around.keys()

    def _possible(self) -> Iterator[Event]:
        """Every other reading of the order, once, as the site stands now: of like ones the nearest, from now on before what was."""
        found: dict[object, Event] = {}
        for event in sorted(
            (e for e in self.course.events if isinstance(e.item, Reading)),
            key=lambda e: (e.number <= self.now.number, abs(e.number - self.now.number)),
        ):
            if _key(event) not in self.given and self._can(reading_of(event)):
                found.setdefault(_key(event), replace(event, number=self.now.number, made=self.now.made, lifted=self.now.lifted))
        return iter(found.values())

    def _can(self, reading: Reading) -> bool:
        """Whether a reading can be taken now."""
        made, at, tags = self.now.made, reading.at, self.course.planned.parts.units.tags
        if reading.instrument is Instrument.DISPLAY:
            return made.issuperset({at[0]} if at[0] in tags else tags)
        if reading.instrument in _BARE:
            return at[0] not in made
        if reading.instrument is Instrument.MICROOHM:
            return self.course.wired.elements[self.course.wired.ends[at[0]][0]].when <= made
        if reading.instrument is Instrument.TRIP:
            return RESIDUAL in made
        if reading.instrument is Instrument.LOOK:
            return True
        lifted = {f"{end} free" for end in self.now.lifted}
        return all(node in self.course.wired.around or node in self.course.wired.elements or node in lifted for node in at)

    def _tried(self, event: Event, causes: Sequence[Cause], scenarios: Sequence[Scenario]) -> Next | None:
        """What a reading would tell; None where an ohmmeter meets voltage."""
        shows = [self.shown(cause.mistakes, event, scenarios) for cause in causes]
        if any(isinstance(one, float) and math.isnan(one) for every in shows for one in every):
            return None
        weights: dict[tuple[int, ...], tuple[list[Shown], list[float]]] = {}
        for group in _alike(reading_of(event), shows):
            shares = [sum(one in group for one in every) / len(every) / len(causes) for every in shows]
            # What the same causes show tells the same, so that how full a bank is tells nothing.
            values, so_far = weights.setdefault(tuple(place for place, share in enumerate(shares) if share), ([], [0.0] * len(causes)))
            values += group
            so_far[:] = [one + more for one, more in zip(so_far, shares, strict=True)]
        after = sum(-share * math.log2(share / sum(row)) for _, row in weights.values() for share in row if share)
        results = tuple(Result(tuple(values), places) for places, (values, _) in weights.items())
        return Next(event, results, math.log2(len(causes)), after)

    # --- what after ---

    def again(self, cause: Cause) -> Iterator[Event]:
        """The readings up to now that depend on what the repair touches, from the step on that made the mistake."""
        for event in self.course.events[: self.now.number + 1]:
            if isinstance(event.item, Reading) and any(self._repeats(event, mistake) for mistake in cause.mistakes):
                yield event

    def _repeats(self, event: Event, mistake: Mistake) -> bool:
        if event.number < mistake.since:
            return False
        if mistake.since and event.step.id == mistake.by:
            return True
        if reading_of(event).instrument in NAMED:
            return any(one != "as wanted" for one in self.shown((mistake,), event))
        outputs = {f"{tag} load {pole}" for tag in mistake.settings if tag in event.made for pole in ("L", "N")}
        return self.felt.meets(event, self.felt.altered(mistake)[0] | outputs)


def _key(event: Event) -> object:
    reading = reading_of(event)
    return reading.instrument, reading.at, reading.beside


def _joined(mistakes: Sequence[Mistake]) -> Mistake:
    """Several mistakes as one that is there once all of them are."""
    if len(mistakes) == 1:
        return mistakes[0]
    settings: dict[str, Mapping[str, object]] = {}
    for mistake in mistakes:
        settings |= {tag: {**settings.get(tag, {}), **told} for tag, told in mistake.settings.items()}
    return replace(
        mistakes[0],
        name=" and ".join(m.name for m in mistakes),
        since=max(m.since for m in mistakes),
        edits=tuple(edit for m in mistakes for edit in m.edits),
        flaws=frozenset().union(*(m.flaws for m in mistakes)),
        settings=settings,
        omits=frozenset().union(*(m.omits for m in mistakes)),
    )


def _alike(reading: Reading, shows: Sequence[Sequence[Shown]]) -> list[tuple[Shown, ...]]:
    """What causes show, in groups that a meter tells apart."""
    words = sorted({one for every in shows for one in every if isinstance(one, str)})
    numbers = [sorted(one for one in every if not isinstance(one, str)) for every in shows]
    gone = sorted({one for every in numbers for one in every if level(reading, one) == math.inf})
    closed = [[one for one in every if level(reading, one) < math.inf] for every in numbers]
    groups: list[tuple[float, list[float]]] = []
    for low, high, values in sorted(span for every in closed for span in _spans(reading, every)):
        if groups and low <= groups[-1][0]:
            groups[-1] = max(groups[-1][0], high), groups[-1][1] + values
        else:
            groups.append((high, values))
    return [*((word,) for word in words), *(tuple(sorted(set(values))) for _, values in groups), *([tuple(gone)] if gone else [])]


def _spans(reading: Reading, values: Sequence[float]) -> list[tuple[float, float, list[float]]]:
    """What a meter may show for one cause, each span with the values that it is made of: a few values, or, of many, all that lies between."""
    spans: list[tuple[float, float, list[float]]] = []
    for value in values:
        off = error(reading, value)
        if spans and value - off <= spans[-1][1]:
            spans[-1] = spans[-1][0], value + off, [*spans[-1][2], value]
        else:
            spans.append((value - off, value + off, [value]))
    return spans if len(spans) <= _APART else [(spans[0][0], spans[-1][1], list(values))]
