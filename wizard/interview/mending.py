"""What is to be looked at next, and what would cure it: what was not accepted, what stops the plan, then cautions,
the gravest first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from engine.cures import Cure, asks
from engine.findings import Finding, Level
from engine.frozen import dataclass
from wizard.asking import guide
from wizard.interview.state import REVIEW, Place, State, page_named, place_of
from wizard.interview.walking import on

LOOKED = tuple[str, str]


@dataclass(frozen=True)
class Target:
    """Something to mend: what it is called by, where it is answered, and the finding, if it is one."""

    name: LOOKED
    place: Place
    finding: Finding | None = None


def targets(state: State) -> tuple[Target, ...]:
    """All there is to mend, in the order in which it is gone through, each once."""
    refused = [Target(("", key), place) for key in state.refused if (place := place_of(state, key))]
    every = [*refused, *(target(state, finding) for finding in worst_first(state))]
    return tuple({one.name: one for one in reversed(every)}.values())[::-1]


def worst_first(state: State) -> tuple[Finding, ...]:
    """The stops of the plan in the order in which the questions are asked, what no question is about last; then its cautions as the plan has
    them, from the gravest on.
    """
    if state.seen is None:
        return ()
    answers, asked = state.session.answers, guide.order_of(state.session.answers)
    found = {level: [one for one in state.seen.findings if one.level is level] for level in (Level.STOP, Level.CAUTION)}
    return (*sorted(found[Level.STOP], key=lambda one: asked(guide.place_of(one.about, answers) or "")), *found[Level.CAUTION])


def target(state: State, finding: Finding) -> Target:
    """A finding at the question it is about, or at the first that its rule asks for; where no question would mend it, in the review."""
    about = guide.place_of(finding.about, state.session.answers)
    for key in (*([about] if about else []), *asks(finding.code)):
        if (place := place_of(state, key)) is not None:
            return Target((finding.code, finding.about), place, finding)
    return Target((finding.code, finding.about), Place(page_named("review"), REVIEW), finding)


def mended(state: State) -> State:
    """At the first target that was not gone to yet, so that what is new comes first; behind the last one from the first again."""
    every = targets(state)
    if not every:
        return replace(state, looked=None, walked=(), told="Nothing stops the plan, and there is no caution to read.")
    left = [one for one in every if one.name not in state.walked]
    if not left:
        state, left = replace(state, walked=(), told="That was the last one; from the first again."), list(every)
    to = left[0]
    state = on(state, to.place)
    state = replace(state, looked=(to.name, state.place.key), walked=(*state.walked, to.name))
    if to.place.key == REVIEW and state.seen is not None and to.finding is not None:
        state = replace(state, section=0, reading=state.seen.findings.index(to.finding))
    return state


def at_hand(state: State) -> Finding | None:
    """The finding that this place is about: in the review the one that is read, elsewhere the one gone to here, else the worst of the question.

    None for an older plan.
    """
    if not state.current or state.seen is None:
        return None
    if state.place.key == REVIEW and not state.section and state.seen.findings:
        return state.seen.findings[min(state.reading, len(state.seen.findings) - 1)]
    if state.looked and state.looked[1] == state.place.key:
        gone_to = [one for one in worst_first(state) if (one.code, one.about) == state.looked[0]]
        if gone_to:
            return gone_to[0]
    here = [one for one in state.notes.findings.get(state.place.key, ()) if one.level is not Level.NOTE]
    return min(here, key=lambda one: one.level is not Level.STOP, default=None)


def finding_at(state: State) -> Finding | None:
    """The finding that is told: the one at hand, else the worst of all. None for an older plan."""
    return at_hand(state) or next(iter(worst_first(state)), None) if state.current else None


def offered(state: State) -> tuple[Cure, ...]:
    """The cures that were tried for the finding at hand. For a caution nobody is offered to wire banks otherwise."""
    finding = at_hand(state)
    cures = state.cures.get((finding.code, finding.about), ()) if finding else ()
    return tuple(cure for cure in cures if finding and (finding.level is Level.STOP or "storage.connection" not in cure.answers))


def tried(state: State) -> bool:
    """Whether what would cure the finding at hand was tried already."""
    finding = at_hand(state)
    return finding is None or (finding.code, finding.about) in state.cures


# What is bought or hung by them: never taken by one key.
_HEAVY = {"storage.connection", "storage.bank.parallel", "storage.bank.series", "set.count"}


def simple(cures: tuple[Cure, ...]) -> bool:
    """Whether a key alone may take it: one cure, one answer, and nothing that is bought for it."""
    return len(cures) == 1 and len(cures[0].answers) == 1 and not _HEAVY & cures[0].answers.keys()


def cure_text(cure: Cure) -> str:
    """What a cure would answer, in the words of the questions."""
    return answers_text(cure.answers)


def answers_text(answers: Mapping[str, str]) -> str:
    """Several answers in the words of their questions."""
    return ", ".join(f"{guide.name_of(key)} = {text}" if text else f"{guide.name_of(key)}: no answer" for key, text in answers.items())
