"""The strings of modules on each unit: cold and hot voltage, currents, power, and how many modules would do (T20, S11)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from engine.facts import Facts
from engine.findings import Finding, caution, note, stop
from engine.formulas import solar
from engine.frozen import dataclass
from engine.quantities import shown
from engine.site.keys import QuantityKey
from engine.tables import table
from engine.workings import Figure, chosen, tabled, work

_SLACK = 1 + 1e-9
_WINDOW: tuple[QuantityKey, ...] = ("unit.solar.voltage_max", "unit.solar.mppt_min", "unit.solar.mppt_max")
_COEFFICIENTS: tuple[QuantityKey, ...] = ("solar.voc_coefficient", "solar.vmp_coefficient")
_OF_MODULE: Mapping[QuantityKey, str] = {
    "solar.voc": "The open voltage of a module",
    "solar.vmp": "The voltage of a module at full power",
    "solar.isc": "The short-circuit current of a module",
    "solar.imp": "The current of a module at full power",
    "solar.power": "The power of a module",
    "solar.series": "The number of modules in a string",
}
_OF_INPUT: Mapping[QuantityKey, str] = {
    "unit.solar.mppt_min": "The lowest voltage at which a tracker works",
    "unit.solar.mppt_max": "The highest voltage at which a tracker gives all",
    "unit.solar.current_max": "The most current that a tracker uses",
    "unit.solar.short_circuit_max": "The most short-circuit current that a tracker stands",
    "unit.solar.trackers": "The number of a unit's solar inputs",
}


@dataclass(frozen=True)
class Strings:
    """What one unit's strings give, all units alike; `series_*` are the counts of modules that would do, and the best."""

    cold_voc: Figure | None = None
    hot_vmp: Figure | None = None
    current: Figure | None = None
    short_circuit: Figure | None = None
    power: Figure | None = None
    series_from: int | None = None
    series_to: int | None = None
    series_best: int | None = None


def strings(*, facts: Facts) -> tuple[Strings, list[Finding]]:
    """Figures of the strings on one unit, held against its solar inputs."""
    if not facts.solar:
        return Strings(), []
    cold, hot = _cold(facts), _hot(facts)
    series, parallel, trackers = facts.answers.solar.series, facts.strings_on_tracker, facts.trackers
    found = Strings(
        cold_voc=work("plan.solar.cold_voc", solar.string_voltage, module_voltage=cold, series=series) if cold and series else None,
        hot_vmp=work("plan.solar.hot_vmp", solar.string_voltage, module_voltage=hot, series=series) if hot and series else None,
        current=_current(facts.figure("solar.imp"), "current", parallel),
        short_circuit=_current(facts.figure("solar.isc"), "short_circuit", parallel),
        power=_power(facts, series, parallel * trackers),
        **_range(facts, cold, hot, parallel * trackers),
    )
    return found, [*_unanswered(facts), *_voltage(facts, found, cold, hot), *_input(facts, found, trackers)]


def _cold(facts: Facts) -> Figure | None:
    """Open voltage of one module on the coldest morning, by its coefficient or by the table."""
    given = facts.have("solar.voc", "site.roof_min")
    if given is None:
        return None
    voc, coldest = given
    coefficient = facts.figure("solar.voc_coefficient")
    if coefficient and coefficient.value <= 0:
        return work("plan.solar.cold_voc_of_module", solar.voltage_at, voltage=voc, coefficient=coefficient, temperature=coldest)
    factor = _factor(facts, coldest)
    return work("plan.solar.cold_voc_of_module", solar.tabled_cold_voltage, voltage=voc, factor=factor)


def _factor(facts: Facts, coldest: Figure) -> Figure:
    """The table's factor for the row that holds the temperature; colder than the table, its slope carried on."""
    rows, key = table("nec_690_7_a"), "plan.solar.cold_factor"
    found, last = 1.0, rows.rows[-1]
    for row in rows.rows:
        begin, factor = row["from"], row["factor"]
        assert isinstance(begin, float)
        assert isinstance(factor, float)
        # A temperature between two rows takes the colder one.
        found = factor if coldest.value < begin + 1 - 1e-9 else found
    end = last["to"]
    assert isinstance(end, float)
    if coldest.value >= end - 1e-9:
        return tabled(key, found, "ratio", rows.told, "no coefficient answered")
    slope = facts.taken("plan.solar.cold_slope")
    note_text = f"colder than the table: {slope} more from its last row on"
    return chosen(key, found + slope.value * (end - coldest.value), "ratio", note_text, rows.told, [coldest, slope])


def _hot(facts: Facts) -> Figure | None:
    """Voltage at full power of one hot module."""
    vmp = facts.figure("solar.vmp")
    if vmp is None:
        return None
    answered = facts.figure("solar.vmp_coefficient")
    coefficient = answered if answered and answered.value <= 0 else facts.taken("plan.solar.vmp_coefficient")
    hot = facts.taken("plan.solar.cell_hot")
    return work("plan.solar.hot_vmp_of_module", solar.voltage_at, voltage=vmp, coefficient=coefficient, temperature=hot)


def _current(one: Figure | None, key: str, parallel: int) -> Figure | None:
    """Current of all strings on one tracker."""
    return work(f"plan.solar.{key}", solar.strings_current, current=one, strings=parallel) if one else None


def _power(facts: Facts, series: int | None, strings: int) -> Figure | None:
    module = facts.figure("solar.power")
    return work("plan.solar.power", solar.array_power, module_power=module, series=series, strings=strings) if module and series else None


def _range(facts: Facts, cold: Figure | None, hot: Figure | None, strings: int) -> dict[str, int | None]:
    """Modules in series that stay inside the window, and the best of them: the most that the unit's power still uses."""
    limit, least, most = facts.value("unit.solar.voltage_max"), facts.value("unit.solar.mppt_min"), facts.value("unit.solar.mppt_max")
    if not (cold and hot and limit and least) or hot.value <= 0:
        return {}
    low = int(solar.least_in_series(least, hot.value))
    high = int(solar.most_in_series(limit, cold.value))
    if most:
        high = min(high, int(solar.most_in_series(most, hot.value)))
    if low > high:
        return {}
    module, power = facts.value("solar.power"), facts.value("unit.solar.power_max")
    enough = int(power / (module * strings) + 1e-9) if module and power else high
    return {"series_from": low, "series_to": high, "series_best": min(max(enough, low), high)}


def _unanswered(facts: Facts) -> Iterator[Finding]:
    if facts.missing("site.roof_min"):
        yield stop(
            "roof-min-unanswered",
            "site.roof_min",
            "The coldest morning on the roof is not answered: strings give their highest voltage then, and above its limit a unit is destroyed.",
            "Take the record low of the nearest weather station, not the room's minimum.",
            "T20",
            unanswered=True,
        )
    if facts.missing("unit.solar.voltage_max"):
        yield stop(
            "solar-limit-unanswered",
            "unit.solar.voltage_max",
            "The highest voltage that a unit's solar input survives is not answered.",
            "It stands in the datasheet of the unit.",
            "T20",
            unanswered=True,
        )
    for key in facts.missing(*_OF_MODULE):
        level = stop if key in ("solar.voc", "solar.series") else caution
        text = f"{_OF_MODULE[key]} is not answered: the strings cannot be checked."
        cure = "Count the modules of one string." if key == "solar.series" else "It stands on the back of the module."
        yield level("solar-unanswered", key, text, cure, "T20", unanswered=True)
    for key in facts.missing(*_OF_INPUT):
        text = f"{_OF_INPUT[key]} is not answered: the strings are not held against it."
        yield caution("solar-input-unanswered", key, text, "It stands in the unit's datasheet.", "T20", unanswered=True)
    if facts.missing("solar.voc_coefficient") and facts.have("solar.voc"):
        text = "How the modules' open voltage changes with temperature is not answered: the table for crystalline silicon is taken."
        yield note(
            "voc-coefficient-unanswered", "solar.voc_coefficient", text, "Copy it from the module's datasheet.", "NEC table 690.7(A)"
        )
    for key in _COEFFICIENTS:
        if (facts.value(key) or 0.0) > 0:
            what = "open voltage" if key == "solar.voc_coefficient" else "voltage at full power"
            text = f"The change of the modules' {what} with temperature is answered as {facts.figure(key)}: a module's voltage falls with heat, so the figure must be negative."
            cure = "Put the minus sign before it, as it stands in the module's datasheet."
            yield stop("coefficient-positive", key, text, cure, "T20", value=facts.figure(key), limit=0.0)
    if facts.missing("solar.vmp_coefficient") and facts.have("solar.vmp"):
        steep = facts.taken("plan.solar.vmp_coefficient")
        text = f"How the modules' voltage at full power changes with temperature is not answered: {steep} is taken, the steepest that is usual."
        yield note(
            "vmp-coefficient-unanswered",
            "solar.vmp_coefficient",
            text,
            "Copy it from the module's datasheet; often only that of power is given.",
            "T20",
        )


def _voltage(facts: Facts, found: Strings, cold: Figure | None, hot: Figure | None) -> Iterator[Finding]:
    """Cold voltage over the limit destroys; hot voltage outside the window only gives less."""
    limit, least, most = (facts.figure(key) for key in _WINDOW)
    would = _would_do(found)
    if found.cold_voc and limit and cold and found.cold_voc.value > limit.value * _SLACK:
        high = int(solar.most_in_series(limit.value, cold.value))
        yield stop(
            "cold-voc-above-limit",
            "plan.solar.cold_voc",
            f"On the coldest morning a string gives {found.cold_voc}, {shown(found.cold_voc.value - limit.value, 'V')} above the {limit} that destroy the unit.",
            f"At most {high} modules in series.{would}" if high else "No string of these modules fits this unit.",
            "T20, S26: NEC 690.7",
            value=found.cold_voc,
            limit=limit,
        )
    if found.hot_vmp and least and hot and hot.value > 0 and found.hot_vmp.value < least.value / _SLACK:
        yield caution(
            "hot-vmp-below-window",
            "plan.solar.hot_vmp",
            f"Hot, a string gives {found.hot_vmp}, {shown(least.value - found.hot_vmp.value, 'V')} under the {least} a tracker needs: it stops at noon.",
            f"At least {int(solar.least_in_series(least.value, hot.value))} modules in series.{would}",
            "T20",
            value=found.hot_vmp,
            limit=least,
        )
    if found.hot_vmp and most and found.hot_vmp.value > most.value * _SLACK:
        yield caution(
            "hot-vmp-above-window",
            "plan.solar.hot_vmp",
            f"Even hot, a string gives {found.hot_vmp}, above the tracker's {most}: power is lost.",
            f"Take modules off the string.{would}",
            "T20",
            value=found.hot_vmp,
            limit=most,
        )


def _would_do(found: Strings) -> str:
    if found.series_from is None:
        return " No number in series stays inside the whole window: choose other modules."
    return f" {found.series_from} to {found.series_to} in series stay inside the window; {found.series_best} is best."


def _input(facts: Facts, found: Strings, trackers: int) -> Iterator[Finding]:
    """Trackers there are, and what each takes."""
    own = facts.answers.unit.solar.trackers
    if own is not None and trackers > own:
        text = f"{trackers} trackers are used, but a unit has {own}."
        yield stop(
            "too-many-trackers", "solar.trackers", text, f"Use at most {own}.", "T20", value=float(trackers), limit=float(own), unit="1"
        )
    short = facts.figure("unit.solar.short_circuit_max")
    if found.short_circuit and short and found.short_circuit.value > short.value * _SLACK:
        text = f"The strings of a tracker give {found.short_circuit} shorted, {shown(found.short_circuit.value - short.value, 'A')} above the {short} it stands."
        yield stop(
            "solar-short-circuit",
            "plan.solar.short_circuit",
            text,
            "Fewer strings on a tracker.",
            "T20",
            value=found.short_circuit,
            limit=short,
        )
    most = facts.figure("unit.solar.current_max")
    if found.current and most and found.current.value > most.value * _SLACK:
        text = f"The strings of a tracker give {found.current}, more than the {most} it uses: the rest is lost."
        yield caution(
            "solar-current-lost",
            "plan.solar.current",
            text,
            "Fewer strings on a tracker, or accept the loss.",
            "T20",
            value=found.current,
            limit=most,
        )
    power = facts.figure("unit.solar.power_max")
    if found.power and power and found.power.value > power.value * _SLACK:
        text = f"The modules on a unit give {found.power}, more than the {power} it uses: the rest is lost in full sun."
        yield note(
            "solar-power-lost",
            "plan.solar.power",
            text,
            "Common and harmless where the maker allows it; fewer modules lose nothing.",
            "T20",
            value=found.power,
            limit=power,
        )
