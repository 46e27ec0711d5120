"""Powers, neutral currents, unbalance, phasing, a lost neutral."""

from __future__ import annotations

from math import degrees, pi, radians

from engine.formulas import ampacity, motors, phasors
from engine.tables import correction
from tests.published.formulas import phases
from tests.published.tables import table

THREE = (0.0, -2 * pi / 3, 2 * pi / 3)
SPLIT = (0.0, pi)
ORDER = ("L1", "L2", "L3")


def neutral(given):
    currents = [given[f"l{i}_a"] for i in (1, 2, 3)]
    factors = [given.get(f"l{i}_pf", 1.0) for i in (1, 2, 3)]
    angles = [phasors.power_angle(a, abs(pf), phasors.reactive_power(abs(pf), pf)) for a, pf in zip(THREE, factors, strict=True)]
    return {"neutral_a": phasors.phasor_sum(currents, angles)}


def acb(given):
    sources = {"a": 0.0, "b": radians(120), "c": radians(-120)}
    currents, angles = {}, {}
    for phase, source in sources.items():
        resistance, reactance = given[f"z{phase}_ohm"]
        currents[phase] = phases.impedance_current(given["v_phase_v"], resistance, reactance)
        angles[phase] = source - phases.impedance_angle(resistance, reactance)
    lists = list(currents.values()), list(angles.values())
    return {
        **{f"i{phase}_a": currents[phase] for phase in "abc"},
        **{f"i{phase}_deg": degrees(angles[phase]) for phase in "bc"},
        "neutral_a": phasors.phasor_sum(*lists),
        # The textbook counts the neutral's current towards the load.
        "neutral_deg": degrees(phases.phasor_sum_angle(*lists)) + 180,
    }


def power(given):
    apparent = phases.three_phase_apparent(given["v_line_v"], given["i_line_a"])
    real = phases.real_power(apparent, given["pf"])
    return {"p_kw": real / 1e3, "q_kvar": phasors.reactive_power(real, given["pf"]) / 1e3, "s_kva": apparent / 1e3}


def triplen(given):
    line = phasors.rms_sum([value for key, value in given.items() if key.startswith("i")])
    each = phasors.rms_sum([given["i3_a"], given["i9_a"]])
    together = phasors.triplen_sum([each] * 3)
    return {"phase_rms_a": line, "neutral_rms_a": together, "neutral_over_phase": together / line}


def third_harmonic(given):
    content = given["third_harmonic_pct"] / 100
    current = ampacity.triplen_neutral(given["design_a"], content)
    factor, selects = correction.harmonics(content)
    return {"neutral_a": current, "select_cable_for_a": ampacity.harmonic_design_current(given["design_a"], current, factor.value, selects)}


def across_open_poles(given):
    bus, unit = (given[f"{side}_order"].split() for side in ("bus", "unit"))
    volts, angle = given["v_phase_v"], dict(zip(ORDER, THREE, strict=True))
    return {"across_open_poles_v": [phasors.voltage_between(volts, angle[a], volts, angle[b]) for a, b in zip(bus, unit, strict=True)]}


def sequence(given):
    sense = phasors.rotation([radians(given[f"l{i}_deg"]) for i in (1, 2, 3)])
    return {"rotation": "L1-L2-L3" if sense > 0 else "L3-L2-L1", "clockwise": sense > 0}


def two_legs(given):
    currents = [given["l1_a"], given["l2_a"]]
    return {"neutral_split_180_a": phasors.phasor_sum(currents, SPLIT), "neutral_two_legs_of_wye_120_a": phasors.phasor_sum(currents, THREE[:2])}


def with_240_load(given):
    across = given["line_to_line_240v_a"]
    legs = [phasors.phasor_sum([given[f"l{i}_120v_a"], across], [a, a]) for i, a in zip((1, 2), SPLIT, strict=True)]
    return {"l1_a": legs[0], "l2_a": legs[1], "neutral_a": phasors.phasor_sum(legs, SPLIT)}


def line_to_line(given):
    real, volts = given["p_w"], given["v_line_v"] / 3**0.5
    reactive = phasors.reactive_power(real, given["pf"])
    p = [phasors.line_line_power(real, reactive, side) for side in (1, -1)]
    q = [phasors.line_line_reactive(real, reactive, side) for side in (1, -1)]
    s = [phasors.joined_power(*both) for both in zip(p, q, strict=True)]
    i = [phasors.phase_current(apparent, volts) for apparent in s]
    angles = [phasors.power_angle(*three) for three in zip(THREE[:2], p, q, strict=True)]
    found = {"neutral_a": phasors.phasor_sum(i, angles)}
    for k in (0, 1):
        found |= {f"l{k + 1}_a": i[k], f"l{k + 1}_p_w": p[k], f"l{k + 1}_q_var": q[k], f"l{k + 1}_va": s[k]}
    return found


def nema(given):
    volts = given["v_line_v"]
    return {"average_v": sum(volts) / len(volts), "unbalance_pct": 100 * phasors.unbalance(volts)}


def derate(given):
    curve = table("unbalance_derating")
    return {"motor_derate": motors.interpolated(given["unbalance_pct"] / 100, curve.figures("unbalance"), curve.figures("share"))}


def open_neutral(given):
    volts, resistances = given["v_phase_v"], given["r_ohm"]
    return {
        "load_v": [phases.open_neutral_voltage(volts, resistances, THREE, place) for place in range(3)],
        "star_point_v": phases.star_point_voltage(volts, resistances, THREE),
    }


CALLS = {
    "ph-neutral-unity-10-15-20": neutral,
    "ph-neutral-unity-10-23-3": neutral,
    "ph-neutral-one-phase": neutral,
    "ph-neutral-balanced": neutral,
    "ph-neutral-mixed-pf-worse": neutral,
    "ph-neutral-mixed-pf-1": neutral,
    "ph-textbook-acb-100v": acb,
    "ph-doe-power": power,
    "ph-triplen-textbook": triplen,
    "ph-triplen-ceiling": lambda _: {"neutral_over_phase_max": phasors.rms_sum([1.0] * 3)},
    "ph-h3-cable-40pct": third_harmonic,
    "ph-h3-cable-50pct": third_harmonic,
    "ph-h3-cable-trap": third_harmonic,
    "ph-phasing-aligned": across_open_poles,
    "ph-phasing-rolled-by-one": across_open_poles,
    "ph-sequence-positive": sequence,
    "ph-split-neutral-same-pf": lambda g: {"neutral_a": phasors.phasor_sum([g["l1_a"], g["l2_a"]], SPLIT)},
    "ph-split-vs-208-legs": two_legs,
    "ph-split-with-240-load": with_240_load,
    "ph-line-line-load-split": line_to_line,
    "ph-nema-462-463-455": nema,
    "ph-nema-400-395-388": nema,
    "ph-iec-vuf-462-463-455": lambda g: {"vuf_pct": 100 * phases.negative_sequence_ratio(g["v_line_v"])},
    "ph-nema-derate-3pct": derate,
    "ph-open-neutral-wye": open_neutral,
}
