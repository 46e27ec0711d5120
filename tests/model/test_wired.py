"""Every plan that has units is wired: each name once, every circuit there, and what is right reads right."""

from __future__ import annotations

from collections import Counter
from dataclasses import fields, replace
from itertools import combinations, product
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from engine.files.emit import emit
from engine.files.problems import Unreadable
from engine.files.read import parse
from engine.model.elements import Edit, Join, Kind, Loose, Move, Open, Scale, Stuck, Swap, Wired
from engine.model.scenario import SCENARIOS, Scenario
from engine.model.solved import Solver
from engine.planner import Planned, plan
from engine.proof.wired import wired
from tests.engine.paper_sites import NAMES, planned, sample, set_of
from tests.generated.sites import Document, absurd, damaged, site
from tests.model.test_instruments import everything

RANDOM = range(30)
SPECIAL = {
    "a single unit": set_of(1),
    "a single unit on American rules": {**set_of(1), "site.rules": "nec"},
    "nothing comes in": {"incoming.kind": "none"},
    "a generator": {"incoming.kind": "generator", "incoming.rating": "20 kVA"},
    "split phase": {"output.arrangement": "split-phase", "set.count": 2, "set.per_phase": [1, 1], "storage.wired": {"L1-1": "B1", "L2-1": "B1"}},
    "a bank each": {"storage.connection": "bank-per-unit", "storage.wired": {"L1-1": "B1", "L2-1": "B2", "L3-1": "B3"}, "storage.links": []},
    "minus earthed": {"storage.earthed": "minus"},
    "plus earthed": {"storage.earthed": "plus", "storage.managed": False, "storage.chemistry": "agm", "storage.bank.series": 4},
    "IT": {"earthing.system": "IT", "earthing.island_bond": "none"},
    "two nodes of one name": {"bus_nodes": [{"name": "Meter", "end": "last"}, {"name": "Meter", "end": "last"}, {"name": "L1-1", "end": "first"}]},
}


def of_document(document: Document) -> Planned:
    file = parse(emit(document).encode(), "site.toml")
    return plan(file.answers, file.revision)


@pytest.fixture(scope="module", params=[*NAMES, *SPECIAL, *(f"site {number}" for number in RANDOM)])
def both(request) -> tuple[Planned, Wired]:
    which = request.param
    found = sample(which) if which in NAMES else planned(SPECIAL[which]) if which in SPECIAL else of_document(site(int(which.split()[1])))
    return found, wired(found)


def test_every_name_is_its_own(both: tuple[Planned, Wired]) -> None:
    names = both[1].names()
    counted = Counter(name for kind in ("terminals", "elements", "ends") for name in names[kind])
    assert [name for name, times in counted.items() if times > 1] == []
    assert len(set(names["things"])) == len(names["things"])


def test_every_circuit_is_wired(both: tuple[Planned, Wired]) -> None:
    """Each pole that the plan counts has its wire, with the two ends where the plan says; whatever opens, or is fused, is there to be made.

    A protective conductor beside live ones is landed by itself.
    """
    found, of = both
    assert found.parts.units.units
    for ends in found.parts.circuits.circuits:
        wires = [element for element in of.elements.values() if element.ends and element.when in ({ends.name}, {f"{ends.name} PE"})]
        apart = {element.name for element in wires if element.when == {f"{ends.name} PE"}}
        assert apart == ({f"{ends.name} PE"} if ends.kind in ("load", "incoming") and not ends.common else set())
        earths = sum(element.name.endswith(" PE") for element in wires)
        assert len(wires) - earths == (0 if ends.kind == "earth" else ends.poles)
        assert earths == (1 if ends.kind == "earth" or (ends.kind in ("load", "incoming") and not ends.common) else 0)
        assert all(element.kind is Kind.JOINED for element in wires)
        gear = found.parts.switchgear
        assert (f"{ends.name} isolator" in of.things) == (gear.opening(ends) is not None)
        assert (f"{ends.name} fuse" in of.things) == (gear.fuse(ends) is not None)
    ways = Counter(name.rpartition(" ")[0].rpartition(" ")[0] for name in of.elements if name.endswith(" contact"))
    for ends in found.parts.circuits.circuits:
        if opening := found.parts.switchgear.opening(ends):
            assert ways[ends.name] == len(opening.poles)


def test_what_is_right_reads_right(both: tuple[Planned, Wired]) -> None:
    """Everything made and on, alone and with what comes in: the output voltage at each phase's consumers, the bank's at each unit, for every unknown."""
    found, of = both
    volts = found.facts.output_voltage.value
    for scenario, out in product(SCENARIOS, ((), ("supply",))):
        solved = Solver(of, scenario).at(everything(of, *out))
        for phase, units in found.parts.phases.per_phase.items():
            if units:
                assert solved.ac(f"consumers {phase}", "consumers N") == pytest.approx(volts, rel=0.05)
        for tag in found.parts.units.tags:
            assert f"{tag} off" not in solved.made
            bank = found.parts.banks.bank_of[tag]
            assert bank
            assert solved.dc(f"{tag} plus", f"{tag} minus") == pytest.approx(solved.dc(f"{bank} plus", f"{bank} minus"), rel=0.01)


def test_nothing_made_is_dead_behind_its_isolators(both: tuple[Planned, Wired]) -> None:
    """With every circuit landed and open, a unit's terminals read nothing to each other."""
    found, of = both
    landed = {ends.name for ends in found.parts.circuits.circuits} | {"supply"}
    for scenario in SCENARIOS:
        solved = Solver(of, scenario).at(landed)
        for tag in found.parts.units.tags:
            assert solved.dc(f"{tag} plus", f"{tag} minus") == 0.0
            assert solved.ac(f"{tag} load L", f"{tag} load N") < 0.5


def test_a_plan_without_units_has_nothing() -> None:
    of = wired(planned(without=("set", "output")))
    assert not of.inverters
    assert not of.things


# --- the solver's memory ---


def _drawn(of: Wired, dice: Random) -> Edit:
    names = of.names()
    node, end, element = (dice.choice(names[kind]) for kind in ("terminals", "ends", "elements"))
    return dice.choice(
        (Swap(end, dice.choice(names["ends"])), Move(end, node), Open(end), Open(element), Loose(end, 3.0), Join(node, dice.choice(names["terminals"])), Scale(element, 10.0), Stuck(dice.choice(names["things"]), dice.random() < 0.5))
    )


@pytest.mark.parametrize("which", ["alder-farm", "ferry-house", "ridge-lodge"])
def test_what_is_remembered_is_what_is_solved_anew(which: str) -> None:
    """Up to three random edits of a site, read between random nodes in random states: as at a site that was never another one."""
    of, dice, told = wired(sample(which)), Random(7), 0
    for _ in range(150):
        wrong = of.edited(*(_drawn(of, dice) for _ in range(dice.choice((1, 1, 2, 3)))))
        anew = replace(wrong, base=None, changed=(), solved={})
        scenario, share, there = dice.choice(SCENARIOS), dice.choice((0.8, 0.97, 1.0)), everything(of)
        made = frozenset(thing for thing in of.things if dice.random() < (share if thing in there else 0.2))
        set_to = {tag: {"phase": dice.choice(("L1", "L2"))} for tag in of.inverters if dice.random() < 0.1}
        one, two = Solver(wrong, scenario).at(made, set_to), Solver(anew, scenario).at(made, set_to)
        assert one.made == two.made
        nodes = wrong.names()["terminals"]
        for _ in range(6):
            a, b = dice.choice(nodes), dice.choice(nodes)
            # Rounding of the largest currents leaves microvolts behind megohms.
            assert (one.dc(a, b), one.ac(a, b)) == pytest.approx((two.dc(a, b), two.ac(a, b)), rel=1e-6, abs=1e-4)
            assert one.thevenin(a, b)[2] == pytest.approx(two.thevenin(a, b)[2], rel=1e-6)
            told += one.ac(a, b) > 1
        flowing = dice.choice([*wrong.elements])
        assert one.amps(flowing) == pytest.approx(two.amps(flowing), rel=1e-5, abs=1e-3)
    assert told > 50


def test_what_a_mistake_cuts_off_leaves_nothing_behind() -> None:
    """The neutral and the line of the consumers open: no current of theirs stays in what is still joined to the source."""
    of = wired(sample("ferry-house"))
    wrong = of.edited(Open("residual-current device N"), Open("load common L1 at bar"))
    anew = replace(wrong, base=None, changed=(), solved={})
    for scenario, node in product(SCENARIOS, ("load L1-1 N before isolator", "load bar N", "L1-2 case")):
        one, two = (Solver(each, scenario).at(everything(of, "supply")) for each in (wrong, anew))
        assert one.ac(node, "L1-1 load L") == pytest.approx(two.ac(node, "L1-1 load L"), abs=1e-4)
        assert one.ac(node, "L1-1 incoming N") == pytest.approx(two.ac(node, "L1-1 incoming N"), abs=1e-4)


# --- scenarios ---


def test_scenarios_are_an_orthogonal_array() -> None:
    """Each factor has each level four times; any two meet in all four ways, but for three pairs that act on nothing together."""
    factors = [field.name for field in fields(Scenario)]
    assert len(SCENARIOS) == len(set(SCENARIOS)) == 8
    assert all(sum(getattr(s, factor) for s in SCENARIOS) == 4 for factor in factors)
    alike = {pair for pair in combinations(factors, 2) if len({tuple(getattr(s, factor) for factor in pair) for s in SCENARIOS}) < 4}
    assert alike == {("neutral", "capacitance"), ("filters", "data"), ("charge", "source")}


# --- whatever is answered ---

SLOW = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))


@SLOW
@given(st.one_of(damaged(), absurd()))
def test_whatever_plans_is_wired(document: Document) -> None:
    """Answers left out or absurd: it is wired, and can be read."""
    try:
        found = of_document(document)
    except Unreadable:
        return
    of = wired(found)
    for tag in of.inverters:
        solved = Solver(of, SCENARIOS[0]).at(everything(of))
        solved.dc(f"{tag} plus", f"{tag} minus")
        solved.ac(f"{tag} load L", "earth bar")
