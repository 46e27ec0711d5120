"""Writing the papers of one plan into a folder of their own, named for answers and plan, on a shelf where others may stand.

What is promised: a folder appears whole, by one rename, or not at all. One that stands is never changed, for people fill papers in: a paper that
is missing is put back, nothing else. Where it holds other papers of the same plan (of another program, for other paper, or those that somebody
listed anew), the new ones go into the next folder: NAME-2, NAME-3. Nothing is written through a link, and whatever a killed run left is cleared.
"""

from __future__ import annotations

import errno
import fcntl
import os
import re
import secrets
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from engine.files.sums import SUMS, listed, listed_too, listing, sum_of, sum_there
from engine.files.write import clear_strays, part, sync
from engine.frozen import dataclass
from engine.plan import Plan

FORM = re.compile(r"([0-9a-f]{8})-([0-9a-f]{8})(?:-[A-Za-z0-9+-]+)?")
PDF = "folder.pdf"  # what may come to the papers later
_PART = re.compile(rf"\.{FORM.pattern}\.[0-9a-f]{{8}}\.part")
_TAKEN = (errno.EEXIST, errno.ENOTEMPTY, errno.ENOTDIR)  # what a rename says where something stands already


@dataclass(frozen=True)
class Shelved:
    """What became of papers: `folder` has them, `written` are those that were not there; `filled` are not as they were made, and stay.

    `missing` are listed in the folder, and not among these papers; `passed` are folders with other papers of the same plan, each with what is
    filled in there. `confirmed`: whether the disk said so.
    """

    folder: Path
    new: bool
    written: tuple[str, ...]
    filled: tuple[str, ...]
    missing: tuple[str, ...]
    passed: Mapping[str, tuple[str, ...]]
    confirmed: bool


def folder_name(plan: Plan, only: Sequence[str] = ()) -> str:
    """The name of the folder of a plan's papers; of some of them alone where `only` names these."""
    return "-".join((plan.revision, str(plan.digest), *(["+".join(only)] if only else [])))


def write_folder(shelf: Path, name: str, papers: Mapping[str, str]) -> Shelved:
    """Let a folder of that name, or the next that is free, hold these papers, text by name; raises OSError with nothing changed."""
    _refuse_nesting(shelf)
    new = not shelf.exists()
    shelf.mkdir(parents=True, exist_ok=True)
    try:
        _clear_parts(shelf)
        shelved = _shelved(shelf, name, {file: text.encode() for file, text in papers.items()})
    except BaseException:
        if new:
            with suppress(OSError):
                shelf.rmdir()
        raise
    if new:
        sync(shelf.resolve().parent)
    return shelved


def add_pdf(folder: Path, data: bytes) -> bool:
    """Put the PDF into a folder that stands; whether the disk confirmed it. Raises OSError with no PDF there, or with one that came in the meantime.

    It is listed first: killed in between, the next run says that it is missing, and does not take it for a person's.
    """
    made = listed_too(folder, PDF, sum_of(data)).encode("utf-8", "surrogateescape")
    with part(folder / PDF, data, None) as paper, part(folder / SUMS, made, (folder / SUMS).lstat()) as sums:
        if os.path.lexists(folder / PDF):
            raise FileExistsError(errno.EEXIST, f"{PDF} came to be there in the meantime, and stays")
        sums.replace(folder / SUMS)
        paper.replace(folder / PDF)
    return sync(folder)


def _refuse_nesting(shelf: Path) -> None:
    if FORM.fullmatch(shelf.resolve().name) and os.path.lexists(shelf / SUMS):
        raise FileExistsError(errno.EEXIST, "it is a folder of papers itself; give the folder in which it stands")


def _shelved(shelf: Path, name: str, papers: Mapping[str, bytes]) -> Shelved:
    sums = {file: sum_of(data) for file, data in papers.items()}
    whole = {**papers, SUMS: listing(sums).encode()}
    passed: dict[str, tuple[str, ...]] = {}
    folder = shelf / name
    while True:
        if not os.path.lexists(folder) and _made(folder, whole):
            return Shelved(folder, new=True, written=tuple(whole), filled=(), missing=(), passed=passed, confirmed=sync(shelf))
        there = listed(folder)
        if sums.items() <= there.items():
            return _completed(folder, papers, there, passed)
        passed[folder.name] = _filled(folder, there)
        folder = shelf / f"{name}-{len(passed) + 1}"


def _completed(folder: Path, papers: Mapping[str, bytes], there: Mapping[str, str], passed: Mapping[str, tuple[str, ...]]) -> Shelved:
    """A folder that has these papers already, where those that are missing are put back."""
    clear_strays(folder, lambda name: name in (*there, SUMS, PDF))
    gone = [name for name in there if sum_there(folder / name) is None]
    back = [name for name in gone if name in papers]
    with ExitStack() as parts:
        made = [(parts.enter_context(part(folder / name, papers[name], None)), folder / name) for name in back]
        written = tuple(target.name for paper, target in made if not os.path.lexists(target) and paper.replace(target))
    return Shelved(
        folder,
        new=False,
        written=written,
        filled=_filled(folder, there),
        missing=tuple(name for name in gone if name not in papers),
        passed=passed,
        confirmed=not written or sync(folder),
    )


def _filled(folder: Path, there: Mapping[str, str]) -> tuple[str, ...]:
    """The papers that stand in a folder and are not as they were made."""
    return tuple(name for name, made in there.items() if sum_there(folder / name) not in (None, made))


def _made(folder: Path, files: Mapping[str, bytes]) -> bool:
    """Whether the folder was made, whole; not where somebody else was faster."""
    with _part(folder) as made:
        for name, data in files.items():
            with (made / name).open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
        if not sync(made):
            raise OSError(errno.EIO, "the disk did not take it")
        try:
            made.rename(folder)
        except OSError as problem:
            if problem.errno in _TAKEN:
                return False
            raise
    return True


@contextmanager
def _part(folder: Path) -> Iterator[Path]:
    """A folder beside that one in which it is made; gone at the end unless renamed. It is locked, for one that is not was left by a killed run."""
    while True:
        made = folder.with_name(f".{folder.name}.{secrets.token_hex(4)}.part")
        made.mkdir()
        with suppress(FileNotFoundError):
            handle = os.open(made, os.O_RDONLY)
            with suppress(OSError):  # some file systems know no locks
                fcntl.flock(handle, fcntl.LOCK_EX)
            if made.exists():  # else another run took it for one that was left
                break
            os.close(handle)
    try:
        yield made
    finally:
        _clear(made, handle)


def _clear_parts(shelf: Path) -> None:
    """Remove what runs that were killed have left, and nobody writes any more."""
    with suppress(OSError):
        for path in shelf.iterdir():
            if _PART.fullmatch(path.name):
                _clear_part(path)


def _clear_part(path: Path) -> None:
    with suppress(OSError):
        handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_DIRECTORY)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            os.close(handle)
            raise
        _clear(path, handle)


def _clear(made: Path, handle: int) -> None:
    """Remove a folder that holds ordinary files alone, where it still has the name under which it was made; its lock goes with it."""
    with suppress(OSError):
        try:
            if os.path.samestat(made.lstat(), os.fstat(handle)):
                for name in os.listdir(handle):
                    os.unlink(name, dir_fd=handle)
                made.rmdir()
        finally:
            os.close(handle)
