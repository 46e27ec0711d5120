"""What IEC 60364 asks of a conductor."""

from __future__ import annotations

from collections.abc import Iterator

from engine.formulas.ampacity import cooler_factor, derated_ampacity, harmonic_design_current, triplen_neutral
from engine.formulas.protection import operating_current, overload_ampacity
from engine.stages.conductors.task import Candidate, Rule, Task, kelvin, product
from engine.tables.conductors import LIMIT, Reading, iec_ampacity
from engine.tables.correction import iec_ambient, iec_grouping
from engine.tables.protection import operating_multiple
from engine.tables.ratings import FUSE


def readings(task: Task, candidate: Candidate) -> tuple[Reading, Reading, Reading] | None:
    """Table current of one conductor, factor of the air, factor of the company; None where a table is silent.

    Each parallel conductor counts in the grouping.
    """
    base = iec_ampacity(candidate.size, task.metal, task.insulation, task.loaded, task.method)
    air = iec_ambient(task.method, task.insulation, task.ambient.value)
    company = iec_grouping(task.method, task.grouped * candidate.parallel)
    return (base, air, company) if base and air and company else None


def carries(task: Task, candidate: Candidate) -> float | None:
    """Iz of a pole."""
    found = readings(task, candidate)
    return derated_ampacity(*(reading.value for reading in found), parallel=candidate.parallel) if found else None


def terminal(task: Task, candidate: Candidate) -> float | None:
    """What a pole carries without its terminals getting hotter than they stand (T3): the 70 degC column, uncorrected."""
    stands = task.terminals.value
    insulation = "xlpe" if task.insulation == "xlpe" and stands >= LIMIT["xlpe"] else "pvc"
    base = iec_ampacity(candidate.size, task.metal, insulation, task.loaded, task.method)
    if base is None or stands <= kelvin(30):
        return None
    cooler = cooler_factor(stands, LIMIT["pvc"]) if stands < LIMIT["pvc"] else 1.0
    return base.value * candidate.parallel * cooler


def rules(task: Task) -> Iterator[Rule]:
    """Current, device, fuse, terminals and harmonics; drop and withstand are the same in both books."""

    def gives(candidate: Candidate) -> float | None:
        return carries(task, candidate)

    def how(candidate: Candidate) -> str:
        found = readings(task, candidate)
        assert found is not None  # otherwise there is no figure to tell of
        return f"{task.method}, {task.insulation}, {task.loaded} loaded: {product(found, candidate)}"

    design, rating = task.currents.design, task.rating
    table = "IEC 60364-5-52 tables B.52.2 to B.52.17"
    if design:
        yield Rule("current", "Iz >= Ib", design.value, "A", f"IEC 60364-4-43 433.1; {table}", gives, how)
    if rating and task.device:
        yield Rule("device", "Iz >= In", rating, "A", f"IEC 60364-4-43 433.1; {table}", gives, how)
    if rating and task.device == FUSE:
        multiple = operating_multiple(FUSE, rating)
        wanted = overload_ampacity(operating_current(rating, multiple.value))
        yield Rule(
            "fuse", f"Iz >= I2 / 1.45, I2 = {multiple.value:g} In", wanted, "A", f"IEC 60364-4-43 433.1; {multiple.source}", gives, how
        )
    wanted = rating if rating and task.device else design.value if design else 0.0
    if wanted:
        says = f"{'In' if rating and task.device else 'Ib'} in the column that the terminals allow, no factors"
        yield Rule("termination", says, wanted, "A", "IEC 60364-5-52 523.1 note; T3", lambda c: terminal(task, c))
    if design and task.harmonic and (task.harmonic.factor < 1 or task.harmonic.selects == "neutral"):
        harmonic = task.harmonic
        neutral = triplen_neutral(design.value, harmonic.share.value)
        wanted = harmonic_design_current(design.value, neutral, harmonic.factor, harmonic.selects)
        says = f"Iz >= {'3 h3 Ib' if harmonic.selects == 'neutral' else 'Ib'} / {harmonic.factor:g}, h3 = {harmonic.share}"
        yield Rule("neutral", says, wanted, "A", harmonic.source, gives, how)
