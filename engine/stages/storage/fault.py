"""What a bank gives into a short circuit, at its most for breaking and at its least for clearing (T4, S10)."""

from __future__ import annotations

from engine.facts import Facts
from engine.formulas import battery, protection
from engine.frozen import dataclass
from engine.stages.storage import resistance
from engine.stages.storage.thresholds import Thresholds
from engine.workings import Figure, work


@dataclass(frozen=True)
class Fault:
    """Sources and faults without any cable; None where neither resistance nor short-circuit current is known."""

    emf_full: Figure | None
    emf_low: Figure | None
    resistance_breaking: Figure | None = None
    resistance_clearing: Figure | None = None
    breaking: Figure | None = None
    clearing: Figure | None = None


def fault(facts: Facts, key: str, levels: Thresholds) -> Fault:
    """Both faults of one bank: of what its resistance and its stated current give, the larger breaks, the smaller clears."""
    full, low = levels.emf(f"{key}.emf_full", levels.absorption(key)), levels.emf(f"{key}.emf_low", levels.empty(key))
    series, parallel = facts.series, facts.strings_in_parallel
    stated, safe, short = resistance.stated(facts), resistance.safe(facts), facts.figure("storage.module.short_circuit_current")
    of_modules = work(f"{key}.stated_fault", battery.paralleled_current, current=short, parallel=parallel) if short else None
    most, least = [f for f in (of_modules,) if f], [f for f in (of_modules,) if f]
    if safe and full:
        lowest = work(f"{key}.resistance_safe", battery.bank_resistance, module_resistance=safe, series=series, parallel=parallel)
        most.append(work(f"{key}.computed_fault", protection.fault_current, emf=full, source=lowest))
    if stated and low:
        whole = work(f"{key}.resistance", battery.bank_resistance, module_resistance=stated, series=series, parallel=parallel)
        least.append(work(f"{key}.computed_low_fault", protection.fault_current, emf=low, source=whole))
    breaking = work(f"{key}.fault_current", battery.greater_current, currents=most) if most else None
    clearing = work(f"{key}.fault_current_clearing", battery.lesser_current, currents=least) if least else None
    return Fault(
        full,
        low,
        work(f"{key}.resistance_breaking", battery.source_resistance, voltage=full, current=breaking) if full and breaking else None,
        work(f"{key}.resistance_clearing", battery.source_resistance, voltage=low, current=clearing) if low and clearing else None,
        breaking,
        clearing,
    )
