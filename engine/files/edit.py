"""The text of a file whose answers changed: an edit of the text as a person wrote it, so that no remark and no spelling of theirs is lost.

What is changed is respelled in its place, what is added stands where the canonical layout has it, entries of arrays that move take the
remarks above them along. What is removed leaves its remarks: those on lines of their own as they are, and where one stands behind a value, the line
with its value as a remark. Every edit is proven by the parser; a text that cannot be edited so is laid out anew below its remarks.
"""

from __future__ import annotations

import tomllib
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field, replace
from typing import Any

from engine.files.emit import BYTE_ORDER, Document, headers, inline, is_table, key_of, laid_out_anew, line_end, mark, ordered, spelled
from engine.files.statements import Item, Path, Statement, Value, remarks, statements, value_of
from engine.frozen import dataclass

REFUSED = "not accepted: "
_NONE = object()


def edited(text: str, document: Document, refused: Sequence[Path] = ()) -> str:
    """The text with the answers of `document`; the plan in it stays as it is.

    What `refused` names is in the text and not in the document: it becomes a remark in its place.
    """
    try:
        made = edit(text, document, refused)
    except (ValueError, LookupError, RecursionError):
        return anew(text, document, refused)
    return made if holds(made, _whole(text, document, refused)) and keeps(made, text) else anew(text, document, refused)


def edit(text: str, document: Document, refused: Sequence[Path] = ()) -> str:
    """The edit itself, unproven; raises ValueError, LookupError or RecursionError where the text is too unusual for it."""
    draft = _Draft(text)
    was = _read(text)
    draft.set_aside(refused)
    draft.arrange((), was, document)
    draft.respell(document)
    draft.fill(document)
    return mark(text) + draft.text()


def anew(text: str, document: Document, refused: Sequence[Path] = ()) -> str:
    """The document in canonical layout, below all remarks of the text."""
    was = _read(text)
    left = [f"# {REFUSED}{_dotted(path)} = {inline(value)}" for path in refused if (value := _at(was, path)) is not _NONE]
    return laid_out_anew(text, _whole(text, document, refused), [*remarks(text), *left])


def holds(text: str, document: Document) -> bool:
    """Whether a text reads as exactly this document, kinds of numbers included."""
    try:
        return same(_read(text), document)
    except (ValueError, RecursionError):
        return False


def keeps(text: str, before: str) -> bool:
    """Whether every remark of the text before is still in this one, whole or at the end of a longer one."""
    return not _lost(before, text)


def _lost(before: str, text: str) -> list[str]:
    there, known = Counter(remarks(text)), Counter(remarks(before))
    # Read backwards, what ends with a remark begins with it, and stands behind it in order.
    longer = sorted(remark[::-1] for remark in (there - known).elements())
    lost = []
    for remark in sorted((known - there).elements(), key=len, reverse=True):  # what fits a longer one fits each that it ends with
        at = bisect_left(longer, remark[::-1])
        if at < len(longer) and longer[at].startswith(remark[::-1]):
            del longer[at]
        else:
            lost.append(remark)
    return lost


def same(one: object, other: object) -> bool:
    """Whether two values of a file are the same, kind and all: 1 is neither 1.0 nor true, and not-a-number is itself."""
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    return type(one) is type(other) and bool(one == other or (one != one and other != other))  # noqa: PLR0124 - not-a-number is not itself


def matched(was: Sequence[object], now: Sequence[object]) -> list[int | None]:
    """For each item, which one it was: the same one, else the one most of which it still is, else that of its place; None for a new one."""
    pairs: list[int | None] = [place if place < len(was) and same(was[place], item) else None for place, item in enumerate(now)]
    free = dict.fromkeys(sorted(set(range(len(was))) - set(pairs)))
    for place, item in enumerate(now):
        if pairs[place] is None and (found := next((old for old in free if same(was[old], item)), None)) is not None:
            pairs[place] = found
            del free[found]
    for place, item in enumerate(now):
        if pairs[place] is None and free:
            likeness, nearness, found = max((_likeness(was[old], item), -abs(old - place), old) for old in free)
            if likeness >= 0.5 or (len(was) == len(now) and not nearness):
                pairs[place] = found
                del free[found]
    for place in range(len(now)):
        if pairs[place] is None and len(was) == len(now) and place in free:
            pairs[place] = place
            del free[place]
    return pairs


def _likeness(one: object, other: object) -> float:
    """The share of what two entries say that both say."""
    if not isinstance(one, Mapping) or not isinstance(other, Mapping):
        return 0.0
    alike = sum(same(one[key], other.get(key, _NONE)) for key in one)
    return alike / (len(one.keys() | other.keys()) or 1)


@dataclass(frozen=True)
class _Section:
    """A header with what stands right above it and below it; without one, the beginning of the text or remarks that stand by themselves."""

    lead: list[Statement] = field(default_factory=list)
    header: Statement | None = None
    body: list[Statement] = field(default_factory=list)
    path: Path = ()
    loose: bool = False

    def statements(self) -> Iterator[Statement]:
        yield from self.lead
        if self.header:
            yield self.header
        yield from self.body

    def within(self, path: Path) -> bool:
        """Whether it is of the table or entry at that path."""
        return not self.loose and self.path[: len(path)] == path

    def entry(self, array: Path) -> int | None:
        """Which entry of an array it is of; None where of none."""
        if self.loose or len(self.path) <= len(array) or self.path[: len(array)] != array:
            return None
        place = self.path[len(array)]
        return place if isinstance(place, int) else None


class _Draft:
    """The sections of a text while it is edited."""

    def __init__(self, text: str) -> None:
        self._end = line_end(text)
        self._sections = _sections(text.removeprefix(BYTE_ORDER))
        self._order: list[Path] = []  # of the headers in the canonical layout
        self._said: set[str] = set()  # by remarks on lines of their own

    def text(self) -> str:
        told = [statement.text for section in self._sections for statement in section.statements()]
        return "".join(
            line if line.endswith("\n") or not after else line + self._end for line, after in zip(told, [*told[1:], ""], strict=True)
        )

    def set_aside(self, refused: Sequence[Path]) -> None:
        """What stands at these paths as remarks, each in its place."""
        paths = frozenset(refused)
        within: dict[Path, list[Path]] = {}  # by the keys that might hold it in brackets or braces
        for path in refused:
            for length in range(1, len(path)):
                within.setdefault(path[:length], []).append(path)
        self._said = {s.text.strip() for section in self._sections for s in section.statements() if s.kind == "between"}
        for at, section in enumerate(self._sections):
            if section.header and _covers(paths, section.path):
                told = [remark for s in (section.header, *section.body) for remark in self._told(self._remarked(s, REFUSED))]
                self._sections[at] = _loose([*section.lead, *told])
            elif not section.loose:
                body = [remark for s in section.body for remark in self._aside(s, section.path, paths, within)]
                self._sections[at] = replace(section, body=body)

    def _aside(self, statement: Statement, table: Path, paths: frozenset[Path], within: Mapping[Path, list[Path]]) -> Iterator[Statement]:
        if statement.kind == "key" and _covers(paths, statement.path):
            yield from self._told(self._remarked(statement, REFUSED))
            return
        for path in within.get(statement.path, ()) if statement.kind == "key" else ():
            value = _at(_value(statement), path[len(statement.path) :])
            if value is not _NONE:
                yield from self._told(self._line(f"# {REFUSED}{_dotted(path[len(table) :])} = {inline(value)}"))
        yield statement

    def _told(self, remark: Statement) -> Iterator[Statement]:
        """A remark, unless it says no more than one that stands there from an earlier time."""
        again = remark.text.startswith(f"# {REFUSED}") and remark.text.strip() in self._said
        if not again or "#" in remark.text[1:]:
            yield remark

    def arrange(self, path: Path, was: Document, now: Document) -> None:
        """The entries of arrays that are still there, in their new order and with their new places; those that are gone leave their remarks."""
        for key, value in was.items():
            at = (*path, key)
            then = now.get(key)
            if at == ("plan",) or not is_table(value):
                continue
            if isinstance(value, Mapping):
                self.arrange(at, value, then if isinstance(then, Mapping) else {})
            elif any(section.within(at) for section in self._sections):
                entries = then if isinstance(then, list) and is_table(then) else []
                pairs = matched(value, entries)
                for place, old in enumerate(pairs):
                    if old is not None:
                        self.arrange((*at, old), value[old], entries[place])
                if pairs != list(range(len(value))):
                    self._arrange(at, pairs)

    def _arrange(self, at: Path, pairs: list[int | None]) -> None:
        moved = {old: new for new, old in enumerate(pairs) if old is not None}
        blocks: dict[int, list[_Section]] = {}
        for section in self._sections:
            if (old := section.entry(at)) is not None:
                blocks.setdefault(old, []).append(section)
        there = [old for old in blocks if old in moved]
        comes = dict(zip(there, sorted(there, key=moved.__getitem__), strict=True))  # which entry comes where one stood
        apart = any(block[0].lead and block[0].lead[0].empty for block in blocks.values())
        made: list[_Section] = []
        done: set[int] = set()
        for section in self._sections:
            old = section.entry(at)
            if old is None:
                made.append(section)
            elif old not in comes:
                made.append(self._gone(section))
            elif old not in done:
                done.add(old)
                came = comes[old]
                block = [_renumbered(part, len(at), moved[came]) for part in blocks[came]]
                if came != old and apart and made and not (block[0].lead and block[0].lead[0].empty):
                    block[0].lead.insert(0, self._line(""))
                made += block
        self._sections = made

    def respell(self, document: Document) -> None:
        """Values that are others now, in their places; keys and tables that are no more leave their remarks."""
        made: list[_Section] = []
        for section in self._sections:
            if section.loose or section.path[:1] == ("plan",):
                made.append(section)
            elif section.header and not isinstance(_at(document, section.path), Mapping):
                made.append(self._gone(section))
            else:
                made.append(replace(section, body=[line for s in section.body for line in self._respelled(s, document)]))
        self._sections = made

    def _respelled(self, statement: Statement, document: Document) -> Iterator[Statement]:
        if statement.kind != "key" or statement.path[0] == "plan":
            yield statement
            return
        now, was = _at(document, statement.path), _value(statement)
        if now is _NONE or (is_table(now) and not is_table(was)):
            yield from self._leaves(statement)
        elif same(was, now):
            yield statement
        else:
            value = _turned(statement.value, value_of(statement.value), was, now)
            value = value.replace("\r\n", "\n").replace("\n", self._end)
            text = statement.text[: statement.start] + value + statement.text[statement.end :]
            yield from (self._line(remark) for remark in _lost(statement.text, text))
            yield replace(statement, text=text, end=statement.start + len(value))

    def _leaves(self, statement: Statement) -> Iterator[Statement]:
        """What is left of a statement that is removed: a remark that stands by itself; one behind a value together with it."""
        if statement.kind != "between":
            if remarks(statement.text):
                yield self._remarked(statement)
        elif not statement.empty:
            yield statement

    def _gone(self, section: _Section) -> _Section:
        """What is left of a section that is removed; where a remark stands behind one of its values, all of it: alone the remark would say little."""
        told = [s for s in (section.header, *section.body) if s]
        if any(s.kind != "between" and remarks(s.text) for s in told):
            left = [self._remarked(s) for s in told if not s.empty]
        else:
            left = [s for s in told if s.kind == "between" and not s.empty]
        lead = [s for s in section.lead if not s.empty]
        return _loose([self._line(""), *lead, *left] if lead or left else [])

    def _remarked(self, statement: Statement, why: str = "") -> Statement:
        """A statement as a remark, line by line."""
        if statement.kind == "between":
            return statement
        first, *more = statement.text.removesuffix("\n").removesuffix("\r").split("\n")
        return Statement("\n".join([f"# {why}{first.lstrip()}", *(f"# {line}" for line in more)]) + self._end)

    def _line(self, text: str) -> Statement:
        return Statement(text + self._end)

    def fill(self, document: Document) -> None:
        """What the document has and the text has not, each where the canonical layout has it."""
        there: set[Path] = set()
        keys: set[Path] = set()
        for section in self._sections:
            if not section.loose:
                keys.update(s.path for s in section.body if s.kind == "key")
                there.update(section.path[:length] for length in range(1, len(section.path) + 1))
        there.update(key[:length] for key in keys for length in range(1, len(key) + 1))
        told = ordered(document)
        self._order = list(headers(told))
        self._fill((), told, there, keys)

    def _fill(self, path: Path, table: Document, there: set[Path], keys: set[Path]) -> None:
        for key, value in table.items():
            if not is_table(value) and (*path, key) not in keys:
                self._add_key(path, key, value, list(table))
        for key, value in table.items():
            at = (*path, key)
            if not is_table(value) or at in keys or at == ("plan",):
                continue
            if isinstance(value, Mapping):
                if not value and at not in there:
                    self._add_section(at)
                self._fill(at, value, there, keys)
                continue
            for place, entry in enumerate(value):
                if (*at, place) not in there:
                    self._add_section((*at, place))
                self._fill((*at, place), entry, there, keys)

    def _add_key(self, table: Path, key: str, value: object, order: list[str]) -> None:
        home = next((s for s in self._sections if not s.loose and s.path == table), None) or self._dotted_home(table)
        home = home or self._add_section(table)
        path = (*table, key)
        name = _dotted(path[len(home.path) :])
        siblings = {s.path: at for at, s in enumerate(home.body) if s.kind == "key" and s.path[: len(table)] == table}
        before = order[: order.index(key)]
        rank = [(before.index(str(sibling[len(table)])), at) for sibling, at in siblings.items() if sibling[len(table)] in before]
        if rank:
            at = max(rank)[1] + 1
        elif len(home.path) < len(table) or not home.header:
            at = min(siblings.values(), default=len(home.body))
        else:
            at = 0
        indent = ""
        if siblings:
            near = home.body[max(siblings.values())].text
            indent = near[: len(near) - len(near.lstrip(" \t"))]
        text = f"{indent}{name} = {spelled(value)}".replace("\n", self._end)
        start = len(indent) + len(name) + 3
        home.body.insert(at, Statement(text + self._end, "key", path, start, len(text)))

    def _dotted_home(self, table: Path) -> _Section | None:
        """The section that gives a table by keys with points, for TOML then takes no header for it."""
        for section in self._sections:
            if not section.loose and len(section.path) < len(table):
                if any(s.kind == "key" and s.path[: len(table)] == table for s in section.body):
                    return section
        return None

    def _add_section(self, path: Path) -> _Section:
        entry = isinstance(path[-1], int)
        name = _dotted(tuple(step for step in path if isinstance(step, str)))
        text = f"[[{name}]]" if entry else f"[{name}]"
        made = _Section([self._line("")], self._line(text), [], path)
        made = replace(made, header=Statement(text + self._end, "entry" if entry else "table", path))
        at = self._place(path)
        if not any(section.lead or section.header or section.body for section in self._sections[:at]):
            made.lead.clear()
            after = self._sections[at] if at < len(self._sections) else None
            if after and not (after.lead and after.lead[0].empty):
                after.lead.insert(0, self._line(""))
        self._sections.insert(at, made)
        return made

    def _place(self, path: Path) -> int:
        """Where a new header goes: an entry beside its neighbours, else behind the header that canonically is the last before it."""
        step = path[-1]
        if isinstance(step, int):
            beside = [at for at, s in enumerate(self._sections) if s.entry(path[:-1]) == step - 1]
            if beside:
                return beside[-1] + 1
            later = [at for at, s in enumerate(self._sections) if (place := s.entry(path[:-1])) is not None and place > step]
            if later:
                return later[0]
        known = {s.path: at for at, s in enumerate(self._sections) if s.header}
        place = self._order.index(path) if path in self._order else 0
        before = next((known[other] for other in reversed(self._order[:place]) if other in known), 0)
        return before + 1


def _covers(paths: frozenset[Path], path: Path) -> bool:
    return any(path[:length] in paths for length in range(1, len(path) + 1))


def _sections(text: str) -> list[_Section]:
    """The sections of a text; put one behind the other they are the text."""
    made: list[_Section] = [_Section()]
    for statement in statements(text):
        if statement.kind in ("table", "entry"):
            lead = _part_end(made, last=False)
            made.append(_Section(lead, statement, [], statement.path))
        else:
            made[-1].body.append(statement)
    _part_end(made, last=True)
    return made


def _part_end(made: list[_Section], *, last: bool) -> list[Statement]:
    """Part what stands after the last key of the last section: what belongs to the header that follows is given back, what to nothing is loose."""
    body = made[-1].body
    end = next((at for at in range(len(body), 0, -1) if body[at - 1].kind == "key"), 0)
    between = body[end:]
    lead = len(between)
    if not last:
        while lead and not between[lead - 1].empty:
            lead -= 1
        while lead and between[lead - 1].empty:
            lead -= 1
    own = min(next((at for at, s in enumerate(between) if s.empty), lead), lead)
    del body[end + own :]
    if own < lead:
        made.append(_loose(between[own:lead]))
    return between[lead:]


def _loose(body: list[Statement]) -> _Section:
    return _Section([], None, body, (), loose=True)


def _renumbered(section: _Section, at: int, place: int) -> _Section:
    def moved(statement: Statement) -> Statement:
        path = statement.path
        return replace(statement, path=(*path[:at], place, *path[at + 1 :])) if path else statement

    header = moved(section.header) if section.header else None
    return replace(
        section,
        lead=list(section.lead),
        header=header,
        body=[moved(s) for s in section.body],
        path=(*section.path[:at], place, *section.path[at + 1 :]),
    )


def _turned(text: str, value: Value, was: object, now: object) -> str:
    """A value respelled: whatever in it is the same keeps its spelling and its remarks."""
    if same(was, now):
        return text[value.start : value.end]
    if isinstance(was, dict) and isinstance(now, Mapping):
        return _turned_table(text, value, was, now)
    if isinstance(was, list) and isinstance(now, list):
        return _turned_list(text, value, was, now)
    return inline(now)


def _turned_table(text: str, value: Value, was: Mapping[str, object], now: Mapping[str, object]) -> str:
    if any(len(item.names) != 1 for item in value.items):
        return inline(now)
    if was.keys() == now.keys():
        return _spliced(text, value, [_turned(text, i.value, was[i.names[0]], now[i.names[0]]) for i in value.items])
    there = {
        i.names[0]: text[i.start : i.value.start] + _turned(text, i.value, was[i.names[0]], now[i.names[0]])
        for i in value.items
        if i.names[0] in now
    }
    told = [*there.values(), *(f"{_dotted((key,))} = {inline(inner)}" for key, inner in now.items() if key not in there)]
    return f"{{ {', '.join(told)} }}" if told else "{}"


def _turned_list(text: str, value: Value, was: list[object], now: list[object]) -> str:
    pairs = matched(was, now)
    if pairs == list(range(len(was))):
        return _spliced(text, value, [_turned(text, item.value, was[at], now[at]) for at, item in enumerate(value.items)])
    told = [
        inline(item) if old is None else _turned(text, value.items[old].value, was[old], item) for old, item in zip(pairs, now, strict=True)
    ]
    if "\n" not in text[value.start : value.end]:
        return f"[{', '.join(told)}]"
    indent = _indent(text, value.items[0]) if value.items else "    "
    lines = [f"[ {value.opening}".rstrip()]
    kept = set(pairs)
    for old, item in zip(pairs, told, strict=True):
        given = value.items[old] if old is not None else None
        lines += [f"{indent}{remark}" for remark in (given.above if given else ())]
        lines.append(f"{indent}{item}," + (f" {given.behind}" if given and given.behind else ""))
    for old, given in enumerate(value.items):
        if old not in kept:
            lines += [
                f"{indent}{remark}"
                for remark in (*given.above, *([f"# {text[given.value.start : given.value.end]}, {given.behind}"] if given.behind else ()))
            ]
    lines += [f"{indent}{remark}" for remark in value.below]
    return "\n".join([*lines, "]"])


def _indent(text: str, item: Item) -> str:
    line = text[text.rfind("\n", 0, item.start) + 1 : item.start]
    return line if not line.strip() else "    "


def _spliced(text: str, value: Value, told: list[str]) -> str:
    """A value with its items' values exchanged and all else as it stands."""
    made, at = [], value.start
    for item, new in zip(value.items, told, strict=True):
        made += [text[at : item.value.start], new]
        at = item.value.end
    return "".join([*made, text[at : value.end]])


def _dotted(path: Path) -> str:
    """A path as TOML writes a key; entries of arrays by place, which only a remark may say."""
    told = ""
    for step in path:
        told += f"[{step}]" if isinstance(step, int) else f".{key_of(step)}"
    return told.lstrip(".")


def _at(document: object, path: Path) -> Any:
    for step in path:
        if isinstance(document, Mapping):
            document = document.get(step, _NONE)
        elif isinstance(document, list) and isinstance(step, int) and step < len(document):
            document = document[step]
        else:
            return _NONE
    return document


def _read(text: str) -> dict[str, Any]:
    return tomllib.loads(text.removeprefix(BYTE_ORDER).replace("\r\n", "\n"))


def _value(statement: Statement) -> Any:
    return _read(f"value = {statement.value}")["value"]


def _whole(text: str, document: Document, refused: Sequence[Path]) -> dict[str, Any]:
    """The document with the plan that the text has."""
    kept = {key: value for key, value in document.items() if key != "plan"}
    plan = _read(text).get("plan", _NONE)
    return kept if plan is _NONE or ("plan",) in refused else kept | {"plan": plan}
