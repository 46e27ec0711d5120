"""The owner's page: what stands there, what is normal, what to do, whom to call, what nobody may do."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from engine.plan import BankRow, PhaseRow
from engine.sheets.folder.blocks import Block, Chapter, Para, Row, Table, Title
from engine.sheets.folder.circumstances import circumstances
from engine.sheets.folder.filling import Paper
from engine.sheets.folder.isolation import charging, opening
from engine.sheets.folder.letters import blank, bold, strong
from engine.sheets.folder.losses import losses
from engine.text import counted, listed

if TYPE_CHECKING:
    from engine.planner import Planned

_CELLS = {"lfp": "lithium", "nmc": "lithium", "flooded": "lead-acid", "agm": "lead-acid", "gel": "lead-acid", None: ""}
WRITING = 6.0


def owner(planned: Planned, _paper: Paper) -> tuple[Chapter, ...]:
    """The chapter; none for a plan that is stopped."""
    if planned.plan.standing == "stopped":
        return ()
    blocks = [*_what(planned), *_day(planned), *_alarms(planned), *_call(planned), *_run(planned), *_lost(planned), *_never(planned)]
    return (Chapter("owner", "For the owner", tuple(blocks), "who lives or works with it"),)


def _pairs(head: tuple[str, ...], rows: Iterator[tuple[str, ...]], widths: tuple[float, ...]) -> Table:
    """A table whose first column is in bold."""
    return Table(head, tuple(Row((strong(cells[0]), *cells[1:]), shaded=k % 2 == 1) for k, cells in enumerate(rows)), widths)


def _what(planned: Planned) -> Iterator[Block]:
    facts, plan = planned.facts, planned.plan
    kind, cells = facts.incoming_kind, _CELLS[facts.answers.storage.chemistry]
    bank = f"{counted(len(plan.banks), 'battery bank')} ({listed([b.name for b in plan.banks], 12)}{', ' + cells if cells else ''})"
    together = f"{counted(len(plan.units), 'unit')} ({listed([u.tag for u in plan.units], 12)}) make{'s' if len(plan.units) == 1 else ''}"
    supply = f"one {facts.answers.output.arrangement} supply of {facts.output_voltage} at {facts.output_frequency}"
    sun = ", charged by solar panels" if facts.solar else ""
    comes = (
        f" While the {kind} is in, it feeds the loads and charges; else the units do it alone, and nothing is fed back."
        if kind != "none"
        else " Nothing comes in from outside."
    )
    yield Para(f"{together} {supply} from {bank}{sun}.{comes}")
    if plan.phases:
        rows = (_phase(row, told=bool(facts.answers.loads)) for row in plan.phases)
        yield _pairs(
            ("phase", "units", "planned loads", "of what the units give", "still free", "free, one unit out"),
            rows,
            (12, 12, 18, 22, 18, 18),
        )
    if plan.banks:
        yield _pairs(
            ("bank", "feeds", "holds", "to be used", "lasts, on an average day", "lasts, all units at full power"),
            map(_bank, plan.banks),
            (10, 26, 14, 14, 18, 18),
        )


def _phase(row: PhaseRow, *, told: bool) -> tuple[str, ...]:
    out = row.left_one_out
    short = f"{out}: too little" if out and out.startswith("-") else out
    single = "none" if row.units == 1 else None
    loads = (row.apparent_power or "-", row.used or "-") if told else ("none told", "-")
    return row.phase, str(row.units or "-"), *loads, row.left or "-", single or short or "-"


def _bank(row: BankRow) -> tuple[str, ...]:
    return row.name, listed(row.units, 12), row.energy or "-", row.usable_energy or "-", row.autonomy or "-", row.autonomy_full_load or "-"


def _day(planned: Planned) -> Iterator[Block]:
    yield Title("A day, and what is normal")
    scope = f" ({planned.parts.hours.scope})" if planned.parts.hours.scope else ""
    unknown = "How the day goes is not reckoned: not all loads, or the bank, were told."
    told = f"In the worst month{scope}: {planned.plan.day}" if planned.plan.day else unknown
    starts = (" The generator is started by ", blank(40)) if planned.facts.incoming_kind == "generator" else ()
    yield Para((told, *starts))
    yield _pairs(("you see", "it means", "you do"), iter(_normal(planned)), (24, 46, 30))


def _normal(planned: Planned) -> Iterator[tuple[str, str, str]]:
    facts = planned.facts
    yield "units on, no alarm", "The loads run from the bank; it empties.", "Now and then see how full it is."
    if facts.incoming_kind == "utility":
        yield "utility in", "It feeds the loads, the bank is charged. A short click at the change is normal.", "Nothing."
    if facts.incoming_kind == "generator":
        yield (
            "generator in",
            "It feeds the loads and charges the bank, within what it can give for hours.",
            "Let it run until charging eases; never switch it off under load.",
        )
    if facts.solar:
        yield "sun on the panels", "The bank is charged, or full; surplus is not taken.", "Large loads at noon."
    yield "fans run, cases warm", "Units work hard.", "Keep the space round them free."
    if facts.incoming_kind == "none" or facts.solar:
        yield (
            "bank nearly empty",
            "The units, or the bank, will switch off to save it.",
            "Loads off before that." if facts.incoming_kind != "generator" else "Start the generator; loads off.",
        )


def _alarms(planned: Planned) -> Iterator[Block]:
    yield Title("Alarms and troubles", "write down what the display says, and when")
    yield _pairs(("what", "at once", "then call"), iter(_troubles(planned)), (27, 57, 16))


def _troubles(planned: Planned) -> Iterator[tuple[str, str, str]]:
    holds = circumstances(planned)
    no_charge = f"; open {charging(planned)}" if charging(planned) else ""
    yield "overload, a unit trips", "Large loads off; wait; on again one by one, motors last.", "installer"
    yield (
        "residual-current device opens",
        "All breakers behind it off, close it, close them one by one: the one that opens it again stays off.",
        "licensed person",
    )
    yield (
        "a breaker opens",
        "One of the consumers': close it once. One of a unit: leave it. A fuse of the battery: touch nothing.",
        "installer",
    )
    if len(planned.facts.phases) > 1:
        yield (
            "some lamps bright, others dim",
            "Open the load isolator at once: the neutral is lost, and the light phase gets too much voltage.",
            "licensed person",
        )
    yield (
        "battery alarm, hot, smell",
        f"Loads off{no_charge}. Smoke, swelling: Risk and emergency.",
        "installer",
    )
    yield (
        "battery low",
        f"Loads off, all that can wait.{' Start the generator.' if 'generator' in holds else ''}",
        "installer",
    )
    if "data" in holds:
        yield "data, a unit missing", "Plug nothing, press nothing; write down which unit.", "installer"
    yield "hum, flicker, a hot cover", "Stop in order.", "installer"


def _call(planned: Planned) -> Iterator[Block]:
    holds = circumstances(planned)
    who = ["installer", "licensed person", "maker of the units", "maker of the bank"]
    who += ["generator service"] if "generator" in holds else ["utility"] if "utility" in holds else []
    who.append("emergency")
    cells = [(strong(name), (blank(36),)) for name in who]
    pairs = [(*cells[k], *(cells[k + 1] if k + 1 < len(cells) else ("", ""))) for k in range(0, len(cells), 2)]
    yield Title("Whom to call")
    yield Table(("", "", "", ""), tuple(Row(pair, least=WRITING) for pair in pairs), widths=(20, 30, 20, 30))


def _run(planned: Planned) -> Iterator[Block]:
    yield Title("Stop and start")
    acts = [act for act in opening(planned) if act.who != "licensed"]
    stop = " ".join(f"{number} {act.what}" for number, act in enumerate(acts, 1))
    yield Para(
        (
            bold("Stop: "),
            f"{stop} Battery isolators stay closed: data cables must be out before one is opened, and closing one wrongly destroys units. That is licensed work.",
        )
    )
    yield Para((bold("Start: "), _start(planned)))
    yield Para((bold("After a dead stop, or with an empty bank: "), _black_start(planned)))


def _start(planned: Planned) -> str:
    holds = circumstances(planned)
    units = "Units on, in the order of the manual; all of them answer, no alarm." if "several" in holds else "Unit on; no alarm."
    kind = planned.facts.incoming_kind
    supply = {
        "utility": " Close the incoming isolator.",
        "generator": " Start the generator, let it run up, close the incoming isolator.",
        "none": "",
    }[kind]
    sun = " Solar isolators last." if "solar" in holds else ""
    return f"All breakers of the consumers off. {units}{supply} Close the load isolator, then the residual-current device, then the consumers one by one, motors last.{sun}"


def _black_start(planned: Planned) -> str:
    holds = circumstances(planned)
    wait = "Every load off, else all motors start at once and stop it again. "
    bank = "Switch the bank on as its manual says. " if "managed" in holds else ""
    if "incoming" in holds:
        kind = planned.facts.incoming_kind
        return f"{wait}{bank}Let the {kind} charge before any load is on. If the units do not wake, or take nothing from the {kind}, the bank is below its lowest voltage: call the installer."
    if "solar" in holds:
        return f"{wait}{bank}Units off until the sun is well up; solar isolators closed; units on; let it charge for hours before the first load. If they do not wake, the bank is below its lowest voltage: call the installer."
    return f"{wait}{bank}Nothing here can charge it: the installer comes with a charger. Nobody joins another battery to it."


def _lost(planned: Planned) -> Iterator[Block]:
    yield Title("What goes on where something is lost")
    rows = ((loss.what, loss.then, loss.do) for loss in losses(planned))
    yield _pairs(("lost", "what happens", "you do"), rows, (22, 46, 32))


def _never(planned: Planned) -> Iterator[Block]:
    yield Title("Never", "without a new plan and a licensed person")
    yield _pairs(("never", "because"), iter(_forbidden(planned)), (48, 52))
    yield Para("Fire, shock, burns: Risk and emergency, which hangs beside the plant. What is looked after, and when: Maintenance.")


def _forbidden(planned: Planned) -> Iterator[tuple[str, str]]:
    holds = circumstances(planned)
    yield "add or exchange a unit, battery or large load", "Unlike ones are destroyed, or destroy the others."
    yield "change storage mode, phase, role or a limit", "A wrong one destroys units and burns batteries."
    yield "open a battery isolator with data cables in", "The data cable then carries the battery's current."
    yield "close a battery isolator, press in a fuse", "Without pre-charge it sparks and welds."
    yield "open a cover, pull a fuse", "What is behind stays live; an arc burns on."
    yield "close a unit's breaker that has opened", "What opened it is still there."
    yield "block air, store things before boards or bank", "Heat ages it; the way to the isolators stays free."
    if "solar" in holds:
        yield "part a solar connector by day", "It burns on as an arc."
    if "incoming" in holds:
        yield "plug another supply into a socket", "Two sources destroy units, and dead lines stay live."
    if "lead" in holds:
        yield "smoke, spark, lay metal on the bank", "Charging gives a gas that explodes."
