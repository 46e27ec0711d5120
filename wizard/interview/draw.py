"""What is on the screen: lines of styled text and the caret, from the state alone.

Help, figures, finding and keys stand in fixed places, so that little changes from key to key. Nothing rests on colour: what has the
focus is reversed, what is wrong has a mark and words.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from engine.findings import Level
from engine.frozen import dataclass
from engine.quantities import shown
from engine.sheets.text.layout import cells, fit, wrapped
from engine.text import clean, counted
from wizard.answers.fields import text_of
from wizard.asking import guide
from wizard.asking.answering import PER_PHASE
from wizard.asking.hanging import STEP, movable
from wizard.asking.pages import PLACES, Question, Table
from wizard.interview import mending
from wizard.interview.boxes import Choose, Name, Tell
from wizard.interview.keys import keys_line
from wizard.interview.state import DRAWING, REVIEW, State, cells_of, entry_at, offered, order, questions, row_of, rows
from wizard.interview.typing import Typing
from wizard.review import SECTIONS, finding_lines, section

if TYPE_CHECKING:
    from engine.stages.wall.part import Place as Thing

Style = Literal["", "bold", "reverse", "underline"]

NAME, BOX = 29, 22  # columns of a question's name and of its answer
_LEAST, _EDGES = 13, 7  # of an answer on a narrow screen, and of what stands around it: indent, edges, gap, the bar at the right
HELP, FINDING = 3, 3  # lines


@dataclass(frozen=True)
class Span:
    """A text in one style."""

    text: str
    style: Style = ""


Line = tuple[Span, ...]


@dataclass(frozen=True)
class Row:
    """A line of the page; whether it belongs to what has the focus, and the column of the caret, where it is here."""

    line: Line
    focus: bool = False
    caret: int | None = None


@dataclass(frozen=True)
class Screen:
    """The whole: as many lines as the terminal has, none wider; the caret's column and line."""

    lines: tuple[Line, ...]
    caret: tuple[int, int] | None = None


def show(state: State) -> tuple[State, Screen]:
    """The screen of a state, and the state with what has the focus on it."""
    room = body_lines(state)
    state = _within_box(state, room)
    title, bottom = _title(state), _bottom(state)
    if state.box:
        body, caret = _box(state, room)
    else:
        every = page(state)
        state = _scrolled(state, every, room)
        seen = every[state.top : state.top + room]
        body = [row.line for row in seen]
        caret = next(((row.caret, at) for at, row in enumerate(seen) if row.caret is not None), None)
        body = _barred(body, state, len(every), room)
    lines = [title, *body, *[()] * (room - len(body)), *bottom][: state.lines]
    screen = Screen(tuple(_cut(line, state.columns) for line in lines), (min(caret[0], state.columns - 1), caret[1] + 1) if caret else None)
    return state, screen


def body_lines(state: State) -> int:
    """How many lines the page has on the screen."""
    return max(1, state.lines - 1 - _bottom_lines(state))


def _scrolled(state: State, every: list[Row], room: int) -> State:
    """With what has the focus on the screen. Scrolled by a third of the page at once: each step repaints all of it."""
    if state.place.key == REVIEW:
        return replace(state, top=0)
    focused = [at for at, row in enumerate(every) if row.focus]
    top = state.top
    if focused:
        # The first lines of a page say why it is there: they come along with its first question.
        begin = 0 if state.place.key in order(state)[:1] and focused[-1] < room else focused[0]
        end = focused[-1]
        if end >= top + room:
            top = min(begin, max(end - room + 1, begin - room // 3))
        elif begin < top:
            top = max(0, end - 2 * room // 3)
    top = max(0, min(top, len(every) - room))
    return state if top == state.top else replace(state, top=top)


def _cut(line: Line, columns: int) -> Line:
    """No wider than the terminal."""
    kept: list[Span] = []
    left = columns
    for span in line:
        width = cells(span.text)
        if width > left:
            kept.append(replace(span, text=fit(span.text, left) if left > 2 else span.text[:left]))
            break
        kept.append(span)
        left -= width
    return tuple(kept)


def _text(text: str, style: Style = "") -> Line:
    return (Span(text, style),) if text else ()


def _barred(body: list[Line], state: State, every: int, room: int) -> list[Line]:
    """With a bar at the right where there is more than the screen shows: `#` where it stands, `|` for the way."""
    if every <= room or state.place.key == REVIEW:
        return body
    length = max(1, round(room * room / every))
    start = round((room - length) * state.top / max(1, every - room))
    out = []
    for at, line in enumerate(body):
        mark = "#" if start <= at < start + length else "|"
        width = sum(cells(span.text) for span in line)
        cut = _cut(line, state.columns - 2)
        out.append((*cut, Span(" " * max(1, state.columns - 1 - min(width, state.columns - 2)) + mark)))
    return out


# The frame


def _title(state: State) -> Line:
    """Which page this is, of which site, and whether what is here is on the disk."""
    pages = guide.pages(state.session.answers)
    at = pages.index(state.place.page) + 1 if state.place.page in pages else 0
    page = state.place.page.title
    if state.table and state.place.entry is not None:
        page += f": {state.table.one} {state.place.entry + 1}"
    elif state.narrow and (row := row_of(state)):  # its cells stand one below the other: the line that begins the row may have scrolled off
        page += f": new {row[0].one}" if row[1] == rows(state)[-1] else f": {row[0].one} {row[1] + 1}"
    path = state.session.path
    name = clean(state.session.get("site.name") or (path.name if path else ""), 30)
    saved = "not saved" if state.unsaved else "saved" if state.session.origin else "new" if path else ""
    left = f" {at}/{len(pages)} {page}"
    for right in (f"{name}  {saved} " if name and saved else f"{name}{saved} ", f"{saved} ", " "):
        if cells(left) + 1 + cells(right) <= state.columns:
            return _text(left + " " * (state.columns - cells(left) - cells(right)) + right, "reverse")
    return _text(fit(left, state.columns), "reverse")


def _bottom_lines(state: State) -> int:
    if isinstance(state.box, Tell):  # it is all to be read
        return 2
    if state.place.key == REVIEW and not state.box:  # what is read there is the findings themselves
        return 3 if state.lines >= 10 else 2
    if state.short:
        return 5 if state.lines >= 10 else 2
    return 1 + HELP + 1 + FINDING + 2


def _bottom(state: State) -> list[Line]:
    """Help, the figures that the page decides, what is wrong, what Enter does, the keys."""
    width = state.columns
    keys = _text(keys_line(width, narrow=width < 79).ljust(width), "reverse")
    said = state.told or _enter_says(state)
    more = " ... F1: all" if cells(said) > width and not state.told and not state.box else " ..."
    told, figures = _text(_within(said, width, more), "bold" if state.told else ""), _figures(state)
    if _bottom_lines(state) == 2:
        return [told, keys]
    if state.place.key == REVIEW and not state.box:
        return [figures, told, keys]
    rule = [] if state.short else [_text("-" * width)]
    if state.box and state.short:  # what Enter would take, whole: what is wrong elsewhere can wait
        return [*map(_text, _lines(helped(state), width, _bottom_lines(state) - 2, where="")), told, keys]
    help_, finding = (1, 1) if state.short else (HELP, FINDING)
    where = "" if state.box else " F1: all"
    found = [_text(line, "bold") for line in _lines([_finding(state)], width, finding, where)]
    return [*rule, *map(_text, _lines(helped(state), width, help_, where)), figures, *found, told, keys]


def _lines(paragraphs: Sequence[str], width: int, room: int, where: str) -> list[str]:
    """Paragraphs in so many lines; where there are more, the last one says so, and where all is told."""
    lines = [line for paragraph in paragraphs if paragraph for line in wrapped(paragraph, columns=width)]
    if len(lines) > room:
        lines = [*lines[: room - 1], _within(lines[room - 1] + " ...", width, f" ...{where}")] if room else []
    return [*lines, *[""] * (room - len(lines))]


def _within(text: str, width: int, more: str = " ...") -> str:
    """A text in one line; where it is cut a mark says so."""
    if cells(text) <= width and more == " ...":
        return text
    kept = text.removesuffix(" ...")
    while kept and cells(kept) + cells(more) > width:
        kept = kept[:-1]
    return kept + more


def _figures(state: State) -> Line:
    """The two figures that this page decides, each with its limit; where one is short of it, reversed and said."""
    if state.fault:
        return _text(_within(state.fault, state.columns), "bold")
    if not state.current or state.seen is None:
        return _text(_within("Planning ... (below: before the last answer)" if state.seen else "Planning ...", state.columns))
    line: list[Span] = []
    for measure in state.seen.measures.get(state.place.page.subject, ())[:2]:
        told = f"{measure}{' SHORT' if measure.short else ''}"
        if line and sum(cells(span.text) for span in line) + 3 + cells(told) > state.columns:
            line.append(Span(" ..." if sum(cells(span.text) for span in line) + 4 <= state.columns else ""))
            break
        line += [Span(" | ")] if line else []
        line.append(Span(told, "reverse" if measure.short else ""))
    return tuple(line) or _text(_within("Too little is answered for figures here.", state.columns))


def _finding(state: State) -> str:
    """Where the plan stands, and the worst of what was found, in whole sentences."""
    if state.box and state.box.then == "draft":  # the site behind it is not the one that is asked about
        return ""
    if state.refused:
        return _not_accepted(state)
    if state.seen is None:
        return ""
    stops = len(state.notes.stops)
    cautions = sum(found.level is Level.CAUTION for found in state.seen.findings)
    head = (
        f"STOPPED by {stops} (F6)." if stops else f"Nothing stops the plan; {counted(cautions, 'caution')} (F6)." if cautions else "READY."
    )
    found = mending.finding_at(state) or next(iter(mending.worst_first(state)), None)
    if found is None:
        return f"{head} Nothing stops the plan."
    # Behind a word of what stops the plan stands what does, or that it is something else.
    level = "" if found.level is Level.STOP or not stops else f"Here a {found.level.value}: "
    return f"{head} {level}{guide.spoken(f'{found.text} {found.remedy}')}"


def _not_accepted(state: State) -> str:
    """Which texts are no answer yet; nothing where all are."""
    names = ", ".join(guide.name_of(key) for key in state.refused)
    stops = f" STOPPED by {len(state.notes.stops)}." if state.notes.stops else ""
    return f"{len(state.refused)} not accepted (F6): {names}.{stops}" if names else ""


def _enter_says(state: State) -> str:
    """What the next key does here."""
    key = state.place.key
    match state.box:
        case Choose(at=at, lines=lines):
            more = f" ({at + 1} of {len(lines)})" if len(lines) > body_lines(state) - 1 else ""
            if state.narrow:
                return f"Enter takes it. Escape: back.{more}"
            return f"Enter takes it. A letter finds. Escape leaves all as it was.{more}"
        case Name():
            return "Enter takes it. Escape: back." if state.narrow else "Enter takes it. Escape leaves all as it was."
        case Tell(top=top):
            last, every = top + body_lines(state) - 1, len(_lines_told(state.box, state))
            return "Escape: back." + (f" Up, down: {top + 1}-{min(last, every)} of {every}" if last < every or top else "")
    if cures := (mending.offered(state) if not state.typed else ()):
        if len(cures) > 1:
            return f"F3: {counted(len(cures), 'cure')} to choose from, each tried."
        return f"F3 {'takes' if mending.simple(cures) else 'shows'} a cure, tried: {mending.cure_text(cures[0])}"
    if key == REVIEW:
        where = f" ({state.reading + 1} of {last + 1})" if (last := last_read(state)) else ""
        if state.narrow:
            return f"<- -> sections. Up, down{where}."
        return f"Left, right: sections. Up, down: read on{where}." + (" Enter: to its question." if not state.section else "")
    if key == DRAWING:
        if state.moving is None:
            return (
                "Space, <- ->: move things. Tab: on."
                if state.narrow
                else "Space, left or right take a thing up to move it. Tab, Enter: on."
            )
        if state.narrow:
            return "Arrows move it. Space: next. Tab: on."
        return f"Arrows move it by {STEP} m. Space: the next thing. Tab, Enter: on."
    question = state.question(key)
    row = row_of(state)
    if row and row[1] == rows(state)[-1] and state.typed is None:
        return f"Type to add a {row[0].one}" + (". Enter: on." if state.narrow else "; Tab: its next cell. Enter: on from here.")
    more = " F9: copy, move, remove, more." if row and row[1] < len(state.session.entries(row[0].key)) and not state.narrow else ""
    if question and guide.asked(question).choices and not guide.asked(question).many:
        if state.narrow:
            return "Enter: next. Letters or Space choose."
        choose = "Letters" if row else "Letters, left and right"  # in a row the arrows go from cell to cell
        return f"Enter: next. {choose} choose, Space shows all.{more}"
    # The same words while something is typed: a line that changes with the first letter costs more than the letter.
    return f"Enter takes it and goes on.{' Typing replaces it.' if state.text(key) and not state.narrow else ''}{more}" if question else ""


def helped(state: State) -> list[str]:
    """What is to be said of the question in focus, what is wrong with its answer first."""
    key = state.place.key
    question = state.question(key)
    if isinstance(state.box, Choose):  # the whole line of what Enter would take
        return [" ".join(state.box.lines[state.box.at].split())]
    if key == DRAWING and state.seen and not state.box:  # what its letters mean
        from engine.sheets.text.wall import legend  # noqa: PLC0415 - stages are not wanted before the first screen

        return list(legend(state.seen.wall, state.seen.chain, 10_000))
    if question is None or state.box:
        return []
    told = [f"! {state.refused[key].why}"] if key in state.refused and state.typing is None else []
    if state.typing and state.typing.text and guide.asked(question).choices and not guide.asked(question).many:
        told.append(_meant(question, state.typing.text))
    row = row_of(state)
    if row and row[0] is PLACES and row[2] in ("x", "y"):
        told.append(
            '"0.5+0.6" says 0.5 here and 0.6 more in each row below of its kind, "0.9+" the same in all; "+0.6" is from the row above.'
        )
    # What was noticed stands below, in its own place.
    return [*told, *guide.explain(question, replace(state.notes, findings={}))]


def _meant(question: Question, text: str) -> str:
    """What Enter takes for what is typed, and what else it may mean."""
    found = guide.matches(question, text)
    if not found:
        return (
            "A name of its own."
            if question.key.endswith(".machine")
            else f"No choice begins so. Space shows all, once Ctrl+U has cleared {clean(text, 20)!r}."
        )
    taken = guide.machine_meant(text) if question.key.endswith(".machine") else found[0]
    if taken is None:
        return f"It may mean: {'; '.join(found[:6])}. Type on."
    also = [choice for choice in found if choice != taken][:5]
    return f"Enter takes: {taken}." + (f" Also: {'; '.join(also)}." if also else "")


# The page


def page(state: State) -> list[Row]:
    """All lines of the page, whether they are on the screen or not."""
    if state.place.key == REVIEW:
        return list(_review(state))
    page, entry = state.place.page, state.place.entry
    intro = page.intro
    if state.table and entry is not None:
        intro = f"All questions of {state.table.one} {entry + 1}. F7 or Escape goes back."
    lines = [] if state.short else [*(Row(_text(line)) for line in wrapped(intro, columns=state.columns - 2)), Row(())]
    asked = questions(state)
    inside = state.table is not None and entry is None
    for question in asked:
        if not (inside and re.search(r"\[\d+\]", question.key)):
            lines += _ask(question, state)
    if state.table and inside:
        lines += (_narrow_table if state.narrow else _table)(state.table, state)
    if page.name == "wall" and entry is None:
        lines += _drawing(state)
    return lines


def _ask(question: Question, state: State) -> Iterator[Row]:
    """A question: its name, the box of its answer, a remark; below, why its text was not accepted."""
    focus = state.place.key == question.key
    name = f"  {question.name}{' *' if question.essential else ''}"
    remark = _remark(question, state)
    box, caret = _boxed(question, state, _box_width(remark, state))
    if state.narrow:
        yield Row(_text(name, "reverse" if focus else ""), focus)
        yield Row((Span("  "), *box, Span(f" {remark}")), focus, None if caret is None else caret + 2)
    else:
        yield Row(
            (Span(fit(name, NAME + 2), "reverse" if focus else ""), *box, Span(f" {remark}")),
            focus,
            None if caret is None else caret + NAME + 2,
        )
    if question.key in state.refused and not (focus and state.typing):
        for line in wrapped(f"! {state.refused[question.key].why}", "    ", columns=state.columns - 2):
            yield Row(_text(line, "bold"), focus)


def _box_width(remark: str, state: State) -> int:
    """How wide an answer's box is: on a narrow screen it gives way to the remark, as far as most answers allow."""
    return min(BOX, max(_LEAST, state.columns - _EDGES - cells(remark))) if state.narrow else BOX


def _boxed(question: Question, state: State, width: int) -> tuple[Line, int | None]:
    """The answer between its edges, with the unit that a bare number takes; and the caret's column in it, where it has the focus."""
    focus, how = state.place.key == question.key, guide.asked(question)
    typing = state.typing if focus else None
    text = typing.text if typing else clean(state.text(question.key), 200)
    if how.choices and not how.many and not (typing and question.key.endswith(".machine")):
        return _choice(question, state, typing, text, width), (2 + cells(text) if typing else 2) if focus else None
    caret = typing.caret if typing else len(text)
    shown_, at = _window(text, caret, width - (len(how.unit) + 1 if how.unit and not _has_unit(text) else 0))
    unit = how.unit if how.unit and not _has_unit(text) else ""
    inner = fit(shown_, width - cells(unit)) + unit if cells(shown_) <= width - cells(unit) else shown_
    return (Span("["), Span(inner, "underline" if focus else ""), Span("]")), at + 1 if focus else None


def _has_unit(text: str) -> bool:
    return bool(re.search(r"[^\d\s.,;+\-\"]", text))


def _choice(question: Question, state: State, typing: Typing | None, text: str, width: int) -> Line:
    word = text
    if typing and text:
        word = next(iter(guide.matches(question, text)), text)
    room = width - 2
    word = word or "-"
    word = word if cells(word) <= room else f"{word[: room - 1]}~"
    return (Span("< "), Span(fit(word, room), "reverse" if state.place.key == question.key else ""), Span(" >"))


def _window(text: str, caret: int, width: int) -> tuple[str, int]:
    """The part of a line that is seen, with the caret in it, and the caret's column."""
    if cells(text) < width:
        return text, cells(text[:caret])
    start = max(0, min(caret - width // 2, len(text) - width + 1))
    part = text[start : start + width - 1]
    return ("<" + part[1:] if start else part) + (">" if start + width - 1 < len(text) else ""), cells(text[start:caret])


def _remark(question: Question, state: State) -> str:
    """What stands beside an answer, in a few words."""
    if question.key in state.refused:
        return "! not accepted"
    if state.echo and state.echo[0] == question.key:
        return clean(state.echo[1], 60)
    if question.key == PER_PHASE and state.seen and state.current and not state.text(PER_PHASE):
        planned = ", ".join(str(phase.units) for phase in state.seen.plan.phases)
        return f"planned {planned}" if planned else guide.remark(question, state.session, state.notes)
    return guide.remark(question, state.session, state.notes)


# Tables


def _table(table: Table, state: State) -> Iterator[Row]:
    """A table as one: a head, a line for each row, a total."""
    if any(row_of(state.at(replace(state.place, key=question.key))) is None for question in questions(state)):
        yield Row(())
        yield Row(_text(table.title, "bold"))
    yield Row((Span("    "), *(Span(fit(column.head, column.width) + " ", "underline") for column in table.columns)))
    entries, given = len(state.session.entries(table.key)), offered(state)
    for at in rows(state):
        spans: list[Span] = [Span(_number(table, at, entries, len(given), state))]
        caret, focus, taken = None, False, entry_at(state, at)
        asked = {question.key: question for question in cells_of(table, at, state)}
        for column in table.columns:
            question = asked.get(f"{table.key}[{at}].{column.key}")
            known = str(taken.get(column.key, ""))
            if question is None:
                text = text_of(taken.get(column.key))
                spans.append(Span(fit(f"({text})" if text and at >= entries else text, column.width) + " "))
                continue
            text, at_caret = _cell(question, state, column.width, known)
            if state.place.key == question.key:
                focus = True
                if at_caret is not None:
                    caret = sum(cells(span.text) for span in spans) + at_caret
            spans += [Span(text, "reverse" if state.place.key == question.key else ""), Span(" ")]
        yield Row(tuple(spans), focus, caret)
        for question in asked.values():
            if question.key in state.refused:
                for line in wrapped(f"! {question.name}: {state.refused[question.key].why}", "    ", columns=state.columns - 2):
                    yield Row(_text(line, "bold"), focus)
    if total := guide.totals(table, state.session.answers):
        yield Row(_text(f"    {total}"))


def _number(table: Table, at: int, entries: int, given: int, state: State) -> str:
    """Before a row: its number, a mark where something in it stops the plan; `+` before the one that adds."""
    if at >= entries + given:
        return "  + "
    if at >= entries:
        return "  . "
    keys = [stop.key or "" for stop in state.notes.stops] + list(state.refused)
    return f"{at + 1:>2}{'!' if any(key.startswith(f'{table.key}[{at}]') for key in keys) else ' '} "


def _cell(question: Question, state: State, width: int, known: str) -> tuple[str, int | None]:
    """A cell's text in its width, and the caret's column, where it has the focus; what is only assumed stands in brackets."""
    focus = state.place.key == question.key
    if focus and state.typing:
        shown_, at = _window(state.typing.text, state.typing.caret, width)
        return fit(shown_, width), min(at, width - 1)
    text = clean(state.text(question.key), 200)
    if not text:
        taken = state.notes.assumed.get(question.key)
        text = f"({known or (taken.value if taken else '')})" if known or taken else ""
    elif question.key in state.refused:
        text = f"!{text}"
    told = text if cells(text) <= width else f"{text[: width - 1]}~"
    return fit(told, width), 0 if focus else None


def _narrow_table(table: Table, state: State) -> Iterator[Row]:
    """On a narrow screen a row is a line, but for the one in focus, whose cells stand one below the other."""
    yield Row(_text(table.title, "bold"))
    row = row_of(state)
    entries, given = len(state.session.entries(table.key)), offered(state)
    for at in rows(state):
        number = _number(table, at, entries, len(given), state)
        if row and row[1] == at:
            told = guide.entry_line(table, state.session.entries(table.key)[at]) if at < entries else "new"
            yield Row(_text(number + clean(told, 200)))
            for question in cells_of(table, at, state):
                yield from _ask(question, state)
            continue
        told = guide.entry_line(table, state.session.entries(table.key)[at]) if at < entries else f"add a {table.one}"
        if entries <= at < entries + len(given):
            told = f"({', '.join(text for text in given[at - entries].values() if text)})"
        yield Row(_text(number + clean(told, 200)))
    if total := guide.totals(table, state.session.answers):
        yield Row(_text(f"  {total}"))


# The wall


def things(state: State) -> list[Thing]:
    """What can be moved on the wall."""
    return [place for place in state.seen.wall.places if movable(place, state.session.answers)] if state.seen else []


def _drawing(state: State) -> Iterator[Row]:
    """The wall of the latest plan; what is moved is drawn with `#`."""
    focus, every = state.place.key == DRAWING, things(state)
    if not every or state.seen is None:
        yield Row(_text("No unit is planned yet: nothing hangs here.", "reverse" if focus else ""), focus)
        return
    from engine.sheets.text.wall import drawing  # noqa: PLC0415 - stages are not wanted before the first screen

    chosen = next((thing for thing in every if thing.name == state.moving), every[0])
    moving = focus and state.moving is not None
    head = f"Moving {chosen.name}: x {shown(chosen.x, 'm')}, y {shown(chosen.y, 'm')}" if moving else "The wall: here things can be moved."
    yield Row(_text(head, "reverse" if focus else "bold"), focus)
    lines = drawing(
        state.seen.wall, state.seen.chain, max(24, state.columns - 2), max(8, body_lines(state) - 1), chosen.name if moving else None
    )
    for line in lines:
        yield Row(_text(line), focus)


# The review


def _review(state: State) -> Iterator[Row]:
    """Where the plan stands, the names of the sections, and what the chosen one says from where it is read on."""
    head, room = _head(state), _review_lines(state)
    lines, begin = _told(state)
    begin = min(begin, max(0, len(lines) - room))
    seen = lines[begin : begin + room]
    if not state.section and seen and len(_findings(state)[_reading(state)]) > room:
        seen[-1] = _text(_within(f"{seen[-1][0].text} ...", state.columns, " ... F1: all"), "reverse")
    yield from (Row(line) for line in (*head, *seen))


def _head(state: State) -> list[Line]:
    return [*_standing(state), _names(state)]


def _review_lines(state: State) -> int:
    """How many lines of a section are seen at once."""
    return max(1, body_lines(state) - len(_head(state)))


def _findings(state: State) -> list[list[str]]:
    """Each finding's lines."""
    return [told.split("\n") for _, told in finding_lines(state.seen, max(20, state.columns - 2))] if state.seen else []


def screenful(state: State) -> int:
    """How far a whole screen goes on in the review: in findings that were wholly seen, or in lines."""
    if state.section:
        return max(1, _review_lines(state) - 1)
    left, count = _review_lines(state), 0
    for told in _findings(state)[_reading(state) :]:
        left -= len(told)
        count += left >= 0
    return max(1, count)


def _told(state: State) -> tuple[list[Line], int]:
    """The lines of the chosen section, and the first that is seen."""
    width = max(20, state.columns - 2)
    if state.seen is None:
        return [], 0
    if state.section:
        return [_text(line) for line in section(state.seen, SECTIONS[state.section], width)], state.reading
    lines: list[Line] = []
    begin = 0
    for at, told in enumerate(_findings(state)):
        if at == _reading(state):
            begin = len(lines)
        lines += [_text(line, "reverse" if at == _reading(state) else "") for line in told]
    return lines, begin


def _reading(state: State) -> int:
    """The finding that is read: a newer plan may have fewer."""
    return min(state.reading, last_read(state))


def last_read(state: State) -> int:
    """How far the chosen section of the review can be read on."""
    if state.seen is None:
        return 0
    if not state.section:
        return max(0, len(state.seen.findings) - 1)
    return max(0, len(_told(state)[0]) - _review_lines(state))


def _names(state: State) -> Line:
    told = " ".join(f"[{name}]" if at == state.section else name for at, name in enumerate(SECTIONS))
    if cells(told) > state.columns:
        told = f"< [{SECTIONS[state.section]}] >  {state.section + 1}/{len(SECTIONS)}"
    return _text(told, "bold")


def _standing(state: State) -> list[Line]:
    seen = state.seen
    refused = [_text(_within(told, state.columns), "bold")] if (told := _not_accepted(state)) else []
    if seen is None:
        return [*refused, _text("The plan is not ready yet.")]
    if not state.current:
        return [*refused, _text(_within("The answers changed: below is the plan before.", state.columns))]
    levels = [found.level for found in seen.findings]
    counts = ", ".join(counted(levels.count(level), level.value) for level in Level if level in levels)
    words = {"stopped": "STOPPED: do not energise", "cautions": "CAUTIONS: read them before going on", "ready": "READY"}
    told = f"{words[seen.standing]}." if state.short else f"{words[seen.standing]}. {counts}. Revision {seen.revision}."
    return [*refused, *(_text(line) for line in wrapped(told, columns=state.columns))]


# Boxes


def _box(state: State, room: int) -> tuple[list[Line], tuple[int, int] | None]:
    """A box before the page: what it is about, what can be chosen or is read, its keys."""
    box, width = state.box, state.columns - 2
    if isinstance(box, Choose):
        head = [line for part in box.title.split("\n") for line in wrapped(part, columns=width)]
        space = max(1, room - len(head))
        begin = max(0, min(box.at - space // 2, len(box.lines) - space))
        seen = [
            _text(f" {'>' if at == box.at else ' '} {line}", "reverse" if at == box.at else "")
            for at, line in enumerate(box.lines)
            if begin <= at < begin + space
        ]
        if begin + space < len(box.lines):  # the last line says that there is more
            seen[-1] = (*seen[-1], Span("   (more below)"))
        return [*(_text(line, "bold") for line in head), *seen], None
    if isinstance(box, Name):
        head = wrapped(box.title, columns=width)
        shown_, at = _window(box.typing.text, box.typing.caret, width - 4)
        line = (Span("["), Span(fit(shown_, width - 4), "underline"), Span("]"))
        return [*(_text(part, "bold") for part in head), line], (at + 1, len(head))
    if box is None:
        return [], None
    return [_text(box.title, "bold"), *(_text(line) for line in _lines_told(box, state)[box.top : box.top + room - 1])], None


def _within_box(state: State, room: int) -> State:
    """With the last lines of what is to be read at the bottom, however far somebody has scrolled."""
    if not isinstance(state.box, Tell):
        return state
    last = max(0, len(_lines_told(state.box, state)) - room + 1)
    return replace(state, box=replace(state.box, top=min(state.box.top, last)))


def _lines_told(box: Tell, state: State) -> list[str]:
    """All that is to be read in a box."""
    return [line for paragraph in box.paragraphs for line in (*wrapped(paragraph, columns=state.columns - 2), "")][:-1]
