"""Whether one bank gives what the set asks of it: current, time, charge, air (S26, T14, T16, S25)."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from engine.facts import Facts
from engine.findings import Finding, caution, note, stop
from engine.formulas import battery, motors
from engine.quantities import shown
from engine.stages.banking.sums import BankSums
from engine.stages.banking.thresholds import LEAD
from engine.tables import table

_SLACK = 1 + 1e-9
_RATED_TIME = 72_000.0  # s: lead-acid capacities are stated for 20 h


def bank_checks(facts: Facts, bank: BankSums, units: int) -> Iterator[Finding]:
    """Findings about one bank that feeds `units` units."""
    yield from _current(facts, bank, units)
    yield from _time(facts, bank)
    yield from _sharing(facts, bank)
    if facts.answers.storage.chemistry in LEAD:
        yield from _lead(facts, bank)


def _current(facts: Facts, bank: BankSums, units: int) -> Iterator[Finding]:
    drawn, limit = bank.discharge_current, bank.discharge_limit
    if drawn and limit and drawn.value > limit.value * _SLACK:
        strings = ceil((facts.answers.storage.bank.parallel or 1) * drawn.value / limit.value - 1e-9)
        yield stop(
            "bank-below-set",
            f"plan.banks[{bank.name}].discharge_current",
            f"{bank.name} must give {drawn} to {units} {'unit' if units == 1 else 'units'} at full load and low voltage, but gives at most {limit}: "
            f"{shown(drawn.value - limit.value, 'A')} too little.",
            f"About {strings} strings in parallel would do (from a bar), or modules of a larger current.",
            "S26, T1",
        )


def _time(facts: Facts, bank: BankSums) -> Iterator[Finding]:
    wanted, found = facts.figure("storage.autonomy"), bank.autonomy
    if wanted and found and 0 < found.value < wanted.value / _SLACK:
        strings = ceil((facts.answers.storage.bank.parallel or 1) * wanted.value / found.value - 1e-9)
        yield caution(
            "autonomy-short",
            f"plan.banks[{bank.name}].autonomy",
            f"{bank.name} carries its loads for {shown(found.value, 's', like=wanted.value)} at the mean of the day; {wanted} are wanted: {shown(wanted.value - found.value, 's', like=wanted.value)} too short.",
            f"{strings} strings in parallel would last that long, or use less.",
            "S25",
        )


def _sharing(facts: Facts, bank: BankSums) -> Iterator[Finding]:
    """T11 and T14: strings that share unevenly, and what that costs."""
    strings, share = facts.answers.storage.bank.parallel or 1, bank.largest_share
    if strings < 2 or share is None:
        return
    uneven = share.value * strings - 1
    if uneven > 0.10:
        feed = facts.answers.storage.bank.feed
        cure = (
            "Feed the bank from a bar, each string by leads of one length."
            if feed == "diagonal"
            else "Feed the bank diagonally, better from a bar."
        )
        yield caution(
            "strings-share-unevenly",
            f"plan.banks[{bank.name}].largest_share",
            f"The busiest of {strings} strings of {bank.name} carries {share} of the current, {uneven:.0%} more than its even part: it ages first and limits the bank.",
            f"{cure} Protect each string on its own.",
            "T11, T14: IEC 60364-4-43 433.4 (from memory)",
        )


def _lead(facts: Facts, bank: BankSums) -> Iterator[Finding]:
    """T16, and what lead-acid does not give at a high current."""
    if bank.ventilation and bank.opening:
        yield caution(
            "ventilate",
            f"plan.banks[{bank.name}].ventilation",
            f"{bank.name} gasses while it is charged: its room needs {bank.ventilation} of air, by two openings of {bank.opening} each.",
            "Banks in one room need the sum. One opening low, one high, on opposite walls; no flame, no spark, no device above a bank.",
            "T16: IEC 62485-2",
        )
    yield from _lead_cold(facts, bank)
    row = table("peukert_exponents").row("chemistry", facts.answers.storage.chemistry)
    capacity = facts.value("storage.module.capacity")
    if row is None or capacity is None or bank.autonomy_full_load is None or bank.discharge_current is None:
        return
    exponent, depth = row["most"], facts.value("storage.depth") or 0.0
    assert isinstance(exponent, float)
    whole = battery.bank_capacity(capacity, facts.answers.storage.bank.parallel or 1)
    time = battery.peukert_time(whole, _RATED_TIME, exponent, bank.discharge_current.value) * depth
    if time < bank.autonomy_full_load.value:
        yield note(
            "lead-at-high-current",
            f"plan.banks[{bank.name}].autonomy_full_load",
            f"At full load a lead-acid bank gives less than its rating: {bank.name} may last only {shown(time, 's', like=bank.autonomy_full_load.value)}, not {bank.autonomy_full_load}.",
            "Count on the shorter time; the capacity is taken as that of 20 h.",
            f"Peukert's law, exponent {exponent:g} ({table('peukert_exponents').told})",
        )


def _lead_cold(facts: Facts, bank: BankSums) -> Iterator[Finding]:
    """What a lead-acid bank holds on the coldest day in its room."""
    coldest, curve = facts.figure("site.ambient_min"), table("lead_acid_temperature")
    if coldest is None or bank.autonomy is None:
        return
    times = motors.interpolated(coldest.value, curve.figures("temperature")[::-1], curve.figures("multiplier")[::-1])
    if times > 1.05:
        yield note(
            "lead-in-the-cold",
            f"plan.banks[{bank.name}].autonomy",
            f"At {coldest} a lead-acid bank holds about {1 / times:.0%} of its rating: {bank.name} then lasts about {shown(bank.autonomy.value / times, 's')}.",
            f"Warm the bank's room, or plan {times:.2g} times the capacity.",
            curve.told,
        )
