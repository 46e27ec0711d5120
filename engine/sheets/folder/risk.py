"""Risk and emergency: a first page that hangs beside the plant, and what can hurt, what is worn, what is locked off, for those who work on it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from engine.sheets.folder.blocks import Block, Chapter, Para, Row, Table, Title, Together
from engine.sheets.folder.circumstances import circumstances
from engine.sheets.folder.filling import Paper
from engine.sheets.folder.isolation import isolators, opening
from engine.sheets.folder.letters import blank, bold, strong
from engine.tables.handover import gloves
from engine.text import clean, counted, listed

if TYPE_CHECKING:
    from engine.plan import BankRow
    from engine.planner import Planned

UNKNOWN = "not known: treat as the highest"
WRITING = 5.8  # millimetres that a hand needs
_REGISTER, _EASY, _TIGHT = (
    150.0,
    8.0,
    5.0,
)  # millimetres for the rows of the register; for one of them where there is room, and where rows are many
_LINE, _ADDRESS = 44.0, 138.0  # to write on


def risk(planned: Planned, _paper: Paper) -> tuple[Chapter, ...]:
    """The chapter: a plan that is stopped has it too."""
    blocks = [*_emergency(planned), *_shut_down(planned), *_alone(), *_worn(planned), *_hazards(planned), *_register(planned)]
    return (Chapter("risk", "Risk and emergency", tuple(blocks), "everyone; the first page hangs beside the plant"),)


# --- the first page ---


def _emergency(planned: Planned) -> Iterator[Block]:
    stop = "Emergency shutdown" if planned.facts.rules == "nec" else "Emergency stop, if any"
    yield Table(
        ("", "", "", ""),
        (
            Row((strong("Emergency number"), (blank(_LINE),), strong("Nearest defibrillator"), (blank(_LINE),)), least=WRITING),
            Row((strong("Address for the call"), (blank(_ADDRESS),)), least=WRITING, spans=(1, 3)),
            Row((strong("Licensed person"), (blank(_LINE),), strong("Second person"), (blank(_LINE),)), least=WRITING),
            Row((strong(stop), (blank(_ADDRESS),)), least=WRITING, spans=(1, 3)),
        ),
        widths=(24, 26, 24, 26),
    )
    yield Title("If something has happened", "local emergency practice comes first")
    yield Table(("", "do this, in this order"), tuple(Row((strong(what), do)) for what, do in _happened(planned)), widths=(17, 83))


def _happened(planned: Planned) -> Iterator[tuple[str, str]]:
    holds = circumstances(planned)
    first = _first(planned)
    shock = (
        f"Do not touch them while they touch it. Open {first} below, or the breaker next to you. If that takes too long, or at a battery (its posts "
        "stay live whatever is open), stand on something dry and push them off with something dry that does not conduct. Call help. Not breathing: "
        "resuscitate, fetch the defibrillator, go on until help takes over. Whoever had a shock sees a doctor, however well they feel."
    )
    sun = "; its solar strings stay live by day" if "solar" in holds else ""
    fire = (
        f"Everybody out, doors shut, call: electrical fire with a battery ({_cells(planned)}){sun}. Open {first} only where you need not go near it. "
        "Put out nothing but a small fire, with an extinguisher that is marked for live gear, your back to the way out."
    )
    lithium = (
        "A module hisses, smokes, swells or smells: out, doors shut, stay upwind, call. Its gas is poisonous and can explode. "
        "Never open it, move it or charge it. It can catch fire again after days. Water: the fire brigade decides."
    )
    yield "Electric shock", shock
    yield "Burn by an arc", "Cool with clean water, pull off nothing that sticks, cover loosely, call. Eyes: rinse, cover both, doctor."
    yield "Fire, smoke", fire
    unknown = "The kind of cells is not known: both hold. " if planned.facts.answers.storage.chemistry is None else ""
    if "lithium" in holds:
        yield "Battery, lithium", unknown + lithium
    if "lead" in holds:
        yield "Battery, acid", unknown + _acid(planned, flooded="flooded" in holds)


def _acid(planned: Planned, *, flooded: bool) -> str:
    air = _air(planned.plan.banks)
    spilled = "Acid spilled" if flooded else "A case is cracked, or acid comes out"
    return (
        "Acid in an eye or on skin: running water at once, for a quarter of an hour, wet clothes off, then a doctor. "
        f"{spilled}: goggles, gloves, apron; strew soda (sodium bicarbonate) from its rim inwards until nothing foams; wipe up. "
        f"A smell of rotten eggs, a hot case: stop all charging, air, out. Charging gives hydrogen, which explodes: no flame, no spark, no gear above the bank. {air}"
    )


def _air(banks: Sequence[BankRow]) -> str:
    """What the plan has of ventilation, banks alike told together."""
    alike: dict[tuple[str, str], list[str]] = {}
    for bank in banks:
        if bank.ventilation and bank.opening:
            alike.setdefault((bank.ventilation, bank.opening), []).append(bank.name)
    told = [
        f"{listed(names, 12)}{' each' if len(names) > 1 else ''} {air}, two openings of {wide} each" for (air, wide), names in alike.items()
    ]
    return (
        f"Air that its room needs, banks in one room the sum: {'; '.join(told)}."
        if told
        else "Air that its room needs: not reckoned; both openings free."
    )


def _cells(planned: Planned) -> str:
    """What the fire brigade is told of it."""
    cells = planned.facts.answers.storage.chemistry
    kind = {
        "lfp": "lithium LFP",
        "nmc": "lithium NMC",
        "flooded": "lead-acid, flooded",
        "agm": "lead-acid, AGM",
        "gel": "lead-acid, gel",
        None: "kind not known",
    }
    banks = planned.plan.banks
    energy = dict.fromkeys(bank.energy for bank in banks if bank.energy)
    each = f", {counted(len(banks), 'bank')} of {' and '.join(energy)}" if energy else ""
    return kind[cells] + each


def _first(planned: Planned) -> str:
    """The rows that anybody may open who was shown how."""
    count = sum(act.who != "licensed" for act in opening(planned))
    return f"1 {'and' if count == 2 else 'to'} {count}"


def _shut_down(planned: Planned) -> Iterator[Block]:
    yield Title("Shut down, in this order", "closing again: by the order of work")
    rows = tuple(
        Row((str(number), act.what, act.where, act.live, act.who), shaded=act.who == "licensed")
        for number, act in enumerate(opening(planned), 1)
    )
    yield Table(("", "what", "where", "still live afterwards", "who may"), rows, widths=(4, 41, 18, 23, 14))
    yield Para("A step is left out only where life is at stake. No fuse and no plug is pulled under load. Shaded: licensed work.")


# --- for those who work on it ---


def _alone() -> Iterator[Block]:
    alone = (
        "Who opens a cover, works at battery posts, bars or strings, or measures what is live, has a second person beside them who can do all of "
        "the first page. Who may do such work is said by the law of the place; its codes and the makers' instructions come before this folder."
    )
    yield Para((bold("Never alone. "), alone), framed=True)


def _hazards(planned: Planned) -> Iterator[Block]:
    rows = tuple(Row(cells, shaded=k % 2 == 1) for k, cells in enumerate(_faults(planned)))
    table = Table(("place", "voltage", "short-circuit current", "what ends it"), rows, widths=(32, 19, 27, 22))
    yield Together((Title("What can hurt here", "short circuits at each place, no cable counted"), table))
    yield Para((bold("Always live: "), _live(planned)))


def _faults(planned: Planned) -> Iterator[tuple[str, str, str, str]]:
    yield from _battery_faults(planned)
    facts, plan = planned.facts, planned.plan
    own = f"{facts.output_voltage} to neutral"
    several = len(plan.units) > 1
    if facts.incoming_kind != "none":
        supply, voltage = facts.figure("incoming.prospective_fault"), facts.figure("incoming.voltage")
        known = str(supply) if supply else UNKNOWN
        breaker = facts.figure("incoming.breaker")
        at = f"{voltage} to neutral" if voltage else own
        yield "incoming board", at, known, f"the breaker there, {breaker}" if breaker else "the breaker there"
        beside = f"{supply}, and what the units give" if supply else UNKNOWN
        yield f"{'load board' if several else 'behind the unit'}, supply in", own, beside, "the breakers there"
    alone = _island(planned)
    yield (
        f"{'load board' if several else 'behind the unit'}, {'units' if several else 'unit'} alone",
        own,
        alone,
        "the units, when they shut down by themselves; the residual-current device to earth alone; a breaker may not",
    )
    if plan.solar is not None:
        cold, short = plan.solar.cold_voc, plan.solar.short_circuit
        yield "solar strings, each input", f"up to {cold} DC" if cold else UNKNOWN, short or UNKNOWN, "nothing, in daylight"


def _battery_faults(planned: Planned) -> Iterator[tuple[str, str, str, str]]:
    """Posts and what hangs on them; banks alike told together."""
    alike: dict[tuple[str, str], list[str]] = {}
    for bank in planned.plan.banks:
        most = bank.absorption_cold or bank.absorption
        alike.setdefault((f"up to {most} DC" if most else UNKNOWN, bank.fault_current or UNKNOWN), []).append(bank.name)
    bars = bool(planned.parts.circuits.of("battery", common=True))
    for (voltage, fault), names in alike.items():
        yield f"posts of {listed(names, 12)}, up to their fuses", voltage, fault, "nothing"
        yield f"{'bars, ' if bars else ''}battery terminals of the units", voltage, fault, "the fuses"
    if not alike:
        yield "posts of every bank", UNKNOWN, UNKNOWN, "nothing"


def _island(planned: Planned) -> str:
    """What the units of each phase give by themselves."""
    alike: dict[str, list[str]] = {}
    for row in planned.plan.phases:
        alike.setdefault(row.fault_current or UNKNOWN, []).append(row.phase)
    if len(alike) == 1:
        return next(iter(alike)) if UNKNOWN in alike else f"{next(iter(alike))}{' on each phase' if len(planned.plan.phases) > 1 else ''}"
    return "; ".join(f"{', '.join(phases)} {current}" for current, phases in alike.items()) or UNKNOWN


def _live(planned: Planned) -> str:
    facts = planned.facts
    told = ["battery posts, up to their fuses"]
    if facts.solar:
        told.append("strings in daylight")
    if facts.incoming_kind != "none":
        told.append(f"the {facts.incoming_kind} side of its isolator, unless locked farther up")
    told.append("for minutes, each unit's capacitors")
    return f"{'; '.join(told)}. An arc of direct current does not go out by itself."


def _worn(planned: Planned) -> Iterator[Block]:
    holds = circumstances(planned)
    kind = gloves(_alternating(planned), _direct(planned))
    arc = "NFPA 70E 130.5" if planned.facts.rules == "nec" else "the law of the place"
    posts = (
        f"Insulated tools (IEC 60900), insulating gloves class {kind} (IEC 60903) within leather, face shield against arcs, long sleeves that do not "
        "melt; the other pole covered; no ring, watch or chain."
    )
    rows = [
        ("Posts, bars, fuses, strings", posts),
        ("Measuring live", f"Gloves class {kind}, face shield, fused leads, a voltmeter of category III or IV (IEC 61010)."),
        ("Arc energy", f"Not reckoned here: who is in charge does so, by {arc}. Not known: treat as the highest."),
    ]
    if "lead" in holds:
        rows.append(("Acid", "Goggles, acid gloves, apron; water to rinse an eye within a few steps; soda at hand."))
    table = Table(("", ""), tuple(Row((strong(what), worn)) for what, worn in rows), widths=(17, 83))
    yield Together((Title("What is worn and used", "a maker's or the law's more wins"), table))


def _alternating(planned: Planned) -> float | None:
    line = planned.figures.get("plan.steps.line_voltage")
    return (line or planned.facts.output_voltage).value


def _direct(planned: Planned) -> float | None:
    """The highest direct voltage, None where one of them is not known."""
    banks = [bank.absorption_cold or bank.absorption for bank in planned.parts.storage.banks]
    strings = [planned.parts.strings.cold_voc] if planned.facts.solar else []
    known = [figure.value for figure in (*banks, *strings) if figure]
    return max(known) if known and len(known) == len(banks) + len(strings) else None


def _register(planned: Planned) -> Iterator[Block]:
    found = [clean(isolator.name, 40) for isolator in isolators(planned)]
    count = counted(len(found), "isolator")
    if planned.facts.incoming_kind == "generator":
        found.append("generator, start")
        count += ", and the generator's start"
    yield Title("Lock-off register", f"{count}; whoever works there hangs on a lock of their own" if found else "")
    half = -(-len(found) // 2)
    pairs = [(found[k], found[k + half] if k + half < len(found) else "") for k in range(half)]
    least = max(_TIGHT, min(_EASY, _REGISTER / max(half, 1)))
    rows = tuple(Row((strong(left), "", "", "", "", strong(right), "", "", "", ""), least=least) for left, right in pairs)
    if rows:
        yield Table(("isolator", "lock", "who", "on at", "off at") * 2, rows, widths=(35, 12, 21, 13, 13) * 2, ruled=True)
    else:
        yield Para("No isolator is planned yet: whatever there is, is opened, locked and written down by hand.")
