"""A module's voltages against its cells: how many there are, and what their kind allows (T14)."""

from __future__ import annotations

from collections.abc import Iterator

from engine.facts import Facts
from engine.findings import Finding, caution, stop
from engine.quantities import shown
from engine.stages.banking.thresholds import NOMINAL, Thresholds

_SOURCE = "per-cell voltages by chemistry"
_TOLERANCE = 1e-3
# What is printed as nominal may be rounded ("48 V" for 51.2 V is 6 %): beyond it an answer is wrong. Common practice, no source.
_ROUNDED, _WRONG = 0.05, 0.10
_WHOLE = 0.015


def cell_checks(facts: Facts, levels: Thresholds) -> Iterator[Finding]:
    """Findings on one module: its nominal voltage, and every voltage between which it works."""
    yield from _count(facts)
    cells = levels.cells // levels.series
    if not cells:
        return
    chemistry = facts.answers.storage.chemistry
    most, least = (cell.value * cells if (cell := levels.per_cell.get(name)) else None for name in ("most", "low"))
    # Below its nominal voltage a cell is not charged.
    nominal = NOMINAL[chemistry][0] * cells if chemistry else None
    for name, what in (("absorption", "Charging a module at"), ("float", "Holding a module at")):
        figure, about = levels.of_module[name], f"storage.module.{name}"
        if figure and most and figure.value > most * (1 + _TOLERANCE):
            over = shown(figure.value - most, "V")
            text = f"{what} {figure} is {over} above the {shown(most, 'V')} that its {cells} {chemistry} cells stand."
            yield stop(f"{name}-above-cells", about, text, "Correct the voltage, the number of cells or the chemistry.", _SOURCE)
        if figure and nominal and figure.value < nominal * (1 - _TOLERANCE):
            text = f"{what} {figure} does not charge it: its {cells} {chemistry} cells have {shown(nominal, 'V')} by name."
            yield caution(f"{name}-below-cells", about, text, "Correct the voltage, the number of cells or the chemistry.", _SOURCE)
    low = levels.of_module["low"]
    if low and most and low.value > most * (1 + _TOLERANCE):
        text = f"Discharging a module would end at {low}, above the {shown(most, 'V')} that its {cells} {chemistry} cells stand when full."
        yield stop("low-above-cells", "storage.module.low", text, "Correct the voltage, the number of cells or the chemistry.", _SOURCE)
    if low and least and low.value < least * (1 - _TOLERANCE):
        text = f"Discharging a module down to {low} passes the {shown(least, 'V')} that its cells stand."
        yield caution("low-below-cells", "storage.module.low", text, "Raise it, or correct the number of cells.", _SOURCE)


def _count(facts: Facts) -> Iterator[Finding]:
    """The nominal voltage of a module against the number and the kind of its cells."""
    storage, voltage = facts.answers.storage, facts.figure("storage.module.voltage")
    if voltage is None or storage.chemistry is None:
        return
    least, most = NOMINAL[storage.chemistry]
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
                _SOURCE,
            )
        return
    near = range(max(1, int(voltage.value / most)), int(voltage.value / least) + 2)
    if any(n * least * (1 - _WHOLE) <= voltage.value <= n * most * (1 + _WHOLE) for n in near):
        return
    # A charging voltage that was taken from a guess at the cells may destroy them.
    level = stop if facts.missing(*(f"storage.module.{name}" for name in ("absorption", "float", "low"))) else caution
    yield level(
        "cells-contradict-voltage",
        "storage.module.cells",
        f"No whole number of {storage.chemistry} cells of {usual} makes a module of {voltage}, and how many there are is not answered.",
        "Answer the number of cells, or correct the voltage or the chemistry: charging voltages hang on them.",
        _SOURCE,
    )
