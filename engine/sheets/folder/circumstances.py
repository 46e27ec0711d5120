"""What a site has, in the words by which the tables of what is handed over and looked after tell for whom a row is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.site.storage import LEAD_ACID

if TYPE_CHECKING:
    from engine.planner import Planned


def circumstances(planned: Planned) -> frozenset[str]:
    """All words that hold here. Of cells that nobody named, whatever may be: who does not know looks after all."""
    facts, parts = planned.facts, planned.parts
    storage, kind, cells = facts.answers.storage, facts.incoming_kind, facts.answers.storage.chemistry
    unknown = cells is None
    holds = {
        "solar": facts.solar,
        "parallel": facts.solar and facts.strings_on_tracker > 1,
        "incoming": kind != "none",
        kind: kind != "none",
        "several": len(parts.units.tags) > 1,
        "turning": "plan.steps.rotation" in planned.figures or len(facts.incoming_lines) == 3,
        "lead": unknown or cells in LEAD_ACID,
        "flooded": unknown or cells == "flooded",
        "sealed": unknown or cells in ("agm", "gel"),
        "lithium": unknown or cells not in LEAD_ACID,
        "managed": bool(storage.managed),
        "data": bool(parts.chain.links or parts.chain.data),
        "tt": facts.answers.earthing.system == "TT",
    }
    return frozenset(word for word, so in holds.items() if so)
