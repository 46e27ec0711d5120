"""Starting motors, and generators."""

from __future__ import annotations

from math import acos

from engine.formulas import energy, generator, leads, motors, phasors
from tests.published.formulas import machines, phases
from tests.published.tables import table

FT = 0.3048


def letter(given, column="most"):
    row = table("code_letters").row("letter", given["code_letter"])
    return machines.locked_rotor_power(given["hp"], row[column])


def twenty_horsepower(given):
    locked = letter(given)
    return {"locked_kva": locked / 1e3, "locked_a": machines.locked_rotor_current(locked, given["v_line_v"], given["phases"])}


def three_phase_start(given):
    locked = letter(given)
    return {"locked_kva_max": locked / 1e3, "per_phase_kva": motors.per_phase(locked, given["phases"]) / 1e3}


def single_phase_start(given):
    locked = letter(given)
    return {"locked_kva_max": locked / 1e3, "locked_a": machines.locked_rotor_current(locked, given["v_v"], given["phases"])}


def on_one_phase(given):
    currents = [given["running_a"], given["start_a"]]
    angles = [-acos(given["running_pf"]), -acos(given["start_pf"])]
    return {"phasor_sum_a": phasors.phasor_sum(currents, angles), "arithmetic_sum_a": motors.black_start(currents[0], currents[1:])}


def bulk(given):
    power = machines.bulk_power(given["battery_wh"] * 3600, given["hours"] * 3600)
    factor = generator.altitude_factor(given["altitude_ft"] * FT)
    return {"dc_w": power, "altitude_factor": factor, "generator_w": machines.generator_power(power, factor, given["charger_efficiency"])}


def group(given):
    units, volts = given["units"], given["v_phase_v"]
    power = leads.drawn_power(energy.fed_power(given["charge_v"], [given["charger_a_per_unit"]] * units), given["charger_efficiency"])
    line = generator.input_current(given["charger_a_per_unit"], given["charge_v"], given["charger_efficiency"], given["pf"], volts)
    return {"input_w": power, "input_va": phasors.apparent_power(power, given["pf"]), "per_phase_a": line}


CALLS = {
    "mot-lra-20hp-g": twenty_horsepower,
    "mot-kva-7-5hp-h": three_phase_start,
    "mot-lra-1hp-l-1ph": single_phase_start,
    "mot-ratio-compressor": lambda g: {"multiple": machines.start_multiple(g["running_a"], g["locked_a"])},
    "mot-compressor-unmarked-2": lambda g: {"locked_a": machines.start_current(g["rated_load_a"], 6.0)},
    "mot-surge-on-phase": on_one_phase,
    "mot-largest-start-only": lambda g: {"peak_w": machines.starting_peak(g["running_w"], g["start_w"])},
    "gen-c5-example": bulk,
    "gen-altitude-8000ft": lambda g: {"altitude_factor": generator.altitude_factor(g["altitude_ft"] * FT)},
    "gen-nonlinear-factor": lambda g: {
        "generator_kw": machines.distorting_power(g["charger_input_kw"], 2.0),
        "generator_kw_if_thd_under_10pct": machines.distorting_power(g["charger_input_kw"], 1.4),
    },
    "gen-kva-to-kw": lambda g: {"kw": phases.real_power(g["kva"], g["pf"])},
    "gen-charger-group-input": group,
    "gen-army-10pct": lambda g: {"accepted": 0 <= g["reported_unbalance_pct"] <= g["limit_pct"]},
}
