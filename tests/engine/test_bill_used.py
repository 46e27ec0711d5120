"""Nothing is ordered that no step uses, and nothing is used that was not ordered: over the samples, small sites of every kind, and generated ones."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import get_args

import pytest

from engine.files.emit import emit
from engine.files.read import parse
from engine.planner import Planned, plan
from engine.sheets.bill import SUPPLIERS
from engine.stages.procedure.part import Section
from engine.stages.switchgear import GearKind
from engine.tables import table
from tests.engine.paper_sites import NAMES, SOLAR, planned, sample, set_of
from tests.generated.sites import site

# How the step that uses an item calls it, where that is not its name. Everything else stands there by name.
CALLED = {
    "comms link": r"the links:", "bus node lead": r"the links:", "module link": r"with their links", "string link": r"with the links", "module lead": r"with the leads",
    "battery string fuse": r"fuses and torque of the battery's maker", "string connector": r"connectors", "connector cap": r"connector and cap it", "string pair": r"pair of each string",
    "string fuse": r"each string fuse", "string fuse holder": r"fuse holders", "fuse": r"each fuse link", "fuse holder": r"fuse holders", "busbar": r"\bbars\b|the earth bar", "busbar cover": r"cover of a bar",
    "enclosure": r"enclosures", "surge device": r"surge devices", "neutral-earth bond link": r"neutral-earth link", "vent": r"the vents", "cleat": r"cleats", "reel": r"cut list", "cable by the metre": r"cut list",
    "cable by the foot": r"cut list", "conductor cut": r"cut list", "cable lug": r"a lug", "heat-shrink": r"a sleeve", "gland": r"glands", "cable marker": r"a marker on both ends", "unit tag": r"the tag on",
    "isolator label": r"Label every isolator", "bank label": r"Label every isolator.*\bbank\b", "source label": r"source labels", "pole bond label": r"its label", "breaker lock": r"its locking piece",
    "pre-charge kit": r"clip lead .* resistor", "test lead": r"test leads", "fused test lead": r"Fused lead", "bench lead": r"Bench lead",
}  # fmt: skip

# What a person on site takes in hand or fits, as the steps call it, and the items of which one must be on the bill; () for a tool of the step "lay out".
PARTS = {
    r"\bfuse links?\b|fit it, in every pole": ("fuse",), r"string fuse\b": ("string fuse",), r"fuse holders?\b(?! open)": ("fuse holder", "string fuse holder"), r"padlock": ("padlock", "breaker lock"), r"locking piece": ("breaker lock",),
    r"cap it\. ?$|connector and cap it": ("connector cap",), r"string connectors?|connectors of every string": ("string connector",), r"\bbreakers?\b": ("breaker", "there"), r"\bisolators?\b": ("isolator", "breaker", "there"),
    r"residual-current device": ("residual-current device",), r"surge devices": ("surge device",), r"neutral-earth link": ("neutral-earth bond link", "no link"), r"\bthe links\b(?! of|,)|plug the links": ("comms link", "string link", "bus node lead"),
    r"with their links": ("module link",), r"with the leads": ("module lead",), r"fuses and torque": ("battery string fuse",), r"terminator": ("terminator",), r"temperature sensor": ("temperature sensor",), r"data lead\b": ("data lead",),
    r"by the cut list": ("reel", "cable by the metre", "cable by the foot", "conductor cut"), r"pair of each string": ("string pair",),
    r"[Bb]ench lead": ("bench lead",), r"pre-charge kit": ("pre-charge kit",), r"clip lead|clips": ("pre-charge kit",), r"Fused lead": ("fused test lead",), r"test leads": ("test lead",), r"\bbars\b": ("busbar",), r"cover of a bar": ("busbar cover",), r"enclosures": ("enclosure",),
    r"(?:press|Press)[^.]* a lug": ("cable lug",), r"sleeve": ("heat-shrink",), r"\ba ferrule": ("ferrule",), r"bimetal pin": ("bimetal pin",), r"joint compound": ("joint compound",), r"glands?\b": ("gland",), r"cleats": ("cleat",),
    r"trunking(?!\.)(?=,|\. C)": ("trunking",), r"\bconduit\b": ("conduit",), r"\bduct\b": ("duct",), r"\btray\b(?=,|\. C)": ("tray",), r"marker": ("cable marker",), r"paint mark": (), r"source labels": ("source label",),
    r"the bond label": ("bond label",), r"Fit its label": ("pole bond label",), r"Label every": ("isolator label",), r"the tag on": ("unit tag",), r"vents": ("vent",), r"emergency shutdown": ("emergency shutdown device",),
    r"rapid shutdown": ("rapid shutdown device",), r"what watches its insulation|insulation monitoring device": ("insulation monitoring device",), r"emergency stop": ("emergency shutdown device",), r"\bheater\b": (),
    r"[Ii]nsulation tester": (), r"micro-ohmmeter": (), r"milliohmmeter": (), r"[Rr]otation meter": (), r"[Cc]lamp meter": (), r"hand-held thermometer": (), r"Residual-current tester": (), r"earth-leakage clamp": (),
    r"[Tt]orque tool": (), r"gloves|face shield": (), r"other pole covered|Cover its AC": (),
}  # fmt: skip
TOOLS = {r"paint mark": "paint marker", r"gloves|face shield": "protective gear", r"other pole covered|Cover its AC": "insulating covers", r"earth-leakage clamp": "earth-leakage clamp meter", r"[Rr]otation meter": "rotation meter",
         r"[Cc]lamp meter": "clamp meter", r"[Tt]orque tool": "torque tools", r"\bheater\b": "heater", r"[Ii]nsulation tester": "insulation tester", r"Residual-current tester": "residual-current tester"}  # fmt: skip


LIKE = {"bank label", "breaker", "isolator", "padlock", "cable by the metre", "conductor cut"}


def name_of(step):
    return step.id.partition("@")[0]


def unused(made: Planned) -> list[str]:
    """Items on the bill whose step is not there, stands in another section, or does not call them by their name."""
    steps = made.parts.procedure.steps
    wrong = []
    for line in made.parts.bill.lines:
        own = [step for step in steps if name_of(step) == line.step]
        if not own or {step.section for step in own} != {line.needed}:
            wrong.append(f"{line.item}: no step {line.step} in {line.needed}")
        elif not any(re.search(CALLED.get(line.item, re.escape(line.item)), f"{step.do} | {step.expect}") for step in own):
            wrong.append(f"{line.item}: not in {line.step}: {own[0].do}")
    return wrong


def missing(made: Planned) -> list[str]:
    """Parts that a step names, and that are neither on the bill, nor there before, nor among the tools."""
    have = {line.item for line in made.parts.bill.lines}
    if any(gear.kind is GearKind.THERE for row in made.parts.switchgear.rows.values() for gear in row):
        have.add("there")
    if made.parts.switchgear.link is None:
        have.add("no link")  # words on a link that is not there
    [tools] = [step.do for step in made.parts.procedure.steps if name_of(step) == "tools"]
    wrong = []
    for step in made.parts.procedure.steps:
        told = f"{step.do} | {step.expect}"
        for words, items in PARTS.items():
            if (name_of(step) == "tools" and not items) or not (found := re.search(words, told)):
                continue
            if items and not have & {*items}:
                wrong.append(f"{step.id}: {found[0]!r} is not ordered: {told}")
            if not items and TOOLS.get(words, found[0]) not in tools:
                wrong.append(f"{step.id}: {found[0]!r} is not laid out")
    return wrong


def sites():
    yield from ((name, sample(name)) for name in NAMES)
    yield "one", planned(set_of(1))
    yield "one, alone", planned(set_of(1) | {"incoming": {"kind": "none"}})
    yield "nec", planned({"site.rules": "nec"} | SOLAR | {"solar.parallel": 3})
    yield "iec, fused strings", planned(SOLAR | {"solar.parallel": 3, "storage.earthed": "minus"})
    yield "banks", planned({"storage.connection": "bank-per-unit", "storage.wired": {"L1-1": "B1", "L2-1": "B2", "L3-1": "B3"}, "storage.bank.series": 2, "unit.dc_max": "120 V"})
    yield "aluminium", planned({"routes": [{"carries": kind, "metal": "aluminium", "method": method} for kind, method in (("battery", "C"), ("load", "F"), ("incoming", "D1"))]})
    yield "relay", planned({"earthing.island_bond": "unit relay"})
    yield "floating", planned({"earthing.system": "IT", "earthing.island_bond": "none"})
    yield "node", planned({"bus_nodes": [{"name": "Meter", "end": "last"}], "storage.holder": "on the bar", "storage.bank.feed": "bar"})
    yield "meter alone", planned(set_of(1) | {"bus_nodes": [{"name": "Meter", "end": "last"}]})
    # A cut of 45 m and its tenth fill a reel.
    yield "reel", planned({"routes": [{"carries": "earth", "to": "L2-1", "length": "45 m", "insulation": "xlpe"}]})
    yield "lead", planned({"storage.chemistry": "flooded", "storage.managed": False, "storage.links": []})


@pytest.mark.parametrize(("name", "made"), [pytest.param(*one, id=one[0]) for one in sites()])
def test_what_is_ordered_is_used_and_what_is_used_is_ordered(name, made):
    assert (unused(made), missing(made)) == ([], [])


@pytest.mark.parametrize("first", range(0, 60, 10))
def test_on_generated_sites_too(first):
    planned_ones = 0
    for number in range(first, first + 10):
        read = parse(emit(site(number, 1 + number % 3)).encode(), "site.toml")
        made = plan(read.answers, read.revision)
        if made.parts.units.tags:
            planned_ones += 1
            assert (number, unused(made), missing(made)) == (number, [], [])
    assert planned_ones >= 8


def test_the_check_can_fail_both_ways():
    """An item that nobody uses is seen, and each item that is left off the bill is missed by the step that takes it in hand."""
    made = sample("alder-farm")
    bill = made.parts.bill
    odd = replace(made, parts=replace(made.parts, bill=replace(bill, lines=(*bill.lines, replace(bill.lines[0], item="sail")))))
    assert [told.partition(":")[0] for told in unused(odd)] == ["sail"]
    seen = set()
    for item in {line.item for line in bill.lines}:
        less = replace(made, parts=replace(made.parts, bill=replace(bill, lines=tuple(line for line in bill.lines if line.item != item))))
        seen |= {item} if missing(less) else set()
    # Each of these has its like on the bill, by whose word it is called; how many there are of them other tests count.
    assert {line.item for line in bill.lines} - seen == LIKE


def test_the_table_of_items_is_whole_and_speaks_of_the_order_of_work():
    rows = table("items").rows
    assert {str(row["supplier"]) for row in rows} == set(SUPPLIERS)
    assert {str(row["needed"]) for row in rows} <= set(get_args(Section))
    assert len({row["item"] for row in rows}) == len(rows)
    assert all(row["read"] and row["step"] for row in rows)
    made = [made for _, made in sites()]
    assert {str(row["item"]) for row in rows} == {line.item for one in made for line in one.parts.bill.lines}
    assert set(CALLED) <= {str(row["item"]) for row in rows}
