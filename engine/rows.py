"""The parts of a plan as the rows of its file: figures become text, names are cleaned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from functools import cache
from typing import Any, TypeVar

from engine.facts import Assumed
from engine.findings import Finding, standing
from engine.parts import Parts
from engine.plan import (
    Assumption,
    BankRow,
    BillRow,
    ChainRow,
    CircuitRow,
    DeviceRow,
    HourRow,
    LinkRow,
    LoadRow,
    Noticed,
    PhaseRow,
    Plan,
    ReelRow,
    Row,
    SettingRow,
    SolarRow,
    StepRow,
    TerminatorRow,
    UnitRow,
)
from engine.quantities import shown
from engine.stages.bill.part import Reel
from engine.stages.chain.part import Chain, Port
from engine.stages.circuits import Ends
from engine.stages.procedure.part import HURT
from engine.tables.rules import told
from engine.text import clean
from engine.workings import Figure

R = TypeVar("R", bound=Row)


def rows(*, parts: Parts, assumed: Sequence[Assumed], findings: Sequence[Finding], solar: bool, revision: str, made_with: str) -> Plan:
    """The plan as it stands in the file."""
    return Plan(
        revision=revision,
        made_with=made_with,
        standing=standing(findings).value,
        proof=parts.phases.proof or None,
        unbalance=_text(parts.phases.unbalance),
        assumed=[_same(Assumption, value) for value in assumed],
        findings=[_same(Noticed, f, value=_held(f.value, f), limit=_held(f.limit, f), source=told(f.source)) for f in findings],
        units=[_unit(parts, tag) for tag in parts.units.tags],
        chain=_chain(parts.chain),
        loads=[LoadRow(name=load.name, on=list(on)) for load, on in zip(parts.demand.loads, parts.phases.on, strict=True)]
        if parts.phases.on
        else [],
        phases=[
            _same(PhaseRow, phase, power=phase.real, reactive_power=phase.reactive, apparent_power=phase.apparent)
            for phase in parts.phases.rows
        ],
        banks=[_bank(parts, bank.name, bank.units) for bank in parts.banks.banks],
        solar=_same(SolarRow, parts.strings) if solar else None,
        hours=[_same(HourRow, hour) for hour in parts.hours.hours],
        circuits=[_circuit(parts, ends) for ends in parts.circuits.circuits],
        bill=[_same(BillRow, line) for line in parts.bill.lines],
        reels=[_reel(reel) for reel in parts.bill.reels],
        steps=[_same(StepRow, step, do=f"{step.do} {HURT}" if step.hurt else step.do) for step in parts.procedure.steps],
    )


def _text(value: Any) -> Any:
    """A part's value as the file holds it."""
    if isinstance(value, Figure | Port):
        return str(value)
    if isinstance(value, str):
        # A plain str, also of a Level: the file knows no other kind of word.
        return clean(str(value), 600)
    if isinstance(value, tuple | list):
        return [_text(item) for item in value]
    return value


def _held(value: float | None, finding: Finding) -> str | None:
    """A finding's figure as the file holds it, value and limit in one unit."""
    return None if value is None else shown(value, finding.unit, like=finding.limit)


def _same(row: type[R], part: Any, **other: object) -> R:
    """A row from the part's fields of the same names, and from `other` where the names differ."""
    kind: Any = type(part)
    table: Any = row
    given = {name: getattr(part, own) for name, own in _shared(table, kind) if name not in other} | other
    return row(**{name: _text(value) for name, value in given.items()})


@cache
def _shared(row: Any, part: Any) -> tuple[tuple[str, str], ...]:
    """The fields that a row and a part both have, as each calls them."""
    names = {field.name for field in fields(row)}
    return tuple(
        (name, field.name) for field in fields(part) if (name := field.name if field.name in names else field.name.rstrip("_")) in names
    )


def _unit(parts: Parts, tag: str) -> UnitRow:
    unit = next(unit for unit in parts.units.units if unit.tag == tag)
    order = parts.chain.order
    return UnitRow(
        tag=tag,
        phase=unit.phase,
        role=unit.role,
        storage_mode=parts.banks.mode,
        bank=parts.banks.bank_of.get(tag),
        chain_place=order.index(tag) + 1 if tag in order else None,
        charge_limit=_text(parts.limits.charge.get(tag)),
        incoming_limit=_text(parts.limits.incoming.get(tag)),
        settings=[_same(SettingRow, setting, confirm=True if setting.confirm else None) for setting in parts.settings.of.get(tag, ())],
    )


def _chain(chain: Chain) -> ChainRow:
    return ChainRow(
        order=list(chain.order),
        length=_text(chain.length),
        proof=chain.proof or None,
        closest_to_power=_text(chain.closest),
        resistance=_text(chain.resistance),
        longest_stub=_text(chain.longest_stub),
        beside_power=_text(chain.beside),
        crossings=chain.crossings,
        links=[
            LinkRow(
                from_=link.start,
                from_port=_text(link.start_port),
                to=link.end,
                to_port=_text(link.end_port),
                length=_text(link.length),
                stock=_text(link.stock),
            )
            for link in chain.links
        ],
        terminators=[_same(TerminatorRow, terminator) for terminator in chain.terminators],
    )


def _reel(reel: Reel) -> ReelRow:
    return ReelRow(
        specification=clean(reel.conductor, 600),
        length=shown(reel.length, "m"),
        cuts=[str(cut.length) for cut in reel.cuts],
        offcut=shown(reel.offcut, "m"),
        proof=reel.proof,
    )


def _bank(parts: Parts, name: str, units: Sequence[str]) -> BankRow:
    sums = next((bank for bank in parts.storage.banks if bank.name == name), None)
    if sums is None:
        return BankRow(name=name, units=list(units))
    return _same(
        BankRow,
        sums,
        units=list(units),
        usable_energy=sums.usable,
        fault_current=sums.fault_breaking,
        fault_current_clearing=sums.fault_clearing,
    )


def _circuit(parts: Parts, ends: Ends) -> CircuitRow:
    run, sizing = parts.wall.runs.get(ends.name), parts.conductors.of.get(ends.name)
    row: dict[str, Any] = {
        "name": ends.name,
        "kind": ends.kind,
        "from_": ends.start,
        "to": ends.end,
        "length": _text(run.length) if run else None,
    }
    if sizing:
        row |= {
            "current": _text(sizing.current),
            "conductor": str(sizing.conductor) if sizing.conductor else None,
            "parallel": sizing.parallel if sizing.conductor else None,
            "earth": str(sizing.earth) if sizing.earth else None,
            "neutral": str(sizing.neutral) if sizing.neutral else None,
            "drop": _text(sizing.drop),
            "governed_by": sizing.governed_by,
            "device": _same(DeviceRow, sizing.device, kind=sizing.device.name) if sizing.device else None,
        }
        row |= {field.name: getattr(sizing.cable, field.name) for field in fields(sizing.cable)} if sizing.cable else {}
    return CircuitRow(**row)
