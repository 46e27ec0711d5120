"""The eleven parts of a unit's sheet, in the true order of work; those of a stopped plan end before anything is landed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from engine.plan import UnitRow
from engine.planner import Planned
from engine.sheets.cover import decisions
from engine.sheets.unit.flow import PART_OF, Run, runs, span
from engine.sheets.unit.parts import BOX, GAP, Back, Box, Item, Part, Setting, Settings, Sign, Told
from engine.sheets.unit.terminals import landed
from engine.stages.circuits import Ends
from engine.stages.procedure.part import Step
from engine.stages.settings import Setting as Planned_
from engine.stages.switchgear import GearKind, Switchgear
from engine.tables.verification import limit
from engine.text import clean, counted

_HEAVY = 25.0  # kg: above it two people lift
_SHOWN = {"low": "low battery"}  # a setting whose key alone says too little
_STOPPED = 5  # the last part of a plan that is stopped


def unit_parts(planned: Planned, tag: str, where: str) -> tuple[Part, ...]:
    """The parts of unit `tag`; `where` says where the plan's decisions stand. KeyError where the plan has no such unit."""
    unit = next((row for row in planned.plan.units if row.tag == tag), None)
    if unit is None:
        raise KeyError(tag)
    own = list(runs(planned.parts.procedure.steps, tag, planned.parts.units.tags))
    stopped = planned.plan.standing == "stopped"
    parts = [
        Part("1 THIS UNIT", _name(planned, unit), (_told(planned, where),)),
        Part("2 FOUR BOXES BEFORE POWER", _power(own, stopped=stopped), tuple(_boxes(planned, unit, own, stopped=stopped))),
        Part("3 LOCK-OFF AND TOOLS", "insulated tools, no rings", tuple(_lock_off(planned, unit))),
        _of_steps(own, 4, "SETTINGS, alone on the bench", (), _settings(planned, unit)),
        _of_steps(own, 5, "DEAD TESTS BEFORE LANDING", ()),
    ]
    if stopped:
        end = Told(
            "THE PLAN IS STOPPED. Nothing of it is landed or energised. Cure what stops it, plan again, and take the new papers.",
            framed=True,
        )
        # Its last way back would lead to a step that is not there.
        before = replace(parts[-1], items=tuple(item for item in parts[-1].items if not isinstance(item, Back)))
        return (*parts[:-1], before, Part("6 STOPPED", "", (end,)))
    return (
        *parts,
        _of_steps(own, 6, "TERMINALS, land in this order", tuple(landed(planned, tag))),
        _of_steps(own, 7, "DEAD TESTS AFTER LANDING", ()),
        _of_steps(own, 8, "BATTERY", tuple(_fuse(planned, unit))),
        Part("9 DATA PORTS", "last in, first out", tuple(_ports(planned, unit, own))),
        _of_steps(own, 10, "LIVE READINGS", ()),
        Part("11 SIGNATURES", "", (Sign(("Set and wired by", "Checked by")),)),
    )


def _of_steps(own: list[Run], number: int, title: str, before: tuple[Item, ...], table: Iterator[Item] | None = None) -> Part:
    """A part that is made of steps, with the way back behind each run of them; a table stands after the step that enters it."""
    mine = [run for run in own if run.part == number]
    steps = [step for run in mine for step in run.steps]
    items: list[Item] = [*before]
    for run in mine:
        items.extend(run.steps)
        if run.back:
            items.append(run.back)
    if table:
        entered = next(k for k, item in enumerate(items) if isinstance(item, Step) and item.id.startswith("bench-enter@"))
        items[entered + 1 : entered + 1] = [*table]
    return Part(f"{number} {title}", span(steps), tuple(items))


def _name(planned: Planned, unit: UnitRow) -> str:
    lead = planned.parts.units.lead
    whose = f" (the lead is {lead})" if unit.role != "lead" and lead else ""
    return f"{unit.tag}, phase {unit.phase}, {unit.role.upper()}{whose}. Serial number: {GAP * 3}"


def _told(planned: Planned, where: str) -> Told:
    """What every sheet tells once."""
    asked = len(decisions(planned))
    signed = f" {counted(asked, 'decision')} {where}: each taken and signed." if asked else ""
    return Told(
        "The order of work says when each part is done. HOLD: nobody goes on before it is right. (!): someone can be hurt: never alone. "
        f"At an IF NOT, stop.{signed}"
    )


def _power(own: list[Run], *, stopped: bool) -> str:
    closing = _place(own, "battery-close")
    return (
        "the plan is stopped: no power" if stopped else f"all four, or step {closing} is not done" if closing else "all four, or no power"
    )


def _place(own: list[Run], name: str) -> int | None:
    return next((step.place for run in own for step in run.steps if step.id.startswith(f"{name}@")), None)


def _boxes(planned: Planned, unit: UnitRow, own: list[Run], *, stopped: bool) -> Iterator[Item]:
    """The four mistakes that destroy a unit, each with the steps that prove it."""
    parts = planned.parts

    def proved(*names: str) -> str:
        found = [str(place) for name in names if (place := _place(own, name))]
        return "" if stopped or not found else f" Tick after step{'s' if len(found) > 1 else ''} {' and '.join(found)}."

    yield Box(f"POLARITY: + on +, - on -.{proved('unit-polarity')}")
    confirm = "" if parts.banks.traced else " CONFIRM: trace both cables."
    if unit.bank and unit.storage_mode:
        bank = next(bank for bank in parts.banks.banks if bank.name == unit.bank)
        others = [tag for tag in bank.units if tag != unit.tag]
        word = next((setting.value_label for setting in parts.settings.of[unit.tag] if setting.setting == "storage_mode"), None)
        shared = f", with {', '.join(others)}" if others else ", this unit alone"
        yield Box(
            f"STORAGE MODE: {unit.storage_mode.upper()}. Bank {unit.bank}{shared}.{f' In its menu: {word}.' if word else ''}{confirm}{proved('read-back')}"
        )
    else:
        yield Box(f"STORAGE MODE: NOT YET KNOWN. No power. Who decides: {parts.settings.decides['storage_mode']}.")
    bar = f"{unit.phase} bar" if len(planned.plan.units) > 1 else "load board"
    yield Box(f"PHASE: {unit.phase} is set in the unit, and its load line goes to the {bar}.{proved('read-back', 'load-continuity')}")
    if parts.circuits.of("incoming", common=False):
        yield Box(
            f"SIDES: INCOMING is not LOAD. Each has its own line and its own NEUTRAL.{proved('load-continuity', 'incoming-continuity')}"
        )
    else:
        yield Box(f"SIDES: nothing on INCOMING (this site has none). LOAD has line and NEUTRAL landed.{proved('load-continuity')}")


def _lock_off(planned: Planned, unit: UnitRow) -> Iterator[Item]:
    parts, facts = planned.parts, planned.facts
    own = [ends for ends in parts.circuits.circuits if ends.tag == unit.tag and ends.kind != "earth"]
    points = [f"{ends.kind} ({_opener(parts.switchgear, ends)})" for ends in own]
    yield Box(f"(!) Open, lock and tag its isolators: {', '.join(points) or 'all of this unit (circuits not computed)'}.")
    yield Box(f"(!) Prove dead, meter proved before and after. Capacitors: five minutes, {limit('capacitors')}.")
    weight = facts.figure("unit.weight")
    lift = f" Two lift it: {facts.told(weight) if weight else 'weight on its plate'}." if weight is None or weight.value > _HEAVY else ""
    yield Told(f"Tools: those of step {_tools(planned)}; torque tool, paint marker, pre-charge kit, bench lead.{lift}")


def _tools(planned: Planned) -> int:
    """The step that lays out every instrument."""
    return next(step.place for step in planned.parts.procedure.steps if step.id == "tools@set")


def _opener(switchgear: Switchgear, ends: Ends) -> str:
    """What opens a circuit and is locked: its breaker, or its isolator, never a fuse."""
    gear = switchgear.opening(ends)
    assert gear is not None  # every circuit of a unit but its earth has one
    if gear.kind is not GearKind.ISOLATOR:
        return f"{gear.name} {gear.rating or ''}".strip()
    return f"{gear.name}, {f'{gear.rating} or more' if gear.rating else 'rating not computed'}"


def _settings(planned: Planned, unit: UnitRow) -> Iterator[Item]:
    known = {setting.setting: setting for setting in planned.parts.settings.of.get(unit.tag, ())}
    yield Settings(tuple(_setting(name, known.get(name), who) for name, who in planned.parts.settings.decides.items()))


def _setting(name: str, setting: Planned_ | None, who: str) -> Setting:
    told = _SHOWN.get(name, name.replace("_", " "))
    if setting is None:
        return Setting(told, "", "", "", f"NOT YET KNOWN: {who}")
    mark = " CONFIRM" if setting.confirm else " (assumed)" if setting.assumed else ""
    return Setting(told, setting.label or "", setting.value + mark, setting.value_label or "")


def _fuse(planned: Planned, unit: UnitRow) -> Iterator[Item]:
    """Without its fuse nothing is read behind it; without the bank closed neither."""
    fitting = next((step for step in planned.parts.procedure.steps if step.id == f"fit-fuses@{unit.bank}"), None)
    if fitting:
        yield Box(f"Look: its fuse is in, its rating written down in step {fitting.place} of the order of work.")


def _ports(planned: Planned, unit: UnitRow, own: list[Run]) -> Iterator[Item]:
    """Each cable with the step of the order of work that plugs it: a terminator that is in too early spoils the reading of the other."""
    chain, banks, steps = planned.parts.chain, planned.parts.banks, planned.parts.procedure.steps
    numbers = {step.id: step.place for step in steps}
    if len(planned.plan.units) == 1 and not chain.nodes:
        yield Told("One unit: no link. Terminators only if its manual asks for them.")
    for link in chain.links:
        port, other = (link.start_port, link.end) if link.start == unit.tag else (link.end_port, link.start)
        if unit.tag in (link.start, link.end):
            length = planned.facts.told(link.stock) if link.stock else "length NOT KNOWN: measure the way; the planner decides"
            yield Box(
                f"Step {numbers['links@chain']}: link to {clean(other, 30)}, port named {port or f'{GAP} (by the manual)'}, cable {length}."
            )
    for node in chain.nodes:
        if node.unit == unit.tag:
            yield Box(f"Step {numbers['links@chain']}: lead of {clean(node.name, 30)}, port named {node.port or f'{GAP} (by the manual)'}.")
    measured = " or ".join(dict.fromkeys(str(step.place) for step in steps if step.id.startswith("chain-resistance@")))
    for end in chain.terminators:
        if end.unit == unit.tag:
            yield Box(
                f"Only when step {measured} says so: TERMINATOR ({end.kind or 'kind by the port'}), port named {end.port or f'{GAP} (the free one)'}; an end of the chain."
            )
    for bank in banks.banks:
        lead = next((lead for lead in chain.data if lead.bank == bank.name), None)
        if unit.tag == (lead.unit if lead else bank.units[0]):
            data = f"data lead of bank {bank.name}, port for battery data; " if lead else ""
            yield Box(f"Step {numbers[f'sensor@{bank.name}']}: {data}temperature sensor of {bank.name}; by the manual.")
    live = next((run.steps[0].place for run in own if run.part == PART_OF["power up"]), None)
    yield Back("After each box: back to the order of work.", f"Here again with step {live}.")


__all__ = ["BOX", "unit_parts"]
