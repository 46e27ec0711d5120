"""What the planner may decide for a person, tried: only answers with which the finding is gone, and nothing worse has come, are offered."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from copy import copy
from typing import Any

from pydantic import ValidationError

from engine.cures.cure import Cure, Found
from engine.cures.decidable import changed
from engine.cures.ways import WAYS, Case
from engine.findings import Finding, Level
from engine.planner import Planned, Replanner
from engine.site import Answers

OFFERED = 3  # cures of one finding at most
TRIES = 24  # plans made for one finding at most


class _Spent(Exception):
    """No more may be tried."""


def cures(document: Mapping[str, Any], code: str, about: str, replanner: Replanner, more: Callable[[], bool] = lambda: True) -> Found:
    """What cures the finding of that code on that key in the plan of these answers.

    Of each way there is (`WAYS`) the least that works is taken. `more` says before each try whether there is still time; `replanner`
    is not changed beyond having planned the answers as they are.
    """
    answers = Answers.model_validate(changed(document, {}))
    planned = replanner.plan(answers, "")
    finding = next((one for one in planned.findings if (one.code, one.about) == (code, about)), None)
    if finding is None or code not in WAYS:
        return Found()
    attempts = _Attempts(document, replanner, more)
    case, found = Case(finding, answers, planned, attempts.plan), list[Cure]()
    try:
        for way in WAYS[code]:
            for given in way(case):
                if any(cure.answers.items() <= given.items() for cure in found):
                    break  # less does as well, so nobody goes on that way
                if cure := attempts.cure(case, given):
                    found.append(cure)
                    break
            if len(found) == OFFERED:
                break
    except _Spent:
        return Found(_best(found), whole=False)
    return Found(_best(found))


def _best(found: list[Cure]) -> tuple[Cure, ...]:
    """The fewest stops left first; else in the order in which they were tried, which is that of their price."""
    return tuple(sorted(found, key=lambda cure: cure.stops))


class _Attempts:
    """Plans with other answers, each begun from the plan of the answers as they are; none is made twice."""

    def __init__(self, document: Mapping[str, Any], replanner: Replanner, more: Callable[[], bool]) -> None:
        self._document, self._replanner, self._more = document, replanner, more
        self._made: dict[tuple[tuple[str, str], ...], Planned | None] = {}

    def plan(self, given: Mapping[str, str]) -> Planned | None:
        """The plan with these answers, None where they cannot be given."""
        key = tuple(sorted(given.items()))
        if key not in self._made:
            if len(self._made) == TRIES or not self._more():
                raise _Spent
            self._made[key] = self._planned(given)
        return self._made[key]

    def _planned(self, given: Mapping[str, str]) -> Planned | None:
        try:
            answers = Answers.model_validate(changed(self._document, given))
        except ValidationError:
            return None
        return copy(self._replanner).plan(answers, "")

    def cure(self, case: Case, given: Mapping[str, str]) -> Cure | None:
        """The cure that these answers are, or None."""
        planned = self.plan(given) if given else None
        return _judged(case.finding, case.planned, planned, given) if planned else None


def _judged(finding: Finding, was: Planned, planned: Planned, given: Mapping[str, str]) -> Cure | None:
    """Whether a finding is gone, its like are fewer, and nothing worse has come.

    No stop may come that was not there; and stops and cautions together may not be more, unless a stop has gone for them, or unless no
    unit was planned before, and so nothing looked at.
    """
    before, after = was.findings, planned.findings
    had, has = ({(one.code, one.about): one for one in some if one.level is not Level.NOTE} for some in (before, after))
    levels, were = (Counter(one.level for one in some) for some in (after, before))
    stops, cautions = levels[Level.STOP], levels[Level.CAUTION]
    alike, were_alike = (sum(one.code == finding.code for one in some) for some in (after, before))
    come = [one for key, one in has.items() if key not in had or (one.level, had[key].level) == (Level.STOP, Level.CAUTION)]
    if (
        any((one.code, one.about) == (finding.code, finding.about) for one in after)
        or alike >= were_alike
        or any(one.level is Level.STOP for one in come)
        or stops > were[Level.STOP]
        or (stops == were[Level.STOP] and was.parts.units.tags and cautions > were[Level.CAUTION])
    ):
        return None
    return Cure(dict(given), tuple(one for key, one in had.items() if key not in has), tuple(come), stops, cautions)
