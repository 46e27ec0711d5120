"""A site through the front door, and everything that holds of what comes out of it, whatever was answered."""

from __future__ import annotations

import csv
import io
import os
import traceback
import unicodedata
from collections.abc import Iterator, Mapping
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest.mock import patch
from xml.etree import ElementTree as ET

from engine import planner
from engine.files.emit import emit
from engine.files.read import read
from engine.planner import Planned
from engine.sheets.papers import papers
from tests.generated.oracle import Broken, broken
from tests.generated.sites import Document
from wizard.cli import main

_COLUMNS = 80


@dataclass
class Seen:
    """What a site came to: its standing and the codes of its findings, and what does not hold."""

    standing: str = ""
    codes: dict[str, str] = field(default_factory=dict)
    broken: list[Broken] = field(default_factory=list)

    @property
    def kinds(self) -> set[str]:
        """The kinds of what does not hold."""
        return {one.kind for one in self.broken}


def examine(document: Document, folder: Path, *, again: bool = True) -> Seen:
    """Plan a site in that folder by the command, and look at all that it says and writes; `again`: plan its plan and check it, too."""
    seen = Seen()
    try:
        seen.broken += _examined(document, folder, seen, again=again)
    except Exception as problem:  # noqa: BLE001 - any of them is what is looked for
        last = traceback.extract_tb(problem.__traceback__)[-1]
        told = "".join(traceback.format_exception(problem))
        seen.broken.append(Broken(f"{type(problem).__name__} in {Path(last.filename).name}, {last.name}", told))
    return seen


def _examined(document: Document, folder: Path, seen: Seen, *, again: bool) -> Iterator[Broken]:
    typed, done = folder / "site.toml", folder / "plan.toml"
    done.unlink(missing_ok=True)
    typed.write_text(emit(document), encoding="utf-8")
    status, said, made = _run("plan", str(typed), "-o", str(done))
    if not made or not done.exists():
        yield Broken("no plan", said)
        return
    planned, text, texts = made[0], done.read_text(encoding="utf-8"), {"said": said}
    plan = planned.plan
    seen.standing = plan.standing
    seen.codes = {f.code: f.level.value for f in planned.findings}
    meant = 1 if plan.standing == "stopped" else 0
    worst = "stopped" if "stop" in seen.codes.values() else "cautions" if "caution" in seen.codes.values() else "ready"
    if status != meant or plan.standing != worst:
        yield Broken("exit status or standing", f"{status}, {plan.standing} with {seen.codes}")
    if again:
        repeated, _, _ = _run("plan", str(done), "-o", str(done))
        if repeated != status or done.read_text(encoding="utf-8") != text:
            yield Broken("planning again gives another file", "")
        checked, texts["told"], _ = _run("check", str(done))
        if checked != meant or "Plan again" in texts["told"] or plan.standing.upper() not in texts["told"]:
            yield Broken("check says otherwise", f"{checked}: {texts['told'][:500]}")
    sheets = papers(planned)
    yield from _well_formed(sheets)
    yield from _harmless({"plan.toml": text.replace("\t", " "), **texts, **sheets})
    warned = {code for code, level in seen.codes.items() if level != "note"}
    yield from (one for one in broken(read(typed).answers, planned) if not warned & set(one.told_by))


def _run(*arguments: str) -> tuple[int, str, list[Planned]]:
    """Exit status of a command, everything it says, and the plans that it made."""
    made: list[Planned] = []

    def kept(*given: Any) -> Planned:
        made.append(planner_plan(*given))
        return made[-1]

    planner_plan = planner.plan
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="")
    with redirect_stdout(out), redirect_stderr(out), patch.object(planner, "plan", kept), patch.dict(os.environ, {"PHASEWRIGHT_DEBUG": "1"}):
        status = main(arguments)
    out.seek(0)
    return status, out.read(), made


def _well_formed(sheets: Mapping[str, str]) -> Iterator[Broken]:
    for name, text in sheets.items():
        if not text.strip():
            yield Broken("empty paper", name)
        if name.endswith(".svg"):
            if ET.fromstring(text).tag != "{http://www.w3.org/2000/svg}svg":
                yield Broken("no drawing", name)
        elif name.endswith(".csv"):
            rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
            if len({len(row) for row in rows}) != 1:
                yield Broken("ragged table", f"{name}: {sorted({len(row) for row in rows})}")
            if cells := [cell for row in rows for cell in row if unicodedata.normalize("NFKC", cell)[:1] in ("=", "+", "-", "@", "\t", "\r")]:
                yield Broken("cell that a spreadsheet runs", f"{cells[0]!r}")
        elif wide := [line for line in text.splitlines() if _width(line) > _COLUMNS]:
            yield Broken("line too wide", f"{name}, {_width(wide[0])} columns: {wide[0]!r}")


def _width(line: str) -> int:
    """Columns of a terminal: two for a wide character, none for one that is written over another (Unicode annex 11)."""
    return len(line) if line.isascii() else sum(0 if unicodedata.category(c) in ("Mn", "Me") else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in line)


def _harmless(texts: Mapping[str, str]) -> Iterator[Broken]:
    """No control character but the end of a line, no direction, no private or lone character is ever written."""
    for name, text in texts.items():
        whole = text.replace("\r\n", "\n") if name.endswith(".csv") else text
        if bad := {c for c in set(whole) - {"\n"} if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co", "Zl", "Zp") or unicodedata.bidirectional(c) in ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")}:
            yield Broken("harmful character", f"{name}: {sorted(map(ascii, bad))}")
