"""Which plan a paper is of, how that plan stands, and the sentence that comes before all of them."""

from __future__ import annotations

from engine.plan import Plan

FIRST = "Local codes, the maker's instructions and a licensed person come first."
ALONE = "(!): someone can be hurt here; nobody works there alone."
STANDINGS = {
    "stopped": "STOPPED - DO NOT ENERGISE",
    "cautions": "CAUTIONS - decide and sign every one",
    "ready": "READY - as far as this plan can see",
}


def stamp(plan: Plan) -> str:
    """Which plan a paper is of: the revision of the answers, the digest of the plan, the program."""
    return f"revision {plan.revision}, plan {plan.digest}, {plan.made_with}"
