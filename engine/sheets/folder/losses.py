"""What goes on where something is lost: the lead, a unit, a phase, a bank, the supply (T18)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from engine.frozen import dataclass
from engine.sheets.folder.isolation import charging
from engine.text import listed

if TYPE_CHECKING:
    from engine.planner import Planned
    from engine.stages.banks import BankPlace
    from engine.stages.phases.part import PhaseLoad


@dataclass(frozen=True)
class Loss:
    """One loss, what it does, what is done."""

    what: str
    then: str
    do: str


def losses(planned: Planned) -> tuple[Loss, ...]:
    """Each loss that this set can have."""
    several = len(planned.parts.units.tags) > 1
    own = (*_lead(planned), *_units(planned), *_last_of_phase(planned)) if several else (_only(planned),)
    return (*own, *_banks(planned), *_supply(planned), *_data(planned))


def _by_manual(planned: Planned, key: str) -> str:
    return " (assumed: the manual says)" if planned.facts.assumes(key) else ""


def _only(planned: Planned) -> Loss:
    then = "Everything is off." + (
        " A bypass switch, if one is fitted, feeds the loads from the supply." if planned.facts.incoming_kind != "none" else ""
    )
    return Loss("the unit", then, "Stop in order; call the installer.")


def _lead(planned: Planned) -> Iterator[Loss]:
    lead, stops = planned.parts.units.lead, planned.facts.answers.set.lead_loss != "carries on"
    then = "Everything stops" if stops else "The others carry on"
    do = "Stop in order; another unit must be set as lead: installer." if stops else "Fewer loads; installer."
    yield Loss(f"the lead, {lead or 'not decided'}", f"{then}{_by_manual(planned, 'set.lead_loss')}.", do)


def _units(planned: Planned) -> Iterator[Loss]:
    """A unit of several on its phase: what the rest of them carries."""
    rows = [row for row in planned.parts.phases.rows if row.units > 1]
    if rows:
        short = any(row.left_one_out is None or row.left_one_out.value < 0 for row in rows)
        then = f"Where the set goes on without it (the manual says): {'; '.join(_left(row) for row in rows)}."
        yield Loss("one follower", then, "Loads off first, then call." if short else "Nothing more on; call.")


def _left(row: PhaseLoad) -> str:
    """What a phase lacks, or has over, with one unit out."""
    left = row.left_one_out
    if left is None:
        return f"{row.phase} not reckoned"
    return f"{row.phase} {left}, too little" if left.value < 0 else f"{row.phase} has {left} over"


def _last_of_phase(planned: Planned) -> Iterator[Loss]:
    if len(planned.facts.phases) < 2:
        return
    single = [row.phase for row in planned.parts.phases.rows if row.units == 1]
    some = " or ".join(single) if len(single) < len(planned.facts.phases) else "a phase"
    what = f"the only unit of {some}" if single else "all units of a phase"
    if planned.facts.answers.set.phase_loss == "carries on":
        then = "That phase is dark, the others go on; three-phase motors then run on two phases and burn"
        yield Loss(what, f"{then}{_by_manual(planned, 'set.phase_loss')}.", "Three-phase motors off at once; call.")
    else:
        yield Loss(what, f"Everything stops, the other phases too{_by_manual(planned, 'set.phase_loss')}.", "Stop in order; call.")


def _banks(planned: Planned) -> Iterator[Loss]:
    """Those that take the like along are told together."""
    banks = planned.parts.banks.banks
    if len(banks) < 2:
        yield Loss(
            "the bank", "Everything stops; only where the manual says so is the supply still passed through.", "Stop in order; call."
        )
        return
    alike: dict[str, list[str]] = {}
    for bank in banks:
        alike.setdefault(_like(planned, bank), []).append(bank.name)
    for then, names in alike.items():
        yield Loss(
            f"bank {' or '.join(names) if len(names) < 4 else listed(names, 12)}", then, "Loads off there; close nothing again; call."
        )


def _like(planned: Planned, bank: BankPlace) -> str:
    """What a bank takes along: a whole phase, the lead, or units of which others are left."""
    units = planned.parts.units
    several = len(planned.facts.phases) > 1
    whole = any((on := units.on(phase)) and all(unit.tag in bank.units for unit in on) for phase in planned.facts.phases)
    more = ["all units of a phase"] if whole and several else ["one follower"] if bank.units != (units.lead,) else []
    more += ["the lead"] if units.lead in bank.units else []
    many = ", and more than one at once is not reckoned" if "one follower" in more and len(bank.units) > 1 else ""
    return f"Its units stop: as for {' and for '.join(more)}{many}."


def _supply(planned: Planned) -> Iterator[Loss]:
    kind = planned.facts.incoming_kind
    if kind == "none":
        return
    yield Loss(
        f"the {kind}", "The set goes on alone from its battery; it feeds nothing back.", "See how full the bank is; large loads off."
    )


def _data(planned: Planned) -> Iterator[Loss]:
    if planned.parts.chain.links:
        yield Loss("a data cable", "Alarm, or everything stops: the manual says.", "Plug nothing while units run; call.")
    if planned.parts.chain.data:
        open_ = charging(planned)
        yield Loss("a bank's data cable", "Nothing may charge that bank.", f"Open {open_}; call." if open_ else "Call.")
    if planned.facts.solar:
        yield Loss("the sun, or a string", "The bank is charged less.", "Fewer loads; string: call.")
