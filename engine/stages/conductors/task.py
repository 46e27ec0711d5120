"""What is asked of the conductors of one circuit, and the conductors there are to choose from."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from engine.frozen import dataclass
from engine.quantities import Ampere, AmpereSquaredSecond, Kelvin, SquareMetre, shown
from engine.stages.currents.part import CircuitCurrents
from engine.tables import table
from engine.tables.conductors import Reading, offered
from engine.tables.sizes import Size, read_size
from engine.workings import Figure

MOST_PARALLEL = 4  # S12


@dataclass(frozen=True)
class Candidate:
    """One size, `parallel` of them per pole."""

    size: Size
    parallel: int

    @property
    def total(self) -> SquareMetre:
        """Cross-section of a pole."""
        return self.parallel * self.size.area

    def __str__(self) -> str:
        return f"{self.parallel} x {self.size}" if self.parallel > 1 else self.size.label


@cache
def candidates(rules: str, metal: str) -> tuple[Candidate, ...]:
    """Single conductors first, then two to four of a size, never less in total than the largest before.

    So a harder question never gets a smaller total cross-section.
    """
    found: list[Candidate] = []
    least = read_size(str(table("nec_parallel").rows[0]["size"])).area if rules == "nec" else 0.0
    for parallel in range(1, MOST_PARALLEL + 1):
        reached = found[-1].total if found else 0.0
        found += [
            Candidate(size, parallel)
            for size in offered(rules, metal)
            if parallel * size.area >= reached * (1 - 1e-9) and (parallel == 1 or size.area >= least * (1 - 1e-9))
        ]
    return tuple(found)


@dataclass(frozen=True)
class Dropping:
    """What the voltage drop is reckoned from. `power_factors`: of each phase, none for direct current. `ways` 2: out and back, 1: balanced phases.

    `measured` is a resistance out and back that was measured: it wins over length and size.
    """

    current: Figure
    voltage: Figure
    limit: Figure
    length: Figure | None
    power_factors: tuple[Figure, ...]
    ways: int
    measured: Figure | None


@dataclass(frozen=True)
class Clearing:
    """A battery fault through the whole cable: the bank's low EMF and everything ahead of this circuit."""

    emf: Figure
    source: Figure
    length: Figure | None
    measured: Figure | None


@dataclass(frozen=True)
class Harmonic:
    """Third harmonic of a common circuit: its share, the factor of the table, and which current selects the size."""

    share: Figure
    factor: float
    selects: str
    source: str


@dataclass(frozen=True)
class Way:
    """How a conductor is made and laid; a `flexible` one is of class 5 where there is such a class."""

    rules: str
    metal: str
    insulation: str
    method: str
    flexible: bool = False


@dataclass(frozen=True)
class Task:
    """Everything one circuit's conductors are chosen by.

    `loaded` is 2 or 3, `counted` the current-carrying conductors of one such circuit under the NEC; `terminals` what its
    terminals stand, assumed where they are not marked; `device` is "fuse", "breaker" or None where none protects it;
    `let_through` what the device lets through at a fault beside it; `smallest` the least size that its kind of cable is stocked in.
    """

    key: str
    name: str
    rules: str
    metal: str
    insulation: str
    method: str
    ambient: Figure
    grouped: int
    loaded: int
    counted: int
    flexible: bool
    device: str | None
    currents: CircuitCurrents
    terminals: Figure
    dropping: Dropping | None
    clearing: Clearing | None
    let_through: AmpereSquaredSecond | None
    let_through_how: str
    harmonic: Harmonic | None
    smallest: Size | None = None

    @property
    def way(self) -> Way:
        """How its conductors are made and laid."""
        return Way(self.rules, self.metal, self.insulation, self.method, self.flexible)

    @property
    def marked(self) -> bool:
        """Whether its terminals are marked for a temperature."""
        return self.terminals.how == "answered"

    @property
    def rating(self) -> Ampere | None:
        """Rating of its device."""
        return self.currents.rating.value if self.currents.rating else None


@dataclass(frozen=True)
class Rule:
    """One criterion: its word (S13), what it says, the figure wanted and what a candidate gives.

    `at_most` turns the comparison round; a rule that does not decide is told only, and one that is `yielding` does not decide
    where no candidate passes it. `how` says how a candidate's figure came about, where it has one.
    """

    name: str
    says: str
    wanted: float
    unit: str
    source: str
    gives: Callable[[Candidate], float | None]
    how: Callable[[Candidate], str] = lambda _: ""
    at_most: bool = False
    decides: bool = True
    yielding: bool = False

    def passes(self, candidate: Candidate) -> bool:
        """Whether a candidate does what is wanted."""
        value = self.gives(candidate)
        if value is None:
            return False
        return value <= self.wanted * (1 + 1e-9) if self.at_most else value >= self.wanted * (1 - 1e-9)

    def told(self, candidate: Candidate) -> str:
        """What a candidate gives, in words."""
        value = self.gives(candidate)
        if value is None:
            return "no figure in the table"
        how = self.how(candidate)
        return shown(value, self.unit) + (f" ({how})" if how else "")


def product(readings: tuple[Reading, Reading, Reading], candidate: Candidate) -> str:
    """Table current times its factors, in words."""
    base, air, company = readings
    many = f" x {candidate.parallel}" if candidate.parallel > 1 else ""
    return f"{base.value:g} A x {air.value:g} x {company.value:g}{many}"


def kelvin(celsius: float) -> Kelvin:
    """Degrees Celsius as they stand in the standards, in kelvin."""
    return celsius + 273.15
