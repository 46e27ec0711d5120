"""The papers of a plan written into their folder, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING

from engine.files.folder import PDF, add_pdf, folder_name, write_folder
from engine.files.stale import site_of, stale
from engine.files.sums import listed, sum_there
from engine.sheets.papers import FOLDER, MARKS, names, whole
from engine.text import clean
from engine.text import listed as named

if TYPE_CHECKING:
    from engine.files.folder import Shelved
    from engine.planner import Planned


class NoSuchPaper(Exception):
    """A name that no paper of this plan has; the sentence tells the nearest."""


def chosen(planned: Planned, words: str | None) -> tuple[str, ...]:
    """The names of papers asked for, in the order of the folder; none where all are. Raises NoSuchPaper."""
    if words is None:
        return ()
    there = names(planned)
    alike = {name.casefold(): name for name in there}
    wanted = [alike.get(word.strip().casefold(), word.strip()) for word in words.split(",")]
    for word in wanted:
        if word not in there:
            near = get_close_matches(word.casefold(), alike, n=1, cutoff=0.7)
            told = f"the nearest is {alike[near[0]]!r}" if near else f"there are {', '.join(there)}"
            raise NoSuchPaper(f"--only: there is no paper {clean(word)!r}; {told}")
    return tuple(name for name in there if name in wanted)


class Shelving:
    """The papers of one plan on their way to a shelf."""

    def __init__(self, planned: Planned, shelf: Path, size: str, only: Sequence[str]) -> None:
        self._plan, self._shelf = planned.plan, shelf
        self._papers = whole(planned, size, only)
        self._name, self._only = folder_name(planned.plan, only), only
        self._shelved: Shelved | None = None
        self.pdf: Path | None = None  # where one was put

    def write(self) -> bool:
        """Write them; whether the disk confirmed it. Raises OSError with nothing changed."""
        self._shelved = write_folder(self._shelf, self._name, self._papers)
        return self._shelved.confirmed

    @property
    def shelved(self) -> Shelved:
        """What became of them."""
        assert self._shelved
        return self._shelved

    def told(self) -> Iterator[str]:
        """What a person needs to know of it, sentence by sentence."""
        shelved, name = self.shelved, self.shelved.folder.name
        if "<section" not in self._papers[FOLDER]:
            yield f"{FOLDER} has no page: of {', '.join(self._only)} this plan has none"
        for other, filled in shelved.passed.items():
            touched = f", of which {_named(filled)} {'was' if len(filled) == 1 else 'were'} filled in or changed" if filled else ""
            yield f"{other} has other papers of this plan (of another version of this program, for other paper, or listed anew){touched}: they stay, these are in {name}"
        if shelved.filled:
            yield f"{name}: filled in or changed since it was made, and left as it is: {_named(shelved.filled, 100)}"
        if not shelved.new:
            yield f"{name} has these papers already: " + ("what was missing was put back" if shelved.written else "nothing was written")
        if missing := [file for file in shelved.missing if sum_there(shelved.folder / file) is None]:
            yield f"{name}: listed there, and missing: {_named(missing)}" + (f"; --pdf makes {PDF} again" if PDF in missing else "")
        site = next(filter(None, (site_of(text) for file, text in self._papers.items() if file.endswith(".txt"))), "")
        yield from stale(self._shelf, self._plan, site, MARKS)

    def print(self) -> bool:
        """Let a PDF of the folder stand beside it; whether the disk confirmed it. Raises NotPrinted, or OSError, with nothing put there."""
        from wizard.printing import printed  # noqa: PLC0415 - most runs print nothing

        folder = self.shelved.folder
        if sum_there(folder / PDF) is None:
            confirmed = add_pdf(folder, printed(self._papers[FOLDER]))
            self.pdf = folder / PDF
            return confirmed
        if PDF not in listed(folder):
            raise FileExistsError(f"the {PDF} of {folder.name} is none that this program made, and stays; move it away")
        return True


def _named(files: Sequence[str], most: int = 6) -> str:
    """Names from a list that anybody may have written."""
    return named([clean(file) for file in files], most)
