"""All papers of a plan, by the name under which they are asked for and by file name."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

from engine.files.stale import Marks
from engine.sheets.bill_csv import bill_csv
from engine.sheets.drawings.single_line import single_line
from engine.sheets.drawings.three_pole import three_pole
from engine.sheets.drawings.wall import wall_data, wall_earth, wall_power
from engine.sheets.folder import A4, LETTER, folder
from engine.sheets.text.bill import bill_text
from engine.sheets.text.chain import chain_text
from engine.sheets.text.plan import plan_text
from engine.sheets.text.single_line import single_line_text
from engine.sheets.text.steps import steps_text
from engine.sheets.text.unit import unit_sheet
from engine.sheets.text.wall import wall_text

if TYPE_CHECKING:
    from engine.planner import Planned

# Loose papers of the form before there was a folder a plan.
MARKS = Marks(
    names=re.compile(r"L[123]-[1-9][0-9]?\.txt|(?:plan|order-of-work|chain|wall|bill)\.txt|wall\.svg|bill\.csv"),
    stamp=re.compile(r'\brevision ([0-9a-f]{8})\b|\Asite,revision,[^\n]*\n(?:"(?:[^"]|"")*"|[^",]*),([0-9a-f]{8}),'),
)
FOLDER = "folder.html"
SIZES = {"a4": A4, "letter": LETTER}

# Papers of the set before the units' sheets and behind them, in the order of the folder: what each has beside its pages there.
_BEFORE: Mapping[str, Mapping[str, Callable[[Planned], str]]] = {
    "cover": {"plan.txt": plan_text},
    "diagram": {"single-line.txt": single_line_text},
    "wall": {
        "wall.txt": wall_text,
        "wall-power.svg": wall_power,
        "wall-data.svg": wall_data,
        "wall-earth.svg": wall_earth,
        "chain.txt": chain_text,
    },
    "risk": {},
    "bill": {"bill.txt": lambda planned: bill_text([planned]), "bill.csv": lambda planned: bill_csv([planned])},
    "build": {},
    "labels": {},
}
_BEHIND: Mapping[str, Mapping[str, Callable[[Planned], str]]] = {
    "order": {"order-of-work.txt": steps_text},
    "record": {},
    "owner": {},
    "maintenance": {},
}


def names(planned: Planned) -> tuple[str, ...]:
    """What may be asked for alone, in the order of the folder."""
    return (*_BEFORE, *planned.parts.units.tags, *_BEHIND)


def papers(planned: Planned, only: Sequence[str] = ()) -> dict[str, str]:
    """File name -> text of the papers for terminal, spreadsheet and drawing program: all, or those of the names in `only`."""
    return {file: make() for name, file, make in _files(planned) if not only or name in only}


def whole(planned: Planned, size: str = "", only: Sequence[str] = ()) -> dict[str, str]:
    """The same with the folder to print; `size` is one of `SIZES`, where it is empty the one that is usual under the site's rules."""
    usual = "letter" if planned.facts.rules == "nec" else "a4"
    return {FOLDER: folder(planned, SIZES[size or usual], only), **papers(planned, only)}


def _files(planned: Planned) -> Iterator[tuple[str, str, Callable[[], str]]]:
    """Name, file and what makes it, in the order of the folder."""
    for name in names(planned):
        files = _BEFORE.get(name) or _BEHIND.get(name) or {}
        for file, made in files.items():
            yield name, file, lambda made=made: made(planned)  # type: ignore[misc]
        if name == "diagram":
            yield from _diagrams(planned)
        if name in planned.parts.units.tags:
            yield name, f"{name}.txt", lambda name=name: unit_sheet(planned, name)  # type: ignore[misc]


def _diagrams(planned: Planned) -> Iterator[tuple[str, str, Callable[[], str]]]:
    """As many sheets as the units need, a file each."""
    for number, svg in enumerate(single_line(planned), 1):
        yield "diagram", f"single-line-{number}.svg", partial(str, svg)
    for svg in three_pole(planned):
        yield "diagram", "three-pole.svg", partial(str, svg)
