"""A plan as text for the review, in sections that fit any width. No terminal here."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from engine.plan import Row
from engine.sheets.text.layout import grid, wrapped
from engine.site.names import name_of, title_of
from engine.site.spoken import spoken
from wizard.planning.seen import Seen

if TYPE_CHECKING:
    from engine.planner import Planned

Lines = list[str]

_ROOMY = 60  # columns; on less a table of eight columns is cut to pieces

_TABLES: Mapping[str, tuple[str, tuple[tuple[str, str], ...]]] = {
    "Units": (
        "units",
        (
            ("tag", "tag"),
            ("phase", "phase"),
            ("role", "role"),
            ("storage_mode", "storage"),
            ("bank", "bank"),
            ("chain_place", "chain"),
            ("charge_limit", "charge"),
            ("incoming_limit", "incoming"),
        ),
    ),
    "Phases": (
        "phases",
        (
            ("phase", "phase"),
            ("units", "units"),
            ("power", "power"),
            ("apparent_power", "apparent"),
            ("surge", "surge"),
            ("used", "used"),
            ("left", "left"),
            ("neutral_current", "neutral"),
        ),
    ),
    "Banks": (
        "banks",
        (
            ("name", "bank"),
            ("units", "units"),
            ("usable_energy", "usable"),
            ("autonomy", "lasts"),
            ("discharge_current", "current"),
            ("charge_limit", "charge"),
            ("fault_current", "fault"),
        ),
    ),
    "Circuits": (
        "circuits",
        (
            ("name", "circuit"),
            ("current", "current"),
            ("length", "length"),
            ("conductor", "conductor"),
            ("parallel", "x"),
            ("device", "device"),
            ("drop", "drop"),
            ("governed_by", "decided by"),
        ),
    ),
    "Bill": ("bill", (("quantity", "no."), ("item", "item"), ("specification", "specification"), ("order_ahead", "order ahead"))),
    "Assumed": ("assumed", (("key", "question"), ("value", "assumed"), ("why", "why"))),
}


SECTIONS = ("Findings", "Units", "Chain", "Wall", "Diagram", "Bill", "Phases", "Banks", "Circuits", "Assumed")


def section(planned: Seen | Planned, name: str, width: int) -> Lines:
    """The lines of a section, none longer than `width`. What was found is `finding_lines`."""
    if name in _DRAWN:
        lines = _DRAWN[name](planned, width)
    else:
        rows, columns = _TABLES[name]
        lines = _table(getattr(planned.plan, rows), columns, width)
        if name == "Phases" and planned.plan.proof:
            lines += ["", *textwrap.wrap(planned.plan.proof, width)]
    return lines or ["Nothing yet: the answers do not say enough."]


def _table(rows: Sequence[Row], columns: Sequence[tuple[str, str]], width: int) -> Lines:
    """Rows under a head where the width allows it, else one block a row; columns with nothing in them are left out."""
    cells = [[(_asked if name == "key" else _cell)(getattr(row, name)) for name, _ in columns] for row in rows]
    used = [at for at in range(len(columns)) if any(row[at] for row in cells)]
    heads = [columns[at][1] for at in used]
    cells = [[row[at] for at in used] for row in cells]
    if not cells or width >= _ROOMY:
        return grid(heads, cells, columns=width, indent="") if cells else []
    return [line for row in cells for line in _block(heads, row, width)]


def _block(heads: Sequence[str], row: Sequence[str], width: int) -> Iterator[str]:
    yield from textwrap.wrap(row[0], width) or ["-"]
    told = ", ".join(f"{head} {text}" for head, text in zip(heads[1:], row[1:], strict=True) if text)
    yield from textwrap.wrap(told, width, initial_indent="  ", subsequent_indent="  ")


def _asked(key: str) -> str:
    """A key as its question is called; of what nobody is asked, its words."""
    return title_of(key) if key.startswith("plan.") else spoken(key).replace('"', "")


def _cell(value: object) -> str:
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else ""
    if isinstance(value, list):
        return " ".join(str(item) for item in value)
    if isinstance(value, Row):
        return " ".join(str(part) for name in ("rating", "kind") if (part := getattr(value, name)))
    return str(value)


def _chain(planned: Seen | Planned, width: int) -> Lines:
    chain = planned.plan.chain
    if not chain.order:
        return []
    lines = textwrap.wrap(" - ".join(chain.order), width)
    lines += [""] if chain.links else []
    for at, link in enumerate(chain.links, 1):
        ends = f"{at}. {link.from_} ({link.from_port or '?'}) to {link.to} ({link.to_port or '?'})"
        size = f": {link.length or 'length unknown'}, buy {link.stock or 'unknown'}"
        lines += textwrap.wrap(ends + size, width, subsequent_indent="   ")
    for end in chain.terminators:
        lines += textwrap.wrap(f"Terminator ({end.kind or 'kind unknown'}) in {end.unit}, port {end.port or '?'}", width)
    told = (
        ("Whole bus", chain.length),
        ("Closest to power", chain.closest_to_power),
        ("Beside power", chain.beside_power),
        ("Crossings", chain.crossings),
        ("Order", chain.proof),
    )
    return [
        *lines,
        "",
        *(line for name, value in told if value is not None for line in textwrap.wrap(f"{name}: {value}", width, subsequent_indent="  ")),
    ]


def _wall(planned: Seen | Planned, width: int) -> Lines:
    from engine.sheets.text.wall import drawing, fixing_lines, legend  # noqa: PLC0415 - stages are not wanted before the first screen

    parts = planned if isinstance(planned, Seen) else planned.parts
    wall, chain = parts.wall, parts.chain
    return [*drawing(wall, chain, width), *legend(wall, chain, width), *fixing_lines(wall, width)]


def _diagram(planned: Seen | Planned, width: int) -> Lines:
    from engine.sheets.text.single_line import lines  # noqa: PLC0415 - likewise

    return lines(planned.plan, width)


_DRAWN: Mapping[str, Callable[[Seen | Planned, int], Lines]] = {"Chain": _chain, "Wall": _wall, "Diagram": _diagram}


def finding_lines(planned: Seen | Planned, width: int) -> Iterator[tuple[str, str]]:
    """Each finding's key and its text, in the words of the questions: level first, then what, then the cure."""
    for finding in planned.findings:
        head = wrapped(spoken(f"{finding.level.upper()}{_about(finding.about)}: {finding.text}"), "", "  ", width)
        cure = wrapped(spoken(f"Cure: {finding.remedy} [{finding.source}]"), "  ", "  ", width)
        yield finding.about, "\n".join([*head, *cure])


def _about(key: str) -> str:
    """What a finding is about: a question, or what the plan has of that name; nothing where only the file has a word for it."""
    if key.startswith("plan."):
        return f" {found[1]}" if (found := re.search(r"\[([^\]]+)\]", key)) else ""
    told = spoken(key)
    return f" {told}" if told != key else f' "{name_of(key)}"'
