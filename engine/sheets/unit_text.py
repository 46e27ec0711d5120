"""The sheet of one unit, for the one who wires it: nine parts in the order of the work, at most two A4 pages.

It reads well in grey and on a phone; whatever the plan does not know says what to measure and who decides.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engine.facts import Facts
from engine.plan import UnitRow
from engine.planner import Planned
from engine.quantities import told
from engine.sheets.head import FIRST, STANDINGS, stamp, stops
from engine.sheets.layout import WIDTH, cells, fit, grid, heading, wrapped
from engine.site.keys import QuantityKey
from engine.stages.bill.part import Cut
from engine.stages.circuits import Ends
from engine.stages.procedure.part import Section, Step
from engine.stages.settings import Setting
from engine.stages.switchgear import GearKind, Switchgear
from engine.tables.conductors import ALUMINIUM
from engine.tables.verification import limit
from engine.text import clean
from engine.workings import Figure

PAGE = 62  # lines of an A4 page, its own head included
_MOST = 2  # pages
_BEFORE = " BEFORE LANDING, cables alone. An insulation tester destroys a landed unit."
_AFTER = " AFTER LANDING, ohmmeter only."
_HEAVY = 25.0  # kg: above it two people lift
_LEADS = ("== ", _BEFORE, _AFTER, " setting ", " terminal ", " ---")
_SHOWN = {"low": "low battery"}  # a setting whose key alone says too little
_LIVE: tuple[Section, ...] = ("battery", "power up", "voltages", "loads", "solar")


def unit_sheet(planned: Planned, tag: str) -> str:
    """The sheet of unit `tag`; KeyError where the plan has no such unit."""
    unit = next((row for row in planned.plan.units if row.tag == tag), None)
    if unit is None:
        raise KeyError(tag)
    pages = _pages(_blocks(planned, unit, tight=False))
    if len(pages) > _MOST:
        pages = _pages(_blocks(planned, unit, tight=True))
    return "\n".join(_printed(planned, unit, pages)) + "\n"


def _blocks(planned: Planned, unit: UnitRow, *, tight: bool) -> list[list[str]]:
    """The nine parts; `tight` runs on what else stands in lines of its own: a step's "if not", a cable."""
    return [
        [*_name(planned, unit)],
        [*_boxes(planned, unit)],
        [*_lock_off(planned, unit)],
        [*_settings(planned, unit)],
        [*_terminals(planned, unit, tight=tight)],
        [*_dead_tests(planned, unit, tight=tight)],
        [*_ports(planned, unit)],
        [*_live_readings(planned, unit, tight=tight)],
        [*_signatures()],
    ]


def _pages(blocks: list[list[str]]) -> list[list[str]]:
    """The lines with a break where a page is full, between two items."""
    pages: list[list[str]] = [[]]
    for item in (item for block in blocks for item in _items(block)):
        if pages[-1] and len(pages[-1]) + len(item) > PAGE - 1:
            pages.append([])
        pages[-1].extend(item)
    return pages


def _printed(planned: Planned, unit: UnitRow, pages: list[list[str]]) -> Iterator[str]:
    """Every page says whose it is, and of which plan: pages get parted."""
    right = stamp(planned.plan)
    for number, page in enumerate(pages, 1):
        yield fit(f"{unit.tag}  sheet, page {number} of {len(pages)}", WIDTH - cells(right)) + right
        yield from page


def _items(block: list[str]) -> Iterator[list[str]]:
    """A block cut before each box, step or row; what leads in (a heading, a table's head) stays with what follows."""
    item: list[str] = []
    for line in block:
        if item and not line.startswith("      ") and not item[-1].startswith(_LEADS):
            yield item
            item = []
        item.append(line)
    yield item


def _name(planned: Planned, unit: UnitRow) -> Iterator[str]:
    site = planned.facts.answers.site
    yield heading("1 THIS UNIT", "(!) = someone can be hurt here: never alone")
    yield f" {unit.tag}   phase {unit.phase}   {unit.role.upper()}" + (
        f" (the lead is {planned.parts.units.lead})" if unit.role != "lead" and planned.parts.units.lead else ""
    )
    yield fit(f" Serial number: ______________________   Site: {clean(site.name or '', 32) or 'not named'}", WIDTH).rstrip()
    yield f" Plan: {STANDINGS[planned.plan.standing]}"
    yield from stops(planned, 2)
    yield f" {FIRST}"


def _boxes(planned: Planned, unit: UnitRow) -> Iterator[str]:
    """The four mistakes that destroy a unit, before it gets power."""
    parts = planned.parts
    yield heading("2 FOUR BOXES BEFORE POWER", "all four, or no power")
    polarity = next((step for step in parts.procedure.steps if step.who == unit.tag and step.section == "battery"), None)
    yield from _box(
        f"POLARITY: + on +, - on -. Open battery isolator reads {polarity.expect if polarity else 'not computed: measure; the planner decides'}."
    )
    confirm = "" if parts.banks.traced else " CONFIRM: trace both cables."
    if unit.bank and unit.storage_mode:
        bank = next(bank for bank in parts.banks.banks if bank.name == unit.bank)
        others = [tag for tag in bank.units if tag != unit.tag]
        word = next((setting.value_label for setting in parts.settings.of[unit.tag] if setting.setting == "storage_mode"), None)
        yield from _box(
            f"STORAGE MODE: {unit.storage_mode.upper()}. Bank {unit.bank}{', with ' + ', '.join(others) if others else ', this unit alone'}.{f' In its menu: {word}.' if word else ''}{confirm}"
        )
    else:
        yield from _box(f"STORAGE MODE: NOT YET KNOWN. No power. Who decides: {parts.settings.decides['storage_mode']}.")
    bar = f"{unit.phase} bar" if len(planned.plan.units) > 1 else "load board"
    yield from _box(f"PHASE: {unit.phase} is set in the unit, and its load line goes to the {bar}.")
    if parts.circuits.of("incoming", common=False):
        yield from _box("SIDES: INCOMING is not LOAD. Each has its own line and its own NEUTRAL.")
    else:
        yield from _box("SIDES: nothing on INCOMING (this site has none). LOAD has line and NEUTRAL landed.")


def _box(text: str) -> list[str]:
    return wrapped(text, " [ ] ", "      ")


def _lock_off(planned: Planned, unit: UnitRow) -> Iterator[str]:
    parts, facts = planned.parts, planned.facts
    yield heading("3 LOCK-OFF AND TOOLS", "insulated tools, no rings")
    own = [ends for ends in parts.circuits.circuits if ends.tag == unit.tag and ends.kind != "earth"]
    points = [f"{ends.kind} ({_opener(parts.switchgear, ends)})" for ends in own]
    yield from _box(f"Open, lock and tag its isolators: {', '.join(points) or 'all of this unit (circuits not computed)'}. (!)")
    yield from _box(f"Prove dead, meter proved before and after. Capacitors 5 min, {limit('capacitors')}. (!)")
    torque = [facts.told(figure) for figure in (facts.figure("unit.dc_torque"), facts.figure("unit.ac_torque")) if figure]
    weight = facts.figure("unit.weight")
    lift = f" Two lift it: {facts.told(weight) if weight else 'weight on its plate'}." if weight is None or weight.value > _HEAVY else ""
    yield from wrapped(
        "Tools: low-impedance voltmeter, micro-ohmmeter, insulation tester, clamp meter, "
        f"torque tool, {' and '.join(torque) or 'torques: see the manual'}, paint marker, pre-charge kit, bench lead.{lift}",
        " ",
        "      ",
    )


def _opener(switchgear: Switchgear, ends: Ends) -> str:
    """What opens a circuit and is locked: its breaker, or its isolator, never a fuse."""
    gear = switchgear.opening(ends)
    assert gear is not None  # every circuit of a unit but its earth has one
    if gear.kind is not GearKind.ISOLATOR:
        return f"{gear.name} {gear.rating or ''}".strip()
    return f"{gear.name}, {f'{gear.rating} or more' if gear.rating else 'rating not computed'}"


def _settings(planned: Planned, unit: UnitRow) -> Iterator[str]:
    wait = planned.facts.figure("unit.settle_time")
    yield heading("4 SETTINGS, alone on the bench", f"order of work, steps {_span(_own(planned, unit.tag, 'bench'))}")
    yield from wrapped(
        f"Earth; bench lead (fuse 20 A or less, pre-charge) + on +; on; enter; off; wait {wait or 'as the manual says'}"
        f"{_mark(planned, 'unit.settle_time')}; on; READ BACK; off; lead away; 5 minutes; {limit('capacitors')}. (!)",
        " ",
        "      ",
    )
    known = {setting.setting: setting for setting in planned.parts.settings.of.get(unit.tag, ())}
    decides = planned.parts.settings.decides
    yield from grid(
        ("setting", "maker's menu", "value", "maker's value", "read back"),
        [(*_setting(known[name]), "[ ] ____") for name in decides if name in known],
    )
    for name, who in decides.items():
        if name not in known:
            yield f" {_SHOWN.get(name, name.replace('_', ' ')):<17} NOT YET KNOWN: {who:<35} [ ] ____"


def _setting(setting: Setting) -> tuple[str, str, str, str]:
    mark = " CONFIRM" if setting.confirm else " (assumed)" if setting.assumed else ""
    return (
        _SHOWN.get(setting.setting, setting.setting.replace("_", " ")),
        setting.label or "",
        setting.value + mark,
        setting.value_label or "",
    )


def _mark(planned: Planned, key: QuantityKey) -> str:
    figure = planned.facts.figure(key)
    return " (assumed)" if figure and figure.how == "assumed" else ""


def _narrow(facts: Facts, torque: Figure | None) -> str:
    """A torque for a narrow column: under the NEC in its customary unit alone, since the tools above tell both."""
    return told(torque.value, torque.unit, facts.rules, short=True) if torque else "manual"


def _terminals(planned: Planned, unit: UnitRow, *, tight: bool) -> Iterator[str]:
    """What is landed where, in the order of landing."""
    parts, facts = planned.parts, planned.facts
    yield heading("5 TERMINALS, land in this order", f"only after tests {_span(_own(planned, unit.tag, 'dead tests'))} of part 6")
    stud = facts.answers.unit.dc_stud
    dc, ac = facts.figure("unit.dc_torque"), facts.figure("unit.ac_torque")
    ends = {
        "battery": (f"lug {stud}" if stud else "lug: measure", _narrow(facts, dc)),
        "earth": ("lug: measure", "manual"),
        "solar": ("connector", "-"),
    }
    pieces = sorted((cut for cut in parts.bill.cuts if cut.tag == unit.tag), key=lambda cut: cut.pole != "PE")  # every earth first
    crowded = False
    rows = []
    for name, pole in dict.fromkeys((cut.circuit, cut.pole) for cut in pieces):
        alike = [cut for cut in pieces if (cut.circuit, cut.pole) == (name, pole)]
        cut, circuit = alike[0], next(circuit for circuit in parts.circuits.circuits if circuit.name == name)
        place = circuit.start if circuit.end == unit.tag else circuit.end
        end, torque = ends.get(cut.kind, ("ferrule", _narrow(facts, ac)))
        if cut.cable and cut.cable.metal == ALUMINIUM:
            end = f"AL/CU {end.replace('ferrule', 'pin')}"
        size = f"{len(alike)} x {cut.size}" if len(alike) > 1 and cut.size else str(cut.size or "NOT COMPUTED")
        sign = {"plus": "+", "minus": "-"}.get(pole, pole)
        at_unit = "L" if pole.startswith("L") else sign
        too_large = pole != "PE" and name in parts.conductors.too_large
        crowded |= too_large
        made = f"{size} {cut.colour.replace('-and-', '/')}{'*' if too_large else ''}"
        rows.append((f"[ ] {cut.kind.upper()} {at_unit}", f"{place} {sign}", made, end, torque))
    if rows:
        yield from grid(("terminal", "goes to", "conductor", "end", "torque"), rows)
        if crowded:
            yield " * DOES NOT FIT the unit's terminal: adaptor (or two conductors: see the plan)."
        yield from _cables(pieces, _fuses(planned, unit), tight=tight)
    else:
        yield " Not computed: the planner decides what is landed where. Land nothing."
    yield f" Each PE but the first: free end to case {limit('continuity')}, then land it."
    yield " Colours never tell: measure. 'Manual': the maker's torque."


def _fuses(planned: Planned, unit: UnitRow) -> list[str]:
    """What protects the unit's battery cable, and where it sits."""
    own = [ends for ends in planned.parts.circuits.circuits if ends.tag == unit.tag and ends.kind == "battery"]
    fuses = [gear for ends in own if (gear := planned.parts.switchgear.fuse(ends))]
    return [f"By isolator and fuse {gear.rating or '(not computed)'} at {gear.place}." for gear in fuses]


def _cables(pieces: Sequence[Cut], fuses: Sequence[str], *, tight: bool) -> Iterator[str]:
    """What the print on each conductor must say, and what is ahead of it; `tight` runs one on behind the other."""
    alike: dict[str, list[str]] = {}
    for cut in pieces:
        if cut.cable and cut.size:
            alike.setdefault(str(cut.cable), []).append(cut.kind.upper())
    told = [f"{', '.join(dict.fromkeys(kinds))}: {cable}." for cable, kinds in alike.items()]
    if told:
        told.append(" ".join([*fuses, "Read the print: any other burns."]))
    for line in [" ".join(told)] if tight and told else told:
        yield from wrapped(line, " ", "      ")


def _own(planned: Planned, tag: str, *sections: Section) -> list[Step]:
    """The steps of one unit in these parts of the work."""
    return [step for step in planned.parts.procedure.steps if step.who == tag and step.section in sections]


def _span(steps: list[Step]) -> str:
    return f"{steps[0].place} to {steps[-1].place}"


def _dead_tests(planned: Planned, unit: UnitRow, *, tight: bool) -> Iterator[str]:
    """Those of the bare cables, then those of the landed unit: an insulation tester on a landed unit destroys it."""
    yield heading("6 DEAD TESTS", "proved dead; at an IF NOT, stop")
    yield _BEFORE
    for step in _own(planned, unit.tag, "dead tests"):
        yield from _step(step, tight=tight)
    yield _AFTER
    for step in _own(planned, unit.tag, "dead tests again"):
        yield from _step(step, tight=tight)


def _live_readings(planned: Planned, unit: UnitRow, *, tight: bool) -> Iterator[str]:
    yield heading("8 LIVE READINGS", "gaps: steps of the whole set; at an IF NOT, stop")
    for step in _own(planned, unit.tag, *_LIVE):
        yield from _step(step, tight=tight)


def _step(step: Step, *, tight: bool) -> Iterator[str]:
    do = f"{step.do} (!)" if step.hurt else step.do
    told, wrong = f"{do} WANT: {step.expect}. GOT:________", f"IF NOT: {step.otherwise}"
    first, rest = f"{step.place:>3} [ ] ", "        "
    if tight:
        yield from wrapped(f"{told} {wrong}", first, rest)
    else:
        yield from wrapped(told, first, rest)
        yield from wrapped(wrong, rest, rest)


def _ports(planned: Planned, unit: UnitRow) -> Iterator[str]:
    chain = planned.parts.chain
    yield heading("7 DATA PORTS", f"last in, first out; after step {_own(planned, unit.tag, 'battery')[-1].place}, unit off")
    if len(planned.plan.units) == 1:
        yield " One unit: no link. Terminators only if its manual asks for them."
    for link in chain.links:
        port, other = (link.start_port, link.end) if link.start == unit.tag else (link.end_port, link.start)
        if unit.tag in (link.start, link.end):
            yield from _box(
                f"Link to {clean(other, 30)} into the port named {port or '______ (by the manual)'}; cable {planned.facts.told(link.stock) if link.stock else 'length NOT KNOWN: measure the way; the planner decides'}."
            )
    for end in chain.terminators:
        if end.unit == unit.tag:
            yield from _box(
                f"TERMINATOR ({end.kind or 'kind by the port'}) into the port named {end.port or '______ (the free one)'}; an end of the chain."
            )
    lead = next((link.bank for link in planned.parts.banks.links if link.unit == unit.tag), None)
    if lead:
        yield from _box(f"Data lead of bank {lead} into the port for battery data; its temperature sensor too.")


def _signatures() -> Iterator[str]:
    yield heading("9 SIGNATURES")
    yield " Set and wired by: ____________________________  date: ______________"
    yield " Checked by:       ____________________________  date: ______________"
