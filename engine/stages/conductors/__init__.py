"""Conductor and device of every circuit, with what decided (T3 to T6, T9 to T11, S1 to S18)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from engine.again import again
from engine.facts import Assumed, Facts, Instead
from engine.findings import Finding
from engine.site.wall import Carries
from engine.stages.circuits import Circuits, Ends
from engine.stages.conductors import checks, earths, fuses, island, worked
from engine.stages.conductors.build import Basis, device_kind, measured, task
from engine.stages.conductors.cables import Made, cables, highest_voltage
from engine.stages.conductors.choose import Choice, Taken, choose_all, for_all
from engine.stages.conductors.grounds import grounds
from engine.stages.conductors.part import Conductors, Device, DeviceKind, Sizing
from engine.stages.conductors.task import Task
from engine.stages.currents.part import CircuitCurrents, Currents
from engine.stages.demand import Demand
from engine.stages.phases.part import Phases
from engine.stages.storage.part import Storage
from engine.stages.strings import Strings
from engine.stages.wall.part import Wall
from engine.tables.protection import breaking_capacity
from engine.workings import Figure, chosen

_POWER: tuple[Carries, ...] = ("battery", "load", "incoming", "solar")


def conductors(
    *, facts: Facts, demand: Demand, phases: Phases, storage: Storage, strings: Strings, circuits: Circuits, wall: Wall, currents: Currents
) -> tuple[Conductors, list[Finding]]:
    """Size every circuit: the bars' first, for what hangs on them; protective conductors last, for they follow the others."""
    basis = Basis(facts, wall, currents, storage, demand, phases)
    taken: dict[str, Taken] = {}
    methods: dict[Carries, Instead] = {}
    for kind in _POWER:
        found, instead = _least_way(basis, circuits, kind)
        taken |= found
        if instead:
            methods[kind] = instead
    highest = {ends.name: highest_voltage(facts, storage, strings, ends) for ends in circuits.circuits}
    made = again("cables", cables, facts=facts, circuits=circuits, highest=highest, methods=methods)
    of = {name: _sizing(basis, circuits, strings, t, made[name]) for name, t in taken.items()}
    earthed = grounds(basis, circuits, taken, made)
    of |= earthed.of
    crowded = checks.too_large(facts, circuits, of)
    findings = checks.of_conductors(
        facts=facts,
        storage=storage,
        circuits=circuits,
        wall=wall,
        currents=currents,
        taken=[*taken.values()],
        made=made,
        sizings=of,
        crowded=crowded,
        earthed=earthed,
        methods=methods,
    )
    sizings = {ends.name: of[ends.name] for ends in circuits.circuits if ends.name in of}
    ways: dict[Carries, str] = {kind: one.means for kind, one in methods.items()}
    return Conductors(sizings, crowded, tuple(_told(facts, methods)), ways, earthed.link), [*findings]


def _told(facts: Facts, methods: Mapping[Carries, Instead]) -> Iterator[Assumed]:
    for kind, one in methods.items():
        old = facts.of_kinds[kind, "method"]
        yield Assumed(old.key, one.value, f"{one.means}: laid as {old.value} none would do", one.source)


def _least_way(basis: Basis, circuits: Circuits, kind: Carries) -> tuple[dict[str, Taken], Instead | None]:
    """The circuits of a kind; where nobody said how they are laid and none would do as assumed, the first way in which one does (S31)."""
    first = _of_kind(basis, circuits, kind, None)
    if _do(first) or not any(basis.facts.assumes_method(kind, t.ends.to) for t in first.values()):
        return first, None
    for one in basis.facts.instead("routes[].method"):
        found = _of_kind(basis, circuits, kind, one.value)
        if _do(found):
            return found, one
    return first, None


def _do(taken: Mapping[str, Taken]) -> bool:
    """Whether there is a conductor for each that is known well enough."""
    return all(t.place is not None or t.choice.task.currents.design is None for t in taken.values())


def _of_kind(basis: Basis, circuits: Circuits, kind: Carries, method: str | None) -> dict[str, Taken]:
    """All of a kind: of batteries the bars' first, for what hangs on them; of others the units' own."""
    if kind != "battery":
        return _group(basis, circuits.of(kind, common=False), {}, method) | _group(basis, circuits.of(kind, common=True), {}, method)
    common = circuits.of("battery", common=True)
    taken = _group(basis, common, {}, method)
    return taken | _group(basis, circuits.of("battery", common=False), {ends.bank: _ahead(taken.get(ends.name)) for ends in common}, method)


def _group(basis: Basis, group: Sequence[Ends], ahead: Mapping[str | None, Figure | None], method: str | None) -> dict[str, Taken]:
    """One conductor across circuits of a kind: the first that does what all of them ask (S18); `method` stands for one that is assumed."""
    tasks = [task(basis, ends, ahead.get(ends.bank), method) for ends in group]
    return again((tuple([ends.name for ends in group]), method), _taken, group=group, tasks=tasks)


def _taken(group: Sequence[Ends], tasks: Sequence[Task]) -> dict[str, Taken]:
    found = choose_all(tasks)
    kinds: dict[tuple[str, str], list[Choice]] = {}
    for choice in found:
        kinds.setdefault((choice.task.metal, choice.task.insulation), []).append(choice)
    places = {made: for_all(alike) for made, alike in kinds.items()}
    needed = {made: min((c.needed for c in alike if c.needed is not None), default=None) for made, alike in kinds.items()}
    taken = {}
    for ends, choice in zip(group, found, strict=True):
        made = choice.task.metal, choice.task.insulation
        alike, place = kinds[made], places[made] if choice.place is not None else None
        grown = place is not None and choice.place is not None and place > choice.place
        most = max((c for c in alike if c is not choice), key=lambda c: -1 if c.place is None else c.place) if grown else choice
        like = most.task.name if grown else None
        parted = place is None and all(c.place is not None or not c.task.currents.design for c in alike)
        taken[ends.name] = Taken(ends, choice.at_largest() if parted else choice, place, like, needed[made])
    return taken


def _ahead(taken: Taken | None) -> Figure | None:
    return worked.ahead_of(taken.choice.task, taken.chosen) if taken and taken.chosen else None


def _sizing(basis: Basis, circuits: Circuits, strings: Strings, taken: Taken, made: Made) -> Sizing:
    """The sizing of a circuit, of all that it rests on."""
    ends, run = taken.ends, basis.wall.runs.get(taken.ends.name)
    return again(
        ends.name,
        _sized,
        taken=taken,
        made=made,
        device=_device(basis, circuits, strings, ends, taken.choice.task.currents),
        length=run.length if run else None,
        ohms=measured(basis.facts, ends),
    )


def _sized(taken: Taken, made: Made, device: Device | None, length: Figure | None, ohms: Figure | None) -> Sizing:
    told, ends, asked = taken.choice.task.currents, taken.ends, taken.choice.task
    pole = worked.pole(asked, taken.chosen, length, ohms)
    if taken.place is None or taken.governed_by is None:
        figures_ = (*_of_device(ends, device), made.voltage_class)
        return Sizing(None, 0, None, None, None, told.design, None, None, device, (), None, figures_, made.cable, pole)
    candidate = taken.choice.among[taken.place]
    drop, fault = worked.drop_of(asked, candidate), worked.fault_of(asked, candidate)
    figures = [told.design, told.rating, worked.ampacity_of(asked, candidate), asked.terminals, drop, fault]
    why, criteria = worked.why(taken.choice, taken.place, taken.governed_by, taken.like, figures, made.cable)
    ac = ends.kind in ("load", "incoming")
    ground = earths.with_circuit(earths.live(taken, taken.place)) if ac else None
    earth = earths.figure(f"{ends.key}.earth", ground, made.cable) if ground else None
    neutral = candidate.size if ac else None
    found = (*worked.beside(asked, candidate, why, neutral=ac), *([earth] if earth else []), *_of_device(ends, device), made.voltage_class)
    return Sizing(
        candidate.size,
        candidate.parallel,
        ground.size if ground else None,
        neutral,
        drop,
        told.design,
        fault,
        taken.governed_by,
        device,
        criteria,
        why,
        found,
        made.cable,
        pole,
    )


def _of_device(ends: Ends, device: Device | None) -> Iterator[Figure]:
    """The whole device as one figure, which its rating stands for."""
    if device and device.rating:
        of = [f for f in (device.rating, device.breaking, device.voltage) if f]
        rating = device.rating
        yield chosen(f"{ends.key}.device", rating.value, "A", "the kind with its rating", rating.source, of, f"{device.name}, {rating}")


def _device(basis: Basis, circuits: Circuits, strings: Strings, ends: Ends, told: CircuitCurrents) -> Device | None:
    """What protects the circuit, or opens it where nothing needs to protect it."""
    facts, kind = basis.facts, device_kind(basis, ends)
    capacity = _capacity(facts, ends, kind, told) if kind else None
    if ends.kind in ("battery", "solar"):
        found = fuses.families(facts, basis.storage.of(ends.bank))
        words = fuses.kind(found) if ends.kind == "battery" else "gPV fuse" if kind else "DC isolator"
        sure = ends.kind != "battery" or bool(found and found.sure)
        does = DeviceKind.FUSE if kind else DeviceKind.SWITCH
        # The earthed pole is never fused; what isolates opens both all the same (S30).
        pole = {"minus": "plus", "plus": "minus"}.get(facts.earthed_pole or "") if ends.kind == "battery" else None
        return Device(does, words, told.rating, capacity, 1 if pole else 2, _dc_voltage(basis, strings, ends), pole, sure)
    if told.rating is None:
        return None
    # Under the NEC the neutral is not switched with the lines.
    poles = ends.poles - (1 if facts.rules == "nec" else 0)
    if kind is None:
        return Device(DeviceKind.SWITCH, "AC isolator", told.rating, None, ends.poles, None)
    if ends.kind == "incoming" and ends.common:
        return Device(DeviceKind.THERE, "breaker that is there", told.rating, capacity, poles, None)
    curve = island.curve(told.rating.value, island.available(facts, circuits, ends)) if ends.kind == "load" else "C"
    return Device(DeviceKind.BREAKER, "breaker" if facts.rules == "nec" else f"breaker curve {curve}", told.rating, capacity, poles, None)


def _capacity(facts: Facts, ends: Ends, kind: str, told: CircuitCurrents) -> Figure | None:
    """Breaking capacity to buy (S10)."""
    found = breaking_capacity(told.breaking.value, facts.rules, kind) if told.breaking else None
    if not found or not told.breaking:
        return None
    note = f"the smallest usual capacity not below {told.breaking}"
    return chosen(f"{ends.key}.device.breaking", found.value, "A", note, found.source, [told.breaking])


def _dc_voltage(basis: Basis, strings: Strings, ends: Ends) -> Figure | None:
    """The voltage that a DC device must stand: full charge, or the string on the coldest morning."""
    if ends.kind == "battery":
        bank = basis.storage.of(ends.bank)
        source, note = bank.emf_full if bank else None, "the bank fully charged (T4)"
    else:
        source, note = strings.cold_voc, "the string on the coldest morning (T20)"
    return chosen(f"{ends.key}.device.voltage", source.value, "V", note, source.source, [source]) if source else None
