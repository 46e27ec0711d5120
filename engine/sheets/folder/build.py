"""For whoever builds boards, bars and banks: what is mounted where, in order from the source, and every joint with its torque and its boxes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.quantities import told as short
from engine.sheets.folder.blocks import Block, Chapter, Para, Row, Signed, Ticks, Title, Together
from engine.sheets.folder.filling import Paper
from engine.sheets.folder.joints import STRINGS, SUPPLY, Piece, cuts_of, elsewhere, pieces, sign, torque
from engine.sheets.folder.letters import BOX, Run, Words, blank, bold
from engine.sheets.folder.modules import banks, live, modules, of_bank
from engine.sheets.folder.numbers import steps
from engine.sheets.folder.ticked import TORQUE, between, boxes, heading, joints_table, unit
from engine.stages.bill.part import Joint
from engine.stages.circuits import EARTH_BAR, Ends
from engine.stages.switchgear import Gear, GearKind
from engine.tables.conductors import ALUMINIUM
from engine.text import clean, counted

if TYPE_CHECKING:
    from engine.planner import Planned

_ORDER = ("+", "-", "L", "L1", "L2", "L3", "N", "PE")
_WORK = (
    "modules",
    "strings-alike",
    "join-strings",
    "hang",
    "pull",
    "lugs",
    "land-set",
    "boards-earth",
    "land-bank",
    "land",
    "land-bond",
    "joints",
    "covers",
)
_LAND = ("hang", "land-set", "land-bank", "land")
_KINDS = ("incoming-board", "bank", "bar", "solar-isolator", "load-board", "earth-bar")  # from the source on


def build(planned: Planned, _paper: Paper) -> tuple[Chapter, ...]:
    """The build order; none of a plan that is stopped, for nothing of it is landed, and none without circuits."""
    if planned.plan.standing == "stopped" or not planned.parts.circuits.circuits:
        return ()
    blocks = [*_first(planned)]
    for place in _places(planned):
        blocks += _place(planned, place)
    blocks += [*_bonds(planned), *_last()]
    return (Chapter("build", "Build order", tuple(blocks), "whoever builds them"),)


def _first(planned: Planned) -> Iterator[Block]:
    yield Para(
        (
            "From the source on. ",
            BOX,
            "before a device: it is mounted, and reads what its row asks for. ",
            bold("Every joint of every conductor has two boxes: "),
            BOX,
            "torqued and marked with paint by whoever made it, ",
            BOX,
            f"checked by another. Write the torque that stands on the device or in its sheet, in {unit(planned.facts.rules)}; ",
            "without one it is not made. Joints at a unit are ticked on its sheet.",
        )
    )
    yield Para(
        (
            bold("Isolators stay open and locked, fuses out, from the first joint on. "),
            f"This belongs to the order of work, {steps(planned, *_WORK)}: nothing of it is done before the steps ahead of it.",
        ),
        framed=True,
    )


def _last() -> Iterator[Block]:
    done = (
        "Every device reads what its row says; what it reads is written beside step and circuit.",
        "Every joint has both its boxes and a mark of paint.",
        "Nothing is left inside: no tool, strand or swarf. Covers of bars lie ready: they go on when joints are measured.",
        "Labels and cable markers are on.",
    )
    yield Together((Title("Before anybody goes on"), Ticks(done), Signed(("built by", "checked by"))))


# --- places ---


def _places(planned: Planned) -> tuple[str, ...]:
    """Where something is built, from the source on."""
    spots = planned.parts.circuits.spots.values()
    return tuple(spot.name for kind in _KINDS for spot in spots if spot.what == kind)


def _place(planned: Planned, place: str) -> Iterator[Block]:
    own = [ends for ends in planned.parts.circuits.circuits if built_at(planned, ends) == place and not ends.bond]
    rows = [*modules(planned, place), *_circuits(planned, own), *_surge(planned, place)]
    if rows:
        told: Words = (" ".join((*_held(planned, place), *of_bank(planned, place))), *live(planned, place))
        yield Title(
            f"Bank {place}" if place in banks(planned) else place[0].upper() + place[1:], f"order of work, {steps(planned, *_LAND)}"
        )
        yield joints_table(planned.facts.rules, [Row((told,), spans=(6,)), replace(rows[0], follows=True), *rows[1:]])


def _held(planned: Planned, place: str) -> Iterator[str]:
    """What stands on the bill for a place: its box, its bars."""
    for item, told in (("enclosure", "Box"), ("busbar", "Bars")):
        if own := [line.specification for line in planned.parts.bill.lines if line.item == item and place in line.goes_to]:
            yield f"{told}: {'; '.join(own)}."


# --- circuits ---


def built_at(planned: Planned, ends: Ends) -> str:
    """A circuit is built where its devices are; an earth at the earth bar."""
    gear = planned.parts.switchgear.of(ends)
    return gear[0].place if gear else EARTH_BAR


def _circuits(planned: Planned, some: Sequence[Ends]) -> Iterator[Row]:
    """Circuits that are alike under one row that says what they are made of; then for each a row for what joins two things."""
    alike: dict[tuple[str, ...], list[Ends]] = {}
    for ends in some:
        alike.setdefault((str(ends.tag is None and ends.kind), *_made(planned, [ends], coloured=False)), []).append(ends)
    for group in alike.values():
        yield heading(_named(planned, group))
        if group[0].kind == "earth" and all(ends.tag for ends in group):
            # One row for all: the other end of each is on its unit's sheet.
            yield Row(("bar", TORQUE, boxes([str(ends.tag) for ends in group]), "cases of the units", "", "their sheets"), follows=True)
            continue
        for ends in group:
            yield from _circuit(planned, ends, first=ends is group[0])


def _circuit(planned: Planned, ends: Ends, *, first: bool) -> Iterator[Row]:
    mounted: set[str] = set()
    for number, piece in enumerate(pieces(planned, ends)):
        name = (bold(f"{ends.name}: "),) if not number else ()
        start, end = (_joint(planned, piece, joint, mounted) for joint in piece.joints)
        yield Row(((*name, *start[0]), *start[1:], *end), follows=first or number > 0)


def _named(planned: Planned, group: Sequence[Ends]) -> Words:
    """Which circuits, what sits in them, what their conductors are."""
    kind = group[0].kind
    names = ", ".join([group[0].name, *(ends.name.removeprefix(f"{kind} ") for ends in group[1:])])
    when = {steps(planned, "land", at=str(ends.tag)) for ends in group if ends.tag}
    landed = f" (landed in {', '.join(sorted(when))})" if when else ""
    return (bold(names), f"{landed}: ", " ".join(_made(planned, group, coloured=True)))


def _made(planned: Planned, group: Sequence[Ends], *, coloured: bool) -> tuple[str, ...]:
    """Devices and conductors of circuits that are alike but for the colours of their phases."""
    ends = group[0]
    gear = "; ".join(map(_device, planned.parts.switchgear.of(ends)))
    return (*([f"{gear}."] if gear else []), *_conductors(planned, group, coloured=coloured))


def _device(gear: Gear) -> str:
    """What it must say, and which poles go through it."""
    parts = [gear.rated + (" or more" if gear.kind in (GearKind.ISOLATOR, GearKind.RESIDUAL) and gear.rating else "")]
    parts += [f"{gear.voltage} DC or more"] if gear.voltage else []
    parts += [f"breaks {gear.breaking} or more"] if gear.breaking else []
    parts.append(counted(len(gear.poles), "pole"))
    parts += [f"in {sign(gear.poles[0])}"] if len(gear.poles) == 1 and gear.kind is GearKind.FUSE else []
    told = ", ".join(parts)
    return f"{gear.count} times {told}" if gear.count > 1 else told


def _conductors(planned: Planned, group: Sequence[Ends], *, coloured: bool) -> Iterator[str]:
    """Whole names, poles that are alike together; what goes on their ends."""
    alike: dict[str, dict[str, str]] = {}
    for ends in group:
        for cut in cuts_of(planned, ends):
            made = f"{cut.size or 'size not computed'}{f' {cut.cable}' if cut.cable else ''}"
            pole = sign(cut.pole) if coloured or not cut.pole.startswith("L") else "L"
            alike.setdefault(made, {})[pole] = f"{pole} {cut.colour}" if coloured else pole
    yield from (f"{made}: {', '.join(poles[pole] for pole in sorted(poles, key=_ORDER.index))}." for made, poles in alike.items())
    if alike:
        yield _ended(planned, group[0])


def _ended(planned: Planned, ends: Ends) -> str:
    cuts = cuts_of(planned, ends)
    aluminium = any(cut.cable and cut.cable.metal == ALUMINIUM for cut in cuts)
    if ends.kind in ("battery", "earth"):
        stud = planned.facts.answers.unit.dc_stud if ends.kind == "battery" and ends.tag else None
        return (
            f"Lugs{' marked AL/CU' if aluminium else ''}, each hole as the stud that it goes on{f' ({stud} at the unit)' if stud else ''}."
        )
    if aluminium:
        return "Bimetal pins marked AL/CU."
    return "Bare into their terminals." if planned.facts.rules == "nec" else "Ferrules."


def _joint(planned: Planned, piece: Piece, joint: Joint, mounted: set[str]) -> tuple[tuple[str | Run, ...], Words, Words]:
    """What it is, with a box where a device is met first; its torque; a pair of boxes for each conductor."""
    name = _told(planned, piece, joint)
    what: tuple[str | Run, ...] = (name,)
    if joint.gear and name not in mounted:
        mounted.add(name)
        what = (BOX, name)
    if joint == SUPPLY:
        return what, "", "leave it as it is"
    if piece.start == SUPPLY and any(gear.kind is GearKind.THERE for gear in planned.parts.switchgear.of(piece.ends)) and joint.gear:
        return what, "", "LIVE: keep it covered"
    if joint == STRINGS:
        return what, "", "pushed in last of all"
    if elsewhere(piece, joint):
        figure = torque(planned, piece, joint)
        # Under the NEC in its customary unit alone: the unit's sheet tells both.
        told = f"{short(figure.value, figure.unit, planned.facts.rules, short=True)}, " if figure else ""
        return what, "", f"{told}its sheet"
    return what, TORQUE, boxes(piece.marks)


def _told(planned: Planned, piece: Piece, joint: Joint) -> str:
    if joint.what == "earth bar" and built_at(planned, piece.ends) == EARTH_BAR:
        return "bar"
    if joint.what not in ("board", "bar"):
        return clean(str(joint), 60)
    bar = "PE bar" if "PE" in piece.marks else "bar"
    return bar if joint.place == built_at(planned, piece.ends) else f"{bar} of {joint.place}" if joint.what == "board" else joint.place


def _surge(planned: Planned, place: str) -> Iterator[Row]:
    """What sits between the conductors of a board and earth."""
    for gear in planned.parts.switchgear.boards.get(place, ()):
        told = f"{gear.name}, {gear.voltage or 'by the voltage'} to neutral. Short leads; out while insulation is tested."
        yield heading((bold("surge device "), BOX, told))
        yield between("bars", "surge device", gear.poles)


def _bonds(planned: Planned) -> Iterator[Block]:
    """Where neutral meets earth, and where a battery pole does."""
    yield Title("Bonds", "each once, and nowhere else")
    link, bond = planned.parts.switchgear.link, planned.parts.switchgear.bond
    rows: list[Row] = []
    if link:
        told = f"({link.place}). Out while insulation is tested, back in {steps(planned, 'land-set')}; its conductor "
        made = (f"{link.conductor} or more.",) if link.conductor else ("not computed: the licensed person sizes it, ", blank(20.0), ".")
        rows += [
            heading((bold(f"neutral-earth bond, {link.name} "), told, *made)),
            between("neutral", "earth", ("",)),
        ]
    elif bond:
        yield Para(f"Neutral meets earth by the {bond.name} ({bond.place}): nothing is built for it, and nothing else may join them.")
    else:
        yield Para("Neutral meets earth nowhere while the units run alone: no link is built.")
    rows += _circuits(planned, [ends for ends in planned.parts.circuits.circuits if ends.bond])
    if rows:
        yield joints_table(planned.facts.rules, rows)
