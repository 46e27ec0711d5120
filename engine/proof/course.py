"""The order of work gone through by the model of the site: what is made after each act, and what each reading says, of a right site or a wrong one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

from engine.frozen import dataclass
from engine.model.acts import EARTH, RESIDUAL, SUPPLY, Act, Instrument, Reading, Verb
from engine.model.elements import Edit, Element, Join, Kind, Loose, Move, Open, Reverse, Scale, Stuck, Swap, Wired
from engine.model.scenario import SCENARIOS, Scenario
from engine.model.solved import Solved, Solver
from engine.planner import Planned
from engine.proof.mistake import Mistake
from engine.proof.wired import wired
from engine.stages.procedure import course as walked
from engine.stages.procedure.part import Step
from engine.tables import table

# What these show is told by name, or is worked out from the site's data.
NAMED = (Instrument.LOOK, Instrument.INSULATION, Instrument.MICROOHM, Instrument.MILLIOHM, Instrument.DISPLAY)
_LIVE = 1.0  # V
_RATED = 0.03  # A, the residual current of the device; IEC 61008-1


@dataclass(frozen=True, eq=False)
class Event:
    """One act or reading of one step; `made` is what is made behind it on a site without mistakes, `lifted` the ends that hang free."""

    number: int
    step: Step
    item: Act | Reading
    made: frozenset[str]
    lifted: frozenset[str]


class Course:
    """The events of a plan's order of work, and the site as wired."""

    def __init__(self, planned: Planned, steps: Sequence[tuple[Step, Sequence[Act | Reading]]] | None = None) -> None:
        """`steps`: another order than that of the plan, to be judged."""
        self.planned = planned
        self.steps = list(steps if steps is not None else walked(planned.facts, planned.parts))
        self.wired = wired(planned)
        self.events = tuple(_events(self.steps, self._begins()))
        self._scopes: dict[Event, frozenset[str]] = {}
        self._nodes: dict[Event, tuple[str, ...]] = {}
        self.faults: dict[object, frozenset[str]] = {}  # harm's memory of what a right site has in use, too
        self._live: dict[tuple[frozenset[str], frozenset[str]], frozenset[str]] = {}

    def _begins(self) -> frozenset[str]:
        """What is made before anybody comes: a utility is live, a bank that nobody can switch off has no thing of its own."""
        return frozenset({SUPPLY} if self.planned.facts.incoming_kind == "utility" else ())

    def site(self, mistake: Mistake | None) -> Site:
        """The site with one mistake, or with none."""
        return Site(self, mistake)

    @cached_property
    def right(self) -> Site:
        """The site without a mistake."""
        return Site(self, None)

    def depends(self, event: Event, reached: frozenset[str]) -> bool:
        """Whether a reading, or what an act does, can be other than on a right site where these nodes are."""
        item = event.item
        if isinstance(item, Reading) and item.instrument in NAMED and item.at != ("set", "units that answer"):
            return True
        return not self.scope(event).isdisjoint(reached)

    def harmful(self, event: Event, mistake: Mistake, reached: frozenset[str]) -> bool:
        """Whether an act can do harm at all. Where no load is on nothing flows, and what is joined or opened among nodes at earth does nothing:
        so it is one at which the act itself, or the mistake, meets a node that is live.
        """
        if event.number == mistake.harms:
            return True
        if self.scope(event).isdisjoint(reached):
            return False
        if any(thing.startswith(("consumers ", "test load ")) for thing in event.made):
            return True
        return not self.live(event).isdisjoint((*self.nodes(event), *reached))

    def live(self, event: Event) -> frozenset[str]:
        """All nodes that are live on a right site, whatever the gear is like inside."""
        key = event.made, event.lifted
        if key not in self._live:
            found: set[str] = set()
            for scenario in SCENARIOS:
                solved = self.right.solved(event, scenario)
                driven = [e.a for e in self.wired.elements.values() if e.kind in (Kind.DIRECT, Kind.ALTERNATING) and e.when <= solved.made]
                found |= solved.hot(driven, EARTH, _LIVE)
            self._live[key] = frozenset(found)
        return self._live[key]

    def scope(self, event: Event) -> frozenset[str]:
        """All nodes that what is read or done at an event depends on, on a right site of whatever scenario."""
        if event not in self._scopes:
            nodes = [node for node in self.nodes(event) if node in self.wired.around]
            self._scopes[event] = frozenset().union(*(self.right.solved(event, scenario).reach(nodes) for scenario in SCENARIOS))
        return self._scopes[event]

    @cached_property
    def _by_thing(self) -> Mapping[str, list[Element]]:
        found: dict[str, list[Element]] = {}
        for element in self.wired.elements.values():
            for thing in element.when:
                found.setdefault(thing, []).append(element)
        return found

    def of(self, thing: str) -> list[Element]:
        """The elements that are there only while a thing is made."""
        return self._by_thing.get(thing, [])

    @cached_property
    def _data(self) -> list[str]:
        return [node for node in self.wired.around if " data " in node and not node.endswith(" free")]

    def nodes(self, event: Event) -> tuple[str, ...]:
        """Where an event reads or does something."""
        if event not in self._nodes:
            self._nodes[event] = tuple(self._where(event))
        return self._nodes[event]

    def _where(self, event: Event) -> Iterator[str]:
        item, data = event.item, self._data
        if isinstance(item, Reading):
            yield from data if item.instrument is Instrument.DISPLAY else (*item.at, *(item.beside or ()))
            for name in item.at:
                if element := self.wired.elements.get(name):
                    yield from (element.a, element.b)
            if item.instrument is Instrument.TRIP:
                yield from (f"consumers {line}" for line in (*self.planned.facts.phases, "N"))
            return
        for element in self.of(item.thing):
            yield from (element.a, element.b)
        if item.thing in self.wired.ends:
            yield self.wired.node(item.thing)
        if any(thing.startswith("consumers ") for thing in event.made):
            yield from (f"consumers {line}" for line in (*self.planned.facts.phases, "N"))
        if any(thing.startswith("link ") for thing in event.made):
            yield from data

    def event_of(self, verb: Verb, thing: str, after: int = -1) -> int | None:
        """The number of the first such act behind another event."""
        return next(
            (e.number for e in self.events[after + 1 :] if isinstance(e.item, Act) and e.item.verb is verb and e.item.thing == thing), None
        )


def _events(steps: Sequence[tuple[Step, Sequence[Act | Reading]]], begins: frozenset[str]) -> Iterator[Event]:
    made, lifted, number = begins, frozenset[str](), 0
    for step, doing in steps:
        for item in doing:
            if isinstance(item, Act):
                made, lifted = after(item, made, lifted)
            yield Event(number, step, item, made, lifted)
            number += 1


def after(act: Act, made: frozenset[str], lifted: frozenset[str]) -> tuple[frozenset[str], frozenset[str]]:
    """What is made, and which ends hang free, behind an act. An end of a conductor is lifted by its name, all else is unmade."""
    if " at " in act.thing:
        return made, lifted - {act.thing} if act.makes else lifted | {act.thing}
    return made | {act.thing} if act.makes else made - {act.thing}, lifted


class Site:
    """One site under the order of work: with a mistake from a certain event on, or right."""

    def __init__(self, course: Course, mistake: Mistake | None) -> None:
        self.course, self.mistake = course, mistake
        self._wired: dict[frozenset[str], Wired] = {}
        self._solvers: dict[tuple[Scenario, frozenset[str]], Solver] = {}

    def there(self, event: Event) -> bool:
        """Whether the mistake has been made."""
        return self.mistake is not None and event.number >= self.mistake.since

    def made(self, event: Event) -> frozenset[str]:
        """What is really made: an act that was left out leaves its thing as it was until the next act on it."""
        return self._really(event)[0]

    def _really(self, event: Event) -> tuple[frozenset[str], frozenset[str]]:
        """What is really made, and which ends really hang free."""
        made, lifted = event.made, event.lifted
        omits = self.mistake.omits if self.mistake else frozenset[int]()
        for act in (self.course.events[number].item for number in sorted(omits) if self._lasts(number, event, omits)):
            if isinstance(act, Act) and " at " in act.thing:
                lifted = lifted | {act.thing} if act.makes else lifted - {act.thing}
            elif isinstance(act, Act):
                made = made - {act.thing} if act.makes else made | {act.thing}
        return made, lifted

    def _lasts(self, omitted: int, event: Event, omits: frozenset[int]) -> bool:
        """Whether nothing was done with the thing of an act that was left out since."""
        act = self.course.events[omitted].item
        later = self.course.events[omitted + 1 : event.number + 1]
        return event.number >= omitted and not any(
            isinstance(e.item, Act) and isinstance(act, Act) and e.item.thing == act.thing and e.number not in omits for e in later
        )

    def solved(self, event: Event, scenario: Scenario, *, made: frozenset[str] | None = None, edits: tuple[Join, ...] = ()) -> Solved:
        """The site behind an event, with what else is said."""
        site = self.course.right if self.mistake and not self.there(event) else self
        really, lifted = site._really(event)  # noqa: SLF001 - its own kind
        solver = site._solver(scenario, lifted) if not edits else Solver(site._at(lifted).edited(*edits), scenario)  # noqa: SLF001
        return solver.at(really if made is None else made, self.mistake.settings if self.mistake and self.there(event) else None)

    def starts(self, event: Event, scenario: Scenario, tag: str) -> bool:
        """Whether a unit has the voltage to start, and is switched on."""
        return self._solver(scenario, event.lifted).starts(self.made(event), tag)

    def _solver(self, scenario: Scenario, lifted: frozenset[str]) -> Solver:
        key = scenario, lifted
        if key not in self._solvers:
            self._solvers[key] = Solver(self._at(lifted), scenario)
        return self._solvers[key]

    def _at(self, lifted: frozenset[str]) -> Wired:
        if lifted not in self._wired:
            edits = self.mistake.edits if self.mistake else ()
            self._wired[lifted] = self.course.wired.edited(*edits, *(Open(end) for end in sorted(lifted)))
        return self._wired[lifted]

    # --- what is read ---

    def passes(self, event: Event, scenario: Scenario) -> bool:
        """Whether a reading lies in its band."""
        reading = event.item
        assert isinstance(reading, Reading)
        value = self.read(event, scenario)
        return value == "as wanted" if isinstance(value, str) else reading.takes(value)

    def read(self, event: Event, scenario: Scenario) -> float | str:
        """What the instrument shows; in words where it shows none."""
        reading = event.item
        assert isinstance(reading, Reading)
        at = reading.at
        if reading.instrument is Instrument.DISPLAY:
            return self._displayed(event, scenario, at)
        if at[1] == "locked open" and at[0] in self.made(event):
            return "locked open: another"
        if reading.instrument in NAMED:
            return self._flaw(event, (at[0], at[1]))
        solved = self.solved(event, scenario)
        match reading.instrument:
            case Instrument.DC:
                return solved.dc(at[0], at[1]) - (solved.dc(*reading.beside) if reading.beside else 0.0)
            case Instrument.AC:
                return solved.ac(at[0], at[1]) - (solved.ac(*reading.beside) if reading.beside else 0.0)
            case Instrument.OHM:
                return solved.ohms(at[0], at[1])
            case Instrument.CLAMP:
                flows = [solved.amps(name)[1] for name in at]
                mean = sum(flows) / len(flows)
                return flows[0] / mean if mean else 0.0
            case Instrument.LEAKAGE:
                return solved.around(at[0], at[1:])
            case Instrument.ROTATION:
                turns = solved.rotation((at[0], at[1], at[2]))
                return "as wanted" if turns == reading.want else f"rotation {turns or 'none'}"
            case Instrument.TRIP:
                return "as wanted" if self.residual(event, scenario, at[0], at[1]) >= 0.95 * _RATED else "does not trip"
        raise AssertionError(reading)

    def residual(self, event: Event, scenario: Scenario, line: str, earth: str) -> float:
        """What the residual-current device sees while a tester sends its rated current from a line to earth, A; nothing where it does not trip."""
        if self._flaw(event, (RESIDUAL, "trip")) != "as wanted" or RESIDUAL not in self.made(event):
            return 0.0
        before = self.solved(event, scenario)
        volts = self.course.planned.facts.output_voltage.value
        if abs(before.ac(line, earth)) < volts / 2:
            return 0.0
        tested = self.solved(event, scenario, edits=(Join(line, earth, volts / _RATED),))
        return tested.residual(f"{RESIDUAL} ")

    def _flaw(self, event: Event, what: tuple[str, str]) -> str:
        mistake = self.mistake
        if mistake is None or not self.there(event):
            return "as wanted"
        if what in mistake.flaws or (
            what[1] == "resistance" and any(isinstance(e, Loose | Open) and _of(e.name, what[0]) for e in mistake.edits)
        ):
            return f"{what[1]}: another"
        return "as wanted"

    def _displayed(self, event: Event, scenario: Scenario, at: Sequence[str]) -> str:
        mistake = self.mistake
        if at == ("set", "units that answer"):
            count, units = self.answering(event, scenario), len(self.course.planned.parts.units.units)
            return "as wanted" if count == units else f"{count} of {units} units"
        if mistake and self.there(event) and at[1] in mistake.settings.get(at[0], {}):
            # What is lost when a unit goes off is seen only after it was off.
            return f"{at[1].replace('_', ' ')}: {mistake.settings[at[0]][at[1]]}"
        if at[1] in ("temperature sensor", "data lead"):
            there = f"{at[1]} {at[0]}" in self.made(event) and self._flaw(event, (f"{at[1]} {at[0]}", "fitted")) == "as wanted"
            return "as wanted" if there else "not seen"
        return self._flaw(event, (at[0], at[1]))

    def answering(self, event: Event, scenario: Scenario) -> int:
        """How many units reach the lead over both wires of the data pair; none where the pair is joined to itself."""
        units = self.course.planned.parts.units
        lead = units.lead or units.tags[0]
        solved = self.solved(event, scenario)
        pair = [solved.joined(f"{lead} data {wire}") for wire in ("A", "B")]
        if pair[0] & pair[1]:
            return 0
        on = [tag for tag in units.tags if tag in self.made(event)]
        return sum(all(f"{tag} data {wire}" in nodes for wire, nodes in zip(("A", "B"), pair, strict=True)) for tag in on)


def _of(end: str, name: str) -> bool:
    return end == name or end.startswith((f"{name} at ", f"{name} PE at "))


# --- what depends on what ---


def touched(course: Course, mistake: Mistake) -> frozenset[str]:
    """The nodes that a mistake can act on: those of what is other than planned, and the outputs of units whose battery it reaches."""
    nodes, tags = altered(course, mistake)
    # Whether a unit runs is seen at its output, and by whether it answers.
    return nodes | {f"{tag} {point}" for tag in tags for point in ("load L", "load N", "data A")}


def altered(course: Course, mistake: Mistake) -> tuple[frozenset[str], frozenset[str]]:
    """The nodes of what is other than planned; and the units that it tells, switches, or may starve."""
    wired = course.wired
    nodes = {node for edit in mistake.edits for node in _nodes_of(wired, edit)}
    stuck = {edit.thing for edit in mistake.edits if isinstance(edit, Stuck)}
    stuck |= {act.thing for number in mistake.omits if isinstance(act := course.events[number].item, Act)}
    for element in wired.elements.values() if stuck else ():
        if element.when & stuck or stuck & set(element.ends or ()):
            nodes |= {element.a, element.b}
    if any(thing == RESIDUAL for thing, _ in mistake.flaws):
        nodes |= {node for node in wired.around if node.startswith("consumers ")}
    direct = any(node.endswith((" plus", " minus", "before isolator", "after isolator")) or "string" in node for node in nodes)
    tags = course.planned.parts.units.tags
    units = {tag for tag in tags if tag in mistake.settings or tag in stuck}
    if direct:
        # What starves one unit of a bank may starve all of them.
        bank_of = course.planned.parts.banks.bank_of
        named = {tag for tag in tags if any(name in node for node in nodes for name in (tag, bank_of.get(tag) or tag))}
        units |= {tag for tag in tags if bank_of.get(tag) in {bank_of.get(other) for other in named}}
    return frozenset(nodes), frozenset(units)


def _nodes_of(wired: Wired, edit: Edit) -> Iterator[str]:
    """The nodes between which an edit puts something, or takes it away."""
    match edit:
        case Stuck():
            return
        case Join(one, other):
            yield from (one, other)
            return
        case Swap(one, other):
            names = [one, other]
        case Move(end, node):
            names = [end]
            yield node
        case Open(name) | Loose(name) | Scale(name) | Reverse(name):
            names = [name]
            if isinstance(edit, Open) and name in wired.ends:
                yield f"{name} free"
    for name in names:
        element = wired.elements[wired.ends[name][0] if name in wired.ends else name]
        yield from (element.a, element.b)


def limits() -> Mapping[str, Mapping[str, float | str | None]]:
    """From where on something is harm, by its name."""
    return {str(row["harm"]): row for row in table("harms").rows}
