"""Where a session is saved: what is asked before a file is overwritten, and what is done when nobody can be asked."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from engine.text import clean
from wizard.screens.dialogs import AskText, Choose
from wizard.session import Session

if TYPE_CHECKING:
    from textual.app import App

_CHOICES = (("other", "Save under another name"), ("over", "Save over it all the same"), ("not", "Do not save"))


async def ask_where(app: App[Any], session: Session) -> Path | None:
    """The file to save to, after everything was asked that must be; None where it shall not be saved. Runs in a worker."""
    path = session.path
    while True:
        if path is None:
            named = await app.push_screen_wait(AskText("Save under which name?", str(session.path or "site.toml")))
            if named is None:
                return None
            path = Path(named)
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


def rescue(session: Session) -> Path | None:
    """Save a draft where nobody can be asked: to its own file, or beside it if somebody else changed that. Where; None where it failed."""
    path = own = session.path or Path("site.toml")
    number = 1
    while session.in_the_way(path):
        number += 1
        path = own.with_name(f"{own.stem}-{number}.toml")
    try:
        session.save(path)
    except OSError:
        return None
    return path
