"""What planning again costs in the interview, as a share of a full plan: `python -m tests.benchmarks.replan [SAMPLE]`.

Each answer that touches no geometry is changed and put back by turns; every full plan stands between two of those, so that both meet the
same machine. The median of processor time is told, for other programs run beside. A third is the most that is allowed.
"""

from __future__ import annotations

import copy
import statistics
import sys
import time

from engine.files.emit import emit
from engine.files.read import parse
from engine.planner import Replanner, plan
from tests.generated.sites import DOCUMENTS

ROUNDS = 15
MOST = 1 / 3

# Key and another value; an entry of an array by its place.
EDITS = (
    ("loads.0.power", "2.3 kW"), ("loads.0.energy", "9 kWh/day"), ("loads.1.quantity", 2), ("loads.1.motor", True), ("loads.2.name", "Winch"), ("loads.2.machine", "kettle"),
    ("site.name", "Elsewhere"), ("site.ambient_max", "41 degC"), ("site.ambient_min", "-2 degC"), ("site.altitude", "900 m"),
    ("incoming.breaker", "200 A"), ("incoming.prospective_fault", "6 kA"), ("drop.battery", "1.5 %"), ("drop.load", "1.2 %"),
    ("unit.settle_time", "12 s"), ("unit.dc_torque", "7 N m"), ("unit.efficiency", 0.91), ("unit.charge_current", "70 A"), ("unit.transfer_current", "35 A"),
    ("unit.surge_power", "9 kVA"), ("unit.real_power", "4.6 kW"), ("unit.fault_current", "80 A"), ("unit.dc_min", "43 V"), ("unit.weight", "31 kg"),
    ("storage.autonomy", "5 h"), ("storage.depth", "70 %"), ("storage.module.absorption", "55.9 V"), ("storage.module.capacity", "190 Ah"),
    ("storage.module.resistance", "6 mohm"), ("storage.module.charge_current", "90 A"), ("storage.module.discharge_current", "140 A"), ("storage.module.low", "45 V"),
)  # fmt: skip


def changed(document, key, value):
    """The document with another value under a key."""
    other = copy.deepcopy(document)
    *way, last = (int(step) if step.isdigit() else step for step in key.split("."))
    at = other
    for step in way:
        at = at.setdefault(step, {}) if isinstance(at, dict) else at[step]
    at[last] = value
    return other


def took(work, site):
    start = time.thread_time()
    work(site.answers, site.revision)
    return time.thread_time() - start


def main(sample="harbour-works"):
    document = DOCUMENTS[sample]
    first = parse(emit(document).encode(), "s.toml")
    worst = 0.0
    print(f"{sample}: again / anew, in ms of the processor")
    for key, value in EDITS:
        other = parse(emit(changed(document, key, value)).encode(), "s.toml")
        replanner, anew, again = Replanner(), [], []
        for site in (first, other):
            replanner.plan(site.answers, site.revision)
        for _ in range(ROUNDS):
            anew += [took(plan, site) for site in (first, other)]
            again += [took(replanner.plan, site) for site in (first, other, first, other)]
        short, full = statistics.median(again), statistics.median(anew)
        worst = max(worst, short / full)
        print(f"  {key:34} {1000 * short:6.1f} / {1000 * full:6.1f} = {short / full:.2f}{' TOO MUCH' if short / full > MOST else ''}", flush=True)
    print(f"the dearest: {worst:.2f} of a full plan (at most {MOST:.2f})")
    return worst <= MOST


if __name__ == "__main__":
    sys.exit(0 if main(*sys.argv[1:]) else 1)
