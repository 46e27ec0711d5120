"""From question to question, cell to cell, page to page."""

from __future__ import annotations

from dataclasses import replace

from wizard.interview.state import DRAWING, REVIEW, Place, State, cells_of, first, order, page_at, place_of, row_of, rows


def on(state: State, place: Place | None) -> State:
    """With the focus there, where there is such a place."""
    return state if place is None else state.at(place)


def turned(state: State, step: int) -> State:
    """The page so many further on; from an entry, its row in the table."""
    if state.place.entry is not None:
        return up(state)
    page = page_at(state, step)
    return state if page is None else replace(state, looked=None).at(first(state, page))


def up(state: State) -> State:
    """From an entry back to its row."""
    table, entry = state.table, state.place.entry
    if table is None or entry is None:
        return state
    return state.at(Place(state.place.page, f"{table.key}[{entry}].{table.columns[0].key}"))


def stepped(state: State, step: int) -> State:
    """The next question or cell, or the one before; the page turns at neither end."""
    keys = order(state)
    at = keys.index(state.place.key) + step if state.place.key in keys else 0
    return state.at(replace(state.place, key=keys[at])) if 0 <= at < len(keys) else state


def along(state: State, step: int) -> State:
    """Down or up: in a table the same column of the next row, a new one at its first cell; elsewhere the next question."""
    row = row_of(state)
    if row is None:
        return stepped(state, step)
    table, at, column = row
    every = rows(state)
    to = every.index(at) + step
    if not 0 <= to < len(every):
        return _out(state, step)
    cells = [question.key for question in cells_of(table, every[to], state)]
    same = f"{table.key}[{every[to]}].{column}"
    return state.at(replace(state.place, key=same if same in cells and to < len(every) - 1 else cells[0]))


def _out(state: State, step: int) -> State:
    """From a table to what stands above or below it."""
    keys = order(state)
    inside = [at for at, key in enumerate(keys) if key.startswith(f"{state.table.key}[")] if state.table else []
    at = (inside[-1] if step > 0 else inside[0]) + step if inside else 0
    return state.at(replace(state.place, key=keys[at])) if 0 <= at < len(keys) else state


def entered(state: State) -> State:
    """What follows an answer: the next question, or the next page behind the last; an empty new row leaves its table."""
    row, keys = row_of(state), order(state)
    if row and row[1] == rows(state)[-1]:
        left = _out(state, 1)
        return left if left.place != state.place else turned(state, 1)
    if state.place.key in (DRAWING, REVIEW) or state.place.key != keys[-1]:
        moved = stepped(state, 1)
        return moved if moved.place != state.place else turned(state, 1)
    return turned(state, 1)


def gone_to(state: State, key: str) -> State:
    """At the question of a key, on the page that asks it."""
    return on(state, place_of(state, key))
