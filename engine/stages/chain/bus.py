"""The data bus as a line: how long it may be, how long a stub, and what its pair reads."""

from __future__ import annotations

from engine.facts import Facts
from engine.formulas.bus import longest_rs485, shared_tap, terminated_resistance
from engine.quantities import BitPerSecond, Metre
from engine.tables import table
from engine.workings import Figure, chosen, tabled, work


def longest_bus(rate: BitPerSecond | None, kind: str | None) -> tuple[Metre, str] | None:
    """The longest bus at a bit rate, and the source; of an unknown kind the shorter one."""
    if rate is None:
        return None
    limits = {
        "CAN": (_can("can_lengths", "bus", rate), table("can_lengths").told),
        "RS-485": (longest_rs485(rate), "TIA-485 application guides"),
    }
    return limits[kind] if kind else min(limits.values())


def longest_stub(facts: Facts, nodes: int) -> Figure | None:
    """How long a node's own lead may be: by the bit rate (CAN), or where all leave one box (RS-485); of an unknown kind the shorter one."""
    bus, rate = facts.answers.unit.bus, facts.figure("unit.bus.bit_rate")
    found = []
    if bus.kind != "CAN":
        row, source = table("rs485_limits").rows[0], table("rs485_limits").told
        single, shared = (
            tabled(f"plan.chain.{name}", value, "m", source)
            for name in ("single_tap", "shared_taps")
            if isinstance(value := row[name], float)
        )
        found.append(work("plan.chain.longest_stub", shared_tap, single=single, shared=shared, taps=nodes, note="all nodes from one box"))
    if bus.kind != "RS-485" and rate:
        note = f"CAN at {rate}; the shortest of what makers print"
        found.append(chosen("plan.chain.longest_stub", _can("can_stubs", "stub", rate.value), "m", note, table("can_stubs").told, [rate]))
    known = bus.kind == "RS-485" or rate is not None
    return min(found, key=lambda figure: figure.value) if found and known else None


def resistance(terminators: int) -> Figure:
    """What an ohmmeter reads across the data pair, all nodes unpowered."""
    source = table("rs485_limits")
    one = source.rows[0]["terminator"]
    assert isinstance(one, float)
    told = tabled("plan.chain.terminator", one, "ohm", source.told, "of a CAN bus as well")
    return work("plan.chain.resistance", terminated_resistance, terminator=told, count=terminators)


def _can(name: str, column: str, rate: BitPerSecond) -> Metre:
    """The longest that a table allows at this rate or a higher one; nothing above its highest."""
    lengths = (row[column] for row in table(name).rows if isinstance(at := row["bit_rate"], float) and at >= rate)
    return max((length for length in lengths if isinstance(length, float)), default=0.0)
