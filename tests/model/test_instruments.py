"""What instruments read, against closed forms, another program's power flow and what handbooks print."""

from __future__ import annotations

import cmath
import math

import pytest

from engine.model.elements import Element, Join, Kind, Loose, Move, Open, Reverse, Scale, Stuck, Swap, Wired
from engine.model.scenario import METER, SCENARIOS, Scenario
from engine.model.solved import Solver
from engine.proof.wired import wired
from engine.site.supply import ANGLES
from tests.engine.paper_sites import planned, sample, set_of
from tests.published.formulas.phases import open_neutral_voltage

THREE = ANGLES["three-phase"]
PLAIN = Scenario()


def site(*elements: Element) -> Wired:
    """A site of these elements alone."""
    return Wired.of(elements, {}, ("supply",), {}, THREE, 50.0, None)


def joined(name: str, a: str, b: str, ohms: float, kind: Kind = Kind.JOINED) -> Element:
    return Element(name, kind, a, b, ohms)


def star(line: float, neutral: float, loads: dict[str, float]) -> Wired:
    """Three stiff sources on lines and a neutral of these ohms, a load on each phase."""
    sources = [Element(f"source {phase}", Kind.ALTERNATING, f"source {phase}", "source N", 230.0, ohms=1e-6, phase=phase) for phase in loads]
    lines = [joined(f"line {phase}", f"source {phase}", f"load {phase}", line) for phase in loads]
    drawn = [joined(f"drawn {phase}", f"load {phase}", "load N", ohms, Kind.RESISTOR) for phase, ohms in loads.items()]
    return site(*sources, *lines, *drawn, joined("neutral", "source N", "load N", neutral))


def everything(of: Wired, *out: str) -> frozenset[str]:
    """All that is made when the set runs, no test lead and no test load in it; without what is named."""
    return frozenset(thing for thing in of.things if not thing.startswith(("bench", "bridge", "pre-charge", "test load"))) - set(out)


# --- the lost neutral ---


def test_a_lost_neutral_is_millmans() -> None:
    """230 V on 10, 20 and 40 ohm: 150.57, 260.80 and 301.14 V, the star point at 86.93 V (Millman's theorem, worked in `published/systems.toml`)."""
    of = star(1e-6, 1e-6, {"L1": 10.0, "L2": 20.0, "L3": 40.0}).edited(Open("neutral"))
    found = Solver(of, PLAIN).at(())
    volts = [abs(found.phasor(f"load {phase}") - found.phasor("load N")) for phase in THREE]
    assert volts == pytest.approx([150.57, 260.795, 301.141], rel=1e-4)
    assert abs(found.phasor("source N") - found.phasor("load N")) == pytest.approx(86.9318, rel=1e-5)


def test_a_plans_lost_neutral_is_millmans() -> None:
    """The neutral way of the set's isolator left open: each phase's consumers read what Millman gives for their resistances, for any unknown."""
    of, loads = wired(planned()), {"L1": 10.0, "L2": 20.0, "L3": 40.0}
    scales = [Scale(f"loads of {phase}", ohms / of.elements[f"loads of {phase}"].at(PLAIN)) for phase, ohms in loads.items()]
    broken = of.edited(*scales, Open("load common N contact"), Open("bond"))
    for scenario in SCENARIOS:
        found = Solver(broken, scenario).at(everything(of, "supply"))
        for place, phase in enumerate(loads):
            wanted = open_neutral_voltage(230.0, list(loads.values()), list(THREE.values()), place)
            assert found.ac(f"consumers {phase}", "consumers N") == pytest.approx(wanted, rel=0.03)


@pytest.mark.parametrize("neutral", [1e-3, 0.1, 1.0, 100.0])
def test_uneven_loads_by_power_flow(neutral: float) -> None:
    """Voltages and currents of uneven loads on a four-wire line, whole and all but broken, by power-grid-model.

    It has no neutral node: the neutral's ohms stand in the zero sequence, r0 = r1 + 3 rN, and a phase's voltage is that to the load's own neutral.
    """
    pgm = pytest.importorskip("power_grid_model")
    from tests.published.test_power_flow import array, node, stiff

    volts, line, loads = 230.0 * 3**0.5, 0.08, {"L1": 11.0, "L2": 26.0, "L3": 70.0}
    watts = [230.0**2 / ohms for ohms in loads.values()]
    wire = {"id": 3, "from_node": 1, "to_node": 2, "from_status": 1, "to_status": 1, "r1": line, "x1": 0.0, "c1": 0.0, "tan1": 0.0, "r0": line + 3 * neutral, "x0": 0.0, "c0": 0.0, "tan0": 0.0, "i_n": 1e4}
    load = {"id": 5, "node": 2, "status": 1, "type": pgm.LoadGenType.const_impedance, "p_specified": watts, "q_specified": [0.0] * 3}
    model = pgm.PowerGridModel(
        {"node": array("node", [node(1, volts), node(2, volts)]), "line": array("line", [wire]), "source": array("source", [stiff(4, 1)]), "asym_load": array("asym_load", [load])}
    )
    flow = model.calculate_power_flow(symmetric=False, max_iterations=100)
    found = Solver(star(line, neutral, loads), PLAIN).at(())
    read = [abs(found.phasor(f"load {phase}") - found.phasor("load N")) for phase in loads]
    assert read == pytest.approx(list(flow["node"]["u"][1]), rel=1e-5)
    assert [found.amps(f"line {phase}")[1] for phase in loads] == pytest.approx(list(flow["line"]["i_from"][0]), rel=1e-5)


# --- meters ---


def test_a_meter_loads_what_it_measures() -> None:
    """100 V behind 400 kohm: 50 V at an input of 400 kohm, 100 x 3 / 403 V at 3 kohm; across one open pole nothing returns. By hand."""
    source = Element("source", Kind.DIRECT, "plus", "minus", 100.0, ohms=400e3)
    of = site(source, joined("far", "alone", "other", 1.0))
    read = {METER[s.meter]: Solver(of, s).at(()).dc("plus", "minus") for s in (Scenario(meter=0), Scenario(meter=1))}
    assert read == pytest.approx({3e3: 100 * 3 / 403, 400e3: 50.0})
    found = Solver(of, PLAIN).at(())
    assert found.dc("minus", "plus") == -found.dc("plus", "minus")
    assert found.dc("plus", "alone") == found.ac("plus", "alone") == 0.0


def test_an_ohmmeter() -> None:
    """It reads ohms, nothing between what nothing joins, and nothing that means anything under voltage."""
    of = site(joined("one", "a", "b", 30.0), joined("two", "a", "b", 60.0), joined("away", "c", "d", 1.0), Element("battery", Kind.DIRECT, "e", "f", 12.0, ohms=0.1))
    found = Solver(of, PLAIN).at(())
    assert found.ohms("a", "b") == pytest.approx(20.0)
    assert found.ohms("a", "c") == math.inf
    assert math.isnan(found.ohms("e", "f"))
    with pytest.raises(KeyError):
        found.ohms("a", "no such node")


def test_a_surge_device_spoils_an_insulation_test() -> None:
    """In place it reads under the 1 megohm of IEC 60364-6 table 6.1 (from memory); taken out it does not."""
    of = wired(planned())
    dead = everything(of, "supply", "bond", *of.inverters, *(t for t in of.things if t.endswith("isolator")))
    assert Solver(of, PLAIN).at(dead).insulation("load bar L1", "earth bar") < 1e6
    assert Solver(of, PLAIN).at(dead).ohms("load bar L1", "earth bar") == math.inf
    assert Solver(of, PLAIN).at(dead - {"surge devices"}).insulation("load bar L1", "earth bar") >= 1e6


def test_rotation() -> None:
    """L1, L2, L3 turn the way that their angles say (0, -120, 120 degrees); two of them exchanged the other way; two leads on one, nothing."""
    found = Solver(star(0.1, 0.1, dict.fromkeys(THREE, 20.0)), PLAIN).at(())
    assert found.rotation(("load L1", "load L2", "load L3")) == "123"
    assert found.rotation(("load L2", "load L1", "load L3")) == "132"
    assert found.rotation(("load L1", "load L1", "load L3")) is None


# --- pre-charge ---


def test_pre_charge_is_the_closed_form() -> None:
    """u(t) = U r/(R + r) (1 - exp(-t (R + r)/(R r C))): charged through R, bled by r. Read in steps of a hundredth of the time constant beside it."""
    of = wired(planned())
    made = everything(of, "battery L1-1 isolator", "L1-1", "L2-1", "L3-1", "supply", *(t for t in of.things if t.startswith("link"))) | {"pre-charge L1-1"}
    for scenario in SCENARIOS:
        resistor, bleed, farads = (of.elements[name].at(scenario) for name in ("pre-charge L1-1 resistor", "L1-1 bleed", "L1-1 capacitance"))
        emf = of.elements["B1 string 1 module 1"].at(scenario)
        found, tau = Solver(of, scenario).at(made), resistor * bleed / (resistor + bleed) * farads
        volts, step = 0.0, tau / 100

        def after(volts: float, seconds: float, slope_at: float, emf=emf, resistor=resistor, bleed=bleed, farads=farads) -> float:
            return volts + seconds * ((emf - slope_at) / resistor - slope_at / bleed) / farads

        for k in range(1, 501):
            volts = after(volts, step, after(volts, step / 2, volts))
            if k % 100 == 0:
                closed = emf * bleed / (resistor + bleed) * (1 - math.exp(-k * step / tau))
                assert found.charged("L1-1", k * step) == pytest.approx(closed, rel=1e-3)
                assert found.charged("L1-1", k * step) == pytest.approx(volts, rel=2e-3)
        assert found.charged("L1-1", 100 * tau) == pytest.approx(found.thevenin("L1-1 plus", "L1-1 minus")[0])


def test_pre_charge_needs_both_poles() -> None:
    """The resistor alone across one pole of a two-pole isolator: nothing returns, so nothing charges. By inspection."""
    of = wired(planned()).edited(Open("pre-charge L1-1 lead"))
    made = everything(of, "battery L1-1 isolator", "L1-1", *(t for t in of.things if t.startswith("link"))) | {"pre-charge L1-1"}
    assert all(Solver(of, scenario).at(made).charged("L1-1", 100.0) == 0.0 for scenario in SCENARIOS)


# --- the chain: the readings of table 1.2 of our notes on trade practice (CAN and RS-485 guides; node inputs pull it a little under) ---

CHAIN = {
    "two terminators": ((), (), (54.0, 66.0)),
    "one missing": ((), ("terminator L3-1",), (108.0, 132.0)),
    "line broken in the middle": ((Open("link L1-1 to L2-1 A"),), (), (108.0, 132.0)),
    "three": ((Join("L2-1 data A", "L2-1 data B", 120.0),), (), (36.0, 44.0)),
    "pair shorted": ((Join("L2-1 data A", "L2-1 data B"),), (), (0.0, 5.0)),
}


@pytest.mark.parametrize("which", CHAIN)
def test_the_chain_reads_what_is_printed(which: str) -> None:
    edits, out, (least, most) = CHAIN[which]
    of = wired(planned()).edited(*edits)
    chain = {thing for thing in of.things if thing.startswith(("link", "terminator"))} - set(out)
    assert {"terminator L1-1", "terminator L3-1", "link L1-1 to L2-1", "link L2-1 to L3-1"} == chain | set(out)
    for scenario in SCENARIOS:
        found = Solver(of, scenario).at(chain)
        for end in ("L1-1", "L3-1"):
            assert least <= found.ohms(f"{end} data A", f"{end} data B") <= most


def test_a_chain_without_terminators_reads_as_good_as_nothing() -> None:
    of = wired(planned())
    found = Solver(of, PLAIN).at({thing for thing in of.things if thing.startswith("link")})
    assert found.ohms("L1-1 data A", "L1-1 data B") > 10e3


# --- edits, each by what a meter then shows ---


def test_edits() -> None:
    of = wired(planned())
    dead = everything(of, "supply", "load common isolator", *of.inverters)

    def ohms(a: str, b: str, *edits: object, made: frozenset[str] = dead) -> float:
        return Solver(of.edited(*edits), PLAIN).at(made).ohms(a, b)

    unit, bar, other = "L1-1 load L", "load bar L1", "load bar L2"
    right = ohms(unit, bar)
    assert right < 0.1 and ohms(unit, other) == math.inf
    swapped = Swap("load L1-1 L at bar", "load L2-1 L at load board")
    assert ohms(unit, bar, swapped) == math.inf and ohms(unit, other, swapped) < 0.1
    assert ohms(unit, other, swapped, made=dead - {"load L1-1"}) == math.inf
    assert ohms(unit, bar, swapped, swapped) == pytest.approx(right)
    assert ohms(unit, other, Move("load L1-1 L at L1-1", "L2-1 load L")) == math.inf
    assert ohms("L2-1 load L", bar, Move("load L1-1 L at L1-1", "L2-1 load L")) < 0.1
    assert ohms(unit, bar, Open("load L1-1 L")) == ohms(unit, bar, Open("load L1-1 L at bar")) == math.inf
    assert ohms(unit, "load L1-1 L at load board free", Open("load L1-1 L at load board")) < 0.1
    assert ohms(unit, bar, Loose("load L1-1 L at bar", 0.5)) == pytest.approx(right + 0.5)
    assert ohms(unit, other, Join(bar, other, 0.25)) == pytest.approx(right + 0.25)
    assert ohms(unit, other, Join(bar, other, 0.25, when="supply")) == math.inf
    assert ohms(unit, bar, Scale("load L1-1 L", 10)) == pytest.approx(right + 9 * of.elements["load L1-1 L"].at(PLAIN))
    assert ohms(unit, bar, Stuck("load L1-1 isolator", made=False)) == math.inf
    assert ohms(unit, bar, Stuck("load L1-1 isolator", made=True), made=dead - {"load L1-1 isolator"}) == pytest.approx(right)
    assert ohms(unit, bar) == right  # none of it came back to the site itself
    with pytest.raises(KeyError):
        of.edited(Open("no such thing"))


def test_a_reversed_battery_reads_minus_and_a_unit_on_it_conducts() -> None:
    of = wired(planned({"storage.bank.parallel": 1}))
    wrong = of.edited(Reverse("B1 string 1 module 1"))
    opened = everything(of, "supply", *of.inverters, *(t for t in of.things if t.startswith(("link", "battery L") ) and not t.endswith("-1")))
    for scenario in SCENARIOS:
        assert Solver(wrong, scenario).at(opened).dc("bar B1 plus", "bar B1 minus") == pytest.approx(-Solver(of, scenario).at(opened).dc("bar B1 plus", "bar B1 minus"), rel=0.01)
        assert Solver(of, scenario).at(opened | {"battery L1-1 fuse", "battery L1-1 isolator"}).amps("L1-1 reverse path") == (0.0, 0.0)
        closed = Solver(wrong, scenario).at(everything(of, "supply", *of.inverters))
        direct, _ = closed.amps("L1-1 reverse path")
        assert direct > 200
        assert closed.dc("L1-1 plus", "L1-1 minus") == pytest.approx(-1.0 - 5e-3 * direct, rel=0.02)


# --- what units do by themselves ---


def test_a_unit_follows_what_comes_in_and_else_runs_alone() -> None:
    """Its relay, and that of the bond: neutral meets earth at the set alone, or at the source alone (T21)."""
    for bond in ("changeover relay", "unit relay"):
        of = wired(planned({"earthing.island_bond": bond, "earthing.system": "TN-S", **set_of(1)}))
        for scenario in SCENARIOS:
            solver = Solver(of, scenario)
            alone, following = solver.at(everything(of, "supply")), solver.at(everything(of))
            assert "L1-1 alone" in alone.made and "L1-1 following" in following.made
            assert alone.amps("L1-1 output")[1] > 1 > following.amps("L1-1 output")[1] == 0
            parted = alone.thevenin("load bar N", "earth bar")[2], following.thevenin("load bar N", "earth bar")[2]
            assert parted[0] < 0.02 < parted[1]
            # Without the source's own earth the neutral meets none while the unit follows; while it runs alone that changes nothing.
            unearthed = Solver(of.edited(Open("supply earth")), scenario)
            assert unearthed.at(everything(of)).thevenin("load bar N", "earth bar")[2] > 1000
            assert unearthed.at(everything(of, "supply")).thevenin("load bar N", "earth bar")[2] == pytest.approx(parted[0], rel=0.1)
            assert solver.at(everything(of, "battery L1-1 isolator")).made >= {"L1-1 off"}


def test_a_unit_set_to_another_phase() -> None:
    """230 V against its own bar, 398 V against the line that it was wired to (practice: 0 V between like poles, near 398 V on a wrong one)."""
    of = wired(planned())
    made = everything(of, "supply", "load L1-1 isolator") | {"bridge L1-1 neutral"}
    for scenario in SCENARIOS:
        solver, poles = Solver(of, scenario), ("load L1-1 L before isolator", "load L1-1 L after isolator")
        # Its own load bar is dead: L1 hangs on this unit alone. So the meter goes to the bars of the others.
        right, wrong = solver.at(made), solver.at(made, {"L1-1": {"phase": "L2"}})
        assert right.ac(poles[0], "load bar L2") == pytest.approx(398.4, rel=0.01)
        assert wrong.ac(poles[0], "load bar L2") < 5.0
        assert wrong.ac(poles[0], "load bar L3") == pytest.approx(398.4, rel=0.01)


def test_a_unit_that_floats_reads_what_its_filters_leave() -> None:
    """An inverter behind an open two-pole isolator: to earth it reads whatever its filters and the meter divide, not its voltage."""
    of, made = wired(planned()), everything(wired(planned()), "supply", "load L1-1 isolator")
    read = [Solver(of, scenario).at(made).ac("L1-1 load L", "earth bar") for scenario in SCENARIOS]
    assert min(read) < 5.0 and max(read) > 50.0
    # By hand: half the voltage behind both filters in parallel, the meter beside them.
    low = next(s for s in SCENARIOS if s.filters == 0 and s.meter == 0 and s.transfer == 0)
    reactance = 1 / (2j * math.pi * 50 * 2 * 1e-9)
    assert Solver(of, low).at(made).ac("L1-1 load L", "earth bar") == pytest.approx(abs(115.0 * 3e3 / (3e3 + reactance)), rel=0.02)


def test_what_flows_adds_up() -> None:
    """Kirchhoff: what the units give of each phase, its consumers take; and the neutral the phasor sum."""
    of = wired(sample("alder-farm"))
    for scenario in SCENARIOS:
        found = Solver(of, scenario).at(everything(of, "supply"))
        lines = {phase: found.amps(f"load common {phase}")[1] for phase in THREE}
        assert [found.amps(f"loads of {phase}")[1] for phase in lines] == pytest.approx(list(lines.values()), rel=1e-3)
        neutral = abs(sum(cmath.rect(amps, THREE[phase]) for phase, amps in lines.items()))
        assert found.amps("load common N")[1] == pytest.approx(neutral, rel=0.05, abs=0.05)
