"""What the answers on the storage leave open or say against each other, once for the site; and whether each bank gives what is asked of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import ceil

from engine.facts import Facts
from engine.findings import Finding, caution, note, stop
from engine.formulas import battery, motors
from engine.quantities import shown
from engine.site.keys import QuantityKey
from engine.site.storage import LEAD_ACID
from engine.stages.storage.part import BankSums
from engine.stages.storage.thresholds import OF_MODULE, Thresholds, nominal_cell
from engine.tables import table
from engine.text import listed
from engine.workings import Figure

_FREEZING = 273.15  # K
_SLACK = 1 + 1e-9
_TOLERANCE = 1e-3
# What is printed as nominal may be rounded ("48 V" for 51.2 V is 6 %): beyond it an answer is wrong. Common practice, no source.
_ROUNDED, _WRONG = 0.05, 0.10
_WHOLE = 0.015
_LEVELS = {"absorption": "charging", "float": "float", "low": "lowest"}  # voltages of a module that its cells may tell, in words
_CELLS = "per-cell voltages by chemistry"
_UNIT = "the units' own limits"
_ASK_RESISTANCE = "First answer the modules' resistance or short-circuit current. "


def storage_checks(facts: Facts, levels: Thresholds) -> Iterator[Finding]:
    """Findings about the modules, whatever bank they are in."""
    if facts.answers.storage.chemistry is None:
        yield stop(
            "chemistry-unanswered",
            "storage.chemistry",
            "The kind of cells is not answered: no voltage, no ventilation and no unit setting can be checked.",
            "It stands on the modules: lfp, nmc, flooded, agm or gel.",
            "T14, T16",
            unanswered=True,
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
        yield stop("module-unanswered", key, text, "It stands on the module.", "S25", unanswered=True)
    limits: Mapping[QuantityKey, str] = {"storage.module.charge_current": "charge", "storage.module.discharge_current": "discharge"}
    for key, kind in limits.items():
        if facts.missing(key):
            yield stop(
                "bank-limit-unanswered",
                key,
                f"How much current one module may be {kind}d with is not answered. It is never assumed: above it the bank is damaged.",
                "It stands in the module's datasheet as the most continuous current.",
                "T14",
                unanswered=True,
            )
    if not facts.value("storage.module.resistance") and facts.missing("storage.module.short_circuit_current"):
        yield stop(
            "bank-fault-unknown",
            "storage.module.short_circuit_current",
            "Neither the modules' internal resistance nor their short-circuit current is known: no battery fuse can be judged.",
            "Ask the maker of the modules for one of them.",
            "T4",
            unanswered=True,
        )


def _said(taken: Sequence[str]) -> str:
    """Voltages of a module in words: "The charging, float and lowest voltages"."""
    *others, last = (_LEVELS[name] for name in taken)
    return f"The {', '.join(others)} and {last} voltages" if others else f"The {last} voltage"


def _voltages(facts: Facts, levels: Thresholds) -> Iterator[Finding]:
    """Voltages that are left to the cells, and voltages against each other."""
    storage = facts.answers.storage
    taken = [name for name in _LEVELS if levels.of_module[name] is None and name in levels.per_cell and levels.cells]
    if taken:
        level = note if storage.chemistry in LEAD_ACID else caution
        yield level(
            "module-voltages-unanswered",
            f"storage.module.{taken[0]}",
            f"{_said(taken)} of a module {'is' if len(taken) == 1 else 'are'} not answered: taken from its cells ({storage.chemistry}).",
            "The module's datasheet wins; a managed bank's own limits always do.",
            _CELLS,
            unanswered=True,
        )
    absorption, floating, low = levels.absorption("check"), levels.float_("check"), levels.empty("check")
    if floating and absorption and floating.value > absorption.value * _SLACK:
        text = f"The float voltage {floating} is above the charging voltage {absorption}."
        yield caution(
            "float-above-absorption",
            "storage.module.float",
            text,
            "Correct one of them.",
            _CELLS,
            value=floating,
            limit=absorption,
        )
    if low and floating and low.value >= floating.value:
        text = f"Discharging would end at {low}, not below the float voltage {floating}: the bank would never give anything."
        yield stop(
            "low-above-float",
            "storage.module.low",
            text,
            "Correct one of them.",
            _CELLS,
            value=low,
            limit=floating,
        )


def _unit(facts: Facts, levels: Thresholds) -> Iterator[Finding]:
    """The bank's highest voltage against what a unit survives and what it needs."""
    known = [figure for figure in (levels.absorption("check"), levels.float_("check"), levels.nominal("check")) if figure]
    full = max(known, key=lambda figure: figure.value, default=None)
    dc_max, dc_min = facts.figure("unit.dc_max"), facts.figure("unit.dc_min")
    if full is None:
        return
    if dc_max is None:
        text = f"The highest battery voltage that a unit survives is not answered: the bank has up to {full}, and above its limit a unit is destroyed."
        yield stop(
            "dc-max-unanswered", "unit.dc_max", text, "It stands in the unit's datasheet, battery voltage range.", _UNIT, unanswered=True
        )
    elif full.value > dc_max.value * _SLACK:
        text = f"The full bank has {full}, {shown(full.value - dc_max.value, 'V')} above the {dc_max} that a unit survives."
        yield stop(
            "bank-above-unit",
            "unit.dc_max",
            text,
            "Fewer modules in series, or another unit.",
            _UNIT,
            value=full,
            limit=dc_max,
        )
    if dc_min is None:
        text = "The lowest battery voltage that a unit runs on is not answered: it may stop before the bank is used up."
        yield caution(
            "dc-min-unanswered",
            "unit.dc_min",
            text,
            "It stands in the unit's datasheet, battery voltage range.",
            f"T1, {_UNIT}",
            unanswered=True,
        )
    elif full.value <= dc_min.value:
        text = f"Even full, the bank has {full}; a unit needs {dc_min} to run."
        yield stop(
            "bank-below-unit",
            "unit.dc_min",
            text,
            "More modules in series, or another unit.",
            _UNIT,
            value=full,
            limit=dc_min,
        )


def _cold(facts: Facts) -> Iterator[Finding]:
    coldest = facts.figure("site.ambient_min")
    if facts.answers.storage.chemistry in ("lfp", "nmc") and coldest and coldest.value < _FREEZING:
        yield caution(
            "lithium-charged-in-frost",
            "site.ambient_min",
            f"The room gets down to {coldest}: lithium cells charged below 0 degC are damaged.",
            "Heat the bank's room, or make sure that its management refuses to charge in frost.",
            "common practice, no source",
            value=coldest,
            limit=_FREEZING,
        )


def cell_checks(facts: Facts, levels: Thresholds) -> Iterator[Finding]:
    """Findings on one module: its nominal voltage, and every voltage between which it works."""
    yield from _count(facts)
    cells = levels.cells // levels.series
    if not cells:
        return
    chemistry = facts.answers.storage.chemistry
    most, least = (cell.value * cells if (cell := levels.per_cell.get(name)) else None for name in ("most", "low"))
    # Below its nominal voltage a cell is not charged.
    nominal = nominal_cell(chemistry)[0] * cells if chemistry else None
    for name, what in (("absorption", "Charging a module at"), ("float", "Holding a module at")):
        figure, about = levels.of_module[name], f"storage.module.{name}"
        if figure and most and figure.value > most * (1 + _TOLERANCE):
            over = shown(figure.value - most, "V")
            text = f"{what} {figure} is {over} above the {shown(most, 'V')} that its {cells} {chemistry} cells stand."
            yield stop(
                f"{name}-above-cells",
                about,
                text,
                "Correct the voltage, the number of cells or the chemistry.",
                _CELLS,
                value=figure,
                limit=most,
            )
        if figure and nominal and figure.value < nominal * (1 - _TOLERANCE):
            text = f"{what} {figure} does not charge it: its {cells} {chemistry} cells have {shown(nominal, 'V')} by name."
            yield caution(
                f"{name}-below-cells",
                about,
                text,
                "Correct the voltage, the number of cells or the chemistry.",
                _CELLS,
                value=figure,
                limit=nominal,
            )
    low = levels.of_module["low"]
    if low and most and low.value > most * (1 + _TOLERANCE):
        text = f"Discharging a module would end at {low}, above the {shown(most, 'V')} that its {cells} {chemistry} cells stand when full."
        yield stop(
            "low-above-cells",
            "storage.module.low",
            text,
            "Correct the voltage, the number of cells or the chemistry.",
            _CELLS,
            value=low,
            limit=most,
        )
    if low and least and low.value < least * (1 - _TOLERANCE):
        text = f"Discharging a module down to {low} passes the {shown(least, 'V')} that its cells stand."
        yield caution(
            "low-below-cells",
            "storage.module.low",
            text,
            "Raise it, or correct the number of cells.",
            _CELLS,
            value=low,
            limit=least,
        )


def _count(facts: Facts) -> Iterator[Finding]:
    """The nominal voltage of a module against the number and the kind of its cells."""
    storage, voltage = facts.answers.storage, facts.figure("storage.module.voltage")
    if voltage is None or storage.chemistry is None:
        return
    least, most = nominal_cell(storage.chemistry)
    usual = f"{least:g} V" if least == most else f"{least:g} to {most:g} V"
    cells = storage.module.cells
    if cells:
        each = voltage.value / cells
        off = max(least / each, each / most) - 1
        if off > _ROUNDED:
            level = stop if off > _WRONG else caution
            yield level(
                "cells-contradict-voltage",
                "storage.module.cells",
                f"{cells} cells in a module of {voltage} have {shown(each, 'V')} each; a cell of {storage.chemistry} has {usual}.",
                "Correct the voltage, the number of cells or the chemistry: charging voltages hang on them.",
                _CELLS,
                value=each,
                limit=least if each < least else most,
                unit="V",
            )
        return
    near = range(max(1, int(voltage.value / most)), int(voltage.value / least) + 2)
    if any(n * least * (1 - _WHOLE) <= voltage.value <= n * most * (1 + _WHOLE) for n in near):
        return
    nearest = min((n * cell for n in near for cell in (least, most)), key=lambda made: abs(made - voltage.value))
    # A charging voltage that was taken from a guess at the cells may destroy them.
    level = stop if facts.missing(*(OF_MODULE[name] for name in ("absorption", "float", "low"))) else caution
    yield level(
        "cells-contradict-voltage",
        "storage.module.cells",
        f"No whole number of {storage.chemistry} cells of {usual} makes a module of {voltage}, and how many there are is not answered.",
        "Answer the number of cells, or correct the voltage or the chemistry: charging voltages hang on them.",
        _CELLS,
        value=voltage,
        limit=nearest,
    )


def bank_checks(facts: Facts, bank: BankSums, called: str, units: int) -> Iterator[Finding]:
    """Findings about one bank that feeds `units` units; `called` is its name in sentences."""
    yield from _current(facts, bank, called, units)
    yield from _fed_otherwise(facts, bank, called)
    yield from _time(facts, bank, called)
    yield from _sharing(facts, bank, called)
    if facts.answers.storage.chemistry in LEAD_ACID:
        yield from _lead(facts, bank, called)


def too_little(drawn: Figure, limit: Figure | None) -> bool:
    """Whether a bank gives less than is drawn from it."""
    return limit is not None and drawn.value > limit.value * _SLACK


def _guessed(facts: Facts) -> list[str]:
    """What the current of a unit rests on and nobody answered."""
    efficiency = ["the efficiency of a unit"] if facts.assumes("unit.efficiency") else []
    return [*efficiency, *(["the lowest voltage"] if _lowest_unsaid(facts) else [])]


def at_best(facts: Facts, drawn: Figure, units: int) -> Figure:
    """What the units would draw without losses, where they are assumed, and at nominal voltage, where the lowest is."""
    best, found = drawn.value, facts.have("unit.real_power", "unit.efficiency", "storage.module.voltage")
    if _lowest_unsaid(facts) and found:
        power, efficiency, module = found
        best = units * battery.battery_current(power.value, efficiency.value, module.value * facts.series)
    if facts.assumes("unit.efficiency"):
        best *= facts.figures["unit.efficiency"].value
    return replace(drawn, value=best)


def _lowest_unsaid(facts: Facts) -> bool:
    """Whether nobody answered how low the voltage of the bank may go, for itself or for its units."""
    return bool(facts.missing("unit.dc_min") and facts.missing("storage.module.low"))


def _current(facts: Facts, bank: BankSums, called: str, units: int) -> Iterator[Finding]:
    drawn, limit = bank.discharge_current, bank.discharge_limit
    if drawn and limit and too_little(drawn, limit):
        strings = ceil(drawn.value / facts.figures["storage.module.discharge_current"].value - 1e-9)
        unknown = _resistance_unknown(facts) and facts.strings_in_parallel > 1 and bank.feed != "bar"
        # What nobody answered stops no plan (S31), as long as an answer could still mend it.
        level = stop if too_little(at_best(facts, drawn, units), limit) else caution
        told = f" Nobody answered {listed(_guessed(facts))}: with the best that can be it would do." if level is caution else ""
        yield level(
            "bank-below-set",
            f"plan.banks[{bank.name}].discharge_current",
            f"{called} must give {drawn} to {units} {'unit' if units == 1 else 'units'} at full load and low voltage, but gives at most {limit}: "
            f"{shown(drawn.value - limit.value, 'A')} too little.{told}",
            f"{_ASK_RESISTANCE if unknown else ''}About {strings} strings in parallel would do (from a bar), or modules of a larger current.",
            "S26, S31, T1" if level is caution else "S26, T1",
            value=drawn,
            limit=limit,
        )


def _fed_otherwise(facts: Facts, bank: BankSums, called: str) -> Iterator[Finding]:
    """S31: the assumed feed would stop the plan, another does not."""
    for one in facts.instead("storage.bank.feed"):
        if bank.feed == one.value != facts.feed:
            yield caution(
                "feed-assumed",
                "storage.bank.feed",
                f"Nobody answered where the two leads leave the row of modules. From {facts.feed} {called} would give too little, so it is planned as fed {one.value}: {one.means}. CONFIRM.",
                "Wire the bank so and answer storage.bank.feed; fed in another way it is overloaded.",
                "S31, T14",
            )


def _resistance_unknown(facts: Facts) -> bool:
    """Whether nobody can say how the strings of a bank share its current."""
    return not (facts.value("storage.module.resistance") or facts.value("storage.module.short_circuit_current"))


def _time(facts: Facts, bank: BankSums, called: str) -> Iterator[Finding]:
    wanted, found = facts.figure("storage.autonomy"), bank.autonomy
    if wanted and found and 0 < found.value < wanted.value / _SLACK:
        strings = ceil(facts.strings_in_parallel * wanted.value / found.value - 1e-9)
        yield caution(
            "autonomy-short",
            f"plan.banks[{bank.name}].autonomy",
            f"{called} carries its loads for {shown(found.value, 's', like=wanted.value)} at the mean of the day; {wanted} are wanted: {shown(wanted.value - found.value, 's', like=wanted.value)} too short.",
            f"{strings} strings in parallel would last that long, or use less.",
            "S25",
            value=found,
            limit=wanted,
        )


def _sharing(facts: Facts, bank: BankSums, called: str) -> Iterator[Finding]:
    """T11 and T14: strings that share unevenly, and what that costs."""
    strings, share = facts.strings_in_parallel, bank.largest_share
    if strings < 2:
        return
    uneven = share.value * strings - 1
    if uneven > 0.10:
        feed = bank.feed
        cure = (
            "Feed the bank from a bar, each string by leads of one length."
            if feed == "diagonal"
            else "Feed the bank diagonally, better from a bar."
        )
        unknown = _resistance_unknown(facts)
        yield caution(
            "strings-share-unevenly",
            f"plan.banks[{bank.name}].largest_share",
            f"The resistance of the modules is not known, so the worst is taken: one of {strings} strings of {called} carries all of the current."
            if unknown
            else f"The busiest of {strings} strings of {called} carries {share} of the current, {uneven:.0%} more than its even part: it ages first and limits the bank.",
            f"{_ASK_RESISTANCE if unknown else ''}{cure} Protect each string on its own.",
            "T11, T14: IEC 60364-4-43 433.4 (from memory)",
            value=uneven,
            limit=0.10,
            unit="ratio",
        )


def _lead(facts: Facts, bank: BankSums, called: str) -> Iterator[Finding]:
    """T16, and what lead-acid does not give at a high current."""
    if bank.ventilation and bank.opening:
        yield caution(
            "ventilate",
            f"plan.banks[{bank.name}].ventilation",
            f"{called} gasses while it is charged: its room needs {bank.ventilation} of air, by two openings of {bank.opening} each.",
            "Banks in one room need the sum. One opening low, one high, on opposite walls; no flame, no spark, no device above a bank.",
            "T16: IEC 62485-2",
        )
    yield from _lead_charged_cold(facts, bank, called)
    yield from _lead_cold(facts, bank, called)
    row = table("peukert_exponents").row("chemistry", facts.answers.storage.chemistry)
    capacity = facts.value("storage.module.capacity")
    if row is None or capacity is None or bank.autonomy_full_load is None or bank.discharge_current is None or bank.rated_time is None:
        return
    exponent, depth = row["most"], facts.value("storage.depth") or 0.0
    assert isinstance(exponent, float)
    whole = battery.bank_capacity(capacity, facts.strings_in_parallel)
    time = battery.peukert_time(whole, bank.rated_time.value, exponent, bank.discharge_current.value) * depth
    if time < bank.autonomy_full_load.value:
        yield note(
            "lead-at-high-current",
            f"plan.banks[{bank.name}].autonomy_full_load",
            f"At full load a lead-acid bank gives less than its rating: {called} may last only {shown(time, 's', like=bank.autonomy_full_load.value)}, not {bank.autonomy_full_load}.",
            f"Count on the shorter time; the capacity is taken as that of {bank.rated_time}.",
            f"Peukert's law, exponent {exponent:g} ({table('peukert_exponents').told})",
            value=time,
            limit=bank.autonomy_full_load,
        )


def _lead_charged_cold(facts: Facts, bank: BankSums, called: str) -> Iterator[Finding]:
    """A charger that follows the temperature goes highest on the coldest day."""
    cold, limit, coldest = bank.absorption_cold, facts.figure("unit.dc_max"), facts.figure("site.ambient_min")
    if cold and limit and bank.absorption and bank.absorption.value <= limit.value * _SLACK < cold.value:
        yield caution(
            "cold-charge-above-unit",
            f"plan.banks[{bank.name}].absorption_cold",
            f"At {coldest} {called} wants to be charged to {cold}; a unit survives {limit}.",
            "Warm the bank's room, or limit the charging voltage in every charger and charge for longer.",
            "lead-acid data sheets (3 to 5 mV per cell and kelvin)",
            value=cold,
            limit=limit,
        )


def _lead_cold(facts: Facts, bank: BankSums, called: str) -> Iterator[Finding]:
    """What a lead-acid bank holds on the coldest day in its room."""
    coldest, curve = facts.figure("site.ambient_min"), table("lead_acid_temperature")
    if coldest is None or bank.autonomy is None:
        return
    times = motors.interpolated(coldest.value, curve.figures("temperature")[::-1], curve.figures("multiplier")[::-1])
    if times > 1.05:
        yield note(
            "lead-in-the-cold",
            f"plan.banks[{bank.name}].autonomy",
            f"At {coldest} a lead-acid bank holds about {1 / times:.0%} of its rating: {called} then lasts about {shown(bank.autonomy.value / times, 's')}.",
            f"Warm the bank's room, or plan {times:.2g} times the capacity.",
            curve.told,
            value=1 / times,
            limit=1.0,
            unit="ratio",
        )
