"""What the interview sees of a plan: a fifth of it, so that it comes from another process within two milliseconds."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from engine.frozen import dataclass
from wizard.planning.measures import Measure, Subject, measures

if TYPE_CHECKING:
    from engine.facts import Assumed
    from engine.findings import Finding
    from engine.plan import Plan
    from engine.planner import Planned
    from engine.stages.chain.part import Chain
    from engine.stages.wall.part import Wall


@dataclass(frozen=True)
class Seen:
    """The plan of one revision: what stands in the file, what was noticed and taken, the planned units, what hangs on the wall, how the
    comms chain runs, and by subject whether it is enough.
    """

    revision: str
    standing: str
    plan: Plan
    findings: tuple[Finding, ...]
    assumed: tuple[Assumed, ...]
    tags: tuple[str, ...]
    wall: Wall
    chain: Chain
    measures: Mapping[Subject, tuple[Measure, ...]]


def seen(planned: Planned) -> Seen:
    """What is seen of a plan."""
    plan, parts = planned.plan, planned.parts
    return Seen(
        plan.revision,
        plan.standing,
        plan,
        planned.findings,
        planned.assumed,
        parts.units.tags,
        parts.wall,
        parts.chain,
        measures(planned),
    )
