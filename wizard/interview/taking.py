"""How what is typed becomes an answer, or stays as a text that was not accepted."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace

from engine.files.problems import Problem
from engine.quantities import Refused
from engine.text import counted
from wizard.answers.session import Session
from wizard.asking import guide
from wizard.interview.state import Refusal, State, entry_at, row_of, rows, standing


def taken(state: State) -> State:
    """With what is being typed taken as the answer, or refused."""
    text = state.typed
    if text is None:
        return replace(state, typing=None) if state.typing else state
    return answered(replace(state, typing=None), state.place.key, text)


def answered(state: State, key: str, text: str) -> State:
    """With a key answered by a text as typed; refused, the text stays where it is."""
    others = {name: refusal for name, refusal in state.refused.items() if name != key}
    if not text.strip() and key in state.refused:  # what was not accepted goes, the answer before it stands again
        return replace(state, refused=others, slip="")
    before, (real, given) = state, _real(state, key)
    try:
        if (several := _series(state, key, text)) is not None:
            state = together(replace(state, refused=others, place=replace(state.place, key=real)), several)
            column = real.rpartition(".")[2]
            said = counted(sum(name.endswith(f".{column}") for name in several), "answer")
            return replace(rehung(before, state, real), told=f"From this row down: {said}. F5 takes it back.")
        meant = _meant(state, text)
        result = guide.answer_all(state.session, given | {real: meant}) if given and meant else guide.answer(state.session, real, meant)
    except Refused as refused:
        result = Problem(None, real, str(refused))
    place = replace(state.place, key=real) if state.place.key == key else state.place
    if isinstance(result, Problem):
        if given:  # a row that is only offered has no place of its own yet: the text stays where it was typed
            real, place = key, state.place
        walked = tuple(name for name in state.walked if name != ("", real))
        return replace(state, refused=others | {real: Refusal(text, result.text)}, place=place, echo=None, slip=real, walked=walked)
    state = replace(remembered(state), session=result, refused=others, place=place, slip="")
    stored, state = guide.text_at(result, real), rehung(before, state, real)
    question = state.question(real)
    otherwise = question and not guide.asked(question).choices and stored and stored != text.strip()
    return replace(state, echo=(real, f"{text.strip()} -> {stored}") if otherwise else None)


def _meant(state: State, text: str) -> str:
    """A typed text as the answer it stands for: as the row above, or the first of the choices that it may mean."""
    row = row_of(state)
    if row and text.strip():
        table, at, column = row
        above = rows(state)[max(0, rows(state).index(at) - 1)]
        known = above < len(state.session.entries(table.key)) and above != at
        text = guide.relative(state.session, table, above + 1 if known else 0, column, text)
    question = state.question(state.place.key)
    if (
        question
        and text.strip()
        and not question.key.endswith(".machine")
        and guide.asked(question).choices
        and not guide.asked(question).many
    ):
        return next(iter(guide.matches(question, text)), text)
    return text


def _series(state: State, key: str, text: str) -> Mapping[str, str] | None:
    """What a text answers that goes on in the rows below."""
    row = row_of(state)
    if row is None or state.place.key != key:
        return None
    table, at, column = row
    below = rows(state)[rows(state).index(at) : -1]
    return guide.series(state.session, table, [(number, entry_at(state, number)) for number in below], column, text) if below else None


def _real(state: State, key: str) -> tuple[str, dict[str, str]]:
    """The key under which an answer is kept, and what is answered with it: a row that is only offered becomes the next entry."""
    row = row_of(state)
    if row is None or state.place.key != key:
        return key, {}
    table, at, column = row
    entries = len(state.session.entries(table.key))
    if at < entries:
        return key, {}
    known, stem = entry_at(state, at), f"{table.key}[{entries}]"
    return f"{stem}.{column}", {f"{stem}.{name}": str(known[name]) for name in ("what", "tag") if known.get(name) and name != column}


def together(state: State, answers: Mapping[str, str]) -> State:
    """With several answers taken as one change; as it was where one is refused."""
    result = state.session.set_all(answers)
    if isinstance(result, Problem):
        return replace(state, told=f"! {result.text}")
    refused = {key: refusal for key, refusal in state.refused.items() if key not in answers}
    return standing(replace(remembered(state), session=result, refused=refused, slip=""))


def became(state: State, result: Session | Problem, table: str, moved: Callable[[int], int | None]) -> State:
    """With rows of a table elsewhere: what was refused in them goes with them."""
    if isinstance(result, Problem):
        return replace(state, told=f"! {result.text}")
    refused = {}
    for key, refusal in state.refused.items():
        found = re.fullmatch(rf"{re.escape(table)}\[(\d+)\](.*)", key)
        if not found:
            refused[key] = refusal
        elif (at := moved(int(found[1]))) is not None:
            refused[f"{table}[{at}]{found[2]}"] = refusal
    return replace(remembered(state), session=result, refused=refused, slip="")


def remembered(state: State) -> State:
    """With what is refused now kept for the answers as they are now: they may be come back to."""
    return replace(state, trail={**state.trail, len(state.session.past): state.refused})


def rehung(before: State, after: State, real: str = "") -> State:
    """With what is typed or refused in rows that are only offered on the rows of the same things: their numbers are another plan's.

    `real` is the key of an answer that was taken just now: its row is an entry.
    """
    if after.place.page.table is None:
        return standing(after)
    row = real.rpartition(".")[0]
    moved = {key: _row_of_same(before, after, key) for key in (*after.refused, after.place.key) if not row or not key.startswith(f"{row}.")}
    refused = {moved.get(key) or key: refusal for key, refusal in after.refused.items()}
    to = moved.get(after.place.key) or after.place.key
    typing = after.typing
    after = standing(replace(after, refused=refused, place=replace(after.place, key=to)))
    return replace(after, typing=typing) if after.place.key == to else after


def _row_of_same(before: State, after: State, key: str) -> str | None:
    """The key of the same cell where the same thing has its row now; None where the row has its number for good, or the thing is gone."""
    table = before.table
    found = re.fullmatch(rf"{re.escape(table.key)}\[(\d+)\]\.(.*)", key) if table else None
    if table is None or not found or int(found[1]) < len(before.session.entries(table.key)):
        return None
    thing = entry_at(before, int(found[1]))
    if not thing:  # the new row stays the last one
        return f"{table.key}[{rows(after)[-1]}].{found[2]}" if rows(after) else None
    same = (
        at for at in rows(after) if (other := entry_at(after, at)) and all(other.get(name) == thing.get(name) for name in ("what", "tag"))
    )
    return next((f"{table.key}[{at}].{found[2]}" for at in same), None)
