"""Machines by plain name: what each usually is to its supply, and how people look for one."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache

from engine.frozen import dataclass
from engine.tables import table

_NAMED = ("machine", "words")


@dataclass(frozen=True)
class Machine:
    """One machine: other words for it, and what it stands for: texts as they would be typed, by the key of a load that they answer."""

    name: str
    words: tuple[str, ...]
    stands_for: Mapping[str, str]

    @property
    def one(self) -> str:
        """Its name in a sentence: "a kettle"."""
        return f"{'an' if self.name[0] in 'aeiou' or self.name.startswith('LED') else 'a'} {self.name}"


def machine(name: str) -> Machine | None:
    """The machine of exactly that name."""
    return _by_name().get(name)


def names() -> tuple[str, ...]:
    """Every machine there is, in the order of the table."""
    return tuple(_by_name())


def source_of(key: str) -> str:
    """Where what a machine stands for under a load's key comes from."""
    row = table("machine_sources").row("column", key)
    assert row is not None
    return str(row["source"])


def find(text: str) -> tuple[str, ...]:
    """The machines that a text typed so far may mean, best first; all of them where nothing is typed.

    Best is the name itself; then a name that begins so, a word of a name that does, another word for it that does; last each word that
    is typed begins one of its words, in any order ("inverter welder"). What finds nothing may be several of it: "lamps" finds what "lamp" does.
    """
    typed = " ".join(text.casefold().split())
    return next((found for one in (typed, *_singulars(typed)) if (found := _found(one))), ())


def _singulars(typed: str) -> Iterator[str]:
    """The text without the ending of several, shorter endings first, where a word is left that tells anything."""
    return (one for ending in ("s", "es") if typed.endswith(ending) and len(one := typed.removesuffix(ending)) >= _SHORTEST)


def _found(typed: str) -> tuple[str, ...]:
    ranks = ((_rank(each, typed), name) for name, each in _by_name().items())
    return tuple(name for _, name in sorted(((rank, name) for rank, name in ranks if rank is not None), key=lambda found: found[0]))


def nearest(name: str) -> str:
    """The machine that a name which is none most likely means."""
    name = name[:_LONGEST]
    if found := find(name):
        return found[0]
    import difflib  # noqa: PLC0415 - its import is dear, and seldom needed

    return difflib.get_close_matches(name.casefold(), names(), n=1, cutoff=0.0)[0]


_SHORTEST = 3  # letters of a word that another form of it is looked for by
_LONGEST = 60  # characters of a name that is looked for: what is longer is no slip of a known one


def _rank(each: Machine, typed: str) -> int | None:
    name, words = each.name.casefold(), " | ".join(each.words).casefold()
    if name == typed:
        return 0
    if name.startswith(typed):
        return 1
    if _begins_a_word(typed, name):
        return 2
    if _begins_a_word(typed, words):
        return 3
    return 4 if all(_begins_a_word(word, f"{name} | {words}") for word in typed.split()) else None


def _begins_a_word(typed: str, text: str) -> bool:
    return re.search(rf"(?<!\w){re.escape(typed)}", text) is not None


@cache
def _by_name() -> Mapping[str, Machine]:
    return {
        str(row["machine"]): Machine(
            str(row["machine"]),
            tuple(str(row["words"]).split(", ")),
            {key: str(cell) for key, cell in row.items() if key not in _NAMED and cell is not None},
        )
        for row in table("machines").rows
    }
