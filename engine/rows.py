"""The parts of a plan as the rows of its file: figures become text, names are cleaned."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields
from functools import cache
from typing import Any, TypeVar

from engine.facts import Assumed
from engine.findings import Finding
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
    ReelRow,
    Row,
    SettingRow,
    SolarRow,
    StepRow,
    TerminatorRow,
    UnitRow,
)
from engine.quantities import shown
from engine.stages.banks import Banks
from engine.stages.bill.part import Bill, Reel
from engine.stages.chain.part import Chain, Port
from engine.stages.circuits import Circuits, Ends
from engine.stages.conductors.part import Conductors, Sizing
from engine.stages.demand import Demand
from engine.stages.hours.part import Hours
from engine.stages.limits import Limits
from engine.stages.phases.part import Phases
from engine.stages.procedure.part import HURT, Procedure
from engine.stages.settings import Settings
from engine.stages.storage.part import BankSums, Storage
from engine.stages.strings import Strings
from engine.stages.units import Units
from engine.stages.wall.part import Run, Wall
from engine.tables.rules import told
from engine.text import clean
from engine.workings import Figure

R = TypeVar("R", bound=Row)


def noticed(findings: Sequence[Finding]) -> list[Noticed]:
    """`[[plan.findings]]`"""
    return [_same(Noticed, f, value=_held(f.value, f), limit=_held(f.limit, f), source=told(f.source)) for f in findings]


def assumptions(assumed: Sequence[Assumed]) -> list[Assumption]:
    """`[[plan.assumed]]`"""
    return [_same(Assumption, value) for value in assumed]


def _proof(phases: Phases) -> str | None:
    return phases.proof or None


def _unbalance(phases: Phases) -> str | None:
    return None if phases.unbalance is None else str(phases.unbalance)


def _units(units: Units, banks: Banks, chain: Chain, limits: Limits, settings: Settings) -> list[UnitRow]:
    place = {tag: place for place, tag in enumerate(chain.order, start=1)}
    return [
        UnitRow(
            tag=unit.tag,
            phase=unit.phase,
            role=unit.role,
            storage_mode=banks.mode,
            bank=banks.bank_of.get(unit.tag),
            chain_place=place.get(unit.tag),
            charge_limit=_text(limits.charge.get(unit.tag)),
            incoming_limit=_text(limits.incoming.get(unit.tag)),
            settings=[_same(SettingRow, setting, confirm=True if setting.confirm else None) for setting in settings.of.get(unit.tag, ())],
        )
        for unit in units.units
    ]


def _loads(demand: Demand, phases: Phases) -> list[LoadRow]:
    placed = zip(demand.loads, phases.on, strict=True) if phases.on else ()
    return [LoadRow(name=load.name, on=list(on)) for load, on in placed]


def _phases(phases: Phases) -> list[PhaseRow]:
    return [_same(PhaseRow, phase, power=phase.real, reactive_power=phase.reactive, apparent_power=phase.apparent) for phase in phases.rows]


def _banks(banks: Banks, storage: Storage) -> list[BankRow]:
    return [_bank(sums, bank.units) for bank, sums in zip(banks.banks, storage.banks, strict=True)]


def _hours(hours: Hours) -> list[HourRow]:
    return [_same(HourRow, hour) for hour in hours.hours]


def _circuits(circuits: Circuits, wall: Wall, conductors: Conductors) -> list[CircuitRow]:
    return [_circuit(ends, wall.runs.get(ends.name), conductors.of.get(ends.name)) for ends in circuits.circuits]


def _bill(bill: Bill) -> list[BillRow]:
    return [_same(BillRow, line) for line in bill.lines]


def _reels(bill: Bill) -> list[ReelRow]:
    return [_reel(reel) for reel in bill.reels]


def _steps(procedure: Procedure) -> list[StepRow]:
    return [_same(StepRow, step, do=f"{step.do} {HURT}" if step.hurt else step.do) for step in procedure.steps]


def solar(strings: Strings) -> SolarRow:
    """`[plan.solar]`"""
    return _same(SolarRow, strings)


def _text(value: Any) -> Any:
    """A part's value as the file holds it."""
    if isinstance(value, str):
        # A plain str, also of a Level: the file knows no other kind of word.
        return clean(str(value), 600)
    if isinstance(value, Figure | Port):
        return str(value)
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
    given = {name: _text(getattr(part, own)) for name, own in _shared(table, kind) if name not in other}
    return row(**given, **{name: _text(value) for name, value in other.items()})


@cache
def _shared(row: Any, part: Any) -> tuple[tuple[str, str], ...]:
    """The fields that a row and a part both have, as each calls them."""
    names = {field.name for field in fields(row)}
    return tuple(
        (name, field.name) for field in fields(part) if (name := field.name if field.name in names else field.name.rstrip("_")) in names
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


def _bank(sums: BankSums, units: Sequence[str]) -> BankRow:
    return _same(
        BankRow,
        sums,
        units=list(units),
        usable_energy=sums.usable,
        fault_current=sums.fault_breaking,
        fault_current_clearing=sums.fault_clearing,
    )


def _circuit(ends: Ends, run: Run | None, sizing: Sizing | None) -> CircuitRow:
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


# What each section of the plan is made of: its arguments are the parts that it reads.
SECTIONS: Mapping[str, Callable[..., Any]] = {
    "proof": _proof,
    "unbalance": _unbalance,
    "units": _units,
    "chain": _chain,
    "loads": _loads,
    "phases": _phases,
    "banks": _banks,
    "hours": _hours,
    "circuits": _circuits,
    "bill": _bill,
    "reels": _reels,
    "steps": _steps,
}
