"""Resistance of the modules: as stated, and the least that it may be (S10)."""

from __future__ import annotations

from engine.facts import Facts
from engine.formulas import battery
from engine.workings import Figure, chosen, work

_MODULE = "plan.storage.module_resistance"


def stated(facts: Facts) -> Figure | None:
    """What is answered of one module: an upper limit, unless it was measured."""
    found = facts.figure("storage.module.resistance")
    return found if found and found.value > 0 else None


def safe(facts: Facts) -> Figure | None:
    """The same, halved where it was not measured; nobody halves it again."""
    found = stated(facts)
    if found is None or facts.answers.storage.module.resistance_measured:
        return found
    return work(f"{_MODULE}_halved", battery.safe_resistance, resistance=found, share=facts.taken("plan.storage.stated_share"))


def of_string(facts: Facts) -> Figure | None:
    """The least resistance of one string, for a low one shares worst and lets most flow into its neighbour.

    What follows from the modules' short-circuit current is what they give, no upper limit, and is not halved.
    """
    known = [found for found in (safe(facts), _short(facts)) if found]
    if not known:
        return None
    least = min(known, key=lambda figure: figure.value)
    if len(known) > 1:
        least = chosen(_MODULE, least.value, "ohm", "the lesser of what is stated and what the short-circuit current says", "S10", known)
    return work("plan.storage.string_resistance", battery.bank_resistance, module_resistance=least, series=facts.series, parallel=1)


def _short(facts: Facts) -> Figure | None:
    voltage, short = facts.figure("storage.module.voltage"), facts.figure("storage.module.short_circuit_current")
    return work(f"{_MODULE}_short", battery.source_resistance, voltage=voltage, current=short) if voltage and short else None
