"""The diagram with every conductor: each pole is a line of its own, and a device stands in the poles that it opens, in no other.

Lines are joined where a dot is. Banks stand at the left, units in the middle, the bars of earth, incoming board and load board at the right.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from engine.frozen import dataclass
from engine.planner import Planned
from engine.sheets.drawings.columns import Row, rows_of
from engine.sheets.drawings.foot import HEAD, Foot, head
from engine.sheets.drawings.named import tag_of
from engine.sheets.drawings.outside import WIDE, Outside
from engine.sheets.drawings.paper import A4, LINE, Paper, room
from engine.sheets.drawings.poles import BAR, device, pole_line
from engine.sheets.drawings.symbols import REACH
from engine.sheets.head import stamp
from engine.stages.circuits import INCOMING_BOARD, LOAD_BOARD, Ends
from engine.stages.switchgear import Gear, GearKind

_MOST = 6  # units
_TITLES = 2 * LINE + 1.3  # names of boards and bars above the rows
_BELOW = 3.8  # where earth bar and board meet, below the rows
_ROW, _MOST_ROW = 21.8, 34.0  # mm, of a unit; where its lines lie in the least of them:
_IN, _OUT, _CASE = {"L": 1.9, "N": 6.1, "PE": 8.4}, {"L": 14.1, "N": 18.3, "PE": 20.4}, 11.0
_BATTERY, _SOLAR, _BANK = {"plus": 1.9, "minus": 6.1}, {"plus": 14.1, "minus": 18.3}, {"plus": 9.0, "minus": 14.8}
_SIGN = {"plus": "+", "minus": "\N{MINUS SIGN}"}
_NOTE = "Lines are joined at dots only. A device opens the poles that it stands in. Ratings, sizes: single-line diagram."
_SHORT = " A tag in the row of a unit is that unit's."
_TITLE = {INCOMING_BOARD: "incoming", LOAD_BOARD: "load"}  # no room for more above the bars of one line


def three_pole(planned: Planned, size: tuple[float, float] = A4, *, headed: bool = True) -> tuple[str, ...]:
    """The sheet as SVG, `size` in millimetres of paper; none where the plan has no units or more than six. Not `headed` on a page that says
    itself which plan it is of.
    """
    rows = rows_of(planned)
    return (_Sheet(planned, rows, size, headed=headed).svg(),) if 0 < len(rows) <= _MOST else ()


@dataclass(frozen=True)
class _Places:
    """Where everything begins, mm from the left."""

    bank: float
    bars: float
    fuse: float
    isolator: float
    unit: float
    breaker: float
    earth: float
    incoming: float
    load: float
    outside: float


class _Sheet:
    def __init__(self, planned: Planned, rows: Sequence[Row], size: tuple[float, float], *, headed: bool) -> None:
        self._headed, self._top = headed, (HEAD if headed else 0.0) + _TITLES
        self._planned, self._parts, self._rows, self._size = planned, planned.parts, rows, size
        facts = planned.facts
        incoming = {} if facts.incoming_kind == "none" else {INCOMING_BOARD: (*facts.incoming_lines, "N", "PE")}
        self._poles = {**incoming, LOAD_BOARD: (*facts.phases, "N", "PE")}
        self._short = False
        self._at = self._places()
        if self._at.outside + WIDE > size[0] - 1:
            self._short = True
            self._at = self._places()
        self._high, self._foot = _ROW, Foot((), (), size[0])
        self._foot = Foot(self._drawn().used, (_NOTE + (_SHORT if self._short else ""),), size[0])
        self._high = min(_MOST_ROW, (size[1] - self._top - _BELOW - self._foot.height) / len(rows))

    def _places(self) -> _Places:
        rows, gear = self._rows, self._parts.switchgear
        direct = [piece for row in rows for ends in (row.battery, row.solar) if ends for piece in gear.of(ends)]
        fuses, opening = [p for p in direct if not p.opens], [p for p in direct if p.opens]
        alternating = [piece for row in rows for ends in (row.load, row.incoming) if ends for piece in gear.of(ends) if piece.opens]
        shared = any(self._chain(row.bank) for row in self._rows)
        takes = [
            _BESIDE_BANK + (2 * (2 * REACH + 0.9 + room("B1.F1")) if shared else 0.0),
            2 * BAR + 1.0 + (_PANELS if any(row.solar for row in self._rows) else 0.0),
            self._wide(fuses),
            self._wide(opening),
            _UNIT,
            2.0 + self._wide(alternating),
            5.0,
            *(max(BAR * len(poles) + 2.4, room(_TITLE[board]) + 2.0) for board, poles in self._poles.items()),
        ]
        spare = max(0.0, self._size[0] - 2 - sum(takes) - WIDE)
        shares = (0.2, 0.0, 0.2, 0.2, 0.0, 0.2, *(0.0 for _ in takes[6:]))
        starts = [1.0]
        for take, share in zip(takes, shares, strict=True):
            starts.append(starts[-1] + take + share * spare)
        boards = dict(zip(self._poles, starts[7:], strict=False))
        bank, bars, fuse, isolator, unit, breaker, earth = starts[:7]
        incoming, load = boards.get(INCOMING_BOARD, 0.0), boards[LOAD_BOARD]
        return _Places(bank, bars, fuse, isolator, unit, breaker, earth, incoming, load, starts[-1])

    def _tag(self, gear: Gear) -> str:
        """Its tag; without the unit that it belongs to, where there is no room for more."""
        return tag_of(gear).rpartition(".")[2] if self._short else tag_of(gear)

    def _wide(self, pieces: Sequence[Gear]) -> float:
        """A symbol and the longest tag behind it."""
        return 2 * REACH + 0.9 + max((room(self._tag(piece)) for piece in pieces), default=0.0)

    def svg(self) -> str:
        """The whole sheet."""
        paper = self._drawn()
        self._foot.draw(paper, self._size[1] - self._foot.height)
        return paper.svg()

    def _drawn(self) -> Paper:
        paper = Paper(self._size, "diagram of every conductor", stamp(self._planned.plan))
        if self._headed:
            head(paper, self._planned, "diagram of every conductor")
        top = self._top
        taken = [y for place, row in enumerate(self._rows) for y in self._row(paper, row, top + self._high * place)]
        for bank in dict.fromkeys(row.bank for row in self._rows if row.bank):
            self._bank(paper, bank, top)
        outside = Outside(self._planned, self._at.outside, self._size[0] - 1)
        low = outside.draw(paper, top, taken, {name: self._bars_at(name) for name in self._poles})
        self._bars(paper, top, max(top + self._high * len(self._rows), low))
        return paper

    def _scaled(self, top: float, heights: Mapping[str, float]) -> dict[str, float]:
        return {pole: top + y * self._high / _ROW for pole, y in heights.items()}

    # --- boards ---

    def _bars_at(self, board: str) -> dict[str, float]:
        """Where each bar of a board stands."""
        start = self._at.incoming if board == INCOMING_BOARD else self._at.load
        return {pole: start + 1.5 + BAR * place for place, pole in enumerate(self._poles[board])}

    def _bars(self, paper: Paper, top: float, bottom: float) -> None:
        """The bars with their names, and the earth bar, which meets the board where the installation is earthed."""
        x, y = self._at.earth + 1.5, bottom + 3
        for board in self._poles:
            bars = self._bars_at(board)
            paper.words((min(bars.values()) - 1.5, top - LINE - 2.0), _TITLE[board])
            for pole, bar in bars.items():
                pole_line(paper, pole, (bar, top - 0.6), (bar, bottom), bar=True)
                paper.words((bar, top - 1.6), pole, anchor="middle")
        pole_line(paper, "PE", (x, top - 0.6), (x, y), bar=True)
        paper.words((x + 0.6, top - LINE - 2.0), "earth", anchor="end")
        paper.words((x + 0.6, top - 1.6), "bar", anchor="end")
        for place, (board, ends) in enumerate(self._parts.circuits.boards().items()):
            met, low = self._bars_at(board)["PE"], y - 1.4 * place
            pole_line(paper, "PE", (met, bottom), (met, low), (x, low), data_circuit=ends.name)
            paper.dot((met, bottom))
            paper.dot((x, low))

    # --- a unit ---

    def _row(self, paper: Paper, row: Row, top: float) -> list[float]:
        """One unit with its lines; the heights at which they meet the bars of the boards."""
        at, tag, right = self._at, row.unit.tag, self._at.breaker - 2.0
        middle = (at.unit + right) / 2
        case = top + _CASE * self._high / _ROW
        paper.rectangle(at.unit, top + 0.4, right - at.unit, self._high - 1.2, data_unit=tag)
        paper.words((middle, case + 0.3), f"{tag} LEAD" if row.unit.role == "lead" else tag, bold=True, anchor="middle")
        earth = next((ends for ends in self._parts.circuits.circuits if ends.kind == "earth" and ends.tag == tag), None)
        if earth:
            pole_line(paper, "PE", (right, case), (at.earth + 1.5, case), data_circuit=earth.name)
            paper.dot((at.earth + 1.5, case))
        self._direct(paper, row.battery, self._scaled(top, _BATTERY), "bat", self._start(row))
        self._direct(paper, row.solar, self._scaled(top, _SOLAR), "sol", (at.fuse - 2.0, at.fuse - 2.0))
        if row.solar:
            self._panels(paper, self._scaled(top, _SOLAR))
        sides = ((row.incoming, INCOMING_BOARD, _IN, "in"), (row.load, LOAD_BOARD, _OUT, "out"))
        return [y for ends, board, lines, name in sides if ends for y in self._side(paper, ends, board, self._scaled(top, lines), name)]

    def _side(self, paper: Paper, ends: Ends, board: str, ys: Mapping[str, float], name: str) -> list[float]:
        """Line, neutral and earth of a unit's input or output, each to its bar."""
        bars, right = self._bars_at(board), self._at.breaker - 2.0
        heights = {ends.phase or "": ys["L"], "N": ys["N"], "PE": ys["PE"]}
        for pole, y in heights.items():
            pole_line(paper, pole, (right, y), (bars[pole], y), data_circuit=f"{ends.name} {pole}")
            paper.dot((bars[pole], y))
            paper.words((right - 0.8, y + 1.1), "" if pole == "PE" else f"{name} {pole}", anchor="end")
        for gear in self._parts.switchgear.of(ends):
            if gear.kind is not GearKind.RESIDUAL:
                device(paper, gear, self._at.breaker, heights, self._tag(gear))
        return list(heights.values())

    def _direct(self, paper: Paper, ends: Ends | None, ys: Mapping[str, float], name: str, starts: tuple[float, float]) -> None:
        """Plus and minus to a unit."""
        if not ends:
            return
        for (pole, y), start in zip(ys.items(), starts, strict=True):
            paper.wire((start, y), (self._at.unit, y), data_circuit=f"{ends.name} {pole}")
            paper.words((self._at.unit + 0.8, y + 1.1), f"{name} {_SIGN[pole]}")
        for gear in self._parts.switchgear.of(ends):
            device(paper, gear, self._at.fuse if gear.kind is GearKind.FUSE else self._at.isolator, ys, self._tag(gear))

    def _panels(self, paper: Paper, ys: Mapping[str, float]) -> None:
        x, middle = self._at.fuse - 2.0 - REACH, sum(ys.values()) / 2
        paper.symbol("panels", (x, middle))
        for y in ys.values():
            paper.wire((x + REACH, middle), (x + REACH, y))

    # --- banks ---

    def _chain(self, bank: str | None) -> Ends | None:
        """The circuit from a bank to its bars, where it has some."""
        return next((ends for ends in self._parts.circuits.of("battery", common=True) if ends.bank == bank), None)

    def _bar_at(self, pole: str) -> float:
        return self._at.bars + 1.0 + (BAR if pole == "minus" else 0.0)

    def _start(self, row: Row) -> tuple[float, float]:
        """Where plus and minus of a unit begin: at bars, or at a bank of its own."""
        return (self._bar_at("plus"), self._bar_at("minus")) if self._chain(row.bank) else (self._at.bank + 10.0, self._at.bank + 10.0)

    def _bank(self, paper: Paper, bank: str, top: float) -> None:
        """A bank at the left of its first unit, and the bars that its units hang on."""
        rows = [top + self._high * place for place, row in enumerate(self._rows) if row.bank == bank]
        chain = self._chain(bank)
        ys = self._scaled(rows[0], _BANK if chain else _BATTERY)
        x, middle = self._at.bank + 6.0, sum(ys.values()) / 2
        paper.symbol("battery", (x, middle), turned=-90, data_bank=bank)
        for pole, y in ys.items():
            post = middle + (REACH if pole == "minus" else -REACH)
            paper.wire((x, post), (x + 4.0, post), (x + 4.0, y))
        paper.words((self._at.bank, middle - 2.4), bank, bold=True)
        if chain:
            self._bars_of(paper, chain, ys, rows)
        self._earthed(paper, bank, (x + 2.0, max(ys["minus"], middle + REACH)), ys)

    def _bars_of(self, paper: Paper, chain: Ends, ys: Mapping[str, float], rows: Sequence[float]) -> None:
        """From a bank over what protects and opens it to its two bars, and those down to its last unit."""
        x = self._at.bank + _BESIDE_BANK
        step = (self._at.bars - x) / 2
        for place, gear in enumerate(self._parts.switchgear.of(chain)):
            device(paper, gear, x + step * place, ys, gear.tag)
        for pole, y in ys.items():
            bar = self._bar_at(pole)
            met = [self._scaled(row, _BATTERY)[pole] for row in rows]
            paper.wire((self._at.bank + 10.0, y), (bar, y), data_circuit=f"{chain.name} {pole}")
            pole_line(paper, pole, (bar, met[0]), (bar, max(y, met[-1])), bar=True)
            for height in (y, *met):
                paper.dot((bar, height))
            paper.words((bar, max(y, met[-1]) + 3.6), _SIGN[pole], anchor="middle")

    def _earthed(self, paper: Paper, bank: str, at: tuple[float, float], ys: Mapping[str, float]) -> None:
        """The bond of an earthed pole and the earths of a bank's cases: their conductors land on the earth bar."""
        bond = self._parts.circuits.bond(bank)
        if not bond:
            return
        x, y = at[0] + 3.0, at[1] + 1.6
        start = ys[self._planned.facts.earthed_pole or "minus"]
        pole_line(paper, "PE", (x, start), (x, y), data_circuit=bond.name)
        paper.dot((x, start))
        paper.symbol("earth", (x, y + REACH), turned=90)
        names = (bond.name, *(ends.name for ends in self._parts.circuits.earths(bank)))
        for place, name in enumerate(names):
            paper.words((x + 2.4, y + 3.2 + LINE * place), name)


_UNIT = 27.5  # mm, the words at both sides of it
_BESIDE_BANK = 11.0  # mm, a bank with its name
_PANELS = 8.4  # mm, panels between the bars of a bank and fuses
