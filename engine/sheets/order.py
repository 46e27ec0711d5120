"""The order of work, decided once: what is told in full there, what stands on the units' sheets and is only ticked there; text and HTML only show it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from engine.frozen import dataclass
from engine.planner import Planned
from engine.sheets.head import ALONE
from engine.sheets.unit.flow import PART_OF, visits
from engine.stages.procedure.part import Section, Step

TOLD = (
    "A step of a unit is told on that unit's sheet, in the part that is named; here it is only ticked. Every other step is told here, and its readings are written here.",
    f"HOLD: nobody goes on before it is right. {ALONE}",
    "A lock comes off only where a step says close, by whoever put it on. Isolator: what opens a circuit; where it has a breaker, that.",
    "At the first failed test: stop, put it right, repeat what the repair touches.",
)
STOPPED = "The plan is stopped. Nothing of it is landed or energised. Cure what stops it, plan again, and take the new papers."
TURNS = "All steps named for one place, then the next:"


@dataclass(frozen=True)
class Line:
    """One number of the order: its step at every place. `part` is that of the unit's sheet where it is told, None where it is told here."""

    steps: tuple[Step, ...]
    part: int | None

    @property
    def first(self) -> Step:
        """The one that speaks for all: they are the same, word for word, but for what each must read."""
        return self.steps[0]

    @property
    def places(self) -> tuple[str, ...]:
        """Where it is done."""
        return tuple(step.at for step in self.steps)

    @property
    def where(self) -> str:
        """The same for people; nothing where it is done once, for all units."""
        return "" if self.first.who in ("set", "chain") and len(self.steps) == 1 else ", ".join(self.places)

    @property
    def got(self) -> tuple[str, ...]:
        """The names of all values, by place where there are several."""
        if len(self.steps) == 1:
            return self.first.got
        return tuple(
            f"{step.at}{': ' if name else ''}{name}" if not k else name for step in self.steps for k, name in enumerate(step.got or ("",))
        )


@dataclass(frozen=True)
class Stretch:
    """One section of the work: its lines by number, in which turn places are visited, where there is a turn to keep, and the units that are ticked
    in it, in that turn.
    """

    section: Section
    lines: tuple[Line, ...]
    visits: str
    units: tuple[str, ...]


def stretches(planned: Planned) -> Iterator[Stretch]:
    """Section by section; those of a stopped plan end before anything is landed."""
    units = planned.parts.units.tags
    for section, some in groupby(planned.parts.procedure.steps, key=lambda step: step.section):
        if section == "land" and planned.plan.standing == "stopped":
            return
        steps = list(some)
        alike = groupby(sorted(steps, key=lambda step: step.place), key=lambda step: step.place)
        lines = tuple(_line(tuple(group), units) for _, group in alike)
        yield Stretch(section, lines, visits(steps), tuple(dict.fromkeys(step.who for step in steps if step.who in units)))


def _line(steps: tuple[Step, ...], units: Sequence[str]) -> Line:
    return Line(steps, PART_OF[steps[0].section] if steps[0].who in units else None)


def want(line: Line) -> str:
    """What all must read; before it, by place, what only that one must."""
    pieces = [step.expect.split("; ") for step in line.steps]
    if len({len(some) for some in pieces}) > 1:
        return "; ".join(f"{step.at}: {step.expect}" for step in line.steps)
    same = [len(set(column)) == 1 for column in zip(*pieces, strict=True)]
    if all(same):
        return line.first.expect
    own = [
        f"{step.at}: {', '.join(piece for piece, known in zip(some, same, strict=True) if not known)}"
        for step, some in zip(line.steps, pieces, strict=True)
    ]
    shared = [piece for piece, known in zip(pieces[0], same, strict=True) if known]
    return "; ".join([*own, *([f"each: {'; '.join(shared)}"] if shared else [])])


def calls(line: Line) -> str:
    """What a step of the set asks for on the units' sheets: their data ports have no steps of their own."""
    return f"Sheets of the units, part {PART_OF['chain']}." if line.first.section == "chain" else ""
