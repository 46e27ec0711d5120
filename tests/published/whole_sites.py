"""Whole sites built around published examples: each as a file that the program reads, plans and is asked for the published figure.

`python -m tests.published.whole_sites` prints them all: source, published figure, figure of the plan.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from engine.files.emit import emit
from engine.files.read import parse
from engine.plan import plain
from engine.planner import Planned, plan
from engine.quantities import registry

PUBLISHED = tomllib.loads((Path(__file__).parent / "whole_sites.toml").read_text(encoding="utf-8"))
SITES: dict[str, dict[str, Any]] = {site["id"]: site for site in PUBLISHED["site"]}
BASES: dict[str, dict[str, Any]] = PUBLISHED["base"]


def laid_over(under: Any, over: Any) -> Any:
    """`under` with the answers of `over` in their places, and its routes behind; an empty list or table takes an answer away."""
    if not isinstance(under, dict) or not isinstance(over, dict):
        return over
    laid = {key: laid_over(under.get(key), value) for key, value in over.items()}
    if "routes" in under and "routes" in over:
        laid["routes"] = under["routes"] + over["routes"]
    return {key: value for key, value in (under | laid).items() if value not in ([], {})}


def text(site: Mapping[str, Any]) -> str:
    """The site as the file that a person would have written."""
    return emit({"schema": 1} | laid_over(laid_over(BASES["every"], BASES[site["base"]]), site.get("answers", {})))


@cache
def planned(which: str) -> Planned:
    """The plan that the program makes of the file."""
    file = parse(text(SITES[which]).encode(), f"{which}.toml")
    return plan(file.answers, file.revision)


def told(site: Planned, read: Mapping[str, Any]) -> object:
    """What a plan says under a key: a figure in the unit asked for; else what stands there in its rows, or the nth number of it."""
    if unit := read.get("unit"):
        figure = site.figures[read["key"]]
        return float(registry().Quantity(figure.value, "" if figure.unit in ("1", "ratio") else figure.unit).to(unit).magnitude)
    found: Any = {"plan": plain(site.plan)}
    for row, name in re.findall(r"\[([^]]*)\]|([^.[\]]+)", read["key"]):
        found = found[name] if name else _row(found, row)
    return float(re.findall(r"\d+(?:\.\d+)?", found)[read["nth"] - 1]) if "nth" in read else found


def _row(rows: list[Any], name: str) -> Any:
    """A row by its place or by what it is called, a step by what is to be done; or how many rows there are."""
    if name == "count":
        return len(rows)
    if name.isdecimal():
        return rows[int(name)]
    return next(row for row in rows if name in (row.get("name"), row.get("tag"), row.get("phase"), row.get("code")) or name in row.get("do", ""))


def agrees(ours: object, theirs: object, tolerance: float) -> bool:
    """Numbers within the tolerance, which is absolute; all else exactly."""
    if isinstance(ours, int | float) and isinstance(theirs, int | float) and not isinstance(theirs, bool):
        return abs(ours - theirs) <= tolerance + 1e-9 * abs(theirs)
    return ours == theirs


def lines() -> Iterator[str]:
    """The table of all sites."""
    yield "| site | published | the plan | source |"
    yield "|---|---|---|---|"
    for which, site in SITES.items():
        for read in site["reads"]:
            unit = read.get("unit", "")
            ours = told(planned(which), read)
            shown = f"{ours:.5g}" if isinstance(ours, float) else str(ours)
            yield f"| {which}: {read['key'].removeprefix('plan.')} | {read['value']} {unit} | {shown} {unit} | {site['source']} ({site['seen']}) |"


if __name__ == "__main__":
    print("\n".join(lines()))
