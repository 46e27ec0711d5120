"""Writing one file, the same way for every command and for the interview.

What is promised of an ordinary file: whole or not at all. The new text is written to a part beside it (`.NAME.XXXXXXXX.part`), flushed
to the disk, then renamed over it; mode, owner and group stay, and a symbolic link stays one: what it leads to is replaced. Where a rename
would part hard links or lose the owner, or the folder takes no part, the text is written into the file itself, the old one put back if
that fails: then only a crash of the machine in that moment can leave it half. A pipe or a device is written to, never replaced.
"""

from __future__ import annotations

import errno
import fcntl
import os
import re
import stat
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import IO

from engine.tables.bounds import most

_SUFFIX = ".part"
_PART = re.compile(r"\.(.+)\.[a-z0-9_]{8}\.part", re.DOTALL)
_LOST = (errno.EIO, errno.ENOSPC, errno.EDQUOT)  # what a disk says that did not take it
_NAMED = 40  # characters of a file's name that its part carries: a name has at most 255 bytes


def fitting(text: str) -> str:
    """The text of a site file; raises OSError where it is larger than one that is read."""
    size, limit = len(text.encode()), most("bytes of a file")
    if size > limit:
        told = f"with its plan it would be {size} bytes, and no file over {limit} is read again: shorten its comments, notes or records"
        raise OSError(errno.EFBIG, told)
    return text


def write(path: Path, text: str) -> bool:
    """Put `text` at `path`; raises OSError: an ordinary file is then as it was, and nothing is left behind.

    Whether the disk has confirmed it: False where the new text stands there, and what was done after that failed.
    """
    try:
        there = path.stat()
    except FileNotFoundError:
        there = None
    data = text.encode()
    if there and (stream := _stream(path, there)) is not None:
        with os.fdopen(stream, "wb") as file:
            file.write(data)
        return True
    target = Path(os.path.realpath(path))
    if there:
        asked(target)
    if there and there.st_nlink > 1:
        _write_into(target, data)
        return True
    clear_strays(target.parent, lambda name: name == target.name[:_NAMED])
    replaced = False
    try:
        with part(target, data, there) as made:
            made.replace(target)
            replaced = True
    except OSError as problem:
        if replaced:
            return False
        # No part may be made there, or it cannot be given to the owner: what may be written to all the same keeps both.
        if not there or not isinstance(problem, PermissionError):
            raise
        _write_into(target, data)
    return sync(target.parent)


def _stream(path: Path, there: os.stat_result) -> int | None:
    """What to write to where `path` is no file to be replaced: a device, a pipe, what the program's own output goes to; else None."""
    if stat.S_ISCHR(there.st_mode):
        return os.open(path, os.O_WRONLY | os.O_NOCTTY)
    for number in (1, 2):
        with suppress(OSError):
            if os.path.samestat(os.fstat(number), there):
                return os.dup(number)
    if stat.S_ISFIFO(there.st_mode):
        return _pipe(path)
    if stat.S_ISDIR(there.st_mode):
        raise IsADirectoryError(errno.EISDIR, "it is a directory; wanted a file")
    if not stat.S_ISREG(there.st_mode):
        raise OSError(errno.EINVAL, "it is no file, pipe or character device")
    return None


def _pipe(path: Path) -> int:
    try:
        pipe = os.open(path, os.O_WRONLY | os.O_NONBLOCK)
    except OSError as problem:
        if problem.errno == errno.ENXIO:  # waiting for a reader would hold the interview for ever
            raise OSError(errno.ENXIO, "nobody reads from this pipe") from None
        raise
    os.set_blocking(pipe, True)
    return pipe


@contextmanager
def part(target: Path, data: bytes, there: os.stat_result | None) -> Iterator[Path]:
    """A part beside `target` that holds `data` on the disk, as readable as what is there and its owner's; gone at the end unless renamed.

    It is locked as long as it is needed: one that is not was left by a program that was killed.
    """
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:_NAMED]}.", suffix=_SUFFIX, dir=target.parent)
    made = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            with suppress(OSError):  # some file systems know no locks
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            file.write(data)
            file.flush()
            if there and (there.st_uid, there.st_gid) != (os.geteuid(), os.fstat(handle).st_gid):
                os.fchown(handle, there.st_uid, there.st_gid)
            os.fchmod(handle, stat.S_IMODE(there.st_mode) if there else 0o666 & ~_umask())
            os.fsync(handle)
            yield made
    finally:
        with suppress(OSError):
            made.unlink()


def asked(target: Path) -> None:
    """A rename does not ask whether what is there may be written to: raises PermissionError where it may not."""
    if not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, "it is write-protected")


def sync(folder: Path) -> bool:
    """Let a rename reach the disk too. Whether it did, as far as can be known: some file systems cannot sync a folder, some folders may not be read."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return True
    try:
        os.fsync(handle)
    except OSError as problem:
        return problem.errno not in _LOST
    finally:
        with suppress(OSError):
            os.close(handle)
    return True


def _write_into(target: Path, data: bytes) -> None:
    with ExitStack() as end:
        file = target.open("r+b", buffering=0)
        end.callback(_close, file)
        old = file.read()
        try:
            _replace(file.fileno(), data)
        except BaseException as problem:
            try:
                _replace(file.fileno(), old)
            except OSError:
                raise OSError(errno.EIO, "it failed half way, and the old text could not be put back: the file is damaged") from problem
            raise


def _close(file: IO[bytes]) -> None:
    with suppress(OSError):  # all of it is on the disk
        file.close()


def _replace(handle: int, data: bytes) -> None:
    """All of a file by other bytes. What they need more is taken first: a full disk is told before anything is lost."""
    old = os.fstat(handle).st_size
    if len(data) > old:
        os.lseek(handle, old, os.SEEK_SET)
        _all(handle, data[old:])
        os.fsync(handle)
    os.lseek(handle, 0, os.SEEK_SET)
    _all(handle, data[:old])
    os.ftruncate(handle, len(data))
    os.fsync(handle)


def _all(handle: int, data: bytes) -> None:
    rest = memoryview(data)
    while rest:
        rest = rest[os.write(handle, rest) :]


def clear_strays(folder: Path, of: Callable[[str], bool]) -> None:
    """Remove the parts that nobody writes any more of files with such names, of which a part has the first 40 characters."""
    with suppress(OSError):
        for path in folder.iterdir():
            if (found := _PART.fullmatch(path.name)) and of(found[1]):
                _clear_stray(path)


def _clear_stray(stray: Path) -> None:
    with suppress(OSError):
        handle = os.open(stray, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            stray.unlink()
        finally:
            os.close(handle)


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
