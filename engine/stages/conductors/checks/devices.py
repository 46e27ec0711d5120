"""Devices: how warm a fuse runs, which family breaks the fault, which breaker trips on what the units give."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engine.facts import Facts
from engine.findings import Finding, caution, note, stop
from engine.formulas.protection import sure_trip
from engine.quantities import Ampere, shown
from engine.stages.circuits import Circuits, Ends
from engine.stages.conductors.build import with_fuse
from engine.stages.conductors.choose import Taken, asked_of, choose
from engine.stages.conductors.fuses import Families, families
from engine.stages.conductors.island import CURVES, available, curve
from engine.stages.currents.part import Currents
from engine.stages.storage.part import Storage
from engine.tables import table
from engine.tables.protection import trip_multiple
from engine.tables.ratings import FUSE, next_rating_up, rated
from engine.text import listed
from engine.workings import chosen

_LOADED = 0.9  # of its rating, for an hour or more (S32)


def of_loading(facts: Facts, taken: Sequence[Taken]) -> Iterator[Finding]:
    """Battery fuses that carry more than nine tenths of their rating for an hour or more; the maker's own factor decides instead (S32)."""
    if facts.have("storage.fuse_factor"):
        return
    alike: dict[tuple[float, float, str], list[Taken]] = {}
    cures: dict[tuple[int, int | None, float], str] = {}
    for one in taken:
        told = one.choice.task.currents
        if told.lasting and told.rating and told.lasting.value > _LOADED * told.rating.value * (1 + 1e-9):
            asks = (id(one.choice.rules), one.place, told.lasting.value)  # rules are shared by all that ask the same
            if asks not in cures:
                cures[asks] = _next_fuse(one, told.lasting.value)
            alike.setdefault((told.rating.value, told.lasting.value, cures[asks]), []).append(one)
    for (rating, lasting, cure), some in alike.items():
        figure = some[0].choice.task.currents.lasting
        assert figure is not None
        yield caution(
            "fuse-loaded",
            figure.key,
            f"{listed([one.ends.name for one in some], most=3)}: the {rated(rating)} fuse carries {figure} for an hour or more ({figure.note}), {100 * lasting / rating:.3g} % of its rating. Above {100 * _LOADED:.0f} % it ages, and in a warm box it may open.",
            f"{cure} Or answer storage.fuse_factor from the fuse's datasheet: it then decides.",
            "S32; common practice, no source",
            value=figure,
            limit=_LOADED * rating,
            where=[one.ends.name for one in some],
        )


def _next_fuse(taken: Taken, lasting: Ampere) -> str:
    """The next fuse that would carry it with ease, tried on the conductor that is planned."""
    task, planned = taken.choice.task, taken.chosen
    up = next_rating_up(lasting / _LOADED, task.rules, FUSE)
    if up is None:
        return "No larger fuse is made: divide the set over more banks."
    tried = with_fuse(task, chosen(f"{task.key}.next_fuse", up, "A", "tried only", "S32"))
    told = f"Take the next fuse that carries it with ease, {rated(up)}"
    if planned is None:
        return f"{told}, when there is a conductor for it."
    failing = [rule for rule in asked_of(tried) if (rule.decides or rule.yielding) and not rule.passes(planned)]
    if not failing:
        return f"{told}: the planned {planned} will do behind it."
    larger = choose(tried)
    if larger.chosen is None or any(rule.yielding and not rule.passes(larger.chosen) for rule in larger.rules):
        return f"{told}, only if the cable gets another way: behind it neither the planned {planned} nor a larger conductor will do ({failing[0].name})."
    return f"{told}, with {larger.chosen}: the planned {planned} will not do behind it ({failing[0].name})."


def of_fuses(facts: Facts, circuits: Circuits, storage: Storage) -> Iterator[Finding]:
    """No polarised device in a bank's circuits, and whether a fuse family does for it; banks alike raise one finding."""
    first = {ends.bank: ends for ends in reversed(circuits.circuits) if ends.kind == "battery"}
    banks = [(bank.name, ends) for bank in storage.banks if (ends := first.get(bank.name))]
    if banks:
        text = f"Battery current flows both ways ({listed([name for name, _ in banks])}): a polarised breaker burns instead of opening, so the plan takes fuses."
        remedy = "A breaker instead must be rated for this DC voltage and marked as not polarised."
        yield note("no-polarised-device", f"{banks[0][1].key}.device", text, remedy, "T4; common practice, no source")
    alike: dict[Families, list[tuple[str, Ends]]] = {}
    for name, ends in banks:
        found = families(facts, storage.of(name))
        if found:
            alike.setdefault(found, []).append((name, ends))
    for found, some in alike.items():
        yield _judged(found, [name for name, _ in some], f"{some[0][1].key}.device.breaking")


def _judged(found: Families, names: Sequence[str], about: str) -> Finding:
    banks, source = listed(names), table("dc_fuse_families").told
    if found.sure:
        text = f"{banks}: {', '.join(found.sure)} fuses break {found.need}; the plan takes {found.sure[0]}."
        return note(
            "fuse-family", about, text, "Read voltage and breaking capacity in direct current on the fuse before fitting it.", source
        )
    if found.some:
        text = f"{banks}: no fuse family breaks {found.need} for certain; some makes of {', '.join(found.some)} do. The plan takes {found.some[0]}."
        remedy = "Have the maker confirm breaking capacity at that DC voltage and time constant in writing before ordering."
        return caution("fuse-family-to-confirm", about, text, remedy, source, where=names)
    text = f"{banks}: no usual fuse family breaks {found.need}, not even at the upper end of what its makers state."
    remedy = "Divide the bank, or measure the modules' resistance and answer it (a stated one is halved): the fault must come down to what a fuse breaks."
    return stop("no-usual-fuse-family", about, text, remedy, source)


def of_island(facts: Facts, circuits: Circuits, currents: Currents) -> Iterator[Finding]:
    """A load device that does not trip in island operation, and the residual-current device that follows."""
    loads = circuits.of("load", common=False)
    if not loads:
        return
    where = "after the common bar, none per unit" if len(loads) > 1 else "in its load circuit"
    cure = f"Fit a residual-current device {where} (it is on the bill), and have the maker confirm in writing how fast the units shut down by themselves."
    if facts.missing("unit.fault_current"):
        told = "breakers" if facts.rules == "nec" else "curve B, which trips on the least,"
        text = f"What a unit gives into a short circuit is not answered: that a breaker disconnects in island operation is unproven. The plan takes {told} and counts on none of them."
        yield caution(
            "unit-fault-current-unanswered",
            "unit.fault_current",
            text,
            f"{cure} The figure is in the unit's datasheet; never take it from a loop tester.",
            "T6",
            unanswered=True,
        )
    else:
        yield from _island_too_small(facts, circuits, currents, cure)


def _island_too_small(facts: Facts, circuits: Circuits, currents: Currents, cure: str) -> Iterator[Finding]:
    for alike in _island_alike(facts, circuits, currents).values():
        ends, rating, fault = alike[0]
        taken = curve(rating, fault)
        needs = sure_trip(rating, trip_multiple(taken).value)
        about, phases = f"{ends.key}.device.rating", [str(e.phase) for e, _, _ in alike]
        where = ", ".join(phases)
        if fault < needs:
            text = f"In island operation the units of {where} give {shown(fault, 'A')} per phase into a short circuit; the {rated(rating)} breakers there trip at once only from {shown(needs, 'A')} (curve {taken}). What hangs behind them does not surely trip either."
            yield caution("island-fault-too-small", about, text, cure, "T6; IEC 60898-1", value=fault, limit=needs, unit="A", where=phases)
        elif taken == CURVES[-1]:
            text = f"On {where} only curve B trips at once on the {shown(fault, 'A')} that the units give (from {shown(needs, 'A')}); curve C would not."
            yield note(
                "curve-b-needed",
                about,
                text,
                "Do not replace it by curve C, and check that the largest motor's start does not trip it.",
                "T6; IEC 60898-1",
                value=fault,
                limit=sure_trip(rating, trip_multiple(CURVES[0]).value),
                unit="A",
            )


def _island_alike(facts: Facts, circuits: Circuits, currents: Currents) -> dict[tuple[Ampere, Ampere], list[tuple[Ends, Ampere, Ampere]]]:
    """One load circuit of each phase with its rating and island fault; phases of the same figures together."""
    found: dict[tuple[Ampere, Ampere], list[tuple[Ends, Ampere, Ampere]]] = {}
    first = {ends.phase: ends for ends in reversed(circuits.of("load", common=False))}
    for ends in reversed(first.values()):
        told, fault = currents.of.get(ends.name), available(facts, circuits, ends)
        if told and told.rating and fault is not None:
            found.setdefault((told.rating.value, fault), []).append((ends, told.rating.value, fault))
    return found
