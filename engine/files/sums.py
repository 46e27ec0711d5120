"""What the papers of a folder were as they were made: SHA256SUMS, in the form that `sha256sum -c` reads too."""

from __future__ import annotations

import errno
import hashlib
import os
import re
import stat
from collections.abc import Mapping
from pathlib import Path

SUMS = "SHA256SUMS"
_LINE = re.compile(r"([0-9a-f]{64}) [ *]([^/\0]+)")
_MOST = 1 << 20  # bytes of a list: ours have a few thousand


def sum_of(data: bytes) -> str:
    """SHA-256 in 64 hex digits."""
    return hashlib.sha256(data).hexdigest()


def listing(sums: Mapping[str, str]) -> str:
    """The text of a list, from sums by name."""
    return "".join(f"{told}  {name}\n" for name, told in sums.items())


def listed(folder: Path) -> dict[str, str]:
    """Sums by name, as the list in a folder has them; raises OSError where the folder is none of papers."""
    return {line[2]: line[1] for line in map(_LINE.fullmatch, _lines(folder)) if line}


def listed_too(folder: Path, name: str, told: str) -> str:
    """The text of a folder's list with one more sum, whatever else a person wrote in it kept."""
    kept = [line for line in _lines(folder) if line and not ((found := _LINE.fullmatch(line)) and found[2] == name)]
    return "".join(f"{line}\n" for line in kept) + listing({name: told})


def _lines(folder: Path) -> list[str]:
    where = f"what is called {folder.name} there"
    if not stat.S_ISDIR(folder.lstat().st_mode):
        raise FileExistsError(errno.EEXIST, f"{where} is no folder; choose another DIR, or move it away")
    path = folder / SUMS
    try:
        there = path.lstat()
    except FileNotFoundError:
        told = f"{where} has no {SUMS}, so nobody can tell what was filled in; choose another DIR, or move it away"
        raise FileExistsError(errno.EEXIST, told) from None
    readable = stat.S_ISREG(there.st_mode) and there.st_size <= _MOST
    lines = path.read_text(encoding="utf-8", errors="surrogateescape").split("\n") if readable else []
    if not any(map(_LINE.fullmatch, lines)):
        raise FileExistsError(
            errno.EEXIST, f"the {SUMS} of {folder.name} there is no list of sums; choose another DIR, or move the folder away"
        )
    return lines


def sum_there(path: Path) -> str | None:
    """The sum of a file; None where nothing stands there, empty where it is no ordinary file: a link is not followed, a pipe not waited for."""
    try:
        if not stat.S_ISREG(path.lstat().st_mode):
            return ""
        handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)
    except FileNotFoundError:
        return None
    with os.fdopen(handle, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
