"""Circuits for which no conductor will do, and what the criteria found on the way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from engine.facts import Facts, Instead
from engine.findings import Finding, caution, note, stop
from engine.quantities import shown
from engine.site.wall import Carries
from engine.stages.conductors import nec
from engine.stages.conductors.choose import Taken
from engine.stages.conductors.part import drop_limit
from engine.stages.conductors.task import Harmonic, Task
from engine.tables.correction import iec_ambient, iec_bunched_most, iec_grouping, iec_hottest, nec_ambient, nec_hottest
from engine.text import listed

_T11 = "T11; IEC 60364-4-43 433.4"


def of_choices(settled: Sequence[Taken]) -> Iterator[Finding]:
    """Circuits for which no conductor will do, and what the criteria found on the way. Like circuits raise one finding."""
    hot = [s.choice.task for s in settled if s.place is None and _air(s.choice.task) is None]
    for insulation in dict.fromkeys(task.insulation for task in hot):
        tasks = [task for task in hot if task.insulation == insulation]
        cure = "Use xlpe insulation there, or cool the room." if insulation == "pvc" else "Cool the room."
        task = tasks[0]
        most = iec_hottest(task.method, insulation) if task.rules == "iec" else nec_hottest(nec.column(task))
        text = f"{tasks[0].ambient} is more than {insulation} insulation stands: {_named(tasks)} may carry nothing."
        source = "IEC 60364-5-52 table B.52.14; NFPA 70 (NEC) 310.15(B)"
        yield stop("ambient-above-insulation", "site.ambient_max", text, cure, source, value=task.ambient, limit=most)
    for alike in _alike(settled):
        task, place = alike[0].choice.task, alike[0].place
        if place is not None:
            yield from _told(alike, place)
        elif alike[0].choice.place is None and task.currents.design and task not in hot:
            yield _none_will_do(alike)
    yield from _in_parallel([s for s in settled if s.place is not None and s.choice.among[s.place].parallel > 1])


def of_methods(facts: Facts, methods: Mapping[Carries, Instead]) -> Iterator[Finding]:
    """S31: laid as assumed there would be no conductor, laid otherwise there is."""
    for kind, one in methods.items():
        old = facts.of_kinds[kind, "method"]
        yield caution(
            "method-assumed",
            old.key,
            f"Nobody answered how the {kind} cables are laid. As method {old.value} none would do, so they are planned as method {one.value}: {one.means}. CONFIRM.",
            "Lay them so and answer how they are laid; laid in another way they are too thin, and burn.",
            "S31, S5",
        )


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
            "Lay the doubled conductors apart from the rest, or count every conductor of theirs where you answer how many circuits lie together.",
            "S6; S12",
            where=[task.name for tasks in alike.values() for task in tasks],
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
        current = task.currents.design.value if task.currents.design else None
        groups.setdefault((one.ends.kind, one.ends.common, one.choice.place, one.place, task.rating, current, way), []).append(one)
    return groups.values()


def _named(tasks: Sequence[Task], most: int = 3) -> str:
    return listed([task.name for task in tasks], most)


def _none_will_do(alike: Sequence[Taken]) -> Finding:
    choice = alike[0].choice
    task, about, names = choice.task, f"{choice.task.key}.conductor", _named([s.choice.task for s in alike])
    if task.rules == "iec" and iec_grouping(task.method, task.grouped) is None:
        text = f"{names}: {task.grouped} circuits lie together, and the table of grouping factors ends before that."
        return stop(
            "grouping-beyond-table",
            about,
            text,
            "Spread the circuits over several trunkings or trays.",
            "IEC 60364-5-52 table B.52.17",
            value=float(task.grouped),
            limit=iec_bunched_most(),
            unit="1",
        )
    largest, worst = choice.among[-1], choice.worst
    assert worst is not None  # what none passes, the largest fails
    need = f"{'at most' if worst.at_most else 'at least'} {shown(worst.wanted, worst.unit)}"
    length = task.dropping.length if task.dropping else None
    cure = {
        "drop": f"Shorten it{f' from {length}' if length else ''}, or allow more drop under {drop_limit(alike[0].ends)}.",
        "withstand": "Fit a device that lets less through, or one that limits the current.",
    }
    remedy = cure.get(worst.name, "Divide the circuit, give it a cooler or freer way (method, grouping), or use xlpe insulation.")
    return stop(
        "no-conductor-will-do",
        about,
        f"{names}: even {largest} of {task.metal} fails {worst.name}: {worst.told(largest)} where {need} is wanted.",
        remedy,
        worst.source,
        value=worst.gives(largest),
        limit=worst.wanted,
        unit=worst.unit,
    )


def _told(alike: Sequence[Taken], place: int) -> Iterator[Finding]:
    """Criteria that do not decide and fail, and those that could not be checked."""
    choice = alike[0].choice
    task, chosen = choice.task, choice.among[place]
    where = [s.choice.task.name for s in alike]
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
                value=rule.gives(chosen),
                limit=rule.wanted,
                unit=rule.unit,
                where=where,
            )
        else:
            text = f"{names}: a fault at the far end draws {rule.told(chosen)}; the {task.currents.rating} fuse surely opens within 5 s only from {shown(rule.wanted, 'A')}."
            remedy = "Take a fuse whose curve opens at that current (ask its maker), a smaller one, or modules of lower resistance."
            yield stop(
                "fault-does-not-clear",
                f"{key}.fault_clearing",
                text,
                remedy,
                rule.source,
                value=rule.gives(chosen),
                limit=rule.wanted,
                unit=rule.unit,
            )
    if task.dropping is None or not (task.dropping.length or task.dropping.measured):
        text = f"{names}: length or voltage is not known, so the voltage drop is not checked and the conductor may be too small."
        yield caution(
            "drop-not-checked",
            f"{key}.conductor",
            text,
            "Give the places on the wall, or a measured length, and the voltages.",
            "S1",
            where=where,
        )
    if choice.governed_by == "neutral" and place == choice.place:
        yield from _harmonics(key, where, task.harmonic)


def _harmonics(key: str, names: Sequence[str], harmonic: Harmonic | None) -> Iterator[Finding]:
    if harmonic and harmonic.selects == "neutral":
        text = (
            f"{listed(names)}: {harmonic.share} third harmonic adds up in the neutral, which carries more than a line and decides the size."
        )
        yield caution(
            "neutral-decides",
            f"{key}.neutral",
            text,
            "Neutral as large as the lines or larger, never reduced; measure it once under load.",
            f"T10; {harmonic.source}",
            where=names,
        )
