"""Strings: cold and hot voltages, counts, currents."""

from __future__ import annotations

from engine.formulas import solar
from tests.published.formulas import arrays

C0 = 273.15
PER_K = 0.01


def cold(given):
    module = solar.voltage_at(given["voc_v"], given["beta_pct_per_c"] * PER_K, given["min_temp_c"] + C0)
    most = solar.most_in_series(given["limit_v"], module)
    return {"module_v": module, "max_modules": most, "string_v": solar.string_voltage(module, int(most))}


def cold_by_table(given):
    module = solar.tabled_cold_voltage(given["voc_v"], given["table_factor"])
    return {"module_v": module, "max_modules": solar.most_in_series(given["limit_v"], module)}


def two_strings(given):
    basic = solar.circuit_current(given["isc_a"], given["strings_in_parallel"], 1.25)
    return {"max_circuit_a": basic, "conductor_a": solar.circuit_current(given["isc_a"], given["strings_in_parallel"], 1.25 * 1.25)}


def cell(given):
    warm = arrays.cell_temperature(given["ambient_c"] + C0, given["noct_c"] + C0, given["irradiance_w_m2"])
    return {"cell_temp_c": warm - C0}


def per_input(given):
    inputs = given["units"] * given["inputs_per_unit"]
    left = arrays.modules_left(given["modules"], inputs)
    return {"per_input": arrays.modules_each(given["modules"], inputs), "equal": left == 0, "left_over": left}


def diode(given, vmp_65, vmp_70):
    """Our straight lines; hot Vmp by the slope that the diode model shows to the other of the two temperatures."""
    voc, vmp = given["voc_v"], given["vmp_v"]

    def hot(celsius, seen_at, seen):
        return solar.voltage_at(vmp, (seen / vmp - 1) / (seen_at - 25), celsius + C0)

    def cold_voc(celsius):
        return solar.voltage_at(voc, given["beta_voc_pct_per_c"] * PER_K, celsius + C0)

    return {
        "voc_minus20_v": cold_voc(-20),
        "voc_minus10_v": cold_voc(-10),
        "voc_linear_minus10_v": cold_voc(-10),
        "vmp_65_v": hot(65, 70, vmp_70),
        "vmp_70_v": hot(70, 65, vmp_65),
        "isc_70_a": arrays.current_at(given["isc_a"], given["alpha_isc_pct_per_c"] * PER_K, 70 + C0),
    }


CALLS = {
    "pv-cold-voc-coefficient": cold,
    "pv-cold-voc-table": cold_by_table,
    "pv-cold-limit-low-v": cold,
    "pv-parallel-does-not-raise-voc": lambda g: {"array_voc_v": arrays.paralleled_voltage([g["string_voc_v"]] * g["strings_in_parallel"])},
    "pv-isc-125": lambda g: {"max_circuit_a": solar.circuit_current(g["isc_a"], 1, 1.25)},
    "pv-isc-two-strings": two_strings,
    "pv-hot-vmp": lambda g: {"module_v": solar.voltage_at(g["vmp_v"], g["vmp_pct_per_c"] * PER_K, g["cell_temp_c"] + C0)},
    "pv-noct-cell-temp": cell,
    "pv-min-modules": lambda g: {"min_modules": solar.least_in_series(g["input_min_v"], g["module_hot_vmp_v"])},
    "pv-equal-per-input": per_input,
    "pv-desoto-60-cell-300w": lambda g: diode(g, 27.7991, 27.2046),
    "pv-desoto-144-half-540w": lambda g: diode(g, 36.023, 35.3245),
}
