"""Each bank's sums: energy, time, currents, sharing between its strings, faults, voltages, air (T1, T2, T4, T14, T16, S10, S24, S25)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from engine.facts import Assumed, Facts
from engine.findings import Finding, together
from engine.formulas import battery, energy, ventilation
from engine.site.storage import FEEDS, LEAD_ACID, Feed
from engine.solvers.network import bank_shares
from engine.stages.banks import BankPlace, Banks
from engine.stages.demand import Demand
from engine.stages.phases.part import Phases
from engine.stages.storage.checks import at_best, bank_checks, storage_checks, too_little
from engine.stages.storage.fault import Fault, fault
from engine.stages.storage.part import BankSums, Storage
from engine.stages.storage.resistance import of_string
from engine.stages.storage.thresholds import Thresholds, thresholds
from engine.stages.units import Units
from engine.tables import table
from engine.workings import Figure, chosen, tabled, work


def storage(*, facts: Facts, demand: Demand, phases: Phases, units: Units, banks: Banks) -> tuple[Storage, list[Finding]]:
    """Figures of every bank, held against what the set asks of them."""
    levels = thresholds(facts)
    current = _unit_current(facts, levels)
    daily = _daily(facts, demand, phases)
    string = of_string(facts)
    summed = tuple(_bank(facts, bank, levels, current, string, _bank_daily(bank, units, daily)) for bank in banks.banks)
    found = Storage(
        summed,
        current,
        _thermal(facts, current),
        _system_voltage(facts),
        string,
        tuple(_instead(facts, summed)),
    )
    findings = [*storage_checks(facts, levels)]
    units_on = {place.name: len(place.units) for place in banks.banks}
    sums = {bank.name: bank for bank in found.banks}
    findings += together(list(sums), lambda name, called: bank_checks(facts, sums[name], called, units_on[name]))
    return found, findings


def _system_voltage(facts: Facts) -> Figure | None:
    module = facts.figure("storage.module.voltage")
    return work("plan.storage.voltage", battery.bank_voltage, module_voltage=module, series=facts.series) if module else None


def _unit_current(facts: Facts, levels: Thresholds) -> Figure | None:
    """T1: at rated power and the lowest voltage at which a unit still works."""
    given = facts.have("unit.real_power", "unit.efficiency")
    lowest = [figure for figure in (facts.figure("unit.dc_min"), levels.low("plan.storage")) if figure]
    if given is None or given[0].value <= 0 or not lowest:
        return None
    voltage = work("plan.storage.lowest_voltage", battery.least_voltage, limits=lowest)
    return work("plan.unit.battery_current", battery.battery_current, power=given[0], efficiency=given[1], voltage=voltage)


def _thermal(facts: Facts, current: Figure | None) -> Figure | None:
    given = facts.have("unit.apparent_power", "unit.real_power", "unit.ripple")
    if current is None or given is None or given[1].value <= 0:
        return None
    apparent, power, ripple = given
    return work("plan.unit.battery_thermal_current", battery.pulsed_current, current=current, apparent=apparent, power=power, ripple=ripple)


def _daily(facts: Facts, demand: Demand, phases: Phases) -> Mapping[str, Figure]:
    """What the loads of each phase use in a day; a load on several phases counts on each by the power that it gives."""
    found = {}
    for k, phase in enumerate(facts.phases if phases.on else ()):
        energies, parts = [], []
        for load, worth in zip(demand.loads, phases.worth, strict=True):
            if load.energy and (copies := worth[k]):
                energies.append(load.energy)
                parts.append(copies)
        found[phase] = work(f"plan.phases[{phase}].energy_per_day", energy.weighted_energy, energies=energies, weights=parts)
    return found


def _bank_daily(bank: BankPlace, units: Units, daily: Mapping[str, Figure]) -> Figure | None:
    """What the loads on a bank's units use in a day."""
    if not daily:
        return None
    energies, parts = [], []
    for phase, figure in daily.items():
        own = sum(unit.tag in bank.units for unit in units.on(phase))
        if own:
            energies.append(figure)
            parts.append(
                chosen(f"plan.banks[{bank.name}].units_of_{phase}", own / len(units.on(phase)), "1", "its part of the phase's units", "T13")
            )
    return work(f"plan.banks[{bank.name}].energy_per_day", energy.weighted_energy, energies=energies, weights=parts)


def _bank(
    facts: Facts, place: BankPlace, levels: Thresholds, unit_current: Figure | None, string: Figure | None, daily: Figure | None
) -> BankSums:
    key, count = f"plan.banks[{place.name}]", len(place.units)
    capacity = _capacity(facts, key)
    stored, usable = _energy(facts, key, capacity)
    drawn = work(f"{key}.discharge_current", battery.paralleled_current, current=unit_current, parallel=count) if unit_current else None
    feed = _feed(facts, key, string, drawn, count)
    share = _largest_share(facts, key, string, feed)
    charge = _limit(f"{key}.charge_limit", facts.figure("storage.module.charge_current"), share)
    discharge = _limit(f"{key}.discharge_limit", facts.figure("storage.module.discharge_current"), share)
    faults: Fault = fault(facts, key, levels)
    return BankSums(
        place.name,
        energy=stored,
        usable=usable,
        daily=daily,
        autonomy=_autonomy(key, usable, daily),
        autonomy_full_load=_full_load(facts, key, usable, count),
        discharge_current=drawn,
        discharge_limit=discharge,
        discharge_rate=work(f"{key}.discharge_rate", battery.discharge_rate, current=drawn, capacity=capacity)
        if drawn and capacity
        else None,
        charge_rate=work(f"{key}.charge_rate", battery.discharge_rate, current=charge, capacity=capacity) if charge and capacity else None,
        charge_limit=charge,
        largest_share=share,
        emf_full=faults.emf_full,
        emf_low=faults.emf_low,
        resistance_breaking=faults.resistance_breaking,
        resistance_clearing=faults.resistance_clearing,
        fault_breaking=faults.breaking,
        fault_clearing=faults.clearing,
        absorption=levels.absorption(key),
        float_=levels.float_(key),
        low=levels.low(key),
        temperature_slope=levels.slope(key),
        absorption_cold=levels.compensated(key, "cold", facts.figure("site.ambient_min")),
        absorption_warm=levels.compensated(key, "warm", facts.figure("site.ambient_max")),
        **_air(facts, key, levels, capacity),
        feed=feed,
        rated_time=facts.taken("plan.storage.rated_time") if facts.answers.storage.chemistry in LEAD_ACID else None,
    )


def _capacity(facts: Facts, key: str) -> Figure | None:
    module = facts.figure("storage.module.capacity")
    return work(f"{key}.capacity", battery.bank_capacity, module_capacity=module, parallel=facts.strings_in_parallel) if module else None


def _energy(facts: Facts, key: str, capacity: Figure | None) -> tuple[Figure | None, Figure | None]:
    """Energy of the full bank, and what of it reaches the loads."""
    voltage = _system_voltage(facts)
    if voltage is None or capacity is None:
        return None, None
    stored = work(f"{key}.energy", battery.bank_energy, voltage=voltage, capacity=capacity)
    given = facts.have("storage.depth", "unit.efficiency")
    return stored, work(
        f"{key}.usable_energy", battery.usable_energy, energy=stored, depth=given[0], efficiency=given[1]
    ) if given else None


def _autonomy(key: str, usable: Figure | None, daily: Figure | None) -> Figure | None:
    """S25: over the mean load of the day; None where nothing is used."""
    if usable is None or daily is None or daily.value <= 0:
        return None
    mean = work(f"{key}.mean_load", energy.mean_load, energy=daily)
    return work(f"{key}.autonomy", battery.run_time, energy=usable, power=mean)


def _full_load(facts: Facts, key: str, usable: Figure | None, count: int) -> Figure | None:
    """S25: over the rated load of the bank's units."""
    power = facts.figure("unit.real_power")
    if usable is None or power is None or power.value <= 0:
        return None
    rated = work(f"{key}.rated_load", battery.rated_load, power=power, units=count)
    return work(f"{key}.autonomy_full_load", battery.run_time, energy=usable, power=rated)


def _feed(facts: Facts, key: str, string: Figure | None, drawn: Figure | None, units: int) -> Feed:
    """As answered or assumed; where nobody answered it and a bank would give too little by it alone, the first that gives enough (S31).

    Enough for what is reckoned, or else for what it may turn out to be once the rest is answered.
    """
    module = facts.figure("storage.module.discharge_current")
    if drawn and module and facts.assumes("storage.bank.feed"):
        limits = {
            feed: _limit(key, module, _largest_share(facts, key, string, feed))
            for feed in (facts.feed, *(FEEDS[one.value] for one in facts.instead("storage.bank.feed")))
        }
        for asked in (drawn, at_best(facts, drawn, units)):
            for feed, most in limits.items():
                if not too_little(asked, most):
                    return feed
    return facts.feed


def _instead(facts: Facts, banks: Sequence[BankSums]) -> Iterator[Assumed]:
    """What is told where a bank is fed otherwise than assumed; of several banks the last, for its feed does for those before it too."""
    for one in facts.instead("storage.bank.feed"):
        if any(bank.feed == one.value != facts.feed for bank in banks):
            yield Assumed("storage.bank.feed", one.value, f"{one.means}: with less the bank gives too little", one.source)


def _largest_share(facts: Facts, key: str, string: Figure | None, feed: Feed) -> Figure:
    """Share of the bank's current that its busiest string carries, from the network of strings and joints."""
    strings, joint = facts.strings_in_parallel, facts.figure("storage.bank.joint_resistance")
    if strings == 1:
        return chosen(f"{key}.largest_share", 1.0, "ratio", "a single string carries everything", "Kirchhoff's current law")
    if string is None:
        if feed == "bar":
            return chosen(
                f"{key}.largest_share", 1 / strings, "ratio", f"{strings} like strings from a bar share evenly", "Kirchhoff's current law"
            )
        return chosen(f"{key}.largest_share", 1.0, "ratio", "without a module resistance one string may carry everything", "safe side")
    shares = bank_shares([string.value] * strings, joint.value if joint else 0.0, feed)
    even, busiest = 1 / strings, shares.index(max(shares)) + 1
    told = f"string {busiest} carries most; an even share would be {even:.2%}" if max(shares) > even * (1 + 1e-9) else "all alike"
    note = f"nodal solution of {strings} strings fed {feed}: {told}"
    return chosen(f"{key}.largest_share", max(shares), "ratio", note, "Kirchhoff's laws", [string, *([joint] if joint else [])])


def _limit(key: str, module: Figure | None, share: Figure) -> Figure | None:
    """T14: what the bank stands before its busiest string is at its limit."""
    return work(key, battery.bank_limit, module_limit=module, largest_share=share) if module else None


def _air(facts: Facts, key: str, levels: Thresholds, capacity: Figure | None) -> dict[str, Figure | None]:
    """T16: lead-acid gasses, most on boost charge."""
    chemistry, cells = facts.answers.storage.chemistry, levels.cells
    row = table("gassing_currents").row("chemistry", chemistry) if chemistry else None
    if row is None or capacity is None or not cells:
        return {"ventilation": None, "opening": None}
    boost = row["boost"]
    assert isinstance(boost, float)
    gassing = tabled(f"{key}.gassing_current", boost, "1/s", table("gassing_currents").told, "boost charge, for each ampere-hour")
    flow = work(f"{key}.ventilation", ventilation.airflow, cells=cells, gassing=gassing, capacity=capacity)
    return {"ventilation": flow, "opening": work(f"{key}.opening", ventilation.opening, flow=flow)}
