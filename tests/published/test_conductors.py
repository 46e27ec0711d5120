"""Our tables of conductors and devices, and our formulas, against what is published."""

from __future__ import annotations

import random

import pytest

from engine.tables import names, table
from tests.published import conductor_checks as published


@pytest.mark.parametrize("which", published.TABLES)
def test_table(which: str) -> None:
    """Every cell of a published table is in ours, but for the deviations listed."""
    assert published.table_faults(published.TABLES[which]) == []


@pytest.mark.parametrize("which", published.CHECKS)
def test_check(which: str) -> None:
    """Our formula gives what the source prints, from the source's own constants."""
    assert published.check_faults(published.CHECKS[which]) == []


def test_every_check_is_called() -> None:
    assert set(published.OURS) == set(published.CHECKS)
    assert len(published.CHECKS) == 54
    assert sum(c.get("whole", False) for c in published.CHECKS.values()) == 12, "complete worked examples"


def test_laws() -> None:
    """Tables that no copy was found of obey physics, preferred numbers or the text of their standard."""
    assert list(published.law_faults()) == []


# Every table that this part of the engine reads; the others have tests of their own.
OURS = {
    *(to.split(".")[0] for t in published.TABLES.values() for to in t.get("to", ()) if to),
    *("adiabatic_k", "iec_protective", "annex_g", "conventional_currents", "dc_fuse_families", "gpv", "breaker_curves", "metals"),
    *("reel_lengths", "iec_ground", "iec60947_ratings", "nec_240_6_fuses", "nec_ch9_t8_kcmil", "nec_adiabatic", "breaking_capacities", "iec_main_bonding", "nec_250_102"),
} & set(names())


def _values() -> list[tuple[str, int, str]]:
    return [
        (name, number, column)
        for name in sorted(OURS)
        for number, row in enumerate(table(name).rows)
        for column, cell in row.items()
        if isinstance(cell, float) and cell
    ]


def _caught(name: str, number: int, column: str, factor: float) -> bool:
    row = table(name).rows[number]
    kept = row[column]
    assert isinstance(kept, float)
    try:
        row[column] = kept * factor  # type: ignore[index]
        published.forget()
        return _fails()
    finally:
        row[column] = kept  # type: ignore[index]
        published.forget()


def _fails() -> bool:
    try:
        return bool(published.judge())
    except Exception:  # noqa: BLE001 - a test that breaks has failed too
        return True


def test_a_changed_value_is_noticed() -> None:
    """Any one value of the tables moved by 20 % fails at least one comparison: forty values drawn by a seed."""
    assert not _fails()
    drawn = random.Random(20_24).sample(_values(), 40)
    missed = [at for at in drawn if not (_caught(*at, 1.2) and _caught(*at, 0.8))]
    assert missed == []
