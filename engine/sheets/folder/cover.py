"""The cover: which site, how its plan stands, what stops it, what somebody decides and signs, what is confirmed, what was assumed; where everything is."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

from engine.sheets import cover as first
from engine.sheets.cover import Decision, Group, Told, placed
from engine.sheets.cover.decisions import GRAVITIES
from engine.sheets.folder.blocks import Block, Chapter, Para, Row, Table, Title
from engine.sheets.folder.filling import Paper, filled
from engine.sheets.folder.letters import BOX, NEXT, Words, blank, bold
from engine.sheets.head import ALONE, STANDINGS
from engine.text import clean, counted

if TYPE_CHECKING:
    from engine.planner import Planned

_ENDS = "The plan is stopped: this folder ends before anything is landed. Cure what stops it, plan again, and take the new papers."
_SIGN = "Each is decided, and signed by whoever is named, before anything that it is about is ordered, landed or switched on. Not signed is not decided."
_NUMBERED = re.compile(r"\b[TS]\d{1,2} \(([^()]*)\)")


def cover(planned: Planned, paper: Paper, others: Sequence[Chapter]) -> Chapter:
    """The cover, which knows on which page each of the `others` begins."""
    made = _cover(planned, others, [0] * len(others))
    begins = len(filled(made, paper)) + 1
    starts = []
    for chapter in others:
        starts.append(begins)
        begins += len(filled(chapter, paper))
    return _cover(planned, others, starts)


def _cover(planned: Planned, others: Sequence[Chapter], starts: Sequence[int]) -> Chapter:
    blocks = (
        *_site(planned),
        *_contents(planned, others, starts),
        *_stops(planned),
        *_decisions(planned),
        *_confirm(planned),
        *_noted(planned),
        *_assumed(planned),
    )
    return Chapter("cover", "Cover", blocks, "everyone, first")


def _site(planned: Planned) -> Iterator[Block]:
    site, plan = planned.facts.answers.site, planned.plan
    units, banks = planned.parts.units.units, planned.parts.banks.banks
    per_phase = " + ".join(str(count) for count in planned.parts.phases.per_phase.values())
    rule = first.practice(planned)
    name = ", ".join(told for told in (clean(site.name or "", 200), clean(site.reference or "", 200)) if told)
    supply = f"{counted(len(units), 'unit')} ({per_phase}), {planned.facts.answers.output.arrangement}; {'bank' if len(banks) == 1 else 'banks'} {', '.join(bank.name for bank in banks)}"
    rows: list[tuple[str, Words]] = [
        ("Site", name or "not named"),
        ("Supply", supply if units else "no units yet"),
        ("Plan", (bold(STANDINGS[plan.standing]),)),
    ]
    yield Table(("", ""), tuple(Row(((bold(name),), told)) for name, told in rows), (1, 6))
    yield Para(f"{rule.text} {rule.remedy}")
    yield Para(ALONE)


def _contents(planned: Planned, others: Sequence[Chapter], starts: Sequence[int]) -> Iterator[Block]:
    """Where each paper begins; the units' sheets in one row."""
    tags = frozenset(planned.parts.units.tags)
    # A number that is not known yet takes no less room than one that is.
    pages = [(chapter, str(start or 888)) for chapter, start in zip(others, starts, strict=True)]
    rows = []
    for is_unit, some in groupby(pages, key=lambda pair: pair[0].name in tags):
        own = list(some)
        if is_unit and len(own) > 1:
            told = ", ".join(f"{chapter.name} ({page})" for chapter, page in own)
            rows.append(Row((own[0][1], f"A sheet for each unit (its page): {told}", own[0][0].reader)))
        else:
            rows += [Row((page, _named(chapter), chapter.reader)) for chapter, page in own]
    if rows:
        yield Title("In this folder")
        yield Table(("page", "paper", "for"), tuple(rows), (1, 7, 4))


def _named(chapter: Chapter) -> str:
    """Its title, and what its drawings show."""
    return f"{chapter.title}: {', '.join(dict.fromkeys(chapter.shown))}" if chapter.shown else chapter.title


def _stops(planned: Planned) -> Iterator[Block]:
    stopped = first.stops(planned)
    if stopped:
        yield Title("What stops this plan", counted(len(stopped), "stop"))
        yield Para((bold(_ENDS),), framed=True)
        yield Table(("no", "what was found", "what cures it"), tuple(_found(k, one) for k, one in enumerate(stopped, 1)), (1, 10, 10))


def _rules(source: str) -> str:
    """The rules behind a finding by their names: a number alone tells a person nothing."""
    named = _NUMBERED.sub(r"\1", source)
    return f" Rule: {named}." if named else ""


def _found(number: int, one: Told) -> Row:
    return Row((str(number), one.text, f"{one.remedy}{_rules(one.source)}"))


def _decisions(planned: Planned) -> Iterator[Block]:
    asked = first.decisions(planned)
    if not asked:
        return
    cautions = sum(len(one.findings) for one in asked)
    yield Title("To decide and sign", f"{counted(cautions, 'caution')} in {counted(len(asked), 'decision')}")
    yield Para(_SIGN)
    rows: list[Row] = []
    number = 0
    for gravity, some in groupby(asked, key=lambda one: one.gravity):
        rows.append(Row(("", (bold(GRAVITIES[gravity]),)), shaded=True, spans=(1, 3)))
        for one in some:
            number += 1
            rows.append(_decision(number, one))
    yield Table(("no", "going on as planned means", "what else can be done", "decided"), _led(rows), (1, 10, 8.5, 5))


def _led(rows: Sequence[Row]) -> tuple[Row, ...]:
    """A heading among rows is never parted from the one that follows it."""
    return tuple(replace(row, follows=True) if k and rows[k - 1].shaded else row for k, row in enumerate(rows))


def _decision(number: int, one: Decision) -> Row:
    where = f" ({placed(one.places)})" if one.places else ""
    found = " ".join(told.text for told in one.findings)
    cures = " ".join(dict.fromkeys(told.remedy for told in one.findings))
    means: Words = (bold(f"{one.title}{where}. "), f"{one.decide} Found: {found}")
    who = f"{one.signed_by[0].upper()}{one.signed_by[1:]}:"
    decided: Words = (BOX, "as planned", NEXT, BOX, "otherwise", NEXT, who, NEXT, NEXT, blank(34), NEXT, "date ", blank(20))
    return Row((str(number), means, f"{one.instead} {cures}", decided))


def _confirm(planned: Planned) -> Iterator[Block]:
    every = first.to_confirm(planned)
    if every:
        rows = tuple(Row(((BOX,), one.when, one.what, one.planned or "-", one.how)) for one in every)
        yield Title("To confirm", counted(len(every), "thing"))
        yield Table(("", "when", "what", "planned", "how"), rows, (1, 2.6, 7, 5, 6.4))


def _noted(planned: Planned) -> Iterator[Block]:
    noted = first.notes(planned)
    if noted:
        yield Title("Good to know")
        yield Table(
            ("no", "what was found, and what follows"),
            tuple(Row((str(k), f"{one.text} {one.remedy}")) for k, one in enumerate(noted, 1)),
            (1, 25),
        )


def _assumed(planned: Planned) -> Iterator[Block]:
    groups = first.assumed(planned)
    if groups:
        yield Title("Assumed, because nobody answered", "answer them, and the plan fits better")
        yield Table(("about", "taken, and why"), tuple(Row(((bold(one.about),), _taken(one))) for one in groups), (1, 7))


def _taken(group: Group) -> Words:
    """All of a group, one behind the other: what was taken stands in bold."""
    return tuple(run for one in group.taken for run in (f" {one.what.replace(': ', ', ')}: ", bold(one.value), f" ({one.why})."))
