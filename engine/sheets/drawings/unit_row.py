"""A unit of a single-line diagram with its circuits: battery and solar at its left, incoming and load at its right."""

from __future__ import annotations

from collections.abc import Sequence

from engine.planner import Planned
from engine.sheets.drawings.bank_side import START
from engine.sheets.drawings.columns import CABLE, DEVICE, PAIR, PANELS, Columns, Row, alternating_cable, direct_cable
from engine.sheets.drawings.named import SYMBOL_OF, Named, tag_of
from engine.sheets.drawings.paper import LINE, Paper
from engine.sheets.drawings.symbols import REACH
from engine.stages.circuits import Ends
from engine.stages.switchgear import Gear, GearKind


class UnitRow:
    """Units between the columns of a sheet."""

    def __init__(self, planned: Planned, at: Columns, named: Named) -> None:
        self._parts, self._at, self._named, self._cables = planned.parts, at, named, named.cables
        self._shared = {ends.bank for ends in self._parts.circuits.of("battery", common=True)}

    def draw(self, paper: Paper, row: Row, top: float, pitch: float, incoming_ends: float) -> None:
        """A unit: battery and solar at its left, incoming and load at its right."""
        at, upper, lower = self._at, top + pitch / 2, top + 1.5 * pitch
        self._unit(paper, row, top, pitch)
        if row.battery:
            self._direct(paper, row.battery, at.bar + 2 if row.bank in self._shared else at.bank + START, upper)
        else:
            paper.words((at.fuse, upper), "no bank")
        if row.solar:
            self._panels(paper, row.solar, lower)
        if row.incoming:
            self._alternating(paper, row.incoming, at.incoming + 3, upper, ())
        if row.load:
            self._alternating(paper, row.load, at.load + 3, lower, (at.incoming + 3,) if lower < incoming_ends else ())

    def _unit(self, paper: Paper, row: Row, top: float, pitch: float) -> None:
        unit, x = row.unit, self._at.unit
        paper.rectangle(x, top + 0.8, self._at.cable - x, 2 * pitch - 1.6, data_unit=unit.tag)
        middle = top + pitch
        paper.symbol("unit", (x + 4.5, middle - 3.9))
        paper.words((x + 8.6, middle - 2.6), unit.tag, size=4.2, bold=True)
        paper.words((x + 1.6, middle + 3.2), f"{unit.phase} {'LEAD' if unit.role == 'lead' else 'follower'}", bold=unit.role == "lead")
        earth = next((ends for ends in self._parts.circuits.circuits if ends.kind == "earth" and ends.tag == unit.tag), None)
        if earth:
            paper.symbol("earth", (x + 4.2, middle + 2.1 + LINE))
            paper.words((x + 6.6, middle + 3.2 + LINE), self._cables.sized(earth))

    def _direct(self, paper: Paper, ends: Ends, start: float, y: float) -> None:
        paper.wire((start, y), (self._at.unit, y), data_circuit=ends.name)
        for gear in self._parts.switchgear.of(ends):
            self._device(paper, gear, self._at.fuse if gear.kind is GearKind.FUSE else self._at.isolator, y)
        self._cable(paper, self._at.direct, y, direct_cable(self._cables, ends), ("plus", "minus"))

    def _panels(self, paper: Paper, ends: Ends, y: float) -> None:
        """Strings with a fuse each have their panels before it; else these stand in its column."""
        x = self._at.fuse - PANELS if self._parts.switchgear.fuse(ends) else self._at.fuse
        paper.symbol("panels", (x + REACH, y))
        if not self._parts.switchgear.fuse(ends):
            paper.astride((x + DEVICE, y), "panels")
        self._direct(paper, ends, x + 2 * REACH, y)

    def _device(self, paper: Paper, gear: Gear, x: float, y: float) -> None:
        paper.symbol(SYMBOL_OF[gear.kind], (x + REACH, y), data_gear=gear.tag)
        paper.strokes((x + 2 * REACH + 0.4, y), gear.poles)
        paper.astride((x + DEVICE, y), tag_of(gear), self._named.rated(gear))

    def _cable(self, paper: Paper, x: float, y: float, told: tuple[str, str], poles: Sequence[str]) -> None:
        paper.strokes((x + 0.8, y), poles)
        paper.astride((x + (CABLE if len(poles) > 2 else PAIR), y), *told)

    def _alternating(self, paper: Paper, ends: Ends, bar: float, y: float, over: Sequence[float]) -> None:
        at = self._at
        paper.across(y, at.cable, bar, over, data_circuit=ends.name)
        paper.dot((bar, y))
        self._cable(paper, at.cable, y, alternating_cable(self._cables, ends), (ends.phase or "", "N", "PE"))
        for gear in self._parts.switchgear.of(ends):
            if gear.kind is not GearKind.RESIDUAL:
                self._device(paper, gear, at.breaker, y)
