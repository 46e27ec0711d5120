"""The choice of one conductor: laws it keeps whatever is asked, and worked examples of others gone through it whole."""

from __future__ import annotations

import dataclasses
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.stages.conductors.choose import WORDS, choose, decision, next_smaller
from engine.stages.conductors.task import Clearing, Dropping, Task, candidates
from engine.stages.currents.part import CircuitCurrents
from engine.tables.protection import fuse_let_through
from engine.tables.ratings import BREAKER, FUSE, next_rating_up
from engine.workings import answered, assumed

C0 = 273.15


def figure(value: float, unit: str):
    return answered("test", value, unit)


def task(
    rules="iec", current=50.0, length=5.0, ambient=40.0, grouped=1, method="B2", insulation="pvc", metal="copper", loaded=2, device=BREAKER, energy=None, limit=0.02, factor=None, rating=None, marked=None, source=0.003
) -> Task:
    """A circuit as the stage would put it; under the NEC the current is all continuous."""
    design = figure(current, "A")
    lasting = figure(current * 1.25, "A") if rules == "nec" else design
    rated = rating or next_rating_up(lasting.value, rules, device)
    told = CircuitCurrents(design, lasting, design, design, figure(rated, "A"), None)
    let = energy if energy is not None else (found.value if device == FUSE and (found := fuse_let_through(rated)) else None)
    way = figure(length, "m")
    dropping = Dropping(design, figure(51.2 if device == FUSE else 230.0, "V"), figure(limit, "ratio"), way, (figure(factor, "1"),) if factor else (), 2, None)
    clearing = Clearing(figure(46.0, "V"), figure(source, "ohm"), way, None) if device == FUSE else None
    air = figure(ambient + C0, "K")
    ends = figure(marked + C0, "K") if marked else assumed("test", (60 if rules == "nec" else 70) + C0, "K", "unmarked", "test")
    return Task("test", "test", rules, metal, insulation, method, air, grouped, loaded, loaded, device == FUSE, device, told, ends, dropping, clearing, let, "test", None)


tasks = st.builds(
    task,
    rules=st.sampled_from(["iec", "nec"]),
    current=st.floats(1, 320),
    length=st.floats(0.3, 60),
    ambient=st.floats(-20, 68),
    grouped=st.integers(1, 20),
    method=st.sampled_from(["A1", "A2", "B1", "B2", "C", "D1", "E", "F"]),
    insulation=st.sampled_from(["pvc", "xlpe"]),
    metal=st.sampled_from(["copper", "aluminium"]),
    loaded=st.sampled_from([2, 3]),
    device=st.sampled_from([BREAKER, FUSE]),
    limit=st.floats(0.005, 0.05),
    marked=st.sampled_from([None, 60.0, 75.0, 90.0]),
)


def total(choice):
    return choice.chosen.total if choice.chosen else float("inf")


@settings(max_examples=150, deadline=None)
@given(tasks)
def test_the_chosen_passes_all_and_the_next_smaller_fails_one(asked: Task) -> None:
    choice = choose(asked)
    if choice.place is None:
        assert all(any(r.decides and not r.passes(c) for r in choice.rules) for c in choice.among)
        assert choice.worst
        return
    deciding = [rule for rule in choice.rules if rule.decides]
    assert all(rule.passes(choice.chosen) for rule in deciding)
    assert choice.governed_by in WORDS
    if choice.place == 0:
        assert choice.governed_by == "smallest size"
    else:
        failing = [rule.name for rule in deciding if not rule.passes(choice.among[choice.place - 1])]
        assert choice.governed_by == failing[0]
        assert f"fails {choice.governed_by}" in next_smaller(choice, choice.place, None)


@settings(max_examples=150, deadline=None)
@given(tasks, st.data())
def test_longer_hotter_more_grouped_or_more_current_never_gives_less(asked: Task, data) -> None:
    """Harder in any of the four ways, alone or together, never a smaller total cross-section."""
    more = st.floats(1, 1.6)
    current = min(asked.currents.design.value * data.draw(more), 330)
    harder = task(
        asked.rules,
        current,
        asked.dropping.length.value * data.draw(more),
        asked.ambient.value - C0 + data.draw(st.floats(0, 15)),
        asked.grouped + data.draw(st.integers(0, 4)),
        asked.method,
        asked.insulation,
        asked.metal,
        asked.loaded,
        asked.device,
        limit=asked.dropping.limit.value,
        marked=asked.terminals.value - C0 if asked.marked else None,
    )
    assert total(choose(harder)) >= total(choose(asked)) * (1 - 1e-9)


@settings(max_examples=60, deadline=None)
@given(tasks)
def test_both_books_differ_only_for_reasons_that_are_named(asked: Task) -> None:
    """In either book the criterion that governs asks by itself for what was chosen, and each names its source."""
    for rules in ("iec", "nec"):
        circuit = task(rules, asked.currents.design.value, asked.dropping.length.value, asked.ambient.value - C0, asked.grouped, asked.method, asked.insulation)
        choice = choose(circuit)
        if choice.place is None or choice.chosen.parallel > 1:
            continue
        record = decision(choice, choice.place, None)
        asking = [c for c in record if c.asked == str(choice.chosen)]
        assert asking or choice.place == 0
        if choice.place:
            assert choice.governed_by in [c.name for c in asking]
        told = {"iec": "IEC", "nec": "NEC"}[rules]
        assert all(told in c.text or c.name in ("drop", "withstand") for c in record)


@pytest.mark.parametrize("rules", ["iec", "nec"])
@pytest.mark.parametrize("metal", ["copper", "aluminium"])
def test_candidates_never_step_back(rules: str, metal: str) -> None:
    among = candidates(rules, metal)
    assert {c.parallel for c in among} == {1, 2, 3, 4}
    assert all(a.total <= b.total * (1 + 1e-9) for a, b in pairwise(among))


# --- others' examples, whole ---


def test_iec_chain() -> None:
    """IEC 60364-5-52 tables B.52.5, B.52.14, B.52.17: 52 A, 45 degC, three circuits enclosed, XLPE, B2: 63 A device, 25 mm2."""
    choice = choose(task("iec", 52.0, 1.0, 45.0, 3, "B2", "xlpe", loaded=3, factor=1.0))
    assert choice.task.rating == 63
    assert str(choice.chosen) == "25 mm2"
    assert "fails current: 48.72 A" in next_smaller(choice, choice.place, None)


def test_iec_fuse_needs_more_than_its_rating() -> None:
    """elektro.net, Absicherung von Hauptleitungen: a 63 A gG fuse asks for 16 mm2 where 10 mm2 carries 63 A (25 degC, PVC, E)."""
    choice = choose(dataclasses.replace(task("iec", 60.0, 0.5, 25.0, 1, "E", "pvc", loaded=3, device=FUSE), clearing=None))
    assert choice.task.rating == 63
    assert str(choice.chosen) == "16 mm2"
    assert choice.governed_by == "fuse"


def test_nec_largest_of_three() -> None:
    """Jensen Hughes academy, conductor selection: 95 A continuous, 125 A device, 75 degC wire: 1 AWG."""
    choice = choose(task("nec", 95.0, 1.0, 30.0, 1, "B1", "pvc", loaded=3, factor=1.0))
    assert choice.task.rating == 125
    assert str(choice.chosen) == "1 AWG"


def test_nec_feeder() -> None:
    """EC&M code quiz 70: 200 A continuous on 75 degC terminals: 250 A device, 250 kcmil."""
    choice = choose(task("nec", 200.0, 1.0, 30.0, 1, "B1", "pvc", loaded=3, factor=1.0, marked=75.0))
    assert choice.task.rating == 250
    assert str(choice.chosen) == "250 kcmil"


def test_nec_nine_conductors() -> None:
    """EC&M code Q&A 84: nine 12 AWG conductors of 90 degC wire carry 21 A and take a 20 A device."""
    asked = task("nec", 16.0, 1.0, 30.0, 3, "B1", "xlpe", loaded=3, factor=1.0, rating=20.0)
    choice = choose(asked)
    assert str(choice.chosen) == "12 AWG"
    device = next(rule for rule in choice.rules if rule.name == "device")
    correction = next(rule for rule in choice.rules if rule.name == "correction")
    assert correction.gives(choice.chosen) == pytest.approx(21.0)
    assert device.gives(choice.chosen) == 20


def test_nec_terminals_cap_small_circuits() -> None:
    """110.14(C)(1): 90 degC wire on unmarked terminals is read in the 60 degC column up to 100 A; marked 75 degC it may be smaller."""
    unmarked, marked = (choose(task("nec", 68.0, 1.0, 30.0, 1, "B1", "xlpe", factor=1.0, marked=m)) for m in (None, 75.0))
    assert (str(unmarked.chosen), unmarked.governed_by) == ("3 AWG", "termination")
    assert str(marked.chosen) == "4 AWG"


def test_drop_decides_under_iec_and_is_told_under_nec() -> None:
    """S1."""
    long = {rules: choose(task(rules, 20.0, 80.0, factor=1.0, limit=0.01)) for rules in ("iec", "nec")}
    assert long["iec"].governed_by == "drop"
    assert long["nec"].governed_by != "drop"
    told = next(rule for rule in long["nec"].rules if rule.name == "drop")
    assert not told.decides
    assert not told.passes(long["nec"].chosen)


def test_withstand_decides_where_the_fault_is_large() -> None:
    """IEC 60364-4-43 434.5.2 with k = 115: 10 kA for 0.1 s asks for 27.5 mm2, so 35 mm2."""
    choice = choose(task("iec", 10.0, 1.0, 30.0, factor=1.0, energy=10_000.0**2 * 0.1))
    assert (str(choice.chosen), choice.governed_by) == ("35 mm2", "withstand")


def test_a_far_fault_that_never_opens_the_fuse_is_not_hidden() -> None:
    """A bank of high resistance: no size helps, so the criterion yields, and fails."""
    choice = choose(task("iec", 100.0, 2.0, device=FUSE, source=0.5))
    assert choice.place is not None
    far = [rule for rule in choice.rules if rule.name == "withstand" and not rule.decides]
    assert far
    assert not far[0].passes(choice.chosen)


def test_doubled_conductors_where_one_will_not_do() -> None:
    """S12: two of a size, each counted in the grouping."""
    choice = choose(task("iec", 420.0, 2.0, 40.0, 1, "C", "pvc", device=FUSE))
    assert choice.chosen.parallel == 2
    assert choice.chosen.total >= 300e-6
    assert choose(task("iec", 420.0, 2000.0)).place is None


# The engineer's case: a 400 A fuse whose far fault, 3.1 kA, opens it slowly; the gates let 2.84 kA squared x 5 s through.
_SLOW = """
[output]
arrangement = "single-phase"
[unit]
real_power = "3 kW"
apparent_power = "3 kVA"
surge_power = "6 kVA"
efficiency = 0.93
dc_min = "10 V"
dc_max = "16 V"
transfer_current = "16 A"
fault_current = "60 A"
charge_current = "80 A"
[incoming]
kind = "utility"
breaker = "16 A"
prospective_fault = "500 A"
[set]
count = 1
[storage]
connection = "common-bank"
chemistry = "lfp"
managed = true
[storage.module]
voltage = "12.8 V"
cells = 4
capacity = "100 Ah"
charge_current = "50 A"
discharge_current = "100 A"
resistance = "12 mohm"
absorption = "14 V"
float = "13.5 V"
low = "11 V"
short_circuit_current = "3 kA"
[storage.bank]
parallel = 4
feed = "bar"
[[routes]]
carries = "battery"
method = "C"
grouped = 1
length = "2 m"
"""


def test_the_case_earth_stands_what_the_line_of_its_fuse_stands(planned):
    """T5, S8: by hand, sqrt(2840^2 x 5) / 143 = 44.4 mm2, so 50 mm2 (gate of 400 A, k of separate copper in PVC)."""
    found = planned(_SLOW)
    battery = next(c for c in found.plan.circuits if c.name == "battery L1-1")
    earth = next(c for c in found.plan.circuits if c.name == "earth L1-1")
    assert battery.device is not None
    assert (battery.device.rating, earth.conductor) == ("400 A", "50 mm2")


def test_a_fuse_beyond_the_gates_needs_no_less_than_the_largest_in_them():
    from engine.tables.protection import fuse_gate, last_gate

    assert fuse_gate(800.0, "most_5s") is None
    assert last_gate("most_5s").value == 5100.0  # 630 A: IEC 60269-1, from memory, as in gg_gates


def test_like_units_get_like_earths(planned, sample_text) -> None:
    """Copper Creek: the leads of L1-1 were enlarged from 3/0 AWG (167.8 kcmil) to its like's 250 kcmil, which 250.122(B) grows its earth for.

    6 AWG of table 250.122 for 200 A is 26.24 kcmil, times 250 / 167.8 is 39.1 kcmil: 4 AWG (41.74). L2-1, whose own leads need 250 kcmil,
    would do with 6 AWG, and gets 4 AWG as its like does.
    """
    of = planned(sample_text("copper-creek")).parts.conductors.of
    one, other = of["earth L1-1"], of["earth L2-1"]
    assert [str(s.conductor) for s in (one, other)] == ["4 AWG", "4 AWG"]
    assert "6 AWG, grown with its conductors from 3/0 AWG to 250 kcmil (250.122(B))" in one.why.note
    assert "6 AWG, grown as that of a like circuit, whose conductors grew from 3/0 AWG to 250 kcmil (250.122(B))" in other.why.note
