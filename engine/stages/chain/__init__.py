"""The comms chain: order of the units, links with their ports, terminators, and how it keeps clear of power (T22, T23, S19, S20)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from engine.again import again
from engine.facts import Facts
from engine.findings import Finding
from engine.formulas.lengths import cut_length, total_length
from engine.quantities import Metre
from engine.solvers.order import Order, order_lazily
from engine.solvers.separation import Clearance, Point, length
from engine.stages.banks import Banks
from engine.stages.chain.bus import longest_stub, resistance
from engine.stages.chain.checks import chain_findings
from engine.stages.chain.ground import Grid, ground
from engine.stages.chain.part import Chain, DataLead, Link, Node, Port, Terminator
from engine.stages.units import Units
from engine.stages.wall.part import Wall
from engine.workings import Figure, altered, chosen, work

_Ports = tuple[Port | None, Port | None]  # towards the next unit, towards the one before


def chain(*, facts: Facts, units: Units, banks: Banks, wall: Wall) -> tuple[Chain, list[Finding]]:
    """Put the units in a chain that begins at the lead, and route every link."""
    if not units.units:
        return Chain((), (), (), None, "", True, None, None, None), []
    power = ground(facts, wall)
    grid = power.grid(wall.lanes["comms"])
    tags = sorted(units.tags, key=lambda tag: tag != units.lead)
    data = _data_links(units, banks)
    inside = facts.route_figure("comms", None, "extra")
    extra = inside.value if inside else 0.0
    found = again("order", _ordered, grid=grid, tags=tags, most=_most(facts, extra))
    order = tuple(tags[k] for k in found.nodes)
    ports = _ports(facts)
    ways = [grid.way(a, b) for a, b in pairwise(order)]
    links = tuple(_link(facts, a, b, ports, way) for (a, b), way in zip(pairwise(order), ways, strict=True))
    clear = power.measured(ways)
    nodes = _nodes(facts, order, ports)
    ends = _terminators(order, ports, nodes)
    part = Chain(
        order,
        links,
        ends,
        _sum("plan.chain.length", [link.stock or link.length for link in links]),
        _proof(found),
        found.proven or not found.total,
        *_kept_clear(clear),
        resistance=resistance(len(ends)) if ends else None,
        longest_stub=longest_stub(facts, len(order) + len(nodes)) if ends else None,
        nodes=nodes,
        data=tuple(_lead(facts, bank, unit, grid.way(bank, unit)) for bank, unit in data),
        crossed=tuple(crossing for one in clear for crossing in one.crossings),
        kept=power.kept,
    )
    return part, chain_findings(facts=facts, wall=wall, power=power, part=part, clear=clear)


def _ordered(grid: Grid, tags: Sequence[str], most: int | None) -> Order:
    bounds = [[grid.apart(a, b) for b in tags] for a in tags]
    return order_lazily(bounds, lambda a, b: length(way) if (way := grid.way(tags[a], tags[b])) else None, most)


def _most(facts: Facts, extra: Metre) -> int | None:
    """The longest path that a link of the longest stock length serves, in millimetres; links are needed in tenths of a metre."""
    stock = facts.answers.unit.bus.link_lengths
    return math.floor(max(stock) * 10 + 1e-6) * 100 - round(extra * 1000) if stock else None


def _metres(path: Sequence[Point]) -> tuple[tuple[Metre, Metre], ...]:
    return tuple((x / 1000, y / 1000) for x, y in path)


def _needed(facts: Facts, key: str, to: str, path: Sequence[Point]) -> Figure | None:
    """The length of a data cable as needed: measured, or along its path with what goes inside the gear."""
    if measured := facts.route_figure("comms", to, "length"):
        return altered(measured, key=f"{key}.length", of=(measured,))
    extra = facts.route_figure("comms", to, "extra")
    if not path or extra is None:
        return None
    along = chosen(f"{key}.path", length(path) / 1000, "m", "fewest breaches, then crossings, then length, then bends", "S19")
    return work(f"{key}.length", cut_length, path=along, extra=extra)


def _link(facts: Facts, start: str, end: str, ports: _Ports, path: Sequence[Point]) -> Link:
    key = f"plan.chain.links[{start} > {end}]"
    needed = _needed(facts, key, end, path)
    stock = None
    fitting = [s for s in facts.answers.unit.bus.link_lengths or () if needed and s >= needed.value - 1e-9]
    if fitting and needed:
        stock = chosen(
            f"{key}.stock", min(fitting), "m", "the shortest stock length that is long enough", "unit.bus.link_lengths", [needed]
        )
    return Link(start, ports[0], end, ports[1], needed, stock, _metres(path))


def _ports(facts: Facts) -> _Ports:
    """A unit's port towards the next one and its port towards the one before; like names are numbered."""
    ports = facts.answers.unit.bus.ports or []
    named = [Port(port, ports[:k].count(port) + 1 if ports.count(port) > 1 else None) for k, port in enumerate(ports)]
    return (named[0], named[1]) if len(named) > 1 else (named[0], named[0]) if named else (None, None)


def _nodes(facts: Facts, order: Sequence[str], ports: _Ports) -> tuple[Node, ...]:
    """The other nodes, each end's nearest to the units first; one whose end nobody said is taken to be last."""
    nodes = [(node.name or "node without a name", node.end or "last") for node in facts.answers.bus_nodes]
    return tuple(Node(name, end, order[0 if end == "first" else -1], ports[1 if end == "first" else 0]) for name, end in nodes)


def _terminators(order: Sequence[str], ports: _Ports, nodes: Sequence[Node]) -> tuple[Terminator, ...]:
    """One at each open end of the bus: in the free port of the unit there, or at the outermost node beyond it."""
    if len(order) + len(nodes) < 2:
        return ()
    ends = []
    for end, unit, port in (("first", order[0], ports[1]), ("last", order[-1], ports[0])):
        beyond = [node for node in nodes if node.end == end]
        ends.append(Terminator(beyond[-1].name, None, None) if beyond else Terminator(unit, port, port.fits if port else None))
    return tuple(ends)


def _sum(key: str, lengths: Sequence[Figure | None]) -> Figure | None:
    known = [figure for figure in lengths if figure]
    return work(key, total_length, lengths=known) if known and len(known) == len(lengths) else None


def _proof(found: Order) -> str:
    """What is known of the order found."""
    count = len(found.nodes)
    if count < 3 or not found.total:
        return ""
    told = f"{found.total / 1000:.3f} m of routes"
    return (
        f"least of all {math.factorial(count - 1)} orders that begin at the lead: {told}"
        if found.proven
        else f"{told}; a shorter order may exist (not proven above 16 units)"
    )


def _kept_clear(clear: Sequence[Clearance]) -> tuple[Figure | None, Figure | None, Figure | None]:
    """Closest approach, length in breach, crossings, of all links together."""
    if not clear:
        return None, None, None
    near = [one.closest for one in clear if one.closest is not None]
    closest = (
        chosen(
            "plan.chain.closest_to_power", min(near) / 1000, "m", "least distance to a power cable alongside", "T23: measured on the routes"
        )
        if near
        else None
    )
    beside = chosen(
        "plan.chain.beside_power",
        sum(one.under for one in clear) / 1000,
        "m",
        "run nearer than the separation",
        "T23: measured on the routes",
    )
    times = sum(len(one.crossings) for one in clear)
    return closest, beside, chosen("plan.chain.crossings", times, "1", "power cables crossed at right angles", "T23: counted on the routes")


def _data_links(units: Units, banks: Banks) -> list[tuple[str, str]]:
    """Banks and the units that their data cables go to, where both exist."""
    known = {bank.name for bank in banks.banks}
    return [(link.bank, link.unit) for link in banks.links if link.bank in known and link.unit in units.tags]


def _lead(facts: Facts, bank: str, unit: str, path: Sequence[Point]) -> DataLead:
    return DataLead(bank, unit, _needed(facts, f"storage.links[{bank}]", bank, path), _metres(path))
