"""What the tables ask of protective conductors."""

from __future__ import annotations

from engine.quantities import Ampere, SquareMetre
from engine.tables import table
from engine.tables.conductors import Reading
from engine.tables.sizes import Size, read_size

LIVE, SEPARATE, IN_CABLE = "live", "separate", "in cable"


def adiabatic_k(use: str, metal: str, insulation: str) -> Reading:
    """Factor k for "live" conductors, or protective ones "separate" or "in cable" [A s^0.5/m²]."""
    found = table("adiabatic_k")
    for row in found.rows:
        cell = row[insulation]
        if row["use"] == use and row["metal"] == metal and isinstance(cell, float):
            return Reading(cell, found.told)
    raise KeyError(f"{use} {metal} {insulation}")


def live_k(rules: str, metal: str, insulation: str) -> Reading:
    """Factor k of live conductors: from 70 or 90 degC (`iec`), or from 75 or 90 degC (`nec`) [A s^0.5/m²]."""
    if rules == "iec":
        return adiabatic_k(LIVE, metal, insulation)
    found = table("nec_adiabatic")
    row = found.row("metal", metal)
    assert row is not None
    cell = row[insulation]
    assert isinstance(cell, float)
    return Reading(cell, found.told)


def table_54_2(line: SquareMetre) -> Reading:
    """Least protective conductor of the line's own material [m²], before rounding up to a size."""
    found = table("iec_protective")
    # The last row has no end.
    row = next(row for row in found.rows if not isinstance(most := row["up_to"], float) or line <= most * (1 + 1e-9))
    area, share = row["area"], row["share"]
    return Reading(area if isinstance(area, float) else line * float(share or 0.0), found.told)


def protective_k(rules: str, metal: str, insulation: str) -> Reading:
    """Factor k of protective conductors: laid apart, from 30 degC (`iec`); as live ones, which errs to the safe side (`nec`) [A s^0.5/m²]."""
    return adiabatic_k(SEPARATE, metal, insulation) if rules == "iec" else live_k(rules, metal, insulation)


def least_protective(*, protected: bool, metal: str) -> Reading:
    """Least protective conductor that is no part of a cable [m²]."""
    found = table("iec_protective_least")
    row = found.row("situation", "protected" if protected else "unprotected")
    assert row is not None
    area = row[metal]
    assert isinstance(area, float)
    return Reading(area, found.told)


def system_bond(largest: SquareMetre, metal: str) -> Reading:
    """Least bond of a direct-current system under the NEC, by the largest conductor that the system supplies [m²]."""
    found = table("nec_250_166")
    row = found.row("metal", metal)
    assert row is not None
    least, most = (read_size(str(row[column])).area for column in ("least", "most"))
    return Reading(min(max(largest, least), most), found.told)


def main_bonding(metal: str) -> Reading:
    """Least main protective bonding conductor [m²]."""
    found = table("iec_main_bonding")
    area = found.rows[0][metal]
    assert isinstance(area, float)
    return Reading(area, found.told)


def system_jumper(lines: SquareMetre, line_metal: str, metal: str) -> Reading:
    """Least system bonding jumper under the NEC, by the line conductors of one phase together [m²], before rounding up to a size."""
    found = table("nec_250_102")
    *rows, beyond = found.rows
    for row in rows:
        most = row[f"{line_metal}_lines"]
        if isinstance(most, float) and lines <= most * (1 + 1e-3):
            return Reading(read_size(str(row[metal])).area, found.told)
    # Lines of the other metal count as those of the jumper's own that carry as much: the ends of the two columns stand for it.
    ends = {of: rows[-1][f"{of}_lines"] for of in (line_metal, metal)}
    share, end, own = beyond["share"], ends[line_metal], ends[metal]
    assert isinstance(share, float)
    assert isinstance(end, float)
    assert isinstance(own, float)
    return Reading(max(read_size(str(rows[-1][metal])).area, share * lines * own / end), found.told)


def equipment_ground(device: Ampere, metal: str) -> tuple[Size, str] | None:
    """Equipment grounding conductor for a device under the NEC, and its source; None above the table."""
    found = table("nec_250_122")
    for row in found.rows:
        most = row["device"]
        if isinstance(most, float) and device <= most * (1 + 1e-9):
            return read_size(str(row[metal])), found.told
    return None
