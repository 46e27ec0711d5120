"""The bill: everything that is forgotten, counted; and the reels the conductors are cut from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from engine.again import again
from engine.facts import Facts
from engine.findings import Finding
from engine.stages.banks import Banks
from engine.stages.bill.bars import bars
from engine.stages.bill.checks import incomplete, too_long
from engine.stages.bill.cuts import cuts
from engine.stages.bill.devices import boards, bond, devices, enclosures, isolators, pole_bonds, residual_current, shutdown, watching
from engine.stages.bill.items import joined
from engine.stages.bill.joints import glands, joints, markers
from engine.stages.bill.laying import laid
from engine.stages.bill.panels import panels
from engine.stages.bill.part import Bill, Cut, Line
from engine.stages.bill.precharge import pre_charge
from engine.stages.bill.reels import Packed, reels
from engine.stages.bill.stores import links, modules, of_banks, terminators, vents
from engine.stages.bill.tools import leads, tags
from engine.stages.chain.part import Chain
from engine.stages.circuits import Circuits
from engine.stages.conductors.part import Conductors
from engine.stages.phases.part import Phases
from engine.stages.storage.part import Storage
from engine.stages.switchgear import Switchgear
from engine.stages.units import Units
from engine.stages.wall.part import Wall
from engine.workings import Figure

_MEASURE = "length to be measured"


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
    allowance, piece = facts.taken("plan.bill.allowance"), facts.taken("plan.bill.piece")
    laid_out = again("laid out", Conductors.laid_out, self=conductors)
    pieces = again(
        "cuts", cuts, facts=facts, circuits=circuits, conductors=laid_out, switchgear=switchgear.laid_out(), wall=wall, piece=piece
    )
    packed = again("reels", reels, cuts=pieces, allowance=allowance.value)
    busbars, currents = bars(facts, circuits, conductors, phases, storage)
    of_cuts, metres = again(
        "of cuts",
        _of_cuts,
        facts=facts,
        circuits=circuits,
        conductors=laid_out,
        wall=wall,
        chain=chain,
        pieces=pieces,
        packed=packed,
        allowance=allowance,
    )
    kit, charging = pre_charge(facts, storage)
    lines = [
        *links(facts, chain),
        *terminators(chain),
        *of_banks(facts, banks, chain),
        *modules(facts, banks, storage),
        *vents(banks, storage),
        *devices(circuits, switchgear),
        *isolators(facts, circuits, switchgear),
        *residual_current(circuits, switchgear),
        *watching(facts),
        *shutdown(facts, stored=bool(banks.banks)),
        *enclosures(circuits, switchgear),
        *busbars,
        *boards(switchgear),
        *bond(switchgear),
        *pole_bonds(facts, circuits),
        *tags(units, banks, storage),
        kit,
        *leads(facts, circuits, switchgear),
        *of_cuts,
    ]
    used = [figure for figure in (piece, allowance) if packed.rows]
    return Bill(joined(lines), packed.rows, pieces, (*currents, *metres, *used), charging), [
        *incomplete(pieces, chain),
        *too_long(facts, packed.too_long),
    ]


def _of_cuts(
    facts: Facts,
    circuits: Circuits,
    conductors: Conductors,
    wall: Wall,
    chain: Chain,
    pieces: tuple[Cut, ...],
    packed: Packed,
    allowance: Figure,
) -> tuple[tuple[Line, ...], list[Figure]]:
    """What the cuts take at their ends and on their way, what marks them and what they are cut from; and the lengths of the ways."""
    ways, metres = laid(facts, circuits, conductors, wall, pieces, allowance)
    lines = [
        *joints(facts, conductors, pieces),
        *panels(facts, circuits, conductors),
        *glands(facts, circuits, pieces),
        *ways,
        *markers(pieces, chain),
        *(_cut_line(facts, cut, packed) for cut in pieces),
        *_reels(facts, packed),
    ]
    return joined(lines), metres


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
    """Each reel names what is cut from it: how many, length and circuit."""
    for reel in packed.rows:
        into = Counter(f"{facts.told(cut.length)} for {cut.circuit}" for cut in reel.cuts if cut.length)
        told = tuple(f"{number} x {what}" if number > 1 else what for what, number in into.items())
        yield Line(reel.bought, f"{reel.conductor}, {facts.metres(reel.length)}", 1, 0, False, told)
