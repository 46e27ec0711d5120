"""The single-line diagram in plain characters: every circuit from its source on, a line each, from the rows of the plan alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from engine.plan import CircuitRow, GearRow, Plan
from engine.sheets.devices import BOND, UNKNOWN, cable_of, device_notes, letters
from engine.sheets.text.layout import WIDTH, cells, wrapped
from engine.sheets.text.top import head, stops
from engine.text import clean

if TYPE_CHECKING:
    from engine.planner import Planned

_SIGNS = {
    "fuse": "F",
    "isolator": "/",
    "breaker": "x",
    "breaker that is there": "x",
    "residual-current device": "D",
    "surge device": "S",
}
_POLES = {"plus": "+", "minus": "-"}


def single_line_text(planned: Planned) -> str:
    """The paper."""
    top = (*head(planned, "SINGLE-LINE DIAGRAM"), *stops(planned, 3), "")
    return "\n".join((*top, *lines(planned.plan))) + "\n"


def lines(plan: Plan, columns: int = WIDTH) -> list[str]:
    """The diagram alone, no line longer than `columns`; one line that says so where the plan has no units."""
    if not plan.units:
        return ["The plan has no units: nothing to draw."]
    drawn = _Drawn(plan, columns)
    return [line for title, part in drawn.sections() if part for line in (title, *part, "")] + drawn.legend()


class _Drawn:
    def __init__(self, plan: Plan, columns: int) -> None:
        self._plan, self._columns = plan, columns
        self._letters = letters(plan)
        self._gear: dict[str, list[GearRow]] = {}
        for gear in plan.switchgear:
            self._gear.setdefault(gear.circuit or gear.place, []).append(gear)

    def sections(self) -> Iterator[tuple[str, list[str]]]:
        """Headings, each with its lines."""
        yield (
            "UNITS",
            [line for unit in self._plan.units for line in self._wrapped(f"{unit.tag}: {unit.phase}, {unit.role}, {_bank(unit.bank)}")],
        )
        boards = [circuit.to for circuit in self._plan.circuits if circuit.kind == "load"][:1]
        yield "SUPPLY", self._of("incoming", "incoming board")
        for bank in self._plan.banks:
            own = [c for c in self._plan.circuits if c.kind == "battery" and bank.name in (c.from_, c.from_.removeprefix("bar "))]
            yield f"BANK {bank.name}", [line for circuit in own for line in self._circuit(circuit)]
        yield "LOADS", self._of("load", boards[0] if boards else "load board")
        yield "SOLAR", self._of("solar", "")
        yield "EARTH", [*self._of("earth", ""), *self._bond()]

    def legend(self) -> list[str]:
        """What signs and letters mean."""
        used = dict.fromkeys(gear.kind for gear in self._plan.switchgear if gear.kind in _SIGNS)
        signs = "; ".join(f"{_SIGNS[kind]} {kind}" for kind in used if kind != "breaker that is there" or "breaker" not in used)
        told = [f"[sign tag rating, breaking, poles]: {signs}."]
        told += [f"{note}." for note in device_notes(self._plan)]
        told += [f"{letter} {cable}" for cable, letter in self._letters.items()]
        return [line for words in told for line in wrapped(words, rest="    ", columns=self._columns)]

    def _of(self, kind: str, board: str) -> list[str]:
        """The circuits of a kind, those of the set first where they feed the others; then what sits on their board."""
        found = sorted((c for c in self._plan.circuits if c.kind == kind), key=lambda c: (c.from_ != c.to) == (kind == "incoming"))
        drawn = [line for circuit in found for line in self._circuit(circuit)]
        return drawn + [
            line
            for gear in self._gear.get(board, ())
            if gear.kind == "surge device"
            for line in self._joined([board, self._piece(gear), "earth"])
        ]

    def _circuit(self, circuit: CircuitRow) -> list[str]:
        common = circuit.from_ == circuit.to
        start = "supply" if common and circuit.kind == "incoming" else "panels" if circuit.kind == "solar" else circuit.from_
        end = "loads" if common and circuit.kind == "load" else circuit.to
        gear, cable = [self._piece(piece) for piece in self._gear.get(circuit.name, ())], self._conductor(circuit)
        return self._joined([start, *((cable, *gear) if circuit.kind == "load" else (*gear, cable)), end])

    def _piece(self, gear: GearRow) -> str:
        curve = gear.name.removeprefix("breaker curve ") + " " if (gear.name or "").startswith("breaker curve ") and gear.name else ""
        first = gear.voltage if gear.kind == "surge device" else gear.rating
        told = [
            f"{curve}{first or UNKNOWN}",
            *([gear.breaking] if gear.breaking else []),
            " ".join(_POLES.get(pole, pole) for pole in gear.poles.split()),
        ]
        many = f" x{gear.count}" if gear.count else ""
        return f"[{_SIGNS[gear.kind]} {gear.tag}{many} {', '.join(told)}]"

    def _conductor(self, circuit: CircuitRow) -> str:
        if not circuit.conductor:
            return f"cable {UNKNOWN}"
        size = f"{circuit.parallel}x{circuit.conductor}" if (circuit.parallel or 1) > 1 else circuit.conductor
        neutral = f" N {circuit.neutral}" if circuit.neutral and circuit.neutral != circuit.conductor else ""
        earth = f" PE {circuit.earth}" if circuit.kind in ("load", "incoming") and circuit.earth else ""
        bond = f"{circuit.name}: " if circuit.name.startswith("bond ") else ""
        return f"{bond}{size} {self._letters.get(cable_of(circuit), '')}".rstrip() + neutral + earth

    def _bond(self) -> list[str]:
        for gear in self._plan.switchgear:
            if gear.kind == BOND:
                made = f" with {gear.conductor}" if gear.conductor else ""
                return self._wrapped(f"{gear.tag}: N to PE while the units run alone: {gear.name}{made}, at {_ascii(gear.place)}")
        return self._wrapped("No bond of neutral and earth while the units run alone.")

    def _wrapped(self, words: str) -> list[str]:
        return wrapped(words, " ", "    ", self._columns)

    def _joined(self, parts: Sequence[str]) -> list[str]:
        """Parts of a circuit with lines between; what does not fit goes on below."""
        found = [f" {parts[0]}"]
        for place, part in enumerate(parts[1:], 1):
            arrow = "-->" if place == len(parts) - 1 else "--"
            if cells(found[-1]) + len(arrow) + 2 + cells(part) > self._columns and found[-1].strip() != "--":
                found.append("    ")
            found[-1] += f" {arrow} {part}" if found[-1].strip() else f"{arrow} {part}"
        return [
            line for words in found for line in wrapped(words.strip(), words[: len(words) - len(words.lstrip())], "      ", self._columns)
        ]


def _bank(name: str | None) -> str:
    return f"bank {name}" if name else "no bank"


def _ascii(words: str) -> str:
    return clean(words).encode("ascii", "replace").decode()
