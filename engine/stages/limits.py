"""What every unit may charge with and take from the incoming side, as whole settings (T14, T19, S24)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field

from engine.facts import Facts
from engine.findings import Finding, caution, stop, together
from engine.formulas import battery, generator
from engine.frozen import dataclass
from engine.quantities import Ampere, shown
from engine.stages.banks import Banks
from engine.stages.phases.part import Phases
from engine.stages.storage.part import Storage
from engine.stages.units import Units
from engine.tables.ratings import largest_rating_not_above, ratings_source
from engine.workings import Figure, chosen, work

_BREAKER_SHARE = {"iec": 1.0, "nec": 0.8}  # NFPA 70 (NEC) 210.20: a lasting load
_THIN_AIR = 1000.0  # m: up to it an engine keeps its rating
_VOLTAGE_DIFFERENCE = 0.10  # of the output voltage: more is another supply, not a tolerance (EN 50160: 10 %, from memory)


@dataclass(frozen=True)
class Limits:
    """Settings by tag, in whole amperes; `incoming_total` is what the whole set may take on each phase.

    `charging` is what each unit's charger draws of it, `passed` what a unit of each phase passes through beside its like (T8).
    """

    charge: Mapping[str, Figure | None]
    incoming: Mapping[str, Figure | None]
    incoming_total: Figure | None
    charging: Mapping[str, Figure] = field(default_factory=dict)
    passed: Mapping[str, Figure] = field(default_factory=dict)


def limits(*, facts: Facts, phases: Phases, units: Units, banks: Banks, storage: Storage) -> tuple[Limits, list[Finding]]:
    """Charge and incoming settings, and what they add up to on the incoming side."""
    charge = {unit.tag: _charge(facts, unit.tag, banks, storage) for unit in units.units}
    total = _total(facts)
    passed = _passed(facts, units)
    own = _own(facts, passed)
    incoming = {
        unit.tag: work(
            f"plan.units[{unit.tag}].incoming_limit",
            generator.unit_incoming,
            current=total,
            units=len(units.on(unit.phase)),
            own_limit=own[unit.phase],
        )
        if total and own.get(unit.phase) and unit.phase in _incoming_phases(facts)
        else None
        for unit in units.units
    }
    found = Limits(charge, incoming, total, _charging(facts, charge, banks, storage), passed)
    return found, [*_charge_checks(facts, found, storage, banks), *_incoming_checks(facts, phases, units, found)]


def _charge(facts: Facts, tag: str, banks: Banks, storage: Storage) -> Figure | None:
    """The unit's part of what its bank may be charged with; a unit's own limit where the answer is missing is that part."""
    bank = storage.of(banks.bank_of.get(tag))
    if bank is None or bank.charge_limit is None:
        return None
    count = len(next(place.units for place in banks.banks if place.name == bank.name))
    own = facts.figure("unit.charge_current") or bank.charge_limit
    return work(f"plan.units[{tag}].charge_limit", battery.unit_limit, bank_limit=bank.charge_limit, units=count, own_limit=own)


def _charging(facts: Facts, charge: Mapping[str, Figure | None], banks: Banks, storage: Storage) -> dict[str, Figure]:
    """What each unit draws from the incoming side while it charges at its limit."""
    efficiency, voltage = facts.figure("unit.efficiency"), facts.figure("incoming.voltage")
    if efficiency is None or voltage is None or facts.answers.incoming.kind == "none":
        return {}
    factor = facts.taken("plan.incoming.charger_power_factor")
    return {
        tag: work(
            f"plan.units[{tag}].charging_current",
            generator.input_current,
            charge_current=limit,
            charge_voltage=bank.absorption,
            efficiency=efficiency,
            power_factor=factor,
            voltage=voltage,
        )
        for tag, limit in charge.items()
        if limit and (bank := storage.of(banks.bank_of.get(tag))) and bank.absorption
    }


def _incoming_phases(facts: Facts) -> tuple[str, ...]:
    """The phases of the set that the incoming side feeds: an arrangement that is not the output's feeds the first only."""
    return facts.phases if facts.answers.incoming.arrangement == facts.answers.output.arrangement else facts.phases[:1]


def _total(facts: Facts) -> Figure | None:
    """What the set may take on each phase: the breaker (`nec`: 80 % of it), and a share of a generator."""
    breaker = facts.figure("incoming.breaker")
    if facts.answers.incoming.kind == "none" or breaker is None:
        return None
    share = chosen(
        "plan.incoming.breaker_share", _BREAKER_SHARE[facts.rules], "ratio", "lasting load on a breaker", "T19: NFPA 70 (NEC) 210.20", []
    )
    of_breaker = work("plan.incoming.of_breaker", generator.share_of, current=breaker, share=share)
    own = _of_generator(facts)
    return work("plan.incoming.limit", battery.lesser_current, currents=[of_breaker, *([own] if own else [])])


def _of_generator(facts: Facts) -> Figure | None:
    given = facts.have("incoming.rating", "incoming.voltage")
    if facts.answers.incoming.kind != "generator" or given is None:
        return None
    lines = len(facts.incoming_lines) or 1
    rated = work("plan.incoming.generator_current", generator.generator_current, rating=given[0], voltage=given[1], phases=lines)
    return work("plan.incoming.of_generator", generator.share_of, current=rated, share=facts.taken("plan.incoming.generator_share"))


def _passed(facts: Facts, units: Units) -> dict[str, Figure]:
    """What a unit of each phase passes: its transfer current, less where several stand in parallel (T8)."""
    transfer = facts.figure("unit.transfer_current")
    if transfer is None or facts.answers.incoming.kind == "none":
        return {}
    alone, beside = (
        chosen("plan.incoming.single_share", 1.0, "ratio", "a unit alone on its phase", "T8"),
        facts.taken("plan.incoming.paralleled_share"),
    )
    return {
        phase: work(
            f"plan.phases[{phase}].transfer_limit",
            generator.share_of,
            current=transfer,
            share=beside if len(units.on(phase)) > 1 else alone,
        )
        for phase in facts.phases
    }


def _own(facts: Facts, passed: Mapping[str, Figure]) -> dict[str, Figure]:
    """What a unit of each phase may take from the incoming side: what it passes, and what its own device carries (S3)."""
    transfer = facts.figure("unit.transfer_current")
    device = largest_rating_not_above(transfer.value, facts.rules) if transfer else None
    if transfer is None or device is None:
        return {}
    found = {}
    for phase, whole in passed.items():
        key = f"plan.phases[{phase}]"
        rating = chosen(
            f"{key}.incoming_device",
            device,
            "A",
            "the largest rating not above the transfer current",
            ratings_source(facts.rules),
            [transfer],
        )
        carried = work(f"{key}.device_limit", generator.share_of, current=rating, share=_device_share(facts))
        least = min(whole, carried, key=lambda figure: figure.value)
        found[phase] = chosen(
            f"{key}.unit_incoming", least.value, "A", "the smaller of what the unit and its device carry", "T8; S3", [whole, carried]
        )
    return found


def _device_share(facts: Facts) -> Figure:
    note_text = "a continuous current is at most 80 % of its device" if facts.rules == "nec" else "a device carries its rating"
    return chosen("plan.incoming.device_share", _BREAKER_SHARE[facts.rules], "ratio", note_text, "S3")


def _charge_checks(facts: Facts, found: Limits, storage: Storage, banks: Banks) -> Iterator[Finding]:
    if found.charge and facts.missing("unit.charge_current"):
        text = "The most current that a unit charges with is not answered: the setting is the bank's part alone, and may be more than the unit can."
        yield caution(
            "charge-current-unanswered", "unit.charge_current", text, "It stands in the unit's datasheet.", "T14", unanswered=True
        )
    known = {tag: limit for tag, limit in found.charge.items() if limit}
    yield from together(list(known), lambda tag, called: _unit_charge(facts, tag, called, known[tag], storage, banks))
    solar = facts.figure("unit.solar.charge_current")
    low = min((limit.value for limit in found.charge.values() if limit), default=0.0)
    if facts.solar and solar and low and solar.value > low * (1 + 1e-9):
        yield caution(
            "solar-charges-above-limit",
            "unit.solar.charge_current",
            f"The solar side of a unit may charge with {solar}, {shown(solar.value - low, 'A')} above the unit's part of the bank: the setting must hold both together.",
            f"Make sure that the unit's charge limit counts its solar charging in, or limit that to {shown(low, 'A')} too.",
            "T14",
            value=solar,
            limit=low,
        )
    elif facts.solar and solar and low:
        yield caution(
            "solar-beside-charger",
            "unit.solar.charge_current",
            f"A unit's charge limit is set to {shown(low, 'A')}. Where that holds its charger alone, its solar side adds up to {solar}, and the bank gets more than it may.",
            "Look up whether the limit counts solar charging in. If it does not, set both so that together they stay within it.",
            "T14",
            value=solar.value + low,
            limit=low,
            unit="A",
        )


def _unit_charge(facts: Facts, tag: str, called: str, limit: Figure, storage: Storage, banks: Banks) -> Iterator[Finding]:
    """What one unit's charge setting is held against."""
    about, bank, own = f"plan.units[{tag}].charge_limit", storage.of(banks.bank_of.get(tag)), facts.figure("unit.charge_current")
    assert bank is not None
    if limit.value < 1:
        text = f"The bank stands less than one ampere of charge for {called}: it would never be charged by it."
        yield caution(
            "charge-limit-zero", about, text, "More modules in parallel, or charge with fewer units.", "T14, S24", value=limit, limit=1.0
        )
    elif own and limit.value < own.value - 1:
        text = f"{called} could charge with {own}, but its bank stands only {bank.charge_limit} from all units on it: set {limit}."
        cure = "Set it on the bench before the unit meets the bank; more strings would allow more."
        yield caution("charge-limit-below-unit", about, text, cure, "T14", value=limit, limit=own)


def _incoming_checks(facts: Facts, phases: Phases, units: Units, found: Limits) -> Iterator[Finding]:
    incoming = facts.answers.incoming
    if incoming.kind == "none" or not units.units:
        return
    yield from _voltage(facts)
    if incoming.arrangement and incoming.arrangement != facts.answers.output.arrangement:
        yield caution(
            "incoming-arrangement-differs",
            "incoming.arrangement",
            f"{incoming.arrangement} comes in, {facts.answers.output.arrangement} goes out: only {', '.join(_incoming_phases(facts))} can pass it through.",
            "Ask the maker whether such a set works at all. Two legs of a three-phase supply are not split-phase.",
            "T12",
        )
    if incoming.kind == "generator" and facts.missing("incoming.rating"):
        text = "What the generator gives for hours is not answered: only its breaker limits what the set takes."
        yield caution(
            "generator-rating-unanswered", "incoming.rating", text, "The plate, prime rating, not standby.", "T19", unanswered=True
        )
    altitude = facts.figure("site.altitude")
    if incoming.kind == "generator" and altitude and altitude.value > _THIN_AIR:
        kept = generator.altitude_factor(altitude.value)
        text = f"At {altitude} an engine keeps about {kept:.0%} of its power; the plate is taken as it is."
        yield caution(
            "generator-thin-air",
            "incoming.rating",
            text,
            "Answer the rating for this height, from the generator's datasheet.",
            "a dealer's design notes (secondary)",
            value=altitude,
            limit=_THIN_AIR,
        )
    if found.incoming_total is None:
        return
    over = {phase: told for phase in _incoming_phases(facts) if (told := _over(phase, phases, units, found))}
    if over:
        yield caution(
            "incoming-below-load-and-charge",
            "plan.incoming.limit",
            f"Loads and charging together draw more than the {found.incoming_total} that {_limiting(found.incoming_total)} allows: {'; '.join(told for _, told in over.values())}. "
            "The limits hold only if the units add battery power, or charge less, or loads are shed.",
            "See in the manual that the units add battery power at the incoming limit; otherwise lower the charge limits or shed loads.",
            "T19",
            value=max(both for both, _ in over.values()),
            limit=found.incoming_total,
            where=over,
        )


def _limiting(total: Figure) -> str:
    """What limits the set on the incoming side, in words: the breaker or the generator, and which share of it."""
    least = min(total.of, key=lambda figure: figure.value)
    what = least.key.removeprefix("plan.incoming.of_")
    share = next(figure for figure in least.of if figure.unit == "ratio")
    return f"{share} of the {what}" if share.value < 1 else f"the {what}"


def _voltage(facts: Facts) -> Iterator[Finding]:
    """A unit passes the incoming voltage through as it is: the loads get it."""
    given = facts.have("incoming.voltage", "output.voltage")
    if given and abs(given[0].value - given[1].value) > _VOLTAGE_DIFFERENCE * given[1].value * (1 + 1e-9):
        yield stop(
            "incoming-voltage-differs",
            "incoming.voltage",
            f"{given[0]} comes in and {given[1]} goes out: a unit passes the incoming voltage through, so the loads would get {given[0]}.",
            "Both are phase to neutral: measure and correct the answer, or put a transformer ahead of the set.",
            "a transfer relay changes no voltage; 10 % as in EN 50160 (from memory)",
            value=given[0],
            limit=given[1],
        )


def _over(phase: str, phases: Phases, units: Units, found: Limits) -> tuple[Ampere, str] | None:
    """T19: what passes through and what charges on a phase, together and in words, where it is more than the incoming side allows."""
    row = next((row for row in phases.rows if row.phase == phase), None)
    if row is None or found.incoming_total is None or not found.charging:
        return None
    drawn = [row.current, *(found.charging[unit.tag] for unit in units.on(phase) if unit.tag in found.charging)]
    both, limit = sum(figure.value for figure in drawn), found.incoming_total.value
    if both <= limit * (1 + 1e-9):
        return None
    return both, f"{phase} loads {row.current} and charging {shown(both - row.current.value, 'A')}, {shown(both - limit, 'A')} too much"
