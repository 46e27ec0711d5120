"""What comes first on the plan page: what stops the plan, what is decided and signed, what is confirmed, what is good to know."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from engine.planner import Planned
from engine.sheets.cover import Confirm, Decision, Told, decisions, notes, placed, practice, stops, to_confirm
from engine.sheets.cover.decisions import GRAVITIES
from engine.sheets.text.findings import MORE, open_ended
from engine.sheets.text.layout import heading, wrapped
from engine.sheets.text.rules import rule_lines

_SIGN = (
    "Whoever is named signs each of these before anything that it is about is ordered, landed or switched on. Not signed is not decided."
)


def deciding_lines(planned: Planned) -> Iterator[str]:
    """The parts that have something to say, each under its heading."""
    stopped, asked, noted = stops(planned), decisions(planned), notes(planned)
    if open_ended(planned):
        yield from ("", *wrapped(MORE, " "))
    yield from _part("STOPPED: do not energise", [line for one in stopped for line in _told(one)], len(stopped))
    yield from _part("TO DECIDE AND SIGN", _decisions(practice(planned), asked), len(asked))
    confirm = to_confirm(planned)
    yield from _part("TO CONFIRM", _confirm(confirm), len(confirm))
    yield from _part("GOOD TO KNOW", [line for one in noted for line in _told(one)], len(noted))


def deciding_rules(planned: Planned) -> Iterator[str]:
    """The rules that these parts cite."""
    every = (*stops(planned), *(told for one in decisions(planned) for told in one.findings), *notes(planned))
    yield from rule_lines(f"{told.text} {told.remedy} {told.source}" for told in every)


def _part(title: str, lines: Sequence[str], count: int) -> Iterator[str]:
    if lines:
        yield ""
        yield heading(title, str(count))
        yield from lines


def _decisions(rule: Told, asked: Sequence[Decision]) -> list[str]:
    lines = wrapped(f"{rule.remedy} {_SIGN}", " ") if asked else []
    before = ""
    for number, one in enumerate(asked, 1):
        if one.gravity != before:
            lines += ["", f" {GRAVITIES[one.gravity]}"]
            before = one.gravity
        lines += [*_decision(number, one)]
    return lines


def _decision(number: int, one: Decision) -> Iterator[str]:
    where = f" ({placed(one.places)})" if one.places else ""
    yield from wrapped(f"{one.title}{where}.", f" {number:>2} ", "    ")
    yield from wrapped(one.decide, "    ")
    for told in one.findings:
        yield from _told(told, "    ")
    yield from wrapped(f"Instead: {one.instead}", "    ")
    yield "    [ ] go on as planned   [ ] instead"
    yield from wrapped(f"{one.signed_by}: ______________________ date: __________", "    ")


def _told(told: Told, indent: str = "") -> Iterator[str]:
    yield from wrapped(told.text, f"{indent} * ", f"{indent}   ")
    yield from wrapped(f"{told.remedy} [{told.source}]", f"{indent}   -> ", f"{indent}      ")


def _confirm(every: Sequence[Confirm]) -> list[str]:
    lines: list[str] = []
    for when, some in groupby(every, key=lambda one: one.when):
        lines.append(f" {when[0].upper()}{when[1:]}")
        for one in some:
            planned = f" Planned: {one.planned}." if one.planned else ""
            lines += wrapped(f"{one.what.rstrip('.')}.{planned} {one.how}", " [ ] ", "     ")
    return lines
