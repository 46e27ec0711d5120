"""Air for lead-acid and other gassing banks (IEC 62485-2)."""

from __future__ import annotations

from typing import Annotated

from engine.quantities import Coulomb, CubicMetrePerSecond, OpeningArea, PerSecond, Unit

CubicMetrePerCoulomb = Annotated[float, Unit("m**3/C")]
SecondPerMetre = Annotated[float, Unit("s/m")]

_PER_AMPERE_HOUR = 1 / 3600


def airflow(
    cells: int, gassing: PerSecond, capacity: Coulomb, volume: CubicMetrePerCoulomb = 0.05 * _PER_AMPERE_HOUR
) -> CubicMetrePerSecond:
    """Air that must pass through the battery's room.

    `gassing` is the current in mA for each Ah (here in SI), `capacity` that of the bank, `cells` those in series.

    Equation: Q = 0.05 n I_gas C 1e-3 m3/h
    Source: IEC 62485-2 7.2 (EN 50272-2 8.2; clause numbers from memory)
    Range: lead-acid and other vented or valve-regulated cells; linear, no error.

    >>> round(airflow(24, 1e-3 * 8 / 3600, 420 * 3600) * 3600, 3)
    4.032
    """
    return volume * cells * gassing * capacity


def opening(flow: CubicMetrePerSecond, area_per_flow: SecondPerMetre = 28e-4 / _PER_AMPERE_HOUR) -> OpeningArea:
    """Free area of each of the two openings (inlet and outlet) for natural ventilation.

    Equation: A = 28 Q, in cm2 with Q in m3/h
    Source: IEC 62485-2 7.3 (EN 50272-2 8.3; clause numbers from memory)
    Range: walls opposite each other, or openings one above the other; linear, no error.

    >>> round(opening(4.032 / 3600) * 1e4, 1)
    112.9
    """
    return area_per_flow * flow
