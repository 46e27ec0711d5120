"""The record of inspection and tests, and the handover: whose heads they are, which steps hold the readings, who signs.

It copies no reading: those stand once, on the unit sheets and in the order of work.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from engine.sheets.cover import decisions
from engine.sheets.folder.as_left import as_left
from engine.sheets.folder.blocks import Block, Chapter, Para, Row, Signed, Table, Title, Together
from engine.sheets.folder.circumstances import circumstances
from engine.sheets.folder.filling import Paper
from engine.sheets.folder.letters import BOX, Words, blank, strong
from engine.site.keys import QuantityKey
from engine.stages.conductors.part import drop_limit
from engine.tables.handover import Head, heads, held
from engine.text import clean, counted, listed
from engine.workings import Figure

if TYPE_CHECKING:
    from engine.planner import Planned

# What people call the papers of the folder.
PAPERS = {
    "cover": "cover",
    "diagram": "diagram",
    "wall": "wall",
    "risk": "risk",
    "bill": "bill",
    "build": "build",
    "labels": "labels",
    "units": "units",
    "order": "order",
    "record": "here",
    "owner": "owner",
    "maintenance": "maintenance",
    "attached": "attached",
}
WRITING = 6.0


def record(planned: Planned, _paper: Paper) -> tuple[Chapter, ...]:
    """The chapter; none for a plan that is stopped."""
    if planned.plan.standing == "stopped":
        return ()
    blocks = [*_particulars(planned), *_heads(planned), *_limits(planned), *_instruments(planned), *_handed(planned), *_changes(planned)]
    blocks += [*as_left(planned), *_signatures(planned)]
    return (Chapter("record", "Test record and handover", tuple(blocks), "tester, inspector, owner"),)


# --- what is verified ---


def _particulars(planned: Planned) -> Iterator[Block]:
    book = (
        "NFPA 70 as adopted here, inspected by the authority having jurisdiction"
        if planned.facts.rules == "nec"
        else "IEC 60364-6 and its national form"
    )
    sun = " and IEC 62446-1" if planned.facts.solar and planned.facts.rules != "nec" else ""
    yield Para(
        f"Initial verification after the heads of {book}{sun}. Readings stand once, at the steps told here: those of one unit on its sheet, the others in the order of work."
    )
    cells: list[tuple[Words, Words]] = [(strong(name), value) for name, value in _told(planned)]
    half = -(-len(cells) // 2)
    rows = [Row((*cells[k], *(cells[k + half] if k + half < len(cells) else ("", ""))), least=WRITING) for k in range(half)]
    yield Table(("", "", "", ""), tuple(rows), widths=(15, 35, 15, 35))


def _told(planned: Planned) -> Iterator[tuple[str, Words]]:
    facts, plan = planned.facts, planned.plan
    answers = facts.answers
    model = clean(answers.unit.model or "", 40)
    yield (
        "Site",
        f"{clean(answers.site.name or '', 60) or 'not named'}{', ' + clean(answers.site.reference, 24) if answers.site.reference else ''}",
    )
    yield "Address", (blank(52),)
    yield "Owner, client", (blank(52),)
    yield (
        "Work",
        f"{counted(len(plan.units), 'unit')}{' ' + model if model else ''}, {answers.output.arrangement}, {facts.output_voltage}, {facts.output_frequency}",
    )
    yield "Banks", _banks(planned)
    if facts.solar:
        yield "Solar", _solar(planned)
    if facts.incoming_kind == "none":
        yield "Supply", "none comes in"
    else:
        breaker, fault = facts.figure("incoming.breaker"), facts.figure("incoming.prospective_fault")
        yield (
            "Supply",
            f"{facts.incoming_kind}, {answers.incoming.arrangement or 'arrangement not known'}, {facts.figure('incoming.voltage') or 'voltage not known'}, breaker {breaker or 'not known'}",
        )
        yield "Fault current", (f"planned {fault or 'not known'}, measured ", blank(16))
    yield (
        "Earthing",
        f"{answers.earthing.system or 'not known'}; units alone: {answers.earthing.island_bond or 'bond not decided'}, {clean(answers.earthing.bond_at or 'place not known', 40)}",
    )
    yield "Loop, earth", ("loop ", blank(14), " electrode ", blank(14), " ohm")
    if facts.rules == "nec":
        yield "Permit", (blank(52),)
    yield "Designed by", (blank(52),)
    yield "Installed by", (blank(52),)
    yield "Tested on", (blank(52),)
    yield "Next test", (blank(24), " licensed person")


def _banks(planned: Planned) -> str:
    alike: dict[str, list[str]] = {}
    for bank in planned.plan.banks:
        alike.setdefault(bank.energy or "energy not known", []).append(bank.name)
    told = "; ".join(f"{listed(names, 12)} {energy}{' each' if len(names) > 1 else ''}" for energy, names in alike.items())
    return f"{planned.facts.answers.storage.chemistry or 'cells not known'}, {told}"


def _solar(planned: Planned) -> str:
    facts, plan = planned.facts, planned.plan
    solar = facts.answers.solar
    power = plan.solar.power if plan.solar else None
    strings = counted(facts.trackers * facts.strings_on_tracker, "string")
    return f"{power or 'power not known'} a unit; {strings} of {solar.series or '?'} panels of {facts.figure('solar.power') or 'power not known'} each"


# --- the heads ---


def places(planned: Planned, names: Sequence[str]) -> str:
    """The numbers of those steps, runs of them as "4 to 7"; nothing where this plan has none of them."""
    found = sorted({step.place for step in planned.parts.procedure.steps if step.id.partition("@")[0] in names})
    spans: list[list[int]] = []
    for place in found:
        if spans and place == spans[-1][-1] + 1:
            spans[-1].append(place)
        else:
            spans.append([place])
    return ", ".join(
        str(span[0]) if len(span) == 1 else f"{span[0]} to {span[-1]}" if len(span) > 2 else f"{span[0]}, {span[1]}" for span in spans
    )


def _of(planned: Planned, *kinds: str) -> tuple[Head, ...]:
    return tuple(head for head in heads(planned.facts.rules, circumstances(planned)) if head.of in kinds)


def _clause(head: Head) -> str:
    return f"{head.clause}{'' if head.seen or head.clause == 'common practice' else '*'}"


def _heads(planned: Planned) -> Iterator[Block]:
    yield Title("Inspection and tests", "every box, or a line under changes")
    for kind in ("inspection", "test"):
        rows = [
            Row((head.head, _clause(head), places(planned, head.steps) or "-", PAPERS[head.page], (BOX, "   ", BOX), ""), shaded=k % 2 == 1)
            for k, head in enumerate(_of(planned, kind))
        ]
        yield Table((kind, "clause", "steps", "paper", "pass, fail", "by"), tuple(rows), widths=(38, 16, 19, 10, 11, 6), ruled=True)
    yield Para(f"* clause from memory, not seen in a copy of the standard: {_who(planned)} holds it against the edition in force.")


def _who(planned: Planned) -> str:
    return "the authority" if planned.facts.rules == "nec" else "the tester"


def _limits(planned: Planned) -> Iterator[Block]:
    """Limits of the plan, each with room for the one reading of the day that tells how near it came."""
    steps = {step.id.partition("@")[0]: step for step in reversed(planned.parts.procedure.steps)}
    rows = []
    for test in held(planned.facts.rules, circumstances(planned)):
        if step := steps.get(test.step):
            rows.append(Row((test.test, places(planned, [test.step]), step.expect, (f"{test.keep} ", blank(14)), ""), least=WRITING))
    rows += [Row((f"voltage drop, {name}", "-", told, "reckoned, not read", "-")) for name, told in _drops(planned)]
    yield Title("How near the limits", "the one reading of the day that came nearest")
    yield Table(("test", "steps", "limit", "reading", "where"), tuple(rows), widths=(24, 9, 39, 18, 10))


def _drops(planned: Planned) -> Iterator[tuple[str, str]]:
    """The largest planned drop of each kind of circuit, beside what is allowed."""
    sizing = planned.parts.conductors.of
    found: dict[QuantityKey, list[tuple[Figure, str]]] = {}
    for ends in planned.parts.circuits.circuits:
        drop = sizing[ends.name].drop if ends.name in sizing else None
        if drop and ends.kind != "earth":
            found.setdefault(drop_limit(ends), []).append((drop, ends.name))
    for key, drops in found.items():
        most, name = max(drops, key=lambda pair: pair[0].value)
        yield key.removeprefix("drop."), f"{name} {most}, at most {planned.facts.figure(key)}"


def _handed(planned: Planned) -> Iterator[Block]:
    """What the owner is given."""
    rows = [
        Row((head.head, _clause(head), PAPERS[head.page], (BOX,), ""), shaded=k % 2 == 1) for k, head in enumerate(_of(planned, "document"))
    ]
    yield Title("Handed over")
    yield Table(("document", "clause", "where", "given", "by"), tuple(rows), widths=(46, 20, 18, 9, 7))


def _instruments(planned: Planned) -> Iterator[Block]:
    names = planned.parts.procedure.instruments
    half = -(-len(names) // 2)
    pairs = ((names[k], names[k + half] if k + half < len(names) else "") for k in range(half))
    rows = tuple(Row((left, "", "", right, "", ""), least=WRITING) for left, right in pairs)
    yield Title("Instruments used")
    yield Table(("instrument", "serial no", "calibrated") * 2, rows, widths=(24, 14, 12) * 2, ruled=True)


# --- what was done otherwise, and who answers for it ---


def _changes(planned: Planned) -> Iterator[Block]:
    asked = len(decisions(planned))
    yield Title("Changes of the day, defects mended, what is left open")
    yield Para(
        "Another conductor, device, unit, bank, setting or order than this plan's is planned again before power, and its sheets made anew."
    )
    head = ("what the plan says", "what was done, and why", "agreed by", "revision since")
    yield Table(head, tuple(Row(("",) * 4, least=8.0) for _ in range(4)), widths=(30, 40, 15, 15), ruled=True)
    if asked:
        yield Para(
            (
                BOX,
                f"All {asked} decisions on the cover are taken and signed. "
                if asked > 1
                else "The decision on the cover is taken and signed. ",
                "Left open: ",
                blank(60),
            )
        )


def _signatures(planned: Planned) -> Iterator[Block]:
    """What each signs for, never parted from where they sign."""
    nec = planned.facts.rules == "nec"
    meant = (
        "Designer: the plan and its changes. Installer: built as planned, but for the changes above. Tester: inspected and tested at every head above. "
        "Licensed person: it may be energised and used. "
        + ("Inspector: for the authority. " if nec else "")
        + "Owner: has this folder, was shown stop, start and emergency, did it once alone."
    )
    signed = Signed(("designer", "installer", "tester", "licensed person", *(["inspector"] if nec else []), "owner"))
    yield Together((Title("Signatures", "each for their own part"), Para(meant), signed))
