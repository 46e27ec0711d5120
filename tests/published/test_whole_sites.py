"""Published figures read out of whole plans: what the formulas give must also be what a person gets."""

from __future__ import annotations

from typing import Any

import pytest

from engine.findings import Level
from tests.published.tables import table
from tests.published.whole_sites import SITES, agrees, planned, told

# The example's own figures leave no device that would break its fault.
STOPPED = {"modules-diagonal-1mohm": {"fault-above-every-device"}}


@pytest.mark.parametrize("which", SITES)
def test_site(which: str) -> None:
    """The plan says what is published, and nothing of the site beside it stops the plan."""
    site, plan = SITES[which], planned(which)
    for read in site["reads"]:
        ours = told(plan, read)
        assert agrees(ours, read["value"], read.get("tolerance", 0.0)), f"{read['key']}: the plan has {ours}, published {read['value']} ({site['source']})"
    assert {finding.code for finding in plan.findings if finding.level == Level.STOP} == STOPPED.get(which, set())


def test_sites_are_many_and_honest() -> None:
    """Every site names its source, where that was seen, and why it need not be met exactly."""
    assert len(SITES) >= 40
    assert {site["topic"] for site in SITES.values()} >= {"ampacity", "drop", "parallel", "battery", "strings", "neutral", "fuses and breakers", "earth", "ventilation", "chain"}
    for which, site in SITES.items():
        assert site["source"] and site["seen"] in ("found", "memory") and site["value"] in ("printed", "computed"), which
        for read in site["reads"]:
            assert read.get("why") or read.get("tolerance", 0.0) <= 1e-6, f"{which} {read['key']}: a tolerance without a reason"


@pytest.mark.parametrize("which", ["iec-c-25mm2-45degC", "neutral-70-84-33", "strings-cold-by-coefficient"])
def test_a_wrong_figure_is_noticed(which: str) -> None:
    """What is published, moved by 2 %, is no longer what the plan says."""
    reads: list[dict[str, Any]] = [read for read in SITES[which]["reads"] if "tolerance" in read]
    assert reads
    for read in reads:
        assert not agrees(told(planned(which), read), read["value"] * 1.02, read["tolerance"]), read["key"]


# What a step does for a test of the standard. Loop impedance is not read: no tester tells the fault current of units (T6). The sense of
# rotation is read before any two sources meet, so ahead of the residual-current test.
DOES = {"continuity of protective conductors": "Ohmmeter: case to it", "insulation resistance": "Insulation tester", "polarity": "LOAD line", "RCD": "Residual-current tester", "functional": "Show the user"}
SAFE = {"open each disconnecting device": "Open every isolator", "lock and tag": "Lock each", "prove dead, live-dead-live": "Prove dead"}


@pytest.mark.parametrize(("name", "column", "does"), [("test_order", "test", DOES), ("safe_work_steps", "step", SAFE)])
def test_the_order_of_work_is_the_standards(name: str, column: str, does: dict[str, str]) -> None:
    """What a standard asks for stands in the order of work of a whole site, in the standard's order."""
    steps = [step.do for step in planned("chain-reads-60-ohm").plan.steps]
    wanted = [does[str(row[column])] for row in table(name).rows if row[column] in does]
    places = [next(place for place, step in enumerate(steps) if words in step) for words in wanted]
    assert len(places) == len(does)
    assert places == sorted(places)
