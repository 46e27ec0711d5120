"""What every end of every piece of conductor takes: lugs by what is bolted, sleeves, ferrules, glands, markers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engine.facts import Facts
from engine.stages.bill.part import Cut, Joint, Line
from engine.stages.chain.part import Chain
from engine.stages.circuits import Circuits, lines_of
from engine.stages.conductors.part import Conductors
from engine.tables import table
from engine.tables.conductors import ALUMINIUM
from engine.tables.sizes import Size, named

_AC = ("load", "incoming")
_LUGGED = ("battery", "earth")
_FOR = {"unit": "for the unit", "post": "for a bank's post", "bar": "for a battery bar"}


def joints(facts: Facts, conductors: Conductors, pieces: Sequence[Cut]) -> Iterator[Line]:
    """Lug and sleeve, ferrule or pin at each end; compound wherever there is aluminium."""
    for cut in pieces:
        for joint in cut.joints:
            yield from _end(facts, conductors, cut, joint)
        if cut.kind in _LUGGED:
            yield Line("heat-shrink", f"for {_size(cut)}, {cut.colour}", 2, 0, False, (cut.circuit,))
    if places := tuple(dict.fromkeys(cut.circuit for cut in pieces if _aluminium(cut))):
        # The skin of aluminium does not conduct: it is brushed under compound.
        yield Line("joint compound", "oxide-inhibiting, for aluminium, with a wire brush kept for it", 1, 0, False, places)


def _end(facts: Facts, conductors: Conductors, cut: Cut, joint: Joint) -> Iterator[Line]:
    """None made for copper on aluminium; under the NEC what is stranded like building wire goes into its terminal bare."""
    size, made = _size(cut), f"{_size(cut)} {cut.cable.metal}, {cut.cable.stranding}" if cut.cable else _size(cut)
    made += ", marked AL/CU" if _aluminium(cut) else ""
    mark = _too_large(facts, conductors, cut, joint)
    if cut.kind in _LUGGED:
        stud = facts.answers.unit.dc_stud if joint.what == "unit" else None
        hole = stud or f"{_of(joint)}, stud to be measured"
        yield Line("cable lug", f"{made}, {hole}", 1, 0, False, (cut.circuit,), mark=_not_made(cut.size, stud) or mark)
    elif _aluminium(cut):
        yield Line("bimetal pin", made, 1, 0, False, (cut.circuit,), mark=mark)
    elif facts.rules != "nec" and (cut.kind in _AC or joint.what != "unit"):
        yield Line("ferrule", size, 1, 0, False, (cut.circuit,), mark=mark)


def _of(joint: Joint) -> str:
    """A kind of place, so that alike lugs are one line."""
    return _FOR.get(joint.what) or f"for {'an' if joint.what[:1] in 'aeiou' else 'a'} {joint.what}"


def _too_large(facts: Facts, conductors: Conductors, cut: Cut, joint: Joint) -> str | None:
    """What the terminal of the unit does not take (S12) is bought for an adaptor, and says so."""
    if joint.what != "unit" or cut.pole == "PE" or cut.circuit not in conductors.too_large:
        return None
    most = facts.figure("unit.dc_terminal_max" if cut.kind == "battery" else "unit.ac_terminal_max")
    takes = f": its terminal takes at most {named(most.value, facts.rules)}" if most else ""
    return f"DOES NOT FIT the unit{takes}; for an adaptor or a bar between"


def _not_made(size: Size | None, stud: str | None) -> str | None:
    """A lug of a size with a hole for a stud that is not usual: the bill says so rather than send somebody looking."""
    rows = table("lugs").rows if size and stud and stud.startswith("M") else ()
    row = next((row for row in rows if size and isinstance(most := row["to"], float) and size.area <= most * 1.001), None)
    if row is None or str(stud) in str(row["studs"]).split():
        return None
    return f"OFTEN NOT MADE (usual: {row['studs']}); a bar between, never a lug drilled out"


def glands(facts: Facts, circuits: Circuits, pieces: Sequence[Cut]) -> Iterator[Line]:
    """One per entry: each battery and string conductor at its unit and at the enclosure of what sits in it, each AC cable at both its ends."""
    for cut in pieces:
        if cut.kind in ("battery", "solar"):
            for joint, other in (cut.joints, cut.joints[::-1]):
                # A piece from device to device stays within one enclosure.
                if joint.what == "unit" or (joint.gear and not other.gear):
                    where = cut.tag if joint.what == "unit" and cut.tag else cut.circuit
                    yield Line("gland", f"for one {cut.kind} conductor of {_sized(cut.size)}", 1, 0, False, (where,))
    for ends in circuits.circuits:
        if ends.kind in _AC:
            size = next((cut.size for cut in pieces if cut.circuit == ends.name), None)
            cores, places = len(lines_of(facts, ends)) + 2, tuple(dict.fromkeys((ends.start, ends.end)))
            yield Line("gland", f"for {cores} conductors of {_sized(size)}", 2, 0, False, places)


def markers(pieces: Sequence[Cut], chain: Chain) -> Iterator[Line]:
    """Two for each piece of conductor and for each data cable: one for each end."""
    if pieces:
        told = "circuit, pole, where this end goes and the other, by the cut list"
        yield Line("cable marker", told, 2 * len(pieces), 0, False, ("both ends of every piece of conductor",))
    if data := len(chain.links) + len(chain.nodes) + len(chain.data):
        yield Line("cable marker", "from port to port", 2 * data, 0, False, ("both ends of every data cable",))


def _size(cut: Cut) -> str:
    return str(cut.size or "size not computed")


def _sized(size: Size | None) -> str:
    return str(size or "a size not computed")


def _aluminium(cut: Cut) -> bool:
    return cut.cable is not None and cut.cable.metal == ALUMINIUM
