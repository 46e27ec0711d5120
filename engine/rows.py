"""The parts of a plan as the rows of its file: figures become text, names are cleaned. A row of the same things is made once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import field, fields
from functools import cache, partial
from typing import Any, TypeVar

from engine.files.digest import canonical
from engine.findings import Finding
from engine.frozen import dataclass
from engine.once import once
from engine.plan import (
    Assumption,
    BankRow,
    BillRow,
    ChainRow,
    CircuitRow,
    CutRow,
    DeviceRow,
    GearRow,
    HourRow,
    LinkRow,
    LoadRow,
    Noticed,
    PhaseRow,
    PlaceRow,
    ReelRow,
    Row,
    SettingRow,
    SolarRow,
    StepRow,
    TerminatorRow,
    UnitRow,
)
from engine.quantities import shown
from engine.stages.banks import Banks, Mode
from engine.stages.bill.part import Bill, Cut, Reel
from engine.stages.chain.part import Chain, Port
from engine.stages.circuits import Circuits, Ends
from engine.stages.conductors.part import Conductors, Sizing
from engine.stages.demand import Demand
from engine.stages.limits import Limits
from engine.stages.phases.part import PhaseLoad, Phases
from engine.stages.procedure.part import HURT, Step
from engine.stages.settings import Setting, Settings
from engine.stages.storage.part import BankSums, Storage
from engine.stages.strings import Strings
from engine.stages.switchgear import Gear
from engine.stages.units import UnitPlace, Units
from engine.stages.wall.part import Place, Run, Wall
from engine.tables.rules import told
from engine.text import clean
from engine.workings import Figure

R = TypeVar("R", bound=Row)


@dataclass(frozen=True)
class Section:
    """A section of the plan: which parts it reads, the things that each of its rows is made of, and how; an array unless it is `alone`."""

    reads: tuple[str, ...]
    of: Callable[..., Iterable[tuple[Any, ...]]]
    row: Callable[..., Any]
    alone: bool = False


@dataclass(frozen=True)
class Written:
    """Rows, or a section of them, with the text that they give to the digest; two are the same where that is."""

    rows: Any = field(compare=False)
    text: str


NOTHING = "null"  # what does not apply is left out


def written(section: Section, of: Sequence[Any]) -> Written:
    """A section of these parts, row by row."""
    rows = [once(_written, section.row, *things) for things in section.of(*of)]
    return rows[0] if section.alone else Written([row.rows for row in rows], f"[{','.join([row.text for row in rows])}]")


def _written(row: Callable[..., Any], *things: Any) -> Written:
    made = row(*things)
    return Written(made, canonical(made))


def _each(things: Iterable[Any]) -> list[tuple[Any]]:
    return [(thing,) for thing in things]


def _finding(finding: Finding) -> Noticed:
    return _same(Noticed, finding, value=_held(finding.value, finding), limit=_held(finding.limit, finding), source=told(finding.source))


def _units(units: Units, banks: Banks, chain: Chain, limits: Limits, settings: Settings) -> Iterator[tuple[Any, ...]]:
    place = {tag: place for place, tag in enumerate(chain.order, start=1)}
    for unit in units.units:
        tag = unit.tag
        yield (
            unit,
            banks.mode,
            banks.bank_of.get(tag),
            place.get(tag),
            limits.charge.get(tag),
            limits.incoming.get(tag),
            settings.of.get(tag),
        )


def _unit(
    unit: UnitPlace,
    mode: Mode | None,
    bank: str | None,
    place: int | None,
    charge: Figure | None,
    incoming: Figure | None,
    settings: Sequence[Setting] | None,
) -> UnitRow:
    return UnitRow(
        tag=unit.tag,
        phase=unit.phase,
        role=unit.role,
        storage_mode=mode,
        bank=bank,
        chain_place=place,
        charge_limit=_text(charge),
        incoming_limit=_text(incoming),
        settings=[once(_setting, setting) for setting in settings or ()],
    )


def _setting(setting: Setting) -> SettingRow:
    return _same(SettingRow, setting, confirm=True if setting.confirm else None)


def _loads(demand: Demand, phases: Phases) -> Iterator[tuple[Any, ...]]:
    placed = zip(demand.loads, phases.on, strict=True) if phases.on else ()
    return ((load.name, on) for load, on in placed)


def _load(name: str, on: Sequence[int]) -> LoadRow:
    return LoadRow(name=name, on=list(on))


def _phase(phase: PhaseLoad) -> PhaseRow:
    return _same(PhaseRow, phase, power=phase.real, reactive_power=phase.reactive, apparent_power=phase.apparent)


def _banks(banks: Banks, storage: Storage) -> Iterator[tuple[Any, ...]]:
    return ((sums, bank.units) for bank, sums in zip(banks.banks, storage.banks, strict=True))


def _circuits(circuits: Circuits, wall: Wall, conductors: Conductors) -> Iterator[tuple[Any, ...]]:
    return ((ends, wall.runs.get(ends.name), conductors.of.get(ends.name)) for ends in circuits.circuits)


def _gear(circuit: str | None, gear: Gear) -> GearRow:
    name, count = (gear.name if gear.name != gear.kind else None), (gear.count if gear.count > 1 else None)
    return _same(GearRow, gear, name=name, circuit=circuit, poles=" ".join(gear.poles), count=count)


def _cuts(bill: Bill) -> list[tuple[Cut, ...]]:
    """Piece by piece in the order of the circuits; poles that are cut alike stand together."""
    alike: dict[tuple[str, ...], list[Cut]] = {}
    for cut in bill.cuts:
        alike.setdefault((cut.circuit, str(cut.start), str(cut.end), cut.made, str(cut.length)), []).append(cut)
    return [tuple(some) for some in alike.values()]


def _cut(*some: Cut) -> CutRow:
    first, colours = some[0], {cut.pole: cut.colour for cut in some}
    return CutRow(
        circuit=first.circuit,
        poles=list(colours),
        colours=list(colours.values()),
        from_=clean(str(first.start), 60),
        to=clean(str(first.end), 60),
        conductor=first.made,
        length=_text(first.length),
        each=len(some) // len(colours),
    )


def _step(step: Step) -> StepRow:
    return _same(StepRow, step, do=f"{step.do} {HURT}" if step.hurt else step.do)


def _text(value: Any) -> Any:
    """A part's value as the file holds it."""
    if isinstance(value, str):
        # A plain str, also of a Level: the file knows no other kind of word.
        return clean(str(value), 2000)  # no sentence of ours is so long: none is cut
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


def _solar(strings: Strings | None) -> SolarRow | None:
    return _same(SolarRow, strings) if strings else None


def _reel(reel: Reel) -> ReelRow:
    return ReelRow(
        specification=clean(reel.conductor, 2000),
        length=shown(reel.length, "m"),
        cuts=[str(cut.length) for cut in reel.cuts],
        offcut=shown(reel.offcut, "m"),
        proof=reel.proof,
        bought=reel.bought,
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


def _place(place: Place) -> PlaceRow:
    """A bar without a size sits on its bank."""
    width, height = (shown(side, "m") if side else None for side in (place.width, place.height))
    return PlaceRow(name=clean(place.name, 60), x=shown(place.x, "m"), y=shown(place.y, "m"), width=width, height=height)


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


SECTIONS: Mapping[str, Section] = {
    "standing": Section(("standing",), lambda standing: [(standing.value,)], _text, alone=True),
    "proof": Section(("phases",), lambda phases: [(phases.proof or None,)], lambda proof: proof, alone=True),
    "unbalance": Section(("phases",), lambda phases: [(phases.unbalance,)], _text, alone=True),
    "day": Section(("hours",), lambda hours: [(hours.text or None,)], lambda text: text, alone=True),
    "assumed": Section(("assumed",), _each, partial(_same, Assumption)),
    "findings": Section(("findings",), _each, _finding),
    "units": Section(("units", "banks", "chain", "limits", "settings"), _units, _unit),
    "chain": Section(("chain",), lambda chain: [(chain,)], _chain, alone=True),
    "loads": Section(("demand", "phases"), _loads, _load),
    "phases": Section(("phases",), lambda phases: _each(phases.rows), _phase),
    "banks": Section(("banks", "storage"), _banks, _bank),
    "solar": Section(("facts", "strings"), lambda facts, strings: [(strings if facts.solar else None,)], _solar, alone=True),
    "hours": Section(("hours",), lambda hours: _each(hours.hours), partial(_same, HourRow)),
    "places": Section(("wall",), lambda wall: _each(place for place in wall.places if place.what != "obstacle"), _place),
    "circuits": Section(("circuits", "wall", "conductors"), _circuits, _circuit),
    "switchgear": Section(("switchgear",), lambda switchgear: switchgear.pieces, _gear),
    "bill": Section(("bill",), lambda bill: _each(bill.lines), partial(_same, BillRow)),
    "cuts": Section(("bill",), _cuts, _cut),
    "reels": Section(("bill",), lambda bill: _each(bill.reels), _reel),
    "steps": Section(("procedure",), lambda procedure: _each(procedure.steps), _step),
}
