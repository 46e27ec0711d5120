"""Plausible sites over the whole space: each planned by the commands, held to the second reckoning, its papers well-formed.

Fifty thousand of them are a benchmark's work: `python -m tests.benchmarks.fuzz`.
"""

from __future__ import annotations

import copy
from collections import Counter
from dataclasses import replace
from types import SimpleNamespace

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from engine.files.emit import emit
from engine.files.read import parse
from engine.planner import plan
from engine.sheets.text.layout import cells
from tests.generated.examine import Seen, examine
from tests.generated.oracle import broken, largest_share
from tests.generated.sites import DOCUMENTS, numbers, site, smallest

EXAMPLES = 300
PLANNABLE = 2 / 3  # at least so many plan without a stop


def test_plausible_sites_hold_what_was_published(tmp_path):
    """The numbers are the same at every run. A failure is named by its number, and told by the smallest file that fails so."""
    seen: dict[int, Seen] = {}

    @settings(max_examples=EXAMPLES, derandomize=True, database=None, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
    @given(numbers)
    def each(number):
        most = 1 + number % 2  # units on a phase: larger sets are the benchmark's
        # That a plan of the plan is the same, and that `check` says so, costs two more: every tenth site shows it.
        seen[number] = found = examine(site(number, most), tmp_path, again=len(seen) % 10 == 0)
        if found.broken:
            one = found.broken[0]
            small = smallest(site(number, most), lambda document: one.kind in examine(document, tmp_path).kinds)
            pytest.fail(f"site({number}, {most}): {one.kind}: {one.text}\n{emit(small)}")

    each()
    standings = Counter(one.standing for one in seen.values())
    assert len(seen) == EXAMPLES
    assert standings["ready"] + standings["cautions"] >= PLANNABLE * EXAMPLES, standings


def test_a_site_is_of_its_number():
    assert site(7) == site(7) != site(8)


def test_a_failure_is_made_small():
    """All that is left is what it takes."""
    small = smallest(site(3), lambda document: "rules" in document.get("site", {}) and "unit" in document)
    assert small == {"schema": 1, "site": {"rules": small["site"]["rules"]}, "unit": {}}


# --- the second reckoning sees what is wrong ---


def _sample(name):
    read = parse(emit(DOCUMENTS[name]).encode(), name)
    return read.answers, plan(read.answers, read.revision)


def _kinds(answers, planned):
    return {one.kind for one in broken(answers, planned)}


def _circuit(name, **other):
    return lambda plan: replace(plan, circuits=[replace(row, **other) if row.name == name else row for row in plan.circuits])


def _device(name, **other):
    return lambda plan: replace(plan, circuits=[replace(row, device=replace(row.device, **other)) if row.name == name else row for row in plan.circuits])


def _rows(table, **other):
    return lambda plan: replace(plan, **{table: [replace(row, **other) for row in getattr(plan, table)]})


def _chain(**other):
    return lambda plan: replace(plan, chain=replace(plan.chain, **other))


def _links(**other):
    return lambda plan: replace(plan, chain=replace(plan.chain, links=[replace(link, **other) for link in plan.chain.links]))


def _terminators(**other):
    return lambda plan: replace(plan, chain=replace(plan.chain, terminators=[replace(end, **other) for end in plan.chain.terminators]))


@pytest.mark.parametrize(("name", "change", "kind"), [
    ("alder-farm", _circuit("battery L1-1", conductor="16 mm2"), "Iz < In"),
    ("alder-farm", _circuit("battery L1-1", conductor="16 mm2"), "1.45 Iz < I2"),
    ("alder-farm", _circuit("battery L1-1", conductor="16 mm2"), "terminal too hot"),
    ("alder-farm", _circuit("battery L1-1", conductor="2.5 mm2"), "k2 S2 < I2t"),
    ("alder-farm", _circuit("battery L1-1", conductor="2.5 mm2"), "k2 S2 < I2t of the far fault"),
    ("alder-farm", _circuit("battery L1-1", conductor="16 mm2"), "like circuits differ"),
    ("alder-farm", _circuit("battery L1-1", length="100 m"), "fault does not open the fuse"),
    ("alder-farm", _circuit("battery L1-1", length="20 m"), "drop > limit"),
    ("alder-farm", _circuit("battery L1-1", drop="0.1 %"), "drop differs"),
    ("alder-farm", _circuit("battery L1-1", drop=None, length=None), "drop not reckoned"),
    ("alder-farm", _circuit("battery L1-1", current="100 A"), "Ib too small"),
    ("alder-farm", _circuit("battery L1-1", conductor=None), "no conductor"),
    ("alder-farm", _device("battery L1-1", rating="100 A"), "In < Ib"),
    ("alder-farm", _device("battery L1-1", rating="80 A"), "fuse below surge"),
    ("alder-farm", _device("battery L1-1", rating="800 A"), "let-through unknown"),
    ("alder-farm", _device("battery L1-1", rating=None), "no rating"),
    ("alder-farm", _device("battery L1-1", breaking="10 kA"), "breaking < fault"),
    ("alder-farm", _device("load L1-1", breaking="1 kA"), "breaking < fault"),
    ("alder-farm", _device("incoming L1-1", rating="63 A"), "device above the transfer relay"),
    ("alder-farm", _circuit("load common", neutral="1.5 mm2"), "neutral smaller than its lines"),
    ("alder-farm", _circuit("earth L1-1", conductor="6 mm2"), "earth below table 54.2"),
    ("alder-farm", _circuit("earth L1-1", conductor="2.5 mm2"), "earth burns before its fuse"),
    ("alder-farm", _circuit("earth L1-1", conductor=None), "no earth"),
    ("alder-farm", _rows("banks", charge_limit="301 A"), "bank charged above its modules"),
    ("alder-farm", _rows("units", charge_limit="81 A"), "unit's charge limit"),
    ("alder-farm", _rows("banks", charge_limit="100 A"), "units charge above their bank"),
    ("alder-farm", _rows("banks", units=["L1-1"]), "unit on no bank, or on two"),
    ("alder-farm", _rows("units", storage_mode="separate"), "storage mode"),
    ("alder-farm", _rows("loads", on=[0, 0, 0]), "load not placed"),
    ("alder-farm", _rows("phases", power="1 kW"), "sum of a phase"),
    ("alder-farm", _rows("phases", surge="1 A"), "sum of a phase"),
    ("alder-farm", _rows("units", incoming_limit="41 A"), "unit passes too much"),
    ("harbour-works", _rows("units", incoming_limit="36 A"), "phase takes too much"),
    ("alder-farm", lambda plan: replace(plan, solar=replace(plan.solar, cold_voc="400 V")), "cold Voc differs"),
    ("alder-farm", _chain(order=["L1-1", "L2-1"]), "chain leaves units out"),
    ("alder-farm", _chain(order=["L3-1", "L2-1", "L1-1"]), "chain does not begin at the lead"),
    ("alder-farm", _links(from_="L1-1"), "links do not join neighbours"),
    ("alder-farm", _links(from_port="plug", to_port="plug"), "port used twice"),
    ("alder-farm", _links(length=None), "link without length"),
    ("alder-farm", _links(stock=None), "link without stock"),
    ("alder-farm", _links(stock="0.5 m"), "link of no stock length"),
    ("alder-farm", _links(stock="30 m"), "bus too long"),
    ("alder-farm", _chain(terminators=[]), "terminators"),
    ("alder-farm", _terminators(kind="socket", port="socket"), "terminator does not fit"),
    ("alder-farm", lambda plan: replace(plan, units=[*plan.units[:2], replace(plan.units[2], phase="L1")]), "phase without unit"),
    ("copper-creek", _circuit("battery L1-1", conductor="6 AWG"), "Iz < Ib"),
    ("copper-creek", _circuit("battery L1-1", conductor="6 AWG"), "table < 1.25 Ib"),
    ("copper-creek", _circuit("battery L1-1", conductor="6 AWG"), "In above what 240.4 allows"),
    ("copper-creek", _circuit("battery L1-1", conductor="6 AWG"), "terminal too hot"),
    ("copper-creek", _circuit("earth L1-1", conductor="14 AWG"), "earth below 250.122"),
])  # fmt: skip
def test_the_second_reckoning_sees_it(name, change, kind):
    answers, planned = _sample(name)
    assert kind not in _kinds(answers, planned)
    assert kind in _kinds(answers, SimpleNamespace(plan=change(planned.plan), parts=planned.parts))


@pytest.mark.parametrize(("key", "value", "kind"), [
    (("storage", "fuse_factor"), 0.5, "fuse too warm"),
    (("loads", 0, "third_harmonic"), "95 %", "neutral too hot"),
    (("unit", "apparent_power"), "1 kVA", "phase overloaded"),
    (("unit", "surge_power"), "2 kVA", "start above surge"),
    (("storage", "module", "discharge_current"), "10 A", "bank drained above its modules"),
    (("unit", "solar", "voltage_max"), "300 V", "cold Voc above the limit"),
    (("unit", "solar", "mppt_min"), "400 V", "hot Vmp below the window"),
    (("unit", "solar", "short_circuit_max"), "5 A", "tracker above its short circuit"),
    (("unit", "max_units"), 2, "too many units"),
    (("incoming", "prospective_fault"), "100 kA", "k2 S2 < I2t"),
])  # fmt: skip
def test_the_second_reckoning_sees_a_plan_of_other_answers(key, value, kind):
    answers, planned = _sample("alder-farm")
    assert kind not in _kinds(answers, planned)
    other = copy.deepcopy(DOCUMENTS["alder-farm"])
    node = other
    for step in key[:-1]:
        node = node[step]
    node[key[-1]] = value
    assert kind in _kinds(parse(emit(other).encode(), "other").answers, planned)


def test_shares_by_hand():
    """Two strings of 1 mohm fed at one end, joints of 0.5 mohm: the far one sees 1 + 2 x 0.5 = 2 mohm, so two thirds go to the near one.

    Fed diagonally each sees one joint: they share evenly. So do strings on a bar.
    """
    assert largest_share(2, 1e-3, 0.5e-3, "one end") == pytest.approx(2 / 3)
    assert largest_share(2, 1e-3, 0.5e-3, "diagonal") == pytest.approx(1 / 2)
    assert largest_share(3, 1e-3, 0.5e-3, "bar") == pytest.approx(1 / 3)
    # Three strings diagonally, by symmetry i1 = i3: the middle one lies behind 1 joint twice, the outer ones behind 2 of one row:
    # i1 - i2 = 0.5 (i2 + i3 - i1) = 0.5 i2, so i1 = 1.5 i2 and the outer ones carry 1.5 / 4 each.
    assert largest_share(3, 1e-3, 0.5e-3, "diagonal") == pytest.approx(1.5 / 4)


def test_a_mark_that_takes_room_is_counted():
    """The Batak killer is a spacing mark that terminals draw in a column of its own, though Unicode lets it combine."""
    assert cells("a\u1bf3") == 2
    assert cells("e\u0301") == 1
