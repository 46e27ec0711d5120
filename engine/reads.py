"""What is read of the facts: kept as it is read, so that a stage whose reading has not changed need not run again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel

from engine.facts import Facts
from engine.workings import Figure

Reading = tuple[str, ...]  # "answers", "unit", "width"; or "figures" and a key; or another field of the facts
_EVERY = "*"


class _Answers:
    """A part of the answers that remembers which of its fields were read; parts within are watched in their turn."""

    def __init__(self, part: BaseModel, path: Reading, seen: dict[Reading, object]) -> None:
        self._part, self._path, self._seen = part, path, seen

    def __getattr__(self, name: str) -> Any:
        value = getattr(self._part, name)
        path = (*self._path, name)
        if isinstance(value, BaseModel):
            value = _Answers(value, path, self._seen)
        else:
            self._seen[path] = value
        self.__dict__[name] = value  # read again, it needs no watching
        return value


class _Figures(Mapping[str, Figure]):
    """Figures by key that remember which keys were asked for."""

    def __init__(self, figures: Mapping[str, Figure], seen: dict[Reading, object]) -> None:
        self._figures, self._seen = figures, seen

    def get(self, key: str, default: Any = None) -> Any:
        """The figure of that key; that there is none is read too."""
        self._seen["figures", key] = self._figures.get(key)
        return self._figures.get(key, default)

    def __getitem__(self, key: str) -> Figure:
        self._seen["figures", key] = self._figures.get(key)
        return self._figures[key]

    def __contains__(self, key: object) -> bool:
        return self.get(str(key)) is not None

    def __iter__(self) -> Iterator[str]:
        self._seen["figures", _EVERY] = self._figures
        return iter(self._figures)

    def __len__(self) -> int:
        self._seen["figures", _EVERY] = self._figures
        return len(self._figures)


class Watched(Facts):
    """Facts that remember in `seen` what was read of them, with its value: answers and figures one by one, other fields whole."""

    seen: dict[Reading, object]
    whole: Facts

    def __getattr__(self, name: str) -> Any:
        value = getattr(self.whole, name)
        self.seen[name,] = self.__dict__[name] = value
        return value


def watched(facts: Facts, seen: dict[Reading, object]) -> Watched:
    """The same facts, watched: what is read of them goes into `seen`."""
    found = object.__new__(Watched)
    found.__dict__.update(
        whole=facts, seen=seen, answers=_Answers(facts.answers, ("answers",), seen), figures=_Figures(facts.figures, seen)
    )
    return found


def holds(facts: Facts, seen: Mapping[Reading, object]) -> bool:
    """Whether all that was read would be read alike of these facts."""
    return all(_read(facts, path) == value for path, value in seen.items())


def _read(facts: Facts, path: Reading) -> object:
    if path[0] == "figures":
        return facts.figures if path[1] == _EVERY else facts.figures.get(path[1])
    value: object = facts
    for name in path:
        value = getattr(value, name)
    return value
