"""Where a session is saved: what is asked before a file is overwritten, and what is done when nobody can be asked."""

from __future__ import annotations

import asyncio
from abc import abstractmethod
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual import work

from engine.text import clean
from wizard.screens.dialogs import AskText, Choose
from wizard.screens.planning import Planning, planned_for
from wizard.screens.view import View
from wizard.session import Session

if TYPE_CHECKING:
    from textual.app import App

_CHOICES = (("other", "Save under another name"), ("over", "Save over it all the same"), ("not", "Do not save"))


async def ask_where(app: App[Any], session: Session) -> Path | None:
    """The file to save to, after everything was asked that must be; None where it shall not be saved. Runs in a worker."""
    path, told = session.path, ""
    while True:
        if path is None:
            named = await app.push_screen_wait(AskText(f"{told}Save under which name?", str(session.path or "site.toml")))
            if named is None:
                return None
            path = _path(named)
            if path is None:
                told = f"No file can have the name {clean(named, 60)}. "
                continue
        warning = session.in_the_way(path)
        if warning is None and session.loses_comments and path == session.path:
            warning = "Comments that somebody wrote in this file are lost by saving from here."
        if warning is None:
            return path
        answer = await app.push_screen_wait(Choose(f"{clean(str(path), 200)}\n{warning}", _CHOICES))
        if answer == "over":
            return path
        if answer != "other":
            return None
        path = None


def _path(typed: str) -> Path | None:
    """The file that somebody means; None where there can be none of that name (a home that nobody has, a name too long)."""
    try:
        path = Path(typed).expanduser()
        path.stat()
    except (FileNotFoundError, NotADirectoryError, PermissionError):
        return path  # what is wrong with that, if anything, writing says
    except (OSError, RuntimeError, ValueError):
        return None
    return path


class Saving(Planning):
    """A screen whose session can be saved; what it shows and what is being typed its subclass says."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.view = View(session)

    @property
    def session(self) -> Session:
        """The answers as they stand."""
        return self.view.session

    @property
    @abstractmethod
    def with_plan(self) -> bool:
        """Whether a save writes the plan too."""

    @abstractmethod
    def say(self, text: str) -> None:
        """Say something to the person."""

    @abstractmethod
    async def show_all(self) -> None:
        """Show the session as it stands."""

    @abstractmethod
    async def settle(self) -> None:
        """Take what is being typed before anything is decided on."""

    @abstractmethod
    def take_untold(self) -> None:
        """Take what stands in the lines as answered."""

    @work(exclusive=True, group="save")
    async def action_save(self) -> None:
        """Save: answers and plan from the review, a draft from every other page."""
        await self._save()

    async def _save(self) -> bool:
        """Ask what must be asked, then write. Whether it was written."""
        await self.settle()
        path = await ask_where(self.app, self.session)
        return path is not None and await self._write(path, self.with_plan)

    async def _write(self, path: Path, with_plan: bool) -> bool:
        session = self.session
        try:
            planned = await asyncio.to_thread(planned_for, session) if with_plan else None
            saved = session.save(path, planned.plan if planned else None)
        except OSError as problem:
            self.say(f"! NOT SAVED: {path}: {problem.strerror or problem}")
            return False
        except Exception as fault:  # noqa: BLE001 - the planner broke: say so, and that nothing was written
            self.say(f"! NOT SAVED: a fault of this program ({type(fault).__name__}). Save a draft from another page.")
            return False
        # Answers that came while it was being written are kept.
        self.view = replace(self.view, session=replace(self.session, path=saved.path, origin=saved.origin))
        await self.show_all()
        left_out = f" Without {len(self.view.refused)} not accepted." if self.view.refused else ""
        self.say(f"Saved {'answers and plan' if with_plan else 'as a draft'}: {path}.{left_out}")
        return True

    @work(exclusive=True, group="save")
    async def action_leave(self) -> None:
        """Leave; whatever is not saved is asked for."""
        await self.settle()
        if self.view.unsaved:
            told = "Your answers are not saved."
            if self.view.refused:
                told += f" {len(self.view.refused)} not accepted as typed cannot be saved."
            choices = [("save", "Save, then leave"), ("stay", "Stay"), ("leave", "Leave without saving")]
            answer = await self.app.push_screen_wait(Choose(told, choices))
            if answer in (None, "stay") or (answer == "save" and not await self._save()):
                return
        self.app.exit(0)

    def rescue(self) -> Path | None:
        """Save a draft without asking, because the terminal is going away. Where it was saved; None where nothing had to be."""
        self.take_untold()
        return _rescue(self.session) if self.session.changed else None


def _rescue(session: Session) -> Path | None:
    """Save a draft where nobody can be asked: beside a file that is there, never over it. Where; None where it failed.

    What was being typed counts, finished or not, so it must not stand where a plan stood, or what somebody meant.
    """
    path = own = session.path or Path("site.toml")
    number = 0
    while path.exists():
        number += 1
        path = own.with_name(f"{own.stem}-rescued{number if number > 1 else ''}.toml")
    try:
        session.save(path)
    except OSError:
        return None
    return path
