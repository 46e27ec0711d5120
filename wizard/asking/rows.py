"""Tables that are typed in place: what a row says in a line, what a cell says of the row above, rows that hang already, the total."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from engine.quantities import Refused, shown
from engine.site import Answers
from engine.site.kinds import parse, readings
from engine.site.loads import Load
from engine.tables import machines
from wizard.answers.fields import text_of, value_of
from wizard.answers.session import Session
from wizard.asking.answering import asked, circumstances, text_at
from wizard.asking.hanging import entry_of, movable
from wizard.asking.pages import LOADS, PLACES, Question, Table

if TYPE_CHECKING:
    from engine.stages.wall.part import Place

_FURTHER = re.compile(r"[+-]\s*[.,\d].*")


def entry_line(table: Table, entry: Mapping[str, object]) -> str:
    """One entry as a line: what stands in its columns, and no word twice."""
    told = [f"{entry[c.key]} x" if c.key == "quantity" else text_of(entry[c.key]) for c in table.columns if entry.get(c.key) is not None]
    return ", ".join({text.casefold(): text for text in told}.values()) or f"(nothing answered yet for this {table.one})"


def relative(session: Session, table: Table, place: int, column: str, text: str) -> str:
    """What a cell's text says, where it speaks of the row above: `"` alone is as there, "+0.6" in a place's x or y so much further on.

    Any other text is itself. Raises `Refused` where there is nothing above.
    """
    typed = text.strip()
    further = table.key == PLACES.key and column in ("x", "y") and _FURTHER.fullmatch(typed)
    if typed != '"' and not further:
        return text
    above = text_at(session, f"{table.key}[{place - 1}].{column}") if place else ""
    if not above:
        raise Refused("there is nothing in the row above")
    if not further:
        return above
    how = asked(Question(f"{table.key}[{place}].{column}", under=circumstances(session.answers)))
    assert how.amount
    step = parse(how.amount.mark, str(value_of(how, typed[1:].strip())))
    at = parse(how.amount.mark, above) + (step if typed[0] == "+" else -step)
    if at < 0:
        raise Refused(f"{typed} from {above} is beyond the edge of the wall")
    return in_unit(how.key, at, session.answers)


def in_unit(key: str, value: float, answers: Answers) -> str:
    """An SI value in the unit that a question's bare number takes, to a thousandth of it."""
    how = asked(Question(key, under=circumstances(answers)))
    assert how.amount
    return f"{round(value / how.amount.si(1.0, how.unit), 3):g} {how.unit}"


def offered(table: Table, hanging: Iterable[Place], answers: Answers) -> tuple[Mapping[str, str], ...]:
    """Rows that nobody answered and the plan takes, as answers by key within an entry.

    A thing that hangs by assumption is one: with x and y typed, its `what` and `tag` are to be answered too.
    """
    if table.key != PLACES.key:
        return ()
    entries = len(answers.wall.places)
    return tuple(
        {"what": place.what}
        | ({"tag": place.name} if place.what in ("unit", "bank") else {})
        | {name: in_unit(f"{table.key}[0].{name}", getattr(place, name), answers) for name in ("x", "y", "width", "height")}
        for place in hanging
        if place.assumed and movable(place, answers) and entry_of(place, answers) == entries
    )


def totals(table: Table, answers: Answers) -> str:
    """The line below the loads: what they draw together and use in a day, no demand counted; "" for other tables, and without any load.

    What nobody answered is the machine's usual value, and told to be in it; what has none is left out, and counted.
    """
    if table.key != LOADS.key or not answers.loads:
        return ""
    told = {name: [(load.quantity or 1, *_of_load(load, name)) for load in answers.loads] for name in ("power", "energy")}
    power, energy = (sum(count * value for count, value, _ in rows if value is not None) for rows in told.values())
    usual = " (usual values in it)" if any(taken and value is not None for rows in told.values() for _, value, taken in rows) else ""
    lacking = {name: sum(value is None for _, value, _ in rows) for name, rows in told.items()}
    without = ", ".join(f"no {name}: {count}" for name, count in lacking.items() if count)
    return f"All: {shown(power, 'W')}, {shown(energy, 'J/d')}{usual}" + (f"; {without}" if without else "")


def _of_load(load: Load, name: str) -> tuple[float | None, bool]:
    """What one machine of a load draws, W, or uses in a day, J/d, None where nothing tells it; and whether it is only usual for its kind."""
    answered: float | None = getattr(load, name)
    if answered is not None:
        return answered, False
    if name == "power" and load.apparent_power is not None:
        factor = load.power_factor or _usual(load, "power_factor") or 1.0  # where nothing tells it, all of it may be real power
        return load.apparent_power * factor, load.power_factor is None
    return _usual(load, name), True


def _usual(load: Load, name: str) -> float | None:
    """What is usual for a load's machine, in SI."""
    machine = machines.machine(load.machine) if load.machine else None
    text, mark = machine.stands_for.get(name) if machine else None, readings(Load)[name]
    return parse(mark, text) if text is not None and mark else None


# From top to bottom: what is hung first stands first.
_HANGING = ("bank", "load-board", "incoming-board", "unit", "solar-isolator", "earth-bar", "obstacle")
_SERIES = re.compile(r"([^+]*\d[^+]*)\+(.*)")


def arranged(table: Table, rows: Sequence[Mapping[str, object]]) -> tuple[int, ...]:
    """The order in which rows are shown: places by what hangs there, so that none changes its line once it is answered."""
    every = range(len(rows))
    if table.key != PLACES.key:
        return tuple(every)
    return tuple(sorted(every, key=lambda at: (_HANGING.index(str(rows[at].get("what") or "obstacle")), str(rows[at].get("tag") or ""))))


def typed_in_place(table: Table, entry: Mapping[str, object], column: str) -> bool:
    """Whether a cell is typed in the table: what hangs there is a label once it is known, and a unit's size is that of all units."""
    if table.key != PLACES.key:
        return True
    what = entry.get("what")
    if column == "what":
        return what is None
    if column == "tag":
        return what is None or (what in ("unit", "bank") and entry.get("tag") is None)
    return what != "unit" or column not in ("width", "height")


def series(
    session: Session, table: Table, rows: Sequence[tuple[int, Mapping[str, object]]], column: str, text: str
) -> Mapping[str, str] | None:
    """What "0.5+0.6" in a place's x or y answers: 0.5 here, and 0.6 more in each row below of the same kind; "0.9+" says the same in all.

    `rows` are this row and those below it, by number, with what is known of each. None where the text is no such thing. Raises `Refused`.
    """
    found = _SERIES.fullmatch(text.strip())
    if table.key != PLACES.key or column not in ("x", "y") or not found:
        return None
    how = asked(Question(f"{table.key}[0].{column}", under=circumstances(session.answers)))
    assert how.amount
    begin, step = (parse(how.amount.mark, str(value_of(how, part.strip()))) if part.strip() else 0.0 for part in found.groups())
    told: dict[str, str] = {}
    entries = len(session.entries(table.key))
    what = rows[0][1].get("what")
    for count, (at, entry) in enumerate(rows):
        if entry.get("what") != what:
            break
        real = at
        if at >= entries:
            real = entries + sum(key.endswith(".what") for key in told)
            told |= {f"{table.key}[{real}].{name}": str(entry[name]) for name in ("what", "tag") if entry.get(name)}
        told[f"{table.key}[{real}].{column}"] = in_unit(how.key, begin + count * step, session.answers)
    return told
