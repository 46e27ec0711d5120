"""Tests before and after power, and pre-charge."""

from __future__ import annotations

from engine.formulas import battery, sharing, verification
from tests.published.formulas import branches, charging
from tests.published.tables import table

UF, UOHM, MS = 1e-6, 1e-6, 1e-3


def insulation(given):
    row = table("insulation_tests").row("circuit", given["circuit"].replace("and including ", ""))
    return {"test_v": row["test_voltage"], "min_mohm": row["least"] / 1e6}


def order(given):
    place = {row["test"]: row["place"] for row in table("test_order").rows}
    return {"order": sorted(given["tests"], key=place.__getitem__)}


def trip_times(given):
    assert given["rated_ma"] == 30.0
    times = {row["multiple"]: row["most"] / MS for row in table("rcd_times").rows}
    return {"max_ms_at_1x": times[1.0], "max_ms_at_5x": times[5.0]}


def safe_work(given):
    steps = [row["step"] for row in table("safe_work_steps").rows]
    place = {word: next(i for i, step in enumerate(steps, 1) if word in step) for word in ("electrical", "lock and", "dead")}
    return {
        "steps": len(steps),
        "first": steps[0],
        "stored_energy_step": place["electrical"],
        "lockout_step": place["lock and"],
        "absence_of_voltage_step": place["dead"],
        "method": steps[place["dead"] - 1].split(", ")[1],
    }


def precharge(given):
    volts, farads, ohms = given["bus_v"], given["capacitance_uf"] * UF, given["resistor_ohm"]
    tau = verification.time_constant(ohms, farads)
    return {
        "tau_ms": tau / MS,
        "peak_a": verification.first_current(volts, ohms),
        "peak_w": verification.first_power(volts, ohms),
        "energy_j": charging.stored_energy(volts, farads),
        "t95_ms": charging.charging_time(tau, charging.charged_share(3.0)) / MS,
        "t99_ms": charging.charging_time(tau, 0.99) / MS,
        "five_tau_s": verification.settled_time(tau),
    }


def joints(given):
    readings = [r * UOHM for r in given["connection_uohm"]]
    mean = branches.mean_resistance(readings)
    limit = branches.joint_limit(mean)
    return {"average_uohm": mean / UOHM, "limit_uohm": limit / UOHM, "remake": [i for i, r in enumerate(readings, 1) if r > limit]}


CALLS = {
    "ver-ir-230v": insulation,
    "ver-sequence": order,
    "ver-rcd-30ma": trip_times,
    "ver-70e-steps": safe_work,
    "ver-precharge-800v": precharge,
    "ver-precharge-48v-4-units": precharge,
    "ver-precharge-5tau": lambda g: {"charged_pct": 100 * charging.charged_share(g["time_constants"])},
    "ver-precharge-3tau": lambda g: {"charged_pct": 100 * charging.charged_share(g["time_constants"])},
    "ver-inrush-without-precharge": lambda g: {"peak_a": verification.first_current(g["bus_v"], g["loop_mohm"] / 1e3)},
    "ver-string-voc-5pct": lambda g: {"within_5pct": sharing.spread(g["string_voc_v"]) <= 0.05},
    "ver-connection-average": joints,
    "ver-parallel-voltage-match": lambda g: {"max_difference_v": battery.allowed_difference(g["allowed_a"], g["loop_mohm"] / 1e3)},
}
