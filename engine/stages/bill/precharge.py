"""What charges the capacitors of a unit before its isolator closes."""

from __future__ import annotations

from engine.facts import Facts
from engine.formulas.verification import (
    first_current,
    first_power,
    held_energy,
    pre_charge_resistance,
    settled_time,
    time_constant,
)
from engine.quantities import shown
from engine.stages.bill.part import Line, PreCharge
from engine.stages.storage.part import Storage
from engine.tables import table
from engine.workings import chosen, work


def pre_charge(facts: Facts, storage: Storage) -> tuple[Line, PreCharge | None]:
    """One resistor for all units, each charged by itself: the smallest usual one that keeps the first current small."""
    full = [bank.emf_full for bank in storage.banks if bank.emf_full]
    if not full:
        return Line(
            "pre-charge kit",
            "resistor by the bank's voltage (not computed), with clips and cover, and a fused clip lead",
            1,
            0,
            True,
            ("site",),
        ), None
    rule = table("pre_charge").row("item", "kit")
    assert rule is not None
    peak, held = rule["first_current"], rule["held"]
    assert isinstance(peak, float)
    assert isinstance(held, float)
    source = table("pre_charge").told
    highest = max(full, key=lambda figure: figure.value)
    most = chosen("plan.bill.pre_charge.first_current", peak, "A", "small enough for clips and for any unit", source)
    least = work("plan.bill.pre_charge.least_resistance", pre_charge_resistance, voltage=highest, current=most)
    resistance = chosen(
        "plan.bill.pre_charge.resistance",
        _preferred(least.value),
        "ohm",
        f"the next usual value not below {least}",
        "IEC 60063, series E6",
        [least],
    )
    power = work("plan.bill.pre_charge.power", first_power, voltage=highest, resistance=resistance)
    capacitance = facts.figure("unit.dc_capacitance")
    assert capacitance is not None  # a row of the assumptions sees to it
    tau = work("plan.bill.pre_charge.time_constant", time_constant, resistance=resistance, capacitance=capacitance)
    wait = work("plan.bill.pre_charge.time", settled_time, tau=tau)
    noticed = "held on a unit that does not charge, until it is noticed: never before the wait is over"
    time = chosen("plan.bill.pre_charge.held", max(held, wait.value), "s", noticed, source, [wait])
    energy = work("plan.bill.pre_charge.energy", held_energy, power=power, time=time)
    told = (
        f"wire-wound resistor, {resistance}, stands {highest} across it for {time}: {shown(power.value, 'W', 3)}, "
        f"{energy.value:.0f} J (common practice); with clips and cover, and a fused clip lead"
    )
    return Line("pre-charge kit", told, 1, 0, True, ("site",)), PreCharge(
        resistance=resistance,
        current=work("plan.bill.pre_charge.current", first_current, voltage=highest, resistance=resistance),
        energy=energy,
        time=wait,
    )


def _preferred(least: float) -> float:
    """The smallest value of the series that is not below `least`."""
    series = table("pre_charge_series").figures("value")
    decade = 0
    while True:
        for value in series:
            if value * 10**decade >= least * (1 - 1e-9):
                return float(value * 10**decade)
        decade += 1
