"""A state and an event give the next state and what is to be done."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from engine.text import clean, counted, listed
from wizard.asking import guide
from wizard.asking.hanging import moved
from wizard.asking.pages import PLACES, ROUTES, Page, Table
from wizard.interview import mending, walking
from wizard.interview.boxes import LONGEST, Name, Taken, Tell, choosing, pressed
from wizard.interview.drafting import DROP, NEW, SURE, asked_twice
from wizard.interview.draw import body_lines, helped, last_read, screenful, things
from wizard.interview.events import Cure, Draft, Event, Key, Leave, NotSaved, Paste, Plan, Save, Saved, Size, Wanted
from wizard.interview.keys import ACTIONS, HELP
from wizard.interview.state import DRAWING, REVIEW, Ahead, Refusal, State, cells_of, first, order, place_of, row_of, standing
from wizard.interview.taking import answered, became, rehung, remembered, taken, together
from wizard.interview.typing import Typing, begun, edited, typed
from wizard.planning.messages import Cured, Failed
from wizard.planning.seen import Seen
from wizard.review import SECTIONS

if TYPE_CHECKING:
    from wizard.answers.session import Session

_LEAVE = "leave"
AHEAD = 1.0  # seconds within which nobody can have read a refusal and typed: twice 0.3 s of the link, and a glance

Step = tuple[State, tuple[Wanted, ...]]


def handle(state: State, event: Event) -> Step:
    """The next state, and what is wanted. An answer that changed always wants a plan."""
    before = state.session.answers
    state, wanted = _handled(state, event)
    if state.session.answers is not before and state.session.answers != before:
        state = replace(state, fault="")
        wanted = (*wanted, Plan())
    finding = mending.at_hand(state)
    if finding and not mending.tried(state) and (finding.code, finding.about) != state.trying:
        state = replace(state, trying=(finding.code, finding.about))
        wanted = (*wanted, Cure(finding.code, finding.about))
    return state, wanted


def started(state: State) -> Step:
    """What the first moment wants."""
    return state, (Plan(at_once=True),)


def _handled(state: State, event: Event) -> Step:
    match event:
        case Key():
            return _key(state, event)
        case Paste():
            return _pasted(state, event.text), ()
        case Size():
            return replace(state, columns=max(1, event.columns), lines=max(1, event.lines)), ()
        case Seen():
            return _seen(state, event)
        case Failed():
            return _failed(state, event)
        case Cured():
            return _cured(state, event), ()
        case Saved():
            return _saved(state, event)
        case NotSaved():
            return _not_saved(state, event), ()


# Keys


def _key(state: State, key: Key) -> Step:
    state = replace(state, follow=False)  # whoever goes on by himself is not led
    if state.box:
        return _in_box(state, key)
    state = replace(state, told="") if key.name == "enter" else _ahead(replace(state, told=""), key)
    if state.place.key == REVIEW and key.name in ("pageup", "pagedown"):
        page = screenful(state)
        return _read_on(state, page if key.name == "pagedown" else -page), ()
    if action := ACTIONS.get(key.name):
        return _DO[action](state)
    match key.name:
        case "enter":
            return _entered(state, key.time), ()
        case "tab":
            return walking.stepped(taken(state), 1), ()
        case "shift+tab":
            return walking.stepped(taken(state), -1), ()
        case "escape":
            back = walking.up(taken(state)) if state.place.entry is not None else state
            return (replace(state, told="Escape drops nothing. F5 takes the last change back.") if back is state else back), ()
    if state.place.key == DRAWING:
        return _in_drawing(state, key), ()
    if state.place.key == REVIEW:
        return _in_review(state, key), ()
    if key.name in ("up", "down"):
        return walking.along(taken(state), 1 if key.name == "down" else -1), ()
    if key.char == " " and not (state.typing and state.typing.text) and _choices(state):
        return _all_choices(replace(state, typing=None)), ()
    return (_choosing if _choices(state) and not state.place.key.endswith(".machine") else _writing)(state, key), ()


def _ahead(state: State, key: Key) -> State:
    """What was typed before a refusal could be read was meant for the question that follows."""
    if state.ahead is None:
        return state
    ahead, state = state.ahead, replace(state, ahead=None)
    # Over an answer nobody types ahead: that is the refused text being mended.
    if key.time >= ahead.until or not key.char or state.text(ahead.place.key):
        return state
    return state.at(ahead.place) if ahead.place.key in order(replace(state, place=ahead.place)) else state


def _entered(state: State, time: float) -> State:
    """Take the answer and go on; a refusal keeps the focus."""
    if state.place.key == REVIEW:
        return _followed(state)
    if state.ahead and time < state.ahead.until:
        # One more question is passed over ahead; whoever looks at the refusal stays there.
        return replace(state, ahead=Ahead(walking.entered(state.at(state.ahead.place)).place, state.ahead.until))
    before, was = state, state.typed is not None
    state = taken(state)
    onward = walking.entered(state)
    while row_of(onward) and was and not before.text(onward.place.key) and onward.text(onward.place.key):
        onward = walking.stepped(onward, 1)  # what the same answer said too
    if was and state.place.key in state.refused:
        onward = walking.stepped(state, 1) if row_of(state) else onward  # a row in which something was typed is not left
        return replace(state, ahead=Ahead(onward.place, time + AHEAD))
    return replace(onward, ahead=None)


def _choices(state: State) -> bool:
    question = state.question(state.place.key)
    return question is not None and bool(guide.asked(question).choices) and not guide.asked(question).many


def _writing(state: State, key: Key) -> State:
    """A key in a line. The first character replaces what stands there; keys that move the caret edit it."""
    cell, standing_text = row_of(state) is not None, state.text(state.place.key)
    if key.char:
        return replace(state, typing=typed(state.typing or Typing(), key.char))
    if cell and key.name in ("left", "right"):
        # Beyond the end of a text lies the next cell.
        typing, end = state.typing, 0 if key.name == "left" else len(state.typing.text) if state.typing else 0
        if typing is None or typing.caret == end:
            return walking.stepped(taken(state), 1 if key.name == "right" else -1)
    if state.typing is None and key.name == "delete":
        # What was not accepted goes first, and the answer before it stands again.
        return _taken_back(state, state.place.key) if state.place.key in state.refused else replace(state, typing=Typing())
    line = edited(state.typing or begun(standing_text), key.name)
    return replace(state, typing=line) if line else state


def _choosing(state: State, key: Key) -> State:
    """A key in a choice: letters seek, left and right step, Space shows all."""
    question = state.question(state.place.key)
    if question is None:
        return state
    sought = state.typing.text if state.typing else ""
    if key.char:
        # What matches nothing stays as well, and is refused: a letter that is left out makes another word of it.
        return replace(state, typing=typed(begun(sought), key.char))
    match key.name:
        case "left" | "right" if row_of(state):
            return walking.stepped(taken(state), 1 if key.name == "right" else -1)
        case "left" | "right":
            offered = ("", *guide.choices(question, state.session.answers))
            now = (guide.matches(question, sought) or ("",))[0] if sought else state.text(state.place.key) if state.typing is None else ""
            at = offered.index(now) if now in offered else 0
            return replace(state, typing=begun(offered[(at + (1 if key.name == "right" else -1)) % len(offered)]))
        case "delete":
            return replace(state, typing=Typing())
        case "backspace":
            return replace(state, typing=begun(sought[:-1]) if sought else Typing())
    return state


def _all_choices(state: State) -> State:
    question = state.question(state.place.key)
    if question is None:
        return state
    offered, meanings = guide.choices(question, state.session.answers), guide.meanings(state.place.key)
    width = max(map(len, offered))
    lines = [(word, f"{word:<{width}}  {meanings.get(word, '')}".rstrip()) for word in offered]
    return replace(
        state, box=choosing("answer", question.name, [("", "(no answer)"), *lines], state.text(state.place.key), state.place.key)
    )


def _in_drawing(state: State, key: Key) -> State:
    """Arrow keys move a thing, Space goes to the next."""
    names = [thing.name for thing in things(state)]
    if not names or state.seen is None or (state.moving is None and key.name in ("up", "down")):
        # Whoever only comes along must not move what was measured: left, right or Space take a thing up.
        step = {"up": -1, "down": 1}.get(key.name, 0)
        return walking.stepped(state, step) if step else state
    chosen = next((thing for thing in things(state) if thing.name == state.moving), things(state)[0])
    if key.name in ("space", "backspace") or key.char == " ":
        step = 0 if state.moving is None else -1 if key.name == "backspace" else 1
        return replace(state, moving=names[(names.index(chosen.name) + step) % len(names)])
    right, upward = {"left": (-1, 0), "right": (1, 0), "up": (0, 1), "down": (0, -1)}.get(key.name, (0, 0))
    if not (right or upward):
        return state
    wall = state.seen.wall
    return together(
        replace(state, moving=chosen.name), moved(chosen, state.session.answers, right, upward, (wall.width.value, wall.height.value))
    )


def _in_review(state: State, key: Key) -> State:
    """Left and right choose a section, up and down a finding or a line."""
    if key.name in ("left", "right") or key.char == " ":
        return replace(state, section=(state.section + (-1 if key.name == "left" else 1)) % len(SECTIONS), reading=0)
    return _read_on(state, {"up": -1, "down": 1}.get(key.name, 0))


def _read_on(state: State, step: int) -> State:
    return replace(state, reading=min(max(0, state.reading + step), last_read(state)))


def _followed(state: State) -> State:
    """From a finding of the review to its question; elsewhere the next section."""
    if state.section or state.seen is None or not state.seen.findings:
        return _in_review(state, Key("right"))
    if not state.current:
        return replace(state, told="The plan of these answers is still being made.")
    finding = state.seen.findings[min(state.reading, len(state.seen.findings) - 1)]
    target = mending.target(state, finding)
    if target.place.key == REVIEW:
        return replace(state, told="No single answer would mend this.")
    return replace(state.at(target.place), looked=(target.name, target.place.key))


def _pasted(state: State, text: str) -> State:
    """The first line of a text, with a word on what was left out."""
    lines = [line for line in text.splitlines() if line.strip()]
    if not lines:
        return state
    if isinstance(state.box, Name):
        return replace(state, box=replace(state.box, typing=typed(state.box.typing, lines[0], LONGEST)))
    if state.box or state.place.key in (DRAWING, REVIEW):
        return state
    state = replace(state, typing=typed(state.typing or Typing(), lines[0].strip()), told="", ahead=None)
    if len(lines) > 1:
        return replace(state, told=f"Pasted the first line; {counted(len(lines) - 1, 'more line')} left out.")
    if state.typing and state.typing.text != lines[0].strip():
        return replace(state, told="Pasted, with characters left out or cut that no answer may have.")
    return state


# What the keys of the last line do


def _help(state: State) -> Step:
    state = taken(state)
    question = state.question(state.place.key)
    finding = mending.at_hand(state)
    told = [f"{finding.level.upper()}: {guide.spoken(f'{finding.text} {finding.remedy}')}"] if finding else []
    told += [f"F3 cures it, tried: {mending.cure_text(cure)}." for cure in mending.offered(state)]
    told = [*helped(state)[:1], *told, *helped(state)[1:]] if state.place.key in state.refused else [*told, *helped(state)]
    if finding is None and (worst := mending.finding_at(state)):
        told.append(f"Of the whole plan: {worst.level.upper()}: {guide.spoken(f'{worst.text} {worst.remedy}')}")
    return replace(state, box=Tell(question.name if question else state.place.page.title, (*told, *HELP))), ()


def _save(state: State) -> Step:
    state = taken(state)
    if state.warned:
        choices = [("other", "Save under another name"), ("over", "Save over it all the same"), ("not", "Do not save")]
        return replace(state, box=choosing("over", f"{clean(str(state.warned[0]), 200)}: {state.warned[1]}", choices)), ()
    if state.session.path is None:
        return replace(state, box=Name("name", "Save under which name?", begun("site.toml"))), ()
    return _write(state, Save(state.session.path))


def _write(state: State, save: Save) -> Step:
    """Have it written; with the plan of these answers, so not before that has come. A planner that broke keeps nobody from saving."""
    if state.current or state.fault:
        return replace(state, saving=None, told="Saving ..."), (save,)
    return replace(state, saving=save, told="Saving: waits for the plan ..."), (Plan(at_once=True),)


def _cure(state: State) -> Step:
    state = taken(state)
    cures = mending.offered(state)
    if not cures:
        wait = mending.at_hand(state) and not mending.tried(state)
        return replace(
            state, told="What would cure it is still being tried." if wait else "No cure is offered here: this is for you to answer."
        ), ()
    if mending.simple(cures):
        return _take_cure(state, cures[0].answers), ()
    told = [
        f"{at}: {mending.cure_text(cure)} (leaves {counted(cure.stops, 'stop')}, {counted(cure.cautions, 'caution')})."
        for at, cure in enumerate(cures, 1)
    ]
    # The box holds what it showed: what was tried since then may be another.
    choices = [(json.dumps(dict(cure.answers)), f"Take {at}") for at, cure in enumerate(cures, 1)] + [(_LEAVE, "Leave all as it is")]
    return replace(state, box=choosing("cure", "\n".join(("Tried: each cures it.", *told)), choices)), ()


def _take_cure(state: State, answers: Mapping[str, str]) -> State:
    state = together(state, answers)
    told = state.told or f"Taken: {mending.answers_text(answers)}. F5 takes it back."
    return replace(walking.gone_to(state, next(iter(answers))), told=told, looked=None)


def _pages(state: State) -> Step:
    state = taken(state)
    lines = [(page.name, _page_line(state, page)) for page in guide.pages(state.session.answers)]
    return replace(state, box=choosing("page", "Go to a page: answered of asked, ! what stops", lines, state.place.page.name)), ()


def _page_line(state: State, page: Page) -> str:
    done, asked = guide.progress(page, state.session, state.tags)
    stops = sum(stop.page is page for stop in state.notes.stops)
    told = f"{done}/{asked}" if asked else ""
    return f"{page.title:<27} {told:<5}" + (f" !{stops}" if stops else "")


def _undo(state: State) -> Step:
    state = taken(state)
    if state.slip in state.refused:
        return _taken_back(walking.gone_to(state, state.slip), state.slip), ()
    return _came_back(state, *state.session.undo(), "Nothing to take back."), ()


def _taken_back(state: State, key: str) -> State:
    """Without a text that was not accepted: the answer before it stands again."""
    kept = {name: refusal for name, refusal in state.refused.items() if name != key}
    return replace(state, refused=kept, slip="", ahead=None, told=f"{clean(state.refused[key].text, 40)!r} was taken back.")


def _redo(state: State) -> Step:
    state = taken(state)
    return _came_back(state, *state.session.redo(), "Nothing was taken back."), ()


def _came_back(state: State, session: Session, keys: tuple[str, ...], none: str) -> State:
    """Say what is otherwise now, and go there. What was refused in rows that came, went or moved is as it was when they stood so."""
    if not keys:
        return replace(state, told=none)
    left = remembered(state)
    tables = {key.partition("[")[0] for key in keys if key.endswith("]")}
    was = left.trail.get(len(session.past), {})
    refused = {key: refusal for key, refusal in state.refused.items() if key.partition("[")[0] not in tables and key not in keys}
    refused |= {key: refusal for key, refusal in was.items() if key.partition("[")[0] in tables}
    refused |= {problem.key: Refusal(problem.found, problem.text) for problem in session.wrong}
    state = standing(replace(left, session=session, echo=None, slip="", refused=refused))
    told = [f"{guide.name_of(key)}: {_standing_at(session, key)}" for key in keys]
    return replace(walking.gone_to(state, keys[0]), told=f"Now {listed(told, 3)}.")


def _standing_at(session: Session, key: str) -> str:
    if key.endswith("]"):
        return guide.row_text(session, key) or "gone"
    return guide.text_at(session, key) or "no answer"


def _mend(state: State) -> Step:
    state = taken(state)
    if not state.current and not state.fault and not state.refused:
        # What an older plan says is never followed: the way goes on when the plan of these answers has come.
        return replace(state, follow=True, told="Planning; then it goes on."), (Plan(at_once=True),)
    return mending.mended(state), ()


def _back(state: State) -> Step:
    return _turn(state, -1), ()


def _next(state: State) -> Step:
    return _turn(state, 1), ()


def _turn(state: State, step: int) -> State:
    return walking.turned(taken(state), step)


def _row(state: State) -> Step:
    state = taken(state)
    row = row_of(state)
    entries = len(state.session.entries(row[0].key)) if row else 0
    if row is None or row[1] >= entries:
        return replace(state, told="F9 is for a row of a table that has an answer." if row is None else "This row is not answered yet."), ()
    # The wall's rows stand by what hangs there.
    moves = [] if row[0] is PLACES else [("up", "Up by one"), ("down", "Down by one")]
    choices = [("copy", "Copy it"), *moves, ("remove", "Remove it"), ("all", "All its questions")]
    if kinds := _other_kinds(state, row[0]):
        choices.append(("same", f"Same for the other kinds: {listed(kinds)}"))
    return replace(state, box=choosing("row", f"{row[0].one.capitalize()} {row[1] + 1}", choices)), ()


def _leave(state: State) -> Step:
    state = taken(state)
    if not state.unsaved:
        return state, (Leave(),)
    told = "Your answers are not saved."
    if state.refused:
        told += f" {_refused(state)} cannot be saved."
    choices = [("save", "Save, then leave"), ("stay", "Stay"), ("leave", "Leave without saving")]
    return replace(state, box=choosing("leave", told, choices)), ()


def _refused(state: State) -> str:
    names = listed([f"{guide.name_of(key)} ({clean(refusal.text, 20)})" for key, refusal in state.refused.items()], 3)
    return f"{len(state.refused)} not accepted: {names}"


_DO: dict[str, Callable[[State], Step]] = {
    "help": _help,
    "save": _save,
    "cure": _cure,
    "pages": _pages,
    "undo": _undo,
    "redo": _redo,
    "mend": _mend,
    "back": _back,
    "next": _next,
    "row": _row,
    "leave": _leave,
}


# Boxes


def _in_box(state: State, key: Key) -> Step:
    assert state.box is not None
    outcome = pressed(state.box, key.name, key.char, max(1, body_lines(state) - 1))
    if not isinstance(outcome, Taken):
        return replace(state, box=outcome, leaving=state.leaving and outcome is not None), ()
    return _taken(replace(state, box=None), outcome)


def _taken(state: State, chosen: Taken) -> Step:
    match chosen.then:
        case "answer":
            return walking.entered(answered(state, chosen.about, chosen.text)), ()
        case "page":
            page = next(page for page in guide.pages(state.session.answers) if page.name == chosen.text)
            return state.at(first(state, page)), ()
        case "row":
            return _with_row(state, chosen.text), ()
        case "cure":
            return (_take_cure(state, json.loads(chosen.text)) if chosen.text != _LEAVE else state), ()
        case "name":
            path = _path(chosen.text)
            if path is None:
                return replace(
                    state, box=Name("name", f"No file can have the name {clean(chosen.text, 60)}. Which?", begun("site.toml"))
                ), ()
            return _write(state, Save(path))
        case "over":
            return _over(state, chosen.text)
        case "leave":
            if chosen.text == "leave":
                return state, (Leave(),)
            return _save(replace(state, leaving=True)) if chosen.text == "save" else (state, ())
        case "draft":
            return _draft(state, chosen.text)
        case "read":
            return state, ()


def _draft(state: State, chosen: str) -> Step:
    """A draft of those that were offered; to drop one is asked twice."""
    if chosen.startswith(DROP):
        return replace(state, box=asked_twice(chosen.removeprefix(DROP))), ()
    if chosen.startswith(SURE):
        return state, (Draft("drop", int(chosen.removeprefix(SURE))),)
    if chosen == NEW:
        return state, ()
    return state, (Draft("offer") if chosen == "offer" else Draft("resume", int(chosen)),)


def _over(state: State, chosen: str) -> Step:
    if chosen == "other" or state.warned is None:
        beside = _beside(state.warned[0] if state.warned else Path("site.toml"))
        return replace(state, warned=None, box=Name("name", "Save under which name? It goes beside what is there.", begun(str(beside)))), ()
    if chosen == "over":
        return _write(replace(state, warned=None), Save(state.warned[0], over=True))
    return replace(state, warned=None, leaving=False, told="Not saved."), ()


def _beside(path: Path) -> Path:
    """A name like that one, counted up."""
    found = re.fullmatch(r"(.*)-(\d+)", path.stem)
    stem, number = (found[1], int(found[2])) if found else (path.stem, 1)
    return path.with_name(f"{stem}-{number + 1}{path.suffix}")


def _path(text: str) -> Path | None:
    """The file that somebody means; None where there can be none of that name (a home that nobody has)."""
    try:
        path = Path(text).expanduser()
    except (RuntimeError, ValueError):
        return None
    return path if "\0" not in text and all(len(part.encode()) <= 255 for part in path.parts) else None


def _with_row(state: State, chosen: str) -> State:
    """A row copied, moved, removed, or opened; the focus goes with it, and stays in its column."""
    row = row_of(state)
    if row is None:
        return state
    table, at, column = row
    match chosen:
        case "copy":
            state = became(state, state.session.copy(table.key, at), table.key, lambda k: k if k <= at else k + 1)
            return standing(state.at(replace(state.place, key=cells_of(table, at + 1, state)[0].key)))
        case "up" | "down":
            other = at + (1 if chosen == "down" else -1)
            if not 0 <= other < len(state.session.entries(table.key)):
                return state
            swap = {at: other, other: at}
            state = became(state, state.session.move(table.key, at, other - at), table.key, lambda k: swap.get(k, k))
            return state.at(replace(state.place, key=f"{table.key}[{other}].{column}"))
        case "same":
            return _same_for(state, table, at, _other_kinds(state, table))
        case "remove":
            state = became(state, state.session.remove(table.key, at), table.key, lambda k: None if k == at else k - (k > at))
            return replace(standing(state.at(state.place)), told=state.told or "Removed. F5 takes it back.")
        case _:
            return state.at(first(state, state.place.page, at))


def _other_kinds(state: State, table: Table) -> tuple[str, ...]:
    """The kinds of cable of this site that no route speaks of; none for other tables."""
    if table is not ROUTES or state.seen is None:
        return ()
    told = {str(entry.get("carries")) for entry in state.session.entries(table.key)}
    return tuple(kind for kind in dict.fromkeys([*(circuit.kind for circuit in state.seen.plan.circuits), "comms"]) if kind not in told)


def _same_for(state: State, table: Table, at: int, kinds: tuple[str, ...]) -> State:
    """A route for each of these kinds, laid as this one."""
    last = len(state.session.entries(table.key))
    columns = [question.key for question in table.questions if question.key not in ("carries", "to", "length", "resistance")]
    laid = {column: text for column in columns if (text := state.session.get(f"{table.key}[{at}].{column}"))}
    answers = {
        f"{table.key}[{last + count}].{column}": text
        for count, kind in enumerate(kinds)
        for column, text in ({"carries": kind} | laid).items()
    }
    return replace(together(state, answers), told=f"Laid so too: {listed(kinds)}. F5 takes it back.")


# What comes from elsewhere


def _seen(state: State, seen: Seen) -> Step:
    """A plan has come. One of older answers is dropped."""
    if seen.revision != state.session.revision:
        return state, ()
    notes = guide.notes(seen.findings, seen.assumed, state.session.answers)
    state = rehung(state, replace(state, seen=seen, notes=notes, cures={}, trying=None, fault=""))
    if state.follow:
        state = mending.mended(replace(state, follow=False, told=""))
    return _planned(state)


def _failed(state: State, failed: Failed) -> Step:
    """The planner broke: a fault of the program, not of the answers. Nothing of an older plan is told as today's."""
    if failed.revision != state.session.revision:
        return state, ()
    state = replace(state, follow=False, fault=clean(f"NO PLAN: a fault of this program, not of your answers ({failed.text})", 200))
    return _planned(state)


def _planned(state: State) -> Step:
    """What waited for the plan goes on."""
    return _write(state, state.saving) if state.saving else (state, ())


def _cured(state: State, cured: Cured) -> State:
    if cured.revision != state.session.revision:
        return state
    return replace(state, cures={**state.cures, (cured.code, cured.about): cured.cures})


def _saved(state: State, saved: Saved) -> Step:
    """Answers that came while it was written are kept, and are not saved."""
    session = state.session.on(saved.session)
    older = "plan" in (session.origin.document if session.origin else ())
    what = "answers and plan" if saved.with_plan else "answers; the plan in it is older" if older else "answers, without a plan"
    left_out = f" Without {_refused(state)}." if state.refused else ""
    unsure = "" if session.confirmed else " The disk did not confirm it: look at the file before you rely on it."
    told = f"Saved {what}: {clean(str(saved.path), 100)}.{left_out}{unsure}"
    # What is no question's is in the file now, as a remark: nothing is left to be mended here.
    refused = {key: refusal for key, refusal in state.refused.items() if place_of(state, key)}
    state = replace(state, session=session, refused=refused, warned=None, told=told)
    leave = state.leaving and not state.unsaved
    return replace(state, leaving=False), (Leave(),) if leave else ()


def _not_saved(state: State, not_saved: NotSaved) -> State:
    told = f"! NOT SAVED: {not_saved.why} ({clean(str(not_saved.path), 60)})"
    if not_saved.in_the_way:
        # The next F2 asks about it: a box that opens by itself would take keys meant for the page.
        return replace(state, warned=(not_saved.path, not_saved.why), told=f"{told} F2 again: over it, or another name.", leaving=False)
    return replace(state, told=told, leaving=False)
