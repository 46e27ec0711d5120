"""What the sizes say that a person must read: no conductor, terminals too small, devices that do not exist or do not open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from engine.facts import Facts
from engine.findings import Finding, caution, note, stop
from engine.formulas.protection import sure_trip
from engine.quantities import Ampere, shown
from engine.site.keys import QuantityKey, RouteWord
from engine.stages.circuits import Circuits, Ends
from engine.stages.conductors import nec
from engine.stages.conductors.build import with_fuse
from engine.stages.conductors.cables import Made
from engine.stages.conductors.choose import Taken, asked_of, choose
from engine.stages.conductors.earths import Live
from engine.stages.conductors.fuses import Families, families
from engine.stages.conductors.grounds import FaultPath, Pole
from engine.stages.conductors.island import CURVES, available, curve
from engine.stages.conductors.part import Sizing
from engine.stages.conductors.task import Harmonic, Task
from engine.stages.currents.part import Currents
from engine.stages.storage.part import Storage
from engine.stages.wall.part import Wall
from engine.tables import table
from engine.tables.conductors import ALUMINIUM, COPPER, smallest_of
from engine.tables.correction import iec_ambient, iec_grouping, nec_ambient
from engine.tables.protection import breaking_capacity, fuse_gate, fuse_let_through, last_gate, trip_multiple
from engine.tables.ratings import BREAKER, FUSE, next_rating_up, rated
from engine.tables.sizes import Size, named
from engine.text import listed
from engine.workings import Figure, chosen

_LOADED = 0.9  # of its rating, for an hour or more (S32)
_T11 = "T11; IEC 60364-4-43 433.4"


def of_choices(settled: Sequence[Taken]) -> Iterator[Finding]:
    """Circuits for which no conductor will do, and what the criteria found on the way. Like circuits raise one finding."""
    hot = [s.choice.task for s in settled if s.place is None and _air(s.choice.task) is None]
    for insulation in dict.fromkeys(task.insulation for task in hot):
        tasks = [task for task in hot if task.insulation == insulation]
        cure = "Use xlpe insulation there, or cool the room." if insulation == "pvc" else "Cool the room."
        text = f"{tasks[0].ambient} is more than {insulation} insulation stands: {_named(tasks)} may carry nothing."
        yield stop("ambient-above-insulation", "site.ambient_max", text, cure, "IEC 60364-5-52 table B.52.14; NFPA 70 (NEC) 310.15(B)")
    for alike in _alike(settled):
        task, place = alike[0].choice.task, alike[0].place
        if place is not None:
            yield from _told(alike, place)
        elif alike[0].choice.place is None and task.currents.design and task not in hot:
            yield _none_will_do(alike)
    yield from _in_parallel([s for s in settled if s.place is not None and s.choice.among[s.place].parallel > 1])


def _in_parallel(settled: Sequence[Taken]) -> Iterator[Finding]:
    """Conductors laid in parallel, all circuits in one finding."""
    alike: dict[str, list[Task]] = {}
    for one in settled:
        assert one.place is not None
        taken = one.choice.among[one.place]
        alike.setdefault(f"{taken.parallel} conductors of {taken.size}", []).append(one.choice.task)
    if alike:
        text = f"In parallel per pole: {'; '.join(f'{what} ({_named(tasks, most=6)})' for what, tasks in alike.items())}."
        about = f"{next(iter(alike.values()))[0].key}.parallel"
        remedy = "Same material, size, length, way and lugs for each; both ends together on one bar."
        yield note("conductors-in-parallel", about, text, remedy, _T11)
        # Each circuit counts its own conductors in its group, not those its neighbours double: the unsafe side, so it is told.
        yield caution(
            "grouping-with-doubled",
            about,
            "Circuits that lie beside doubled conductors are reckoned as if those were single: they may run hotter than planned.",
            "Lay the doubled conductors apart from the rest, or answer grouped under routes with every conductor of theirs counted.",
            "S6; S12",
        )


def _air(task: Task) -> object:
    """Factor of the air, None where the insulation does not stand it."""
    if task.rules == "iec":
        return iec_ambient(task.method, task.insulation, task.ambient.value)
    return nec_ambient(nec.column(task), task.ambient.value)


def _alike(settled: Sequence[Taken]) -> Iterable[list[Taken]]:
    """Circuits of one kind, current, device and length together."""
    groups: dict[tuple[object, ...], list[Taken]] = {}
    for one in settled:
        task, dropping = one.choice.task, one.choice.task.dropping
        way = (dropping.length and dropping.length.value, dropping.measured and dropping.measured.value) if dropping else None
        kind = task.name.split(" ")[0] + (" common" if task.name.endswith("common") else "")
        current = task.currents.design.value if task.currents.design else None
        groups.setdefault((kind, one.choice.place, one.place, task.rating, current, way), []).append(one)
    return groups.values()


def _named(tasks: Sequence[Task], most: int = 3) -> str:
    return listed([task.name for task in tasks], most)


def _none_will_do(alike: Sequence[Taken]) -> Finding:
    choice = alike[0].choice
    task, about, names = choice.task, f"{choice.task.key}.conductor", _named([s.choice.task for s in alike])
    if task.rules == "iec" and iec_grouping(task.method, task.grouped) is None:
        text = f"{names}: {task.grouped} circuits lie together, and the table of grouping factors ends before that."
        return stop(
            "grouping-beyond-table", about, text, "Spread the circuits over several trunkings or trays.", "IEC 60364-5-52 table B.52.17"
        )
    largest, worst = choice.among[-1], choice.worst
    need = f"{'at most' if worst.at_most else 'at least'} {shown(worst.wanted, worst.unit)}" if worst else ""
    fails = f"{worst.name}: {worst.told(largest)} where {need} is wanted" if worst else "one criterion or another"
    length = task.dropping.length if task.dropping else None
    cure = {
        "drop": f"Shorten it{f' from {length}' if length else ''}, or allow more drop under drop.{task.name.split(' ')[0]}.",
        "withstand": "Fit a device that lets less through, or one that limits the current.",
    }
    remedy = cure.get(
        worst.name if worst else "", "Divide the circuit, give it a cooler or freer way (method, grouping), or use xlpe insulation."
    )
    return stop(
        "no-conductor-will-do", about, f"{names}: even {largest} of {task.metal} fails {fails}.", remedy, worst.source if worst else "S12"
    )


def _told(alike: Sequence[Taken], place: int) -> Iterator[Finding]:
    """Criteria that do not decide and fail, and those that could not be checked."""
    choice = alike[0].choice
    task, chosen = choice.task, choice.among[place]
    key, names = task.key, _named([s.choice.task for s in alike])
    for rule in choice.rules:
        if rule.decides or rule.passes(chosen):
            continue
        if rule.name == "drop":
            why = (
                "a measured resistance does not change with the size"
                if task.dropping and task.dropping.measured
                else "these rules recommend and do not require"
            )
            text = f"{names}: the voltage drop is {rule.told(chosen)}, above the limit {shown(rule.wanted, 'ratio')} ({why})."
            yield caution(
                "drop-above-limit",
                f"{key}.drop",
                text,
                "Take the next larger conductor, shorten the way, or raise the limit on purpose.",
                rule.source,
            )
        else:
            text = f"{names}: a fault at the far end draws {rule.told(chosen)}; the {task.currents.rating} fuse surely opens within 5 s only from {shown(rule.wanted, 'A')}."
            remedy = "Take a fuse whose curve opens at that current (ask its maker), a smaller one, or modules of lower resistance."
            yield stop("fault-does-not-clear", f"{key}.fault_clearing", text, remedy, rule.source)
    if task.dropping is None or not (task.dropping.length or task.dropping.measured):
        text = f"{names}: length or voltage is not known, so the voltage drop is not checked and the conductor may be too small."
        yield caution(
            "drop-not-checked", f"{key}.conductor", text, "Give the places on the wall, or a measured length, and the voltages.", "S1"
        )
    if choice.governed_by == "neutral" and place == choice.place:
        yield from _harmonics(key, names, task.harmonic)


def _harmonics(key: str, names: str, harmonic: Harmonic | None) -> Iterator[Finding]:
    if harmonic and harmonic.selects == "neutral":
        text = f"{names}: {harmonic.share} third harmonic adds up in the neutral, which carries more than a line and decides the size."
        yield caution(
            "neutral-decides",
            f"{key}.neutral",
            text,
            "Neutral as large as the lines or larger, never reduced; measure it once under load.",
            f"T10; {harmonic.source}",
        )


def of_sizes(
    facts: Facts, wall: Wall, circuits: Circuits, currents: Currents, sizings: Mapping[str, Sizing], crowded: frozenset[str]
) -> Iterator[Finding]:
    """Terminals, protective conductors, breaking capacities, and how sure the tables are; `crowded` as `too_large` gives it."""
    yield from _terminals(facts, wall, circuits, sizings, crowded)
    yield from _grounds(circuits, sizings)
    yield from _breaking(facts, circuits, currents)
    yield from _aluminium(circuits, sizings)
    if sizings and facts.rules == "iec":
        text = "The current-carrying capacities and fuse gates were not all seen in a copy of their standards: the tables say which are from memory."
        yield note(
            "tables-from-memory",
            "site.rules",
            text,
            "Hold the sizes against your own copy of the standard before ordering.",
            table("iec_copper_pvc_2").told,
        )


def _grounds(circuits: Circuits, sizings: Mapping[str, Sizing]) -> Iterator[Finding]:
    """A circuit that has conductors but no protective conductor of one size that would do."""
    for ends in circuits.circuits:
        sizing = sizings.get(ends.name)
        if sizing and not sizing.earth and (ends.kind == "earth" or (ends.kind in ("load", "incoming") and sizing.conductor)):
            text = f"{ends.name}: no single protective conductor is large enough, or the device is above the end of its table."
            yield caution(
                "earth-not-sized",
                f"{ends.key}.earth",
                text,
                "Run one protective conductor beside each set of line conductors, and have it sized.",
                "T5, S8",
            )


def _aluminium(circuits: Circuits, sizings: Mapping[str, Sizing]) -> Iterator[Finding]:
    """Joints of aluminium are made otherwise than those of copper, and no lead of it bends (S14, S35)."""
    some = [e for e in circuits.circuits if (s := sizings.get(e.name)) and s.conductor and s.cable and s.cable.metal == ALUMINIUM]
    if some:
        yield caution(
            "aluminium-joints",
            f"{some[0].key}.conductor",
            f"In aluminium: {listed([ends.name for ends in some])}. Its skin does not conduct and it creeps under a screw: a joint made as for copper gets hot.",
            "Lugs and terminals marked AL/CU for its size, brushed under joint compound, torqued with a tool to their maker's figure, and again after the first weeks. Ask the unit's maker whether its terminals take aluminium.",
            "NFPA 70 (NEC) 110.14; common practice, no source",
        )
    if leads := [ends for ends in some if ends.kind == "battery"]:
        yield caution(
            "aluminium-battery-leads",
            f"{leads[0].key}.conductor",
            f"Battery leads in aluminium: {listed([ends.name for ends in leads])}. No flexible cable is made of it; a stiff one works on the unit's stud until it is loose.",
            "Take copper, class 5 or finer, at least between the bar and each unit.",
            "S14, S35; common practice, no source",
        )


def _at_unit(circuits: Circuits, sizings: Mapping[str, Sizing]) -> Iterator[tuple[Ends, Sizing, Size, QuantityKey]]:
    """Every circuit whose conductors end in a terminal of a unit, with its size and the key of the largest that goes in."""
    for ends in circuits.circuits:
        sizing = sizings.get(ends.name)
        if ends.tag and sizing and sizing.conductor and ends.kind in ("battery", "load", "incoming"):
            yield ends, sizing, sizing.conductor, "unit.dc_terminal_max" if ends.kind == "battery" else "unit.ac_terminal_max"


def too_large(facts: Facts, circuits: Circuits, sizings: Mapping[str, Sizing]) -> frozenset[str]:
    """The circuits whose conductors, one or several, the terminal of their unit does not take (S12)."""
    return frozenset(
        ends.name
        for ends, sizing, size, limit in _at_unit(circuits, sizings)
        if (most := facts.value(limit)) is not None and (size.area > most * (1 + 1e-3) or sizing.parallel > 1)
    )


def _terminals(facts: Facts, wall: Wall, circuits: Circuits, sizings: Mapping[str, Sizing], crowded: frozenset[str]) -> Iterator[Finding]:
    """A conductor that its terminal or stud does not take: the size stands (S12)."""
    seen = set()
    for ends, sizing, size, limit in _at_unit(circuits, sizings):
        most, mark = facts.value(limit), (ends.kind, size, sizing.parallel)
        if mark in seen:
            continue
        seen.add(mark)
        if most is None:
            yield caution(
                "terminal-unanswered",
                limit,
                f"The largest conductor of the unit's {'battery' if ends.kind == 'battery' else 'AC'} terminals is not answered: whether they take {size} is not checked.",
                "It stands beside the terminal in the manual.",
                "T3, S12",
                unanswered=True,
            )
        elif ends.name in crowded:
            yield _too_small(facts, ends, sizing, most, _first_answer(facts, wall, ends))
        if ends.kind == "battery":
            yield from _lug(facts, ends, sizing)


def _first_answer(facts: Facts, wall: Wall, ends: Ends) -> str:
    """What to answer before anything else: how the cables run, where that was taken and may ask for more than it must."""
    own = [route for route in facts.answers.routes if route.carries == ends.kind and route.to == ends.to]
    asked: tuple[RouteWord, ...] = ("method", "insulation")
    guessed: list[tuple[str, str]] = [
        (name, str(facts.route(ends.kind, ends.to, name)))
        for name in asked
        if (ends.kind, name) in facts.of_kinds and all(getattr(route, name) is None for route in own)
    ]
    run = wall.runs.get(ends.name)
    if run and run.grouped > 1 and facts.grouped(ends.kind, ends.to) is None:
        guessed.append(("grouped", f"{run.grouped} together"))
    if not guessed:
        return ""
    names, words = (", ".join(some) for some in zip(*guessed, strict=True))
    return f"First answer how the {ends.kind} cables run (routes: {names}): {words}, as assumed, may ask for more than they need. Then, if it still does not fit: "


def _too_small(facts: Facts, ends: Ends, sizing: Sizing, most: float, first: str) -> Finding:
    assert sizing.conductor is not None
    many = f"{sizing.parallel} x " if sizing.parallel > 1 else ""
    half = smallest_of(sizing.conductor.area / 2, facts.rules, facts.route(ends.kind, ends.to, "metal") or COPPER)
    two = (
        f"two conductors of {half} or more each, sized again with both in the group, or "
        if half and half.area <= most * 1.001 and sizing.parallel == 1
        else ""
    )
    text = f"{ends.name} needs {many}{sizing.conductor}; the unit's terminal takes at most {named(most, facts.rules)}. The plan does not take a thinner one for that."
    remedy = f"{first}{'use' if first else 'Use'} {two}an adaptor or a short bar that takes {many}{sizing.conductor} and fits the terminal."
    return caution("terminal-too-small", f"{ends.key}.conductor", text, remedy, "S12")


def _lug(facts: Facts, ends: Ends, sizing: Sizing) -> Iterator[Finding]:
    """A lug of that size that is not made for the unit's stud."""
    stud, size = facts.answers.unit.dc_stud, sizing.conductor
    for row in table("lugs").rows:
        least, most = row["from"], row["to"]
        if (
            stud
            and stud.startswith("M")
            and size
            and isinstance(least, float)
            and isinstance(most, float)
            and least <= size.area <= most * 1.001
        ):
            if stud not in str(row["studs"]).split():
                text = f"{ends.name}: a lug for {size} with a hole for {stud} is often not made (usual: {row['studs']})."
                yield caution(
                    "lug-not-made",
                    f"{ends.key}.conductor",
                    text,
                    "Plan a short bar between, and never drill a lug out.",
                    table("lugs").told,
                )


def _breaking(facts: Facts, circuits: Circuits, currents: Currents) -> Iterator[Finding]:
    """A fault above every device there is (S10)."""
    seen = set()
    for ends in circuits.circuits:
        told = currents.of.get(ends.name)
        kind = FUSE if ends.kind == "battery" else BREAKER
        if told and told.breaking and breaking_capacity(told.breaking.value, facts.rules, kind) is None and (kind, ends.bank) not in seen:
            seen.add((kind, ends.bank))
            text = f"{ends.name}: the fault of {told.breaking} is above every device there is (200 kA)."
            remedy = "Divide the bank, fuse each string of modules, or have the maker state the real short-circuit current; in AC ask the utility."
            yield stop("fault-above-every-device", told.breaking.key, text, remedy, "T4, S10")


def of_unproven(taken: Sequence[Taken], sizings: Mapping[str, Sizing], unproven: Mapping[str, Live]) -> Iterator[Finding]:
    """Conductors behind a fuse whose let-through nobody knows, each by its name and size: none of them is silently too thin (S4)."""
    behind: dict[Ampere, list[str]] = {}
    for task in (one.choice.task for one in taken if one.chosen and one.ends.kind == "battery"):
        if task.rating and fuse_let_through(task.rating) is None:
            behind.setdefault(task.rating, []).append(task.name)
    for name, line in unproven.items():
        behind.setdefault(line.rating or 0.0, []).append(name)
    for rating, names in behind.items():
        told = ", ".join(f"{name} ({_size(sizings[name])})" for name in names)
        yield caution(
            "withstand-not-checked",
            f"plan.circuits[{names[0]}].conductor",
            f"The table of let-through ends below a {rated(rating)} fuse. Not proven behind it: that these stand a fault, and that it opens in time: {told}.",
            "Take the fuse's total I2t and its curve from its maker: hold k2 S2 of each against the one, its clearing fault against the other.",
            "S4, S8; IEC 60269-1",
        )


def _size(sizing: Sizing) -> str:
    many = f"{sizing.parallel} x " if sizing.parallel > 1 else ""
    return f"{many}{sizing.conductor or 'no size'}"


def of_cables(circuits: Circuits, made: Mapping[str, Made]) -> Iterator[Finding]:
    """Circuits whose voltage is not known, or above every cable there is."""
    names = [ends.name for ends in circuits.circuits if ends.name in made and not made[ends.name].proven]
    if names:
        first = made[names[0]]
        yield caution(
            "cable-voltage-unproven",
            first.voltage_class.key,
            f"The highest voltage of {listed(names)} is not known, or above every cable there is: that {first.cable.voltage_class} insulation will do is not proven.",
            "Answer the voltages that the other findings ask for; above 1000 V have the cable's maker name its class for direct current.",
            "S35",
        )


def of_poles(facts: Facts, poles: Sequence[Pole], paths: Sequence[FaultPath]) -> Iterator[Finding]:
    """What an earthed battery pole means, and whether every earth fault is opened by its fuse (S30)."""
    live = {"minus": "plus", "plus": "minus"}.get(facts.earthed_pole or "", "")
    if poles:
        banks = listed([str(pole.bond.bank) for pole in poles])
        places = listed([pole.bond.start for pole in poles])
        yield caution(
            "battery-pole-earthed",
            "storage.earthed",
            f"The {facts.earthed_pole} of {banks} is earthed: a first fault from {live} to any case is a short circuit. Only the fuses in {live} open it; between the cells and the bank's own fuse nothing does. The residual-current devices of the AC side do not see it.",
            f"Have the unit's maker confirm that it may work with its {facts.earthed_pole} earthed. One bond only, at {places}; the {live} lead up to its fuse as short as can be, and clear of metal.",
            "S30; NFPA 70 (NEC) 250.162 to 250.168, 240.22; IEC 60364-1 312 and IEC 60364-4-41 411.4 (from memory)",
        )
    unknown = [path for path in paths if path.current is None]
    if unknown:
        names = listed([*dict.fromkeys(path.ends.name for path in unknown)])
        yield caution(
            "earth-fault-not-checked",
            f"{unknown[0].ends.key}.conductor",
            f"{names}: a length, a size or the bank's resistance is not known, so it is not checked that an earth fault opens the fuse.",
            "Give the places on the wall, or measured lengths, and the modules' resistance.",
            "S30, T4",
            unanswered=True,
        )
    yield from _uncleared(paths, live)


def _uncleared(paths: Sequence[FaultPath], live: str) -> Iterator[Finding]:
    """Earth faults too weak for their fuse; those of one rating come as one, told by the weakest."""
    weak: dict[Ampere, list[tuple[FaultPath, Figure]]] = {}
    for path in paths:
        rating = path.fuse.rating or 0.0
        gate = fuse_gate(rating, "most_5s") or last_gate("most_5s")
        if path.current and path.current.value < gate.value * (1 - 1e-9):
            weak.setdefault(rating, []).append((path, path.current))
    for rating, some in weak.items():
        gate = fuse_gate(rating, "most_5s") or last_gate("most_5s")
        _, current = min(some, key=lambda pair: pair[1].value)
        names = listed([*dict.fromkeys(path.ends.name for path, _ in some)])
        yield stop(
            "earth-fault-does-not-clear",
            current.key,
            f"{names}: an earth fault of the {live} draws {current}; the {rated(rating)} fuse of {some[0][0].fuse.name} surely opens within 5 s only from {shown(gate.value, 'A')}.",
            "Shorten or thicken the earth conductors and the bond, or take a smaller fuse or modules of lower resistance.",
            f"S30, T4; {gate.source}",
            value=current,
            limit=gate.value,
        )


def of_loading(facts: Facts, taken: Sequence[Taken]) -> Iterator[Finding]:
    """Battery fuses that carry more than nine tenths of their rating for an hour or more; the maker's own factor decides instead (S32)."""
    if facts.have("storage.fuse_factor"):
        return
    alike: dict[tuple[float, float, str], list[Taken]] = {}
    for one in taken:
        told = one.choice.task.currents
        if told.lasting and told.rating and told.lasting.value > _LOADED * told.rating.value * (1 + 1e-9):
            alike.setdefault((told.rating.value, told.lasting.value, _next_fuse(one, told.lasting.value)), []).append(one)
    for (rating, lasting, cure), some in alike.items():
        figure = some[0].choice.task.currents.lasting
        assert figure is not None
        yield caution(
            "fuse-loaded",
            figure.key,
            f"{_named([one.choice.task for one in some])}: the {rated(rating)} fuse carries {figure} for an hour or more ({figure.note}), {100 * lasting / rating:.0f} % of its rating. Above {100 * _LOADED:.0f} % it ages, and in a warm box it may open.",
            f"{cure} Or answer storage.fuse_factor from the fuse's datasheet: it then decides.",
            "S32; common practice, no source",
            value=figure,
            limit=_LOADED * rating,
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
        yield _judged(found, listed([name for name, _ in some]), f"{some[0][1].key}.device.breaking")


def _judged(found: Families, banks: str, about: str) -> Finding:
    source = table("dc_fuse_families").told
    if found.sure:
        text = f"{banks}: {', '.join(found.sure)} fuses break {found.need}; the plan takes {found.sure[0]}."
        return note(
            "fuse-family", about, text, "Read voltage and breaking capacity in direct current on the fuse before fitting it.", source
        )
    if found.some:
        text = f"{banks}: no fuse family breaks {found.need} for certain; some makes of {', '.join(found.some)} do. The plan takes {found.some[0]}."
        remedy = "Have the maker confirm breaking capacity at that DC voltage and time constant in writing before ordering."
        return caution("fuse-family-to-confirm", about, text, remedy, source)
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
        needs = shown(sure_trip(rating, trip_multiple(taken).value), "A")
        about, where = f"{ends.key}.device.rating", ", ".join(str(e.phase) for e, _, _ in alike)
        if fault < sure_trip(rating, trip_multiple(taken).value):
            text = f"In island operation the units of {where} give {shown(fault, 'A')} per phase into a short circuit; the {rated(rating)} breakers there trip at once only from {needs} (curve {taken}). What hangs behind them does not surely trip either."
            yield caution("island-fault-too-small", about, text, cure, "T6; IEC 60898-1")
        elif taken == CURVES[-1]:
            text = (
                f"On {where} only curve B trips at once on the {shown(fault, 'A')} that the units give (from {needs}); curve C would not."
            )
            yield note(
                "curve-b-needed",
                about,
                text,
                "Do not replace it by curve C, and check that the largest motor's start does not trip it.",
                "T6; IEC 60898-1",
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
