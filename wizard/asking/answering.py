"""How a question is put on this site, and how a typed text answers it: one answer, or several that belong together.

Three questions answer more than one key: the kind of cells with their management, a load's power in kW or kVA, and its machine.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache

from engine.files.problems import Problem
from engine.quantities import Refused, shown
from engine.site import Answers
from engine.site.kinds import unit_of
from engine.site.supply import LINES
from engine.tables import machines
from engine.text import clean
from wizard.answers.fields import Field, text_of, value_of
from wizard.answers.fields import field as field_of
from wizard.answers.session import Session
from wizard.asking.pages import WORDINGS, Circumstances, Question

CELLS, MANAGED, PER_PHASE = "storage.chemistry", "storage.managed", "set.per_phase"
# What is picked, and what it answers: the kind of cells, and whether the bank has management of its own.
_CELLS: Mapping[str, tuple[str, str]] = {
    **{f"{cells}, {word}": (cells, told) for cells in ("lfp", "nmc") for word, told in (("managed", "yes"), ("not managed", "no"))},
    **{cells: (cells, "no") for cells in ("flooded", "agm", "gel")},
}
# With what no list offers, and a file may hold.
_EVERY: Mapping[str, tuple[str, str]] = {**_CELLS, **{f"{cells}, managed": (cells, "yes") for cells in ("flooded", "agm", "gel")}}
_POWER = re.compile(r"(loads\[\d+\]\.)power")
_PHASE = re.compile(r"loads\[\d+\]\.phase")
_MACHINE = re.compile(r"(loads\[\d+\]\.)machine")
_NAMED = re.compile(r"(loads\[\d+\]\.)name")
# Names that the plan gives: L1-1, B1.
_TAGGED = re.compile(r"set\.lead|storage\.(?:wired\..*|links\[\d+\]\..*)|wall\.places\[\d+\]\.tag|routes\[\d+\]\.to")
_TAG = re.compile(r"l[123]-\d{1,2}|b\d{1,2}")


def circumstances(answers: Answers) -> Circumstances:
    """What of a site changes how questions are put."""
    return Circumstances(answers.site.rules or "iec", answers.output.arrangement, answers.incoming.kind)


@cache
def asked(question: Question) -> Field:
    """How a question is asked, under the circumstances that it is put to."""
    under = question.under
    field = _cells() if question.key == CELLS else field_of(question.key, under.rules)
    if question.example:
        field = replace(field, example=question.example)
    for wording in WORDINGS:
        if wording.key == question.key and wording.when(under):
            field = replace(field, **{name: text for name in ("why", "how", "example") if (text := getattr(wording, name))})
    if _PHASE.fullmatch(question.key):
        choices = _phases(under.arrangement, field.choices)
        field = replace(field, choices=choices, wanted=f"one of: {', '.join(choices)}")
    if _POWER.fullmatch(question.key):
        field = replace(field, wanted=f"{field.wanted}; or its apparent power, with VA or kVA")
    return field


@cache
def _cells() -> Field:
    kind, own = field_of(CELLS), field_of(MANAGED)
    return replace(
        kind, why=f"{kind.why} {own.why}", how=f"{kind.how} {own.how}", wanted=f"one of: {'; '.join(_CELLS)}", choices=tuple(_CELLS)
    )


def _phases(arrangement: str | None, every: Sequence[str]) -> tuple[str, ...]:
    """The phases that there are. What is taken where nobody answers stands last: it is seldom typed."""
    lines = next((lines for name, lines in LINES.items() if name == arrangement), ())
    on = {*lines, *(f"{one}-{other}" for one in lines for other in lines), *(["all"] if len(lines) > 1 else [])} if lines else {*every}
    return (*sorted(on & {*every} - {"any"}, key=lambda phase: (phase != "all", every.index(phase))), "any")


def choices(question: Question, answers: Answers) -> tuple[str, ...]:
    """The choices that a question has on this site; none where it is not one of a few."""
    return asked(replace(question, under=circumstances(answers))).choices


def matches(question: Question, text: str) -> tuple[str, ...]:
    """The choices that a typed text may mean, best first: one that begins so, then one with a later word that does; all for an empty text."""
    return machines.find(text) if _MACHINE.fullmatch(question.key) else _matches(asked(question).choices, text)


def _matches(offered: Sequence[str], text: str) -> tuple[str, ...]:
    typed = " ".join(text.lower().split())
    ranks = (
        (0 if choice.lower() == typed else 1 if choice.lower().startswith(typed) else 2, choice)
        for choice in offered
        if re.search(rf"(?<![^\W_]){re.escape(typed)}", choice.lower())
    )
    return tuple(choice for _, choice in sorted(ranks, key=lambda ranked: ranked[0]))


def text_at(session: Session, key: str) -> str:
    """An answer as it would be typed; what is answered by two keys as the one answer that it is."""
    if key == CELLS:
        cells, managed = session.get(CELLS), session.get(MANAGED)
        known = next((told for told, both in _EVERY.items() if both == (cells, managed)), "")
        return known or cells or {"yes": "managed", "no": "not managed"}.get(managed, "")
    if found := _POWER.fullmatch(key):
        return session.get(key) or session.get(f"{found[1]}apparent_power")
    text = session.get(key)
    amount = field_of(key).amount if text else None
    if amount and amount.unit and re.fullmatch(r"[-\d.e]+", text):
        # A file may hold a share as a plain number: here it stands in the unit that the box shows.
        return shown(float(text), unit_of(amount.mark))
    return text


def answer(session: Session, key: str, text: str) -> Session | Problem:
    """Answer a question; an empty text takes the answer back. KeyError for a key the file does not have."""
    return answer_all(session, {key: text})


def answer_all(session: Session, answers: Mapping[str, str]) -> Session | Problem:
    """Answer several questions as one change, which one undo takes back."""
    told: dict[str, str] = {}
    for key, text in answers.items():
        if text.strip() == text_at(session, key):
            continue
        try:
            told |= _meant(session, key, text.strip())
        except Refused as refused:
            return Problem(None, key, str(refused))
    result = session.set_all(told) if len(told) > 1 else session
    for key, text in told.items() if len(told) == 1 else ():
        result = session.set(key, text)
    if isinstance(result, Problem) and result.key not in answers:
        return replace(result, key=next(iter(answers)))
    return result


def _meant(session: Session, key: str, text: str) -> Mapping[str, str]:
    """What a typed text answers, by key, each as it stands in the file. Raises `Refused`."""
    field = asked(Question(key, under=circumstances(session.answers)))
    if key == CELLS:
        return _of_cells(field, text)
    if found := _POWER.fullmatch(key):
        return _of_power(session, field, found[1], text)
    if found := _MACHINE.fullmatch(key):
        return _of_machine(session, found[1], text)
    if not text:
        return {key: ""}
    if found := _NAMED.fullmatch(key):
        return _of_name(session, found[1], text)
    if field.shape == "choice":
        words = [(_matches(field.choices, word) or (word,))[0] for word in (re.split(r"[,;\s]+", text) if field.many else [text]) if word]
        return {key: ", ".join(words)}
    if key == PER_PHASE:
        return {key: _of_phases(session, text_of(value_of(field, text)))}
    if field.shape == "text":
        return {key: text.upper() if _TAGGED.fullmatch(key) and _TAG.fullmatch(text.lower()) else text}
    return {key: text_of(value_of(field, text))}


def _of_phases(session: Session, text: str) -> str:
    """Units on each phase; one number alone is that of every phase."""
    lines = LINES.get(session.answers.output.arrangement or "single-phase", ())
    return ", ".join([text] * len(lines)) if "," not in text else text


def _of_cells(field: Field, text: str) -> Mapping[str, str]:
    known = next((both for told, both in _EVERY.items() if told == text.lower()), None)
    found = _matches(field.choices, text)
    if text and not known and not found:
        raise Refused(f"found {clean(text, 40)!r}; wanted {field.wanted}")
    cells, managed = known or (_CELLS[found[0]] if text else ("", ""))
    return {CELLS: cells, MANAGED: managed}


def _of_power(session: Session, field: Field, stem: str, text: str) -> Mapping[str, str]:
    """Real power, or apparent power where the unit says so; the other is taken back."""
    key, other = f"{stem}power", f"{stem}apparent_power"
    if re.search(r"va$", text, re.IGNORECASE):
        key, other = other, key
        field = field_of(key, circumstances(session.answers).rules)
    told = {key: text_of(value_of(field, text)) if text else ""}
    return told | {other: ""} if session.get(other) else told


def machine_meant(text: str) -> str | None:
    """The machine that a text names: exactly, as the only one, or as the beginning of its name or of another word for it; else None."""
    found, typed = machines.find(text), " ".join(text.casefold().split())
    exact = next((name for name in machines.names() if name.casefold() == typed), None)
    if exact or not found:
        return exact
    first = machines.machine(found[0])
    begins = first is not None and any(word.casefold().startswith(typed) for word in (first.name, *first.words))
    return found[0] if begins or len(found) == 1 else None


def _of_machine(session: Session, stem: str, text: str) -> Mapping[str, str]:
    """The machine, and with it the load's name, where it has none of its own; what no machine is called is the load's name.

    Raises `Refused` where the text may mean several, and where it is none and the load has a name already.
    """
    if not text:
        return {f"{stem}machine": ""}
    found, name = machines.find(text), machine_meant(text)
    if not found and not session.get(f"{stem}name"):
        return {f"{stem}name": text}
    if name is None:
        raise Refused(
            f"{clean(text, 40)!r} may mean {'; '.join(found[:4])}{'; and more' if len(found) > 4 else ''}"
            if found
            else f"no machine of the list is called {clean(text, 40)!r}"
        )
    named = session.get(f"{stem}name")
    own = named and named != session.get(f"{stem}machine")
    return {f"{stem}machine": name} | ({} if own else {f"{stem}name": name})


def _of_name(session: Session, stem: str, text: str) -> Mapping[str, str]:
    """The name, and with it the machine, where it is called exactly as one is and none is answered."""
    machine = next((name for name in machines.names() if name.casefold() == text.casefold()), None)
    return {f"{stem}name": text} | ({f"{stem}machine": machine} if machine and not session.get(f"{stem}machine") else {})
