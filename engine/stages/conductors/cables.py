"""Which cable each circuit is made of: by its insulation and metal, its voltage, its way and whom it shares that with (S35)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache

from engine.facts import Facts, Instead
from engine.formulas.phasors import phase_to_phase
from engine.frozen import dataclass
from engine.quantities import Volt, shown
from engine.site.wall import Carries
from engine.stages.circuits import Circuits, Ends
from engine.stages.conductors.part import Cable
from engine.stages.storage.part import Storage
from engine.stages.strings import Strings
from engine.tables import Cell, table
from engine.tables.conductors import COPPER
from engine.text import listed
from engine.workings import Figure, chosen, work

_AC = ("load", "incoming")
_USE: Mapping[Carries, str] = {"battery": "battery", "solar": "string"}  # all else is fixed wiring
_IN_CONDUIT = ("A1", "A2", "B1", "B2")
_BURIED = ("D1",)
_MARGIN = 2.0  # a battery cable's class over the bank's highest voltage (S35)
_BESIDE_AC: Volt = 1000.0  # 0.6/1 kV (S35)


@dataclass(frozen=True)
class Made:
    """The cable of one circuit, why it is of that voltage class, and whether that class is high enough for all that is known of it."""

    cable: Cable
    voltage_class: Figure
    proven: bool


def cables(facts: Facts, circuits: Circuits, highest: Mapping[str, Figure | None], methods: Mapping[Carries, Instead]) -> dict[str, Made]:
    """The cable of every circuit; `methods` by kind stand for those that are assumed, `highest` is its voltage."""
    # Whether two circuits meet in a lane is not asked, for a lane is one tray or trunking.
    lanes: dict[int | None, list[Ends]] = {}
    for ends in circuits.circuits:
        lanes.setdefault(facts.lane(ends.kind, ends.to), []).append(ends)
    beside = {
        ends.name: [other for other in some if lane is not None and other.kind not in ("earth", ends.kind)]
        for lane, some in lanes.items()
        for ends in some
    }
    return {ends.name: _made(facts, beside[ends.name], highest, ends, methods.get(ends.kind)) for ends in circuits.circuits}


def highest_voltage(facts: Facts, storage: Storage, strings: Strings, ends: Ends) -> Figure | None:
    """The highest voltage between two conductors of a circuit."""
    if ends.kind == "battery":
        bank = storage.of(ends.bank)
        return bank.emf_full if bank else None
    if ends.kind == "solar":
        return strings.cold_voc
    if ends.kind in _AC:
        voltage = facts.figure("output.voltage" if ends.kind == "load" else "incoming.voltage")
        lines = len(facts.phases if ends.kind == "load" else facts.incoming_lines)
        return work(f"{ends.key}.highest_voltage", phase_to_phase, voltage=voltage, lines=lines) if voltage and lines else None
    return None


def _made(facts: Facts, beside: Sequence[Ends], highest: Mapping[str, Figure | None], ends: Ends, instead: Instead | None) -> Made:
    method, insulation, metal = facts.laid(ends.kind, ends.to)
    if instead and facts.assumes_method(ends.kind, ends.to):
        method = instead.value
    # No aluminium is stranded finely enough to bend: what is asked for in it is fixed wiring.
    use = _USE.get(ends.kind, "fixed") if metal == COPPER else "fixed"
    asked = [*_asked(facts, beside, highest, ends)]
    least = max((volts for volts, _, _ in asked), default=0.0)
    bare = method in _IN_CONDUIT or (ends.kind == "earth" and method not in _BURIED)
    rows = _stocked(facts.rules, use, insulation)
    enough = [row for row in rows if _volts(row) >= least * (1 - 1e-9)]
    fitting = [row for row in enough if bare or row["sheath"] != "no"]
    row = (fitting or rows[-1:])[0]
    way = "sheathed, for it lies in no conduit or trunking" if enough and row is not enough[0] else ""
    note = "; ".join(word for word in (*(word for _, word, _ in asked), way) if word) or "the lowest class of its kind"
    of = [figure for _, _, figure in asked if figure]
    source = f"S35; {row['standard']}" + ("; IEC 60364-5-52 521.10.1 (from memory)" if way else "")
    figure = chosen(f"{ends.key}.voltage_class", _volts(row), "V", note, source, of, str(row["class"]))
    known = ends.kind == "earth" or highest[ends.name] is not None
    return Made(_cable(metal, row), figure, bool(fitting) and known)


@cache
def _stocked(rules: str, use: str, insulation: str) -> Sequence[Mapping[str, Cell]]:
    """The cables of a use, from the lowest class up."""
    return [row for row in table("cables").rows if row["rules"] == rules and row["use"] == use and row["insulation"] in (None, insulation)]


def _volts(row: Mapping[str, Cell]) -> Volt:
    volts = row["voltage"]
    assert isinstance(volts, float)
    return volts


def _cable(metal: str, row: Mapping[str, Cell]) -> Cable:
    temperature = row["temperature"]
    assert isinstance(temperature, float)
    rated = " ".join(word for word in (shown(temperature, "K"), str(row["where"] or "")) if word)
    return Cable(metal, str(row["name"]), rated, str(row["stranding"]), str(row["class"]))


def _asked(
    facts: Facts, beside: Sequence[Ends], highest: Mapping[str, Figure | None], ends: Ends
) -> Iterator[tuple[Volt, str, Figure | None]]:
    """The least voltages between two conductors that the cable must be made for, in words; earth conductors need not be insulated at all."""
    if ends.kind == "earth":
        return
    own = highest[ends.name]
    if own and ends.kind == "battery":
        yield _MARGIN * own.value, f"at least twice the bank's highest voltage, {own}", own
    elif own:
        yield own.value, f"at least its own {own}", own
    if ends.kind == "battery" and facts.rules == "iec" and (ac := [other.name for other in beside if other.kind in _AC]):
        yield _BESIDE_AC, f"0.6/1 kV, for it shares its way with {listed(ac)}", None
    # IEC 60364-5-52 528.1, NEC 300.3(C)(1): everything in one way is insulated for the highest voltage there.
    if voltages := [voltage for other in beside if (voltage := highest[other.name])]:
        most = max(voltages, key=lambda voltage: voltage.value)
        yield most.value, f"at least the {most} of what shares its way", most
