"""Voltages between which a bank works: the module's own, or those of its cells by chemistry."""

from __future__ import annotations

from collections.abc import Mapping

from engine.facts import Facts
from engine.formulas import battery
from engine.frozen import dataclass
from engine.quantities import Volt
from engine.site.keys import QuantityKey
from engine.site.storage import Chemistry
from engine.tables import table
from engine.workings import Figure, altered, tabled, work

OF_MODULE: Mapping[str, QuantityKey] = {
    "voltage": "storage.module.voltage",
    "absorption": "storage.module.absorption",
    "float": "storage.module.float",
    "low": "storage.module.low",
}


@dataclass(frozen=True)
class Thresholds:
    """Voltages of one module with where they come from; `cells` counts those in series in the whole bank (0 where unknown)."""

    series: int
    cells: int
    of_module: dict[str, Figure | None]
    per_cell: dict[str, Figure]
    unit_least: Figure | None

    def absorption(self, key: str) -> Figure | None:
        """Charging voltage of the bank, under `key`."""
        return self._bank(key, "absorption")

    def float_(self, key: str) -> Figure | None:
        """Float voltage of the bank."""
        return self._bank(key, "float")

    def low(self, key: str) -> Figure | None:
        """Voltage at which discharging ends: the module's own; else that of its cells, or the unit's least where that is higher."""
        empty = self.empty(key)
        if self.of_module["low"] or empty is None or self.unit_least is None or self.unit_least.value <= empty.value:
            return empty
        limits = [altered(empty, key=f"{key}.low_of_cells"), self.unit_least]
        return work(f"{key}.low", battery.least_voltage, limits=limits, note="not answered: a unit stops before the cells are empty")

    def empty(self, key: str) -> Figure | None:
        """The same without regard to the unit: the least voltage behind a fault."""
        return self._bank(key, "low")

    def nominal(self, key: str) -> Figure | None:
        """Nominal voltage of the bank."""
        return self._bank(key, "voltage")

    def slope(self, key: str) -> Figure | None:
        """Temperature slope of the charging voltages: lead-acid alone has one."""
        cell = self.per_cell.get("slope")
        return work(f"{key}.temperature_slope", battery.bank_slope, slope=cell, cells=self.cells) if cell and self.cells else None

    def compensated(self, key: str, at: str, temperature: Figure | None) -> Figure | None:
        """Charging voltage of the bank at a temperature of its room, as a charger with that slope gives it."""
        cell, charging = self.per_cell.get("slope"), self.absorption(key)
        if not (cell and charging and self.cells and temperature):
            return None
        name, formula = f"{key}.absorption_{at}", battery.compensated_voltage
        return work(name, formula, voltage=charging, slope=cell, cells=self.cells, temperature=temperature)

    def emf(self, key: str, voltage: Figure | None) -> Figure | None:
        """The voltage as the force behind a fault."""
        return altered(voltage, key=key) if voltage else None

    def _bank(self, key: str, name: str) -> Figure | None:
        module, cell = self.of_module[name], self.per_cell.get(name)
        if module:
            return work(f"{key}.{name}", battery.bank_voltage, module_voltage=module, series=self.series)
        if cell and self.cells:
            return work(f"{key}.{name}", battery.bank_voltage, module_voltage=cell, series=self.cells, note="not answered: from its cells")
        return None


def thresholds(facts: Facts) -> Thresholds:
    """The voltages as far as answers and chemistry tell them."""
    storage = facts.answers.storage
    series = facts.series
    module = {name: facts.figure(key) for name, key in OF_MODULE.items()}
    return Thresholds(series, cells_of_module(facts) * series, module, _per_cell(storage.chemistry), facts.figure("unit.dc_min"))


def cells_of_module(facts: Facts) -> int:
    """Cells in series in one module: answered, or from its nominal voltage; 0 where neither is known."""
    storage, voltage = facts.answers.storage, facts.value("storage.module.voltage")
    if storage.module.cells:
        return storage.module.cells
    if voltage is None or storage.chemistry is None:
        return 0
    return max(1, round(2 * voltage / sum(nominal_cell(storage.chemistry))))


def nominal_cell(chemistry: Chemistry) -> tuple[Volt, Volt]:
    """What makers print as the nominal voltage of one cell, from the least to the most."""
    row = table("nominal_voltages").row("chemistry", chemistry)
    assert row is not None
    least, most = row["least"], row["most"]
    assert isinstance(least, float)
    assert isinstance(most, float)
    return least, most


def _per_cell(chemistry: str | None) -> dict[str, Figure]:
    source = table("cell_voltages")
    row = source.row("chemistry", chemistry) if chemistry else None
    if row is None:
        return {}
    return {
        name: tabled(f"plan.storage.cell_{name}", value, _UNIT[name], source.told, f"{chemistry}, one cell at 25 degC")
        for name in _UNIT
        if isinstance(value := row[name], float)
    }


_UNIT = {"absorption": "V", "float": "V", "most": "V", "low": "V", "slope": "V/K"}
