"""The comms chain as text: the order, every link with its ends, the terminators, the one measurement."""

from __future__ import annotations

from collections.abc import Iterator

from engine.facts import Facts
from engine.plan import ChainRow
from engine.planner import Planned
from engine.sheets.text.layout import wrapped
from engine.sheets.text.top import head, stops
from engine.stages.chain.part import Chain, Link
from engine.tables.segregation import kept_by_practice
from engine.tables.verification import chain_window
from engine.text import clean, counted


def chain_text(planned: Planned) -> str:
    """The chain page."""
    return "\n".join(_lines(planned)) + "\n"


def _lines(planned: Planned) -> Iterator[str]:
    chain = planned.plan.chain
    yield from head(planned, "COMMS CHAIN")
    yield from stops(planned, 3)
    yield ""
    if not chain.links:
        units = len(planned.plan.units)
        yield (
            "One unit: no chain, no terminator unless its manual asks for one."
            if units == 1
            else "No chain is planned yet: see the plan page for what is missing."
        )
        return
    yield f"{counted(len(chain.links), 'link')}, {counted(len(chain.terminators), 'terminator')}, in this order:"
    yield ""
    yield from drawing(planned, chain)
    yield ""
    if planned.parts.chain.length:
        stub = planned.parts.chain.longest_stub
        tapped = f" What is tapped in between its ends: a lead of {planned.facts.told(stub)} at most." if stub else ""
        yield from wrapped(f"Whole bus: {planned.facts.told(planned.parts.chain.length)}.{tapped}")
    yield from wrapped(_route(planned.facts, planned.parts.chain))
    if chain.proof:
        yield from wrapped(f"Order: {chain.proof}.")
    yield ""
    yield from wrapped(
        "Plug the links only when every battery isolator is closed and its reading right: while a minus is open the data cable carries battery current. Data is last in and first out.",
        "[ ] ",
        "    ",
    )
    yield from wrapped(
        f"All units off: ohmmeter across the data pair at the open port of either end, the terminator of the other end in. Want {chain_window(1)}. Got: ______ and ______. Both in (an adapter is needed): {planned.parts.chain.resistance or 'not computed'}, {chain_window(2)}.",
        "[ ] ",
        "    ",
    )
    yield from wrapped(
        "No reading: a link is missing or broken, or the terminator is. 66 or less: one terminator too many. Near 0: shorted. Anything else: not proven, find why.",
        "    If not: ",
        "    ",
    )


def drawing(planned: Planned, chain: ChainRow) -> Iterator[str]:
    """One line per unit or other node, the links between."""
    roles = {unit.tag: f"{unit.phase} {unit.role}" for unit in planned.plan.units}
    nodes = planned.parts.chain.nodes
    for node in reversed([node for node in nodes if node.end == "first"]):
        yield from _node(node.name, chain)
        yield f"        |  its own lead to port {node.port or '?'} of {node.unit}"
    for place, name in enumerate(chain.order, 1):
        yield from wrapped(f"[ {clean(name, 30)} ]  {roles.get(name, '')}{_closed(name, chain)}", f"  {place:>2}  ", "        ")
        link = next((link for link in planned.parts.chain.links if link.start == name), None)
        if link:
            yield from wrapped(_link(planned.facts, link), "        |  ", "        |  ")
    for node in (node for node in nodes if node.end != "first"):
        yield f"        |  its own lead to port {node.port or '?'} of {node.unit}"
        yield from _node(node.name, chain)


def _node(name: str, chain: ChainRow) -> Iterator[str]:
    yield from wrapped(f"[ {clean(name, 40)} ]  no unit{_closed(clean(name, 600), chain)}", "      ", "        ")


def _closed(name: str, chain: ChainRow) -> str:
    end = next((end for end in chain.terminators if end.unit == name), None)
    return f"   <== TERMINATOR ({end.kind or 'kind by its port'}) in port: {end.port or 'the free one'}" if end else ""


def _link(facts: Facts, link: Link) -> str:
    stock = f"cable {facts.told(link.stock)}" if link.stock else "NO STOCK CABLE SERVES"
    return f"port {link.start_port or '?'} -> port {link.end_port or '?'}: {stock}, {link.cable} (way {facts.told(link.length) if link.length else 'to be measured'})"


def _route(facts: Facts, chain: Chain) -> str:
    parts = [
        f"closest to power {facts.told(chain.closest)}" if chain.closest else "",
        f"beside power {facts.told(chain.beside)}" if chain.beside else "",
        f"{counted(chain.crossings, 'crossing')}, at right angles" if chain.crossings is not None else "",
    ]
    told = ", ".join(part for part in parts if part)
    return (
        f"Route: {told}."
        if told
        else f"Route not computed: keep {facts.metres(kept_by_practice('battery'))} from battery cables, {facts.metres(kept_by_practice('other'))} from other power, cross at right angles."
    )
