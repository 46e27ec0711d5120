"""Phase sums and voltage drops of whole sites against power-grid-model, another program's power flow.

It knows phases to a stiff earth and no neutral node: loads between two phases and the two halves of a split phase are beyond it, and the
neutral is judged by the sum of its phase currents. Direct current is beyond it too.
"""

from __future__ import annotations

import cmath
import math

import pytest

from engine.planner import Planned
from engine.site.supply import ANGLES
from tests.engine.paper_sites import NAMES, sample
from tests.published.whole_sites import SITES, planned

pgm = pytest.importorskip("power_grid_model")

BALANCED = ("alder-farm", "harbour-works")  # three phases, nothing between two of them
LOADED = [which for which, site in SITES.items() if site["base"] == "three" and "loads" in site.get("answers", {}) and which != "phases-line-to-line-4kW"]


def node(number: int, volts: float) -> dict[str, float]:
    return {"id": number, "u_rated": volts}


def array(part: str, rows: list[dict[str, object]], kind: str = "input"):
    """Rows of one component as the model wants them."""
    made = pgm.initialize_array(kind, part, len(rows))
    for place, row in enumerate(rows):
        for name, value in row.items():
            made[name][place] = value
    return made


def stiff(number: int, at: int) -> dict[str, object]:
    """A source without any impedance to speak of."""
    return {"id": number, "node": at, "status": 1, "u_ref": 1.0, "sk": 1e20}


def flow_of_loads(site: Planned):
    """Power, reactive power and currents of each phase of a board on which every copy of every load stands by itself."""
    volts = site.facts.value("output.voltage")
    loads = []
    for load, on in zip(site.parts.demand.loads, site.parts.phases.on, strict=True):
        several = 3 if load.phase == "all" else 1
        power = [load.real.value * copies / several for copies in on]
        reactive = [load.reactive.value * copies / several for copies in on]
        loads.append({"id": 10 + len(loads), "node": 1, "status": 1, "type": pgm.LoadGenType.const_power, "p_specified": power, "q_specified": reactive})
    model = pgm.PowerGridModel({"node": array("node", [node(1, volts * 3**0.5)]), "source": array("source", [stiff(2, 1)]), "asym_load": array("asym_load", loads)})
    source = model.calculate_power_flow(symmetric=False)["source"][0]
    return source["p"], source["q"], source["i"]


@pytest.mark.parametrize("which", [*BALANCED, *LOADED])
def test_phase_sums(which: str) -> None:
    """Each phase of the set gives what the power flow finds, and the neutral carries the sum of its currents."""
    site = sample(which) if which in BALANCED else planned(which)
    power, reactive, current = flow_of_loads(site)
    rows = site.parts.phases.rows
    assert [row.real.value for row in rows] == pytest.approx(list(power), rel=1e-6, abs=1e-3)
    assert [row.reactive.value for row in rows] == pytest.approx(list(reactive), rel=1e-6, abs=1e-3)
    assert [row.current.value for row in rows] == pytest.approx(list(current), rel=1e-6)
    if not any(row["third_harmonic"] for row in map(vars, site.facts.answers.loads)):
        angles = (angle - math.atan2(q, p) for angle, p, q in zip(ANGLES["three-phase"].values(), power, reactive, strict=True))
        neutral = abs(sum(cmath.rect(amperes, angle) for amperes, angle in zip(current, angles, strict=True)))
        assert site.parts.phases.neutral.value == pytest.approx(neutral, rel=1e-6, abs=1e-3)


def share_dropped(amperes: float, factor: float, volts: float, ohms: complex) -> float:
    """Share of a phase's voltage that a constant current loses over an impedance, out and back counted in it."""
    line = volts * 3**0.5
    angle = math.acos(factor)
    wire = {"id": 3, "from_node": 1, "to_node": 2, "from_status": 1, "to_status": 1, "c1": 0.0, "tan1": 0.0, "r1": ohms.real, "x1": ohms.imag, "i_n": 1e4}
    load = {"id": 5, "node": 2, "status": 1, "type": pgm.LoadGenType.const_current, "p_specified": 3 * volts * amperes * factor, "q_specified": 3 * volts * amperes * math.sin(angle)}
    model = pgm.PowerGridModel(
        {"node": array("node", [node(1, line), node(2, line)]), "line": array("line", [wire]), "source": array("source", [stiff(4, 1)]), "sym_load": array("sym_load", [load])}
    )
    return 1 - float(model.calculate_power_flow()["node"]["u_pu"][1])


@pytest.mark.parametrize("which", [*NAMES, "drop-heater-40m", "drop-feeder-35mm2-50m", "drop-12awg-100ft", "iec-f-240mm2-xlpe-45degC"])
def test_drops(which: str) -> None:
    """Every AC circuit loses what the power flow finds for its conductor, its length and its current."""
    site = sample(which) if which in NAMES else planned(which)
    judged = 0
    for ends in site.parts.circuits.circuits:
        volts, sizing = site.figures.get(f"{ends.key}.drop_voltage"), site.parts.conductors.of.get(ends.name)
        if ends.kind not in ("load", "incoming") or volts is None or len(volts.of) != 5:
            continue
        amperes, metre, along, length, factor = (figure.value for figure in volts.of)
        ways = 1 if "sqrt" not in volts.how and volts.how.startswith("u = I") else 2
        ohms = complex(metre, along) * length * ways / sizing.parallel
        phase = volts.value / sizing.drop.value
        # The straight drop leaves out what turns the voltage: less than its own square.
        assert sizing.drop.value == pytest.approx(share_dropped(amperes, factor, phase, ohms), rel=1e-4, abs=(amperes * abs(ohms) / phase) ** 2)
        judged += 1
    assert judged
