"""Which mistakes a reading can feel at all, as the site stands there: far fewer than those that meet its islands."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from itertools import combinations

from engine.model.acts import Act, Instrument, Reading
from engine.model.elements import Loose
from engine.model.islands import Test
from engine.model.scenario import SCENARIOS, Scenario
from engine.model.solved import Solved
from engine.proof.course import Course, Event, Site, altered
from engine.proof.mistake import Mistake

# What these show is told by name, not by a circuit.
NAMED = (Instrument.LOOK, Instrument.INSULATION, Instrument.MICROOHM, Instrument.MILLIOHM, Instrument.DISPLAY)
_DATA = tuple({scenario.data: scenario for scenario in SCENARIOS}.values())  # one with each level of the data common


class Felt:
    """What the readings of a course feel of its mistakes. That a mistake puts voltage on an ohmmeter is left out."""

    def __init__(self, course: Course) -> None:
        self.course = course
        self._acts: dict[str, list[int]] = {}
        for event in course.events:
            if isinstance(event.item, Act):
                self._acts.setdefault(event.item.thing, []).append(event.number)
        self._turns: dict[tuple[frozenset[str], frozenset[str], Mistake, str], bool] = {}
        self._outputs: dict[tuple[object, ...], bool] = {}
        self._taken: dict[Event, tuple[tuple[Test, str, str], ...]] = {}
        self._solved: dict[tuple[Event, Scenario], Solved] = {}
        self._sites: dict[Mistake, Site] = {}
        self._altered: dict[Mistake, tuple[frozenset[str], frozenset[str]]] = {}

    def altered(self, mistake: Mistake) -> tuple[frozenset[str], frozenset[str]]:
        """The nodes of what is other than planned; and the units that it tells, switches, or may starve."""
        if mistake not in self._altered:
            self._altered[mistake] = altered(self.course, mistake)
        return self._altered[mistake]

    def by(self, event: Event, mistake: Mistake, scenarios: Sequence[Scenario] = SCENARIOS) -> bool:
        """Whether a reading can be other with a mistake, in any of these scenarios."""
        reading = event.item
        assert isinstance(reading, Reading)
        if event.number < mistake.since or event.number >= self._until(mistake):
            return False
        if reading.at == ("set", "units that answer"):
            return not self.altered(mistake)[0].isdisjoint(self.course.nodes(event))
        if reading.instrument in NAMED:
            told = mistake.flaws or mistake.settings or mistake.omits
            return bool(told) or any(isinstance(edit, Loose) for edit in mistake.edits)
        if (mistake.flaws or mistake.omits) and reading.instrument is Instrument.TRIP:
            return True
        nodes, _ = self.altered(mistake)
        if self.at(event, nodes, scenarios):
            return True
        left_off = self.omitted(mistake)
        tags = [tag for tag in mistake.settings or self.course.planned.parts.units.tags if tag in event.made or tag in left_off]
        return any(self._heard(event, tag, scenarios) and self._turned(event, mistake, tag) for tag in tags)

    def _heard(self, event: Event, tag: str, scenarios: Sequence[Scenario]) -> bool:
        """Whether a reading can be other where a unit gives another output."""
        key = event, tag, *scenarios
        if key not in self._outputs:
            self._outputs[key] = self.at(event, (f"{tag} load L", f"{tag} load N"), scenarios)
        return self._outputs[key]

    def omitted(self, mistake: Mistake) -> frozenset[str]:
        """The things of acts that were left out."""
        return frozenset(act.thing for number in mistake.omits if isinstance(act := self.course.events[number].item, Act))

    def _until(self, mistake: Mistake) -> float:
        """The event from which on acts that were left out make no difference: the next one on each of their things."""
        last = max(mistake.omits, default=-1)
        return max((next((n for n in self._acts[thing] if n > last), math.inf) for thing in self.omitted(mistake)), default=math.inf)

    def _turned(self, event: Event, mistake: Mistake, tag: str) -> bool:
        """Whether a unit may run otherwise than on a right site."""
        key = event.made, event.lifted, mistake, tag
        if key not in self._turns:
            self._turns[key] = self._turns_now(event, mistake, tag)
        return self._turns[key]

    def _turns_now(self, event: Event, mistake: Mistake, tag: str) -> bool:
        if tag in self.omitted(mistake):
            return True
        if "phase" in mistake.settings.get(tag, {}):
            return True
        # All that matters to it of what nobody answered is the data common.
        nodes, right, site = self.altered(mistake)[0], self.course.right, self._site(mistake)
        return any(
            self._right(event, scenario).felt(Test.DIRECT, f"{tag} plus", f"{tag} minus", nodes)
            and site.starts(event, scenario, tag) != right.starts(event, scenario, tag)
            for scenario in _DATA
        )

    def _site(self, mistake: Mistake) -> Site:
        if mistake not in self._sites:
            self._sites[mistake] = self.course.site(mistake)
        return self._sites[mistake]

    def at(self, event: Event, nodes: Collection[str], scenarios: Sequence[Scenario] = SCENARIOS) -> bool:
        """Whether a reading of a circuit can be other where something changes at these nodes."""
        pairs = self._between(event)
        return any(self._right(event, scenario).felt(test, one, other, nodes) for scenario in scenarios for test, one, other in pairs)

    def meets(self, event: Event, nodes: Collection[str]) -> bool:
        """Whether a reading is taken in an island where something is done at one of these nodes."""
        pairs = self._between(event)
        return any(self._right(event, scenario).meets(test, (one, other), nodes) for scenario in SCENARIOS for test, one, other in pairs)

    def _between(self, event: Event) -> tuple[tuple[Test, str, str], ...]:
        if event not in self._taken:
            self._taken[event] = tuple(self._pairs(event))
        return self._taken[event]

    def _right(self, event: Event, scenario: Scenario) -> Solved:
        key = event, scenario
        if key not in self._solved:
            self._solved[key] = self.course.right.solved(event, scenario)
        return self._solved[key]

    def _pairs(self, event: Event) -> Iterator[tuple[Test, str, str]]:
        """The nodes between which a reading is taken, or between which the conductors lie that a clamp goes round."""
        reading = event.item
        assert isinstance(reading, Reading)
        at = reading.at
        match reading.instrument:
            case Instrument.DC | Instrument.OHM:
                yield Test.DIRECT, at[0], at[1]
                if reading.beside:
                    yield (Test.DIRECT, *reading.beside)
            case Instrument.AC:
                yield Test.ALTERNATING, at[0], at[1]
            case Instrument.ROTATION:
                for one, other in combinations(at, 2):
                    yield Test.ALTERNATING, one, other
            case Instrument.TRIP:
                yield Test.ALTERNATING, at[0], at[1]
                yield Test.ALTERNATING, at[0], "consumers N"
            case _:
                for name in at:
                    if element := self.course.wired.elements.get(name):
                        yield Test.ALTERNATING, element.a, element.b
