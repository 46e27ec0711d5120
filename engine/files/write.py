"""Writing a file whole or not at all."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path


def write(path: Path, text: str) -> None:
    """Put `text` at `path`: written beside it, flushed to the disk, then renamed over it.

    Raises OSError; the file that stood there is then untouched and nothing is left behind.
    """
    target = path.resolve()
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:40]}.", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        mode = target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~_umask()
        Path(name).chmod(mode)
        Path(name).replace(target)
    except BaseException:
        with suppress(OSError):
            Path(name).unlink()
        raise
    # The rename itself must reach the disk too; some file systems cannot sync a folder.
    with suppress(OSError):
        folder = os.open(target.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
