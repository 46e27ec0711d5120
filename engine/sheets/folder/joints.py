"""Every joint of the set: circuit by circuit from the source on, what is joined to what, by a conductor that is cut or by sitting on a bar."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from engine.frozen import dataclass
from engine.sheets.bill import BEYOND
from engine.stages.bill.part import Cut, Joint
from engine.stages.circuits import INCOMING_BOARD, LOAD_BOARD, Ends, strings_of
from engine.stages.switchgear import Gear, GearKind

if TYPE_CHECKING:
    from engine.planner import Planned
    from engine.workings import Figure

_SIGNS = {"plus": "+", "minus": "-"}
SUPPLY, CONSUMERS = (Joint(name, name) for name in (BEYOND["incoming"], BEYOND["load"]))
STRINGS = Joint("strings", "strings, by connectors")


@dataclass(frozen=True)
class Piece:
    """What joins two things in a circuit: `marks` names each conductor of it, `cut` is one of them, None where one sits on the other."""

    ends: Ends
    start: Joint
    end: Joint
    marks: tuple[str, ...]
    cut: Cut | None = None

    @property
    def joints(self) -> tuple[Joint, Joint]:
        """Both its sides."""
        return self.start, self.end


def sign(pole: str) -> str:
    """A pole as it stands on a paper."""
    return _SIGNS.get(pole, pole)


def mark(cut: Cut) -> str:
    """A conductor within its circuit: its pole, and which of several beside each other."""
    return f"{sign(cut.pole)}{f' ({cut.number} of {cut.beside})' if cut.beside > 1 else ''}"


def _short(cut: Cut) -> str:
    return f"{sign(cut.pole)}{cut.number if cut.beside > 1 else ''}"


def cuts_of(planned: Planned, ends: Ends) -> tuple[Cut, ...]:
    """What is cut for a circuit."""
    return tuple(cut for cut in planned.parts.bill.cuts if cut.circuit == ends.name)


def sides(ends: Ends, cut: Cut) -> tuple[Joint, Joint]:
    """What a cut joins; of a circuit that begins and ends on one board one side is what lies behind that."""
    start = SUPPLY if ends.kind == "incoming" and ends.common and not cut.start.gear else cut.start
    end = CONSUMERS if ends.kind == "load" and ends.common and not cut.end.gear else cut.end
    return start, end


def pieces(planned: Planned, ends: Ends) -> tuple[Piece, ...]:
    """All of a circuit, from its source on."""
    alike: dict[tuple[str, str, bool], list[Cut]] = {}
    for cut in cuts_of(planned, ends):
        start, end = sides(ends, cut)
        alike.setdefault((str(start), str(end), cut.pole == "PE"), []).append(cut)
    made = [Piece(ends, *sides(ends, some[0]), tuple(map(_short, some)), some[0]) for some in alike.values()]
    earths = [piece for piece in made if piece.cut and piece.cut.pole == "PE"]
    # What leads to a device of the circuit comes before what leads on from there: strings meet at their isolator.
    live = sorted((piece for piece in made if piece not in earths), key=lambda piece: ends.kind == "solar" and not piece.end.gear)
    return (*_before(planned, ends, live), *live, *_behind(planned, ends), *earths)


def _before(planned: Planned, ends: Ends, made: Sequence[Piece]) -> Iterator[Piece]:
    """What the first thing in a circuit sits on, where no cable leads to it."""
    gear = planned.parts.switchgear.of(ends)
    if not gear or ends.kind == "load":
        return
    if ends.kind == "incoming":
        alone = ends.common or len(planned.parts.units.units) == 1
        yield Piece(ends, SUPPLY if alone else Joint("board", INCOMING_BOARD), _named(gear[0]), _poles(gear[0]))
    elif ends.kind == "solar":
        yield Piece(ends, STRINGS, _named(gear[0]), _strings(planned, gear[0]))
    elif made and made[0].start.gear:
        yield Piece(ends, Joint("bar", ends.start), _named(gear[0]), _poles(gear[0]))


def _behind(planned: Planned, ends: Ends) -> Iterator[Piece]:
    """The bar that the last thing in a load circuit sits on, or what leads on from it."""
    if ends.kind == "load" and (gear := planned.parts.switchgear.of(ends)):
        on = ends.common or len(planned.parts.units.units) == 1
        yield Piece(ends, _named(gear[-1]), CONSUMERS if on else Joint("board", LOAD_BOARD), _poles(gear[-1]))


def _named(gear: Gear) -> Joint:
    return Joint({GearKind.FUSE: "fuse holder", GearKind.THERE: "breaker"}.get(gear.kind, gear.kind.value), "")


def _poles(gear: Gear) -> tuple[str, ...]:
    return tuple(map(sign, gear.poles))


def _strings(planned: Planned, gear: Gear) -> tuple[str, ...]:
    """A pair for each string."""
    many = strings_of(planned.facts)
    return tuple(f"{sign(pole)}{number if many > 1 else ''}" for number in range(1, many + 1) for pole in gear.poles)


def torque(planned: Planned, piece: Piece, joint: Joint) -> Figure | None:
    """What a joint is tightened to where the plan knows it: the terminals of a unit."""
    if joint.what != "unit":
        return None
    return (
        planned.facts.figure("unit.dc_torque" if piece.ends.kind == "battery" else "unit.ac_torque") if piece.ends.kind != "solar" else None
    )


def elsewhere(piece: Piece, joint: Joint) -> bool:
    """Whether a joint is ticked on another paper (a unit's own sheet), or is no joint to be tightened."""
    return joint.what in ("unit", "strings") or (joint.what == "case" and joint.place == piece.ends.tag)
