"""What may be counted on of each part, as the table in DEVELOPERS.md has it: on the samples and on sites that lack something."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest

from engine.findings import Level
from tests.conftest import SAMPLES, plan_text

CHANGES = {
    "as it is": ("", ""),
    "no chemistry": ('chemistry = "lfp"', ""),
    "bank per phase": ('connection = "common-bank"', 'connection = "bank-per-phase"'),
    "nothing comes in": ('kind = "utility"', 'kind = "none"'),
    "other book": ('rules = "iec"', 'rules = "nec"'),
    "no count": ("count = ", "spare = 0 # count = "),
}


@pytest.fixture(scope="module", params=[(name, change) for name in SAMPLES for change in CHANGES], ids=" ".join)
def site(request, sample_text):
    name, change = request.param
    return plan_text(sample_text(name).replace(*CHANGES[change]))


def test_phases_pair_with_loads(site):
    demand, phases = site.parts.demand, site.parts.phases
    if phases.per_phase:
        assert tuple(phases.per_phase) == site.facts.phases == tuple(row.phase for row in phases.rows)
        assert len(phases.on) == len(phases.worth) == len(demand.loads)
        for load, on, worth in zip(demand.loads, phases.on, phases.worth, strict=True):
            assert len(on) == len(worth) == len(site.facts.phases)
            assert [figure is not None for figure in worth] == [count > 0 for count in on]
            assert load.phase != "any" or not load.real or sum(on) == load.quantity


def test_units_banks_and_settings_pair(site):
    units, banks = site.parts.units, site.parts.banks
    assert units.lead is None or units.lead in units.tags
    assert set(banks.bank_of) == set(units.tags)
    assert sorted(tag for bank in banks.banks for tag in bank.units) == sorted(tag for tag, bank in banks.bank_of.items() if bank)
    assert [bank.name for bank in site.parts.storage.banks] == [bank.name for bank in banks.banks]
    assert banks.mode == {0: None, 1: "common"}.get(len(banks.banks), "separate")
    assert set(site.parts.settings.of) == set(units.tags)
    for limit in (*site.parts.limits.charge.values(), *site.parts.limits.incoming.values()):
        assert limit is None or limit.value == int(limit.value)


def test_circuits_are_the_keys_of_all_that_follows(site):
    parts, names = site.parts, [ends.name for ends in site.parts.circuits.circuits]
    assert len(set(names)) == len(names)
    assert set(parts.wall.runs) == set(names)
    assert set(parts.conductors.of) <= set(names)
    assert set(parts.currents.of) <= set(names)
    for name, run in parts.wall.runs.items():
        assert run.measured or (run.length is None) == (not run.path), name


def test_no_conductor_is_a_stop_or_a_current_nobody_knows(site):
    stopped = any(finding.level is Level.STOP for finding in site.findings)
    for ends in site.parts.circuits.circuits:
        sizing = site.parts.conductors.of.get(ends.name)
        if sizing and sizing.conductor is None:
            assert stopped or sizing.current is None, ends.name
        assert not (sizing and sizing.conductor) or sizing.cable, ends.name
    for ends in site.parts.circuits.circuits:
        alike = {(s.conductor, s.parallel) for e in site.parts.circuits.like(ends) if (s := site.parts.conductors.of.get(e.name))}
        assert len(alike) <= 1, ends.name


def test_the_chain_begins_at_the_lead_and_is_closed_at_both_ends(site):
    chain, units = site.parts.chain, site.parts.units
    if units.tags:
        assert sorted(chain.order) == sorted(units.tags)
        assert units.lead is None or chain.order[0] == units.lead
        assert [(link.start, link.end) for link in chain.links] == list(pairwise(chain.order))
        assert len(chain.terminators) == (2 if len(chain.order) + len(chain.nodes) > 1 else 0)


def test_every_cut_lies_on_one_reel_or_is_told(site):
    bill = site.parts.bill
    held = Counter(cut for reel in bill.reels for cut in reel.cuts)
    known = Counter(cut for cut in bill.cuts if cut.size and cut.length)
    told = {finding.code for finding in site.findings}
    assert not held - known
    assert not known - held or "cut-longer-than-reels" in told
    assert len(known) == len(Counter(bill.cuts)) or "bill-incomplete" in told
    assert all(0 <= line.spare <= line.quantity for line in bill.lines)


def test_steps_are_numbered_without_a_gap(site):
    """A step that is done at several places has one number, and stands in one section."""
    steps = site.parts.procedure.steps
    assert list(dict.fromkeys(step.place for step in steps)) == list(range(1, len({step.place for step in steps}) + 1))
    assert len({(step.place, step.section, step.do) for step in steps}) == len({step.place for step in steps})


def test_a_day_is_24_hours_or_none(site):
    hours = site.parts.hours.hours
    assert sorted(hour.hour for hour in hours) in ([], list(range(24)))
