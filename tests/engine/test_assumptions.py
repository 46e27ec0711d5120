"""Every assumed value stands in a table and decides: a change of its row changes the plan of some site, and it is listed there."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from engine import facts
from engine.plan import plain
from engine.stages.conductors.earths import Live, with_circuit
from engine.stages.conductors.task import Candidate, Way
from engine.tables import earth, machines, table
from engine.tables.sizes import read_size

from .paper_sites import SOLAR, planned, set_of

LOAD = {"name": "Saw", "power": "1 kW"}
DAY = {"loads": [{**LOAD, "energy": "20 kWh/day"}]}
SUN = SOLAR | {"site.roof_min": "-10 degC"}
NEC = {"site.rules": "nec"}
COOL = {"site.ambient_max": "30 degC", "routes": [{"carries": "incoming", "grouped": 1}]}
LEAD = {"storage.chemistry": "flooded", "storage.module.voltage": "48 V", "storage.module.cells": 24, "storage.module.absorption": "58 V", "storage.module.low": "44 V"}
GENERATOR = {"incoming.kind": "generator", "incoming.rating": "12 kVA"}

# The row, by key and circumstance; what a plan says that it took; another value; what the small site has changed, and what it must not answer.
# What is taken is common practice, no source, but for: 230 V and 50 Hz, IEC 60038; 60 degC, NEC 110.14(C)(1)(a), 70 degC, IEC 60364-5-52 523;
# 0.8 of circuits, IEC 60364-5-52 annex G; 6 times, a cage motor started direct (IEC 60034-12); 20 h, the rated time of IEC 60896; lengths, sizes and shares are our own.
ROWS: dict[tuple[str, str], tuple[str, str, dict[str, Any], tuple[str, ...]]] = {
    ("site.rules", ""): ("iec", "nec", {}, ("site.rules",)),
    ("site.ambient_max", ""): ("40 degC", "60 degC", {}, ()),
    ("output.voltage", "rules=nec"): ("120 V", "127 V", NEC, ("output.voltage",)),
    ("output.voltage", ""): ("230 V", "220 V", {}, ("output.voltage",)),
    ("output.frequency", "rules=nec"): ("60 Hz", "50 Hz", NEC, ("output.frequency",)),
    ("output.frequency", ""): ("50 Hz", "60 Hz", {}, ("output.frequency",)),
    ("incoming.kind", ""): ("utility", "none", {}, ("incoming.kind",)),
    ("set.spare", ""): ("0", "1", {"loads": [{**LOAD, "power": "4 kW", "phase": "L1"}]}, ()),
    ("set.lead", ""): ("L1-1", "L2-1", {}, ("set.lead",)),
    ("set.lead_loss", ""): ("stops", "carries on", {}, ()),
    ("set.phase_loss", ""): ("stops", "carries on", {}, ()),
    ("unit.efficiency", ""): ("90 %", "80 %", {}, ("unit.efficiency",)),
    ("unit.ripple", ""): ("100 %", "0.2", {}, ()),
    ("unit.dc_capacitance", ""): ("30 mF", "60 mF", {}, ()),
    ("unit.surge_time", ""): ("5 s", "20 s", {}, ()),
    ("unit.settle_time", ""): ("10 s", "30 s", {}, ("unit.settle_time",)),
    ("unit.terminal_temperature", "rules=nec"): ("60 degC", "75 degC", NEC | COOL | {"unit.transfer_current": "60 A"}, ()),
    ("unit.terminal_temperature", ""): ("70 degC", "45 degC", {}, ()),
    ("unit.width", ""): ("0.45 m", "0.8 m", {}, ()),
    ("unit.height", ""): ("0.6 m", "0.9 m", {}, ()),
    ("unit.clearance", ""): ("0.2 m", "0.5 m", {}, ()),
    ("loads[].quantity", ""): ("1", "3", {"loads": [LOAD]}, ()),
    ("loads[].phase", ""): ("any", "L3", {"loads": [LOAD]}, ()),
    ("loads[].power_factor", "apparent power alone"): ("1", "0.5", {"loads": [{"name": "Saw", "apparent_power": "1 kVA"}]}, ()),
    ("loads[].power_factor", ""): ("0.8", "0.6", {"loads": [LOAD]}, ()),
    ("loads[].demand", ""): ("100 %", "0.5", {"loads": [LOAD]}, ()),
    ("loads[].motor", ""): ("no", "yes", {"loads": [LOAD]}, ()),
    ("loads[].start_multiple", "motor"): ("6", "3", {"loads": [{**LOAD, "motor": True}]}, ()),
    ("loads[].start_multiple", ""): ("1", "2", {"loads": [LOAD]}, ()),
    ("loads[].third_harmonic", ""): ("0 %", "50 %", {"loads": [{**LOAD, "phase": "L1"}]}, ()),
    ("loads[].profile", ""): ("steady", "night", DAY, ()),
    ("storage.managed", ""): ("no", "yes", {}, ("storage.managed",)),
    ("storage.depth", "chemistry=lead"): ("50 %", "30 %", LEAD, ()),
    ("storage.depth", ""): ("80 %", "50 %", {}, ()),
    ("storage.bank.series", ""): ("1", "2", {}, ("storage.bank.series",)),
    ("storage.bank.parallel", ""): ("1", "2", {}, ("storage.bank.parallel",)),
    ("storage.bank.feed", ""): ("one end", "bar", {}, ()),
    ("storage.bank.joint_resistance", ""): ("0.2 mohm", "2 mohm", {}, ()),
    ("storage.holder", ""): ("cabled", "on the bar", {}, ()),
    ("storage.module.resistance_measured", ""): ("no", "yes", {}, ()),
    ("solar.trackers", "solar"): ("1", "2", {k: v for k, v in SUN.items() if k != "solar.trackers"}, ()),
    ("solar.parallel", "solar"): ("1", "2", {k: v for k, v in SUN.items() if k != "solar.parallel"}, ()),
    ("routes[earth].lane", ""): ("0.15 m", "0.2 m", {}, ()),
    ("routes[battery].lane", ""): ("0.3 m", "0.5 m", {}, ()),
    ("routes[comms].lane", ""): ("0.95 m", "0.3 m", {}, ()),
    ("routes[solar].lane", ""): ("1.95 m", "1.8 m", SUN, ()),
    ("routes[load].lane", ""): ("2.1 m", "2.2 m", {}, ()),
    ("routes[incoming].lane", ""): ("2.25 m", "2.35 m", {}, ()),
    ("routes[].method", ""): ("B2", "A1", {}, ()),
    ("routes[].insulation", ""): ("pvc", "xlpe", {}, ()),
    ("routes[].metal", ""): ("copper", "aluminium", {}, ()),
    ("routes[].extra", ""): ("0.5 m", "1.5 m", {}, ()),
    ("drop.battery", ""): ("2 %", "0.1 %", {}, ()),
    ("drop.bar", ""): ("1 %", "0.1 %", {"routes": [{"carries": "battery", "to": "B1", "length": "10 m"}]}, ()),
    ("drop.load", ""): ("1 %", "0.1 %", {}, ()),
    ("drop.incoming", ""): ("1 %", "0.1 %", {}, ()),
    ("drop.solar", ""): ("2 %", "0.05 %", SUN, ()),
    ("wall.width", ""): ("4 m", "7 m", {}, ()),
    ("wall.height", ""): ("2.4 m", "4 m", set_of(9), ()),
    ("plan.terminal_temperature", "rules=nec"): ("60 degC", "75 degC", NEC | COOL | {"incoming.breaker": "60 A"}, ()),
    ("plan.terminal_temperature", ""): ("70 degC", "45 degC", {}, ()),
    ("plan.power_factor", ""): ("0.8", "0.4", {}, ()),
    ("plan.storage.stated_share", ""): ("50 %", "100 %", {}, ()),
    ("plan.storage.rated_time", ""): ("20 h", "100 h", LEAD, ()),
    ("plan.incoming.charger_power_factor", ""): ("0.95", "0.4", {"incoming.breaker": "16 A", **DAY}, ()),
    ("plan.incoming.generator_share", ""): ("80 %", "50 %", GENERATOR, ()),
    ("plan.incoming.paralleled_share", ""): ("90 %", "50 %", set_of(2), ()),
    ("plan.solar.cell_hot", ""): ("70 degC", "60 degC", SUN, ()),
    ("plan.solar.vmp_coefficient", ""): ("-0.5 %/K", "-0.4 %/K", {k: v for k, v in SUN.items() if k != "solar.vmp_coefficient"}, ()),
    ("plan.solar.cold_slope", ""): ("0.5 %/K", "1 %/K", {k: v for k, v in SUN.items() if k != "solar.voc_coefficient"} | {"site.roof_min": "-55 degC"}, ()),
    ("plan.solar.performance", ""): ("75 %", "50 %", SUN | DAY | {"solar.sun_hours": 2.0}, ()),
    ("plan.hours.sunrise", "sun<=4"): ("8 h", "9 h", SUN | DAY | {"solar.sun_hours": 2.0}, ()),
    ("plan.hours.sunrise", ""): ("6 h", "5 h", SUN | DAY | {"solar.sun_hours": 5.0}, ()),
    ("plan.hours.sunset", "sun<=4"): ("16 h", "15 h", SUN | DAY | {"solar.sun_hours": 2.0}, ()),
    ("plan.hours.sunset", ""): ("18 h", "19 h", SUN | DAY | {"solar.sun_hours": 5.0}, ()),
    ("plan.bill.allowance", ""): ("10 %", "30 %", {}, ()),
    ("plan.bill.piece", ""): ("0.3 m", "0.8 m", {}, ()),
    ("plan.hours.generator_until", ""): ("90 %", "50 %", GENERATOR | {"loads": [{**LOAD, "energy": "90 kWh/day"}]}, ()),
}


def row_of(row) -> tuple[str, str]:
    return row["key"], row["when"] or ""


@pytest.fixture
def take(monkeypatch):
    """A function: from now on another value stands in one row of a table of assumptions."""

    def other(name: str, key: tuple[str, str], value: str) -> None:
        whole = table(name)
        rows = tuple({**row, "value": value} if row_of(row) == key else row for row in whole.rows)
        assert rows != whole.rows
        monkeypatch.setattr(facts, "table", lambda asked: replace(whole, rows=rows) if asked == name else table(asked))
        facts._assumptions.cache_clear()

    yield other
    monkeypatch.undo()
    facts._assumptions.cache_clear()


def beside(plan) -> dict[str, Any]:
    """The plan without its list of assumptions, and without the finding that only repeats one."""
    told = plain(replace(plan.plan, assumed=[]))
    told["findings"] = [f for f in told["findings"] if f["code"] != "wall-assumed"]
    return told


def test_every_row_has_its_site() -> None:
    """No row of either table is left out here, and none stands here that is gone."""
    assert set(ROWS) == {row_of(row) for name in ("assumptions", "taken") for row in table(name).rows}


@pytest.mark.parametrize(("name", "row"), [(name, row_of(row)) for name in ("assumptions", "taken") for row in table(name).rows])
def test_no_row_is_dead(name: str, row: tuple[str, str], take) -> None:
    """The plan says what was taken, and that decides something beside the list in which it stands."""
    taken, value, changes, without = ROWS[row]
    before = planned(changes, without=without)
    general = row[0].replace("[]", "")
    listed = {one.value for one in before.plan.assumed if general == (one.key.split("[")[0] + one.key.partition("]")[2] if "[]" in row[0] else one.key)}
    assert listed == {taken}
    take(name, row, value)
    after = planned(changes, without=without)
    assert beside(before) != beside(after)


@pytest.mark.parametrize(
    ("column", "value"),
    [("power", "2 kW"), ("energy", "9 kWh/day"), ("profile", "night"), ("power_factor", "0.5"), ("motor", "no"), ("start_multiple", "9"), ("third_harmonic", "50 %"), ("phase", "L1-L2")],
)
def test_no_cell_of_a_machine_is_dead(column: str, value: str, monkeypatch) -> None:
    """What a machine stands for is listed with its why, and decides something beside the list."""
    found = machines.machine("vehicle charger, three-phase" if column == "phase" else "washing machine")
    site = {"loads": [{"machine": found.name}], "set.count": 3}
    before = planned(site)
    listed = {one.key: (one.value, one.why) for one in before.plan.assumed}
    assert listed[f"loads[{found.name}].{column}"] == (found.stands_for[column], f"usual for a {found.name}")
    other = {**machines._by_name(), found.name: replace(found, stands_for={**found.stands_for, column: value})}
    monkeypatch.setattr(machines, "_by_name", lambda: other)
    assert beside(before) != beside(planned(site))


def test_units_in_parallel_pass_less_by_one_figure(take) -> None:
    """T8: two units of 40 A count 72 A behind a breaker of 80 A, in the caution as in the setting; a row of 100 % takes both away."""
    pair = set_of(2) | {"incoming.breaker": "80 A"}
    before = planned(pair)
    (told,) = [f for f in before.findings if f.code == "breaker-above-transfer"]
    assert "stand: 72 A" in told.text
    assert str(before.parts.limits.incoming["L1-1"]) == "36 A"
    take("taken", ("plan.incoming.paralleled_share", ""), "100 %")
    after = planned(pair)
    assert not [f for f in after.findings if f.code == "breaker-above-transfer"]
    assert str(after.parts.limits.incoming["L1-1"]) == "40 A"


def test_terminals_that_are_marked_are_not_assumed() -> None:
    """A unit's answer decides for its own circuits; bars and boards stay unmarked, and that is listed."""
    marked = planned({"unit.terminal_temperature": "90 degC"})
    listed = {row.key: row.value for row in marked.plan.assumed}
    assert "unit.terminal_temperature" not in listed
    assert listed["plan.terminal_temperature"] == "70 degC"
    of = marked.parts.conductors.of
    assert "unit.terminal_temperature" in {figure.key for _, figure in of["load L1-1"].why.tree()}
    assert "plan.terminal_temperature" in {figure.key for _, figure in of["load common"].why.tree()}


@pytest.mark.parametrize(("row", "line", "cells", "size"), [(0, "10 mm2", {"share": 0.5}, "6 mm2"), (1, "25 mm2", {"area": 25e-6}, "25 mm2"), (2, "95 mm2", {"share": 0.2}, "25 mm2")])
def test_the_cells_of_table_54_2_decide(monkeypatch, row, line, cells, size) -> None:
    """10, 16 and 50 mm2 by the table as it is printed; other cells give another protective conductor."""
    whole, candidate = table("iec_protective"), Candidate(read_size(line), 1)
    live = Live("load L1-1", Way("iec", "copper", "pvc", "C"), 40.0, candidate, candidate)
    assert str(with_circuit(live).size) == ("10 mm2", "16 mm2", "50 mm2")[row]
    rows = tuple(r | cells if at == row else r for at, r in enumerate(whole.rows))
    monkeypatch.setattr(earth, "table", lambda asked: replace(whole, rows=rows) if asked == "iec_protective" else table(asked))
    assert str(with_circuit(live).size) == size
