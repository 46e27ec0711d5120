"""What is looked after, how often, by whom, within which limit; and lines to write it down."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from engine.sheets.folder.blocks import HAIR, TITLE, Block, Chapter, Para, Row, Table, Title
from engine.sheets.folder.circumstances import circumstances
from engine.sheets.folder.filling import Paper, filled
from engine.sheets.folder.letters import bold
from engine.tables.handover import Task, tasks
from engine.tables.verification import array_insulation, chain_window, insulation, limit, trip_time

if TYPE_CHECKING:
    from engine.planner import Planned

_LINE, _FEWEST = 7.0, 3  # of the log: millimetres, and lines that are worth it


def maintenance(planned: Planned, paper: Paper) -> tuple[Chapter, ...]:
    """The chapter; none for a plan that is stopped."""
    if planned.plan.standing == "stopped":
        return ()
    found = tasks(planned.facts.rules, circumstances(planned))
    sources = [*dict.fromkeys(task.source for task in found if task.source)]
    rows = tuple(_row(planned, task, sources, shaded=k % 2 == 1) for k, task in enumerate(found))
    told = "; ".join(f"[{number}] {source}" for number, source in enumerate(sources, 1))
    blocks: list[Block] = [
        Para(
            "Licensed: who may by the law of the place, two people at least, dead and locked off by the register of Risk and emergency. "
            "Instructed: who was shown by the installer, and opens no cover. A maker's, an insurer's or an authority's shorter interval wins."
        ),
        Table(("what, and how", "how often", "who", "limit"), rows, widths=(46, 19, 11, 24)),
        Para(f"Intervals: {told}; all others common practice, no source."),
        Title("Log", "copy this page when it is full"),
    ]
    log = _log(_lines(blocks, paper))
    return (Chapter("maintenance", "Maintenance", (*blocks, log), "the owner, and who comes to look after it"),)


def _log(lines: int) -> Table:
    head = ("date", "what was done, readings, what was found", "who", "next")
    return Table(head, tuple(Row(("",) * len(head), least=_LINE) for _ in range(lines)), widths=(13, 60, 17, 10), ruled=True)


def _lines(blocks: Sequence[Block], paper: Paper) -> int:
    """As many lines of the log as the last page has room for; a page of them where that is too few."""
    across, down = paper.room(wide=False)
    *_, last = filled(Chapter("", "", tuple(blocks)), paper)
    free = [down - sum(block.height(across) for block in last), down - TITLE]
    return next(lines for room in free if (lines := int((room - _log(0).height(across)) / (_LINE + HAIR))) >= _FEWEST)


def _row(planned: Planned, task: Task, sources: Sequence[str], *, shaded: bool) -> Row:
    number = f" [{sources.index(task.source) + 1}]" if task.source else ""
    how = (bold(f"{task.what}: "), task.how)
    return Row((how, f"{task.often}{number}", task.who, limit_of(planned, task.limit)), shaded=shaded)


def limit_of(planned: Planned, name: str) -> str:
    """A limit by its name, as the order of work has it; what is no name is the limit itself."""
    named: Mapping[str, Callable[[], str]] = {
        "joint": lambda: limit("joint"),
        "strings_alike": lambda: limit("strings_alike"),
        "trip": lambda: (
            "within the time that its maker states"
            if planned.facts.rules == "nec"
            else f"within {trip_time(1)} at its rated residual current"
        ),
        "insulation": insulation,
        "chain": lambda: f"{chain_window(1)}, one terminator in",
        "array": lambda: _array(planned),
        "air": lambda: _air(planned),
    }
    return named[name]() if name in named else name


def _array(planned: Planned) -> str:
    cold = planned.parts.strings.cold_voc
    return array_insulation(cold.value) if cold else "the installer's, by the voltage of the array"


def _air(planned: Planned) -> str:
    known = dict.fromkeys(f"two of {bank.opening} each" for bank in planned.plan.banks if bank.opening)
    return f"{' and '.join(known)} for each bank" if known else "free"
