"""How unequal leads become unequal currents (T11, S18): solved on the circuits as they were cut and sized.

Units draw power from their bank, so their battery currents hardly differ however their leads do. On the AC side
like units stand in parallel on one bar and share by 1/R of their leads.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engine.facts import Facts
from engine.findings import Finding, caution, stop
from engine.formulas.leads import both_poles, drawn_current, drawn_power, end_voltage
from engine.formulas.sharing import branch_current, resistance_spread, spread
from engine.frozen import dataclass
from engine.quantities import shown
from engine.solvers.leads import bar_voltage
from engine.stages.banks import Banks
from engine.stages.circuits import Circuits, Ends
from engine.stages.conductors.part import Conductors
from engine.stages.storage.part import Storage
from engine.stages.units import Units
from engine.workings import Figure, chosen, work

APART = 0.10  # of the mean: above this like conductors no longer count as like (T11)


@dataclass(frozen=True)
class Lead:
    """One of several like circuits: its resistance (out and back for a battery), current, and voltage at the unit where it falls."""

    circuit: str
    resistance: Figure
    current: Figure | None
    voltage: Figure | None


@dataclass(frozen=True)
class Group:
    """Like circuits: what they are, how far their resistances and their currents lie apart, of their means.

    `carries` is false where the power cannot flow over these leads at all.
    """

    name: str
    leads: tuple[Lead, ...]
    resistance_spread: Figure
    current_spread: Figure | None
    carries: bool = True


@dataclass(frozen=True)
class Sharing:
    """Every group of like circuits whose conductors are known."""

    groups: tuple[Group, ...]


def sharing(
    *, facts: Facts, units: Units, banks: Banks, storage: Storage, circuits: Circuits, conductors: Conductors
) -> tuple[Sharing, list[Finding]]:
    """Solve each bank's leads and each phase's AC leads."""
    ohms = {name: sizing.pole for name, sizing in conductors.of.items() if sizing.pole and sizing.pole.value > 0}
    groups: list[Group] = []
    findings: list[Finding] = []
    for bank in banks.banks:
        some = [e for e in circuits.of("battery", common=False) if e.bank == bank.name]
        if len(some) > 1 and all(e.name in ohms for e in some):
            group = _battery(facts, storage, bank.name, some, ohms)
            groups.append(group)
            findings += [*_apart(group, "Units draw power, so their currents differ less"), *_starved(facts, storage, bank.name, group)]
    for kind in ("load", "incoming"):
        for phase in dict.fromkeys(unit.phase for unit in units.units):
            some = [e for e in circuits.of(kind, common=False) if e.phase == phase]
            if len(some) > 1 and all(e.name in ohms for e in some):
                group = _mains(f"{kind} {phase}", some, ohms, conductors)
                groups.append(group)
                findings += _apart(group, "They share by 1/R")
    return Sharing(tuple(groups)), findings


def _battery(facts: Facts, storage: Storage, bank: str, some: Sequence[Ends], ohms: dict[str, Figure]) -> Group:
    """Units on one bank, each drawing its power over its own lead, all over the bank's."""
    loops = {e.name: work(f"{e.key}.loop", both_poles, pole=ohms[e.name]) for e in some}
    apart = work(f"plan.sharing[battery {bank}].resistance_spread", resistance_spread, resistances=list(loops.values()))
    given = _drawing(facts, storage, bank)
    common = ohms.get(f"battery {bank}")
    bare = tuple(Lead(name, loop, None, None) for name, loop in loops.items())
    if given is None:
        return Group(f"battery {bank}", bare, apart, None)
    source, power = given
    volts = bar_voltage(source.value, 2 * common.value if common else 0.0, [loop.value for loop in loops.values()], power.value)
    if volts is None:
        return Group(f"battery {bank}", bare, apart, None, carries=False)
    bar = chosen(
        f"plan.sharing[battery {bank}].bar_voltage",
        volts,
        "V",
        "every unit at full power, the bank at its low voltage",
        "Kirchhoff's laws",
        [source, power, *([common] if common else [])],
    )
    leads = []
    for name, loop in loops.items():
        current = work(f"plan.sharing[{name}].current", drawn_current, voltage=bar, resistance=loop, power=power)
        leads.append(
            Lead(name, loop, current, work(f"plan.sharing[{name}].voltage", end_voltage, voltage=bar, resistance=loop, current=current))
        )
    between = work(f"plan.sharing[battery {bank}].current_spread", spread, currents=[lead.current for lead in leads if lead.current])
    return Group(f"battery {bank}", tuple(leads), apart, between)


def _drawing(facts: Facts, storage: Storage, bank: str) -> tuple[Figure, Figure] | None:
    """The bank's low voltage and what a unit draws at full power, where both are known."""
    low = next((sums.low for sums in storage.banks if sums.name == bank), None)
    given = facts.have("unit.real_power", "unit.efficiency")
    if low is None or low.value <= 0 or given is None:
        return None
    return low, work("plan.sharing.unit_power", drawn_power, power=given[0], efficiency=given[1])


def _mains(name: str, some: Sequence[Ends], ohms: dict[str, Figure], conductors: Conductors) -> Group:
    """Like units on one phase: the sum of their currents, shared by 1/R."""
    resistances = [ohms[e.name] for e in some]
    apart = work(f"plan.sharing[{name}].resistance_spread", resistance_spread, resistances=resistances)
    rated = [figure for e in some if (sizing := conductors.of.get(e.name)) and (figure := sizing.current)]
    if len(rated) < len(some):
        return Group(name, tuple(Lead(e.name, ohms[e.name], None, None) for e in some), apart, None)
    total = chosen(
        f"plan.sharing[{name}].current",
        sum(figure.value for figure in rated),
        "A",
        "all units of the phase together",
        "Kirchhoff's laws",
        rated,
    )
    currents = [
        work(f"plan.sharing[{e.name}].current", branch_current, current=total, resistances=resistances, place=k) for k, e in enumerate(some)
    ]
    leads = tuple(Lead(e.name, r, i, None) for e, r, i in zip(some, resistances, currents, strict=True))
    return Group(name, leads, apart, work(f"plan.sharing[{name}].current_spread", spread, currents=currents))


def _apart(group: Group, law: str) -> Iterator[Finding]:
    """Like circuits that are not alike."""
    if group.resistance_spread.value <= APART + 1e-9:
        return
    least, most = (pick(group.leads, key=lambda lead: lead.resistance.value) for pick in (min, max))
    text = f"The {group.name} circuits are not alike: {least.circuit} {least.resistance}, {most.circuit} {most.resistance}, {group.resistance_spread} of their mean apart."
    if group.current_spread and least.current and most.current:
        text += f" {law}: {least.circuit} {least.current}, {most.circuit} {most.current} ({group.current_spread} apart)."
    remedy = "Cut them to one length, size and make; as they are, protect each conductor on its own for the current that it takes."
    yield caution(
        "like-circuits-unlike",
        f"plan.circuits[{most.circuit}].length",
        text,
        remedy,
        "T11, S18; IEC 60364-4-43 433.4 (from memory)",
        value=group.resistance_spread,
        limit=APART,
    )


def _starved(facts: Facts, storage: Storage, bank: str, group: Group) -> Iterator[Finding]:
    """Units that the bank's low voltage no longer reaches; not where that voltage was taken from the unit's own limit."""
    least, low = facts.value("unit.dc_min"), next((sums.low for sums in storage.banks if sums.name == bank), None)
    known = [(lead.voltage.value, lead.circuit) for lead in group.leads if lead.voltage]
    taken = bool(facts.missing("storage.module.low")) and low is not None and low.value == least
    if known and least is not None and not taken and min(known)[0] < least:
        volts, circuit = min(known)
        text = f"With {bank} at its low voltage and every unit at full power {circuit} ends at {shown(volts, 'V')}; its unit stops below {shown(least, 'V')}."
        yield caution(
            "unit-starved",
            f"plan.circuits[{circuit}].drop",
            text,
            "Shorten or thicken the leads, or raise the bank's low voltage.",
            "T1",
            value=volts,
            limit=least,
            unit="V",
        )
    if not group.carries:
        text = f"The leads on {bank} cannot carry the units' power at the bank's low voltage at all."
        yield stop(
            "leads-carry-no-power",
            f"plan.circuits[{group.leads[0].circuit}].conductor",
            text,
            "Shorten or thicken the leads.",
            "P = (U - R I) I",
        )
