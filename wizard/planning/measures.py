"""Is it enough? By what a page decides, figures of the plan, each with its limit, and whether it falls short."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Literal

from engine.frozen import dataclass
from engine.quantities import shown, told
from engine.tables.sizes import named

if TYPE_CHECKING:
    from engine.planner import Planned
    from engine.site.keys import QuantityKey
    from engine.workings import Figure

Subject = Literal["site", "unit", "bank", "loads", "solar", "wall", "routes", "review"]

MOST = 2  # that a page has room for
_SLACK = 1 + 1e-9


@dataclass(frozen=True)
class Measure:
    """One figure: what it is, how much, and what it is held against; `short` where it fails that."""

    name: str
    value: str
    limit: str
    short: bool

    def __str__(self) -> str:
        return " ".join(text for text in (self.name, self.value, self.limit) if text)


def measures(planned: Planned) -> Mapping[Subject, tuple[Measure, ...]]:
    """What each page decides, at most two figures of each: what falls short first, else what matters most."""
    of = {subject: [*found(planned)] for subject, found in _OF.items()}
    of["review"] = list(dict.fromkeys(measure for some in of.values() for measure in some))
    return {subject: tuple(sorted(some, key=lambda measure: not measure.short)[:MOST]) for subject, some in of.items()}


def _within(name: str, value: Figure | None, limit: Figure | None) -> Iterator[Measure]:
    """A figure that may be as much as another."""
    if value and limit:
        yield _held(name, value.value, limit.value, limit.unit)


def _held(name: str, value: float, limit: float, unit: str) -> Measure:
    """A value that may be as much as a limit, in three figures, or in as many as tell the two apart."""
    told, most = (shown(one, unit, 3) for one in (value, limit))
    if told == most and value != limit:
        told, most = (shown(one, unit, 6) for one in (value, limit))
    return Measure(name, told, f"of {most}", value > limit * _SLACK)


def _set(planned: Planned) -> Iterator[Measure]:
    """The fullest phase while all runs, and while its motors start."""
    yield from _running(planned)
    starting = [row for row in planned.parts.phases.rows if row.surge_limit and row.surge_limit.value > 0]
    if starting:
        row = max(starting, key=lambda row: row.surge.value / row.surge_limit.value if row.surge_limit else 0.0)
        yield from _within(f"{row.phase} starting", row.surge, row.surge_limit)


def _running(planned: Planned) -> Iterator[Measure]:
    """By power, or by apparent power where that is what the units run out of."""
    rows = [row for row in planned.parts.phases.rows if row.used]
    unit = planned.facts.have("unit.real_power", "unit.apparent_power")
    if not rows or unit is None:
        return
    row = max(rows, key=lambda row: row.used.value if row.used else 0.0)
    most = [figure.value * row.units for figure in unit]
    drawn, limit = max(((row.real, most[0]), (row.apparent, most[1])), key=lambda pair: pair[0].value / pair[1] if pair[1] else 0.0)
    yield _held(f"fullest phase {row.phase}", drawn.value, limit, drawn.unit)


def _supply(planned: Planned) -> Iterator[Measure]:
    """What comes in: loads and charging on the fullest phase, and the breaker against what the units there pass."""
    facts, limits, units = planned.facts, planned.parts.limits, planned.parts.units
    through = facts.answers.incoming.arrangement == facts.answers.output.arrangement
    rows = planned.parts.phases.rows if through else planned.parts.phases.rows[:1]
    if limits.incoming_total and limits.charging:
        drawn = {
            row.phase: row.current.value
            + sum(limits.charging[unit.tag].value for unit in units.on(row.phase) if unit.tag in limits.charging)
            for row in rows
        }
        phase = max(drawn, key=lambda phase: drawn[phase], default=None)
        if phase:
            yield _held(f"{phase} with charging", drawn[phase], limits.incoming_total.value, "A")
    breaker = facts.figure("incoming.breaker")
    passed = [figure.value * len(units.on(phase)) for phase, figure in limits.passed.items() if units.on(phase)]
    if breaker and passed:
        yield _held("breaker", breaker.value, min(passed), "A")


def _site(planned: Planned) -> Iterator[Measure]:
    yield from _running(planned)
    yield from _supply(planned)


def _unit(planned: Planned) -> Iterator[Measure]:
    """The set, then what one unit survives and takes."""
    yield from _set(planned)
    storage, most = planned.parts.storage, planned.facts.figure("unit.dc_max")
    full = [f for bank in storage.banks for f in (bank.absorption, bank.float_, storage.system_voltage) if f]
    if full:
        yield from _within("full bank", max(full, key=lambda figure: figure.value), most)
    yield from _terminal(planned)


def _terminal(planned: Planned) -> Iterator[Measure]:
    """The thickest lead that goes into a terminal of a unit, of those that do not fit where there are some."""
    parts, facts = planned.parts, planned.facts
    ends = [
        e for e in parts.circuits.circuits if e.tag and e.kind in ("battery", "load", "incoming") and parts.conductors.of[e.name].conductor
    ]
    wrong = [e for e in ends if e.name in parts.conductors.too_large]
    for one in (wrong or [e for e in ends if e.kind == "battery"])[:1]:
        sizing, key = parts.conductors.of[one.name], _TERMINALS[one.kind == "battery"]
        many = f"{sizing.parallel} x " if sizing.parallel > 1 else ""
        if most := facts.figure(key):
            yield Measure(one.name, f"{many}{sizing.conductor}", f"into {named(most.value, facts.rules)}", bool(wrong))


_TERMINALS: Mapping[bool, QuantityKey] = {True: "unit.dc_terminal_max", False: "unit.ac_terminal_max"}


def _bank(planned: Planned) -> Iterator[Measure]:
    """What the units draw, how long it lasts, and what it is charged with, each of the bank that is worst off."""
    banks, wanted = planned.parts.storage.banks, planned.facts.figure("storage.autonomy")
    drawn = [(b, b.discharge_current, b.discharge_limit) for b in banks if b.discharge_current and b.discharge_limit]
    if drawn:
        bank, current, limit = max(drawn, key=lambda each: each[1].value / each[2].value if each[2].value else 0.0)
        yield from _within(f"units draw from {bank.name}", current, limit)
    lasting = [(b, b.autonomy) for b in banks if b.autonomy]
    if lasting:
        bank, time = min(lasting, key=lambda each: each[1].value)
        night = planned.parts.hours.lasts_night
        if wanted:
            yield Measure(
                f"{bank.name} lasts",
                shown(time.value, "s", 3, like=wanted.value),
                f"of {wanted} wanted",
                0 < time.value < wanted.value / _SLACK,
            )
        elif night is not None:
            yield Measure(f"{bank.name} lasts", shown(time.value, "s", 3), "and the night" if night else "but not the night", not night)
    elif banks and (usable := banks[0].usable):
        yield Measure(f"{banks[0].name} gives", shown(usable.value, usable.unit, 3), "", short=False)
    yield from _charging(planned)


def _charging(planned: Planned) -> Iterator[Measure]:
    """What the chargers of a bank's units are set to together: never more than it stands, and nothing where it stands less than an ampere."""
    parts, limits = planned.parts, planned.parts.limits.charge
    for place in parts.banks.banks:
        sums, set_to = parts.storage.of(place.name), [f for tag in place.units if (f := limits.get(tag))]
        if sums and sums.charge_limit and set_to:
            whole = sum(figure.value for figure in set_to)
            yield Measure(
                f"{place.name} charged with",
                shown(whole, "A", 3),
                f"of {shown(sums.charge_limit.value, 'A', 3)}",
                any(f.value < 1 for f in set_to),
            )
            return


def _solar(planned: Planned) -> Iterator[Measure]:
    """The cold voltage first: too much of it destroys the input."""
    strings, facts = planned.parts.strings, planned.facts
    yield from _within("cold string", strings.cold_voc, facts.figure("unit.solar.voltage_max"))
    yield from _within("string shorted", strings.short_circuit, facts.figure("unit.solar.short_circuit_max"))
    hot, least, most = strings.hot_vmp, facts.figure("unit.solar.mppt_min"), facts.figure("unit.solar.mppt_max")
    if hot and least:
        yield Measure("hot string", shown(hot.value, "V", 3), f"at least {least}", hot.value < least.value / _SLACK)
    if hot and most and hot.value > most.value * _SLACK:
        yield from _within("hot string", hot, most)
    yield from _within("string current", strings.current, facts.figure("unit.solar.current_max"))


def _wall(planned: Planned) -> Iterator[Measure]:
    """What hangs there and how much room it takes, and the data bus that follows from it."""
    wall, chain, facts = planned.parts.wall, planned.parts.chain, planned.facts

    def metres(length: float) -> str:
        return told(round(length, 2), "m", facts.rules, short=True)

    hung = [place for place in wall.places if place.what not in ("obstacle", "bar")]
    if wall.astray:
        yield Measure("room for", str(len(hung) - len(wall.astray & {place.name for place in hung})), f"of {len(hung)} things", short=True)
    elif hung:
        reach = max(place.rect.right / 1000 + (facts.clearance if place.what == "unit" else 0.0) for place in hung)
        yield Measure("width used", metres(reach), f"of {metres(wall.width.value)}", reach > wall.width.value + 1e-6)
    if chain.length and (most := facts.value("unit.bus.length_max")):
        yield Measure("data bus", metres(chain.length.value), f"of {metres(most)}", chain.length.value > most * _SLACK)
    links = [link.length for link in chain.links if link.length]
    if links and (stock := facts.answers.unit.bus.link_lengths):
        longest = max(links, key=lambda figure: figure.value)
        yield Measure("longest link", metres(longest.value), f"of {metres(max(stock))}", longest.value > max(stock) * _SLACK)


def _routes(planned: Planned) -> Iterator[Measure]:
    """The worst drop, and circuits that have no conductor."""
    from engine.stages.conductors.part import drop_limit  # noqa: PLC0415 - wanted only where plans are made

    parts, facts = planned.parts, planned.facts
    known = [e for e in parts.circuits.circuits if e.kind != "earth" and (its := parts.currents.of.get(e.name)) and its.design]
    sized = [e for e in known if parts.conductors.of[e.name].conductor]
    drops = [(e, drop, limit) for e in sized if (drop := parts.conductors.of[e.name].drop) and (limit := facts.figure(drop_limit(e)))]
    if drops:
        ends, drop, limit = max(drops, key=lambda each: each[1].value / each[2].value if each[2].value else 0.0)
        yield Measure(f"drop {ends.name}", shown(drop.value, "ratio", 3), f"of {limit}", drop.value > limit.value * _SLACK)
    if known:
        yield Measure("conductors for", str(len(sized)), f"of {len(known)} circuits", len(sized) < len(known))


_OF: Mapping[Subject, Callable[[Planned], Iterator[Measure]]] = {
    "site": _site,
    "unit": _unit,
    "loads": _set,
    "bank": _bank,
    "solar": _solar,
    "wall": _wall,
    "routes": _routes,
}
