"""Units by name: phase, ordinal, and which one leads (T12)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from engine.facts import Facts
from engine.findings import Finding, caution, stop
from engine.frozen import dataclass
from engine.stages.phases.part import Phases


@dataclass(frozen=True)
class UnitPlace:
    """One unit of the set."""

    tag: str
    phase: str
    ordinal: int
    role: Literal["lead", "follower"]


@dataclass(frozen=True)
class Units:
    """The units in order of phase and ordinal."""

    units: tuple[UnitPlace, ...]
    lead: str | None

    @property
    def tags(self) -> tuple[str, ...]:
        """Every tag."""
        return tuple(unit.tag for unit in self.units)

    def on(self, phase: str) -> tuple[UnitPlace, ...]:
        """The units of one phase."""
        return tuple(unit for unit in self.units if unit.phase == phase)


def units(*, facts: Facts, phases: Phases) -> tuple[Units, list[Finding]]:
    """Name every unit of the set and give exactly one the lead."""
    tags = [(f"{phase}-{n}", phase, n) for phase, count in phases.per_phase.items() for n in range(1, count + 1)]
    findings = [*_several_relays(facts, len(tags))]
    lead = facts.answers.set.lead
    if tags and lead not in [tag for tag, _, _ in tags]:
        findings.append(
            stop(
                "lead-is-no-unit",
                "set.lead",
                f"The lead {lead} is no unit of this set ({', '.join(tag for tag, _, _ in tags[:12])}).",
                f"Name one of the units as the lead, for example {tags[0][0]}.",
                "T12: exactly one lead",
            )
        )
        lead = None
    placed = Units(tuple(UnitPlace(tag, phase, n, "lead" if tag == lead else "follower") for tag, phase, n in tags), lead if tags else None)
    if tags:
        findings += _losses(facts, placed)
    return placed, findings


def _losses(facts: Facts, units: Units) -> Iterator[Finding]:
    """What stops when the lead, or a whole phase, is lost (T18)."""
    if facts.answers.set.lead_loss == "stops" and len(units.units) > 1:
        yield caution(
            "lead-loss",
            "set.lead_loss",
            f"Losing the lead {units.lead or ''} stops the whole supply: nothing survives until it is back or another unit is set as lead.".replace(
                "  ", " "
            ),
            "Keep a bypass switch or a spare unit at hand; answer lead_loss where the manual says that the set carries on.",
            "T18",
        )
    single = [phase for phase in facts.phases if len(units.on(phase)) == 1]
    told = f"{single[0]} hangs on one unit" if len(single) == 1 else f"{', '.join(single)} hang on one unit each"
    if single and facts.answers.set.phase_loss == "stops" and len(facts.phases) > 1:
        yield caution(
            "phase-loss",
            "set.phase_loss",
            f"{told}: losing it stops the whole supply, the other phases included.",
            "A second unit on each phase keeps the supply up; answer phase_loss where the manual says that the set carries on.",
            "T18",
            where=single,
        )
    elif single and len(facts.phases) > 1:
        yield caution(
            "phase-loss",
            "set.phase_loss",
            f"{told}: losing it blacks out that phase, and three-phase motors then run on two phases.",
            "Fit a phase-failure relay to every three-phase motor.",
            "T18",
            where=single,
        )


def _several_relays(facts: Facts, units: int) -> Iterator[Finding]:
    """Every unit has such a relay: closed in more than one, neutral meets earth in as many places."""
    if facts.answers.earthing.island_bond == "unit relay" and units > 1:
        yield caution(
            "one-relay-only",
            "earthing.island_bond",
            f"A relay inside the units makes the bond, and there are {units} units: only one unit's relay may be active, or neutral meets earth in several places.",
            "Ask the maker which setting keeps all relays but one open, set it on every unit, and see that the one left works when its unit is out.",
            "T21",
            value=float(units),
            limit=1.0,
            unit="1",
        )
