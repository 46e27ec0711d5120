"""All drafts of a person: what lies there, taken up, dropped, begun."""

from __future__ import annotations

import fcntl
import os
import tomllib
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from engine.files.read import LARGEST
from engine.files.write import sync
from engine.frozen import dataclass
from engine.text import clean, quoted
from wizard.asking.pages import PAGES
from wizard.drafts import home
from wizard.drafts.journal import SUFFIX, Journal, Kept, id_of, order_of, read
from wizard.drafts.records import text_of
from wizard.drafts.snapshot import Snapshot


@dataclass(frozen=True)
class Draft:
    """A draft that lies there: `changed` is whether the site's file is another than the one that was opened, `open` whether a session has it now."""

    path: Path
    kept: Kept
    changed: bool
    open: bool

    @property
    def place(self) -> str:
        """The title of the page that somebody was on."""
        name = self.kept.snapshot.page
        return next((page.title for page in PAGES if page.name == name), clean(name))

    @property
    def moment(self) -> datetime | None:
        """When it was last kept, in local time as the clock was then; None where no clock can have been so."""
        try:
            return datetime.fromtimestamp(self.kept.touched, UTC).astimezone()
        except (OverflowError, ValueError, OSError):
            return None

    @property
    def name(self) -> str:
        """What the site is called in the answers; empty where it is not."""
        site = self.kept.snapshot.document.get("site")
        return clean(str(site.get("name") or ""), 40) if isinstance(site, dict) else ""

    def line(self) -> str:
        """Whose, how it is with it, when, where and what, in one line for a person; what decides stands first, for lines are cut."""
        site, typing = self.kept.site, self.kept.snapshot.typing
        told = [clean(site.name, 40) if site else self.name or "a new site"]
        told += ["the file was changed since"] if self.changed else []
        told += ["open in another window"] if self.open else []
        told += [f"{self.moment:%Y-%m-%d %H:%M}" if self.moment else "at a time that no clock has"]
        told += [f"page {self.place}"] if self.place else []
        told += [f"{quoted(typing, 24)} being typed"] if typing else []
        return ", ".join(told)


def drafts(site: Path | None = None) -> tuple[tuple[Draft, ...], tuple[Path, ...]]:
    """The drafts, of one file or of all, the last one begun or taken up first; and what lies there as a draft and cannot be read."""
    try:
        paths = [path for path in home.folder().iterdir() if path.suffix == SUFFIX]
    except OSError:
        return (), ()
    found: list[Draft] = []
    unreadable: list[Path] = []
    for path in sorted(paths, key=lambda path: (order_of(path), path.name), reverse=True):
        kept = read(path) if id_of(path) else None
        if kept is None:
            unreadable.append(path)
        elif (draft := _found(path, kept)) and (site is None or _is(site, kept.site)):
            found.append(draft)
    return tuple(found), tuple(path for path in unreadable if os.path.lexists(path))


def offers(site: Path | None = None) -> tuple[Draft, ...]:
    """The drafts that may be gone on with."""
    return drafts(site)[0]


def begin(site: Path | None, text: str | None, start: Snapshot) -> Journal:
    """The journal of a session on a file (None: a new site) that had this text when it was opened (None: there is none yet)."""
    if site is not None:
        with suppress(OSError):  # where it was started from is gone
            site = site.absolute()
    return Journal(site, text, start)


def resume(draft: Draft) -> tuple[Snapshot, Journal]:
    """The last moment of a draft, and its journal, which goes on; raises `Taken` where it is gone. Whoever had it open can keep nothing more."""
    return Journal.on(draft.path)


def drop(draft: Draft) -> None:
    """Remove a draft; raises OSError."""
    draft.path.unlink()
    sync(draft.path.parent)


def _found(path: Path, kept: Kept) -> Draft | None:
    """The draft; None, and it is removed, where it holds nothing that its file does not: its session was killed between save and end."""
    draft = Draft(path, kept, _changed(kept), _open(path))
    if draft.changed and not draft.open and _says_the_same(kept):
        with suppress(OSError):
            drop(draft)
            return None
    return draft


def _changed(kept: Kept) -> bool:
    if kept.site is None:
        return False
    there = _bytes(kept.site, 0 if kept.text is None else len(kept.text.encode()))
    return there != (None if kept.text is None else kept.text.encode())


def _bytes(site: Path, wanted: int) -> bytes | None:
    """The bytes of an ordinary file; None where there is none. Of one that is larger than wanted only the first, one more."""
    try:
        if site.is_file():
            with site.open("rb") as file:
                return file.read(wanted + 1)
        return b"" if site.exists() else None  # no file, and so not the one that was opened
    except OSError:
        return b""


def _says_the_same(kept: Kept) -> bool:
    snapshot = kept.snapshot
    there = _bytes(kept.site, LARGEST) if kept.site else None
    if there is None or snapshot.refused or snapshot.typing is not None:
        return False
    try:
        document = tomllib.loads(there.decode())
    except (ValueError, RecursionError):
        return False
    return {key: text_of(value) for key, value in document.items() if key != "plan"} == {
        key: text_of(value) for key, value in snapshot.document.items() if key != "plan"
    }


def _is(site: Path, other: Path | None) -> bool:
    try:
        return other is not None and os.path.realpath(site) == os.path.realpath(other)
    except OSError:  # where it was started from is gone
        return False


def _open(path: Path) -> bool:
    """Whether a session holds the draft. One that stalls does so too: that keeps nobody out."""
    try:
        handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW)
    except OSError:
        return False
    try:
        fcntl.flock(handle, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    except OSError:
        return False  # a file system without locks
    else:
        return False
    finally:
        os.close(handle)
