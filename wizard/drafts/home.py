"""The folder of the drafts: the platform's for the state of programs, nobody else's to read."""

from __future__ import annotations

import errno
from contextlib import suppress
from pathlib import Path

from platformdirs import user_state_path


def folder() -> Path:
    """Where drafts are; raises OSError where this user has no folder for them."""
    try:
        there = user_state_path("phasewright") / "drafts"
    except RuntimeError:  # as some versions of platformdirs say it
        there = Path()
    # Without a home, a path that begins at it would lie wherever the program was started.
    if not there.is_absolute():
        raise OSError(errno.ENOENT, "there is no home folder")
    return there


def made() -> Path:
    """The folder, made where it is missing and closed to others; raises OSError."""
    there = folder()
    for missing in reversed([there, *there.parents]):
        with suppress(FileExistsError):
            missing.mkdir(mode=0o700)
    if there.stat().st_mode & 0o077:
        there.chmod(0o700)
    return there
