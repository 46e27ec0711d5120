"""The figures of one bank."""

from __future__ import annotations

from dataclasses import dataclass

from engine.workings import Figure


@dataclass(frozen=True)
class BankSums:
    """One bank. Voltages are those of the whole bank; faults without any cable."""

    name: str
    energy: Figure | None
    usable: Figure | None
    daily: Figure | None
    autonomy: Figure | None
    autonomy_full_load: Figure | None
    discharge_current: Figure | None
    discharge_limit: Figure | None
    discharge_rate: Figure | None
    charge_rate: Figure | None
    charge_limit: Figure | None
    largest_share: Figure | None
    emf_full: Figure | None
    emf_low: Figure | None
    resistance_breaking: Figure | None
    resistance_clearing: Figure | None
    fault_breaking: Figure | None
    fault_clearing: Figure | None
    absorption: Figure | None
    float_: Figure | None
    low: Figure | None
    temperature_slope: Figure | None
    ventilation: Figure | None
    opening: Figure | None
