"""The interview and its draft: nothing is shown as taken before it is on the disk. Without Textual."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from engine.files.migrate import WrongSchema, migrate
from engine.files.problems import Unreadable
from engine.files.sift import NothingReads
from wizard.answers.session import Session
from wizard.drafts.folder import Draft, begin, resume
from wizard.drafts.journal import Journal, Taken
from wizard.interview.drafting import answers_differ, moved, resumed, snapshot
from wizard.interview.events import Draft as WantedDraft
from wizard.interview.events import Event, Key, Leave, Save, Saved
from wizard.interview.handle import Step, handle
from wizard.interview.keys import ACTIONS
from wizard.interview.state import State


class Keeping:
    """Keeps the moments of one interview. `waits` is whether something is still to be kept, within a second."""

    def __init__(self, state: State, journal: Journal | None = None) -> None:
        self.journal = journal or _journal(state)
        self.waits = False
        self.only_shown = False

    def handled(self, before: State, event: Event) -> Step:
        """What an event gives, once it is kept."""
        if self.only_shown:
            return _shown(before, event)
        state, wanted = handle(before, event)
        if isinstance(event, Saved):
            return self._saved(event.session, state), wanted
        if answers_differ(state, before):
            state = self.kept(state, before)
            return (state, ()) if self.only_shown else (state, wanted)
        self.waits = self.waits or moved(state, before)
        return state, wanted

    def kept(self, state: State, before: State | None = None) -> State:
        """The state, kept; one that could not be says so. `before` is where it goes back to if the draft is not ours any more."""
        if self.only_shown:
            return state
        self.waits = False
        trouble = self.journal.trouble
        try:
            new = self.journal.keep(snapshot(state))
        except Taken as taken:
            self.only_shown = True
            return replace(before or state, told=str(taken))
        if new is None:
            return replace(state, told=state.told or "Kept on the disk again.") if trouble else state
        return replace(state, told=new.text) if not state.told or new != trouble else state

    def safe(self, state: State) -> bool:
        """At the end, where nobody can be asked any more: whether nothing of this moment is lost with the process."""
        self.kept(state)
        return self.only_shown or self.journal.trouble is None

    def _saved(self, saved: Session, state: State) -> State:
        """The draft ends with the save. What came while it was written, or was not accepted, is in a new one before the old one goes."""
        old, self.journal = (
            self.journal,
            begin(
                saved.path, saved.origin.text if saved.origin else None, snapshot(replace(state, session=saved, refused={}, typing=None))
            ),
        )
        state = self.kept(state)
        if self.journal.trouble is None:
            old.end()
        else:
            self.journal = old
        return state


def taken_up(draft: Draft) -> tuple[State, Keeping] | str:
    """The interview as its draft has it; else why not."""
    try:
        kept, journal = resume(draft)
    except Taken:
        return "This draft was taken up, saved or dropped in another window."
    try:
        site, text = _near(journal.site), journal.text
        session = Session.of(text.encode(), site) if site and text is not None else Session(path=site)
        session = session.standing(migrate(dict(kept.document)))
    except (Unreadable, NothingReads, WrongSchema):
        journal.close()
        return "This draft is of another version of the program, which can go on with it."
    told = "Gone on with where you were."
    if draft.changed:
        told = "Gone on with. The file was changed since; a save asks before it is replaced."
    state = resumed(session, kept, told)
    return state, Keeping(state, journal)


def _near(site: Path | None) -> Path | None:
    """A file as somebody here would call it: a long path leaves no room for what is to be said of it."""
    with suppress(OSError, ValueError):
        return site.relative_to(Path.cwd()) if site else None
    return site


def _journal(state: State) -> Journal:
    session = state.session
    return begin(session.path, session.origin.text if session.origin else None, snapshot(state))


def _shown(before: State, event: Event) -> Step:
    """Pages may be turned and findings read; nothing is answered or saved."""
    if isinstance(event, Key) and ACTIONS.get(event.name) == "leave":
        return before, (Leave(),)
    state, wanted = handle(before, event)
    if answers_differ(state, before):  # what was being typed when the draft went keeps nobody on its page
        state, wanted = handle(replace(before, typing=None), event)
    if answers_differ(state, before) or (state.typing is not None and state.typing != before.typing):
        state, wanted = replace(before, box=None), ()
    told = replace(state, told=str(Taken()), saving=None, leaving=False)
    return told, tuple(one for one in wanted if not isinstance(one, Save | WantedDraft))
