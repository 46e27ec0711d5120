"""The steps of one unit among those of all: which are done without a break, and where the work goes on in between."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from engine.frozen import dataclass
from engine.sheets.unit.parts import Back
from engine.stages.procedure.part import Section, Step

# The part of a unit's sheet in which its steps of a section stand.
PART_OF: dict[Section, int] = {
    "bench": 4,
    "dead tests": 5,
    "land": 6,
    "dead tests again": 7,
    "battery": 8,
    "chain": 9,
    "power up": 10,
    "voltages": 10,
    "loads": 10,
    "solar": 10,
}


@dataclass(frozen=True)
class Run:
    """Steps of a unit that follow each other, the part of its sheet that they stand in, and what is said behind them."""

    part: int
    steps: tuple[Step, ...]
    back: Back | None


def runs(steps: Sequence[Step], tag: str, tags: Sequence[str]) -> Iterator[Run]:
    """Those of one unit, each with the way back into the order of work."""
    own = [place for place, step in enumerate(steps) if step.who == tag]
    broken = [
        k
        for k, place in enumerate(own)
        if not k or place != own[k - 1] + 1 or PART_OF[steps[place].section] != PART_OF[steps[own[k - 1]].section]
    ]
    for first, end in zip(broken, [*broken[1:], len(own)], strict=True):
        places = own[first:end]
        begin = own[end] if end < len(own) else None
        yield Run(
            PART_OF[steps[places[0]].section],
            tuple(steps[place] for place in places),
            _back(steps[places[-1] + 1 : begin], steps[begin] if begin is not None else None, tags),
        )


def _back(between: Sequence[Step], here: Step | None, tags: Sequence[str]) -> Back | None:
    """The next step of the set that must be done before this unit goes on; where there is none the other units come first."""
    again = f"Here again with step {here.place}." if here else ""
    following = next((step for step in between if step.who not in tags), None)
    if following:
        where = f" ({following.who})" if following.who not in ("set", "chain") else ""
        return Back(f"Back to step {following.place}{where} of the order of work.", again)
    if between:
        return Back(f"Back to step {between[0].place} at the other units.", again)
    return None


def span(steps: Sequence[Step]) -> str:
    """The numbers of some steps in a few words."""
    told = numbers([step.place for step in steps])
    return f"{'step' if told.isdecimal() else 'steps'} {told}" if told else ""


def visits(steps: Sequence[Step]) -> str:
    """Which steps are done at which place before those of the next: "B1 41-43, L1-1 44-46"; nothing where each is done once."""
    if len({step.place for step in steps}) == len(steps):
        return ""
    told = [(at, numbers([step.place for step in some])) for at, some in groupby(steps, key=lambda step: step.at)]
    return "; ".join(f"{at} {some}" for at, some in told)


def numbers(places: Sequence[int]) -> str:
    """Numbers that follow each other as first and last."""
    found: list[list[int]] = []
    for place in places:
        if found and place == found[-1][-1] + 1:
            found[-1].append(place)
        else:
            found.append([place])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in found)
