"""What every circuit carries, what device it gets, and what fault that device must break (T1, T2, T8, T9, S2, S3, S7, S11)."""

from __future__ import annotations

import cmath
from collections.abc import Iterator, Mapping, Sequence

from engine.facts import Facts
from engine.findings import Finding
from engine.formulas import battery, phasors, protection, solar
from engine.site.supply import ANGLES
from engine.stages.circuits import Circuits, Ends
from engine.stages.currents.checks import no_device, transfer, unanswered
from engine.stages.currents.part import CircuitCurrents, Currents
from engine.stages.limits import Limits
from engine.stages.storage.part import BankSums, Storage
from engine.tables import table
from engine.tables.protection import strings_fused
from engine.tables.ratings import BREAKER, FUSE, largest_rating_not_above, next_rating_up, rated, ratings_source
from engine.workings import Figure, chosen, work

_SHORT_SURGE = 10.0  # s: what S7 is good for
_HOUR = 3600.0  # s: above it a fuse is as warm as it gets (S32)
_CHARGING_PULSES = (
    "charging governs: its pulses are reckoned by the inverter's S / P; the charger's own power factor, nearer 1, would give less"
)
_CONTINUOUS_SOLAR = {"iec": 1.25, "nec": 1.56}  # S11


def currents(*, facts: Facts, storage: Storage, limits: Limits, circuits: Circuits) -> tuple[Currents, list[Finding]]:
    """Currents, device ratings and breaking faults of all circuits."""
    of: dict[str, CircuitCurrents] = {}
    for ends in circuits.circuits:
        if ends.kind == "battery":
            of[ends.name] = _battery(facts, storage, limits, circuits, ends)
        elif ends.kind == "solar":
            of[ends.name] = _solar(facts, ends)
        elif ends.kind == "incoming":
            of[ends.name] = _incoming(facts, ends)
    for ends in circuits.of("load", common=False):
        of[ends.name] = _load(facts, ends, of.get(f"incoming {ends.tag}"))
    for ends in circuits.of("load", common=True):
        of[ends.name] = _load_common(facts, ends, circuits, of)
    return Currents(of), [*unanswered(facts, circuits), *no_device(facts.rules, circuits, of), *transfer(facts, limits, circuits)]


# --- battery ---


def _battery(facts: Facts, storage: Storage, limits: Limits, circuits: Circuits, ends: Ends) -> CircuitCurrents:
    key, count = ends.key, len(ends.units)
    bank = storage.of(ends.bank)
    breaking = bank.fault_breaking if bank else None
    given = facts.have("unit.apparent_power", "unit.real_power", "unit.ripple")
    if storage.unit_current is None or given is None:
        return CircuitCurrents(breaking=breaking)
    apparent, power, ripple = given
    charging = [*_charging(facts, limits, ends)]
    one = _greatest(f"{key}.unit_current", [storage.unit_current, *charging])
    steady = work(f"{key}.steady_current", battery.paralleled_current, current=one, parallel=count) if count > 1 else one
    drawn = storage.unit_current
    drawn = work(f"{key}.drawn_current", battery.paralleled_current, current=drawn, parallel=count) if count > 1 else drawn
    reaching = _ripple(facts, ends, circuits.phases_of(ends), ripple)
    pulsing = {"apparent": apparent, "power": power, "ripple": reaching}
    note = _CHARGING_PULSES if one.value > storage.unit_current.value else ""
    thermal = work(f"{key}.thermal_current", battery.pulsed_current, current=steady, **pulsing, note=note)
    hourly = None
    if hours := _hours(bank, storage.unit_current, charging):
        most = max((figure for figure, _ in hours), key=lambda figure: figure.value)
        why = "; ".join(word for figure, word in hours if figure is most)
        own = work(f"{key}.lasting_steady", battery.paralleled_current, current=most, parallel=count) if count > 1 else most
        hourly = work(f"{key}.lasting_current", battery.pulsed_current, current=own, **pulsing, note=why)
    if facts.rules == "nec":
        lasting = work(f"{key}.continuous", protection.continuous_rating, continuous=steady)
        design = work(f"{key}.current", battery.greater_current, currents=[lasting, thermal], note="the larger, never their product (S2)")
    else:
        design = chosen(f"{key}.current", thermal.value, "A", "the thermal current (S2)", "T2", [thermal])
    needed = _fuse(facts, ends, design, drawn)
    return CircuitCurrents(design, design, thermal, drawn, _rated(ends, facts.rules, FUSE, needed), breaking, hourly, needed)


def _hours(bank: BankSums | None, drawn: Figure, charging: Sequence[Figure]) -> list[tuple[Figure, str]]:
    """What a unit draws or gives for an hour or more, and when: full load unless the bank is known to be empty before (S32)."""
    lasts = bank.autonomy_full_load if bank else None
    full = [] if lasts and lasts.value < _HOUR else [(drawn, f"full load, which the bank carries for {lasts or 'an unknown time'}")]
    return [*full, *((figure, "charging at the limit") for figure in charging)]


def _charging(facts: Facts, limits: Limits, ends: Ends) -> Iterator[Figure]:
    """What the units charge the bank with, where it is more than what they draw."""
    found = [limits.charge.get(tag) or facts.figure("unit.charge_current") for tag in ends.units]
    if found and all(found):
        yield max((f for f in found if f), key=lambda figure: figure.value)


def _ripple(facts: Facts, ends: Ends, phases: Sequence[str], ripple: Figure) -> Figure:
    """Share of the pulses that is left where several phases meet: in three-phase they cancel, in split-phase they add (T2)."""
    if len(ends.units) == 1 or facts.answers.output.arrangement != "three-phase":
        return ripple
    # Power pulses at twice the line frequency, so that a phase's angle counts twice.
    angles = ANGLES["three-phase"]
    left = abs(sum(cmath.exp(2j * angles[phase]) for phase in phases)) / len(ends.units)
    left = 0.0 if left < 1e-9 else left
    note = f"{left:.3g} of the pulses of {len(ends.units)} units is left where they meet"
    return chosen(f"{ends.key}.ripple", ripple.value * left, "ratio", note, "T2: phasor sum at twice the line frequency", [ripple])


def _fuse(facts: Facts, ends: Ends, design: Figure, drawn: Figure) -> Figure:
    """What a fuse must be rated for: it carries the design current, in its warm box if that is answered (S32), and half the surge (S7).

    The surge scales what is drawn, never the charging.
    """
    factor = facts.figure("storage.fuse_factor")
    needed = [work(f"{ends.key}.warm_rating", protection.warm_rating, current=design, factor=factor) if factor else design]
    surge, power, lasts = facts.figure("unit.surge_power"), facts.figure("unit.real_power"), facts.value("unit.surge_time")
    if surge and power:
        read = chosen(
            f"{ends.key}.surge_power", surge.value, "W", "all of the surge taken as real power, the most it can draw", "safe side", [surge]
        )
        peak = work(f"{ends.key}.surge_current", protection.surge_current, current=drawn, power=power, surge=read)
        short = lasts is not None and lasts <= _SHORT_SURGE
        needed.append(work(f"{ends.key}.surge_rating", protection.surge_rating, surge=peak) if short else peak)
    return _greatest(f"{ends.key}.fuse_current", needed)


# --- AC ---


def _incoming(facts: Facts, ends: Ends) -> CircuitCurrents:
    """A unit's device is the largest that its transfer relay stands; the common one is the breaker that is there (S3)."""
    breaking = _fault(ends, facts.figure("incoming.prospective_fault"))
    if ends.common:
        breaker = facts.figure("incoming.breaker")
        if breaker is None:
            return CircuitCurrents(breaking=breaking)
        design = chosen(f"{ends.key}.current", breaker.value, "A", "the breaker ahead of the set (S3)", "IEC 60364-4-43 433.1", [breaker])
        there, told = "the breaker that is there", rated(breaker.value)
        rating = chosen(f"{ends.key}.device.rating", breaker.value, "A", there, breaker.source, [breaker], told)
        return CircuitCurrents(design, design, design, design, rating, breaking)
    transfer = facts.figure("unit.transfer_current")
    found = largest_rating_not_above(transfer.value, facts.rules, BREAKER) if transfer else None
    if transfer is None or found is None:
        return CircuitCurrents(breaking=breaking)
    note = "the largest standard rating not above the transfer current (T8)"
    rating = chosen(f"{ends.key}.device.rating", found, "A", note, ratings_source(facts.rules, BREAKER), [transfer], rated(found))
    if facts.rules == "nec":
        design = work(f"{ends.key}.current", protection.continuous_current, rating=rating)
        return CircuitCurrents(
            design, work(f"{ends.key}.continuous", protection.continuous_rating, continuous=design), design, design, rating, breaking
        )
    design = chosen(f"{ends.key}.current", found, "A", "what its device lets through (S3)", "IEC 60364-4-43 433.1", [rating])
    return CircuitCurrents(design, design, design, design, rating, breaking)


def _load(facts: Facts, ends: Ends, incoming: CircuitCurrents | None) -> CircuitCurrents:
    """A unit's output carries its own power, or what it passes through (S3)."""
    breaking = _load_fault(facts, ends, 1)
    given = facts.have("unit.apparent_power", "output.voltage")
    if given is None:
        return CircuitCurrents(breaking=breaking)
    own = work(f"{ends.key}.own_current", phasors.phase_current, apparent=given[0], voltage=given[1])
    design = _greatest(f"{ends.key}.current", [own, *([incoming.design] if incoming and incoming.design else [])])
    lasting = work(f"{ends.key}.continuous", protection.continuous_rating, continuous=design) if facts.rules == "nec" else design
    return CircuitCurrents(design, lasting, design, design, _rated(ends, facts.rules, BREAKER, lasting), breaking, needed=lasting)


def _load_common(facts: Facts, ends: Ends, circuits: Circuits, of: Mapping[str, CircuitCurrents]) -> CircuitCurrents:
    """What the units' devices on the busiest phase let through together (T9, S3)."""
    by_phase: dict[str, list[Figure | None]] = {}
    for unit in circuits.of("load", common=False):
        by_phase.setdefault(str(unit.phase), []).append(of[unit.name].rating)
    breaking = _load_fault(facts, ends, max(map(len, by_phase.values()), default=0))
    told = [[r for r in ratings if r] for ratings in by_phase.values() if all(ratings)]
    if not told or len(told) < len(by_phase):
        return CircuitCurrents(breaking=breaking)
    busiest = max(told, key=lambda ratings: sum(r.value for r in ratings))
    design = work(f"{ends.key}.current", protection.summed_ratings, ratings=busiest, note="the busiest phase (T9)")
    return CircuitCurrents(design, design, design, design, _rated(ends, facts.rules, BREAKER, design), breaking, needed=design)


def _fault(ends: Ends, source: Figure | None) -> Figure | None:
    if source is None:
        return None
    return chosen(
        f"{ends.key}.fault", source.value, "A", "the whole fault of the supply, no cable counted", "IEC 60364-4-43 434.5.1", [source]
    )


def _load_fault(facts: Facts, ends: Ends, units: int) -> Figure | None:
    """Behind a unit the supply's fault passes through; without a supply the units' own is all there is."""
    if facts.answers.incoming.kind != "none":
        return _fault(ends, facts.figure("incoming.prospective_fault"))
    unit = facts.figure("unit.fault_current")
    return work(f"{ends.key}.fault", protection.units_fault, unit=unit, units=units) if unit and units else None


# --- solar ---


def _solar(facts: Facts, ends: Ends) -> CircuitCurrents:
    isc, parallel = facts.figure("solar.isc"), facts.strings_on_tracker
    fused = strings_fused(parallel)
    if isc is None:
        return CircuitCurrents()
    factor = chosen(
        f"{ends.key}.factor", _CONTINUOUS_SOLAR[facts.rules], "1", "bright sun, lasting", "S11: IEC 60364-7-712; NFPA 70 (NEC) 690.8", []
    )
    design = work(f"{ends.key}.current", solar.circuit_current, short_circuit=isc, strings=parallel, factor=factor)
    needed = design
    if fused:
        item = "least rating over Isc" if facts.rules == "iec" else "least rating over Isc (UL 2579)"
        row = table("gpv").row("item", item)
        assert row is not None
        least = row["value"]
        assert isinstance(least, float)
        over = chosen(f"{ends.key}.fuse_factor", least, "1", item, table("gpv").told, [])
        needed = work(f"{ends.key}.fuse_current", solar.circuit_current, short_circuit=isc, strings=1, factor=over)
    rating = _rated(ends, facts.rules, FUSE if fused else BREAKER, needed)
    return CircuitCurrents(design, design, design, design, rating, design if fused else None)


# --- common ---


def _greatest(key: str, figures: Sequence[Figure]) -> Figure:
    return work(key, battery.greater_current, currents=figures)


def _rated(ends: Ends, rules: str, device: str, needed: Figure) -> Figure | None:
    found = next_rating_up(needed.value, rules, device)
    if found is None:
        return None
    note = f"the smallest standard {device} rating not below {needed}"
    return chosen(f"{ends.key}.device.rating", found, "A", note, ratings_source(rules, device), [needed], rated(found))
