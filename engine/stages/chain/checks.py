"""What the planned chain still gets wrong, by how much, and what would cure it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from engine.facts import Facts
from engine.findings import Finding, caution, note, stop
from engine.quantities import Metre, shown
from engine.solvers.separation import Clearance
from engine.stages.chain.bus import longest_bus
from engine.stages.chain.ground import Ground
from engine.stages.chain.part import Chain
from engine.stages.wall.part import Wall
from engine.tables.segregation import kept_by_practice
from engine.text import clean, listed

_DIVIDED = 'containment = "solid" for their way'
_DIVIDER = 'set an earthed metal divider between them and answer containment = "solid"'


def chain_findings(*, facts: Facts, wall: Wall, power: Ground, part: Chain, clear: Sequence[Clearance]) -> list[Finding]:
    """Every finding on the chain."""
    findings = [*_nodes(facts, part)]
    if part.links:
        findings += [*_ports(facts, part), *_links(facts, wall, part), *_bus(facts, wall, part)]
        findings += [*_breaches(facts, power, part, clear), *_lane(facts, wall, power, part, clear)]
    return findings


def _ports(facts: Facts, part: Chain) -> Iterator[Finding]:
    """Ports the chain needs, and whether the order is the best."""
    ports = facts.answers.unit.bus.ports
    if not ports:
        text = "The data ports of a unit are not answered: link ends and terminators cannot be named."
        yield caution(
            "ports-unanswered", "unit.bus.ports", text, "Look at the unit: is each port a plug or a socket?", "T22", unanswered=True
        )
    elif len(ports) == 1:
        text = f"A unit has one data port, but {'a unit in the chain has two neighbours' if len(part.order) > 2 else 'the terminator needs one beside the link'}."
        yield stop(
            "one-port",
            "unit.bus.ports",
            text,
            f"Answer both ports of the unit, or plan with the maker's splitter{_stub(facts, part)}.",
            "T22",
        )
    if not part.proven:
        yield note(
            "chain-order-unproven",
            "plan.chain.order",
            f"The order of the chain: {part.proof}.",
            "A shorter order may be found by hand.",
            "S19",
        )


def _links(facts: Facts, wall: Wall, part: Chain) -> Iterator[Finding]:
    """Links that cannot be laid, or that no stock length serves; where nothing is laid out the wall says so once."""
    stock = facts.answers.unit.bus.link_lengths
    if not stock:
        text = "The lengths that link cables are sold in are not answered: none can be ordered."
        yield caution(
            "link-lengths-unanswered", "unit.bus.link_lengths", text, "Look them up in the unit's price list.", "T22", unanswered=True
        )
    lost = [link for link in part.links if link.length is None]
    # What cannot hang as planned has its own stop, and the wall says what follows.
    if lost and not wall.astray:
        names = listed([f"{link.start} > {link.end}" for link in lost])
        text = f"No way on the wall leads from port to port: {names} ({len(lost)} of {len(part.links)} links)."
        remedy = "Move what is in the way, or measure the length and answer it for the comms cables."
        yield stop("no-way-for-link", "plan.chain.links", text, remedy, "S19")
    for link in part.links:
        about = f"plan.chain.links[{link.start} > {link.end}].length"
        if link.length and stock and link.stock is None:
            text = f"The link {link.start} > {link.end} needs {facts.told(link.length)}; the longest it is sold in is {facts.metres(max(stock))}."
            ways = (
                [f"set an earthed metal divider so that it may run straight ({_DIVIDED})"] if link.path and _goes_round(link.path) else []
            )
            remedy = "; or ".join(["Hang the two units closer together", *ways, "ask the maker for a longer link"])
            level = caution if link.path and _guessed(wall, [link.start, link.end]) else stop
            yield level(
                "link-too-long",
                about,
                text,
                f"{remedy}.",
                "T22",
                value=link.length,
                limit=max(stock),
            )


def _guessed(wall: Wall, units: Sequence[str]) -> bool:
    """Whether nobody said where one of these units hangs: what follows from our own guess stops no plan (S31)."""
    return any(place.assumed for place in wall.places if place.name in units)


def _goes_round(path: Sequence[tuple[Metre, Metre]]) -> bool:
    """Whether a path is longer than its ends are apart."""
    (ax, ay), (bx, by) = path[0], path[-1]
    return sum(abs(q[0] - p[0]) + abs(q[1] - p[1]) for p, q in pairwise(path)) > abs(bx - ax) + abs(by - ay) + 1e-9


def _bus(facts: Facts, wall: Wall, part: Chain) -> Iterator[Finding]:
    """The whole bus against the maker's limit and its bit rate."""
    bus, whole = facts.answers.unit.bus, part.length
    if whole is None:
        return
    if bus.length_max is not None and whole.value > bus.length_max:
        text = f"The bus is {facts.told(whole)} long as bought; its manual allows {facts.metres(bus.length_max)}."
        level = caution if _guessed(wall, part.order) else stop
        yield level(
            "bus-too-long",
            "plan.chain.length",
            text,
            "Use shorter links: hang the units closer together.",
            "unit.bus.length_max",
            value=whole,
            limit=bus.length_max,
        )
    limit = longest_bus(bus.bit_rate, bus.kind)
    if limit and whole.value > limit[0]:
        text = f"The bus is {facts.told(whole)} long as bought; at {shown(bus.bit_rate or 0.0, 'bit/s')} {facts.metres(limit[0])} is usual at most."
        yield caution(
            "bus-too-long-for-rate",
            "plan.chain.length",
            text,
            "Use shorter links, or a lower bit rate where the units allow it.",
            limit[1],
            value=whole,
            limit=limit[0],
        )


def _breaches(facts: Facts, power: Ground, part: Chain, clear: Sequence[Clearance]) -> Iterator[Finding]:
    """Where the best routes still run beside power, by kind of power; and how often they cross it."""
    for kind, kept in power.kept.items():
        some = [
            (link, breach)
            for link, one in zip(part.links, clear, strict=True)
            for breach in one.breaches
            if power.wall.runs[breach.of].kind == kind
        ]
        if not some:
            continue
        under: dict[str, int] = {}
        for link, breach in some:
            name = f"{link.start} > {link.end}"
            under[name] = max(under.get(name, 0), breach.length)
        worst = max(under, key=lambda name: under[name])
        nearest = min(breach.distance for _, breach in some)
        text = (
            f"{len(under)} of {len(part.links)} links run beside {kind} cables nearer than {facts.metres(some[0][1].wanted / 1000)}: "
            f"at least {shown(sum(under.values()) / 1000, 'm')} in all, the nearest at {facts.metres(nearest / 1000)}; most on {worst}. No route without a great detour does better."
        )
        remedy = f"Move the units further apart or the {kind} lane elsewhere; or {_DIVIDER} for the way of {kind} or of comms."
        if facts.answers.unit.bus.screened is None and kept.value > kept_by_practice(kind):
            remedy = f"Say whether the link cable is screened (unit.bus.screened): an unknown cable keeps the largest distance. {remedy}"
        yield caution(
            "comms-beside-power",
            "plan.chain.beside_power",
            text,
            remedy,
            f"T23: {kept.source}",
            value=nearest / 1000,
            limit=some[0][1].wanted / 1000,
            unit="m",
            where=under,
        )
    if part.crossings:
        times = "once" if part.crossings == 1 else f"{part.crossings} times"
        text = f"The chain crosses power cables {times}, at right angles."
        yield note("comms-crosses-power", "plan.chain.crossings", text, "Keep the crossings square; no tie binds data to power.", "T23")


def _lane(facts: Facts, wall: Wall, power: Ground, part: Chain, clear: Sequence[Clearance]) -> Iterator[Finding]:
    """A comms lane too near a power lane: what it would cost to lay the chain there."""
    lane = wall.lanes["comms"]
    near = [(kind, y, keep) for kind, y, keep in power.lanes() if abs(round(lane * 1000) - y) < keep]
    if not near:
        return
    laid = power.measured(power.grid(lane, blind=True).along(part.order))
    under, planned = sum(one.under for one in laid), sum(one.under for one in clear)
    if under <= planned:
        return
    kind, y, keep = min(near, key=lambda other: abs(round(lane * 1000) - other[1]))
    gap = abs(round(lane * 1000) - y)
    where = f"lies on the {kind} lane" if gap == 0 else f"is {facts.metres(gap / 1000)} from the {kind} lane"
    free = power.clear_height(lane)
    text = (
        f"The comms lane at {facts.metres(lane)} {where}; {facts.metres(keep / 1000)} is wanted. Laid in it, {facts.metres(under / 1000)} of the chain would run beside power. "
        f"The planned routes leave the lane: {facts.metres(planned / 1000)} remain."
    )
    move = (
        f"Move the comms lane to {facts.metres(free)}, which keeps clear of every power lane; or "
        if free is not None
        else "No height keeps clear of every power lane: "
    )
    yield caution(
        "comms-lane-near-power",
        "routes[comms].lane",
        text,
        f"{move}{_DIVIDER}.",
        "T23",
        value=gap / 1000,
        limit=keep / 1000,
        unit="m",
    )


def _nodes(facts: Facts, part: Chain) -> Iterator[Finding]:
    """Other nodes of the bus: which end, which port, and that their cable is not counted."""
    for node, given in zip(part.nodes, facts.answers.bus_nodes, strict=False):
        name = clean(node.name, 60)
        if given.end is None:
            text = f"It is not answered at which end of the bus {name} hangs; it is planned at the last one."
            yield caution(
                "bus-node-end-unanswered",
                "bus_nodes",
                text,
                "Answer first or last: a terminator inside the bus, or none at its end, breaks it.",
                "T22, S20",
                unanswered=True,
            )
        text = f"{name} is plugged into {node.port or 'the free port'} of {node.unit}; its cable has no place on the wall, so its length is not in the bus."
        remedy = f"Measure that cable, order it, and add it to the bus. Between the ends a node hangs on a stub{_stub(facts, part)}."
        yield note("bus-node-cable", "bus_nodes", text, remedy, "T22, S20")


def _stub(facts: Facts, part: Chain) -> str:
    return f", {facts.told(part.longest_stub)} long at most" if part.longest_stub else " as short as can be"
