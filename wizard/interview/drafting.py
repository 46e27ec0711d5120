"""What of a moment a draft keeps, how an interview goes on from it, and how drafts are offered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engine.text import quoted
from wizard.answers.session import Session
from wizard.asking import guide
from wizard.drafts.snapshot import Snapshot
from wizard.interview.boxes import Choose, choosing
from wizard.interview.state import Place, Refusal, State, begun, standing
from wizard.interview.typing import begun as line

NEW, DROP, SURE = "new", "drop ", "sure "  # behind the last two stands which draft


def snapshot(state: State) -> Snapshot:
    """All of a moment that would be lost with the process."""
    refused = {key: (refusal.text, refusal.why) for key, refusal in state.refused.items()}
    return Snapshot(state.session.typed, refused, state.place.page.name, state.place.key, state.place.entry, state.typed)


def answers_differ(state: State, other: State) -> bool:
    """Whether an answer was taken or refused, taken back or moved: that is on the disk before the screen shows it."""
    if state.session is other.session and state.refused is other.refused:
        return False
    return state.session.typed != other.session.typed or state.refused != other.refused


def moved(state: State, other: State) -> bool:
    """Whether somebody is elsewhere or types something else: that may wait for a moment."""
    return state.place != other.place or state.typed != other.typed


def resumed(session: Session, kept: Snapshot, told: str) -> State:
    """A moment as it was kept, `session` having its answers; what was being typed is told where it cannot stand there."""
    state = begun(session, told)
    state = replace(state, refused={**state.refused, **{key: Refusal(*refusal) for key, refusal in kept.refused.items()}})
    page = next((page for page in guide.pages(session.answers) if page.name == kept.page), None)
    if page is not None:
        state = standing(state.at(Place(page, kept.key, kept.entry)))
    if kept.typing is None:
        return state
    if state.place.key == kept.key:
        return replace(state, typing=line(kept.typing))
    return replace(state, told=f"{quoted(kept.typing, 40)} was being typed: {guide.name_of(kept.key)}.")


def offer(lines: Sequence[str], *, of_a_file: bool) -> Choose:
    """The drafts that lie there, each told in a line."""
    anew = (
        "Open the file as it is; the draft stays"
        if of_a_file
        else "Begin anew; the drafts stay"
        if len(lines) > 1
        else "Begin anew; the draft stays"
    )
    choices = [(str(at), f"Go on with {told}") for at, told in enumerate(lines)]
    drops = [(f"{DROP}{at}", f"Drop {told}") for at, told in enumerate(lines)]
    return choosing("draft", "Not saved yet, and kept:", [*choices, (NEW, anew), *drops])


def asked_twice(at: str) -> Choose:
    """A draft that is dropped is gone: nothing brings it back."""
    return choosing("draft", "Its answers are gone then, and nothing brings them back.", [("offer", "Keep it"), (f"{SURE}{at}", "Drop it")])
