"""Writing the papers of one plan into a folder, so that no paper of another plan is left among them.

What is promised: all papers are written and flushed beside their places first, so that a full disk, a missing right or a kill until then
leaves the folder as it was. Only then each is renamed to its place, which takes no room and a few thousandths of a second; a kill between two
renames can leave papers of two plans, and each paper says which it is of. Nothing is written through a link, and nothing is replaced or
removed but ordinary files that are papers of this program.
"""

from __future__ import annotations

import errno
import os
import re
import stat
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, suppress
from pathlib import Path

from engine.files.write import asked, clear_strays, part, sync
from engine.frozen import dataclass

_LOOKED = 4096  # characters at the head of a file, in which a paper says what it is


@dataclass(frozen=True)
class Marks:
    """How a paper of this program is known again: `names` of those that one plan has and another has not, the `stamp` in the head of all."""

    names: re.Pattern[str]
    stamp: re.Pattern[str]


class Mixed(OSError):
    """It failed between two renames: the folder holds papers of two plans."""


def write_folder(folder: Path, papers: Mapping[str, str], marks: Marks) -> tuple[str, ...]:
    """Let `folder` hold these papers, text by name; the names of those that an older plan had left there, and that are gone.

    Raises OSError with the folder as it was; `Mixed` where it is not.
    """
    new = not folder.exists()
    folder.mkdir(parents=True, exist_ok=True)
    try:
        clear_strays(folder, lambda name: name in papers or bool(marks.names.fullmatch(name)))
        there = {name: _replaceable(folder / name, marks) for name in papers}
        left = sorted(name for name in _papers(folder, marks) if name not in papers)
        with ExitStack() as parts:
            made = [(parts.enter_context(part(folder / name, text.encode(), there[name])), folder / name) for name, text in papers.items()]
            _rename(made)
    except BaseException:
        if new:
            with suppress(OSError):
                folder.rmdir()
        raise
    for name in left:
        (folder / name).unlink(missing_ok=True)
    sync(folder)
    return tuple(left)


def _rename(made: list[tuple[Path, Path]]) -> None:
    for number, (paper, target) in enumerate(made):
        try:
            paper.replace(target)
        except OSError as problem:
            if number:
                raise Mixed(problem.errno, problem.strerror) from None
            raise


def _replaceable(target: Path, marks: Marks) -> os.stat_result | None:
    """What stands where a paper goes, None where nothing does; raises OSError where it is not ours to replace."""
    try:
        there = target.lstat()
    except FileNotFoundError:
        return None
    if not stat.S_ISREG(there.st_mode) or not _is_paper(target, marks):
        raise FileExistsError(errno.EEXIST, f"{target.name} there is no paper of this program; choose another folder, or move it away")
    asked(target)
    return there


def _papers(folder: Path, marks: Marks) -> Iterator[str]:
    """The papers in a folder that another plan may not have."""
    with os.scandir(folder) as entries:
        for entry in entries:
            if marks.names.fullmatch(entry.name) and entry.is_file(follow_symlinks=False) and _is_paper(Path(entry.path), marks):
                yield entry.name


def _is_paper(path: Path, marks: Marks) -> bool:
    with path.open(encoding="utf-8", errors="replace") as file:
        return marks.stamp.search(file.read(_LOOKED)) is not None
