"""The sums of every bank (T1, T2, T4, T14, T16, S10, S24, S25)."""

from __future__ import annotations

from engine.facts import Assumed
from engine.frozen import dataclass
from engine.site.storage import Feed
from engine.workings import Figure


@dataclass(frozen=True)
class BankSums:
    """One bank. Voltages are those of the whole bank; faults without any cable; `rated_time` is that for which a lead-acid capacity holds.

    `feed` is where the two leads leave its row of modules. `absorption_cold` and `absorption_warm` are those in the coldest and the warmest of its room, where a temperature slope is known.
    """

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
    largest_share: Figure
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
    absorption_cold: Figure | None
    absorption_warm: Figure | None
    ventilation: Figure | None
    opening: Figure | None
    rated_time: Figure | None
    feed: Feed


@dataclass(frozen=True)
class Storage:
    """All banks, and what every unit draws: `unit_current` by T1, `unit_thermal` by T2 on a cable of its own.

    `string_resistance` is the least that one string of modules may have (S10); `assumed` what was taken instead of an assumption (S31).
    """

    banks: tuple[BankSums, ...]
    unit_current: Figure | None
    unit_thermal: Figure | None
    system_voltage: Figure | None
    string_resistance: Figure | None
    assumed: tuple[Assumed, ...] = ()

    def of(self, name: str | None) -> BankSums | None:
        """The bank of that name."""
        return next((bank for bank in self.banks if bank.name == name), None)
