"""The draft of one interview on the disk: a start, and behind it what changed since, a record for each moment that was kept.

Both are one file, ORDER-NAME.draft, so that a new start replaces start and journal in one rename. Whoever takes a draft up gives it another
name first: from then on the file that another session writes to is no longer there under the name that it knows, which that session
looks up after each write, before it tells anybody that something was kept. So no lock is needed, and a session that stalls keeps nobody out.
"""

from __future__ import annotations

import fcntl
import os
import re
import secrets
import time
from contextlib import suppress
from pathlib import Path

from engine.files.write import clear_strays, part, sync
from engine.frozen import dataclass
from engine.text import clean
from wizard.drafts import home
from wizard.drafts.records import line_of, records, text_of
from wizard.drafts.snapshot import Parts, Snapshot, applied, difference, parts_of

FORM = 1  # of a draft; another is not read
SUFFIX = ".draft"
LARGE = 256 * 1024  # bytes of records behind a start, after which a new start is written
_MOST = 64 * 1024 * 1024  # bytes; what is larger is no draft of ours
_NAME = re.compile(r"(\d{1,9})-([0-9a-f]{12})\.draft")


class Taken(Exception):
    """Another session has taken the draft up, or it was dropped: this one may only show its answers."""

    def __str__(self) -> str:
        return "! ONLY SHOWN: the draft was taken up or dropped in another window. F10 ends."


@dataclass(frozen=True)
class NotKept:
    """Why the last moment is in memory only."""

    text: str


@dataclass(frozen=True)
class Kept:
    """What a draft holds: the file it belongs to (None: a new site) and that file's text when it was opened (None: there was none),
    the last moment, and when that was kept, in seconds since 1970 of the clock as it was.
    """

    site: Path | None
    text: str | None
    snapshot: Snapshot
    touched: float


def read(path: Path) -> Kept | None:
    """What a draft holds, up to where it is torn; None where it cannot be read at all."""
    try:
        with path.open("rb") as file:
            data = file.read(_MOST + 1)
    except OSError:
        return None
    found = records(data) if len(data) <= _MOST else iter(())
    try:
        start = next(found)
        if start["form"] != FORM:
            return None
        site, text = start["site"], start["text"]
        snapshot, touched = applied(Snapshot(), start), float(start["at"])
        site = None if site is None else Path(site)
        if not isinstance(text, str | None):
            return None
    except (StopIteration, KeyError, TypeError, ValueError, AttributeError):
        return None
    with suppress(KeyError, TypeError, ValueError, AttributeError):
        for record in found:
            snapshot, touched = applied(snapshot, record), float(record["at"])
    return Kept(site, text, snapshot, touched)


class Journal:
    """Keeps the moments of one interview. Nothing is on the disk before there is something to lose."""

    def __init__(self, site: Path | None, text: str | None, start: Snapshot) -> None:
        self.site = site
        self.text = text
        self.trouble: NotKept | None = None
        self._start = start
        self._parts = parts_of(start)  # the last moment that is on the disk
        self._path: Path | None = None
        self._handle: int | None = None
        self._sound = True  # whether what is on the disk can be written on
        self._checksum = 0
        self._size = 0
        self._large = LARGE
        self._taken = self._closed = False

    @classmethod
    def on(cls, path: Path) -> tuple[Snapshot, Journal]:
        """A draft taken up, and its last moment; raises Taken where somebody else did, or it cannot be read."""
        taken = path
        with suppress(OSError):  # where it cannot be renamed nobody else writes either
            taken = path.with_name(_name(path.parent, id_of(path)))
            path.rename(taken)
        if not os.path.lexists(taken):
            taken = path
        kept = read(taken)
        if kept is None:
            raise Taken
        journal = cls(kept.site, kept.text, Snapshot())
        journal._begin_on(taken, kept.snapshot)
        return kept.snapshot, journal

    def _begin_on(self, path: Path, snapshot: Snapshot) -> None:
        # Whoever had it before may still write into that file: what comes now goes into one of our own.
        self._path, self._sound = path, False
        try:
            self._handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW)
            self._write_whole(parts_of(snapshot))
        except OSError as problem:
            self.trouble = _not_kept(problem)

    def keep(self, snapshot: Snapshot) -> NotKept | None:
        """Have this moment on the disk before returning; None where it is. Raises Taken where another session has the draft."""
        if self._taken:
            raise Taken
        if self._closed:
            return NotKept("The draft is closed.")
        if self._handle is None and not snapshot.holds_more(self._start):
            self.trouble = None
            return None
        parts = parts_of(snapshot)
        changed = difference(self._parts, parts)
        if not changed and self._handle is not None and self._sound:
            return None
        try:
            self._keep(parts, changed)
        except OSError as problem:
            self.trouble = _not_kept(problem)
        except Taken:
            self._taken = True
            self._let_go()
            raise
        else:
            self.trouble = None
        return self.trouble

    @property
    def lies(self) -> bool:
        """Whether there is a draft on the disk."""
        return self._path is not None

    def end(self) -> None:
        """The answers are in their file, or nobody wants them: the draft goes."""
        if self._path is not None:
            with suppress(OSError):  # whoever took it up gave it another name
                self._path.unlink()
                sync(self._path.parent)
        self._let_go()

    def close(self) -> None:
        """Nothing more is kept here; the draft stays."""
        self._let_go()
        self._closed = True

    def _let_go(self) -> None:
        if self._handle is not None:
            os.close(self._handle)
        self._handle = self._path = None

    def _keep(self, parts: Parts, changed: str) -> None:
        if self._handle is not None and self._sound:
            try:
                self._append(parts, changed)
            except OSError:
                self._sound = False  # torn, or the disk does not say what it has: never written on
            else:
                if self._size > self._large:
                    self._large += LARGE  # not tried again at once where it fails
                    with suppress(OSError):
                        self._write_whole(parts)
                return
        self._write_whole(parts)

    def _append(self, parts: Parts, changed: str) -> None:
        assert self._handle is not None
        line, checksum = line_of(_record(changed), self._checksum)
        _write(self._handle, line)
        os.fsync(self._handle)
        self._check()
        self._checksum, self._size, self._parts = checksum, self._size + len(line), parts

    def _write_whole(self, parts: Parts) -> None:
        """A new file in place of ours; raises OSError with the old one as it was."""
        try:
            self._check()
        except FileNotFoundError:  # the folder is gone, and with it the draft
            self._let_go()
        there = home.made()
        clear_strays(there, lambda _: True)
        path = self._path or there / _name(there, secrets.token_hex(6))
        start = {"form": FORM, "site": None if self.site is None else str(self.site), "text": self.text}
        line, checksum = line_of(_record(text_of(start)[1:-1], difference(_NOTHING, parts)), 0)
        with part(path, line, None) as made:
            made.chmod(0o600)
            handle = os.open(made, os.O_WRONLY | os.O_APPEND | os.O_NOFOLLOW)
            try:
                made.replace(path)
            except OSError:
                os.close(handle)
                raise
        self._let_go()
        self._path, self._handle, self._sound = path, handle, True
        self._checksum, self._size, self._large, self._parts = checksum, 0, LARGE, parts
        sync(there)
        with suppress(OSError):  # tells others that it is open; some file systems know no locks
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        if any(other != path for other in there.glob(f"*-{id_of(path)}{SUFFIX}")):  # taken up while it was replaced
            path.unlink()
            raise Taken

    def _check(self) -> None:
        """Raises Taken where the file that is written to is not the draft any more, FileNotFoundError where its folder is gone."""
        if self._path is None or self._handle is None:
            return
        try:
            ours = os.path.samestat(self._path.stat(), os.fstat(self._handle))
        except FileNotFoundError:
            self._path.parent.stat()
            raise Taken from None
        if not ours:
            raise Taken


def id_of(path: Path) -> str:
    """What stays of a draft's name whoever has it; empty where it is none."""
    found = _NAME.fullmatch(path.name)
    return found[2] if found else ""


def order_of(path: Path) -> int:
    """Drafts in the order in which they were begun or taken up, whatever the clock says."""
    found = _NAME.fullmatch(path.name)
    return int(found[1]) if found else 0


def _name(folder: Path, identity: str) -> str:
    last = max((order_of(path) for path in folder.iterdir()), default=0)
    return f"{last + 1:06}-{identity}{SUFFIX}"


def _record(*members: str) -> str:
    return "{" + ",".join((f'"at":{time.time():.0f}', *filter(None, members))) + "}"


def _write(handle: int, data: bytes) -> None:
    rest = memoryview(data)
    while rest:
        rest = rest[os.write(handle, rest) :]


def _not_kept(problem: OSError) -> NotKept:
    why = (problem.strerror or str(problem)).rstrip(".").lower()
    return NotKept(f"! KEPT IN MEMORY ONLY ({clean(why, 60)}). F2 saves to a file.")


_NOTHING = parts_of(Snapshot())
