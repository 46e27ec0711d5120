"""Every single mistake of a site: the table of mistakes, made for every place, by the steps that can make it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations

from engine.model.acts import BOND, EARTH, RESIDUAL, SUPPLY, SURGE, Act, Verb, after, end, fuse, opener
from engine.model.elements import Edit, Join, Kind, Loose, Move, Open, Reverse, Scale, Stuck, Swap
from engine.proof.course import Course
from engine.proof.mistake import Mistake
from engine.stages.circuits import Ends
from engine.tables import table

_LUG, _TERMINAL = 0.05, 2.0  # ohm of a loose battery lug, and of a loose terminal; common practice, no source
_MORE, _LESS = 1.3, 0.85  # of its voltage: a string of too many panels, a string of modules that is less charged

# What a setting does when it is wrong, and when: on the first charge, with the supply, among the units; no entry: told, but no harm by itself.
_SETTING_HARMS = {
    "arrangement": ("set", "together"),
    "role": ("set", "together"),
    "storage_mode": ("charge", "together"),
    "output_frequency": ("set", "together"),
    "chemistry": ("charge", "charging"),
    "managed_battery": ("charge", "charging"),
    "charge_limit": ("charge", "charging"),
    "absorption": ("charge", "charging"),
    "float": ("charge", "charging"),
    "low": ("charge", "loads"),
    "temperature_slope": ("charge", "charging"),
    "incoming_limit": ("fire", "incoming"),
}
_OTHER = {"L1": "L2", "L2": "L1", "L3": "L1"}


def words(element: str, defect: str) -> str | None:
    """How a defect of an element is told, or None where it has none."""
    row = table("mistakes").row("element", element)
    assert row is not None
    told = str(row[defect])
    return None if told.startswith("-") else told


def singles(course: Course) -> list[Mistake]:
    """Every single mistake that this site can have, in the order of the table."""
    return [mistake for row in table("mistakes").rows for mistake in _MAKERS[str(row["element"])](_Maker(course, str(row["element"])))]


def omissions(course: Course) -> Iterator[Mistake]:
    """Every act left out, apart from the single mistakes: what is made too late, or is left as it was."""
    for event in course.events:
        if isinstance(event.item, Act):
            yield Mistake(f"left out: {event.item}", "act", "left out", event.step.id, event.number, omits=frozenset({event.number}))


class _Maker:
    """Makes the mistakes of one element."""

    def __init__(self, course: Course, element: str) -> None:
        self.course, self.element = course, element
        self.parts, self.facts = course.planned.parts, course.planned.facts
        self.wired = course.wired

    def one(
        self,
        defect: str,
        place: str,
        since: int | None,
        *edits: Edit,
        flaws: frozenset[tuple[str, str]] = frozenset(),
        settings: dict[str, dict[str, object]] | None = None,
        harm: str | None = None,
        harms: int | None = None,
    ) -> Iterator[Mistake]:
        """A mistake, where the order has a step that can make it."""
        told = words(self.element, defect)
        assert told is not None, (self.element, defect)
        if since is not None:
            by = self.course.events[since].step.id
            yield Mistake(f"{place}: {told}", self.element, defect, by, since, edits, flaws, settings or {}, frozenset(), harm, harms)

    def landed(self, *circuits: str) -> int | None:
        """The first act that lands one of these."""
        found = [number for name in circuits if (number := self.course.event_of(Verb.LAND, name)) is not None]
        return min(found, default=None)

    def circuits(self, kind: str, *, common: bool) -> list[Ends]:
        return [e for e in self.parts.circuits.circuits if e.kind == kind and e.common is common and not e.bond]

    def poles(self, circuit: str) -> list[str]:
        return [
            name.removeprefix(f"{circuit} ") for name, e in self.wired.elements.items() if e.ends and name.rpartition(" ")[0] == circuit
        ]

    def ends(self, circuit: str, pole: str) -> tuple[str, str]:
        found = self.wired.elements[f"{circuit} {pole}"].ends
        assert found
        return found

    def charging(self) -> int | None:
        """The first act that lets something charge."""
        closes = [self.course.event_of(Verb.CLOSE, opener(e.name), self._on() or 0) for e in self.circuits("solar", common=False)]
        common = next((e for e in self.parts.circuits.of("incoming", common=len(self.parts.units.units) > 1)), None)
        closes.append(self.course.event_of(Verb.CLOSE, opener(common.name), self._on() or 0) if common else None)
        return min((number for number in closes if number is not None), default=None)

    def _on(self) -> int | None:
        """The first act that switches a unit of the wired set on."""
        tags = self.parts.units.tags
        first = self.course.event_of(Verb.LAND, f"load {tags[0]}")
        return self.course.event_of(Verb.ON, tags[0], first or 0)

    def when(self, event: str) -> int | None:
        """The number of the event at which a setting does its harm."""
        if event == "together":
            closes = [self.course.event_of(Verb.CLOSE, opener(e.name), self._on() or 0) for e in self.circuits("load", common=False)]
            return min((number for number in closes if number is not None), default=None)
        if event == "charging":
            return self.charging()
        if event == "incoming":
            common = next(iter(self.parts.circuits.of("incoming", common=len(self.parts.units.units) > 1)), None)
            return self.course.event_of(Verb.CLOSE, opener(common.name), self._on() or 0) if common else None
        found = [n for p in self.facts.phases if (n := self.course.event_of(Verb.ON, f"consumers {p}")) is not None]
        return min(found, default=None)

    def live(self, circuit: str) -> int | None:
        """The act that closes a circuit for good: the last one of its isolator that closes it."""
        closes = [
            e.number
            for e in self.course.events
            if isinstance(e.item, Act) and e.item.verb is Verb.CLOSE and e.item.thing == opener(circuit)
        ]
        return closes[-1] if closes else None


def _joints(make: _Maker, circuit: str, poles: list[str], ohms: float) -> Iterator[Mistake]:
    since = make.landed(circuit)
    for pole in poles:
        for where in make.ends(circuit, pole):
            yield from make.one("left off", where, since, Open(where))
            yield from make.one("loose", where, since, Loose(where, ohms))


def _pair(make: _Maker, ends: Ends, one: str, other: str, ohms: float) -> Iterator[Mistake]:
    """What a circuit of two or more conductors can have: exchanged at either end, open, loose, joined, damaged."""
    name, since = ends.name, make.landed(ends.name)
    for side in (0, 1):
        first, second = make.ends(name, one)[side], make.ends(name, other)[side]
        spot = first.rpartition(" at ")[2]
        yield from make.one("reversed", f"{name} at {spot}", since, Swap(first, second))
        yield from make.one("short", f"{name} at {spot}", since, Join(make.wired.node(first), make.wired.node(second), 1e-3, name))
    yield from _joints(make, name, [pole for pole in make.poles(name) if pole != "PE"], ohms)
    flaw = frozenset({(name, "insulation")})
    yield from make.one("damaged", name, 0, flaws=flaw, harm="fire", harms=make.live(name))


def _exchanged(make: _Maker, kind: str, poles: tuple[str, ...]) -> Iterator[Mistake]:
    """Two like conductors of two units exchanged, at the board or bar: where their own ends are, at the units, they would reach no further."""
    for one, other in combinations(make.circuits(kind, common=False), 2):
        for pole in poles:
            side = 0 if one.start == other.start else 1
            yield from make.one(
                "exchanged",
                f"{one.name} {pole} and {other.name} {pole} at {one.start if side == 0 else one.end}",
                make.landed(one.name, other.name),
                Swap(make.ends(one.name, pole)[side], make.ends(other.name, pole)[side]),
            )


def _battery_cable(make: _Maker) -> Iterator[Mistake]:
    for ends in make.circuits("battery", common=False):
        yield from _pair(make, ends, "plus", "minus", _LUG)
        yield from _ahead(make, ends)
        for bank in make.parts.banks.banks:
            if bank.name != ends.bank:
                spot = f"bar {bank.name}" if len(bank.units) > 1 else bank.name
                edits, together = _on_bank(make, ends, spot), make.when("together")
                place = f"{ends.name} on {bank.name}"
                yield from make.one("wrong place", place, make.landed(ends.name), *edits, harm="charge", harms=together)
    yield from _exchanged(make, "battery", ("plus", "minus"))


def _on_bank(make: _Maker, ends: Ends, spot: str) -> Iterator[Edit]:
    """Both conductors on the bar, or the posts, of another bank: what hangs before the isolator is joined there, and cut from its own."""
    for pole in ("plus", "minus"):
        for name in (f"{ends.name} {pole} fuse", f"{ends.name} {pole} tap"):
            if name in make.wired.elements:
                yield Open(name)
        yield Join(f"{ends.name} {pole} before isolator", f"{spot} {pole}", 1e-3, ends.name)


def _ahead(make: _Maker, ends: Ends) -> Iterator[Mistake]:
    """Plus and minus exchanged between where a cable starts and its isolator, behind the fuse."""
    edits: list[Edit] = []
    for pole, other in (("plus", "minus"), ("minus", "plus")):
        tap = next(e for what in ("fuse", "tap") if (e := make.wired.elements.get(f"{ends.name} {pole} {what}")))
        edits += [Open(tap.name), Join(tap.a, f"{ends.name} {other} before isolator", 1e-3, next(iter(tap.when), None))]
    yield from make.one("reversed", f"{ends.name} ahead of its isolator", make.landed(ends.name), *edits)


def _bank_cable(make: _Maker) -> Iterator[Mistake]:
    for ends in make.circuits("battery", common=True):
        yield from _pair(make, ends, "plus", "minus", _LUG)
        yield from _ahead(make, ends)
    for one, other in combinations(make.parts.banks.banks, 2):
        joins = [Join(f"{one.name} {pole}", f"{other.name} {pole}") for pole in ("plus", "minus")]
        for place, edits in ((f"{one.name} and {other.name}", joins), (f"minus of {one.name} and {other.name}", joins[1:])):
            yield from make.one("extra", place, 0, *edits)


def _load_cable(make: _Maker) -> Iterator[Mistake]:
    for ends in make.circuits("load", common=False):
        yield from _pair(make, ends, "L", "N", _TERMINAL)
        incoming = f"incoming {ends.tag}"
        if f"{incoming} L" in make.wired.elements:
            spot = str(ends.tag)
            both = [Swap(end(ends.name, pole, spot), end(incoming, pole, spot)) for pole in ("L", "N")]
            for what, edits in (("line and neutral", both), ("line", both[:1]), ("neutral", both[1:])):
                yield from make.one("wrong place", f"{ends.tag} {what} on its incoming side", make.landed(ends.name), *edits)
        for phase in make.facts.phases if len(make.parts.units.units) > 1 else ():
            if phase != ends.phase:
                bar = Join(after(ends.name, "L"), f"load bar {phase}", when=ends.name)
                yield from make.one(
                    "wrong place", f"{ends.name} L on load bar {phase}", make.landed(ends.name), Open(f"{ends.name} L tap"), bar
                )
    yield from _exchanged(make, "load", ("L", "N"))


def _run(make: _Maker, kind: str) -> Iterator[Mistake]:
    for ends in make.circuits(kind, common=True):
        lines = [pole for pole in make.poles(ends.name) if pole not in ("N", "PE")]
        yield from _pair(make, ends, lines[0], "N", _TERMINAL)
        for one, other in combinations(lines, 2):
            swap = Swap(make.ends(ends.name, one)[0], make.ends(ends.name, other)[0])
            yield from make.one("exchanged", f"{ends.name} {one} and {other}", make.landed(ends.name), swap)


def _incoming_cable(make: _Maker) -> Iterator[Mistake]:
    for ends in make.circuits("incoming", common=False):
        yield from _pair(make, ends, "L", "N", _TERMINAL)
    yield from _exchanged(make, "incoming", ("L", "N"))


def _earths(make: _Maker) -> Iterator[Mistake]:
    for ends in [e for e in make.parts.circuits.circuits if e.kind == "earth" and not e.bond]:
        yield from _joints(make, ends.name, ["PE"], _TERMINAL)


def _protective(make: _Maker) -> Iterator[Mistake]:
    for kind in ("load", "incoming"):
        for ends in make.circuits(kind, common=False):
            yield from _joints(make, ends.name, ["PE"], _TERMINAL)
            since, spot = make.landed(ends.name), str(ends.tag)
            yield from make.one("reversed", f"{ends.name} at {spot}", since, Swap(end(ends.name, "PE", spot), end(ends.name, "N", spot)))
            yield from make.one("short", f"{ends.name} at {spot}", since, Join(f"{spot} {kind} N", f"{spot} case", 1e-3, ends.name))


def _pole_bond(make: _Maker) -> Iterator[Mistake]:
    for ends in [e for e in make.parts.circuits.circuits if e.bond]:
        since, pole = make.landed(ends.name), str(make.facts.earthed_pole)
        wrong = "minus" if pole == "plus" else "plus"
        yield from _joints(make, ends.name, ["PE"], _TERMINAL)
        yield from make.one("reversed", ends.name, since, Move(make.ends(ends.name, "PE")[0], f"{ends.start} {wrong}"))
        for tag in ends.units:
            yield from make.one("extra", f"{tag} {pole} to its case", make.landed(f"battery {tag}"), Join(f"{tag} {pole}", f"{tag} case"))


def _island_bond(make: _Maker) -> Iterator[Mistake]:
    fitted = make.course.event_of(Verb.FIT, BOND)
    yield from make.one("left off", "bond", fitted, Stuck(BOND, made=False))
    if make.facts.answers.earthing.island_bond == "unit relay":
        relays = [name for tag in make.parts.units.tags if (name := f"{tag} bond") in make.wired.elements]
        yield from make.one("left off", "bond relay of every unit", 0, *map(Open, relays))
    landed = make.landed("load common", *(e.name for e in make.circuits("load", common=False)))
    neutral = "load bar N" if "load bar N" in make.wired.around else "consumers N"
    yield from make.one("extra", f"{neutral} to {EARTH}", landed, Join(neutral, EARTH))
    if neutral != "consumers N":
        yield from make.one("extra", f"consumers N to {EARTH}", landed, Join("consumers N", EARTH))
    if "incoming bar N" in make.wired.around:
        yield from make.one("extra", f"incoming bar N to {EARTH}", make.landed("incoming common"), Join("incoming bar N", EARTH))


def _isolator(make: _Maker) -> Iterator[Mistake]:
    for ends in make.parts.circuits.circuits:
        gear = make.parts.switchgear.opening(ends)
        if gear is None:
            continue
        thing = opener(ends.name)
        hung = 0
        for contact in make.course.of(thing):
            yield from make.one("left off", f"{contact.name}", hung, Open(contact.name))
        yield from make.one("left", thing, hung, Stuck(thing, made=True), flaws=frozenset({(thing, "locked open")}))
        flaw = frozenset({(thing, "rating")})
        yield from make.one("wrong value", thing, hung, flaws=flaw, harm="fire", harms=make.live(ends.name))


def _fuse(make: _Maker) -> Iterator[Mistake]:
    for ends in make.parts.circuits.circuits:
        if make.parts.switchgear.fuse(ends) is None:
            continue
        thing, live = fuse(ends.name), make.live(ends.name)
        since = make.course.event_of(Verb.FIT, thing)
        yield from make.one("left off", thing, since, Stuck(thing, made=False))
        yield from make.one("wrong value", thing, 0, flaws=frozenset({(thing, "rating")}), harm="fire", harms=live)
        if ends.kind == "battery":
            yield from make.one("wrong place", thing, 0, flaws=frozenset({(thing, "end of its cable")}), harm="fire", harms=live)


def _residual(make: _Maker) -> Iterator[Mistake]:
    yield from make.one("left off", RESIDUAL, 0, Stuck(RESIDUAL, made=False))
    yield from make.one("wrong value", RESIDUAL, 0, flaws=frozenset({(RESIDUAL, "trip")}), harm="trip", harms=make.when("loads"))


def _surge(make: _Maker) -> Iterator[Mistake]:
    for element in make.wired.elements.values():
        if element.kind is Kind.SURGE:
            yield from make.one("short", element.name, make.course.event_of(Verb.FIT, SURGE), Join(element.a, element.b, 1.0, SURGE))


def _module(make: _Maker) -> Iterator[Mistake]:
    for bank in make.parts.banks.banks:
        name = f"{bank.name} string 1 module 1"
        yield from make.one("reversed", name, 0, Reverse(name))
        yield from make.one("short", name, 0, Scale(name, 0.0))


def _string(make: _Maker) -> Iterator[Mistake]:
    parallel, series = make.facts.strings_in_parallel, make.facts.series
    for bank in make.parts.banks.banks:
        joined = make.course.event_of(Verb.JOIN, f"{bank.name} strings")
        for number in range(1, parallel + 1):
            string = f"{bank.name} string {number}"
            modules = [f"{string} module {place}" for place in range(1, series + 1)]
            yield from make.one("reversed", string, 0, *map(Reverse, modules))
            yield from make.one("wrong value", string, 0, *(Scale(module, _LESS) for module in modules))
        if parallel > 1:
            flaw = frozenset({(bank.name, "every string joined")})
            open_ = Open(f"{bank.name} string {parallel} plus joint")
            yield from make.one(
                "left off", f"{bank.name} string {parallel}", joined, open_, flaws=flaw, harm="sharing", harms=make.when("loads")
            )
            flaw = frozenset({(bank.name, "place of its two leads")})
            yield from make.one("wrong place", bank.name, joined, flaws=flaw, harm="sharing", harms=make.when("loads"))


def _link(make: _Maker) -> Iterator[Mistake]:
    things = [name for name in make.wired.things if name.startswith("link ")]
    for thing in things:
        since = make.course.event_of(Verb.PLUG, thing)
        ends = [make.ends(thing, core) for core in ("A", "B")]
        yield from make.one("left off", thing, since, Stuck(thing, made=False))
        yield from make.one("reversed", thing, since, Swap(ends[0][0], ends[1][0]))
        for core in ("A", "B"):
            yield from make.one("loose", f"{thing} {core}", since, Open(f"{thing} {core}"))
        nodes = [make.wired.node(pair[0]) for pair in ends]
        yield from make.one("short", thing, since, Join(nodes[0], nodes[1], 1e-3, thing))
    if len(make.parts.chain.order) > 2:
        first, last = make.parts.chain.order[0], make.parts.chain.order[-1]
        since = make.course.event_of(Verb.PLUG, things[-1]) if things else None
        ring = frozenset({("data cables", "no ring")})
        yield from make.one("extra", f"from {last} back to {first}", since, flaws=ring, harm="set", harms=make.when("together"))


def _terminator(make: _Maker) -> Iterator[Mistake]:
    # Words are lost on a bus that ends otherwise than planned, and no circuit shows it.
    lost = make.when("together")
    for thing in [name for name in make.wired.things if name.startswith("terminator ")]:
        yield from make.one("left off", thing, make.course.event_of(Verb.PLUG, thing), Stuck(thing, made=False), harm="set", harms=lost)
    between = make.parts.chain.order[1:-1]
    for tag in between:
        since = make.course.event_of(Verb.PLUG, next(name for name in make.wired.things if name.startswith("link ")))
        yield from make.one("extra", f"terminator at {tag}", since, Join(f"{tag} data A", f"{tag} data B", 120.0), harm="set", harms=lost)


def _plugged(make: _Maker, what: str) -> Iterator[Mistake]:
    for bank in make.parts.banks.banks:
        thing = f"{what} {bank.name}"
        since = make.course.event_of(Verb.PLUG, thing)
        yield from make.one("left off", thing, since, flaws=frozenset({(thing, "fitted")}), harm="charge", harms=make.charging())


def setting_harm(course: Course, tag: str, name: str) -> tuple[tuple[Edit, ...], str | None, int | None]:
    """What a setting does when it is wrong: to the site as wired, or else which harm at which event."""
    harm, at = _SETTING_HARMS.get(name, (None, ""))
    edits = (Scale(f"{tag} output", 1.15),) if name == "output_voltage" else ()
    return edits, harm, _Maker(course, "setting").when(at) if at else None


def _setting(make: _Maker) -> Iterator[Mistake]:
    for unit in make.parts.units.units:
        entered = make.course.event_of(Verb.ENTER, f"{unit.tag} settings")
        offs = [] if entered is None else [n for n in (make.course.event_of(Verb.OFF, unit.tag, entered),) if n is not None]
        again = make.course.event_of(Verb.OFF, unit.tag, offs[0]) if offs else None
        for setting in make.parts.settings.of.get(unit.tag, ()):
            name, wrong = setting.setting, f"not {setting.value}"
            value: object = _OTHER.get(unit.phase, "L1") if name == "phase" else wrong
            if name == "phase" and len(make.facts.phases) == 1:
                continue
            edits, harm, harms = setting_harm(make.course, unit.tag, name)
            told = {unit.tag: {name: value}}
            place = f"{unit.tag} {name.replace('_', ' ')}"
            yield from make.one("wrong value", place, entered, *edits, settings=told, harm=harm, harms=harms)
            for off in (*offs, *([again] if again else [])):
                yield from make.one("not kept", place, off, *edits, settings=told, harm=harm, harms=harms)


def _unit(make: _Maker) -> Iterator[Mistake]:
    for unit in make.parts.units.units:
        for attribute in ("model", "firmware"):
            if len(make.parts.units.units) > 1:
                flaw = frozenset({(unit.tag, attribute)})
                yield from make.one("wrong value", f"{unit.tag} {attribute}", 0, flaws=flaw, harm="set", harms=make.when("together"))
        if f"{unit.tag} bond" not in make.wired.elements:
            yield from make.one("extra", unit.tag, 0, Join(f"{unit.tag} load N", f"{unit.tag} case", 1e-3, f"{unit.tag} alone"))


def _bench_lead(make: _Maker) -> Iterator[Mistake]:
    for tag in make.parts.units.tags:
        name = f"bench {tag} battery"
        yield from make.one("reversed", f"bench {tag}", 0, Reverse(name))


def _panels(make: _Maker) -> Iterator[Mistake]:
    for ends in make.circuits("solar", common=False):
        tag = str(ends.tag)
        strings = [name for name in make.wired.elements if name.startswith(f"solar {tag} string ") and name.rpartition(" ")[2].isdigit()]
        for name in strings:
            yield from make.one("reversed", name, 0, Reverse(name))
            yield from make.one("wrong value", name, 0, Scale(name, _MORE), harm="fire", harms=make.live(ends.name))
        yield from make.one("damaged", ends.name, 0, flaws=frozenset({(ends.name, "insulation")}), harm="fire", harms=make.live(ends.name))


def _supply(make: _Maker) -> Iterator[Mistake]:
    lines = make.facts.incoming_lines
    if not lines or make.facts.incoming_kind == "none":
        return
    sources = [make.wired.elements[f"supply source {line}"] for line in lines]
    for one, other in combinations(lines, 2):
        yield from make.one("exchanged", f"supply {one} and {other}", 0, *_crossed(make, one, other))
    yield from make.one("left off", "supply N", 0, Open(f"{_incoming(make)} N tap"))
    yield from make.one("wrong value", "supply", 0, *(Scale(source.name, 1.2) for source in sources))
    if make.facts.incoming_kind == "generator":
        yield from make.one("left", SUPPLY, 0, Stuck(SUPPLY, made=True))


def _crossed(make: _Maker, one: str, other: str) -> Iterator[Edit]:
    """Two lines of the supply exchanged ahead of the isolator."""
    taps = [f"{_incoming(make)} {line}" for line in (one, other)]
    contacts = [f"{tap} tap" for tap in taps]
    for name in contacts:
        yield Open(name)
    yield Join(f"supply {one}", f"{taps[1]} before isolator")
    yield Join(f"supply {other}", f"{taps[0]} before isolator")


def _incoming(make: _Maker) -> str:
    return next(e.name for e in make.parts.circuits.of("incoming", common=len(make.parts.units.units) > 1))


def _cover(make: _Maker) -> Iterator[Mistake]:
    closes = [
        n for e in make.parts.circuits.of("battery", common=False) if (n := make.course.event_of(Verb.CLOSE, opener(e.name))) is not None
    ]
    yield from make.one("left off", "covers", 0, flaws=frozenset({("covers", "fitted")}), harm="touch", harms=min(closes, default=None))


_MAKERS: dict[str, Callable[[_Maker], Iterator[Mistake]]] = {
    "battery cable": _battery_cable,
    "bank cable": _bank_cable,
    "load cable": _load_cable,
    "load run": lambda make: _run(make, "load"),
    "incoming cable": _incoming_cable,
    "incoming run": lambda make: _run(make, "incoming"),
    "earth conductor": _earths,
    "protective conductor": _protective,
    "bond of a battery pole": _pole_bond,
    "bond of island mode": _island_bond,
    "isolator": _isolator,
    "fuse": _fuse,
    "residual-current device": _residual,
    "surge device": _surge,
    "module": _module,
    "string of modules": _string,
    "data link": _link,
    "terminator": _terminator,
    "temperature sensor": lambda make: _plugged(make, "temperature sensor"),
    "data lead": lambda make: _plugged(make, "data lead"),
    "setting": _setting,
    "unit": _unit,
    "bench lead": _bench_lead,
    "string of panels": _panels,
    "supply": _supply,
    "cover": _cover,
}
