"""The findings in the words of people: what stops the plan, and every caution as a decision that somebody signs."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from itertools import groupby
from typing import TYPE_CHECKING

from engine.findings import Finding, Level
from engine.frozen import dataclass
from engine.site.spoken import spoken
from engine.tables.decisions import Gravity
from engine.tables.decisions import decisions as asked
from engine.tables.rules import told
from engine.text import clean

if TYPE_CHECKING:
    from engine.planner import Planned

GRAVITIES: Mapping[Gravity, str] = {
    "danger": "People, fire, destroyed equipment",
    "supply": "The supply fails, or gives less",
    "cost": "Money, comfort, wear",
    "confirm": "Assumed, to be looked up or measured",
}

_PRACTICE = "licensed-practice"
_ELSEWHERE = {_PRACTICE, "tables-from-memory", "bond-place-unanswered", "storage-mode-words-missing"}


@dataclass(frozen=True)
class Told:
    """One finding: the things that it is noticed on, what was noticed, what cures it, its rule."""

    places: tuple[str, ...]
    text: str
    remedy: str
    source: str


@dataclass(frozen=True)
class Decision:
    """What one or more cautions ask somebody to decide.

    `decide` is what going on as planned means, `instead` what else could be done; `who` signs, after asking those in `ask`; `places` are
    those of all its findings.
    """

    gravity: Gravity
    title: str
    decide: str
    instead: str
    who: str
    ask: tuple[str, ...]
    places: tuple[str, ...]
    findings: tuple[Told, ...]

    @property
    def signed_by(self) -> str:
        """Who signs, and whom they ask before."""
        return f"{self.who} (ask: {', '.join(self.ask)})" if self.ask else self.who


def stops(planned: Planned) -> tuple[Told, ...]:
    """What forbids energising."""
    return tuple(_told(finding) for finding in planned.findings if finding.level is Level.STOP)


def decisions(planned: Planned) -> tuple[Decision, ...]:
    """What must be decided before anyone goes on, from the gravest on."""
    cautions = [finding for finding in planned.findings if finding.level is Level.CAUTION]
    alike: dict[tuple[str, ...], list[Finding]] = {}
    for finding in cautions:
        alike.setdefault(asked()[finding.code].codes, []).append(finding)
    return tuple(_decision(found) for found in alike.values())


def notes(planned: Planned) -> tuple[Told, ...]:
    """What is good to know; what the head of every paper says, and what is to be confirmed, is left out."""
    return tuple(_told(finding) for finding in planned.findings if finding.level is Level.NOTE and finding.code not in _ELSEWHERE)


def practice(planned: Planned) -> Told:
    """What no plan replaces: which rules it follows as far as it knows them, and who must check and do the work."""
    return next(_told(finding) for finding in planned.findings if finding.code == _PRACTICE)


def _decision(found: list[Finding]) -> Decision:
    row, said = asked()[found[0].code], tuple(map(_told, found))
    places = tuple(dict.fromkeys(place for one in said for place in one.places))
    return Decision(row.gravity, row.title, row.decide, row.instead, row.who, row.ask, places, said)


def _told(finding: Finding) -> Told:
    text, remedy = (spoken(clean(part, 2000)) for part in (finding.text, finding.remedy))
    return Told(_places(finding), text, remedy, told(finding.source))


def _places(finding: Finding) -> tuple[str, ...]:
    """The things that it is noticed on; none where it is about the whole site. A number tells a person nothing."""
    where = finding.where if finding.where is not None else re.findall(r"\[([^\]]+)\]", finding.about)
    return tuple(dict.fromkeys(clean(place, 60) for place in where if not re.fullmatch(r"#?\d+", place)))


def placed(places: Iterable[str]) -> str:
    """Places in a row, each kind of circuit named once: "battery L1-1, L1-2; load L1-1; B1"."""
    kinds = groupby((_split(place) for place in places), key=lambda pair: pair[0])
    return "; ".join(f"{kind} {', '.join(name for _, name in some)}".strip() for kind, some in kinds)


def _split(place: str) -> tuple[str, str]:
    """The kind of a circuit, and whose it is; "" for whatever else has a name."""
    found = re.fullmatch(r"(battery|load|incoming|solar|earth|bond) (common|[LB]\d\S*)", place)
    return (found[1], found[2]) if found else ("", place)
