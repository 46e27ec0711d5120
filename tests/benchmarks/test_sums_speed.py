"""How long the sums of twelve units and sixty loads take, and the whole plan around them."""

from __future__ import annotations

from random import Random
from time import process_time

from engine.facts import assume
from engine.files.read import parse
from engine.planner import plan
from engine.stages.banks import banks
from engine.stages.demand import demand
from engine.stages.hours import hours
from engine.stages.limits import limits
from engine.stages.phases import phases
from engine.stages.storage import storage
from engine.stages.strings import strings
from engine.stages.units import units
from tests.conftest import ROOT


def site():
    """The twelve-unit sample with sixty loads on phases of the plan's choice."""
    text = (ROOT / "sample_sites" / "harbour-works" / "site.toml").read_text(encoding="utf-8")
    rng, loads = Random(3), ""
    for i in range(60):
        motor = rng.random() < 0.25
        loads += f'[[loads]]\nname = "Load {i}"\nphase = "any"\npower = "{rng.choice([100, 200, 350, 500, 750, 900, 1100, 1500])} W"\n'
        loads += f"power_factor = {rng.choice([1.0, 0.95, 0.85, 0.8])}\nmotor = {str(motor).lower()}\nstart_multiple = {5 if motor else 1}\n"
        loads += 'energy = "2 kWh/day"\nprofile = "day"\n\n'
    return parse((text[: text.index("[[loads]]")] + loads + text[text.index("[storage]") :]).encode(), "bench.toml")


def sums(answers):
    """Every stage that sums up demand, set, storage, solar, limits and the day."""
    facts = assume(answers)
    wanted, _ = demand(facts=facts)
    found, _ = phases(facts=facts, demand=wanted)
    placed, _ = units(facts=facts, phases=found)
    on, _ = banks(facts=facts, units=placed)
    stored, _ = storage(facts=facts, demand=wanted, phases=found, units=placed, banks=on)
    panels, _ = strings(facts=facts)
    bounds, _ = limits(facts=facts, phases=found, units=placed, banks=on, storage=stored)
    return hours(facts=facts, demand=wanted, phases=found, units=placed, banks=on, storage=stored, strings=panels, limits=bounds)


def best_of(call, times=5):
    """Processor seconds of the quickest of some calls."""
    taken = []
    for _ in range(times):
        start = process_time()
        call()
        taken.append(process_time() - start)
    return min(taken)


def test_the_sums_of_twelve_units_and_sixty_loads_take_under_a_tenth_of_a_second(capsys):
    """The stages of this part stay under 100 ms; the time of the whole plan is told beside it."""
    read = site()
    part, whole = best_of(lambda: sums(read.answers)), best_of(lambda: plan(read.answers, read.revision), 3)
    with capsys.disabled():
        print(f"\n12 units, 60 loads: sums {part * 1e3:.0f} ms, whole plan {whole * 1e3:.0f} ms")
    assert part < 0.1
