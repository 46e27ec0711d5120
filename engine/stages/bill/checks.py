"""What the bill could only name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engine.facts import Facts
from engine.findings import Finding, caution
from engine.keys import labelled
from engine.quantities import shown
from engine.stages.bill.part import Cut
from engine.stages.bill.reels import TooLong
from engine.stages.chain.part import Chain


def incomplete(pieces: tuple[Cut, ...], chain: Chain) -> Iterator[Finding]:
    """What the bill could only name, not specify."""
    lacks = {
        "conductor sizes": {cut.circuit for cut in pieces if not cut.size},
        "lengths": {cut.circuit for cut in pieces if not cut.length},
        "lengths of comms links": {f"{link.start} > {link.end}" for link in chain.links if not link.stock and not link.length},
    }
    for what, where in lacks.items():
        if where:
            told = ", ".join(sorted(where)[:4]) + (" and more" if len(where) > 4 else "")
            yield caution(
                "bill-incomplete",
                labelled("plan.bill", [what])[0],
                f"The bill lacks {what} for {told}: those lines say so and cannot be ordered yet.",
                "Answer what the other findings ask for, then plan again before ordering.",
                "common practice, no source",
                unanswered=True,
                where=sorted(where),
            )


def too_long(facts: Facts, cuts: Sequence[TooLong]) -> Iterator[Finding]:
    """Cuts that no reel holds in one piece."""
    for conductor, one in {one.cut.conductor: one for one in reversed(cuts)}.items():
        cut = one.cut
        assert cut.length is not None  # otherwise it waits, and is packed nowhere
        yield caution(
            "cut-longer-than-reels",
            labelled("plan.reels", [conductor])[0],
            f"No reel of {conductor} holds a cut of {facts.told(cut.length)} in one piece, with {shown(one.allowance, 'ratio')} over it.",
            "Ask the maker for a drum of that length, or check the length: a joint in such a run is planned, not improvised.",
            "common practice, no source",
            value=cut.length,
            limit=one.reel,
        )
