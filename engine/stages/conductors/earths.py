"""Protective conductors: those that run with a circuit, and the one to each unit's case (T5, S8)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from engine.formulas.earthing import upsized_ground
from engine.formulas.protection import withstand_area
from engine.quantities import Ampere, AmpereSquaredSecond, SquareMetre, shown
from engine.stages.conductors import electric
from engine.stages.conductors.choose import WORDS, Choice
from engine.stages.conductors.part import Criterion
from engine.stages.conductors.task import Candidate
from engine.tables.conductors import COPPER
from engine.tables.earth import SEPARATE, adiabatic_k, equipment_ground, least_protective, table_54_2
from engine.tables.protection import fuse_let_through
from engine.tables.ratings import rated
from engine.tables.sizes import Size, sizes, smallest_of
from engine.workings import Figure, chosen

_IN_CONDUIT = ("A1", "A2", "B1", "B2")


@dataclass(frozen=True)
class Asked:
    """One thing that asks for a protective conductor: S13's word, the least area, where it stands, in words."""

    name: str
    area: SquareMetre
    text: str


@dataclass(frozen=True)
class Ground:
    """A protective conductor with what decided; `size` None where none is large enough or the table ends."""

    size: Size | None
    governed_by: str | None
    criteria: tuple[Criterion, ...]


@dataclass(frozen=True)
class Live:
    """The live conductors that a protective conductor belongs to: what was taken, what the currents alone needed, the most the device lets through."""

    name: str
    rating: Ampere | None
    taken: Candidate
    needed: Candidate
    energy: AmpereSquaredSecond | None = None


def live(choice: Choice, place: int) -> Live:
    """A circuit's conductors; `needed` leaves out what voltage drop or a like circuit added."""
    own = ("current", "device", "fuse", "termination", "correction", "withstand")
    among = choice.among
    deciding = [rule for rule in choice.rules if rule.decides and rule.name in own]
    needed = next((c for c in among if all(rule.passes(c) for rule in deciding)), among[place])
    return Live(choice.task.name, choice.task.rating, among[place], needed, electric.let_through(choice.task, among[place]))


def with_circuit(rules: str, line: Live) -> Ground:
    """The protective conductor that runs with a circuit."""
    return _settle(rules, [*_beside(rules, line)])


def case(rules: str, ac: Sequence[Live], battery: Live | None, insulation: str, method: str) -> Ground:
    """The conductor to a unit's case: for its AC lines and for its battery fuse, the larger wins (T5)."""
    asked = [a for line in ac for a in _beside(rules, line)]
    if rules == "nec":
        asked += [Asked("fuse", a.area, a.text) for a in (_beside(rules, battery) if battery else ())]
    else:
        asked += [*_for_fuse(battery, insulation), _least(method)]
    return _settle(rules, asked)


def main(rules: str, cases: Sequence[Size], ac: Sequence[Live], method: str) -> Ground:
    """The common earth conductor: for the common AC lines, and no smaller than any unit's."""
    asked = [a for line in ac for a in _beside(rules, line)]
    asked += [Asked("like circuits", size.area, f"no smaller than a unit's earth conductor, {size}. T5.") for size in cases]
    return _settle(rules, [*asked, *([_least(method)] if rules == "iec" else [])])


def figure(rules: str, key: str, ground: Ground) -> Figure | None:
    """The protective conductor as a figure: its note holds a line for each thing that asks for one."""
    size = ground.size
    if size is None or ground.governed_by is None:
        return None
    lines = [
        f"{size} copper, governed by {ground.governed_by}.",
        *(f"asks for {c.asked}: {c.text}" for c in ground.criteria),
        _next_smaller(rules, ground),
    ]
    book = {"iec": "IEC 60364-5-54", "nec": "NFPA 70 (NEC) 250.122"}[rules]
    return chosen(key, size.area, "m**2", "\n".join(lines), book, label=size.label)


def _next_smaller(rules: str, ground: Ground) -> str:
    """What the next smaller size fails."""
    sizes_ = sizes(rules)
    place = sizes_.index(ground.size) if ground.size else 0
    if not place:
        return "It is the smallest size there is."
    return f"The next smaller, {sizes_[place - 1]}, fails {ground.governed_by}."


def _beside(rules: str, line: Live) -> Iterator[Asked]:
    if rules == "iec":
        found = table_54_2(line.taken.total)
        text = f"for the line conductors of {line.name}, {line.taken}: {shown(found.value, 'm**2')}. {found.source}."
        yield Asked("device", found.value, text)
    elif line.rating and (ground := equipment_ground(line.rating, COPPER)):
        size, source = ground
        area = upsized_ground(size.area, line.needed.total, line.taken.total)
        grown = f", grown with its conductors from {line.needed} to {line.taken} (250.122(B))" if area > size.area * 1.001 else ""
        # 250.122(A): never required larger than the circuit's own conductors.
        area = min(area, line.taken.total)
        yield Asked("device", area, f"for the {rated(line.rating)} device of {line.name}: {size}{grown}. {source}.")


def _for_fuse(battery: Live | None, insulation: str) -> Iterator[Asked]:
    """Adiabatic: what the battery fuse lets through into a case."""
    found = fuse_let_through(battery.rating) if battery and battery.rating else None
    if battery and found:
        k = adiabatic_k(SEPARATE, COPPER, insulation)
        # A far fault opens the fuse slowly, and lets the more through: the case earth stands what the line stands.
        energy = max(found.value, battery.energy or 0.0)
        area = withstand_area(energy, k.value)
        told = f"stands {shown(energy, 'A**2*s')} of the {rated(battery.rating or 0.0)} fuse of {battery.name}: {shown(area, 'm**2')}"
        yield Asked("fuse", area, f"{told}. IEC 60364-5-54 543.1.2; {found.source}; {k.source}.")


def _least(method: str) -> Asked:
    found = least_protective(protected=method in _IN_CONDUIT)
    return Asked("smallest size", found.value, f"least by itself: {shown(found.value, 'm**2')}. {found.source}.")


def _settle(rules: str, asked: Sequence[Asked]) -> Ground:
    if not asked:
        return Ground(None, None, ())
    ordered = sorted(asked, key=lambda a: WORDS.index(a.name))
    largest = max(ordered, key=lambda a: a.area)
    size = smallest_of(largest.area, rules)
    # The word is that of the first that asks for this size.
    word = next(a.name for a in ordered if smallest_of(a.area, rules) == size)
    end = f"more than {sizes(rules)[-1]}"
    criteria = tuple(
        Criterion(
            a.name, str(smallest_of(a.area, rules) or end), size is not None and size.area >= a.area * (1 - 1e-9), f"{a.name}: {a.text}"
        )
        for a in ordered
    )
    return Ground(size, word if size else None, criteria)
