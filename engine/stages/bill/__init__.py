"""The bill: everything that is forgotten, counted; and the reels the conductors are cut from."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from engine.facts import Facts
from engine.findings import Finding
from engine.stages.banks import Banks
from engine.stages.bill.bars import bars, pre_charge
from engine.stages.bill.checks import incomplete, too_long
from engine.stages.bill.cuts import cuts
from engine.stages.bill.devices import boards, bond, devices, isolators, residual_current
from engine.stages.bill.part import Bill, Cut, Line
from engine.stages.bill.reels import Packed, reels
from engine.stages.chain.part import Chain
from engine.stages.circuits import Circuits, lines_of, strings_of
from engine.stages.conductors.part import Conductors
from engine.stages.phases.part import Phases
from engine.stages.storage.part import Storage
from engine.stages.switchgear import Switchgear
from engine.stages.units import Units
from engine.stages.wall.part import Wall
from engine.tables import table
from engine.tables.conductors import ALUMINIUM
from engine.text import clean, counted

_MEASURE = "length to be measured"
_AC = ("load", "incoming")


def bill(
    *,
    facts: Facts,
    phases: Phases,
    units: Units,
    banks: Banks,
    storage: Storage,
    circuits: Circuits,
    conductors: Conductors,
    switchgear: Switchgear,
    wall: Wall,
    chain: Chain,
) -> tuple[Bill, list[Finding]]:
    """Count what the plan needs; what is not known yet stands on the bill as such, and is told."""
    if not units.units:
        return Bill((), ()), []
    pieces = cuts(facts=facts, circuits=circuits, conductors=conductors, wall=wall)
    packed = reels(pieces)
    busbars, currents = bars(facts, circuits, conductors, phases)
    kit, charging = pre_charge(facts, storage)
    lines = [
        *_links(facts, chain),
        *_terminators(chain),
        *_banks(facts, banks, chain),
        *_strings_of_banks(facts, banks),
        *devices(circuits, switchgear),
        *isolators(circuits, switchgear),
        *residual_current(circuits, switchgear),
        *busbars,
        *boards(switchgear),
        *bond(switchgear),
        *_pole_bonds(facts, circuits),
        kit,
        *_test_lead(facts, circuits, switchgear),
        Line("bench lead", "battery lead with its own fuse, 20 A or less, and pre-charge", 1, 0, True, ("site",)),
        *(line for cut in pieces for line in _ends_of(facts, cut)),
        *_compound(pieces),
        *_strings(facts, circuits, conductors),
        *_glands(facts, circuits, pieces),
        *_cleats(facts, circuits, wall),
        *(_cut_line(facts, cut, packed) for cut in pieces),
        *_reels(facts, packed),
    ]
    return Bill(_joined(lines), packed.rows, pieces, tuple(currents), charging), [
        *incomplete(pieces, chain),
        *too_long(facts, packed.too_long),
    ]


def _joined(lines: Iterable[Line]) -> tuple[Line, ...]:
    """Alike lines as one, where the first stood."""
    found: dict[tuple[str, str], Line] = {}
    for line in lines:
        key = (line.item, line.specification)
        old = found.get(key)
        found[key] = (
            line
            if old is None
            else Line(
                *key,
                old.quantity + line.quantity,
                old.spare + line.spare,
                line.order_ahead,
                tuple(dict.fromkeys((*old.goes_to, *line.goes_to))),
                line.cut_from_reel,
            )
        )
    return tuple(found.values())


def _links(facts: Facts, chain: Chain) -> Iterator[Line]:
    """One link less than units, and one spare of the longest."""
    longest = max(chain.links, key=lambda link: link.stock.value if link.stock else link.length.value if link.length else 0.0, default=None)
    for link in chain.links:
        length = facts.told(link.stock) if link.stock else f"{facts.told(link.length)} or longer" if link.length else _MEASURE
        specification = f"{length}, {link.cable}"
        yield Line("comms link", specification, 1, 0, True, (f"{link.start} > {link.end}",))
        if link is longest:
            yield Line("comms link", specification, 1, 1, True, ("spare",))
    for node in chain.nodes:
        yield Line(
            "bus node lead", f"{_MEASURE}, from port {node.port or 'by the manual'}", 1, 0, True, (f"{node.unit} > {clean(node.name, 60)}",)
        )


def _terminators(chain: Chain) -> Iterator[Line]:
    """As many as the chain takes, and as many spare, one line per kind, in pieces (S29)."""
    for end in chain.terminators:
        yield Line("terminator", f"120 ohm, {end.kind or 'kind by the free port'}", 2, 1, True, (end.unit, "spare"))


def _banks(facts: Facts, banks: Banks, chain: Chain) -> Iterator[Line]:
    """A temperature sensor each, and a data lead where the bank has a management that speaks."""
    for bank in banks.banks:
        yield Line("temperature sensor", "the unit maker's, for the bank's pole or case", 1, 0, True, (bank.name,))
        if facts.answers.storage.managed:
            lead = next((lead for lead in chain.data if lead.bank == bank.name), None)
            length = f"{facts.told(lead.length)} or longer" if lead and lead.length else _MEASURE
            yield Line("data lead", f"the battery maker's, {length}", 1, 0, True, (f"{bank.name} > {lead.unit}" if lead else bank.name,))


def _test_lead(facts: Facts, circuits: Circuits, switchgear: Switchgear) -> Iterator[Line]:
    """It joins the neutral of a unit that a breaker leaves afloat, before its voltage is compared."""
    outputs = circuits.of("load", common=False)
    if len(outputs) > 1 and any(map(switchgear.floats, outputs)):
        volts = facts.figure("output.voltage")
        yield Line(
            "fused test lead",
            f"insulated, with its own fuse of 1 A or less, for {volts or 'the voltage'} to neutral and between lines, measuring category III",
            1,
            0,
            False,
            ("site",),
        )


def _strings_of_banks(facts: Facts, banks: Banks) -> Iterator[Line]:
    """What joins modules is the battery maker's: its lugs, bolts and fuses differ from make to make."""
    if facts.series > 1 or facts.strings_in_parallel > 1:
        many = f"{counted(facts.strings_in_parallel, 'string')} of {counted(facts.series, 'module')}"
        for bank in banks.banks:
            yield Line("module links", f"the battery maker's, for {many}, with what protects each string", 1, 0, True, (bank.name,))


def _pole_bonds(facts: Facts, circuits: Circuits) -> Iterator[Line]:
    """An earthed battery pole is labelled where it is earthed; the bond itself is cut like any conductor."""
    for ends in circuits.circuits:
        if ends.bond:
            yield Line("bond label", f"battery {facts.earthed_pole} meets earth here and nowhere else", 1, 0, False, (ends.start,))


def _ends_of(facts: Facts, cut: Cut) -> Iterator[Line]:
    """What the two ends of one cut take: lugs and heat-shrink, or ferrules; none made for copper on aluminium."""
    size = str(cut.size or "size not computed")
    made = f"{size} {cut.cable.metal}, {cut.cable.stranding}" if cut.cable else size
    if _aluminium(cut):
        made += ", marked AL/CU"
    if cut.kind in _AC and _aluminium(cut):
        yield Line("bimetal pin", made, 2, 0, False, (cut.circuit,))
    elif cut.kind in _AC:
        yield Line("ferrule", size, 2, 0, False, (cut.circuit,))
    elif cut.kind in ("battery", "earth"):
        stud = facts.answers.unit.dc_stud if cut.kind == "battery" and cut.tag else None
        studs = [stud or "stud to be measured", "stud to be measured"]
        for stud_of_end in studs:
            yield Line("cable lug", f"{made}, {stud_of_end}", 1, 0, False, (cut.circuit,))
        yield Line("heat-shrink", f"for {size}, {cut.colour}", 2, 0, False, (cut.circuit,))


def _aluminium(cut: Cut) -> bool:
    return cut.cable is not None and cut.cable.metal == ALUMINIUM


def _compound(pieces: tuple[Cut, ...]) -> Iterator[Line]:
    """The skin of aluminium does not conduct: it is brushed under compound."""
    if places := tuple(dict.fromkeys(cut.circuit for cut in pieces if _aluminium(cut))):
        yield Line("joint compound", "oxide-inhibiting, for aluminium, with a wire brush kept for it", 1, 0, False, places)


def _strings(facts: Facts, circuits: Circuits, conductors: Conductors) -> Iterator[Line]:
    """Connectors, one pair per string end; where several strings meet, each has its own pair to that place (S11)."""
    for ends in circuits.circuits:
        if ends.kind != "solar":
            continue
        yield Line("string connector", "pair, of the panels' own make", 2 * strings_of(facts), 0, False, (ends.name,))
        sizing = conductors.of.get(ends.name)
        if facts.strings_on_tracker > 1:
            # As thick as the pair of them all: safe whatever the others drive back through a string.
            size = f"{sizing.conductor} {sizing.cable}" if sizing and sizing.conductor else "a size not computed"
            told = f"plus and minus of one string to where strings meet, {size}, length by the roof: measure"
            yield Line("string pair", told, strings_of(facts), 0, False, (ends.name,))


def _glands(facts: Facts, circuits: Circuits, pieces: tuple[Cut, ...]) -> Iterator[Line]:
    """One per entry: each battery and string conductor at the unit, each AC cable at both its ends."""
    for cut in pieces:
        if cut.kind in ("battery", "solar") and cut.tag:
            yield Line("gland", f"for one {cut.kind} conductor of {cut.size or 'a size not computed'}", 1, 0, False, (cut.tag,))
    for ends in circuits.circuits:
        if ends.kind in _AC:
            size = next((cut.size for cut in pieces if cut.circuit == ends.name), None)
            cores = len(lines_of(facts, ends)) + 2
            yield Line(
                "gland",
                f"for {cores} conductors of {size or 'a size not computed'}",
                2,
                0,
                False,
                tuple(dict.fromkeys((ends.start, ends.end))),
            )


def _cleats(facts: Facts, circuits: Circuits, wall: Wall) -> Iterator[Line]:
    spacing = {str(row["kind"]): row["spacing"] for row in table("cleat_spacing").rows}
    for ends in circuits.circuits:
        run, space = wall.runs.get(ends.name), spacing[ends.kind]
        if run and run.length and isinstance(space, float):
            yield Line(
                "cleat",
                f"for {ends.kind} cable, every {facts.metres(space)} or closer",
                math.ceil(run.length.value / space) + 1,
                0,
                False,
                (ends.name,),
            )


def _cut_line(facts: Facts, cut: Cut, packed: Packed) -> Line:
    """Nothing to buy where a reel holds it; a cut without size or length, or longer than any reel, has none."""
    on_reel = cut.size is not None and cut.length is not None and cut not in [one.cut for one in packed.too_long]
    return Line(
        "conductor cut",
        f"{cut.conductor}, {facts.told(cut.length) if cut.length else _MEASURE}",
        1,
        0,
        False,
        (cut.circuit,),
        on_reel or None,
    )


def _reels(facts: Facts, packed: Packed) -> Iterator[Line]:
    """Each reel names what is cut from it: length and circuit."""
    for reel in packed.rows:
        into = tuple(f"{facts.told(cut.length)} for {cut.circuit}" for cut in reel.cuts if cut.length)
        yield Line("reel", f"{reel.conductor}, {facts.metres(reel.length)}", 1, 0, False, into)
