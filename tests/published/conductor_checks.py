"""What `conductors.toml` publishes, held against our tables and formulas.

`judge()` returns every disagreement, so that the tests can list them and the mutation check can ask whether one arises.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from engine.formulas import ampacity, battery, drop, earthing, phasors, protection, resistance
from engine.quantities import registry
from engine.tables import correction, earth
from engine.tables.conductors import iec_ampacity, nec_ampacity, smallest_of
from engine.tables.protection import nec_largest_device, operating_multiple, trip_multiple
from engine.tables.ratings import next_rating_up, standard_ratings
from engine.tables.sizes import Size, gauge_area, gauge_diameter, read_size, sizes
from tests.published.formulas import conductors, phases
from tests.published.tables import table

PUBLISHED = tomllib.loads((Path(__file__).parent / "conductors.toml").read_text(encoding="utf-8"))
TABLES = {t["id"]: t for t in PUBLISHED["table"]}
CHECKS = {c["id"]: c for c in PUBLISHED["check"]}

FT = 0.3048
KFT = 304.8
MM2 = 1e-6
C0 = 273.15
CMIL = 5.06707e-10
METAL = {"Cu": "copper", "Al": "aluminium"}


def awg(text: str) -> Size:
    """A size as the American tables print it: "2/0", "250"."""
    return read_size(american(text))


def american(text: str) -> str:
    return f"{text} AWG" if "/" in text or int(text) <= 14 else f"{text} kcmil"


def smallest(rules: str, enough: Callable[[Size], bool]) -> Size | None:
    return next((s for s in sizes(rules) if enough(s)), None)


def iec(size: Size, insulation: str, loaded: int, method: str) -> float:
    found = iec_ampacity(size, "copper", insulation.lower(), loaded, method)
    return found.value if found else 0.0


def nec(size: Size, column: int) -> float:
    found = nec_ampacity(size, "copper", column, free_air=False)
    return found.value if found else 0.0


def ambient(method: str, insulation: str, celsius: float) -> float:
    found = correction.iec_ambient(method, insulation.lower(), celsius + C0)
    return found.value if found else 0.0


# --- the checks: what each publishes, computed by us from the check's own constants ---


def _bird_4(g: dict[str, Any]) -> dict[str, Any]:
    return {"r_ohm": conductors.stuff_resistance(g["rho_ohm_mm2_per_m"] * MM2, g["length_m"], g["area_mm2"] * MM2)}


def _bird_7(g: dict[str, Any]) -> dict[str, Any]:
    area = math.pi / 4 * (g["diameter_mm"] / 1000) ** 2
    return {"r_ohm": conductors.stuff_resistance(g["rho_ohm_mm2_per_m"] * MM2, g["length_m"], area)}


def _bird_11(g: dict[str, Any]) -> dict[str, Any]:
    return {"r_ohm": g["r20_ohm"] * resistance.temperature_factor(g["alpha20_per_k"], g["temp_c"] + C0)}


def _bird_13(g: dict[str, Any]) -> dict[str, Any]:
    at_20 = conductors.coefficient_at(g["alpha0_per_k"], 20 + C0, C0)
    return {"r_ohm": resistance.warm_resistance(g["r20_ohm"], at_20, g["temp_c"] + C0, 20 + C0)}


def _gauge(g: dict[str, Any]) -> dict[str, Any]:
    return {"diameter_mm": gauge_diameter(g["awg"]) * 1000, "area_mm2": gauge_area(g["awg"]) / MM2}


def _alpha75(g: dict[str, Any]) -> dict[str, Any]:
    return {"r_ohm_per_kft": g["r75_ohm_per_kft"] * resistance.temperature_factor(g["alpha75_per_k"], g["temp_c"] + C0, 75 + C0)}


def _warm(g: dict[str, Any]) -> dict[str, Any]:
    return {"r_ohm_per_km": resistance.warm_resistance(g["r20_ohm_per_km"], g["alpha20_per_k"], g["temp_c"] + C0, 20 + C0)}


def _rho1(g: dict[str, Any]) -> dict[str, Any]:
    # 1.25 is what the formula gives between 20 degC and the temperature in service, at the annex's own coefficient.
    return {"rho1_ohm_mm2_per_m": g["rho20_ohm_mm2_per_m"] * resistance.temperature_factor(0.004, 20 + C0 + (g["factor"] - 1) / 0.004)}


def _factor_70(g: dict[str, Any]) -> dict[str, Any]:
    return {"factor": resistance.temperature_factor(g["alpha20_per_k"], g["temp_c"] + C0)}


def _nec_derated(g: dict[str, Any]) -> dict[str, Any]:
    size = awg(g["awg"])
    air = correction.nec_ambient(g["insulation_c"], g["ambient_c"] + C0)
    assert air
    company = correction.nec_adjustment(g["conductors"])
    carries = ampacity.derated_ampacity(nec(size, g["insulation_c"]), air.value, company.value)
    return {"ampacity_a": carries, "ocpd_a": nec_largest_device(carries, size, "copper")}


def _row_25(g: dict[str, Any]) -> dict[str, Any]:
    size = read_size(f"{g['area_mm2']} mm2")
    return {f"{m[0].lower()}{'1' if m == 'B1' else ''}_a": iec(size, g["insulation"], g["loaded"], m) for m in ("A1", "B1", "C")}


def _iec_derated(g: dict[str, Any]) -> dict[str, Any]:
    size = read_size(f"{g['area_mm2']} mm2")
    air = ambient(g["method"], g["insulation"], g["ambient_c"])
    return {"iz_a": ampacity.derated_ampacity(iec(size, g["insulation"], g["loaded"], g["method"]), air, 1.0)}


def _harmonic(g: dict[str, Any]) -> dict[str, Any]:
    share = g["h3_pct"] / 100
    factor, selects = correction.harmonics(share)
    neutral = ampacity.triplen_neutral(g["current_a"], share)
    required = ampacity.harmonic_design_current(g["current_a"], neutral, factor.value, selects)
    told: dict[str, Any] = {"select_on": selects, "neutral_a": neutral, "required_a": required}
    if "method" in g:
        size = smallest("iec", lambda s: iec(s, g["insulation"], 3, g["method"]) >= required)
        told["area_mm2"] = size.area / MM2 if size else None
    return told


def _parallel(_: dict[str, Any]) -> dict[str, Any]:
    return {"min_parallel_awg": str(table("nec_parallel").rows[0]["size"]).removesuffix(" AWG")}


def _quiz_70(g: dict[str, Any]) -> dict[str, Any]:
    least = protection.continuous_rating(g["continuous_a"], 0.0)
    line = smallest("nec", lambda s: nec(s, g["terminals_c"]) >= least)
    neutral = smallest("nec", lambda s: nec(s, g["terminals_c"]) >= g["continuous_a"])
    assert line
    assert neutral
    return {"min_a": least, "awg_kcmil": _bare(line), "ocpd_a": next_rating_up(least, "nec"), "neutral_awg": _bare(neutral)}


def _bare(size: Size) -> str:
    return re.sub(r" (AWG|kcmil)$", "", size.label)


def _riser(g: dict[str, Any]) -> dict[str, Any]:
    loaded = 3 if g["phases"] == 3 else 2
    size = smallest("iec", lambda s: iec(s, g["insulation"], loaded, g["method"]) >= g["breaker_a"])
    assert size
    return {"area_mm2": size.area / MM2, "iz_a": iec(read_size("10 mm2"), g["insulation"], loaded, g["method"])}


def _fuse_63(g: dict[str, Any]) -> dict[str, Any]:
    rating = g["fuse_gg_a"]
    needed = max(rating, protection.overload_ampacity(protection.operating_current(rating, g["i2_factor"])))
    air = ambient("E", g["insulation"], g["ambient_c"])
    size = smallest("iec", lambda s: iec(s, g["insulation"], 3, "E") >= conductors.table_current_needed(needed, air, 1.0))
    assert size
    return {"area_mm2": size.area / MM2}


def _k_10ka(g: dict[str, Any]) -> dict[str, Any]:
    area = protection.withstand_area(protection.let_through(g["fault_ka"] * 1000, g["time_s"]), g["k"] / MM2)
    size = smallest_of(area, "iec")
    assert size
    return {"s_min_mm2": area / MM2, "area_mm2": size.area / MM2}


def _upsized(g: dict[str, Any]) -> dict[str, Any]:
    found = earth.equipment_ground(g["ocpd_a"], "copper")
    assert found
    needed, installed = awg(g["from_awg"]), awg(g["to_awg"])
    if "base_egc_awg" in g:
        assert found[0] == awg(g["base_egc_awg"])
    grown = smallest_of(earthing.upsized_ground(found[0].area, needed.area, installed.area), "nec")
    assert grown
    return {"ratio": installed.area / needed.area, "egc_awg": _bare(grown)}


def _dc(g: dict[str, Any]) -> dict[str, Any]:
    current = battery.battery_current(g["inverter_w"], g["efficiency"], g["cutoff_v"])
    design = protection.continuous_rating(current, 0.0, g["continuous_factor"])
    size = smallest("nec", lambda s: nec(s, 75) >= design)
    assert size
    return {"current_a": current, "design_a": design, "ocpd_a": next_rating_up(design, "nec"), "awg_75c": _bare(size)}


def _terminations(g: dict[str, Any]) -> dict[str, Any]:
    at, above = (correction.nec_termination(a) for a in (g["circuit_a"], g["circuit_a"] * 1.01))
    return {"termination_c_up_to_100a": at, "termination_c_above_100a": above}


def _bonding(g: dict[str, Any]) -> dict[str, Any]:
    size = smallest_of(conductors.bonding_area(g["earthing_mm2"] * MM2), "iec")
    assert size
    return {"bonding_mm2": size.area / MM2}


def _continuous(g: dict[str, Any]) -> dict[str, Any]:
    return {"min_ocpd_a": next_rating_up(protection.continuous_rating(g["continuous_a"], g["noncontinuous_a"]), "nec")}


def _chain_b2(g: dict[str, Any]) -> dict[str, Any]:
    rating = next_rating_up(g["ib_a"], "iec")
    assert rating
    air = ambient(g["method"], g["insulation"], g["ambient_c"])
    company = correction.iec_grouping(g["method"], g["circuits_enclosed"])
    assert company
    needed = conductors.table_current_needed(rating, air, company.value)
    size = smallest("iec", lambda s: iec(s, g["insulation"], g["loaded"], g["method"]) >= needed)
    assert size
    carries = ampacity.derated_ampacity(iec(size, g["insulation"], g["loaded"], g["method"]), air, company.value)
    return {"in_a": rating, "table_iz_needed_a": needed, "area_mm2": size.area / MM2, "iz_a": carries}


def _jh_95(g: dict[str, Any]) -> dict[str, Any]:
    design = protection.continuous_rating(g["continuous_a"], 0.0)
    device_end = smallest("nec", lambda s: nec(s, g["ocpd_terminal_c"]) >= design)
    wire = smallest("nec", lambda s: nec(s, g["insulation_c"]) >= g["continuous_a"])
    load_end = smallest("nec", lambda s: nec(s, g["load_terminal_c"]) >= g["continuous_a"])
    assert device_end
    assert wire
    assert load_end
    largest = max((device_end, wire, load_end), key=lambda s: s.area)
    return {
        "design_a": design,
        "ocpd_a": next_rating_up(design, "nec"),
        "awg_ocpd_end": _bare(device_end),
        "awg_load": _bare(wire),
        "awg_terminal": _bare(load_end),
        "awg": _bare(largest),
    }


def _k2s2_6(g: dict[str, Any]) -> dict[str, Any]:
    area = g["area_mm2"] * MM2
    return {f"{i}_ma2s": protection.withstand(area, earth.adiabatic_k(earth.LIVE, "copper", i).value) / 1e6 for i in ("pvc", "xlpe")}


def _fuse_k3(g: dict[str, Any]) -> dict[str, Any]:
    return {"min_iz_a": protection.overload_ampacity(protection.operating_current(g["fuse_gg_a"], g["i2_factor"]))}


def _mehta_1(g: dict[str, Any]) -> dict[str, Any]:
    volts, told = g["supply_v"], []
    for place, section in enumerate(g["sections_m"]):
        volts -= drop.drop_dc(sum(g["loads_a"][place:]), g["loop_ohm_per_km"] / 2000, section)
        told.append(volts)
    return dict(zip(("vc_v", "vd_v", "ve_v", "vb_v"), told, strict=True))


def _mehta_2(g: dict[str, Any]) -> dict[str, Any]:
    # The drop goes with 1/S: at 1 mm2 it is so many times too large.
    at_1 = sum(drop.drop_dc(a, g["rho_ohm_mm2_per_m"], m) for a, m in zip(g["section_a"], g["section_m"], strict=True))
    return {"area_mm2": at_1 / g["max_drop_v"]}


def _mehta_26(g: dict[str, Any]) -> dict[str, Any]:
    plus, minus = g["i_pos_a"], g["i_neg_a"]
    return {
        "i_neutral_a": plus - minus,
        "v_pos_v": g["side_v"] - conductors.drop_split_phase(plus, minus, g["r_outer_ohm"], g["r_neutral_ohm"]),
        "v_neg_v": g["side_v"] - conductors.drop_split_phase(minus, plus, g["r_outer_ohm"], g["r_neutral_ohm"]),
    }


def _mehta_28(g: dict[str, Any]) -> dict[str, Any]:
    loads = tuple(g["side_v"] ** 2 / (1000 * p) for p in (g["p_pos_kw"], g["p_neg_kw"]))
    across = (phases.open_neutral_voltage(g["side_v"], loads, (0.0, math.pi), place) for place in (0, 1))
    return dict(zip(("v_pos_v", "v_neg_v"), across, strict=True))


def _mehta_14(g: dict[str, Any]) -> dict[str, Any]:
    r, x = g["loop_r_ohm_per_km"] / 2000, g["loop_x_ohm_per_km"] / 2000
    first = drop.drop_single_phase(g["tap1_a"], r, x, g["tap1_m"], g["tap1_pf"])
    return {"drop_v": first + drop.drop_single_phase(g["tap2_a"], r, x, g["tap2_m"], g["tap2_pf"])}


def _neutral(g: dict[str, Any]) -> dict[str, Any]:
    angles = (0.0, -2 * math.pi / 3, 2 * math.pi / 3)
    return {"i_neutral_a": phasors.phasor_sum((g["i_r_a"], g["i_y_a"], g["i_b_a"]), angles)}


def _ecm_1(g: dict[str, Any]) -> dict[str, Any]:
    return {"drop_v": 3**0.5 * drop.drop_three_phase(g["current_a"], g["ohm_per_kft"] / KFT, 0.0, g["length_ft"] * FT, 1.0)}


def _ecm_3(g: dict[str, Any]) -> dict[str, Any]:
    per_foot = 3**0.5 * drop.drop_three_phase(g["current_a"], g["ohm_per_kft"] / KFT, 0.0, FT, 1.0)
    return {"length_ft": g["max_drop_v"] / per_foot}


def _electrician(g: dict[str, Any]) -> dict[str, Any]:
    volts = drop.drop_single_phase(g["current_a"], g["ohm_per_kft"] / KFT, 0.0, g["length_ft"] * FT, 1.0)
    return {"drop_v": volts, "drop_pct": 100 * drop.drop_share(volts, g["supply_v"])}


def _dc_blog(g: dict[str, Any]) -> dict[str, Any]:
    volts = drop.drop_dc(g["current_a"], g["rho_ohm_mm2_per_m"] / g["area_mm2"], g["length_m"])
    return {"drop_v": volts, "drop_pct": 100 * drop.drop_share(volts, g["supply_v"])}


def _annex_g(metal: str, area_mm2: float) -> tuple[float, float]:
    row = table("annex_g").row("metal", metal)
    assert row
    assert isinstance(row["resistivity"], float)
    assert isinstance(row["reactance"], float)
    return row["resistivity"] / (area_mm2 * MM2), row["reactance"]


def _eig(g: dict[str, Any]) -> dict[str, Any]:
    r, x = _annex_g("copper", g["area_mm2"])
    volts = 3**0.5 * drop.drop_three_phase(g["current_a"], r, x, g["length_m"], g["cos_phi"])
    return {"drop_v": volts, "total_pct": 100 * drop.drop_share(volts + g["upstream_drop_v"], g["supply_v"])}


def _annexg_6(g: dict[str, Any]) -> dict[str, Any]:
    r, x = _annex_g("copper", g["area_mm2"])
    volts = drop.drop_single_phase(g["current_a"], r, x, g["length_m"], g["cos_phi"])
    return {"drop_v": volts, "drop_pct": 100 * drop.drop_share(volts, g["supply_v"])}


def _limit_250(g: dict[str, Any]) -> dict[str, Any]:
    row = next(r for r in table("drop_limits").rows if (r["code"], r["supply"]) == ("IEC Annex G", f"{g['supply']} LV"))
    limit = row[g["use"]]
    assert isinstance(limit, float)
    return {"limit_pct": 100 * conductors.drop_limit_at(limit, g["length_m"])}


def _power_flow(g: dict[str, Any]) -> dict[str, Any]:
    """The load's power is constant: its current rises with the drop until both agree."""
    r = resistance.warm_resistance(g["r20_ohm_per_km"] / 1000, 0.00393, g["temp_c"] + C0, 20 + C0)
    x, length, lost = g["x_ohm_per_km"] / 1000, g["length_m"], 0.0
    for _ in range(50):
        current = 1000 * g["p_kw"] / (3**0.5 * (g["supply_v"] - lost) * g["cos_phi"])
        lost = 3**0.5 * drop.drop_three_phase(current, r, x, length, g["cos_phi"])
    return {"current_a": current, "drop_v": lost, "loss_w": 3 * current**2 * resistance.conductor_resistance(r, length)}


def _marine(g: dict[str, Any]) -> dict[str, Any]:
    allowed = g["supply_v"] * g["max_drop_pct"] / 100
    rho = 10.75 * CMIL / FT
    for gauge in ("18", "16", "14", "12", "10"):
        if g["current_a"] * conductors.stuff_resistance(rho, g["loop_ft"] * FT, gauge_area(gauge)) <= allowed:
            return {"awg": gauge}
    return {"awg": None}


OURS: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
    "r_bird_4": _bird_4,
    "r_bird_7": _bird_7,
    "r_bird_11": _bird_11,
    "r_bird_13": _bird_13,
    "r_awg10": _gauge,
    "r_awg_4": _gauge,
    "r_nec_alpha75": _alpha75,
    "r_pp_nayy150_80c": _warm,
    "r_pp_nayy50_80c": _warm,
    "r_rho1_origin": _rho1,
    "r_cu_70c_factor": _factor_70,
    "amp_ecm_nine_12": _nec_derated,
    "amp_4awg_40c": _nec_derated,
    "amp_forum_25mm2_4d1a": _row_25,
    "amp_b2_25c": _iec_derated,
    "amp_c_25_45c": _iec_derated,
    "amp_f_70_55c": _iec_derated,
    "amp_fx_240_45c": _iec_derated,
    "amp_harm_32": _harmonic,
    "amp_harm_44": _harmonic,
    "amp_annexE_20": _harmonic,
    "amp_parallel_min": _parallel,
    "p_ecm_quiz70": _quiz_70,
    "p_oppo_6kw": _riser,
    "p_oppo_15kw": _riser,
    "p_fuse_63a": _fuse_63,
    "p_k_10ka_01s": _k_10ka,
    "p_egc_ecmag": _upsized,
    "p_egc_40a": _upsized,
    "p_next_std_dc": _dc,
    "p_110_14c": _terminations,
    "p_bonding_16": _bonding,
    "p_nec_continuous": _continuous,
    "p_iec_chain_b2": _chain_b2,
    "full_jh_95a": _jh_95,
    "p_k2s2_6": _k2s2_6,
    "p_fuse_k3": _fuse_k3,
    "vd_mehta_13_1": _mehta_1,
    "vd_mehta_13_2": _mehta_2,
    "vd_mehta_13_26": _mehta_26,
    "vd_mehta_13_28_open_neutral": _mehta_28,
    "vd_mehta_14_1": _mehta_14,
    "n_mehta_14_8": _neutral,
    "vd_ecm_ex1": _ecm_1,
    "vd_ecm_ex3": _ecm_3,
    "vd_electrician2_16": _electrician,
    "vd_dc_blog_20m": _dc_blog,
    "vd_eig_motor": _eig,
    "vd_annexg_sp_6mm2": _annexg_6,
    "vd_limit_250m": _limit_250,
    "vd_pp_cu35_70c": _power_flow,
    "vd_pp_cu16_90c": _power_flow,
    "vd_pp_cu35_20c": _power_flow,
    "p_marine_10pct": _marine,
}


def agree(ours: object, theirs: object, tolerance: float | str) -> bool:
    """Whether two values are the same within a relative tolerance, or exactly (but for the last bits)."""
    if isinstance(theirs, str) or ours is None:
        return ours == theirs
    assert isinstance(ours, int | float)
    assert isinstance(theirs, int | float)
    return math.isclose(ours, theirs, rel_tol=1e-9 if tolerance == "exact" else float(tolerance))


def check_faults(check: dict[str, Any]) -> list[str]:
    """Where our value is not the published one, or not the deviation that is listed."""
    ours = OURS[check["id"]](check["given"])
    listed = {key: value for key, value, _ in check.get("deviates", ())}
    faults = []
    for key, theirs in check["expect"].items():
        if key in listed:
            if agree(ours[key], theirs, check["tolerance"]):
                faults.append(f"{check['id']} {key}: a deviation is listed but there is none")
            elif not agree(ours[key], listed[key], 0.001):
                faults.append(f"{check['id']} {key}: {ours[key]}, listed deviation {listed[key]}")
        elif not agree(ours[key], theirs, check["tolerance"]):
            faults.append(f"{check['id']} {key}: ours {ours[key]}, published {theirs}")
    return faults


# --- the tables: column by column ---


def si(value: object, unit: str) -> object:
    """A printed cell as our tables hold it."""
    if value == "":
        return None
    if unit == "awg":
        return american(str(value)) if re.fullmatch(r"\d+(/0)?", str(value)) else None
    if unit == "metal":
        return METAL[str(value)]
    if unit == "situation":
        return {"mechanically protected": "protected", "not mechanically protected": "unprotected"}[str(value)]
    if unit == "text" or isinstance(value, str):
        return value
    assert isinstance(value, int | float)
    return _scaled(float(value), "A**2*s" if unit == "kA2s" else unit) * (1000 if unit == "kA2s" else 1)


_SCALE: dict[str, tuple[float, float]] = {}


def _scaled(value: float, unit: str) -> float:
    if unit not in _SCALE:
        if unit == "1":
            _SCALE[unit] = (1.0, 0.0)
        else:
            one, zero = (registry().Quantity(v, unit).to_base_units().magnitude for v in (1.0, 0.0))
            _SCALE[unit] = (one - zero, zero)
    factor, offset = _SCALE[unit]
    return value * factor + offset


def table_faults(published: dict[str, Any]) -> list[str]:
    """Cells of a published table that are not in ours, or differ from it without a listed reason."""
    if "to" not in published:
        return CUSTOM[published["id"]](published)
    faults = []
    key_to, key_unit = published["to"][0], published["units"][0]
    for number, row in enumerate(published["rows"]):
        for column, printed, to, unit in zip(published["columns"][1:], row[1:], published["to"][1:], published["units"][1:], strict=True):
            if not to:
                continue
            name, ours_column = to.split(".")
            found = table(name)
            if published.get("match") == "rows":
                mine = found.rows[number]
            else:
                mine = found.row(key_to.split(".")[1], si(row[0], key_unit)) or {}  # type: ignore[arg-type]
            empty = printed == 0 and not isinstance(printed, bool) and not published.get("zero")
            wanted = None if empty else si(printed, unit)
            for at, what, instead, _ in published.get("deviates", ()):
                if at == row[0] and what == column:
                    if _same(mine.get(ours_column), wanted):
                        faults.append(f"{published['id']} {row[0]} {column}: a deviation is listed but there is none")
                    wanted = si(instead, unit)
            if not _same(mine.get(ours_column), wanted):
                faults.append(f"{published['id']} {row[0]} {column}: ours {mine.get(ours_column)}, published {wanted}")
        if len(row) == 1 or published.get("match") == "rows":
            name, column = (key_to or published["to"][1]).split(".")
            if len(row) == 1 and not _same(_cell(name, number, column), si(row[0], key_unit)):
                faults.append(f"{published['id']} {row[0]}: ours {_cell(name, number, column)}")
            elif key_to and not _same(_cell(name, number, column), si(row[0], key_unit)):
                faults.append(f"{published['id']} row {number}: ours {_cell(name, number, column)}")
    return faults


def _cell(name: str, number: int, column: str) -> object:
    rows = table(name).rows
    return rows[number][column] if number < len(rows) else None


def _same(ours: object, theirs: object) -> bool:
    if isinstance(ours, float) and isinstance(theirs, int | float):
        return math.isclose(ours, theirs, rel_tol=1e-6, abs_tol=1e-15)
    return ours == theirs


def _forty(method: str) -> Callable[[dict[str, Any]], list[str]]:
    """The makers' 40 degC columns are the 30 degC ones times 0.87 in whole amperes."""

    def faults(published: dict[str, Any]) -> list[str]:
        found = []
        for area, at_30, at_40 in published["rows"]:
            base = iec(read_size(f"{area} mm2"), "PVC", 3, method)
            ours = ampacity.derated_ampacity(base, ambient(method, "PVC", 40), 1.0)
            if not (math.floor(base) <= at_30 <= math.ceil(base)) or abs(ours - at_40) > 0.51:
                found.append(f"{published['id']} {area}: ours {base} and {ours:.1f}, published {at_30} and {at_40}")
        return found

    return faults


def _conv_currents(published: dict[str, Any]) -> list[str]:
    probe = {
        "MCB IEC 60898": ("breaker", 63.0),
        "MCCB IEC 60947-2": ("moulded-case breaker", 160.0),
        "gG 16 A and up": ("fuse", 16.0),
        "gG 4 to 16 A": ("fuse", 10.0),
        "gG up to 4 A": ("fuse", 4.0),
    }
    rows = {(r["device"], r["operating"]): r["non_operating"] for r in table("conventional_currents").rows}
    faults = []
    if [operating_multiple("fuse", a).value for a in (0.5, 4.0, 4.01, 15.99, 16.0)] != [2.1, 2.1, 1.9, 1.9, 1.6]:
        faults.append("conv_currents: the bands of the fuses")
    for device, least, most in published["rows"]:
        ours = operating_multiple(*probe[device]).value
        if ours != most or rows.get((probe[device][0], most)) != least:
            faults.append(f"conv_currents {device}: ours {ours}")
    return faults


def _k_factors(published: dict[str, Any]) -> list[str]:
    use = {"live": earth.LIVE, "PE separate": earth.SEPARATE, "PE in cable": earth.IN_CABLE}
    faults = []
    for what, metal, insulation, k in published["rows"]:
        ours = earth.adiabatic_k(use[what], METAL[metal], insulation.split("/")[0].lower()).value * MM2
        if not math.isclose(ours, k, rel_tol=1e-9):
            faults.append(f"k_factors {what} {metal} {insulation}: ours {ours}, published {k}")
    return faults


def _k2s2(published: dict[str, Any]) -> list[str]:
    faults = []
    for area, *printed in published["rows"]:
        for insulation, theirs in zip(("pvc", "xlpe"), printed, strict=True):
            ours = protection.withstand(area * MM2, earth.adiabatic_k(earth.LIVE, "copper", insulation).value) / 1e6
            if not math.isclose(ours, theirs, rel_tol=0.002):
                faults.append(f"k2s2 {area} {insulation}: ours {ours}, published {theirs}")
    return faults


def _pe_rule(published: dict[str, Any]) -> list[str]:
    faults = []
    for low, high, rule in published["rows"]:
        for line in (low + 0.01, min(high, 300) - 0.5, min(high, 300)):
            wanted = {"S": line, "S/2": line / 2}.get(rule) or float(rule)
            ours = earth.table_54_2(line * MM2).value
            if not math.isclose(ours, wanted * MM2, rel_tol=1e-9):
                faults.append(f"pe_min_iec {line}: ours {ours}, published {wanted}")
    return faults


def _pe_examples(published: dict[str, Any]) -> list[str]:
    faults = []
    for line, pe in published["rows"]:
        ours = smallest_of(earth.table_54_2(line * MM2).value, "iec")
        if ours is None or not math.isclose(ours.area, pe * MM2, rel_tol=1e-9):
            faults.append(f"pe_min_examples {line}: ours {ours}, published {pe}")
    return faults


def _main_bonding(published: dict[str, Any]) -> list[str]:
    said = dict(published["rows"])
    row = table("iec_main_bonding").rows[0]
    # 16 mm2 of aluminium: IEC 60364-5-54 544.1.1, from memory.
    if not (_same(row["copper"], float(said["minimum_mm2"]) * MM2) and _same(row["aluminium"], 16 * MM2)):
        return ["iec_main_bonding"]
    wanted = (float(said["minimum_mm2"]) * MM2, 15 * MM2, float(said["need_not_exceed_mm2"]) * MM2)
    formula = (conductors.bonding_area(4 * MM2), conductors.bonding_area(30 * MM2), conductors.bonding_area(120 * MM2))
    return [] if all(_same(a, b) for a, b in zip(formula, wanted, strict=True)) else [f"main_bonding formula: {formula}"]


def _annexg(published: dict[str, Any]) -> list[str]:
    said = {name: value for name, value, _ in published["rows"]}
    cu, al = (table("annex_g").row("metal", m) or {} for m in ("copper", "aluminium"))
    pairs = {
        "rho1_cu": (cu["resistivity"], said["rho1_cu"] * MM2),
        "rho1_al": (al["resistivity"], said["rho1_al"] * MM2),
        "lambda": (cu["reactance"], said["lambda"]),
        "lambda al": (al["reactance"], said["lambda"]),
        "b_single_phase": (drop.drop_single_phase(1.0, 1.0, 0.0, 1.0, 1.0), said["b_single_phase"]),
        "b_three_phase": (drop.drop_three_phase(1.0, 1.0, 0.0, 1.0, 1.0), said["b_three_phase"]),
    }
    return [f"annexg_constants {k}: ours {a}, published {b}" for k, (a, b) in pairs.items() if not _same(a, b)]


def _dc_families(published: dict[str, Any]) -> list[str]:
    faults = []
    for ours, (family, _, volts, low, high, full, *_) in zip(table("dc_fuse_families").rows, published["rows"], strict=True):
        # "125 to 160 (300 V AC type); to 300 (600 V AC type)": the first range is the one that always holds.
        printed = [float(x) for x in re.findall(r"\d+", re.sub(r"\([^)]*\)", "", volts).split(";")[0])] or [0.0]
        mine = [x or 0.0 for x in (ours["voltage_least"], ours["voltage_most"], ours["breaking_least"], ours["breaking_most"])]
        if not all(_same(a, b) for a, b in zip(mine, (printed[0], printed[-1], low * 1000.0, high * 1000.0), strict=True)):
            faults.append(f"dc_fuse_families {family}: ours {mine}, published {printed} {low} {high}")
        if ours["full_range"] != ("yes" if full else "no"):
            faults.append(f"dc_fuse_families {family}: full range")
    return faults


def _gpv(published: dict[str, Any]) -> list[str]:
    said = [row[1] for row in published["rows"]]
    wanted = [said[0], said[1], said[5]]
    return [f"gpv: ours {r['value']}, published {w}" for r, w in zip(table("gpv").rows, wanted, strict=True) if not _same(r["value"], w)]


def _to_20(published: dict[str, Any]) -> list[str]:
    """The annex's factors are those of our formula at its own coefficient, as they are printed."""
    pairs = [(t, k, 1 / resistance.temperature_factor(0.004, t + C0)) for t, k in published["rows"]]
    return [f"iec60228_temp_corr {t}: ours {ours}, published {k}" for t, k, ours in pairs if abs(ours - k) > 0.0006]


def _solid(published: dict[str, Any]) -> list[str]:
    """Gauges by ASTM B258, and their resistance from the resistivity of copper."""
    copper = table("metals").row("metal", "copper") or {}
    rho, faults = copper["resistivity"], []
    assert isinstance(rho, float)
    for gauge, inches, _, area, ohms in published["rows"]:
        ours = (gauge_diameter(gauge) / (FT / 12), gauge_area(gauge) / MM2, rho / gauge_area(gauge) * KFT)
        if not all(math.isclose(a, b, rel_tol=1e-3) for a, b in zip(ours, (inches, area, ohms), strict=True)):
            faults.append(f"awg_solid_20c {gauge}: ours {ours}")
    return faults


def _trips(published: dict[str, Any]) -> list[str]:
    faults = []
    for rating, *printed in published["rows"]:
        ours = [protection.sure_trip(rating, trip_multiple(curve).value) for curve in "BCD"]
        if not all(_same(a, float(b)) for a, b in zip(ours, printed, strict=True)):
            faults.append(f"breaker_fault_need {rating}: ours {ours}, published {printed}")
    return faults


def _reels(published: dict[str, Any]) -> list[str]:
    market = {"US": "us", "Europe": "metric"}
    wanted = {(market[m], round(x * (FT if u == "ft" else 1), 6)) for m, x, u, *_ in published["rows"] if m in market}
    ours = {(r["market"], round(float(r["length"] or 0), 6)) for r in table("reel_lengths").rows}
    return [f"reel_lengths {x}" for x in wanted ^ ours]


CUSTOM: dict[str, Callable[[dict[str, Any]], list[str]]] = {
    "derated_b2_pvc3_40c": _forty("B2"),
    "derated_c_pvc3_40c": _forty("C"),
    "conv_currents": _conv_currents,
    "k_factors": _k_factors,
    "k2s2": _k2s2,
    "pe_min_iec": _pe_rule,
    "pe_min_examples": _pe_examples,
    "main_bonding": _main_bonding,
    "annexg_constants": _annexg,
    "dc_fuse_families": _dc_families,
    "gpv_sizing": _gpv,
    "iec60228_temp_corr": _to_20,
    "awg_solid_20c": _solid,
    "breaker_fault_need": _trips,
    "reel_lengths": _reels,
}


# Usual short-circuit capacities, kA: IEC 60898-1 5.3.5 and IEC 60947-2; UL 489 and UL 248; all from memory.
BREAKING = {
    ("iec", "breaker"): (6, 10, 15, 20, 25, 36, 50, 70, 100, 150, 200),
    ("iec", "fuse"): (10, 20, 25, 50, 100, 200),
    ("nec", "breaker"): (5, 10, 14, 18, 22, 25, 35, 42, 50, 65, 100, 150, 200),
    ("nec", "fuse"): (10, 20, 50, 100, 200),
}


# IEC 60364-5-52 annex D, I = A S^m, as coded for PN-HD 60364-5-52 in a public repository (AdamDresler/Current_carrying_capacity): metal,
# insulation, loaded conductors, method: up to this area [mm2] these A and m. (It begins the second piece of A2 at 120 mm2, where the printed figure is the first one's.)
ANNEX_D: dict[tuple[str, str, int, str], tuple[tuple[float, float, float], ...]] = {
    ("copper", "pvc", 2, "A1"): ((300, 11.2, 0.6118),),
    ("copper", "pvc", 3, "A1"): ((300, 10.4, 0.605),),
    ("copper", "xlpe", 2, "A1"): ((300, 14.9, 0.611),),
    ("copper", "xlpe", 3, "A1"): ((300, 13.34, 0.611),),
    ("copper", "pvc", 2, "A2"): ((120, 10.8, 0.6015), (300, 10.19, 0.6118)),
    ("aluminium", "pvc", 2, "A1"): ((300, 8.61, 0.616),),
    ("aluminium", "pvc", 3, "A1"): ((300, 7.94, 0.612),),
    ("aluminium", "xlpe", 2, "A1"): ((300, 11.6, 0.615),),
    ("aluminium", "xlpe", 3, "A1"): ((300, 10.9, 0.605),),
    ("aluminium", "pvc", 2, "A2"): ((120, 8.361, 0.6025), (300, 7.84, 0.616)),
}


def annex_d_faults() -> Iterator[str]:
    """Columns that are not their formula within a step of rounding: half an ampere up to 20 A, else a whole one. 50 mm2 counts 47.5 (from memory)."""
    for (metal, insulation, loaded, method), pieces in ANNEX_D.items():
        for row in table(f"iec_{metal}_{insulation}_{loaded}").rows:
            ours, area = float(row[method] or 0), float(row["area"] or 0) / MM2
            a, m = next((a, m) for most, a, m in pieces if area <= most * 1.001)
            law = a * (47.5 if round(area) == 50 else area) ** m
            if abs(ours - law) > (0.5 if law < 20 else 1.0):
                yield f"{metal} {insulation} {loaded} {method} {area:g} mm2: ours {ours}, annex D {law:.1f}"


# --- laws that the tables without a published twin must obey ---


def law_faults() -> Iterator[str]:
    """Tables recalled from memory, held against physics, preferred numbers or the formula of their standard."""
    yield from annex_d_faults()
    end = table("nec_ch9_t8").row("size", "4/0 AWG") or {}
    for row in table("nec_ch9_t8_kcmil").rows:
        kcmil = float(str(row["size"]).split()[0])
        if not math.isclose(float(row["area"] or 0), kcmil * 1000 * CMIL, rel_tol=1e-4):
            yield f"nec_ch9_t8_kcmil {row['size']}: area"
        for metal in ("copper", "aluminium"):
            if not math.isclose(float(row[metal] or 0) * kcmil, float(end[metal] or 0) * 211.6, rel_tol=0.01):
                yield f"nec_ch9_t8_kcmil {row['size']} {metal}: not in proportion to 4/0 AWG"
    for row in table("nec_ch9_t8").rows:
        if not math.isclose(float(row["area"] or 0), gauge_area(str(row["size"]).split()[0]), rel_tol=1e-3):
            yield f"nec_ch9_t8 {row['size']}: area is not that of ASTM B258"
    for row in table("iec_ground").rows:
        for insulation, limit in (("pvc", 343.15), ("xlpe", 363.15)):
            factor, air = row[insulation], row["ambient"]
            assert isinstance(air, float)
            if isinstance(factor, float) and abs(conductors.ambient_factor(limit, air, 293.15) - factor) > 0.012:
                yield f"iec_ground {air} {insulation}: far from the square root of the temperature rises"
    for row in table("nec_adjustment").rows[:-1]:
        following = table("nec_adjustment").rows[table("nec_adjustment").rows.index(row) + 1]["least"]
        if not _same(row["most"], float(following or 0) - 1):
            yield "nec_adjustment: a gap between the rows"
    for step, rating in enumerate(table("iec60947_ratings").figures("rating"), 22):
        if not math.isclose(rating, 10 ** (step / 10), rel_tol=0.015):
            yield f"iec60947_ratings {rating}: not the next preferred number of the series R10 (ISO 3)"
    for row, (metal, a, b) in zip(table("nec_adiabatic").rows, (("copper", 0.0297, 234.0), ("aluminium", 0.0125, 228.0)), strict=True):
        for insulation, start, end_temperature in (("pvc", 75, 150), ("xlpe", 90, 250)):
            # ICEA P-32-382, from memory: I2 t = a A2 log((T2 + b) / (T1 + b)), A in circular mils.
            k = (a * math.log10((end_temperature + b) / (start + b))) ** 0.5 / CMIL
            if row["metal"] != metal or not math.isclose(float(row[insulation] or 0), k, rel_tol=0.002):
                yield f"nec_adiabatic {metal} {insulation}: not that of the equation"
    for kind, wanted in BREAKING.items():
        rows = [float(r["capacity"] or 0) / 1000 for r in table("breaking_capacities").rows if (r["rules"], r["device"]) == kind]
        if rows != list(wanted):
            yield f"breaking_capacities {kind}: {rows}"
    # NFPA 70 (NEC) 240.6(A), last sentence, from memory.
    if table("nec_240_6_fuses").figures("rating") != (1.0, 3.0, 6.0, 601.0):
        yield "nec_240_6_fuses"
    aluminium = ("12", "10", "8", "6", "4", "2", "1", "1/0", "2/0", "3/0", "4/0", "250", "350", "400")
    if tuple(r["aluminium"] for r in table("nec_250_122").rows) != tuple(awg(a).label for a in aluminium):
        yield "nec_250_122 aluminium"  # NFPA 70 (NEC) table 250.122, from memory
    if [r["aluminium"] for r in table("nec_240_4d").rows] != [None, 15.0, 25.0]:
        yield "nec_240_4d aluminium"  # as the note to the copper rows has it
    # IEC 60364-5-54:2011 543.1.3: 16 mm2 of aluminium, whether or not it is protected; from memory.
    if not all(_same(r["aluminium"], 16 * MM2) for r in table("iec_protective_least").rows):
        yield "iec_protective_least aluminium"
    # NFPA 70 (NEC) 250.166(B), not smaller than 8 AWG of copper or 6 AWG of aluminium; 250.168, not above 3/0 AWG or 250 kcmil.
    if [tuple(r.values()) for r in table("nec_250_166").rows] != [("copper", "8 AWG", "3/0 AWG"), ("aluminium", "6 AWG", "250 kcmil")]:
        yield "nec_250_166"
    yield from _system_jumper()
    # IEC 60269-1 and 60898-1 have no rating below which their conventional currents do not hold.
    if any(min(r["above"] for r in table("conventional_currents").rows if r["device"] == device) != 0 for device in ("fuse", "breaker", "moulded-case breaker")):  # type: ignore[type-var]
        yield "conventional_currents above"


def _system_jumper() -> Iterator[str]:
    """NFPA 70 (NEC) table 250.102(C)(1), from memory; its copper steps are those of table 250.66, found in a text copy of the code."""
    *rows, beyond = table("nec_250_102").rows
    lines = [("2", "1/0"), ("1/0", "3/0"), ("3/0", 250), (350, 500), (600, 900), (1100, 1750)]
    jumpers = [("8", "6"), ("6", "4"), ("4", "2"), ("2", "1/0"), ("1/0", "3/0"), ("2/0", "4/0")]
    for row, ends, sizes_ in zip(rows, lines, jumpers, strict=True):
        areas = [end * 1000 * CMIL if isinstance(end, int) else awg(end).area for end in ends]
        ours = (row["copper_lines"], row["aluminium_lines"])
        if not all(isinstance(cell, float) and math.isclose(cell, area, rel_tol=1e-3) for cell, area in zip(ours, areas, strict=True)):
            yield f"nec_250_102 {ends}"
        if (row["copper"], row["aluminium"]) != tuple(awg(size).label for size in sizes_):
            yield f"nec_250_102 {sizes_}"
    if beyond["share"] != 0.125:
        yield "nec_250_102 share"


def judge() -> list[str]:
    """Every disagreement between our tables and formulas and what is published."""
    faults = [f for t in PUBLISHED["table"] for f in table_faults(t)]
    faults += [f for c in PUBLISHED["check"] for f in check_faults(c)]
    return faults + list(law_faults())


def forget() -> None:
    """Drop what was remembered of the tables."""
    from engine.tables import ratings
    from engine.tables import sizes as sizes_module

    for cached in (sizes, sizes_module._by_label, standard_ratings, ratings._all):
        cached.cache_clear()
