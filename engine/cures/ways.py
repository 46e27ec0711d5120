"""What might cure a finding, to be tried: each way gives the answers that it would decide, from the least to the most that it would take."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from math import ceil, floor
from typing import TYPE_CHECKING

from engine.facts import CIRCUIT_KINDS
from engine.findings import Finding
from engine.frozen import dataclass
from engine.keys import labelled
from engine.site.wall import Carries
from engine.tables.bounds import most

if TYPE_CHECKING:
    from engine.facts import Facts
    from engine.planner import Planned
    from engine.site import Answers
    from engine.stages.circuits import Ends
    from engine.stages.wall.part import Place

Given = Mapping[str, str]
_STEPS = 6  # of a count, one after the other, before a way is given up
_NUDGE = 0.05  # m
_GROUPS = (12, 9, 6, 4, 3, 2, 1)  # circuits together, as they are spread over more and more trunkings


@dataclass(frozen=True)
class Case:
    """A finding, the answers, what is planned from them; `look` plans them with other answers, None where these cannot be."""

    finding: Finding
    answers: Answers
    planned: Planned
    look: Callable[[Given], Planned | None]

    @property
    def facts(self) -> Facts:
        """What is known of the site."""
        return self.planned.facts

    @property
    def ratio(self) -> float:
        """How many times what it was held against the found figure is, or the other way round; 1 where nothing was compared."""
        found, held = self.finding.value, self.finding.limit
        if not found or not held or found * held < 0:
            return 1.0
        return max(found / held, held / found)

    @property
    def phase(self) -> str | None:
        """The phase that it is about."""
        return self.phase_of(self.finding)

    @staticmethod
    def phase_of(finding: Finding) -> str | None:
        """The phase that a finding is about."""
        at = re.match(r"plan\.phases\[(L\d)\]", finding.about)
        return at[1] if at else None

    @property
    def ends(self) -> Ends:
        """The circuit that it is about."""
        return next(e for e in self.planned.parts.circuits.circuits if self.finding.about.startswith(f"{e.key}."))


Way = Callable[[Case], Iterator[Given]]


def counts(numbers: Iterable[int]) -> str:
    """Whole numbers as they are typed in a row."""
    return ", ".join(map(str, numbers))


def metres(length: float) -> str:
    """A length as it is typed, to the millimetre."""
    return f"{round(length, 3) + 0.0:g} m"


# --- the set and its loads ---


def more_units(case: Case) -> Iterator[Given]:
    """One unit more, and one more; where units are given by phase, on each phase that has such a finding."""
    given, phases = case.answers.set, case.facts.phases
    allowed = min(case.answers.unit.max_units or most("units"), most("units"))
    if given.per_phase and len(given.per_phase) == len(phases):
        short = {Case.phase_of(one) for one in case.planned.findings if one.code == case.finding.code}
        for more in range(1, _STEPS):
            split = [n + more * (phase in short) for n, phase in zip(given.per_phase, phases, strict=True)]
            if sum(split) <= allowed:
                yield _split(case, split)
    elif given.count is not None:
        yield from ({"set.count": str(n)} for n in range(given.count + 1, min(given.count + _STEPS, allowed + 1)))


def two_on_each_phase(case: Case) -> Iterator[Given]:
    """A second unit wherever there is one."""
    split = [max(2, n) for n in case.planned.parts.phases.per_phase.values()]
    yield _split(case, split) if case.answers.set.per_phase else {"set.count": str(sum(split))}
    yield _split(case, split)


def on_a_larger_bank(way: Way) -> Way:
    """More units, with as many more strings on the bank that feeds them."""

    def both(case: Case) -> Iterator[Given]:
        units, strings = len(case.planned.parts.units.tags), case.facts.strings_in_parallel
        for given in way(case) if units else ():
            split = given.get("set.per_phase")
            count = sum(int(n) for n in split.split(",")) if split else int(given["set.count"])
            yield {**given, "storage.bank.parallel": str(ceil(strings * count / units))}

    return both


def _split(case: Case, split: Sequence[int]) -> Given:
    """Units by phase, and their number where it is answered."""
    return {"set.per_phase": counts(split)} | ({"set.count": str(sum(split))} if case.answers.set.count is not None else {})


def less_spare(case: Case) -> Iterator[Given]:
    """Fewer units that may be out."""
    yield from ({"set.spare": str(n)} for n in range(case.facts.spare - 1, -1, -1))


def any_phase(case: Case) -> Iterator[Given]:
    """One load whose phase the planner chooses, the largest first; then all that are on one phase of their own."""
    phases = case.facts.phases
    own = [(k, load) for k, load in enumerate(case.answers.loads) if load.phase in phases]
    here = [(k, load) for k, load in own if case.phase in (None, load.phase)]
    here.sort(key=lambda pair: (pair[1].power or 0.0) * (pair[1].quantity or 1), reverse=True)
    if len(phases) > 1:
        yield from ({f"loads[{k}].phase": "any"} for k, _ in here[:_STEPS])
        yield {f"loads[{k}].phase": "any" for k, _ in own}


def that_load_on_any_phase(case: Case) -> Iterator[Given]:
    """The load of the finding, put where the planner chooses."""
    keys = [f"{key}.phase" for key in case.facts.load_keys]
    yield {f"loads[{keys.index(case.finding.about)}].phase": "any"}


def a_unit_leads(case: Case) -> Iterator[Given]:
    """The first unit."""
    yield from ({"set.lead": tag} for tag in case.planned.parts.units.tags[:1])


def split_evenly(case: Case) -> Iterator[Given]:
    """The units by phase, for the phases that there are."""
    given, phases = case.answers.set, len(case.facts.phases)
    total = given.count or sum(given.per_phase or ())
    if total >= phases:
        yield {"set.per_phase": counts(total // phases + (k < total % phases) for k in range(phases))}


def as_split(case: Case) -> Iterator[Given]:
    """The number of units that the phases add up to."""
    yield {"set.count": str(sum(case.answers.set.per_phase or ()))}


def split_by_planner(case: Case) -> Iterator[Given]:
    """Units by phase left to the planner."""
    if case.answers.set.per_phase:
        yield {"set.per_phase": ""}


def one_on_each_phase(case: Case) -> Iterator[Given]:
    """As many units as there are phases, or one more on each phase that has none."""
    split, phases = case.answers.set.per_phase, len(case.facts.phases)
    if split and len(split) == phases:
        yield _split(case, [max(1, n) for n in split])
    else:
        yield {"set.count": str(phases)}


def as_many_as_allowed(case: Case) -> Iterator[Given]:
    """The most units that may act together."""
    yield {"set.count": str(case.answers.unit.max_units)} | ({"set.per_phase": ""} if case.answers.set.per_phase else {})


# --- banks ---


def as_fed(case: Case) -> Iterator[Given]:
    """The feed that the plan took, answered."""
    yield from ({"storage.bank.feed": bank.feed} for bank in case.planned.parts.storage.banks)


def fed_better(case: Case) -> Iterator[Given]:
    """Leads at both ends of the row, then from a bar."""
    now = {bank.feed for bank in case.planned.parts.storage.banks}
    yield from ({"storage.bank.feed": feed} for feed in ("diagonal", "bar") if feed not in now)


def more_strings(case: Case) -> Iterator[Given]:
    """More strings in parallel, from the fewest that could be enough: a bank never gives more than its strings do together."""
    yield from _strings(case, ceil(case.facts.strings_in_parallel * case.ratio - 1e-9))


def more_strings_from_a_bar(case: Case) -> Iterator[Given]:
    """The same, fed so that they share evenly."""
    banks = case.planned.parts.storage.banks
    if banks and any(bank.feed != "bar" for bank in banks):
        for given in _strings(case, ceil(case.ratio / max(bank.largest_share.value for bank in banks) - 1e-9)):
            yield {**given, "storage.bank.feed": "bar"}


def _strings(case: Case, least: int) -> Iterator[Given]:
    least = max(case.facts.strings_in_parallel + 1, least)
    for strings in range(least, min(least + _STEPS, most("rows of modules in parallel") + 1)):
        yield {"storage.bank.parallel": str(strings)}


def more_banks(case: Case) -> Iterator[Given]:
    """A bank for each phase, then for each unit; only while nobody has traced how they are wired."""
    storage = case.answers.storage
    if not storage.wired and storage.connection:
        order = ("common-bank", "bank-per-phase", "bank-per-unit")
        yield from ({"storage.connection": one} for one in order[order.index(storage.connection) + 1 :])


def divided_bank(case: Case) -> Iterator[Given]:
    """The same modules in more and smaller banks."""
    units, strings = case.planned.parts.units, case.facts.strings_in_parallel
    phases = len({unit.phase for unit in units.units})
    banks = {"bank-per-phase": phases, "bank-per-unit": len(units.tags)}
    for given in more_banks(case):
        into = banks[given["storage.connection"]]
        yield {**given, "storage.bank.parallel": str(ceil(strings / into))} if into > 1 and strings > 1 else given


def linked(case: Case) -> Iterator[Given]:
    """The data cable of the bank in question, to the unit that the plan took for it, or to one of its own."""
    links = case.answers.storage.links
    bank = next(bank for bank in case.planned.parts.banks.banks if case.finding.about == f"storage.links[{bank.name}]")
    planned = [link.unit for link in case.planned.parts.banks.links if link.bank == bank.name and link.unit in bank.units]
    at = next((k for k, link in enumerate(links) if link.bank == bank.name), len(links))
    new = {f"storage.links[{at}].bank": bank.name} if at == len(links) else {}
    yield new | {f"storage.links[{at}].unit": (planned or bank.units)[0]}


# --- strings of panels ---


def in_series(case: Case) -> Iterator[Given]:
    """As many panels in a string as stay inside the whole window, the nearest number first; else what the one limit allows."""
    have, found = case.answers.solar.series or 1, case.planned.parts.strings
    if found.series_from is not None and found.series_to is not None:
        fitting = sorted(range(found.series_from, found.series_to + 1), key=lambda n: (abs(n - have), n))
        yield from ({"solar.series": str(n)} for n in fitting[:_STEPS] if n != have)
    else:
        least = (case.finding.value or 0.0) < (case.finding.limit or 0.0)
        wanted = ceil(have * case.ratio - 1e-9) if least else floor(have / case.ratio + 1e-9)
        if 1 <= wanted <= most("panels in series"):
            yield {"solar.series": str(wanted)}


def fewer_strings_on_a_tracker(case: Case) -> Iterator[Given]:
    """One string less on each solar input, and one less."""
    yield from ({"solar.parallel": str(n)} for n in range(case.facts.strings_on_tracker - 1, 0, -1))


def as_many_trackers_as_there_are(case: Case) -> Iterator[Given]:
    """All solar inputs of a unit, and no more."""
    if case.facts.solar and (own := case.answers.unit.solar.trackers) and own != case.facts.trackers:
        yield {"solar.trackers": str(own)}


def more_panels(case: Case) -> Iterator[Given]:
    """Longer strings within the window, then more strings on each solar input."""
    have, found = case.answers.solar.series, case.planned.parts.strings
    if case.facts.solar and have and found.series_to:
        yield from ({"solar.series": str(n)} for n in range(have + 1, min(have + _STEPS, found.series_to + 1)))
    if case.facts.solar:
        now = case.facts.strings_on_tracker
        yield from ({"solar.parallel": str(n)} for n in range(now + 1, min(now + 3, most("strings per tracker") + 1)))


# --- how cables are laid ---


def _entry(case: Case, kind: Carries, to: str | None, name: str) -> tuple[int, Given]:
    """Where a word on how cables run is answered, or would be, and what a new entry says before it."""
    routes = case.answers.routes
    said = [k for k, r in enumerate(routes) if r.carries == kind and r.to in (None, to) and getattr(r, name) is not None]
    # An entry for one circuit stands behind those for all of them.
    own = [k for k in said if routes[k].to is not None] or said or [k for k, r in enumerate(routes) if r.carries == kind and r.to is None]
    return (own[-1], {}) if own else (len(routes), {f"routes[{len(routes)}].carries": kind})


def _laid(case: Case, kind: Carries, to: str | None, words: Given) -> Given:
    """The answers that lay a kind of circuit so."""
    given: dict[str, str] = {}
    for name, text in words.items():
        at, before = _entry(case, kind, to, name)
        given |= {**before, f"routes[{at}].{name}": text}
    return given


def _methods(case: Case) -> list[str]:
    """Ways of laying with more air, in the order in which they are taken where nobody answered (S31)."""
    return [one.value for one in case.facts.instead("routes[].method")]


def laid_freer(case: Case) -> Iterator[Given]:
    """With more air around; then in insulation that stands more heat; then both."""
    kind, to = case.ends.kind, case.ends.to
    method, insulation, _ = case.facts.laid(kind, to)
    ways = [{"method": one} for one in _methods(case) if one != method]
    hotter = [{"insulation": "xlpe"}] if insulation != "xlpe" else []
    for words in (*ways, *hotter, *({**way, **more} for way in ways for more in hotter)):
        yield _laid(case, kind, to, words)


def laid_apart(case: Case) -> Iterator[Given]:
    """Fewer circuits together: spread over more trunkings."""
    ends, beyond = case.ends, case.finding.code == "grouping-beyond-table"
    together = case.planned.parts.wall.runs[ends.name].grouped
    for fewer in (*([round(case.finding.limit)] if beyond and case.finding.limit else []), *_GROUPS):
        if fewer < together:
            yield _laid(case, ends.kind, ends.to, {"grouped": str(fewer)})


def in_copper(case: Case) -> Iterator[Given]:
    """Copper, for that kind of circuit; then wherever it is aluminium."""
    entries = [k for k, route in enumerate(case.answers.routes) if route.metal == "aluminium"]
    own = [k for k in entries if case.answers.routes[k].carries == case.ends.kind]
    yield from ({f"routes[{k}].metal": "copper" for k in some} for some in (own, entries) if some)


def in_hotter_insulation(case: Case) -> Iterator[Given]:
    """Insulation that stands more heat, for every kind of circuit that has another."""
    kinds = dict.fromkeys(ends.kind for ends in case.planned.parts.circuits.circuits if ends.kind != "earth")
    new = len(case.answers.routes)
    given = {f"routes[{k}].insulation": "xlpe" for k, route in enumerate(case.answers.routes) if route.insulation == "pvc"}
    for kind in kinds:
        at, before = _entry(case, kind, None, "insulation")
        if before:
            at, before, new = new, {f"routes[{new}].carries": kind}, new + 1
        given |= {**before, f"routes[{at}].insulation": "xlpe"}
    yield given


def as_laid(case: Case) -> Iterator[Given]:
    """The method that the plan took, answered."""
    kinds: Mapping[str, Carries] = {f"routes[{kind}].method": kind for kind in CIRCUIT_KINDS}
    taken = {one.key: one.value for one in case.planned.parts.conductors.assumed}
    yield _laid(case, kinds[case.finding.about], None, {"method": taken[case.finding.about]})


def lane_below_ceiling(case: Case) -> Iterator[Given]:
    """The lane a little under the ceiling."""
    yield {f"routes[{_route_about(case)}].lane": metres(case.planned.parts.wall.height.value - _NUDGE)}


def of_all_data(case: Case) -> Iterator[Given]:
    """What was answered for one data cable, answered for all of them; just taken back where they have an answer."""
    at, name = _route_about(case), case.finding.about.rsplit(".", 1)[-1]
    value = getattr(case.answers.routes[at], name)
    to, before = _entry(case, "comms", None, name)
    told = not before and getattr(case.answers.routes[to], name) is not None
    of_all = {} if told else {**before, f"routes[{to}].{name}": metres(value) if isinstance(value, float) else str(value)}
    yield {f"routes[{at}].{name}": "", **of_all}


def _route_about(case: Case) -> int:
    """The place of the entry on routes that a finding is about."""
    own = labelled("routes", (" ".join(t for t in (r.carries, r.to) if t) for r in case.answers.routes))
    return own.index(case.finding.about.rsplit(".", 1)[0])


# --- the data bus ---


def divided_from_power(case: Case) -> Iterator[Given]:
    """An earthed metal divider along the data cables."""
    yield _laid(case, "comms", None, {"containment": "solid"})


def comms_lane_clear_of_power(case: Case) -> Iterator[Given]:
    """The height nearest to the present one that keeps its distance from every power lane."""
    wall, kept = case.planned.parts.wall, case.planned.parts.chain.kept
    power = [(wall.lanes[kind], keep.value) for kind, keep in kept.items() if kind in wall.lanes]
    heights = [k * _NUDGE for k in range(1, round(wall.height.value / _NUDGE))]
    clear = [h for h in heights if all(abs(h - lane) >= keep - 1e-9 for lane, keep in power)]
    for height in sorted(clear, key=lambda h: abs(h - wall.lanes["comms"]))[:3]:
        yield _laid(case, "comms", None, {"lane": metres(height)})


# --- places on the wall ---


def as_drawn(case: Case) -> Iterator[Given]:
    """Every place that the plan took, answered."""
    yield _hung(case, [p for p in case.planned.parts.wall.places if p.assumed and p.what != "bar"])


def moved_a_little(case: Case) -> Iterator[Given]:
    """One unit or bank of those that are too near, moved by what lacks to one side, or up or down."""
    places = case.planned.parts.wall.places
    about = next(p for p in places if p.key == case.finding.about)
    value, limit = case.finding.value or 0.0, case.finding.limit or 0.0
    by = ceil((limit - value) / _NUDGE - 1e-9) * _NUDGE
    near = [p for p in places if p is not about and about.rect.gap(p.rect) < limit * 1000]
    for place in (about, *near):
        if place.what in ("unit", "bank") and not place.assumed:
            for right, up in ((by, 0.0), (-by, 0.0), (0.0, by), (0.0, -by)):
                yield _at(case, place, place.x + right, place.y + up)


def hung_anew(case: Case) -> Iterator[Given]:
    """The place of the finding found anew by the planner, then those of all units and banks: boards and obstacles stay where they are."""
    movable = [place for place in case.planned.parts.wall.places if place.what in ("unit", "bank")]
    for some in ([place for place in movable if place.key == case.finding.about], movable):
        entries = [k for place in some if (k := _entry_of(case.answers, place)) is not None]
        found = case.look({f"wall.places[{k}].{axis}": "" for k in entries for axis in "xy"}) if entries else None
        if found:
            names = {place.name for place in some}
            yield _hung(case, [place for place in found.parts.wall.places if place.name in names])


def _entry_of(answers: Answers, place: Place) -> int | None:
    """Where the answers have a place; the key of one that they have is by its label."""
    keys = labelled("wall.places", (given.tag for given in answers.wall.places))
    for k, (key, given) in enumerate(zip(keys, answers.wall.places, strict=True)):
        name = given.tag if given.what in ("unit", "bank") else (given.what or "").replace("-", " ")
        if key == place.key or (name == place.name and given.what == place.what):
            return k
    return None


def _at(case: Case, place: Place, x: float, y: float) -> Given:
    k = _entry_of(case.answers, place)
    return {} if k is None else {f"wall.places[{k}].x": metres(x), f"wall.places[{k}].y": metres(y)}


def _hung(case: Case, places: Sequence[Place]) -> Given:
    """The answers that hang these things where they are."""
    given: dict[str, str] = {}
    new = len(case.answers.wall.places)
    for place in places:
        k = _entry_of(case.answers, place)
        if k is None:
            k, new = new, new + 1
            given[f"wall.places[{k}].what"] = place.what
            if place.what in ("unit", "bank"):
                given[f"wall.places[{k}].tag"] = place.name
        given |= {f"wall.places[{k}].x": metres(place.x), f"wall.places[{k}].y": metres(place.y)}
    return given


_FREER = (laid_freer, laid_apart)
_REHUNG = (moved_a_little, hung_anew)

# What might cure a finding of a code, the cheapest first.
WAYS: Mapping[str, tuple[Way, ...]] = {
    "load-on-absent-phase": (that_load_on_any_phase,),
    "per-phase-contradicts-arrangement": (split_evenly, split_by_planner),
    "count-contradicts-per-phase": (as_split, split_by_planner),
    "phase-without-unit": (one_on_each_phase, split_by_planner),
    "over-max-units": (as_many_as_allowed,),
    "phase-overloaded": (any_phase, more_units, on_a_larger_bank(more_units)),
    "start-above-surge": (any_phase, more_units, on_a_larger_bank(more_units)),
    "spare-not-met": (any_phase, more_units, on_a_larger_bank(more_units), less_spare),
    "phase-loss": (two_on_each_phase, on_a_larger_bank(two_on_each_phase)),
    "neutral-above-line": (any_phase,),
    "generator-unbalanced": (any_phase,),
    "incoming-below-load-and-charge": (any_phase,),
    "lead-is-no-unit": (a_unit_leads,),
    "bank-without-link": (linked,),
    "link-to-other-bank": (linked,),
    "bank-below-set": (fed_better, more_strings, more_strings_from_a_bar, more_banks),
    "feed-assumed": (as_fed,),
    "strings-share-unevenly": (fed_better,),
    "autonomy-short": (more_strings, more_banks),
    "empty-before-sunrise": (more_strings, more_banks),
    "day-not-covered": (as_many_trackers_as_there_are, more_panels),  # a larger bank brings nothing
    "charge-limit-below-unit": (fed_better, more_strings, more_strings_from_a_bar),
    "charge-limit-zero": (fed_better, more_strings, more_strings_from_a_bar),
    "solar-charges-above-limit": (fed_better, more_strings, more_strings_from_a_bar),
    "cold-voc-above-limit": (in_series,),
    "hot-vmp-below-window": (in_series,),
    "hot-vmp-above-window": (in_series,),
    "too-many-trackers": (as_many_trackers_as_there_are,),
    "solar-short-circuit": (fewer_strings_on_a_tracker,),
    "solar-current-lost": (fewer_strings_on_a_tracker,),
    "solar-power-lost": (fewer_strings_on_a_tracker,),
    "route-of-all-data": (of_all_data,),
    "lane-above-ceiling": (lane_below_ceiling,),
    "places-assumed": (as_drawn,),
    "no-room-on-the-wall": (hung_anew,),
    "no-way-yet": (hung_anew,),
    "off-the-wall": _REHUNG,
    "places-overlap": (hung_anew,),
    "clearance-too-small": _REHUNG,
    "no-way-for-circuit": (hung_anew,),
    "no-way-for-link": (hung_anew,),
    "ambient-above-insulation": (in_hotter_insulation,),
    "grouping-beyond-table": (laid_apart, laid_freer),
    "method-assumed": (as_laid,),
    "no-conductor-will-do": (*_FREER, in_copper, divided_bank),
    "terminal-too-small": _FREER,
    "lug-not-made": _FREER,
    "aluminium-joints": (in_copper,),
    "aluminium-battery-leads": (in_copper,),
    "grouping-with-doubled": _FREER,
    "conductors-in-parallel": _FREER,
    "no-device-large-enough": (divided_bank,),
    "fuse-loaded": (divided_bank,),
    "fault-above-every-device": (divided_bank,),
    "no-usual-fuse-family": (divided_bank,),
    "withstand-not-checked": (divided_bank,),
    "fault-does-not-clear": (more_strings,),
    "earth-fault-does-not-clear": (more_strings,),
    "link-too-long": (hung_anew, divided_from_power),
    "bus-too-long": (hung_anew, divided_from_power),
    "bus-too-long-for-rate": (hung_anew, divided_from_power),
    "comms-lane-near-power": (comms_lane_clear_of_power, divided_from_power),
    "comms-beside-power": (comms_lane_clear_of_power, divided_from_power),
}
