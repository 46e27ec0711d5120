"""What the answers on the storage leave open or say against each other, once for the site (T1, T4, T14, T16)."""

from __future__ import annotations

from collections.abc import Iterator

from engine.facts import Facts
from engine.findings import Finding, caution, note, stop
from engine.quantities import shown
from engine.stages.banking.cells import cell_checks
from engine.stages.banking.thresholds import LEAD, Thresholds

_FREEZING = 273.15
_SLACK = 1 + 1e-9
_CELLS = "per-cell voltages by chemistry"
_UNIT = "the units' own limits"


def storage_checks(facts: Facts, levels: Thresholds) -> Iterator[Finding]:
    """Findings about the modules, whatever bank they are in."""
    if facts.answers.storage.chemistry is None:
        yield stop(
            "chemistry-unanswered",
            "storage.chemistry",
            "The kind of cells is not answered: no voltage, no ventilation and no unit setting can be checked.",
            "It stands on the modules: lfp, nmc, flooded, agm or gel.",
            "T14, T16",
        )
    yield from _module(facts)
    if facts.value("storage.depth") == 0:
        text = "None of the bank's capacity may be used: it never carries anything."
        yield stop(
            "depth-zero", "storage.depth", text, "Answer the share that the maker of the modules allows, 80 % for most lithium.", "S25"
        )
    yield from cell_checks(facts, levels)
    yield from _voltages(facts, levels)
    yield from _unit(facts, levels)
    yield from _cold(facts)


def _module(facts: Facts) -> Iterator[Finding]:
    for key in facts.missing("storage.module.voltage", "storage.module.capacity"):
        text = f"The {key.rsplit('.', 1)[-1]} of one module is not answered: the bank cannot be summed up."
        yield stop("module-unanswered", key, text, "It stands on the module.", "S25")
    for kind in ("charge", "discharge"):
        key = f"storage.module.{kind}_current"
        if facts.missing(key):
            yield stop(
                "bank-limit-unanswered",
                key,
                f"How much current one module may be {kind}d with is not answered. It is never assumed: above it the bank is damaged.",
                "It stands in the module's datasheet as the most continuous current.",
                "T14",
            )
    if not facts.value("storage.module.resistance") and facts.missing("storage.module.short_circuit_current"):
        yield stop(
            "bank-fault-unknown",
            "storage.module.short_circuit_current",
            "Neither the modules' internal resistance nor their short-circuit current is known: no battery fuse can be judged.",
            "Ask the maker of the modules for one of them.",
            "T4",
        )


def _voltages(facts: Facts, levels: Thresholds) -> Iterator[Finding]:
    """Voltages that are left to the cells, and voltages against each other."""
    storage = facts.answers.storage
    taken = [name for name in ("absorption", "float", "low") if levels.of_module[name] is None and name in levels.per_cell and levels.cells]
    if taken:
        level = note if storage.chemistry in LEAD else caution
        yield level(
            "module-voltages-unanswered",
            f"storage.module.{taken[0]}",
            f"{', '.join(taken)} of a module {'is' if len(taken) == 1 else 'are'} not answered: taken from its cells ({storage.chemistry}).",
            "The module's datasheet wins; a managed bank's own limits always do.",
            _CELLS,
        )
    absorption, floating, low = levels.absorption("check"), levels.float_("check"), levels.empty("check")
    if floating and absorption and floating.value > absorption.value * _SLACK:
        text = f"The float voltage {floating} is above the charging voltage {absorption}."
        yield caution("float-above-absorption", "storage.module.float", text, "Correct one of them.", _CELLS)
    if low and floating and low.value >= floating.value:
        text = f"Discharging would end at {low}, not below the float voltage {floating}: the bank would never give anything."
        yield stop("low-above-float", "storage.module.low", text, "Correct one of them.", _CELLS)


def _unit(facts: Facts, levels: Thresholds) -> Iterator[Finding]:
    """The bank's highest voltage against what a unit survives and what it needs."""
    known = [figure for figure in (levels.absorption("check"), levels.float_("check"), levels.nominal("check")) if figure]
    full = max(known, key=lambda figure: figure.value, default=None)
    dc_max, dc_min = facts.figure("unit.dc_max"), facts.figure("unit.dc_min")
    if full is None:
        return
    if dc_max is None:
        text = f"The highest battery voltage that a unit survives is not answered: the bank has up to {full}, and above its limit a unit is destroyed."
        yield stop("dc-max-unanswered", "unit.dc_max", text, "It stands in the unit's datasheet, battery voltage range.", _UNIT)
    elif full.value > dc_max.value * _SLACK:
        text = f"The full bank has {full}, {shown(full.value - dc_max.value, 'V')} above the {dc_max} that a unit survives."
        yield stop("bank-above-unit", "unit.dc_max", text, "Fewer modules in series, or another unit.", _UNIT)
    if dc_min is None:
        text = "The lowest battery voltage that a unit runs on is not answered: it may stop before the bank is used up."
        yield caution("dc-min-unanswered", "unit.dc_min", text, "It stands in the unit's datasheet, battery voltage range.", f"T1, {_UNIT}")
    elif full.value <= dc_min.value:
        text = f"Even full, the bank has {full}; a unit needs {dc_min} to run."
        yield stop("bank-below-unit", "unit.dc_min", text, "More modules in series, or another unit.", _UNIT)


def _cold(facts: Facts) -> Iterator[Finding]:
    coldest = facts.figure("site.ambient_min")
    if facts.answers.storage.chemistry in ("lfp", "nmc") and coldest and coldest.value < _FREEZING:
        yield caution(
            "lithium-charged-in-frost",
            "site.ambient_min",
            f"The room gets down to {coldest}: lithium cells charged below 0 degC are damaged.",
            "Heat the bank's room, or make sure that its management refuses to charge in frost.",
            "common practice, no source",
        )
