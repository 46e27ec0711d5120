"""What NFPA 70 asks of a conductor."""

from __future__ import annotations

from collections.abc import Iterator

from engine.formulas.ampacity import derated_ampacity, triplen_neutral
from engine.stages.conductors.task import Candidate, Rule, Task, kelvin, product
from engine.tables.conductors import Reading, nec_ampacity
from engine.tables.correction import nec_adjustment, nec_ambient, nec_termination
from engine.tables.protection import nec_largest_device

_COLUMN = {"pvc": 75, "xlpe": 90}  # S5
_FREE_AIR = ("E", "F")  # S5
_COOL_UP_TO = 100.0  # A: 110.14(C)(1)(a)
_NEUTRAL_COUNTS_FROM = 0.15  # third harmonic at which the neutral counts as current-carrying, 310.15(E); taken from IEC annex E


def column(task: Task) -> int:
    """Temperature rating of the wire, degC."""
    return _COLUMN[task.insulation]


def terminal_column(task: Task) -> int:
    """Column that the terminals allow: what they are marked for, at most 75 degC; unmarked, what is assumed up to 100 A, 75 degC above.

    The device's own terminals are marked 75 degC at most, so a unit marked higher gains nothing. The current decides, not the
    device: a fuse made larger for a surge heats its terminals no less.
    """
    stands = 75 if task.terminals.value >= kelvin(75) - 0.01 else 60
    if task.marked:
        return stands
    return nec_termination(task.currents.continuous.value if task.currents.continuous else 0.0, stands)


def _terminal(task: Task, candidate: Candidate) -> float | None:
    """What a pole carries by its terminals' column; a circuit above 100 A never gets less than one of 100 A would."""
    ends = terminal_column(task)
    found = _bare(task, candidate, ends, free_air=False)
    cool = _bare(task, candidate, 60, free_air=False)
    if found is None or cool is None or ends == 60 or task.marked or cool >= _COOL_UP_TO:
        return found
    return min(found, _COOL_UP_TO)


def counted(task: Task, candidate: Candidate) -> int:
    """Current-carrying conductors together; the neutral counts where it is full of harmonics."""
    neutral = 1 if task.harmonic and task.harmonic.share.value > _NEUTRAL_COUNTS_FROM else 0
    return (task.counted + neutral) * task.grouped * candidate.parallel


def readings(task: Task, candidate: Candidate) -> tuple[Reading, Reading, Reading] | None:
    """Table current of one conductor, factor of the air, factor of the company; None where a table is silent."""
    base = nec_ampacity(candidate.size, task.metal, column(task), free_air=task.method in _FREE_AIR)
    air = nec_ambient(column(task), task.ambient.value)
    company = nec_adjustment(counted(task, candidate))
    return (base, air, company) if base and air else None


def carries(task: Task, candidate: Candidate) -> float | None:
    """Corrected and adjusted ampacity of a pole."""
    found = readings(task, candidate)
    return derated_ampacity(*(reading.value for reading in found), parallel=candidate.parallel) if found else None


def _bare(task: Task, candidate: Candidate, degrees: int, *, free_air: bool) -> float | None:
    base = nec_ampacity(candidate.size, task.metal, degrees, free_air=free_air)
    return base.value * candidate.parallel if base else None


def _largest_device(task: Task, candidate: Candidate) -> float | None:
    found = carries(task, candidate)
    return nec_largest_device(found, candidate.size, task.metal) if found is not None else None


def rules(task: Task) -> Iterator[Rule]:
    """Current, terminals, correction, device and neutral; drop and withstand are the same in both books."""
    own, ends = column(task), terminal_column(task)
    free = task.method in _FREE_AIR
    place = "310.17" if free else "310.16"

    def how(candidate: Candidate) -> str:
        found = readings(task, candidate)
        assert found is not None  # otherwise there is no figure to tell of
        return f"{place}, {own} degC, {counted(task, candidate)} counted: {product(found, candidate)}"

    design, continuous, carried = task.currents.design, task.currents.continuous, task.currents.carried
    if continuous:
        says = f"{own} degC wire carries the current with its 125 % where due, no factors"
        source = f"NFPA 70 (NEC) 210.19(A), 215.2(A)(1), table {place}"
        yield Rule("current", says, continuous.value, "A", source, lambda c: _bare(task, c, own, free_air=free))
        says = f"the same in the {ends} degC column that the terminals allow"
        yield Rule("termination", says, continuous.value, "A", "NFPA 70 (NEC) 110.14(C), table 310.16", lambda c: _terminal(task, c))
    if carried:
        says = "corrected and adjusted ampacity carries the current, no 125 %"
        source = f"NFPA 70 (NEC) 215.2(A)(1), 310.15(B) and (C), table {place}"
        yield Rule("correction", says, carried.value, "A", source, lambda c: carries(task, c), how)
    if task.rating and task.device:
        says = "the largest device this ampacity may have is at least In"
        yield Rule(
            "device", says, task.rating, "A", "NFPA 70 (NEC) 240.4(B), (C) and (D), 240.6(A)", lambda c: _largest_device(task, c), how
        )
    if design and task.harmonic:
        neutral = triplen_neutral(design.value, task.harmonic.share.value)
        if neutral > design.value:
            says = f"the neutral carries 3 h3 Ib, h3 = {task.harmonic.share}"
            yield Rule("neutral", says, neutral, "A", "T10; NFPA 70 (NEC) 310.15(E), 220.61", lambda c: carries(task, c), how)
