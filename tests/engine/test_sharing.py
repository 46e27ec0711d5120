"""Unequal leads: AC against a nodal solution, battery leads against Kirchhoff's laws."""

from types import SimpleNamespace

import numpy as np
import pytest

from engine.findings import Level
from engine.solvers.leads import bar_voltage
from engine.stages.conductors import worked
from engine.stages.conductors.part import Sizing
from engine.stages.conductors.task import Way
from engine.stages.sharing import sharing
from engine.tables.sizes import read_size
from engine.workings import answered
from tests.engine.wall_site import BASE, hang, place, three


def phases(site, conductor="35 mm2", current=30.0):
    size = read_size(conductor)
    return SimpleNamespace(
        of={e.name: Sizing(size, 1, None, None, None, answered(f"{e.key}.current", current, "A"), None, None, None, (), None, pole=pole(site, e, size)) for e in site.circuits.circuits}
    )


def pole(site, ends, size):
    """One pole in PVC: half of what was measured, or by its length; battery leads of class 5."""
    way = Way("iec", "copper", "pvc", "B2", flexible=ends.kind == "battery")
    task = SimpleNamespace(key=ends.key, way=way)
    return worked.pole(task, SimpleNamespace(size=size, parallel=1), site.wall.runs[ends.name].length, site.facts.route_figure(ends.kind, ends.to, "resistance"))


def shared(text, low=46.0, **how):
    site = hang(text)
    storage = SimpleNamespace(banks=[SimpleNamespace(name=b.name, low=answered("plan.banks.low", low, "V")) for b in site.banks.banks])
    return sharing(facts=site.facts, units=site.units, banks=site.banks, storage=storage, circuits=site.circuits, conductors=phases(site, **how))


FOUR = BASE + '[set]\nper_phase = [3, 1, 1]\n[wall]\nwidth = "5 m"\n'


def resistances(*ohms):
    return "".join(f'[[routes]]\ncarries = "load"\nto = "L1-{k}"\nresistance = "{r} mohm"\n' for k, r in enumerate(ohms, 1))


def test_ac_leads_share_as_a_nodal_solution_says():
    """Three leads of 8, 10 and 16 mohm from one bar to another, 90 A in all: numpy solves G u = i."""
    part, findings = shared(FOUR + resistances(8, 10, 16))
    group = next(g for g in part.groups if g.name == "load L1")
    pole = np.array([0.004, 0.005, 0.008])
    volts = np.linalg.solve(np.array([[(1 / pole).sum()]]), np.array([90.0]))[0]
    assert [lead.current.value for lead in group.leads] == pytest.approx(volts / pole)
    told = next(f for f in findings if f.code == "like-circuits-unlike")
    assert (told.level, told.about) == (Level.CAUTION, "plan.circuits[load L1-3].length")


@pytest.mark.parametrize(("ohms", "unlike"), [((10, 10, 11.0), False), ((10, 10, 11.2), True), ((10, 10, 10), False)])
def test_ten_percent_of_the_mean_is_where_like_ends(ohms, unlike):
    """S18: 1 of 10.33 is 9.7 %, 1.2 of 10.4 is 11.5 %."""
    _, findings = shared(FOUR + resistances(*ohms))
    assert ("like-circuits-unlike" in [f.code for f in findings]) is unlike


def test_circuits_cut_alike_are_alike():
    """Three units on one bank, all leads cut to one length: nothing to say, and equal currents."""
    part, findings = shared(three())
    group = next(g for g in part.groups if g.name == "battery B1")
    assert findings == []
    assert (group.resistance_spread.value, group.current_spread.value) == pytest.approx((0, 0))


def test_units_draw_power_so_their_leads_do_not_share_by_resistance():
    """One lead of three measured at 1 m among 3.9 m: resistances 109 % apart, currents not 3 %; Kirchhoff's laws hold."""
    part, findings = shared(three('[[routes]]\ncarries = "battery"\nto = "L1-1"\nlength = "1 m"\n'))
    group = next(g for g in part.groups if g.name == "battery B1")
    assert group.resistance_spread.value > 0.5
    assert 0 < group.current_spread.value < 0.03
    power = 5000 / 0.9
    for lead in group.leads:
        assert lead.voltage.value * lead.current.value == pytest.approx(power)
    bar = [lead.voltage.value + lead.resistance.value * lead.current.value for lead in group.leads]
    assert bar == pytest.approx([bar[0]] * 3)
    # 1.1 m of 35 mm2 class 5 (0.554 mohm/m at 20 degC, IEC 60228) warm at 70 degC, out and back, ahead of the bar.
    common = 2 * 1.1 * 0.554e-3 * (1 + 0.00393 * 50)
    assert bar[0] == pytest.approx(46 - common * sum(lead.current.value for lead in group.leads))
    assert "like-circuits-unlike" in [f.code for f in findings]


def test_a_unit_at_the_end_of_a_thin_lead_starves():
    """6 mm2 for 5 kW at 46 V: the unit sees less than it runs on; 35 mm2 does."""
    text = three().replace('real_power = "5 kW"', 'real_power = "5 kW"\ndc_min = "44 V"')
    assert "unit-starved" in [f.code for f in shared(text, conductor="6 mm2")[1]]
    assert "unit-starved" not in [f.code for f in shared(text)[1]]


def test_leads_that_carry_no_power_stop_the_plan():
    """1.5 mm2: there is no voltage at which that power flows."""
    told = next(f for f in shared(three(), conductor="1.5 mm2", low=20.0)[1] if f.code == "leads-carry-no-power")
    assert told.level is Level.STOP


def test_what_is_not_known_gives_no_group():
    """Places out of reach: no length, no resistance, nothing invented."""
    part, findings = shared(three(place("obstacle", 2.3, 1.2, width=0.1, height=2.4)))
    assert [g.name for g in part.groups if g.name.startswith("battery")] == []
    assert findings == []


def test_the_bars_voltage_solves_the_machines_equations():
    """Two machines of 1 kW over 10 and 30 mohm behind 5 mohm at 50 V; residuals vanish; too much power has no solution."""
    volts = bar_voltage(50.0, 0.005, [0.01, 0.03], 1000.0)
    drawn = [(volts - np.sqrt(volts**2 - 4 * r * 1000.0)) / (2 * r) for r in (0.01, 0.03)]
    assert volts == pytest.approx(50 - 0.005 * sum(drawn))
    assert bar_voltage(50.0, 0.005, [0.01, 0.03], 25_000.0) is None
    assert bar_voltage(50.0, 0.2, [0.0, 0.0], 3_000.0) is None


def test_a_lead_at_its_very_limit_counts_as_one_that_cannot():
    """50 V over 0.1 ohm give 6250 W at the most, at half the voltage; the steps come down to it for ever, and what is not reached is not given."""
    assert bar_voltage(50.0, 0.1, [0.0], 6250.0) is None
    assert bar_voltage(50.0, 0.1, [0.0], 6000.0) == pytest.approx(25 + np.sqrt(25**2 - 0.1 * 6000))


@pytest.mark.parametrize(("source", "ohms", "power", "volts"), [
    (10.0, 1.0, 16.0, 10.0), (10.0, 1.0, 24.0, 10.0), (10.0, 1.0, 25.0, 10.0), (10.0, 1.0, 25.01, None),
    (0.5, 1e-6, 1.0, 0.5), (0.0, 0.0, 0.0, None), (0.0, 1e-6, 1.0, None), (-10.0, 0.0, 1.0, None),
])
def test_a_lead_carries_a_quarter_of_what_a_short_circuit_at_its_end_would_take(source, ohms, power, volts):
    """Power P flows over R from U as long as U^2 >= 4 R P: 10 V over 1 ohm give 25 W at the most (the maximum power transfer theorem); no voltage gives none."""
    assert bar_voltage(source, 0.0, [ohms], power) == volts


def test_a_bar_falls_with_what_all_of_its_leads_draw():
    """At 10 V 24 W draw 4 A over 1 ohm (6 V at its end) and 2.4 A over none: over a common 0.1 ohm the source stands 0.64 V higher."""
    assert bar_voltage(10.64, 0.1, [1.0, 0.0], 24.0) == pytest.approx(10.0, rel=1e-9)
