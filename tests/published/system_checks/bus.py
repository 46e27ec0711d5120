"""The data bus, and its distance from power."""

from __future__ import annotations

from engine.formulas import bus, lengths, segregation
from tests.published.formulas import buses
from tests.published.tables import table

KBIT = 1e3
MM = 1e-3


def _two():
    """What may be read with the two terminators of a chain in."""
    return next(row for row in table("bus_windows").rows if row["terminators"] == 2)


def verdict(reading):
    rows = [row for row in (*table("bus_readings").rows, {**_two(), "verdict": "ok"}) if row["least"] <= reading <= row["most"]]
    return rows[0]["verdict"] if rows else "unknown"


def terminators(given):
    count = given["terminators_120_ohm"]
    reading = bus.terminated_resistance(120.0, count)
    assert buses.terminators_read(reading, 120.0) == count
    return {"verdict": verdict(reading), "reading_ohm": reading}


def window(given):
    row = _two()
    assert all(row["least"] <= reading <= row["most"] for reading in given["reading_ohm"])
    return {"accept_low_ohm": row["least"], "accept_high_ohm": row["most"]}


def unit_load(given):
    loads = given["max_unit_loads"]
    return {
        "parallel_ohm": buses.node_load(given["unit_load_kohm"] * 1e3, loads),
        "nodes_at_1_8_ul": buses.most_nodes(loads, 1 / 8),
        "nodes_at_1_8_ul_with_failsafe_20_ul": buses.most_nodes(loads, 1 / 8, 20.0),
    }


def fractions(given):
    loads = given["max_unit_loads"]
    return {
        "nodes_at_1_2_ul": buses.most_nodes(loads, 1 / 2),
        "nodes_at_1_4_ul": buses.most_nodes(loads, 1 / 4),
        "nodes_at_1_4_ul_with_failsafe": buses.most_nodes(loads, 1 / 4, given["failsafe_ul"]),
    }


def standard_can(given):
    row = table("can_standard").row("bit_rate", given["bit_rate_kbit_s"] * KBIT)
    return {"max_bus_m": row["bus"], "max_stub_m": row["stub"]}


def tap(given):
    [row] = table("rs485_limits").rows
    return {"max_single_tap_m": row["single_tap"], "max_each_m": bus.shared_tap(row["single_tap"], row["shared_taps"], given["taps_on_one_box"])}


def chain(given):
    links = buses.links(given["units"])
    ends = [1, given["units"]]
    return {"links": links, "terminators": len(ends), "terminators_at": ends, "bus_m": lengths.total_length([given["link_m"]] * int(links))}


def shapes(given):
    rows = {row["topology"]: row["allowed"] == "yes" for row in table("bus_topologies").rows}
    return {"allowed": [rows[shape] for shape in given["topologies"]]}


def edition_2000(given):
    [row] = [r for r in table("en50174_2_2000").rows if (r["power"], r["data"]) == (given["power"], given["data"])]
    return {"separation_mm": row[given["divider"]] / MM}


def factor(circuits):
    return next(row["factor"] for row in table("en50174_2_p").rows if row["least"] <= circuits and (row["most"] is None or circuits <= row["most"]))


def class_b(given):
    base = table("en50174_2_s").row("class", given["data_class"])["none"]
    part = factor(segregation.circuit_count(20.0, 1, given["circuits_20a_single_phase"]))
    return {"s_mm": base / MM, "factor": part, "separation_mm": segregation.separation(base, part) / MM}


def three_phase(given):
    circuits = segregation.circuit_count(given["rated_a"], 3, given["three_phase_circuits"])
    return {"equivalent_20a_single_phase": circuits, "factor": factor(circuits)}


def levels(given):
    wanted = (given["data_level"], given["power_level"], given["pathways"])
    [row] = [r for r in table("ieee518").rows if (r["data_level"], r["power_level"], r["ways"]) == wanted]
    return {"spacing_mm": row["spacing"] / MM, "spacing_in": round(row["spacing"] / 0.0254)}


def tia(given):
    row = table("tia569").row("way", given["pathway"])
    return {"spacing_in": row["spacing"] / 0.0254, "spacing_mm": row["spacing"] / MM}


CALLS = {
    "bus-term-two": terminators,
    "bus-term-one": terminators,
    "bus-term-three": terminators,
    "bus-term-window": window,
    "bus-unit-load": unit_load,
    "bus-unit-load-fractions": fractions,
    "bus-stub-50ns": lambda g: {"max_stub_m": buses.longest_stub(g["rise_time_ns"] * 1e-9, g["velocity_fraction"])},
    "bus-can-250k": lambda g: {"max_bus_m": table("can_lengths").row("bit_rate", g["bit_rate_kbit_s"] * KBIT)["bus"]},
    "bus-can-1m-iso": standard_can,
    "bus-modbus-tap": tap,
    "bus-485-length": lambda g: {"max_bus_m": bus.longest_rs485(g["bit_rate_kbit_s"] * KBIT)},
    "bus-chain-2": chain,
    "bus-chain-6": chain,
    "bus-chain-9": chain,
    "bus-topology-verdicts": shapes,
    "seg-2000-unscreened": edition_2000,
    "seg-2009-utp-9-circuits": class_b,
    "seg-2009-three-phase-40a": three_phase,
    "seg-ieee518-tray": levels,
    "seg-ieee518-conduit": levels,
    "seg-tia569-open": tia,
    "seg-tia569-metal": tia,
}
