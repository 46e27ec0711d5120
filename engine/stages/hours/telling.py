"""What 24 hours from sunset mean, in one line and in findings: all speak of the same hours of the same bank (S25)."""

from __future__ import annotations

from collections.abc import Sequence

from engine.frozen import dataclass
from engine.solvers.day import Passed
from engine.stages.hours.sources import Sources

_LITTLE = 1e-6  # W: less is rounding


@dataclass(frozen=True)
class Drawn:
    """The 24 hours that are drawn: from `down` (sunset) over `rise` (sunrise) to the next sunset.

    `kind` is what comes in; `empty` is the first hour in which something is missing, `called` that in which the generator starts.
    """

    kind: str
    down: int
    rise: int
    passed: Sequence[Passed]

    @property
    def night(self) -> Sequence[Passed]:
        """The hours before sunrise."""
        return self.passed[: (self.rise - self.down) % 24]

    def empty(self, hours: Sequence[Passed]) -> int | None:
        """The first of these hours in which something is missing."""
        return next((p.at for p in hours if p.missing > _LITTLE), None)

    def called(self, hours: Sequence[Passed]) -> int | None:
        """The first of these hours in which the generator runs."""
        return next((p.at for p in hours if p.source > 0), None)


def begins(found: Sources, drawn: Drawn) -> str:
    """The words that every sentence on the drawn day begins with."""
    away = "With the utility away, " if drawn.kind == "utility" else ""
    return f"{away}{found.bank.name}, full at {drawn.down:02d}:00,"


def told(found: Sources, drawn: Drawn, ran: float) -> str:
    """One line on the night, the day after it, and the generator."""
    night, later = drawn.night, drawn.passed[len(drawn.night) :]
    empty, called = drawn.empty(night), drawn.called(night)
    if called is not None:
        first = f"is used up at {called:02d}:00, when the generator must start"
    elif empty is not None:
        first = f"is empty by {(empty + 1) % 24:02d}:00"
    else:
        first = f"lasts the night ({night[-1].state:.0%} at {drawn.rise:02d}:00)"
        if (again := drawn.called(later)) is not None:
            first += f"; the generator starts at {again:02d}:00"
        elif (short := drawn.empty(later)) is not None:
            first += f" and is empty by {(short + 1) % 24:02d}:00"
    rest = f"it stands at {drawn.passed[-1].state:.0%} after 24 hours"
    if drawn.kind == "generator":
        rest += f"; the generator runs {sum(p.source > 0 for p in drawn.passed)} h of them, {ran:.1f} h a day over two weeks"
    elif not any(figure.value > 0 for figure in found.sun):
        rest += ", and nothing charges it" + (" before the utility is back" if drawn.kind == "utility" else "")
    return f"{begins(found, drawn)} {first}; {rest}."
