"""Words of a sheet with its boxes and lines to write on, as the folder prints them."""

from __future__ import annotations

import re
from collections.abc import Sequence

from engine.sheets.folder.letters import BOX, Run, blank, bold
from engine.sheets.unit import BOX as TICK
from engine.stages.procedure.part import Step

_MARKS = re.compile(f"({TICK}|_{{6,}})")
_PER_LETTER = 2.0  # millimetres of line for each stroke of a gap
_ONE, _OF_MANY = 18.0, 10.0  # millimetres to write one value on: where it is the only one, and where it is one of several


def marked(text: str) -> tuple[str | Run, ...]:
    """A text with its boxes to tick and lines to write on."""
    pieces = [piece for piece in _MARKS.split(text) if piece]
    return tuple(BOX if piece == TICK else blank(len(piece) * _PER_LETTER) if piece.startswith("______") else piece for piece in pieces)


def marks(step: Step) -> tuple[str | Run, ...]:
    """What stands before a step that is never passed over, or at which someone can be hurt."""
    told = " ".join([*(["HOLD"] if step.hold else []), *(["(!)"] if step.hurt else [])])
    return (bold(f"{told} "),) if told else ()


def written(names: Sequence[str]) -> tuple[Run, ...]:
    """A line for each value, behind its name; one without a name is longer."""
    return tuple(blank(_OF_MANY, name) for name in names) or (blank(_ONE),)


def got(names: Sequence[str]) -> tuple[str | Run, ...]:
    """The same within a step that is run on."""
    return (bold(" GOT:"), *written(names)) if names else (" ", blank(_ONE, "GOT:", bold=True))


def numbered(step: Step) -> tuple[str | Run, ...]:
    """Its number and its box."""
    return (f"{step.place} ", BOX)


def whole(step: Step) -> tuple[str | Run, ...]:
    """A step run on in one cell: do, want, got, if not."""
    return (
        *marks(step),
        *marked(step.do),
        bold(" WANT: "),
        f"{step.expect}.",
        *got(step.got),
        bold(" IF NOT: "),
        *marked(step.otherwise),
    )
