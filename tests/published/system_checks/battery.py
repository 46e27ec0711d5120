"""Banks: energy, time, voltages, sharing, faults, air."""

from __future__ import annotations

from engine.formulas import battery, protection, resistance, sharing, ventilation
from engine.solvers.network import bank_shares
from tests.published.formulas import banks

AH = WH = HOUR = 3600.0
C0 = 273.15
CM2 = 1e-4
MA_PER_AH = 1e-3 / AH


def simple_size(given):
    energy = banks.wanted_energy(given["daily_wh"] * WH, given["days"], given["depth_of_discharge"], given["temp_multiplier"])
    return {"stored_wh": energy / WH, "capacity_ah": banks.capacity_of(energy, given["bank_v"]) / AH}


def three_days(given):
    return {"bank_kwh": banks.wanted_energy(given["daily_kwh"] * WH, given["days"], given["depth_of_discharge"], 1.0) / WH}


def worksheet(given):
    daily = banks.battery_energy(given["daily_ac_wh"] * WH, given["inverter_efficiency"])
    energy = banks.wanted_energy(daily, given["days"], given["depth_of_discharge"], given["temp_multiplier"])
    capacity = banks.capacity_of(energy, given["bank_v"])
    series = banks.modules_in_series(given["bank_v"], given["block_v"])
    strings = banks.strings_for(capacity, given["block_ah"] * AH)
    return {
        "daily_ah": banks.capacity_of(daily, given["bank_v"]) / AH,
        "capacity_ah": capacity / AH,
        "blocks_in_series": series,
        "strings": strings,
        "blocks": series * strings,
        "installed_ah": battery.bank_capacity(given["block_ah"] * AH, int(strings)) / AH,
    }


def series_parallel(given):
    volts = battery.bank_voltage(given["block_v"], given["in_series"])
    capacity = battery.bank_capacity(given["block_ah"] * AH, given["strings"])
    return {"bank_v": volts, "bank_ah": capacity / AH, "bank_kwh": battery.bank_energy(volts, capacity) / WH / 1e3}


def rate(given):
    current = banks.rated_current(given["capacity_ah"] * AH, given["hours"] * HOUR)
    return {"current_a": current, "c_rate": battery.discharge_rate(current, given["capacity_ah"] * AH) * HOUR}


def one_ampere_form(given):
    capacity = given["peukert_capacity_ah"] * AH
    return {"hours": battery.peukert_time(capacity, capacity / 1.0, given["exponent"], given["current_a"]) / HOUR}


def rated_form(given):
    time = battery.peukert_time(given["rated_ah"] * AH, given["rated_hours"] * HOUR, given["exponent"], given["current_a"])
    return {"hours": time / HOUR, "delivered_ah": time * given["current_a"] / AH}


def per_cell(*names):
    """Every voltage of the check from its cell's."""

    def call(given):
        return {f"{name}_v": battery.bank_voltage(given[f"{name}_v_per_cell"], given["cells"]) for name in names}

    return call


def agm(given):
    low, high = (battery.bank_voltage(v, given["cells"]) for v in given["float_v_per_cell"])
    return {"float_low_v": low, "float_high_v": high, **per_cell("cyclic", "max")(given)}


def compensated_cell(given):
    slope = given["mv_per_cell_per_c"] / 1e3
    return {"float_v_per_cell": battery.compensated_voltage(given["float_v_per_cell_25c"], slope, 1, given["cell_temp_c"] + C0)}


def compensated_bank(given):
    slope = banks.temperature_slope(given["v_per_cell_per_5_55c"], 5.55)
    return {
        "mv_per_cell_per_c": slope * 1e3,
        "absorption_v": battery.compensated_voltage(given["absorption_v_25c"], -slope, given["cells"], given["cell_temp_c"] + C0),
    }


def ladder(given):
    feed = {1: "one end", given["batteries"]: "diagonal"}[given["negative_taken_at"]]
    shares = bank_shares([given["internal_mohm"] / 1e3] * given["batteries"], given["link_mohm"] / 1e3, feed)
    return {"currents_a": [given["load_a"] * share for share in shares]}


def unequal_leads(given):
    resistances = [(r + lead) / 1e3 for r, lead in zip(given["internal_mohm"], given["leads_mohm"], strict=True)]
    return {"currents_a": [sharing.branch_current(given["load_a"], resistances, place) for place in range(len(resistances))]}


def two_readings(given):
    inside = battery.source_resistance(given["ocv_v"] - given["loaded_v"], given["load_a"])
    return {"internal_mohm": inside * 1e3, "short_circuit_a": protection.fault_current(given["ocv_v"], inside)}


def slope(given):
    cell = battery.source_resistance(given["v1_per_cell"] - given["v2_per_cell"], given["i2_a"] - given["i1_a"])
    whole = resistance.series_resistance([*[cell] * given["cells"], given["links_mohm"] / 1e3])
    emf = battery.bank_voltage(given["ocv_per_cell"], given["cells"])
    return {"cell_mohm": cell * 1e3, "short_circuit_a": protection.fault_current(emf, whole)}


def air(given):
    flow = ventilation.airflow(given["cells"], given["igas_ma_per_ah"] * MA_PER_AH, given["capacity_ah"] * AH)
    return {"airflow_m3_per_h": flow * HOUR, "opening_cm2": ventilation.opening(flow) / CM2}


CALLS = {
    "bat-size-simple": simple_size,
    "bat-size-3day": three_days,
    "bat-worksheet-48v": worksheet,
    "bat-series-parallel": series_parallel,
    "bat-c-rate-20h": rate,
    "bat-peukert-one-amp-form": one_ampere_form,
    "bat-peukert-rated-form": rated_form,
    "bat-peukert-exponent-from-sheet": lambda g: {
        "exponent": banks.peukert_exponent(g["ah_5h"] * AH, 5 * HOUR, g["ah_20h"] * AH, 20 * HOUR)
    },
    "bat-flooded-48v-setpoints": per_cell("absorption", "float", "equalize"),
    "bat-lfp-16s": per_cell("charge"),
    "bat-nmc-14s-limits": per_cell("max", "cutoff"),
    "bat-agm-24-cells": agm,
    "bat-tempcomp-35c": compensated_cell,
    "bat-tempcomp-bank-10c": compensated_bank,
    "bat-ladder-same-end": ladder,
    "bat-ladder-diagonal-1m": ladder,
    "bat-strings-unequal-leads": unequal_leads,
    "bat-paralleling-inrush": lambda g: {"equalising_a": protection.fault_current(g["ocv_difference_v"], g["loop_mohm"] / 1e3)},
    "bat-isc-two-readings": two_readings,
    "bat-isc-slope": slope,
    "bat-isc-ieee946": lambda g: {"short_circuit_a": banks.minute_rate_fault(g["one_minute_rate_a"])},
    "bat-vent-vrla-boost": air,
    "bat-vent-flooded-boost": air,
    "bat-vent-nicd-float": air,
    "bat-vent-constant": lambda g: {"product": banks.dilution_volume(g["dilution"], g["hydrogen_m3_per_ah"], g["safety"])},
}
