"""Which older papers stand beside those that were written: said, never removed, for somebody may have filled them in."""

from __future__ import annotations

import re
import stat
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from engine.files.folder import FORM
from engine.files.sums import listed, sum_there
from engine.frozen import dataclass
from engine.plan import Plan
from engine.text import clean
from engine.text import listed as named

_LOOKED = 4096  # characters at the head of a paper, in which it says what it is of
_SITE = re.compile(r"^.*\bSite: (.+?)(?: {2,}.*| +Ref: .*)?$", re.MULTILINE)
_NAME = 31  # characters of a site's name that every paper has room for


@dataclass(frozen=True)
class Marks:
    """How a paper that lies loose on the shelf, as an earlier form of this program left it, is known: by its name and the revision in its stamp."""

    names: re.Pattern[str]
    stamp: re.Pattern[str]


def site_of(text: str) -> str:
    """The name of the site, as far as every paper tells it, in the head of one; empty where it tells none."""
    found = _SITE.search(text[:_LOOKED])
    return found[1][:_NAME] if found else ""


def stale(shelf: Path, plan: Plan, site: str, marks: Marks) -> Iterator[str]:
    """A sentence for each folder of papers on the shelf that is of another plan, and for loose papers, by revision."""
    there = sorted(path.name for path in shelf.iterdir())
    for name in there:
        found = FORM.fullmatch(name)
        if found and found.groups() != (plan.revision, plan.digest) and stat.S_ISDIR((shelf / name).lstat().st_mode):
            what = "other answers" if found[1] != plan.revision else "the same answers, another plan"
            yield _told(name, found[1], what, site, _site(shelf / name))
    loose: dict[str, list[str]] = {}
    for name in filter(marks.names.fullmatch, there):
        if revision := _revision(shelf / name, marks):
            loose.setdefault(revision, []).append(name)
    for revision, names in loose.items():
        yield f"stale: {named(names, 4)}, loose there (revision {revision}, of an earlier form of this program)"


def _revision(paper: Path, marks: Marks) -> str:
    """The revision in the stamp of a paper; empty where it is none that can be read."""
    with suppress(OSError):
        if sum_there(paper) and (found := marks.stamp.search(_head(paper))):
            return str(next(filter(None, found.groups())))
    return ""


def _told(name: str, revision: str, what: str, site: str, other: str) -> str:
    if site and other and site != other:  # the site may have another name now, or be another one
        return f"stale, unless it is of another site: {name} (revision {revision}, {clean(other)})"
    return f"stale: {name} (revision {revision}: {what})"


def _site(folder: Path) -> str:
    """The site of a folder's papers; empty where none of them can be read."""
    with suppress(OSError):
        texts = (name for name in listed(folder) if name.endswith(".txt") and sum_there(folder / name))
        return next(filter(None, (site_of(_head(folder / name)) for name in texts)), "")
    return ""


def _head(path: Path) -> str:
    with path.open(encoding="utf-8", errors="replace") as file:
        return file.read(_LOOKED)
