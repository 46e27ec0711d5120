"""Harm, judged at each act: what a mistake does to electronics, loads, hands and cables, from the limits of the table on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from engine.model.acts import BOND, EARTH, RESIDUAL, SUPPLY, Act, Verb, opener
from engine.model.elements import Kind
from engine.model.scenario import SCENARIOS, Scenario
from engine.model.solved import Solved
from engine.proof.course import Course, Event, Site, limits, touched
from engine.proof.mistake import Mistake

_FAR = (SCENARIOS[0], SCENARIOS[-1])
_HANDS = (Verb.LAND, Verb.LIFT)


def harms(site: Site, event: Event, scenario: Scenario) -> Iterator[str]:
    """What comes of an act on this site, beyond what comes of it on a right one."""
    act = event.item
    assert isinstance(act, Act)
    if site.mistake and site.mistake.harm and site.mistake.harms == event.number:
        yield site.mistake.harm
    if act.makes:
        yield from _electronics(site, event, scenario, act)
        yield from _closing(site, event, scenario, act)
    if act.verb in _HANDS:
        yield from _hands(site, event, scenario, act)
    yield from _loads(site, event, scenario)
    yield from _data(site, event, scenario)


def first_harm(course: Course, mistake: Mistake) -> str | None:
    """What comes of a mistake that nobody stops, first, with the units' inside in the two ways that differ most."""
    site, reached = course.site(mistake), touched(course, mistake)
    for event in course.events[mistake.since :]:
        if isinstance(event.item, Act) and course.harmful(event, mistake, reached):
            for scenario in _FAR:
                for found in harms(site, event, scenario):
                    return found
    return next((found for scenario in _FAR for found in in_service(site, course.events[-1], scenario)), None)


def in_service(site: Site, event: Event, scenario: Scenario) -> Iterator[str]:
    """What comes of it while the site is in use, with the supply in and without: load current in earths, and one fault to every case and of
    every line behind the residual-current device; but for what a right site, of that inside, has too.
    """
    facts, parts = site.course.planned.facts, site.course.planned.parts
    opened = [opener(ends.name) for ends in parts.circuits.of("incoming", common=len(parts.units.units) > 1)]
    alone = event.made.difference((SUPPLY, *opened)) if SUPPLY in event.made else event.made
    # Loads alike on all lines leave the neutral empty, and hide that it is open.
    others = {f"consumers {line}" for line in facts.phases[1:]}
    for made in dict.fromkeys((event.made, alone, event.made - others, alone - others)):
        state = replace(event, made=made)
        yield from _stray(site, state, scenario)
        yield from _loads(site, state, scenario)
        known = site.course.faults
        if (key := (state.made, state.lifted, scenario)) not in known:
            known[key] = frozenset(_faults(site.course.right, state, scenario))
        yield from set(_faults(site, state, scenario)).difference(known[key])


def _faults(site: Site, event: Event, scenario: Scenario) -> Iterator[str]:
    solved = site.solved(event, scenario)
    phases, volts = site.course.planned.facts.phases, site.course.planned.facts.output_voltage.value
    for tag in site.course.planned.parts.units.tags:
        if not solved.ohms(f"{tag} case", EARTH) <= _figure("case", "ohms"):
            yield "case"
    for line in phases:
        if solved.ac(f"consumers {line}", "consumers N") <= volts * 0.2:
            yield "lost"
        if f"consumers {line}" not in site.made(event) or RESIDUAL not in site.made(event):
            continue
        # A line that stands at no voltage to earth, or is joined to it through nothing but filters, feeds no fault.
        live, ohms = solved.ac(f"consumers {line}", EARTH), solved.thevenin(f"consumers {line}", EARTH)[2]
        if live < volts / 2 or not ohms <= _figure("fault path", "ohms"):
            yield "fault path"
        elif site.residual(event, scenario, f"consumers {line}", EARTH) < _figure("trip", "amps") * 0.95:
            yield "trip"


def _figure(harm: str, column: str) -> float:
    row = limits()[harm]
    value = row[column]
    assert isinstance(value, float), (harm, column)
    return value


def _electronics(site: Site, event: Event, scenario: Scenario, act: Act) -> Iterator[str]:
    """A unit's battery terminals, and its solar input, the wrong way round."""
    solved, most = site.solved(event, scenario), _figure("reverse", "amps")
    for tag in site.course.planned.parts.units.tags:
        path = f"{tag} reverse path"
        if tag in act.thing or any(bank.name in act.thing and tag in bank.units for bank in site.course.planned.parts.banks.banks):
            if solved.amps(path)[0] > most:
                yield "reverse"
            if f"{tag} solar plus" in site.course.wired.around and solved.dc(f"{tag} solar plus", f"{tag} solar minus") < -1.0:
                yield "reverse"


def _closing(site: Site, event: Event, scenario: Scenario, act: Act) -> Iterator[str]:
    """Empty capacitors on a battery; units that do not hear each other on one bar; and what then flows through every contact, against what
    flows on a right site.
    """
    if any(_jumps(site, event, scenario, act, tag) and not _jumps(site.course.right, event, scenario, act, tag) for tag in _fed(site, act)):
        yield "inrush"
    if act.thing.startswith("load ") and _deaf(site, event, scenario):
        yield "set"
    solved, most = site.solved(event, scenario), _figure("joined", "amps")
    for element in site.course.of(act.thing):
        if element.kind is Kind.JOINED and max(map(abs, solved.amps(element.name))) > most + _right(site, event, scenario, element.name):
            yield "joined"
            return


def _fed(site: Site, act: Act) -> Iterator[str]:
    """The units whose battery terminals an act can reach."""
    parts = site.course.planned.parts
    for tag in parts.units.tags:
        bank = parts.banks.bank_of.get(tag) or tag
        if act.thing.startswith((f"bench {tag}", f"battery {tag}", f"battery {bank}", bank)):
            yield tag


def _jumps(site: Site, event: Event, scenario: Scenario, act: Act, tag: str) -> bool:
    """Whether a unit's capacitors meet a source at another voltage than theirs, with less between them than a resistor."""
    plus, minus = f"{tag} plus", f"{tag} minus"
    was, now = (site.solved(event, scenario, made=made) for made in (site.made(event) - {act.thing}, site.made(event)))
    apart = abs(now.dc(plus, minus) - was.dc(plus, minus)) > _figure("inrush", "volts")
    return apart and now.thevenin(plus, minus)[2] < _figure("inrush", "ohms")


def _deaf(site: Site, event: Event, scenario: Scenario) -> bool:
    """Whether several units run and some do not reach the lead."""
    tags = site.course.planned.parts.units.tags
    made = site.solved(event, scenario).made
    running = [tag for tag in tags if f"{tag} alone" in made or f"{tag} following" in made]
    return len(running) > 1 and site.answering(event, scenario) < len(tags)


def _right(site: Site, event: Event, scenario: Scenario, element: str) -> float:
    return max(map(abs, site.course.right.solved(event, scenario).amps(element)))


def _hands(site: Site, event: Event, scenario: Scenario, act: Act) -> Iterator[str]:
    """Whoever lands a conductor touches both its ends: voltage there that a right site does not have."""
    most = _figure("touch", "volts")
    wired = site.course.wired
    names = [act.thing] if act.thing in wired.ends else [end for e in site.course.of(act.thing) for end in e.ends or ()]
    nodes = [wired.node(end) for end in names] or (
        [node for e in site.course.of(act.thing) for node in (e.a, e.b)] if act.thing == BOND else []
    )
    wrong, right = site.solved(event, scenario), site.course.right.solved(event, scenario)
    for node in nodes:
        for read in ("dc", "ac"):
            if abs(getattr(wrong, read)(node, EARTH)) > most + abs(getattr(right, read)(node, EARTH)):
                yield "touch"
                return


def _loads(site: Site, event: Event, scenario: Scenario) -> Iterator[str]:
    """Loads that are on, at another voltage than the right site gives them."""
    facts, made = site.course.planned.facts, site.made(event)
    on = [line for line in facts.phases if f"consumers {line}" in made]
    if not on:
        return
    solved, nominal = site.solved(event, scenario), facts.output_voltage.value
    share = _figure("loads", "share")
    right = site.course.right.solved(event, scenario)
    pairs = [(one, other) for place, one in enumerate(facts.phases) for other in facts.phases[place + 1 :]]
    between = [
        abs(solved.ac(f"consumers {one}", f"consumers {other}") / right.ac(f"consumers {one}", f"consumers {other}") - 1)
        for one, other in pairs
        if right.ac(f"consumers {one}", f"consumers {other}") > nominal / 2
    ]
    if max(between, default=0.0) > 2 * share or _turning(solved, facts.phases) != _turning(right, facts.phases):
        yield "rotation"
    for line in on:
        volts = solved.ac(f"consumers {line}", "consumers N")
        if not right.ac(f"consumers {line}", "consumers N") > nominal / 2:
            continue
        if volts > nominal * (1 + share) or nominal * 0.2 < volts < nominal * (1 - share):
            yield "loads"


def _turning(solved: Solved, phases: tuple[str, ...]) -> str | None:
    return solved.rotation((f"consumers {phases[0]}", f"consumers {phases[1]}", f"consumers {phases[2]}")) if len(phases) == 3 else None


def _stray(site: Site, event: Event, scenario: Scenario) -> Iterator[str]:
    """Load current in protective conductors."""
    made = site.made(event)
    if not any(f"consumers {line}" in made for line in site.course.planned.facts.phases):
        return
    solved, most = site.solved(event, scenario), _figure("stray", "amps")
    right = site.course.right.solved(event, scenario)
    for name, element in site.course.wired.elements.items():
        if name.endswith(" PE") and element.ends and solved.amps(name)[1] > most + right.amps(name)[1]:
            yield "stray"
            return


def _data(site: Site, event: Event, scenario: Scenario) -> Iterator[str]:
    made = site.made(event)
    plugged = [f"{thing} common" for thing in made if thing.startswith("link ")]
    if plugged:
        solved, most = site.solved(event, scenario), _figure("data", "amps")
        if any(abs(solved.amps(name)[0]) > most for name in plugged):
            yield "data"
