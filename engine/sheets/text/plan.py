"""The plan page: standing first, then what stands in the way, then the plan itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engine.plan import DeviceRow
from engine.planner import Planned
from engine.quantities import shown
from engine.sheets.cover import assumed
from engine.sheets.text.day import day_text
from engine.sheets.text.deciding import deciding_lines, deciding_rules
from engine.sheets.text.layout import grid, heading, wrapped
from engine.sheets.text.top import head
from engine.stages.circuits import Ends
from engine.stages.switchgear import Switchgear
from engine.text import clean, counted


def plan_text(planned: Planned) -> str:
    """The whole plan as text; sheets, chain and bill have pages of their own."""
    return "\n".join(_lines(planned)) + "\n"


def _lines(planned: Planned) -> Iterator[str]:
    yield from head(planned, "PLAN")
    yield from deciding_lines(planned)
    yield from _part("UNITS", _units(planned))
    if planned.plan.proof:
        yield from wrapped(planned.plan.proof, " ")
    yield from _part("COMMS CHAIN", _chain(planned))
    yield from _part("PHASES", _phases(planned))
    yield from _part("BANKS", _banks(planned))
    yield from _part("SOLAR, per unit", _solar(planned))
    yield from _part("A DAY IN THE WORST MONTH", _day(planned))
    yield from _part("CIRCUITS", _circuits(planned))
    yield from _part("ASSUMED: nobody answered these", _assumed(planned))
    steps, bill = len(planned.plan.steps), len(planned.plan.bill)
    yield ""
    yield f"{counted(steps, 'step')} of work and {counted(bill, 'line')} of bill belong to this plan."
    yield from deciding_rules(planned)


def _part(title: str, lines: Sequence[str]) -> Iterator[str]:
    if lines:
        yield ""
        yield heading(title)
        yield from lines


def _units(planned: Planned) -> list[str]:
    confirm = "" if planned.parts.banks.traced else " CONFIRM"
    rows = [
        (
            unit.tag,
            unit.role,
            f"{unit.storage_mode or 'not known'}{confirm if unit.storage_mode else ''}",
            unit.bank or "-",
            str(unit.chain_place or "-"),
            unit.charge_limit or "-",
            unit.incoming_limit or "-",
        )
        for unit in planned.plan.units
    ]
    return (
        grid(("unit", "role", "storage mode", "bank", "in chain", "charge limit", "incoming limit"), rows)
        if rows
        else [" No units: the plan does not know how many."]
    )


def _chain(planned: Planned) -> list[str]:
    facts, chain = planned.facts, planned.parts.chain
    if not chain.links:
        return []
    ends = " and ".join(f"{clean(end.unit, 30)} ({end.port or 'free port'})" for end in chain.terminators)
    return [
        *wrapped(" > ".join(clean(name, 30) for name in chain.order), " "),
        *wrapped(
            f"{counted(len(chain.links), 'link')} ({', '.join(facts.told(link.stock) if link.stock else '?' for link in chain.links)}); "
            f"terminators at {ends or 'ends not known'}" + (f"; bus {facts.told(chain.length)}" if chain.length else ""),
            " ",
        ),
    ]


def _day(planned: Planned) -> list[str]:
    hours = planned.parts.hours
    if not hours.text:
        return []
    return [*wrapped(hours.text, " "), *day_text(hours, planned.facts.incoming_kind)]


def _phases(planned: Planned) -> list[str]:
    plan = planned.plan
    rows = [
        (
            phase.phase,
            str(phase.units or "-"),
            phase.power or "-",
            phase.apparent_power or "-",
            phase.surge or "-",
            phase.surge_limit or "-",
            phase.used or "-",
            phase.left or "-",
            phase.left_one_out or "-",
        )
        for phase in plan.phases
    ]
    lines = grid(("phase", "units", "power", "apparent", "start", "limit", "used", "left", "one out"), rows) if rows else []
    neutral = plan.phases[0].neutral_current if plan.phases else None
    if neutral:
        lines += [f" Neutral: {neutral}." + (f" Unbalance: {plan.unbalance}." if plan.unbalance else "")]
    return lines


def _banks(planned: Planned) -> list[str]:
    lines: list[str] = []
    for bank in planned.plan.banks:
        told = {
            "energy": bank.energy,
            "usable": bank.usable_energy,
            "lasts": bank.autonomy,
            "at full load": bank.autonomy_full_load,
            "discharge": bank.discharge_current,
            "charge limit": bank.charge_limit,
            "fault (breaking)": bank.fault_current,
            "fault (clearing)": bank.fault_current_clearing,
            "ventilation": bank.ventilation,
            "openings": bank.opening,
        }
        known = ", ".join(f"{name} {value}" for name, value in told.items() if value)
        lines += wrapped(f"{bank.name} feeds {', '.join(bank.units)}: {known or 'nothing computed yet'}.", " ", "   ")
    return lines


def _solar(planned: Planned) -> list[str]:
    solar = planned.plan.solar
    if solar is None:
        return []
    told = {"cold voltage": solar.cold_voc, "hot voltage": solar.hot_vmp, "current": solar.current, "power": solar.power}
    known = ", ".join(f"{name} {value}" for name, value in told.items() if value)
    panels = f"; {solar.series_from} to {solar.series_to} panels in series would do, best {solar.series_best}" if solar.series_best else ""
    return wrapped((known or "nothing computed yet") + panels + ".", " ", "   ")


def _circuits(planned: Planned) -> list[str]:
    rows = []
    for circuit, ends in zip(planned.plan.circuits, planned.parts.circuits.circuits, strict=True):
        sizing = planned.parts.conductors.of.get(circuit.name)
        run = planned.parts.wall.runs[circuit.name]
        drop = sizing.drop if sizing else None
        size = circuit.conductor or "not computed"
        size = f"{circuit.parallel} x {size}" if (circuit.parallel or 1) > 1 else size
        rows.append(
            (
                circuit.name,
                circuit.current or "-",
                planned.facts.told(run.length) if run.length else "-",
                size,
                shown(drop.value, drop.unit, 2) if drop else "-",
                _device(planned.parts.switchgear, ends, circuit.device),
                circuit.governed_by or "-",
            )
        )
    head = ("circuit", "current", "length", "conductor", "drop", "device", "decided by")
    return [*grid(head, rows), *_cables(planned)] if rows else []


def _device(switchgear: Switchgear, ends: Ends, device: DeviceRow | None) -> str:
    """What protects it, or the isolator that opens it, of a rating that is made."""
    gear = switchgear.opening(ends)
    if device is None or gear is None or gear.name != device.kind:
        return f"{device.kind} {device.rating or ''}".strip() if device else "-"
    return f"{gear.name} {gear.rating or ''}".strip()


def _cables(planned: Planned) -> list[str]:
    """What the conductors are made of, circuits of one cable together: the size alone is not enough to buy it."""
    alike: dict[str, list[str]] = {}
    for name, sizing in planned.parts.conductors.of.items():
        if sizing.cable and sizing.conductor:
            alike.setdefault(str(sizing.cable), []).append(name)
    told = ["", " Cables. The same size in another metal or insulation carries less, and burns:"] if alike else []
    return told + [line for cable, names in alike.items() for line in wrapped(f"{cable}: {', '.join(names)}.", " ", "   ")]


def _assumed(planned: Planned) -> list[str]:
    lines: list[str] = []
    for group in assumed(planned):
        lines.append(f" {group.about}")
        for taken in group.taken:
            lines += wrapped(f"{taken.what}: {taken.value} ({taken.why})", "   ", "     ")
    return lines
