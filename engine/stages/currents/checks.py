"""What the currents of the AC side cannot be had without, and transfer relays against the breaker ahead of them (T8)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from engine.facts import Facts
from engine.findings import Finding, caution, stop
from engine.quantities import shown
from engine.site.keys import QuantityKey
from engine.stages.circuits import Circuits
from engine.stages.currents.part import CircuitCurrents
from engine.stages.limits import Limits
from engine.tables.ratings import BREAKER, FUSE, standard_ratings

_WHY: Mapping[QuantityKey, tuple[str, str, str, str]] = {
    "incoming.breaker": (
        "breaker-unanswered",
        "The breaker ahead of the set",
        "without it no incoming conductor can be sized and the supply's limit is unknown",
        "Read it off the device's front.",
    ),
    "unit.transfer_current": (
        "transfer-current-unanswered",
        "What a unit may pass through from the incoming side",
        "without it a unit's incoming device cannot be chosen, and its transfer relay may weld",
        "It stands in the unit's manual as the current it passes through.",
    ),
}

_WHERE_FAULT = {
    "generator": "It stands in the generator's manual as its short-circuit current: of the sustained one and the higher one at the first instant take the higher.",
    "utility": "Ask the utility for it in a letter, or take the rating and impedance of your own transformer.",
}


def unanswered(facts: Facts, circuits: Circuits) -> Iterator[Finding]:
    """What no current can be had without, and what is never assumed."""
    if not circuits.circuits:
        return
    if facts.answers.incoming.kind != "none":
        for key in facts.missing(*_WHY):
            code, what, why, remedy = _WHY[key]
            yield stop(
                code,
                key,
                f"{what} is not answered: {why}. It is never assumed.",
                remedy,
                "trade practice: never defaulted",
                unanswered=True,
            )
        if facts.missing("incoming.prospective_fault"):
            text = "The prospective fault current of the supply is not answered: breaking capacity and withstand of the AC circuits are not checked."
            remedy = _WHERE_FAULT["generator" if facts.answers.incoming.kind == "generator" else "utility"]
            yield caution(
                "prospective-fault-unanswered",
                "incoming.prospective_fault",
                text,
                remedy,
                "IEC 60364-4-43 434.1; NFPA 70 (NEC) 110.9",
                unanswered=True,
            )
    for key in facts.missing("unit.apparent_power", *(("solar.isc",) if facts.solar else ())):
        what = "A unit's apparent power" if key == "unit.apparent_power" else "The modules' short-circuit current"
        text = f"{what} is not answered: the circuits that carry it have no current, no device and no conductor."
        yield caution("current-unknown", key, text, "It stands in the datasheet.", "S2, S3, S11", unanswered=True)


def transfer(facts: Facts, limits: Limits, circuits: Circuits) -> Iterator[Finding]:
    """T8: what the breaker lets through must not be more than the units of a phase stand."""
    transfer, breaker = facts.value("unit.transfer_current"), facts.value("incoming.breaker")
    units = circuits.of("incoming", common=False)
    if transfer is None or not units:
        return
    smallest = standard_ratings(facts.rules, BREAKER)[0]
    if transfer < smallest:
        text = f"The transfer current {shown(transfer, 'A')} is below the smallest standard breaker, {shown(smallest, 'A')}."
        yield stop(
            "transfer-below-devices",
            "unit.transfer_current",
            text,
            "Check the figure in the unit's manual.",
            "T8",
            value=transfer,
            limit=smallest,
            unit="A",
        )
    if breaker is None:
        return
    stands: dict[float, list[str]] = {}
    for phase in dict.fromkeys(str(ends.phase) for ends in units):
        count = sum(ends.phase == phase for ends in units)
        stands.setdefault(limits.passed[phase].value * count, []).append(phase)
    for most, phases in stands.items():
        if breaker > most * (1 + 1e-9):
            text = f"The {shown(breaker, 'A')} breaker may pass more through {', '.join(phases)} than the units there stand: {shown(most, 'A')}."
            remedy = f"Set the units' incoming limits, or fit a device of at most {shown(most, 'A')} ahead of the set."
            yield caution(
                "breaker-above-transfer",
                "incoming.breaker",
                text,
                remedy,
                "T8: units in parallel share unevenly",
                value=breaker,
                limit=most,
                unit="A",
            )


def no_device(rules: str, circuits: Circuits, of: Mapping[str, CircuitCurrents]) -> Iterator[Finding]:
    """Currents above the largest device there is, or a transfer current below the smallest."""
    for ends in circuits.circuits:
        told = of.get(ends.name)
        if told and told.design and told.rating is None:
            device = FUSE if ends.kind == "battery" else BREAKER
            largest = standard_ratings(rules, device)[-1]
            more = told.needed if told.needed and told.needed.value > told.design.value * (1 + 1e-9) else None
            asks = f"asks for a {device} of {more}, for its surge or its warm box" if more else f"carries {told.design}"
            text = f"{ends.name} {asks}: more than the largest standard {device}, {shown(largest, 'A')}."
            remedy = "Divide the set over more banks or boards, so that each circuit carries less."
            source = "IEC 60269-1, IEC 60947-2; NFPA 70 (NEC) 240.6(A)"
            yield stop("no-device-large-enough", f"{ends.key}.current", text, remedy, source, value=more or told.design, limit=largest)
