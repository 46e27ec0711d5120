"""Steps of the order of work by their names, as a paper refers to them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.text import listed

if TYPE_CHECKING:
    from engine.planner import Planned


def steps(planned: Planned, *names: str, at: str = "") -> str:
    """The numbers of the steps of these names, wherever they are done or `at` one place; no words where there is none."""
    found = sorted({step.place for step in planned.parts.procedure.steps if step.id.partition("@")[0] in names and at in ("", step.at)})
    runs: list[list[int]] = []
    for place in found:
        if runs and place == runs[-1][-1] + 1:
            runs[-1].append(place)
        else:
            runs.append([place])
    told = [str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs]
    return f"step{'s' if len(found) > 1 else ''} {listed(told, most=len(told))}" if found else ""
