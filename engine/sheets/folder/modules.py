"""How a bank is built: its modules, what joins them, what it stands in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.sheets.folder.blocks import Row
from engine.sheets.folder.letters import Run, bold
from engine.sheets.folder.numbers import steps
from engine.sheets.folder.ticked import between, heading
from engine.site.storage import Feed
from engine.text import counted

if TYPE_CHECKING:
    from engine.planner import Planned

_LEAVES: Mapping[Feed, str] = {
    "one end": "both from string 1",
    "diagonal": "+ from string 1, - from string {last}",
    "bar": "from bars of its own, every string by two leads of one length",
}


def of_bank(planned: Planned, place: str) -> Iterator[str]:
    """How a bank is built: modules, strings, where its leads leave it, what it stands in."""
    if place not in banks(planned):
        return
    facts = planned.facts
    strings = facts.strings_in_parallel
    yield f"{counted(strings, 'string')} of {counted(facts.series, 'module')}, {facts.answers.storage.chemistry or 'kind of cells not answered'}."
    if strings > 1:
        yield f"Leads to the set: {_LEAVES[_feed(planned, place)].format(last=strings)}."
        yield "Each string through its fuse, where the battery's maker wants one that is not inside."
    if facts.answers.storage.chemistry == "flooded":
        yield "It stands in a tray that holds its acid."
    yield from (f"Vents: {line.specification}." for line in planned.parts.bill.lines if line.item == "vent" and place in line.goes_to)


def live(planned: Planned, place: str) -> Iterator[Run]:
    """What nobody may overlook at a bank."""
    if place in banks(planned):
        yield bold(
            " Posts and links are LIVE whatever is open: never alone; insulated tools, gloves, face shield, the other pole covered; one joint at a time."
        )


def modules(planned: Planned, place: str) -> Iterator[Row]:
    """Every link of a bank, string by string, then what joins the strings."""
    if place not in banks(planned):
        return
    series, strings = planned.facts.series, planned.facts.strings_in_parallel
    if series > 1 or strings > 1:
        when = steps(planned, "modules", "strings-alike", "join-strings", at=place)
        yield heading(
            (
                bold("modules and strings "),
                f"({when}): links and torque of the battery's maker; each string is matched before it is joined.",
            )
        )
    joined = [*_links(series, strings), *_strings(planned, place, strings)]
    yield from (replace(row, follows=number == 0) for number, row in enumerate(joined))


def _links(series: int, strings: int) -> Iterator[Row]:
    """From module to module, a row for each string."""
    links = [f"{module}-{module + 1}" for module in range(1, series)]
    for string in range(1, strings + 1) if links else ():
        yield between(f"string {string}, + of a module", "- of the next", links)


def _strings(planned: Planned, bank: str, strings: int) -> Iterator[Row]:
    """From string to string, or from each to the bars of the bank."""
    for string in range(1, strings + 1) if strings > 1 else ():
        if _feed(planned, bank) == "bar":
            yield between(f"string {string}", f"bars of {bank}", ("+", "-"))
        elif string < strings:
            yield between(f"string {string}", f"string {string + 1}", ("+", "-"))


def banks(planned: Planned) -> tuple[str, ...]:
    """The names of all banks."""
    return tuple(bank.name for bank in planned.parts.banks.banks)


def _feed(planned: Planned, bank: str) -> Feed:
    sums = planned.parts.storage.of(bank)
    return sums.feed if sums else planned.facts.feed
